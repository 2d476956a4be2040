"""The report for people: grouped by meter, readable at 80 columns.

Every line carries its meaning in words; on a terminal a style is laid over it,
so that nothing is said by colour alone. Text from a file is made inert before
it reaches a terminal: control characters are shown, never sent, and none begins
a line of its own.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from rich.console import Console
from rich.text import Text

from configlint.effects import effect_words
from configlint.findings import CATEGORIES, Finding, Subject
from configlint.outputs.excuse_words import (
    RULES_CHANGED,
    accepted_words,
    excuse_counts,
    excuses_told,
)
from configlint.outputs.summary import (
    CLOSE_IT,
    counted,
    kinds_words,
    not_judged_words,
    unread_entries,
)
from configlint.proposals import advice_words
from configlint.report import Excuse, Report

__all__ = [
    "CAUTIONS",
    "STYLES",
    "WIDTH",
    "Line",
    "category_words",
    "change_lines",
    "counted",
    "excuse_lines",
    "finding_lines",
    "finding_words",
    "hold_words",
    "inert",
    "print_styled",
    "report_lines",
    "revision_words",
    "shortened",
    "wrapped",
    "write",
]

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

COMMANDS = re.compile(r"(?<!\S):(?=:)|#(?=#)")
"""The sign that a command to a code host begins with, wherever a line may begin."""


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
    new = report.new
    yield from _head_lines(report)
    for _, findings in groups:
        yield from _meter_lines(list(findings), new)
        yield Line("")
    yield from _summary_lines(report, hold_at)


def _meter_key(finding: Finding) -> tuple[str, str, str, str, bool, str, int, str]:
    subject = finding.subject
    return (
        subject.workspace,
        subject.site,
        finding.place.file,
        subject.meter,
        not finding.is_open,
        finding.category,
        finding.place.line,
        finding.rule,
    )


def _meter_lines(findings: list[Finding], new: frozenset[str]) -> Iterator[Line]:
    subject, file = findings[0].subject, inert(findings[0].place.file)
    owner = ", ".join(
        inert(part) for part in (subject.meter, subject.site, subject.workspace) if part
    )
    yield from wrapped(owner or "Of no meter that could be read", "", "heading")
    yield Line(f"  in {file}")
    for finding in findings:
        mark = ", new" if finding.fingerprint in new else ""
        yield from finding_lines(finding, mark)


def finding_lines(finding: Finding, mark: str = "") -> Iterator[Line]:
    """Give a finding line by line: its rule and place, what is wrong, what to do.

    `mark` is said behind the place. Of a conceded one it is said until when, by whom
    and why, in place of what to do.
    """
    conceded = "" if finding.is_open else ", conceded"
    where = f"line {finding.place.line}{mark}{conceded}"
    heading = f"  {finding.category}  {inert(finding.rule)}, {where}"
    yield Line(heading, finding.category if finding.is_open else "")
    for words in finding_words(finding):
        yield from wrapped(words, "     ")


def finding_words(finding: Finding) -> Iterator[str]:
    """Say what is wrong, what it costs, what to do and why, a paragraph each.

    The words are as they stand in the finding: it is for a format to make them inert.
    """
    yield finding.message
    if finding.effect is not None:
        yield f"Effect: {effect_words(finding.effect)}"
    for note in finding.assumptions:
        yield f"Note: {note}"
    if finding.concession is not None:
        yield finding.concession.words
    else:
        yield f"To do: {finding.remedy}"
        if finding.advice:
            yield f"Value: {advice_words(finding.advice)}"
    yield f"Basis: {finding.basis}"


def _summary_lines(report: Report, hold_at: str) -> Iterator[Line]:
    meters = counted(len(report.meters), "meter")
    yield Line(f"{meters} in {counted(report.files, 'file')}", "heading")
    yield from _unread_lines(report)
    for words in revision_words(report):
        yield from wrapped(words, "")
    if report.run_date is not None:
        yield Line(f"Dates judged as of {report.run_date.isoformat()}")
    counts = ", ".join(
        f"{count} of {name}" for name, count in report.by_category.items()
    )
    yield Line(f"Findings by category: {counts}")
    if report.conceded:
        yield Line(f"Conceded: {counted(report.conceded, 'finding')}")
    for words in kinds_words(report):
        yield from wrapped(words, "")
    if any(report.by_category.values()):
        closing = ", ".join(f"{name} {when}" for name, when in CLOSE_IT.items())
        yield from wrapped(f"Close {closing}", "")
    yield Line("Outcomes of the rules about meters, over all meters judged:")
    for word, count in report.by_outcome.items():
        yield Line(f"  {word:<15}{count:>9}")
    yield from _worst_lines(report)
    yield from _missing_lines(report)
    for left_out in report.left_out:
        yield from wrapped(f"Not read: {left_out.file}: {left_out.reason}.", "")
    for edition in report.editions:
        said = f"Rule set {edition.name}, edition {edition.edition}"
        yield from wrapped(f"{said}, digest {edition.digest}", "")
    yield from wrapped(CAUTIONS, "")
    yield Line(hold_words(report, hold_at), "heading")


def _unread_lines(report: Report) -> Iterator[Line]:
    for words in not_judged_words(report):
        yield Line(words)
    for words in unread_entries(report):
        yield from wrapped(words, "  ")


def revision_words(report: Report) -> Iterator[str]:
    """Say which files were looked at, and whose rules judged, where that was asked."""
    if report.since is not None:
        since = report.since
        yield (
            f"Reported is what has changed since {since.base.told}, of "
            f"{counted(since.judged, 'file')} judged; new since then: "
            f"{counted(len(since.new), 'finding')}"
        )
    if report.rules_from is not None:
        yield f"Judged by the rules of {report.rules_from.told}"


def _worst_lines(report: Report) -> Iterator[Line]:
    """Rank the findings that cost flow, where there are several to choose from."""
    costs = report.costs
    if len(costs) < FEWEST_RANKED:
        return
    yield Line("By category, then by what they cost:")
    for finding, effect in costs[:MOST_RANKED]:
        heading = f"{finding.category}  {_owner(finding.subject)}, {finding.rule}"
        yield from wrapped(f"{heading}: {effect_words(effect)}", "  ")
    more = len(costs) - MOST_RANKED
    if more > 0:
        yield Line(f"  and {counted(more, 'other effect')}")


def _owner(subject: Subject) -> str:
    """Name a meter with its site, since two sites may have one tag."""
    return ", ".join(part for part in (subject.meter, subject.site) if part)


def _missing_lines(report: Report) -> Iterator[Line]:
    missing = report.missing
    if not missing:
        return
    yield Line("Missing, so that rules could not be assessed:")
    for name, meters, outcomes in missing[:MOST_MISSING]:
        words = f"{counted(outcomes, 'outcome')} in {counted(meters, 'meter')}"
        yield from wrapped(f"{name}: {words}", "  ")
    more = len(missing) - MOST_MISSING
    if more > 0:
        yield Line(f"  and {counted(more, 'other input')} (all in the json report)")


def hold_words(report: Report, hold_at: str) -> str:
    """Say whether a run is held at a category, and by how many findings."""
    if hold_at == "never":
        return "No hold was asked for."
    count = sum(each.category <= hold_at for each in report.open_findings)
    if count:
        excused = excuse_counts(_kinds_of_excuse(report, hold_at))
        which = f", of which {excused}" if excused else ""
        said = f"Held at {hold_at}: {counted(count, 'finding')} to close{which}."
    else:
        said = f"Not held: no finding at or above category {hold_at}."
    since = report.since
    return said + (accepted_words(since.excuses, since.trusted) if since else "")


def _kinds_of_excuse(report: Report, hold_at: str) -> Iterator[str]:
    """Say by what the change itself would excuse the findings that hold a run."""
    if report.since is not None and not report.since.trusted:
        held = {
            each.fingerprint
            for each in report.open_findings
            if each.category <= hold_at
        }
        yield from (e.by for e in report.since.excuses if e.fingerprint in held)


def excuse_lines(excuses: Iterable[Excuse], trusted: bool) -> Iterator[Line]:
    """Give what a change excuses by itself, for the head of a report."""
    for each in excuses_told(excuses, trusted):
        yield from wrapped(each.heading, "", "heading")
        for entry in each.entries:
            yield from wrapped(entry, "  ")


def change_lines(changes: Sequence[str]) -> Iterator[Line]:
    """Give what a change changes of what judges it, for the head of a report."""
    if changes:
        yield Line(RULES_CHANGED, "heading")
    for words in changes:
        yield from wrapped(words, "  ")


def _head_lines(report: Report) -> Iterator[Line]:
    since = report.since
    if since is not None and (since.excuses or since.changes):
        yield from excuse_lines(since.excuses, since.trusted)
        yield from change_lines(since.changes)
        yield Line("")


def category_words(findings: Iterable[Finding]) -> str:
    """Count findings by category, those that are conceded by that word.

    >>> category_words(())
    'none'
    """
    counts = Counter(each.category if each.is_open else "" for each in findings)
    said = [f"{counts[name]} of {name}" for name in CATEGORIES if counts[name]]
    if counts[""]:
        said.append(f"{counts['']} conceded")
    return ", ".join(said) or "none"


def shortened(text: str, most: int) -> str:
    """Cut a text to so many characters, the last of which then says that it was cut.

    >>> shortened("FT-2104", 7), shortened("FT-2104", 4)
    ('FT-2104', 'FT-…')
    """
    return text if len(text) <= most else f"{text[: most - 1]}…"


def wrapped(text: str, indent: str, style: str = "") -> Iterator[Line]:
    """Break a text into lines of the width, each indented alike, and make it inert."""
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

    Nor is a log told to act: two colons that begin a line, and two number signs before
    a bracket, begin commands to a code host (its documentation; common practice).

    >>> inert("FT-1" + chr(27) + "[31m"), inert("::error::FT-1 ##[endgroup]")
    ('FT-1\\\\x1b[31m', '\\\\x3a:error::FT-1 \\\\x23#[endgroup]')
    """
    if not text.isprintable():
        text = "".join(map(_shown, text))
    if "::" in text or "##" in text:
        text = COMMANDS.sub(lambda found: f"\\x{ord(found[0]):x}", text)
    return text


def _shown(character: str) -> str:
    if character == " " or unicodedata.category(character)[0] not in "CZ":
        return character
    return character.encode("unicode_escape").decode()
