"""Laws of the report for people: readable, inert, and the same in any style."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date

import pytest
from rich.console import Console

from configlint.effects import Amount, effect_words
from configlint.engine import OUTCOMES
from configlint.errors import Place
from configlint.findings import Finding, Subject
from configlint.outputs import FORMATS
from configlint.outputs.text import inert, print_styled, write
from configlint.report import LeftOpen, MeterResult, Report
from configlint.rules import Edition
from configlint.workspace import LeftOut
from tests.builders import EFFECT, FINDING
from tests.readers import assert_lines_inert
from tests.reports import CONCEDED_FINDING, CONCESSION

HOSTILE = (
    "\x1b[31mred\x1b[0m",
    "bell\x07 and backspace\x08",
    "one\ntwo",
    "one\r\ntwo",
    "page\x0cline\x0bfile\x1cgroup\x1d",
    "next\x85line",
    "csi\x9b2J",
    "line\u2028paragraph\u2029",
    "right\u202eleft\u202d\u2066\u2069\u200f",
    "zero\u200bwidth\u200d\ufeff",
    "no-break\u00a0space",
    "half\ud800pair",
    "private\ue000",
    "tab\tulator",
)

SENDABLE = re.compile(r"[\x20-\x7e\u00a1-\ud7ff\uf900-\uffef]*")


def subject(tag: str, file: str = "") -> Subject:
    """Make the subject of a meter in a file of its own."""
    return Subject("plant", "north", tag, file or f"{tag}.yaml")


def meter(tag: str, *counts: int, left_open: tuple[LeftOpen, ...] = ()) -> MeterResult:
    """Make a meter's result of the counts of some outcomes."""
    given = dict(zip(OUTCOMES, counts, strict=False))
    return MeterResult(subject(tag), dict.fromkeys(OUTCOMES, 0) | given, left_open)


def report(*findings: Finding, meters: tuple[MeterResult, ...] = ()) -> Report:
    """Make a report of findings."""
    return Report((), meters, findings, 1)


def lines_of(made: Report, hold_at: str = "B") -> list[str]:
    """Give the lines of a report."""
    text = write(made, hold_at)
    assert text.endswith("\n")
    return text.removesuffix("\n").split("\n")


# --- what is said -----------------------------------------------------------


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
    assert ranked[0].startswith("  B  FT-99, bore-right: The receiver reads 20 % high")
    assert "  and 1 other finding with an effect" in ranked


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


@pytest.mark.parametrize(
    ("not_judged", "said"),
    [
        (0, []),
        (1, ["Not judged, since it could not be read: 1 meter"]),
        (3, ["Not judged, since it could not be read: 3 meters"]),
    ],
)
def test_meters_that_were_not_judged_are_counted(
    not_judged: int, said: list[str]
) -> None:
    """Meters that could not be read are counted beside the judged, if there are any."""
    made = replace(report(meters=(meter("FT-1", 1),)), not_judged=not_judged)
    lines = lines_of(made)
    assert lines[lines.index("1 meter in 1 file") + 1 :][: len(said)] == said
    assert [line for line in lines if "Not judged" in line] == said


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


# --- how it looks -----------------------------------------------------------


def test_lines_keep_to_80_columns() -> None:
    """Whatever is made of words is broken so that a line has 80 columns at most."""
    words = "a word and another-word with more_words " * 9
    found = replace(
        FINDING,
        subject=Subject(words, words, words, "a.yaml"),
        message=words,
        assumptions=(words,),
        remedy=words,
        basis=words,
    )
    missing = (LeftOpen("a", ("sensor.nameplate." * 4,)),)
    made = Report(
        (Edition(words, words, "0f"),),
        (meter("FT-1", left_open=missing),),
        (found,),
        1,
        (LeftOut("pumps.yaml", words),),
    )
    lines = lines_of(made)
    assert max(map(len, lines)) <= 80
    assert " ".join(" ".join(lines).split()).count(words.strip()) == 10


