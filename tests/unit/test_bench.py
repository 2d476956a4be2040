"""Laws of the bench: whose fault is whose, which limits judge, who is told of whom."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.documents import BOUNDS
from configlint.errors import RunError
from configlint.findings import Amount, Finding
from configlint.report import MeterResult
from configlint.sites import NO_WORKSPACE
from configlint.workspace import find_sources

# Rules of a workspace's own, with limits, a quantity with a fallback, and rules
# across meters.
OWN = """\
ruleset: own
edition: "7"
quantities:
  own_bore:
    means: Bore
    symbol: d
    formula: sensor.bore
    unit: mm
    fallback: {formula: "100[mm]", note: The bore is taken for 100 mm.}
    basis: {practice: Geometry}
rules:
  own-range-small:
    category: C
    asks: Is the range small?
    applies: given(current_output.upper_range_value)
    limits: {highest: 50 m3/h}
    accept: current_output.upper_range_value <= highest
    finding: "{current_output.upper_range_value} is above {highest}."
    remedy: Make the range smaller than {highest}.
    settings: [current_output.upper_range_value]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-bores-agree:
    category: B
    asks: Do meters of one service have one bore?
    across: {scope: site, same: [service], agree: own_bore}
    finding: "The bore {own_bore} is not that of {others}."
    remedy: Correct it.
    settings: [service]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
WORKSPACE = """\
workspace: plant
sites:
  north: {folder: north}
  south: {folder: south}
rules: rules
type_sheets: types
policy:
  own-range-small:
    highest: {value: 60 m3/h, reason: Larger pumps}
"""
SOUTH = """\
site: south
policy:
  own-range-small:
    highest: {value: 25 l/s, reason: Largest pumps}
"""
SHEET = """\
type_sheet: own-type
means: An invented transmitter
principle: electromagnetic
source: Invented
"""
METER = """\
meter: FT-1
principle: electromagnetic
service: wash water
"""
LISTED = "{meter: FT-1, principle: electromagnetic}"

Made = tuple[Bench, list[MeterResult], list[Finding]]
Make = Callable[[Mapping[str, str]], Made]


def write_files(folder: Path, files: Mapping[str, str]) -> None:
    """Write files below a folder."""
    for name, text in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")


def open_bench(folder: Path) -> Bench:
    """Make the bench of a folder's workspace and take every file in it."""
    sources = find_sources([folder])
    (workspace,) = sources.workspaces
    bench = Bench(workspace)
    for source in sources.files:
        bench.take(source)
    return bench


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    """Give a workspace of two sites, with own rules, type sheets and policies."""
    own = {"configlint.yaml": WORKSPACE, "rules/own.yaml": OWN}
    sites = {"north/site.yaml": "site: north\n", "south/site.yaml": SOUTH}
    write_files(tmp_path, {**own, **sites, "types/own.yaml": SHEET})
    return tmp_path


@pytest.fixture
def make(plant: Path) -> Make:
    """Give a way to check files in the workspace."""

    def check_files(files: Mapping[str, str]) -> Made:
        write_files(plant, files)
        bench = open_bench(plant)
        return bench, *bench.close()

    return check_files


def of_rule(findings: list[Finding], rule: str) -> list[Finding]:
    """Give the findings of one rule in the order of their places."""
    found = (each for each in findings if each.rule == rule)
    return sorted(found, key=lambda each: each.place)


# --- whose fault it is ------------------------------------------------------


def test_a_fault_is_told_of_the_meter_it_lies_in(make: Make) -> None:
    """In a list of meters each fault, of reading or of a value, names its own meter."""
    text = """\
meters:
  - {meter: FT-1, principle: electromagnetic, servise: a}
  - meter: FT-2
    principle: electromagnetic
    service: a
    service: b
    sensor: {bore: wide}
"""
    _, results, findings = make({"north/a.yaml": text})
    assert [result.subject.meter for result in results] == ["FT-1", "FT-2"]
    told = {(each.rule, each.subject.meter, each.place.line) for each in findings}
    assert ("key-known", "FT-1", 2) in told
    assert ("key-written-once", "FT-2", 6) in told
    assert ("value-well-formed", "FT-2", 7) in told


