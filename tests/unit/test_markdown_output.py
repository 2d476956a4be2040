"""Laws of the report as Markdown: bounded, the worst first, and text stays text."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from configlint.effects import Amount
from configlint.findings import Subject
from configlint.outputs import FORMATS
from configlint.outputs.markdown import LONGEST, plain, write
from configlint.outputs.text import CAUTIONS
from configlint.report import LeftOpen
from configlint.rules import Edition
from configlint.workspace import LeftOut
from tests.builders import EFFECT, FINDING
from tests.readers import read_html_of
from tests.reports import (
    CONCEDED_FINDING,
    FULL,
    HOSTILE,
    SINCE,
    WORST,
    hostile_finding,
    make_findings,
    make_meter,
    make_report,
)

BRIEF = "Further findings, in brief; the other reports have them whole"
HOST_TAKES = 65_536
"""Characters of a comment that a code host takes (from memory of its documentation)."""


def entries(written: str) -> list[str]:
    """Give the entries of the list of findings."""
    return section(written, "Findings, the worst first")


def section(written: str, title: str) -> list[str]:
    """Give the lines of a section, none where it is not there."""
    found = written.partition(f"#### {title}\n\n")[2].partition("\n\n")[0]
    return found.splitlines()


def test_it_is_one_of_the_formats() -> None:
    """The command offers it by its name."""
    assert FORMATS["markdown"] is write


def test_the_verdict_and_the_counts_come_first() -> None:
    """A reviewer reads at once whether the run is held, and how much there is to do."""
    lines = write(FULL, "A").splitlines()
    assert lines[2] == "**Held at A: 1 finding to close.**"
    assert lines[4:10] == [
        "| category | findings | close them |",
        "| --- | ---: | --- |",
        "| A | 1 | before the meter goes into service |",
        "| B | 1 | before acceptance |",
        "| C | 0 | when convenient |",
        "| conceded | 1 | when the concession ends |",
    ]


def test_a_report_of_all_parts_says_all_of_them() -> None:
    """What was judged by what, what is missing and what was not read is told."""
    written = write(FULL, "B")
    for words in (
        "- 1 meter in 1 file",
        "- 3 findings in all: 1 of rules about meters, 2 (1 conceded) of rules about "
        "files\n",
        "- Dates judged as of 2026-05-04\n",
        "- Not judged, since it could not be read: 2 meters\n",
        "#### Not judged\n\n- FT-2, FT-2.yaml, line 2: principle is not written.\n",
        "1 conforms, 1 nonconforming, 1 not-assessed",
        "changed since main (0123456789)",
        "Judged by the rules of release (fedcba9876)",
        "- sensor.bore: 1 outcome in 1 meter",
        "- File pumps.yaml: it lies in no site's folder",
        "- Rule set own, edition 7, digest 0f",
        CAUTIONS,
    ):
        assert words in written


def test_a_report_of_nothing_has_no_empty_parts() -> None:
    """Without findings there is the verdict, the counts and the cautions."""
    written = write(make_report(), "B")
    assert "Findings" not in written
    assert "Missing" not in written
    assert written.endswith(f"{CAUTIONS}\n")
    assert "**Not held: no finding at or above category B.**" in written


def test_the_worst_come_first() -> None:
    """By category, then by what they cost; those that are conceded come last."""
    year = EFFECT._replace(per_year=Amount(9e6, "m3"))
    worse = replace(WORST, fingerprint="a1", rule="costly", effect=year)
    made = make_report(CONCEDED_FINDING, *make_findings(1, "C"), FINDING, WORST, worse)
    told = [line.split(" (")[0] for line in entries(write(made, "B"))]
    assert told == [
        "- **A** FT-1, north, costly",
        "- **A** FT-1, north, scale-agrees",
        "- **B** FT-1, north, bore-right",
        "- **C** FT-0, north, bore-right",
        "- **A** FT-1, north, bore-right",
    ]


def test_an_entry_says_all_of_its_finding() -> None:
    """Place, what is wrong, cost, advice, remedy and basis stand in one entry."""
    first, _, last = entries(write(FULL, "B"))
    assert first == (
        "- **A** FT-1, north, scale-agrees (FT-1.yaml, line 3), new"
        "<br>The bore is wrong.<br>Effect: The receiver reads 20 % high: 20 m3/h too "
        "much at normal flow, 175000 m3 in a year of 8760 h, as none are stated."
        "<br>Note: The limit is changed by policy.<br>To do: Correct it."
        "<br>Value: sensor.bore 100 mm.<br>Basis: Common (common practice)"
    )
    assert "line 3), conceded<br>" in last
    assert "<br>Conceded until 2026-06-30 by invented engineer" in last


def test_a_finding_of_a_file_is_named_by_it() -> None:
    """Where there is no meter, the file stands in its place."""
    made = make_report(replace(FINDING, subject=Subject("", "", "", "a.yaml")))
    assert entries(write(made, "B"))[0].startswith("- **B** a.yaml, bore-right")


@pytest.mark.parametrize("count", [10, 100, 1000, 20_000])
def test_the_whole_is_bounded_and_says_what_it_leaves_out(count: int) -> None:
    """Whatever there is to tell, the whole fits; first in brief, then counted."""
    made = make_report(*make_findings(count, "B"))
    written = write(made, "B")
    assert len(written) < HOST_TAKES
    whole = entries(written)
    brief = section(written, BRIEF)
    left = re.fullmatch(
        r"- (\d+) findings did not fit: (\d+) of B\. The other reports have them\.",
        brief[-1] if brief else "",
    )
    assert (len(whole) < count) is bool(brief) is (count > 100)
    assert bool(left) is (count > 100)
    if left:
        brief.pop()
        assert left[1] == left[2]
        assert len(written) > LONGEST - 2_000
    assert len(whole) + len(brief) + (int(left[1]) if left else 0) == count
    tags = [re.findall(r"\*\* (FT-\d+)", line) for line in (*whole, *brief)]
    ranked = made.worst_first[: len(tags)]
    assert tags == [[each.subject.meter] for each in ranked]
    assert CAUTIONS in written


def test_what_is_told_in_brief_takes_no_more_than_a_third() -> None:
    """The worst keep most of the room, and the others are told where and what."""
    long = "It is wrong in a way that takes many words to tell. " * 8
    found = (replace(each, message=long) for each in make_findings(1000, "B"))
    written = write(make_report(*found), "B")
    brief = section(written, BRIEF)
    assert sum(map(len, brief)) < LONGEST / 3
    assert len(brief) > len(entries(written)) > 50
    assert re.fullmatch(
        r"- \*\*B\*\* FT-\d+, north, bore-right \(FT-\d+\.yaml, line 3\): "
        r"It is wrong in a way that takes [^<>]*…",
        brief[0],
    )
    assert len(brief[0]) < 170


def test_what_does_not_fit_whole_is_told_in_brief() -> None:
    """Where there is room to say of each finding what it is, each is told."""
    long = "It is wrong in a way that takes many words to tell. " * 8
    found = (replace(each, message=long) for each in make_findings(150, "B"))
    written = write(make_report(*found), "B")
    assert len(entries(written)) >= 80
    assert len(section(written, BRIEF)) + len(entries(written)) == 150
    assert "did not fit" not in written


def test_a_finding_in_brief_says_if_it_is_new_or_conceded() -> None:
    """What was marked in a whole entry is marked in a brief one."""
    long = "It is wrong in a way that takes many words to tell. " * 8
    worse = (replace(each, message=long) for each in make_findings(150, "A"))
    made = replace(FULL, findings=(*worse, FINDING, CONCEDED_FINDING))
    since = SINCE._replace(new=(FINDING.fingerprint,))
    *_, new, conceded = section(write(replace(made, since=since), "B"), BRIEF)
    assert "line 3), new: The bore is wrong." in new
    assert "line 3), conceded: The bore is wrong." in conceded


@pytest.mark.parametrize("sign", ["x", "&", "@", "<", "\x00", "\U000e0041", "😀"])
def test_texts_that_grow_are_bounded_too(sign: str) -> None:
    """Names of signs that are written as several fill no more than the whole."""
    text = sign * 2000
    lacks = (LeftOpen("bore-known", (text,)),)
    many = range(100)
    made = replace(
        make_report(
            *(replace(hostile_finding(text), fingerprint=str(n)) for n in many),
            meters=(make_meter(left_open=lacks),),
        ),
        left_out=tuple(LeftOut(f"{text}{n}", text) for n in many),
        editions=tuple(Edition(f"{text}{n}", text, "0f") for n in many),
    )
    written = write(made, "B")
    assert len(written) < HOST_TAKES
    assert "findings did not fit: " in written
    assert "more\n" in written
    read_html_of(written)


def test_a_list_of_many_is_cut() -> None:
    """Twenty of a list are told, and how many more there are."""
    left_out = tuple(LeftOut(f"{number}.yaml", "no reason") for number in range(50))
    written = write(replace(make_report(), left_out=left_out), "B")
    assert written.count("no reason") == 20
    assert "- and 30 more\n" in written


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_every_entry_is_one_line(text: str) -> None:
    """No text of a file makes an entry of its own."""
    assert len(entries(write(make_report(hostile_finding(text)), "B"))) == 1


@pytest.mark.parametrize("text", ["FT-1 (north) + 3 % of {x}!", "a. b: c; d, e/f"])
def test_usual_text_is_left_as_it_is(text: str) -> None:
    """Signs that Markdown takes for something at the start of a line alone stay."""
    assert plain(text) == text
    assert text in read_html_of(f"- {plain(text)}\n")


def test_the_same_report_gives_the_same_bytes() -> None:
    """There is no clock in it."""
    assert write(FULL, "B") == write(FULL, "B")
