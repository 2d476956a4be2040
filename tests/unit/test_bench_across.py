"""Laws of rules across meters at the bench: who is told of whom, and where."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from configlint.findings import Amount
from tests.benches import METER, Make, made_in, of_rule, open_bench


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """Give a way to check files in a workspace of two sites."""
    return made_in(tmp_path)


def bored(tag: str, bore: str) -> str:
    """Write a meter of a bore."""
    return METER.replace("FT-1", tag) + (f"sensor: {{bore: {bore}}}\n" if bore else "")


def test_meters_in_conflict_name_each_other(make: Make) -> None:
    """Each side of a disagreement is a finding at its own place, naming the other."""
    files = {
        "north/a.yaml": f"{bored('FT-1', '80 mm')}---\n{bored('FT-2', '80 mm')}",
        "north/b.yaml": f"# Another\n{bored('FT-3', '50 mm')}",
        "south/c.yaml": bored("FT-4", "25 mm"),
    }
    _, results, findings = make(files)
    found = of_rule(findings, "own-bores-agree")
    assert [each.subject.meter for each in found] == ["FT-1", "FT-2", "FT-3"]
    assert [each.place.line for each in found] == [3, 8, 4]
    assert [each.pointer for each in found] == ["/service"] * 3
    first, _, third = (each.message for each in found)
    assert first.startswith("The bore 80 mm is not that of FT-3 in ")
    assert first.endswith("north/b.yaml.")
    assert third.startswith("The bore 50 mm is not that of FT-1 in ")
    assert "north/a.yaml, FT-2 in " in third
    words = {each.subject.meter: each.outcomes["nonconforming"] for each in results}
    assert words["FT-4"] < words["FT-1"]


def test_what_was_assumed_across_meters_is_told(make: Make) -> None:
    """A value that was taken for another is told in findings across meters too."""
    files = {"north/a.yaml": bored("FT-1", ""), "north/b.yaml": bored("FT-2", "50 mm")}
    _, _, findings = make(files)
    first, second = of_rule(findings, "own-bores-agree")
    assert first.assumptions == ("The bore is taken for 100 mm.",)
    assert first.values["own_bore"] == Amount(100.0, "mm")
    assert second.assumptions == ()


@pytest.mark.parametrize(
    ("count", "named", "more"),
    [(3, 3, 0), (4, 4, 0), (5, 3, 2), (13, 3, 10)],
)
def test_of_many_meters_in_conflict_some_are_named(
    make: Make, count: int, named: int, more: int
) -> None:
    """A finding names the first of many meters and says how many more there are."""
    meters = [bored(f"FT-{number}", "80 mm") for number in range(count)]
    text = "---\n".join([*meters, bored("FT-99", "50 mm")])
    _, _, findings = make({"north/a.yaml": text})
    found = of_rule(findings, "own-bores-agree")
    assert len(found) == count + 1
    assert "FT-99 in" in found[0].message
    assert "more" not in found[0].message
    last = found[-1].message
    assert re.findall(r"(FT-\d+) in ", last) == [f"FT-{each}" for each in range(named)]
    assert re.findall(r"and (\d+) more", last) == ([str(more)] if more else [])
    assert last.endswith(f"north/a.yaml and {more} more." if more else "north/a.yaml.")


@pytest.mark.parametrize("text", [None, "", "meters: []\n"])
def test_a_file_that_changes_under_the_run_is_still_named(
    tmp_path: Path, text: str | None
) -> None:
    """Where a file can't be read again, a finding keeps its name and says no more."""
    pair = f"{bored('FT-1', '80 mm')}---\n{bored('FT-2', '50 mm')}"
    bench = open_bench(tmp_path, {"north/a.yaml": pair})
    file = tmp_path / "north" / "a.yaml"
    if text is None:
        file.unlink()
    else:
        file.write_text(text, "utf-8")
    first, second = of_rule(bench.close()[1], "own-bores-agree")
    assert {first.subject.meter, second.subject.meter} == {"FT-1", "FT-2"}
    assert first.place[1:] == (1, 1)
    assert first.values == {}
    assert "(not written)" in first.message