def test_a_fault_is_told_of_the_document_it_lies_in(make: Make) -> None:
    """Of several documents each keeps its own faults."""
    repeated = "service: a\nservice: b\n"
    first = f"meter: FT-1\nprinciple: electromagnetic\n{repeated}"
    second = first.replace("FT-1", "FT-2")
    _, _, findings = make({"north/a.yaml": f"{first}---\n{second}"})
    found = of_rule(findings, "key-written-once")
    assert [(each.subject.meter, each.place.line) for each in found] == [
        ("FT-1", 4),
        ("FT-2", 9),
    ]


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        (f"{METER}---\nservice: a\nservice: b\nsensor: [\n", "key-written-once"),
        (f"{METER}---\nservice: a\nservice: b\nsensor: [\n", "file-readable"),
        ("service: a\nservice: b\n", "key-written-once"),
        ("principle: none\n", "meter-identified"),
        ("meter: [FT-2]\nservice: a\nservice: b\n", "key-written-once"),
        ("meter: 'FT-1\n", "file-readable"),
        ("", "meter-file-recognised"),
    ],
)
def test_a_fault_of_no_meter_is_told_of_the_file(
    make: Make, text: str, rule: str
) -> None:
    """Where no tag could be read, the file is named and no meter."""
    _, _, findings = make({"north/a.yaml": text})
    told = {each.rule for each in findings if each.subject.meter == ""}
    assert rule in told
    assert all(each.subject[:2] == ("plant", "north") for each in findings)
    assert not of_rule([each for each in findings if each.subject.meter], rule)


@pytest.mark.parametrize(
    ("text", "rule", "tags"),
    [
        ("meter: FT-2\nservice: a\nservice: b\n", "key-written-once", ["FT-2"]),
        ("meter: FT-2\nprinciple: none\n", "meter-identified", ["FT-2"]),
        ("meter: ' FT-2 '\nprinciple: none\n", "meter-identified", ["FT-2"]),
        (
            "meters:\n  - {meter: FT-1, principle: none}\n"
            "  - {meter: FT-2, principle: electromagnetic}\n  - {meter: FT-3}\n",
            "meter-identified",
            ["FT-1", "FT-3"],
        ),
        (
            "meters:\n  - {meter: FT-1}\n  - {principle: none, service: a}\n",
            "meter-identified",
            ["FT-1", "", ""],
        ),
    ],
)
def test_a_fault_of_a_meter_that_cannot_be_judged_has_its_tag(
    make: Make, text: str, rule: str, tags: list[str]
) -> None:
    """A tag that is written is told, though the rest of the meter can't be read."""
    _, results, findings = make({"north/a.yaml": text})
    found = of_rule(findings, rule)
    assert [each.subject.meter for each in found] == tags
    assert not {result.subject.meter for result in results} & set(tags)


def test_equal_faults_of_two_unjudged_meters_are_told_apart(make: Make) -> None:
    """A fault's fingerprint is of its meter, wherever that stands in its list."""
    meters = ("{meter: FT-1, principle: none}", "{meter: FT-2, principle: none}")

    def fingerprints(*written: str) -> dict[str, str]:
        text = "meters:\n" + "".join(f"  - {each}\n" for each in written)
        found = of_rule(make({"north/a.yaml": text})[2], "meter-identified")
        return {each.subject.meter: each.fingerprint for each in found}

    first = fingerprints(*meters)
    assert set(first) == {"FT-1", "FT-2"}
    assert first["FT-1"] != first["FT-2"]
    assert fingerprints(*reversed(meters)) == first


@pytest.mark.parametrize(
    ("text", "judged", "not_judged"),
    [
        (METER, 1, 0),
        ("", 0, 0),
        ("meter: 'FT-1\n", 0, 0),
        ("title: no meter\n", 0, 0),
        ("meters: FT-1\n", 0, 0),
        ("meter: FT-2\nprinciple: none\n", 0, 1),
        (f"{METER}---\nmeter: FT-2\n", 1, 1),
        (f"meters:\n  - {{meter: FT-2}}\n  - 5\n  - {LISTED}\n", 1, 2),
    ],
)
def test_meters_that_cannot_be_judged_are_counted(
    make: Make, text: str, judged: int, not_judged: int
) -> None:
    """Each meter that a file holds is judged, or counted as not judged."""
    bench, results, _ = make({"north/a.yaml": text})
    assert (len(results), bench.not_judged) == (judged, not_judged)


def test_a_file_that_cannot_be_opened_is_a_finding(plant: Path) -> None:
    """A file that is gone when its turn comes is told, and the run goes on."""
    write_files(plant, {"north/a.yaml": METER})
    sources = find_sources([plant])
    bench = Bench(sources.workspaces[0])
    (plant / "north" / "a.yaml").unlink()
    bench.take(sources.files[0])
    results, findings = bench.close()
    assert results == []
    (found,) = findings
    assert (found.rule, found.subject.meter) == ("file-readable", "")
    assert found.message == "The file can't be read: No such file or directory."
    assert found.remedy


def test_no_more_of_a_file_is_read_than_is_understood(plant: Path) -> None:
    """A file of any length is refused by its length, without being read whole."""
    write_files(plant, {"north/a.yaml": METER})
    with (plant / "north" / "a.yaml").open("ab") as stream:
        # Only the end of this is written: the file takes no room on the disk.
        stream.truncate(50_000 * BOUNDS.bytes)
    _, findings = open_bench(plant).close()
    assert [each.rule for each in findings] == ["file-readable"]
    assert f"more than {BOUNDS.bytes} bytes" in findings[0].message


# --- sites, type sheets, policies -------------------------------------------


