"""The report as Markdown, for a comment at a pull request or a job's summary.

Text from a file stays text: it makes no link, calls nobody and begins no list. The
whole is bounded, since a code host refuses what is longer; what is left out is said.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Iterator, Sequence

from configlint.findings import Finding, Subject
from configlint.outputs.excuse_words import RULES_CHANGED, excuses_told
from configlint.outputs.summary import (
    CLOSE_IT,
    counted,
    kinds_words,
    not_judged_words,
    unread_words,
)
from configlint.outputs.text import (
    CAUTIONS,
    category_words,
    finding_words,
    hold_words,
    inert,
    revision_words,
    shortened,
)
from configlint.report import Report

__all__ = ["LONGEST", "finding_entry", "owner", "plain", "write"]

LONGEST = 65_000
"""Characters of the whole. A comment holds 65 536 and a job's summary 1 MiB (from
memory of a code host's documentation); what a host counts otherwise has some room."""

LONGEST_PART = 600
LONGEST_BRIEF = 100
BRIEF = "Further findings, in brief; the other reports have them whole"
LONGEST_LIST = 5_000
MOST_LISTED = 20
ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}
SIGNS = re.compile(r"[\\`*_\[\]|~$]")
# A mark that nobody sees keeps a name from being called and an address from a link.
CALLS = re.compile(r"[@#]|:(?=//)|\bwww(?=\.)")
JOINER = "&#8288;"


def plain(text: str) -> str:
    """Write any text so that Markdown shows it as it is, in one line.

    >>> plain("<b> @all | [x](y)")
    '&lt;b&gt; @&#8288;all \\\\| \\\\[x\\\\](y)'
    """
    shown = SIGNS.sub(r"\\\g<0>", shortened(inert(text), LONGEST_PART))
    shown = "".join(ENTITIES.get(character, character) for character in shown)
    return CALLS.sub(rf"\g<0>{JOINER}", shown)


def write(report: Report, hold_at: str) -> str:
    """Write the report as Markdown, ending in a line feed."""
    head, tail = list(_head(report, hold_at)), list(_tail(report))
    room = LONGEST - _length(head) - _length(tail)
    return "".join(f"{line}\n" for line in (*head, *_findings(report, room), *tail))


def _length(lines: Iterable[str]) -> int:
    return sum(len(line) + 1 for line in lines)


def _head(report: Report, hold_at: str) -> Iterator[str]:
    yield "### Flow meter settings"
    yield from ("", f"**{hold_words(report, hold_at)}**", "")
    yield from _since_head(report)
    yield "| category | findings | close them |"
    yield "| --- | ---: | --- |"
    for category, count in report.by_category.items():
        yield f"| {category} | {count} | {CLOSE_IT[category]} |"
    if report.conceded:
        yield f"| conceded | {report.conceded} | when the concession ends |"
    yield ""
    meters = (
        f"{counted(len(report.meters), 'meter')} in {counted(report.files, 'file')}"
    )
    yield f"- {meters}"
    for words in (*revision_words(report), *kinds_words(report)):
        yield f"- {plain(words)}"
    outcomes = (f"{count} {word}" for word, count in report.by_outcome.items())
    yield f"- Outcomes of the rules about meters: {', '.join(outcomes)}"
    if report.run_date is not None:
        yield f"- Dates judged as of {report.run_date.isoformat()}"
    for words in not_judged_words(report):
        yield f"- {words}"
    unread = (plain(unread_words(each)) for each in report.not_judged)
    yield from _list("Not judged", [*unread])


def _since_head(report: Report) -> Iterator[str]:
    """Say what the change itself would excuse, and what of its rules it changes."""
    since = report.since
    if since is None:
        return
    for each in excuses_told(since.excuses, since.trusted):
        yield from (*_list(each.heading, [*map(plain, each.entries)]), "")
    if since.changes:
        yield from (*_list(RULES_CHANGED, [*map(plain, since.changes)]), "")


def _findings(report: Report, room: int) -> Iterator[str]:
    """Give the findings, the worst first, as far as they fit into the characters.

    Where they don't all fit whole, those behind are told in brief, for which as much
    room is kept as they need, but no more than a third.
    """
    ranked, new = report.worst_first, report.new
    room -= LONGEST_PART
    whole = _fitting(_entries(ranked, new), room)
    if len(whole) < len(ranked):
        kept = _length(_fitting(_entries(ranked, new, brief=True), room // 3))
        whole = _fitting(_entries(ranked, new), room - kept)
    rest = ranked[len(whole) :]
    lines = _fitting(_entries(rest, new, brief=True), room - _length(whole))
    left = rest[len(lines) :]
    if left:
        said = f"{counted(len(left), 'finding')} did not fit: {category_words(left)}"
        lines.append(f"- {said}. The other reports have them.")
    yield from _section("Findings, the worst first", whole)
    yield from _section(BRIEF, lines)


def _entries(
    findings: Iterable[Finding], new: Container[str], brief: bool = False
) -> Iterator[str]:
    entry = _brief_entry if brief else finding_entry
    return (entry(each, each.fingerprint in new) for each in findings)


def _tail(report: Report) -> Iterator[str]:
    missing = (
        f"{plain(name)}: {counted(outcomes, 'outcome')} in {counted(meters, 'meter')}"
        for name, meters, outcomes in report.missing
    )
    yield from _list("Missing, so that rules could not be assessed", [*missing])
    left_out = (
        f"File {plain(each.file)}: {plain(each.reason)}" for each in report.left_out
    )
    yield from _list("Not read", [*left_out])
    editions = (
        plain(f"Rule set {each.name}, edition {each.edition}, digest {each.digest}")
        for each in report.editions
    )
    yield from _list("Judged by", [*editions])
    yield from ("", CAUTIONS)


def _list(title: str, entries: Sequence[str]) -> Iterator[str]:
    """Give the first entries of a list, and how many more there are."""
    lines = _fitting(entries[:MOST_LISTED], LONGEST_LIST)
    more = len(entries) - len(lines)
    yield from _section(title, [*lines, f"- and {more} more"] if more else lines)


def _section(title: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield from ("", f"#### {title}", "", *lines)


def _fitting(entries: Iterable[str], room: int) -> list[str]:
    lines = []
    for entry in entries:
        room -= len(entry) + len("- \n")
        if room < 0:
            break
        lines.append(f"- {entry}")
    return lines


def finding_entry(finding: Finding, is_new: bool = False) -> str:
    """Write a finding as one entry of a list: where it is, then what it says."""
    told = "<br>".join(map(plain, finding_words(finding)))
    return f"{_heading(finding, is_new)}<br>{told}"


def _brief_entry(finding: Finding, is_new: bool) -> str:
    """Write of a finding where it is, and what is wrong as far as that is short."""
    told = plain(shortened(finding.message, LONGEST_BRIEF))
    return f"{_heading(finding, is_new)}: {told}"


def _heading(finding: Finding, is_new: bool) -> str:
    where = f"{finding.place.file}, line {finding.place.line}"
    marks = ", new" if is_new else ""
    marks += "" if finding.is_open else ", conceded"
    heading = f"**{finding.category}** {owner(finding.subject)}, {plain(finding.rule)}"
    return f"{heading} ({plain(where)}){marks}"


def owner(subject: Subject) -> str:
    """Name what a finding is about: a meter with its site, or a file."""
    parts = (subject.meter or subject.file, subject.site)
    return plain(", ".join(part for part in parts if part))
