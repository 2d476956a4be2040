"""Laws of margins: how far a value is off, by the limit that decides."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.compiler import Values, make_formula
from configlint.engine import margin
from tests.builders import VELOCITY, make_scope
from tests.judging import RIGHT, book_of, judged


def test_a_nonconforming_outcome_tells_how_far_it_is_off(tmp_path: Path) -> None:
    """The margin is the distance to the limit as a share of it, negative outside."""
    book = book_of(tmp_path, "sensor.bore <= highest", limits="highest: 80 mm")
    outcome = judged(book, RIGHT)
    assert outcome.margin == pytest.approx(-0.25)
    assert judged(book, {"sensor.bore": "70 mm"}).margin is None


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("v <= lowest", -0.5),
        ("v < lowest", -0.5),
        ("v >= lowest", 0.5),
        ("lowest >= v", -0.5),
        ("lowest < v", 0.5),
        ("lowest <= v <= 4[m/s]", 0.25),
        ("lowest <= v <= 2 * lowest", 0.25),
        ("2 * lowest >= v", 0.25),
        ("4[m/s] >= v", 0.25),
        ("d / 2[s] >= v", -59 / 60),
        ("sizes[tag].bore / 1[s] >= v", None),
        ("v < lowest or v < 4[m/s]", 0.25),
        ("not v < lowest", 0.5),
        ("not flag", None),
        ("v == lowest", -0.5),
        ("v != lowest", None),
        ("v > 0[m/s]", None),
        ("v < w", None),
        ("w < lowest", None),
        ("v < d / 2[s]", -59.0),
        ("n < pi", 1 - 3.0 / 3.141592653589793),
        ("tag == 'FT-1'", None),
        ("flag", None),
        ("flag and given(tag)", None),
        ("flag and v < 4[m/s]", 0.25),
        ("v < lowest if flag else flag", None),
    ],
)
def test_a_margin_is_that_of_the_limit_that_decides(
    text: str, share: float | None
) -> None:
    """Of limits joined by `and` the nearest counts, by `or` the farthest."""
    scope = make_scope({"lowest": VELOCITY})
    values = {
        "v": 3.0,
        "w": float("nan"),
        "d": 0.1,
        "n": 3.0,
        "tag": "FT-1",
        "flag": True,
    }
    seen = Values(values, {}, {"lowest": 2.0})
    found = margin(make_formula(text, scope).tree, scope, seen)
    assert found is None if share is None else found == pytest.approx(share)