def test_each_site_is_judged_by_its_own_limits(make: Make) -> None:
    """A site's policy goes over the workspace's, and its findings say so."""
    ranged = f"{METER}current_output: {{upper_range_value: 75 m3/h}}\n"
    _, _, findings = make({"north/a.yaml": ranged, "south/b.yaml": ranged})
    found, *others = of_rule(findings, "own-range-small")
    assert others == []
    assert found.subject.site == "north"
    assert found.limits == {"highest": Amount(60.0, "m3/h")}
    assert found.message == "75 m3/h is above 60 m3/h."
    assert found.remedy == "Make the range smaller than 60 m3/h."
    (note,) = found.assumptions
    assert "60 m3/h" in note
    assert "50 m3/h" in note
    assert "Larger pumps" in note


def test_without_a_site_the_workspace_policy_holds(plant: Path) -> None:
    """A meter outside every site is judged by the limits of the workspace."""
    workspace = WORKSPACE.replace("  south: {folder: south}\n", "")
    ranged = f"{METER}current_output: {{upper_range_value: 75 m3/h}}\n"
    write_files(plant, {"configlint.yaml": workspace, "other/a.yaml": ranged})
    sources = find_sources([plant / "other" / "a.yaml"])
    bench = Bench(sources.workspaces[0])
    for source in sources.files:
        assert source.site is None
        bench.take(source)
    (found,) = of_rule(bench.close()[1], "own-range-small")
    assert found.subject.site == ""
    assert found.limits["highest"] == Amount(60.0, "m3/h")


def test_standard_limits_hold_without_a_policy(plant: Path) -> None:
    """Where no policy speaks, the finding shows the rule's own limit and no note."""
    plain = WORKSPACE.partition("policy:")[0]
    ranged = f"{METER}current_output: {{upper_range_value: 75 m3/h}}\n"
    write_files(plant, {"configlint.yaml": plain, "north/a.yaml": ranged})
    (found,) = of_rule(open_bench(plant).close()[1], "own-range-small")
    assert found.limits == {"highest": Amount(50.0, "m3/h")}
    assert found.assumptions == ()
    assert found.margin == -0.5


def test_an_unknown_type_sheet_is_told_where_it_is_named(make: Make) -> None:
    """A type sheet that is nowhere is a finding that offers the nearest."""
    files = {
        "north/a.yaml": f"{METER}type_sheet: own-typ\n",
        "north/b.yaml": f"{METER}type_sheet: own-type\n",
    }
    _, _, findings = make(files)
    (found,) = of_rule(findings, "type-sheet-known")
    assert found.place[1:] == (4, 13)
    assert found.place.file.endswith("north/a.yaml")
    assert "'own-typ'" in found.message
    assert found.remedy == "Write own-type, if that is meant."


def test_a_bench_names_the_rule_sets_that_judge(make: Make) -> None:
    """The workspace's own rule set stands among the standard ones."""
    bench, _, _ = make({"north/a.yaml": METER})
    editions = {each.name: each.edition for each in bench.editions}
    assert editions["own"] == "7"
    assert "reading" in editions


@pytest.mark.parametrize(
    ("file", "text", "problem"),
    [
        ("types/own.yaml", f"{SHEET}mean: A slip\n", "own.yaml:5:1"),
        ("types/own.yaml", "[\n", "own.yaml:1:1"),
        ("rules/own.yaml", OWN.replace("highest: 50", "highest: fifty"), "own.yaml:18"),
        ("south/site.yaml", SOUTH.replace("25 l/s", "25 m/s"), "site.yaml:4:22"),
    ],
)
def test_what_the_workspace_gets_wrong_stops_the_bench(
    plant: Path, file: str, text: str, problem: str
) -> None:
    """Faulty type sheets, rules and policies are refused before a meter is read."""
    write_files(plant, {file: text, "north/a.yaml": METER})
    with pytest.raises(RunError, match=problem):
        open_bench(plant)


def test_dates_are_judged_as_of_the_day_of_the_run() -> None:
    """The day of the run is what the bench was made with."""
    day = date(2026, 5, 4)
    assert Bench(NO_WORKSPACE, day).run_date == day
    assert Bench(NO_WORKSPACE).run_date is None


# --- rules across meters ----------------------------------------------------


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
    plant: Path, text: str | None
) -> None:
    """Where a file can't be read again, a finding keeps its name and says no more."""
    pair = f"{bored('FT-1', '80 mm')}---\n{bored('FT-2', '50 mm')}"
    file = plant / "north" / "a.yaml"
    write_files(plant, {"north/a.yaml": pair})
    bench = open_bench(plant)
    if text is None:
        file.unlink()
    else:
        file.write_text(text, "utf-8")
    first, second = of_rule(bench.close()[1], "own-bores-agree")
    assert {first.subject.meter, second.subject.meter} == {"FT-1", "FT-2"}
    assert first.place[1:] == (1, 1)
    assert first.values == {}
    assert "(not written)" in first.message
