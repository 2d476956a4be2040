"""Laws of what the report for people says: findings, counts, what was not judged."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from configlint.effects import Amount, effect_words
from configlint.errors import Place
from configlint.findings import Subject
from configlint.outputs.text import write
from configlint.report import LeftOpen, Report
from configlint.rules import Edition
from configlint.workspace import LeftOut
from tests.builders import EFFECT, FINDING
from tests.report_lines import lines_of, meter, report, subject
from tests.reports import (
    CONCEDED_FINDING,
    CONCESSION,
    UNREAD,
    WORST,
    make_report,
)


def test_a_finding_says_where_what_why_and_what_to_do() -> None:
    """Category, rule, line, message, assumptions, remedy and basis are all told."""
    found = replace(FINDING, assumptions=("By policy.", "The bore is assumed."))
    assert lines_of(report(found))[:9] == [
        "FT-1, north, plant",
        "  in FT-1.yaml",
        "  B  bore-right, line 3",
        "     The bore is wrong.",
        "     Note: By policy.",
        "     Note: The bore is assumed.",
        "     To do: Correct it.",
        "     Basis: Common (common practice)",
        "",
    ]


def test_a_conceded_finding_says_until_when_by_whom_and_why() -> None:
    """It comes behind the open ones, and in place of what to do its concession."""
    open_one = replace(FINDING, category="C")
    made = report(CONCEDED_FINDING, open_one)
    lines = lines_of(made, "C")
    assert lines[2].startswith("  C  bore-right, line 3")
    assert lines[6:11] == [
        "  A  bore-right, line 3, conceded",
        "     The bore is wrong.",
        f"     {CONCESSION.words}",
        "     Basis: Common (common practice)",
        "",
    ]
    counted = lines.index("Findings by category: 0 of A, 0 of B, 1 of C")
    assert lines[counted + 1] == "Conceded: 1 finding"
    assert lines[-1] == "Held at C: 1 finding to close."
    assert lines_of(made, "B")[-1] == "Not held: no finding at or above category B."


def test_what_is_conceded_is_not_ranked_among_what_costs_flow() -> None:
    """The ranking is of what is to be closed; a conceded finding says its cost too."""
    dear = replace(CONCEDED_FINDING, effect=EFFECT)
    lines = lines_of(report(dear, replace(FINDING, effect=EFFECT)))
    assert sum("Effect: " in line for line in lines) == 2
    assert not any(line.startswith("By category, then") for line in lines)


def test_findings_stand_under_their_meter() -> None:
    """A meter is named once, with its findings by line and rule below it."""
    other = subject("FT-2")
    found = (
        replace(FINDING, place=Place("FT-1.yaml", 9), rule="a"),
        replace(FINDING, place=Place("FT-1.yaml", 2), rule="b"),
        replace(FINDING, subject=other, place=Place("FT-2.yaml", 1), rule="c"),
        replace(FINDING, place=Place("FT-1.yaml", 9), rule="d"),
    )
    lines = lines_of(report(*found))
    told = [line for line in lines if re.match(r"FT-|  [ABC]  ", line)]
    assert told == [
        "FT-1, north, plant",
        "  B  b, line 2",
        "  B  a, line 9",
        "  B  d, line 9",
        "FT-2, north, plant",
        "  B  c, line 1",
    ]


def test_a_finding_of_no_meter_names_its_file() -> None:
    """Where no meter could be read, the heading says so and the file is named."""
    nothing = Subject("", "", "", "lost.yaml")
    found = replace(FINDING, subject=nothing, place=Place("lost.yaml"))
    assert lines_of(report(found))[:2] == [
        "Of no meter that could be read",
        "  in lost.yaml",
    ]


def test_what_a_fault_costs_is_told_with_it() -> None:
    """A finding with an effect says it, and one alone needs no ranking."""
    lines = lines_of(report(replace(FINDING, effect=EFFECT)))
    said = " ".join(line.strip() for line in lines)
    assert f"Effect: {effect_words(EFFECT)} " in said
    assert not any(line.startswith("By category, then") for line in lines)


def test_costly_findings_are_ranked() -> None:
    """The costliest ten are listed by category and effect, the others counted."""
    less = EFFECT._replace(relative=0.1, per_year=Amount(5.0, "m3"))
    cheap = [
        replace(FINDING, subject=subject(f"FT-{number}"), effect=less)
        for number in range(10)
    ]
    dear = replace(FINDING, subject=subject("FT-99"), effect=EFFECT)
    lines = lines_of(report(*cheap, dear, FINDING))
    ranked = lines[lines.index("By category, then by what they cost:") + 1 :]
    assert ranked[0].startswith(
        "  B  FT-99, north, bore-right: The receiver reads 20 % high"
    )
    assert "  and 1 other effect" in ranked


def test_all_five_outcomes_are_counted() -> None:
    """The summary counts every outcome word, at zero too, over all meters."""
    made = report(meters=(meter("FT-1", 3, 1, 2), meter("FT-2", 4, 0, 0, 5)))
    text = write(made, "B")
    counts = dict(re.findall(r"^  ([a-z-]+) +(\d+)$", text, re.MULTILINE))
    assert counts == {
        "conforms": "7",
        "nonconforming": "1",
        "not-assessed": "2",
        "not-applicable": "5",
        "conceded": "0",
    }
    assert "2 meters in 1 file\n" in text


def test_all_categories_are_counted() -> None:
    """The summary counts every category, at zero too."""
    made = report(FINDING, replace(FINDING, category="A"), FINDING)
    assert "Findings by category: 1 of A, 2 of B, 0 of C" in lines_of(made)


def test_what_was_missing_is_told() -> None:
    """Each missing input is named with the outcomes and meters it leaves open."""
    left_open = (LeftOpen("a", ("sensor.bore",)), LeftOpen("b", ("sensor.bore", "x")))
    one = meter("FT-1", 0, 0, 2, left_open=left_open)
    two = meter("FT-2", 0, 0, 1, left_open=left_open[:1])
    lines = lines_of(report(meters=(one, two)))
    at = lines.index("Missing, so that rules could not be assessed:")
    assert lines[at + 1 : at + 3] == [
        "  sensor.bore: 3 outcomes in 2 meters",
        "  x: 1 outcome in 1 meter",
    ]


@pytest.mark.parametrize(
    ("inputs", "more"),
    [(10, None), (11, "1 other input"), (13, "3 other inputs")],
)
def test_a_long_list_of_missing_inputs_is_cut_aloud(
    inputs: int, more: str | None
) -> None:
    """Of many missing inputs the first are named, and it is told how many are not."""
    missing = tuple(f"input_{number}" for number in range(inputs))
    made = report(meters=(meter("FT-1", left_open=(LeftOpen("a", missing),)),))
    text = write(made, "B")
    assert len(re.findall(r"^  input_", text, re.MULTILINE)) == min(inputs, 10)
    said = re.findall(r"^  and (.*) \(all in the json report\)$", text, re.MULTILINE)
    assert said == ([] if more is None else [more])


def test_nothing_missing_is_not_announced() -> None:
    """Without missing inputs the report has no list of them."""
    assert "Missing" not in write(report(), "B")


def test_rule_sets_and_files_left_out_are_named() -> None:
    """The report names the rule sets that judged, and each file that was not read."""
    left_out = (LeftOut("pumps.yaml", "it lies in no site's folder"),)
    made = Report((Edition("own", "7", "0f" * 8),), (), (), 3, left_out)
    lines = lines_of(made)
    assert "Rule set own, edition 7, digest 0f0f0f0f0f0f0f0f" in lines
    assert "Not read: pumps.yaml: it lies in no site's folder." in lines
    assert "0 meters in 3 files" in lines


@pytest.mark.parametrize("count", [0, 1, 2])
def test_meters_that_were_not_judged_are_named(count: int) -> None:
    """Meters that could not be read stand beside the judged, each with its place."""
    said = [
        f"Not judged, since it could not be read: {count} meter{'s'[: count - 1]}",
        "  FT-2, FT-2.yaml, line 2: principle is not written.",
        "  A meter without a tag, pumps.yaml, line 1: meter is not written.",
    ]
    said = said[: count + 1] if count else []
    made = replace(report(meters=(meter("FT-1", 1),)), not_judged=UNREAD[:count])
    lines = lines_of(made)
    assert lines[lines.index("1 meter in 1 file") + 1 :][: len(said)] == said
    assert ("Not judged" in "".join(lines)) is bool(count)


def test_the_counts_add_up_for_a_reader() -> None:
    """Findings are told by what their rule is about, beside the outcomes of meters."""
    conceded = replace(CONCEDED_FINDING, rule="scale-agrees", fingerprint="c1")
    found = (WORST, FINDING, conceded)
    made = make_report(*found, meters=(meter("FT-1", 7, 1, 0, 0, 1),))
    lines = lines_of(made)
    assert lines[lines.index("Findings by category: 1 of A, 1 of B, 0 of C") :][
        :11
    ] == [
        "Findings by category: 1 of A, 1 of B, 0 of C",
        "Conceded: 1 finding",
        "3 findings in all: 2 (1 conceded) of rules about meters, "
        "1 of rules about files",
        "Close A before the meter goes into service, B before acceptance, C when",
        "convenient",
        "Outcomes of the rules about meters, over all meters judged:",
        "  conforms               7",
        "  nonconforming          1",
        "  not-assessed           0",
        "  not-applicable         0",
        "  conceded               1",
    ]


def test_a_report_of_nothing_to_close_says_not_when() -> None:
    """Without an open finding it is not told by when findings are to be closed."""
    for made in (report(), report(CONCEDED_FINDING)):
        assert "Close A" not in write(made, "B")


@pytest.mark.parametrize(
    ("day", "said"),
    [(None, []), (date(2026, 5, 4), ["Dates judged as of 2026-05-04"])],
)
def test_the_day_that_dates_were_judged_by_is_told(
    day: date | None, said: list[str]
) -> None:
    """The report names its day, by which it can be made again; without one, none."""
    lines = lines_of(replace(report(), run_date=day))
    assert [line for line in lines if "Dates" in line] == said


def test_the_report_warns_before_settings_are_changed() -> None:
    """Every report says that files were checked, and what comes before a change."""
    text = " ".join(write(report(), "B").split())
    assert "The files were checked, not the meters. Not assessed is not passed." in text


@pytest.mark.parametrize(
    ("categories", "hold_at", "said"),
    [
        ("", "B", "Not held: no finding at or above category B."),
        ("C", "B", "Not held: no finding at or above category B."),
        ("C", "C", "Held at C: 1 finding to close."),
        ("BAC", "B", "Held at B: 2 findings to close."),
        ("BAC", "A", "Held at A: 1 finding to close."),
        ("A", "never", "No hold was asked for."),
    ],
)
def test_the_last_line_says_whether_the_run_is_held(
    categories: str, hold_at: str, said: str
) -> None:
    """The last line says in words what the exit code says."""
    found = (replace(FINDING, category=category) for category in categories)
    made = report(*found)
    assert lines_of(made, hold_at)[-1] == said
    assert said.startswith("Held") is made.held(hold_at)