def test_a_word_is_never_broken() -> None:
    """A word longer than a line stands whole, so that it can be copied."""
    word = "path/" * 30
    lines = lines_of(report(replace(FINDING, message=f"See {word} there.")))
    assert f"     {word}" in lines
    assert max(len(line) for line in lines if word not in line) <= 80


def full_of(text: str) -> Report:
    """Make a report that holds a text wherever a file's text can stand."""
    found = replace(
        FINDING,
        subject=Subject(text, text, text, text),
        place=Place(text, 3, 5),
        rule=text,
        message=text,
        assumptions=(text,),
        remedy=text,
        basis=text,
    )
    open_rules = (LeftOpen(text, (text,)),)
    results = (meter("FT-1", left_open=open_rules),)
    left_out = (LeftOut(text, text),)
    return Report((Edition(text, text, text),), results, (found,), 1, left_out)


@pytest.mark.parametrize("hostile", HOSTILE)
def test_text_from_a_file_is_inert(hostile: str) -> None:
    """No control or direction character of a file is sent, and none ends a line."""
    lines = lines_of(full_of(hostile))
    assert all(SENDABLE.fullmatch(line) for line in lines)
    shown = inert(hostile)
    assert len(lines) == len(lines_of(full_of(re.sub(r"\S", "x", shown))))
    assert f"  in {shown}" in lines
    assert f"  B  {shown}, line 3" in lines
    assert f"     {shown}" in lines
    assert f"     To do: {shown}" in lines


@pytest.mark.parametrize("hostile", HOSTILE)
def test_what_is_made_inert_can_be_read(hostile: str) -> None:
    """An inert text tells which character stood there, and keeps all others."""
    shown = inert(hostile)
    assert SENDABLE.fullmatch(shown)
    assert shown.encode().decode("unicode_escape") == hostile


@pytest.mark.parametrize("text", ["", "FT-1, größe 1 µS/cm ≥ 5", "文字", "\\x1b"])
def test_harmless_text_is_left_as_it_is(text: str) -> None:
    """Letters, units and signs of any script come through untouched."""
    assert inert(text) == text


@pytest.mark.parametrize("width", [20, 80, 200])
def test_styled_and_plain_text_are_the_same(width: int) -> None:
    """On a terminal of any width the words are those of the plain report."""
    found = (
        replace(FINDING, category="A", message="[bold]no markup[/bold] :warning: "),
        replace(FINDING, category="B", message="word " * 60),
        replace(FINDING, category="C", remedy="Go to https://example.invalid/ 12 %"),
    )
    made = report(*found, meters=(meter("FT-1", 1),))
    stream = io.StringIO()
    console = Console(
        file=stream, force_terminal=True, width=width, color_system="truecolor"
    )
    print_styled(made, "B", console)
    styled = stream.getvalue()
    assert "\x1b[" in styled
    assert re.sub(r"\x1b\[[0-9;]*m", "", styled) == write(made, "B")


def test_each_format_has_a_name() -> None:
    """The text report is one of the formats, under its name."""
    assert FORMATS["text"] is write


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("::error::FT-1", r"\x3a:error::FT-1"),
        ("FT-1 ::error::", r"FT-1 \x3a:error::"),
        ("FT-1\n::error::", r"FT-1\n::error::"),
        (":::", r"\x3a::"),
        ("##[group]", r"\x23#[group]"),
        ("FT-1###[group]", r"FT-1\x23\x23#[group]"),
        ("a::b, fe80::1, #1: a", "a::b, fe80::1, #1: a"),
    ],
)
def test_no_text_commands_a_log(text: str, shown: str) -> None:
    """Where a line may begin with it, the sign that begins a command is shown."""
    assert inert(text) == shown
    made = report(replace(FINDING, message=text, subject=subject(text)))
    assert_lines_inert(write(made, "B"))


def test_a_wrapped_text_begins_no_command() -> None:
    """Wherever a line is broken, what it begins with commands no log."""
    for length in range(60, 90):
        text = f"{'x' * length} ::error file=a.yaml::taken"
        assert_lines_inert(write(report(replace(FINDING, message=text)), "B"))
