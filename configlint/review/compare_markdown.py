"""A comparison as Markdown, to be a comment at a pull request.

Text from a file stays text: it makes no link, calls nobody and begins no list. The
whole is bounded, since a code host refuses a longer comment; what is left out is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from configlint.findings import Finding
from configlint.outputs.excuse_words import RULES_CHANGED, excuses_told
from configlint.outputs.markdown import LONGEST, finding_entry, owner, plain
from configlint.outputs.text import counted
from configlint.review.changes import MeterChange, Setting
from configlint.review.compare import Comparison
from configlint.review.compare_text import MOST_CONSEQUENCES
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
    reading_words,
    stale_words,
    stayed_words,
)

__all__ = ["write"]


def write(comparison: Comparison, hold_at: str) -> str:
    """Write the comparison as Markdown, ending in a line feed."""
    room = LONGEST
    written: list[str] = []
    lines = list(_lines(comparison, hold_at))
    for line in lines:
        room -= len(line) + 1
        if room < 0:
            left = counted(len(lines) - len(written), "line")
            more = f"{left} did not fit; the text and json reports have them."
            return "\n".join((*written, "", more, ""))
        written.append(line)
    return "\n".join((*written, ""))


def _lines(comparison: Comparison, hold_at: str) -> Iterator[str]:
    sides = comparison.before.told, comparison.after.told
    yield f"### Flow meter settings, {plain(sides[0])} to {plain(sides[1])}"
    yield ""
    yield f"**{hold_words(comparison, hold_at)}**"
    yield ""
    if comparison.rules is not None:
        yield f"- Judged by the rules of {plain(comparison.rules.told)}"
    yield f"- {plain(meter_words(comparison))}"
    yield f"- {plain(count_words(comparison))}"
    for excuses in excuses_told(excuses_of(comparison), comparison.trusted):
        yield from _section(excuses.heading, map(plain, excuses.entries))
    changes = judging_words(comparison.judging, comparison.own)
    yield from _section(RULES_CHANGED, map(plain, changes))
    yield from _section("New findings", map(finding_entry, comparison.new))
    yield from _table(comparison)
    yield from _section("Meters", _meters(comparison.meters))
    gone = (_brief(each, gone_mark(comparison, each)) for each in comparison.gone)
    yield from _section("Gone", gone)
    yield from _section("On both sides, not as before", _altered(comparison))
    left_out = (f"{each.file}: {each.reason}" for each in comparison.left_out)
    yield from _section("Not read", map(plain, left_out))


def _altered(comparison: Comparison) -> Iterator[str]:
    for kept in comparison.altered:
        excused = comparison.excuses.get(kept[1].fingerprint, ())
        yield _brief(kept[1], f", {altered_words(kept, excused)}")


def _section(title: str, entries: Iterable[str]) -> Iterator[str]:
    found = [f"- {entry}" for entry in entries]
    if found:
        yield from ("", f"#### {title}", "", *found)


def _brief(finding: Finding, mark: str = "") -> str:
    rule, message = plain(finding.rule), plain(finding.message)
    return f"**{finding.category}** {owner(finding.subject)}, {rule}{mark}: {message}"


def _table(comparison: Comparison) -> Iterator[str]:
    rows = [
        _row(change, setting)
        for change in comparison.meters
        for setting in change.settings
    ]
    if rows:
        yield from ("", "#### Settings", "")
        yield "| meter | setting | before | now | what follows |"
        yield "| --- | --- | --- | --- | --- |"
        yield from rows


def _row(change: MeterChange, setting: Setting) -> str:
    follows = [consequence_words(each) for each in setting.consequences]
    follows[MOST_CONSEQUENCES:] = ["and more"] if follows[MOST_CONSEQUENCES:] else []
    follows += [stayed_words(each) for each in setting.stayed]
    if setting.same_value:
        follows.append("the same value, written otherwise")
    cells = (setting.path, setting.before or "", setting.after or "")
    told = " | ".join(map(plain, cells))
    return f"| {owner(change.subject)} | {told} | {'<br>'.join(map(plain, follows))} |"


def _meters(changes: Iterable[MeterChange]) -> Iterator[str]:
    for change in changes:
        said = [f"its {each.what} was {each.before or 'none'}" for each in change.moves]
        readings = map(reading_words, change.readings)
        said = [kind_words(change), *said, stale_words(change), *readings]
        if any(said):
            told = plain("; ".join(each.rstrip(".") for each in said if each))
            file = plain(change.subject.file)
            yield f"{owner(change.subject)} ({file}): {told}"
