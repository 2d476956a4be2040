"""The report for people: grouped by meter, readable at 80 columns.

Every line carries its meaning in words; on a terminal a style is laid over it,
so that nothing is said by colour alone. Text from a file is made inert before
it reaches a terminal: control characters are shown, never sent, and none begins
a line of its own.
"""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterator
from itertools import groupby
from typing import NamedTuple

from rich.console import Console
from rich.text import Text

from configlint.effects import effect_words
from configlint.findings import Finding
from configlint.report import Report

__all__ = ["WIDTH", "Line", "counted", "inert", "print_styled", "report_lines", "write"]

WIDTH = 80
MOST_MISSING = 10
FEWEST_RANKED = 2
MOST_RANKED = 10
STYLES = {"heading": "bold", "A": "bold magenta", "B": "magenta", "C": "cyan"}
CAUTIONS = (
    "The files were checked, not the meters. Not assessed is not passed. Before a "
    "setting is changed: loop in manual, permit where a trip or dosing depends on "
    "it, totals noted, and both ends changed in one job. Site procedures, local "
    "codes and the maker's data take precedence."
)


class Line(NamedTuple):
    """A line of the report and the style it may have on a terminal."""

    text: str
    style: str = ""


def write(report: Report, hold_at: str) -> str:
    """Write the report as plain text, ending in a line feed."""
    return "".join(f"{line.text}\n" for line in report_lines(report, hold_at))


def print_styled(report: Report, hold_at: str, console: Console) -> None:
    """Print the report to a terminal, with styles where it shows them."""
    for line in report_lines(report, hold_at):
        style = STYLES.get(line.style, "")
        console.print(Text(line.text, style=style), soft_wrap=True, highlight=False)


def report_lines(report: Report, hold_at: str) -> Iterator[Line]:
    """Give the report line by line: each meter with findings, then the counts."""
    groups = groupby(
        sorted(report.findings, key=_meter_key), key=lambda each: _meter_key(each)[:4]
    )
    for _, findings in groups:
        yield from _meter_lines(list(findings))
        yield Line("")
    yield from _summary_lines(report, hold_at)


def _meter_key(finding: Finding) -> tuple[str, str, str, str, str, int, str]:
    subject = finding.subject
    return (
        subject.workspace,
        subject.site,
        finding.place.file,
        subject.meter,
        finding.category,
        finding.place.line,
        finding.rule,
    )


def _meter_lines(findings: list[Finding]) -> Iterator[Line]:
    subject, file = findings[0].subject, inert(findings[0].place.file)
    owner = ", ".join(
        inert(part) for part in (subject.meter, subject.site, subject.workspace) if part
    )
    yield from _wrapped(owner or "Of no meter that could be read", "", "heading")
    yield Line(f"  in {file}")
    for finding in findings:
        yield from _finding_lines(finding)


def _finding_lines(finding: Finding) -> Iterator[Line]:
    where = f"line {finding.place.line}"
    heading = f"  {finding.category}  {inert(finding.rule)}, {where}"
    yield Line(heading, finding.category)
    yield from _wrapped(finding.message, "     ")
    if finding.effect is not None:
        yield from _wrapped(f"Effect: {effect_words(finding.effect)}", "     ")
    for note in finding.assumptions:
        yield from _wrapped(f"Note: {note}", "     ")
    yield from _wrapped(f"To do: {finding.remedy}", "     ")
    yield from _wrapped(f"Basis: {finding.basis}", "     ")


def _summary_lines(report: Report, hold_at: str) -> Iterator[Line]:
    meters = counted(len(report.meters), "meter")
    yield Line(f"{meters} in {counted(report.files, 'file')}", "heading")
    if report.not_judged:
        meters = counted(report.not_judged, "meter")
        yield Line(f"Not judged, since it could not be read: {meters}")
    if report.run_date is not None:
        yield Line(f"Dates judged as of {report.run_date.isoformat()}")
    counts = ", ".join(
        f"{count} of {name}" for name, count in report.by_category.items()
    )
    yield Line(f"Findings by category: {counts}")
    yield Line("Outcomes of all rules over all meters:")
    for word, count in report.by_outcome.items():
        yield Line(f"  {word:<15}{count:>9}")
    yield from _worst_lines(report)
    yield from _missing_lines(report)
    for left_out in report.left_out:
        yield from _wrapped(f"Not read: {left_out.file}: {left_out.reason}.", "")
    for edition in report.editions:
        said = f"Rule set {edition.name}, edition {edition.edition}"
        yield from _wrapped(f"{said}, digest {edition.digest}", "")
    yield from _wrapped(CAUTIONS, "")
    yield Line(_hold_words(report, hold_at), "heading")


def _worst_lines(report: Report) -> Iterator[Line]:
    """Rank the findings that cost flow, where there are several to choose from."""
    costly = [each for each in report.worst_first if each.effect is not None]
    if len(costly) < FEWEST_RANKED:
        return
    yield Line("By category, then by what they cost:")
    for finding in costly[:MOST_RANKED]:
        effect = finding.effect
        cost = effect_words(effect) if effect else ""
        heading = f"{finding.category}  {finding.subject.meter}, {finding.rule}"
        yield from _wrapped(f"{heading}: {cost}", "  ")
    more = len(costly) - MOST_RANKED
    if more > 0:
        yield Line(f"  and {counted(more, 'other finding')} with an effect")


def _missing_lines(report: Report) -> Iterator[Line]:
    missing = report.missing
    if not missing:
        return
    yield Line("Missing, so that rules could not be assessed:")
    for name, meters, outcomes in missing[:MOST_MISSING]:
        words = f"{counted(outcomes, 'outcome')} in {counted(meters, 'meter')}"
        yield from _wrapped(f"{name}: {words}", "  ")
    more = len(missing) - MOST_MISSING
    if more > 0:
        yield Line(f"  and {counted(more, 'other input')} (all in the json report)")


def _hold_words(report: Report, hold_at: str) -> str:
    if hold_at == "never":
        return "No hold was asked for."
    count = sum(finding.category <= hold_at for finding in report.findings)
    if count:
        return f"Held at {hold_at}: {counted(count, 'finding')} to close."
    return f"Not held: no finding at or above category {hold_at}."


def counted(count: int, noun: str) -> str:
    """Write a count with its noun, in the plural unless it is one.

    >>> counted(1, "meter"), counted(2, "meter")
    ('1 meter', '2 meters')
    """
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _wrapped(text: str, indent: str, style: str = "") -> Iterator[Line]:
    lines = textwrap.wrap(
        inert(text),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    yield from (Line(line, style) for line in lines)


def inert(text: str) -> str:
    """Show control and direction characters instead of sending them.

    >>> inert("FT-1" + chr(27) + "[31m")
    'FT-1\\\\x1b[31m'
    """
    if text.isprintable():
        return text
    return "".join(
        character
        if unicodedata.category(character)[0] not in "CZ" or character == " "
        else character.encode("unicode_escape").decode()
        for character in text
    )
