"""The findings as annotations: commands in a job's log that a code host shows at lines.

`::error title=…,file=…,line=…,col=…::message`, with a percent sign, CR and LF escaped,
and in properties colon and comma too (the host's documentation of workflow commands). A
host shows 10 of each level a step and 50 a job (from memory of it), so that the worst
come first, and a last notice says what was left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from configlint.findings import CATEGORIES, Finding
from configlint.outputs.names import Root, find_root
from configlint.outputs.text import (
    category_words,
    counted,
    finding_words,
    inert,
    shortened,
)
from configlint.report import Report

__all__ = ["LEVELS", "MOST_OF_A_LEVEL", "write"]

LEVELS = {"A": "error", "B": "warning", "C": "notice"}
"""The host's word for each category."""

MOST_OF_A_LEVEL = 10
"""How many of each level a step may have; three levels stay within the job's 50."""

LONGEST_TITLE = 200
LONGEST_PART = 1_000
IN_MESSAGE = {"%": "%25", "\r": "%0D", "\n": "%0A"}
IN_PROPERTY = {**IN_MESSAGE, ":": "%3A", ",": "%2C"}


def write(report: Report, hold_at: str) -> str:
    """Write an annotation for each finding that is shown, a line each."""
    root, new = find_root(), report.new
    shown = _shown(report)
    lines = [_annotation(each, root, each.fingerprint in new) for each in shown]
    rest = "; ".join(_rest(report, shown))
    if rest:
        title = "What is not shown as an annotation"
        lines.append(_command("notice", {"title": title}, f"{rest}."))
    return "".join(f"{line}\n" for line in lines)


def _shown(report: Report) -> list[Finding]:
    """Choose the worst findings of each level, with room for the last notice."""
    ranked = [each for each in report.worst_first if each.is_open]
    levels = {
        category: [each for each in ranked if each.category == category]
        for category in CATEGORIES
    }
    fits = [each for level in levels.values() for each in level[:MOST_OF_A_LEVEL]]
    if not any(_rest(report, fits)):
        return fits
    levels["C"] = levels["C"][: MOST_OF_A_LEVEL - 1]
    return [each for level in levels.values() for each in level[:MOST_OF_A_LEVEL]]


def _rest(report: Report, shown: Sequence[Finding]) -> Iterator[str]:
    """Say what annotations do not show."""
    told = {each.fingerprint for each in shown}
    left = [each for each in report.findings if each.fingerprint not in told]
    if left:
        findings = counted(len(left), "finding")
        yield f"{findings} ({category_words(left)}), which the other reports have"
    if report.not_judged:
        meters = counted(len(report.not_judged), "meter")
        yield f"not judged, since it could not be read: {meters}"
    if report.left_out:
        yield f"not read: {counted(len(report.left_out), 'file')}"


def _annotation(finding: Finding, root: Root, is_new: bool) -> str:
    subject, place = finding.subject, finding.place
    said = [finding.category, finding.rule, subject.meter, subject.site]
    title = ", ".join(part for part in said if part) + (", new" if is_new else "")
    words = list(finding_words(finding))
    properties = {"title": shortened(title, LONGEST_TITLE)}
    name = root.name(place.file)
    if name is None:
        # The host can show no line of a file that is not in the repository.
        words.insert(0, f"In {place.file}, line {place.line}.")
    else:
        numbers = {"line": str(place.line), "col": str(place.column)}
        properties |= {"file": name, **numbers}
    parts = (shortened(inert(part), LONGEST_PART) for part in words)
    return _command(LEVELS[finding.category], properties, "\n".join(parts))


def _command(level: str, properties: dict[str, str], message: str) -> str:
    given = ",".join(
        f"{name}={_escaped(inert(value), IN_PROPERTY)}"
        for name, value in properties.items()
    )
    return f"::{level} {given}::{_escaped(message, IN_MESSAGE)}"


def _escaped(text: str, escapes: dict[str, str]) -> str:
    return "".join(escapes.get(character, character) for character in text)
