"""Laws of missing inputs: what they leave open, what is named, what stands in."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.engine import (
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    NOT_ASSESSED,
    Judge,
    derive,
)
from configlint.facts import mark_unreadable
from tests.builders import make_facts
from tests.judging import RIGHT, URV, book_of, judged


@pytest.mark.parametrize(
    ("accept", "applies", "meter", "word", "missing"),
    [
        # What the known parts settle is decided, whatever else is missing.
        ("sensor.bore > 1[m] and speed > 1[m/s]", "", RIGHT, NONCONFORMING, ()),
        (
            "sensor.bore > 1[m] and process.density > 1[kg/m3]",
            "",
            RIGHT,
            NONCONFORMING,
            (),
        ),
        ("sensor.bore < 1[m] or process.density > 1[kg/m3]", "", RIGHT, CONFORMS, ()),
        (
            "sensor.bore < 1[m] and process.density > 1[kg/m3]",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        (
            "sensor.bore > 1[m] or not process.density > 1[kg/m3]",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        # An undecided question of whether the rule is asked leaves it open, ...
        (
            "sensor.bore > 1[m]",
            "process.density > 1[kg/m3]",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        (
            "sensor.bore < 1[m]",
            "process.density > 1[kg/m3]",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        # ... and both undecided name what both lack.
        (
            "speed > 1[m/s]",
            "process.density > 1[kg/m3]",
            {"sensor.bore": "1 m"},
            NOT_ASSESSED,
            (URV, "process.density"),
        ),
        (
            "sensor.bore < 1[m]",
            "sensor.bore > 1[m] and process.density > 1[kg/m3]",
            RIGHT,
            NOT_APPLICABLE,
            (),
        ),
        # A section that the file does not speak of is undecided, one not used is not.
        ("used(pulse_output)", "", {}, NOT_ASSESSED, ("pulse_output",)),
        (
            "used(pulse_output)",
            "",
            {"pulse_output": "not used"},
            NONCONFORMING,
            (),
        ),
        ("not used(pulse_output)", "", {"pulse_output": "not used"}, CONFORMS, ()),
        ("given(sensor.bore)", "", {}, NONCONFORMING, ()),
        (
            "not given(sensor.serial) and process.density > 1[kg/m3]",
            "",
            {},
            NOT_ASSESSED,
            ("process.density",),
        ),
        (
            "agrees(sensor.nominal_size, transmitter.nominal_size)",
            "",
            {"sensor.nominal_size": "DN 100"},
            NOT_ASSESSED,
            ("transmitter.nominal_size",),
        ),
        # Of a condition, only the part that it chooses is missed, ...
        (
            "(sensor.bore if given(sensor.serial) else installation.pipe_bore) > 1[m]",
            "",
            {},
            NOT_ASSESSED,
            ("installation.pipe_bore",),
        ),
        (
            "(sensor.bore if given(meter) else installation.pipe_bore) > 1[m]",
            "",
            {},
            NOT_ASSESSED,
            ("sensor.bore",),
        ),
        # ... and both where the condition itself is undecided.
        (
            "(sensor.bore if used(totalizer) else sensor.bore) > 1[m]",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("totalizer",),
        ),
        # A look-up misses its key, or the value of the row that the key names.
        ("word == 'small'", "", {}, NOT_ASSESSED, ("sensor.nominal_size",)),
        (
            "word == 'small'",
            "",
            {"sensor.nominal_size": "DN 300"},
            NOT_ASSESSED,
            ("sizes[DN 300].word",),
        ),
        ("word == 'small'", "", {"sensor.nominal_size": "DN 100"}, CONFORMS, ()),
        ("word == 'small'", "", {"sensor.nominal_size": "DN 200"}, NONCONFORMING, ()),
        # A fallback stands in; when it misses something too, the value itself is named.
        ("bore > 1[m]", "", {"sensor.nominal_size": "DN 100"}, NONCONFORMING, ()),
        (
            "bore > 1[m]",
            "",
            {"sensor.nominal_size": "DN 200"},
            NOT_ASSESSED,
            ("sensor.bore",),
        ),
        # What has all inputs and yet no value says so.
        (
            "1[m] / (sensor.bore - sensor.bore) > 1",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("a value that can't be computed",),
        ),
        ("matches(meter, 'FT-[0-9]+') and pi > 3", "", {}, CONFORMS, ()),
    ],
)
def test_what_is_missing_leaves_open_only_what_it_decides(
    tmp_path: Path,
    accept: str,
    applies: str,
    meter: dict[str, str],
    word: str,
    missing: tuple[str, ...],
) -> None:
    """A rule is left open only where a missing input matters, and names that input."""
    outcome = judged(
        book_of(tmp_path, f'"{accept}"', f'"{applies}"' if applies else ""), meter
    )
    assert (outcome.word, outcome.missing) == (word, missing)


def test_a_value_that_can_not_be_converted_names_what_that_needs(
    tmp_path: Path,
) -> None:
    """A range written as a velocity needs the bore, and that is what is missing."""
    book = book_of(tmp_path, f"{URV} > 1[m3/h]")
    assert judged(book, {URV: "3 m/s"}).missing == ("sensor.bore",)
    assert judged(book, {URV: "3 m/s", "sensor.bore": "100 mm"}).word == CONFORMS


def test_a_fallback_is_told_where_it_was_taken(tmp_path: Path) -> None:
    """What a quantity assumes is noted when its own formula lacks an input only."""
    book = book_of(tmp_path, "bore > 1[m]")
    own = derive(book, make_facts(RIGHT))
    assert own.assumed == {}
    size = derive(book, make_facts({"sensor.nominal_size": "DN 100"}))
    assert size.assumed == {"bore": "By the size."}
    assert size.values["bore"] == pytest.approx(0.1)
    assert derive(book, make_facts({})).assumed == {}


def test_nothing_stands_in_for_what_is_unreadable(tmp_path: Path) -> None:
    """A value that is written but unreadable is not taken for one that is absent."""
    book = book_of(tmp_path, "bore > 1[m]")
    known = make_facts({"sensor.nominal_size": "DN 100"})
    mark_unreadable(known, ["sensor.bore"])
    derived = derive(book, known)
    assert derived.assumed == {}
    (outcome,) = Judge(book).judge(derived)
    assert (outcome.word, outcome.missing) == (NOT_ASSESSED, ("sensor.bore",))
