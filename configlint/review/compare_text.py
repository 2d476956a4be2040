"""A comparison for people: grouped by meter, readable at 80 columns."""

from __future__ import annotations

from collections.abc import Iterator

from configlint.effects import effect_words
from configlint.findings import Finding
from configlint.outputs.text import (
    CAUTIONS,
    Line,
    change_lines,
    excuse_lines,
    finding_lines,
    inert,
    wrapped,
)
from configlint.review.changes import Setting
from configlint.review.compare import Comparison
from configlint.review.groups import Group
from configlint.review.matching import is_reopened
from configlint.review.words import (
    altered_words,
    consequence_words,
    count_words,
    excuses_of,
    gone_mark,
    hold_words,
    judging_words,
    kind_words,
    meter_words,
    new_mark,
    reading_words,
    setting_words,
    stale_words,
    stayed_words,
)

__all__ = ["MOST_CONSEQUENCES", "comparison_lines", "write"]

MOST_CONSEQUENCES = 6
"""How many quantities are told of one changed setting."""


def write(comparison: Comparison, hold_at: str) -> str:
    """Write the comparison as plain text, ending in a line feed."""
    return "".join(f"{line.text}\n" for line in comparison_lines(comparison, hold_at))


def comparison_lines(comparison: Comparison, hold_at: str) -> Iterator[Line]:
    """Give the comparison line by line: what judges, meter by meter, then counts."""
    before, after = comparison.before.told, comparison.after.told
    yield from wrapped(f"From {before} to {after}", "", "heading")
    if comparison.rules is not None:
        yield from wrapped(f"Judged by the rules of {comparison.rules.told}", "")
    yield Line("")
    yield from _head_lines(comparison)
    for group in comparison.groups:
        yield from _group_lines(comparison, group)
        yield Line("")
    if comparison.changes_nothing:
        yield Line("No setting, finding or rule has changed.")
    yield from wrapped(meter_words(comparison), "")
    yield from wrapped(count_words(comparison), "")
    for left_out in comparison.left_out:
        yield from wrapped(f"Not read: {left_out.file}: {left_out.reason}.", "")
    if comparison.new:
        yield from wrapped(CAUTIONS, "")
    yield Line(hold_words(comparison, hold_at), "heading")


def _group_lines(comparison: Comparison, group: Group) -> Iterator[Line]:
    subject, change = group.subject, group.change
    parts = (subject.meter, subject.site, subject.workspace)
    owner = ", ".join(inert(part) for part in parts if part)
    yield from wrapped(owner or "Of no meter that could be read", "", "heading")
    yield Line(f"  in {inert(subject.file)}")
    if change is not None:
        for move in change.moves:
            yield from wrapped(f"Its {move.what} was {move.before or 'none'}.", "  ")
        if said := kind_words(change):
            yield Line(f"  {said}")
        yield from wrapped(stale_words(change), "  ")
        for reading in change.readings:
            yield from wrapped(reading_words(reading), "  ")
        for setting in change.settings:
            yield from _setting_lines(setting)
    for finding in group.new:
        yield from finding_lines(finding, new_mark(comparison, finding))
    for finding in group.gone:
        yield from _brief_lines(finding, gone_mark(comparison, finding))
    for kept in group.altered:
        excused = comparison.excuses.get(kept[1].fingerprint, ())
        mark = f", {altered_words(kept, excused)}"
        if is_reopened(kept) or excused:
            yield from finding_lines(kept[1], mark)
        else:
            yield from _brief_lines(kept[1], mark)


def _setting_lines(setting: Setting) -> Iterator[Line]:
    yield from wrapped(setting_words(setting), "  ")
    told = [consequence_words(each) for each in setting.consequences]
    more = len(told) - MOST_CONSEQUENCES
    if more > 0:
        told[MOST_CONSEQUENCES:] = [f"and {more} more (all in the json report)"]
    if told:
        yield from wrapped("; ".join(told), "     ")
    for stayed in setting.stayed:
        yield from wrapped(stayed_words(stayed), "     ")


def _brief_lines(finding: Finding, mark: str) -> Iterator[Line]:
    heading = f"  {finding.category}  {inert(finding.rule)}{mark}"
    yield Line(heading, finding.category)
    yield from wrapped(finding.message, "     ")
    if finding.effect is not None:
        yield from wrapped(f"Effect: {effect_words(finding.effect)}", "     ")
    if finding.concession is not None:
        yield from wrapped(finding.concession.words, "     ")


def _head_lines(comparison: Comparison) -> Iterator[Line]:
    """Say what the change excuses by itself, and what it changes of what judges."""
    excuses = excuses_of(comparison)
    changes = [*judging_words(comparison.judging, comparison.own)]
    yield from excuse_lines(excuses, comparison.trusted)
    yield from change_lines(changes)
    if excuses or changes:
        yield Line("")
