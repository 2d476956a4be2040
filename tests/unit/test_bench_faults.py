"""Laws of faults at the bench: each is told of its own meter, or else of its file."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.documents import BOUNDS
from configlint.workspace import find_sources
from tests.benches import METER, PLANT, Make, made_in, of_rule, open_bench
from tests.workspaces import write

LISTED = "{meter: FT-1, principle: electromagnetic}"


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """Give a way to check files in a workspace of two sites."""
    return made_in(tmp_path)


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
    """Each of several documents in a file keeps its own faults."""
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
    assert (len(results), len(bench.not_judged)) == (judged, not_judged)


def test_a_file_that_cannot_be_opened_is_a_finding(tmp_path: Path) -> None:
    """A file that is gone when its turn comes is told, and the run goes on."""
    sources = find_sources([write(tmp_path, {**PLANT, "north/a.yaml": METER})])
    bench = Bench(sources.workspaces[0])
    (tmp_path / "north" / "a.yaml").unlink()
    bench.take(sources.files[0])
    results, findings = bench.close()
    assert results == []
    (found,) = findings
    assert (found.rule, found.subject.meter) == ("file-readable", "")
    assert found.message == "The file can't be read: No such file or directory."
    assert found.remedy


def test_no_more_of_a_file_is_read_than_is_understood(tmp_path: Path) -> None:
    """A file of any length is refused by its length, without being read whole."""
    folder = write(tmp_path, {**PLANT, "north/a.yaml": METER})
    with (folder / "north" / "a.yaml").open("ab") as stream:
        # Only the end of this is written: the file takes no room on the disk.
        stream.truncate(50_000 * BOUNDS.bytes)
    _, findings = open_bench(folder, {}).close()
    assert [each.rule for each in findings] == ["file-readable"]
    assert f"more than {BOUNDS.bytes} bytes" in findings[0].message
