"""Laws of the annotations: of the host's grammar, in its limits, the worst first."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from configlint.effects import Amount
from configlint.errors import Place
from configlint.findings import Finding
from configlint.outputs import FORMATS
from configlint.outputs.github import MOST_OF_A_LEVEL, write
from tests.builders import EFFECT, FINDING
from tests.readers import Annotation, read_annotations
from tests.reports import CONCEDED_FINDING, FULL, WORST, make_findings, make_report


def annotated(*findings: Finding) -> list[Annotation]:
    """Give the annotations of some findings, read by the host's grammar."""
    return read_annotations(write(make_report(*findings), "B"))


def levels(found: list[Annotation]) -> Counter[str]:
    """Count annotations by level."""
    return Counter(each.level for each in found)


def test_it_is_one_of_the_formats() -> None:
    """The command offers it by its name."""
    assert FORMATS["github"] is write


def test_a_finding_is_one_command() -> None:
    """A finding is a line, with its place, its heading and all that it says."""
    assert write(make_report(FINDING), "B") == (
        "::warning title=B%2C bore-right%2C FT-1%2C north,"
        "file=FT-1.yaml,line=3,col=5::The bore is wrong.%0A"
        "To do: Correct it.%0ABasis: Common (common practice)\n"
    )


def test_nothing_found_is_nothing_said() -> None:
    """A clean run writes no line into the log."""
    assert write(make_report(), "B") == ""


@pytest.mark.parametrize(
    ("category", "level"), [("A", "error"), ("B", "warning"), ("C", "notice")]
)
def test_the_level_is_that_of_the_category(category: str, level: str) -> None:
    """A category is told in the host's own words."""
    (found,) = annotated(*make_findings(1, category))
    assert found.level == level


@pytest.mark.parametrize(
    ("counts", "shown", "left"),
    [
        ((10, 10, 10), (10, 10, 10), ""),
        ((11, 0, 0), (10, 0, 1), "1 finding (1 of A)"),
        ((0, 0, 11), (0, 0, 10), "2 findings (2 of C)"),
        ((40, 30, 20), (10, 10, 10), "61 findings (30 of A, 20 of B, 11 of C)"),
        ((11, 3, 10), (10, 3, 10), "2 findings (1 of A, 1 of C)"),
    ],
)
def test_it_stays_within_the_limits_and_says_what_it_leaves_out(
    counts: tuple[int, int, int], shown: tuple[int, int, int], left: str
) -> None:
    """Ten of a level are written, the last notice among them, which counts the rest."""
    made = zip(counts, "ABC", strict=True)
    found = annotated(*(f for count, c in made for f in make_findings(count, c)))
    told = levels(found)
    assert (told["error"], told["warning"], told["notice"]) == shown
    assert max(shown) <= MOST_OF_A_LEVEL
    if left:
        assert left in found[-1].message
        assert found[-1].level == "notice"
    else:
        assert all("file" in each.properties for each in found)


def test_the_worst_come_first() -> None:
    """By category, then by what they cost, then by their places."""
    worse = replace(
        WORST,
        fingerprint="a1",
        rule="costly",
        effect=EFFECT._replace(per_year=Amount(9e6, "m3")),
    )
    found = annotated(*make_findings(1, "C"), FINDING, WORST, worse)
    titles = [each.properties["title"].split(", ")[1] for each in found]
    assert titles == ["costly", "scale-agrees", "bore-right", "bore-right"]
    assert [each.level for each in found] == ["error", "error", "warning", "notice"]


def test_what_is_conceded_is_counted_alone() -> None:
    """A conceded finding is no annotation; the last notice counts it."""
    first, last = annotated(FINDING, CONCEDED_FINDING)
    assert first.level == "warning"
    assert last.level == "notice"
    assert "1 finding (1 conceded)" in last.message


def test_what_was_not_read_is_told() -> None:
    """Meters not judged and files not read are told in the last notice."""
    message = read_annotations(write(FULL, "B"))[-1].message
    assert "not judged, since it could not be read: 2 meters" in message
    assert message.endswith("not read: 1 file.")


def test_what_is_new_is_marked() -> None:
    """In a run since a revision the heading says what was not there before."""
    titles = [each.properties["title"] for each in read_annotations(write(FULL, "B"))]
    assert titles[0] == "A, scale-agrees, FT-1, north, new"
    assert titles[1] == "B, bore-right, FT-1, north"


def test_a_file_is_named_from_the_root_of_the_repository(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The host finds the file, wherever in the repository the run was started."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "sites").mkdir()
    monkeypatch.chdir(tmp_path / "sites")
    (found,) = annotated(FINDING)
    assert found.properties["file"] == "sites/FT-1.yaml"


def test_a_file_outside_is_named_in_the_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the host can show no line, the message says which file and line it is."""
    (tmp_path / "plant" / ".git").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "plant")
    (found,) = annotated(replace(FINDING, place=Place("../other/FT-1.yaml", 3)))
    assert found.properties.keys() == {"title"}
    assert found.message.startswith("In ../other/FT-1.yaml, line 3.\nThe bore")


@pytest.mark.parametrize("text", ["50 %, or a:b,c", "%0A::error::x", "100%25"])
def test_signs_of_the_grammar_come_through(text: str) -> None:
    """What the grammar gives a meaning is encoded, and read back as it was."""
    subject = FINDING.subject._replace(meter=text)
    (found,) = annotated(replace(FINDING, subject=subject, message=text))
    assert found.properties["title"] == f"B, bore-right, {text}, north"
    assert found.message.split("\n")[0] == text


def test_long_texts_are_cut() -> None:
    """No text fills an annotation beyond what the host takes."""
    text = "long " * 5000
    subject = FINDING.subject._replace(meter=text)
    (found,) = annotated(replace(FINDING, subject=subject, message=text))
    assert len(found.properties["title"]) == 200
    assert len(found.message.split("\n")[0]) == 1000
