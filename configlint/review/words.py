"""Sentences about a change, the same in every format of the comparison."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from configlint.findings import Finding
from configlint.outputs.excuse_words import accepted_words, excuse_counts
from configlint.outputs.text import category_words, counted
from configlint.report import BY_RULES, EXCUSES, Excuse
from configlint.review.change_words import change_sentences
from configlint.review.changes import (
    REVISION,
    Consequence,
    MeterChange,
    Setting,
    Stayed,
)
from configlint.review.compare import Comparison, OwnChange
from configlint.review.differences import Own
from configlint.review.excuses import excuses_of as excuses_of_one
from configlint.review.matching import Kept
from configlint.review.readings import Reading
from configlint.units import equal

__all__ = [
    "altered_words",
    "consequence_words",
    "count_words",
    "excuses_of",
    "figures",
    "gone_mark",
    "hold_words",
    "judging_words",
    "kind_words",
    "meter_words",
    "new_mark",
    "own_words",
    "reading_words",
    "setting_words",
    "stale_words",
    "stayed_words",
]

FEWEST_FIGURES, MOST_FIGURES = 3, 12
LARGE = 1e6
HALF = 0.5
NOT_WRITTEN = "not written"
KINDS = {
    ("added", False): "added",
    ("removed", False): "removed",
    ("added", True): "could not be read before",
    ("removed", True): "can't be read any more",
}


def figures(before: float, after: float) -> tuple[str, str]:
    """Write two numbers of one unit to three figures, or to as many as they differ in.

    >>> figures(3.1438, 3.7726), figures(3.1438, 3.1441)
    (('3.14', '3.77'), ('3.1438', '3.1441'))
    """
    counts = range(FEWEST_FIGURES, MOST_FIGURES + 1)
    pairs = ((_figure(before, count), _figure(after, count)) for count in counts)
    # What is not equal differs within the figures that comparisons go by.
    return next(pair for pair in pairs if pair[0] != pair[1] or equal(before, after))


def _figure(value: float, count: int) -> str:
    if abs(value) >= LARGE:
        return f"{_figure(value / LARGE, count)} million"
    return f"{Decimal(f'{value:.{count}g}'):f}"


def setting_words(setting: Setting) -> str:
    """Say how a setting is written on both sides."""
    before, after = setting.before or NOT_WRITTEN, setting.after or NOT_WRITTEN
    same = " (written otherwise, same value)" if setting.same_value else ""
    return f"{setting.path}: {before}, now {after}{same}"


def consequence_words(consequence: Consequence) -> str:
    """Say what becomes of a quantity.

    >>> from configlint.effects import Amount
    >>> one, other = Amount(3.1438, "m/s"), Amount(3.7726, "m/s")
    >>> consequence_words(Consequence("velocity_at_span", "", one, other, ()))
    'velocity at span 3.14 to 3.77 m/s'
    """
    name = consequence.quantity.replace("_", " ")
    before, after = consequence.before, consequence.after
    if before is not None and after is not None:
        one, other = figures(before.value, after.value)
        return f"{name} {one} to {other} {after.unit}".rstrip()
    known = after or before
    said = "" if known is None else f"{_figure(known.value, 3)} {known.unit}".rstrip()
    return f"{name} {said}, unknown {'before' if before is None else 'now'}"


def stayed_words(stayed: Stayed) -> str:
    """Say which setting was not changed with another, and which rule compares them."""
    return (
        f"Not changed with it: {stayed.path}, still {stayed.value} ({stayed.rule} does "
        "not conform now)"
    )


def kind_words(change: MeterChange) -> str:
    """Say of a meter that it is on one side alone, "" where it is on both."""
    return KINDS.get((change.kind, change.unread), "")


def own_words(own: OwnChange) -> str:
    """Say which file has changed among those that judge."""
    return f"{own.file} ({own.kind}) {own.change}"


def reading_words(reading: Reading) -> str:
    """Say what something read before a change, and what it reads now.

    >>> reading_words(Reading("The receiver", "q", 0.2, -0.031))
    'The receiver read 20 % high; it now reads 3.1 % low.'
    >>> reading_words(Reading("The meter", "q", 0.0, 1.25))
    'The meter read right; it now reads 2.25 times the flow.'
    """
    before, after = _errors(reading.before, reading.after)
    return f"{reading.of} read {before}; it now reads {after}."


def _errors(before: float, after: float) -> tuple[str, str]:
    percents = figures(abs(100 * before), abs(100 * after))
    times = figures(1 + before, 1 + after)
    one, other = zip((before, after), percents, times, strict=True)
    return _error(*one), _error(*other)


def _error(error: float, percent: str, times: str) -> str:
    if not error:
        return "right"
    if error > 1 or error < -HALF:
        return f"{times} {'times' if error > 1 else 'of'} the flow"
    return f"{percent} % {'high' if error > 0 else 'low'}"


def stale_words(change: MeterChange) -> str:
    """Say that the revision of a meter's records has stayed, "" where it has not."""
    if not change.revision:
        return ""
    return f"Settings changed, but {REVISION} is still {change.revision}."


def excuses_of(comparison: Comparison) -> tuple[Excuse, ...]:
    """Give what the change excuses by itself, for the head of a report.

    What it lets pass of the findings that were there before is told as gone.
    """
    return tuple(
        excuse
        for each in comparison.trials
        if each.is_new or BY_RULES not in each.excused.by
        for excuse in excuses_of_one(each.excused)
    )


def judging_words(own: Own, files: Iterable[OwnChange]) -> Iterator[str]:
    """Say what has changed of what judges: what it says, then which files it is in."""
    yield from (f"Can't be taken: {each}" for each in own.untaken)
    yield from change_sentences(own.differences)
    yield from map(own_words, files)


def gone_mark(comparison: Comparison, finding: Finding) -> str:
    """Say of a finding that is gone whether only the change's own rules let it pass."""
    is_passed = finding.fingerprint in comparison.passed
    return ", gone by the change's own rules" if is_passed else ", gone"


def new_mark(comparison: Comparison, finding: Finding) -> str:
    """Say that a finding is new, and what the change would excuse it by."""
    by = comparison.excuses.get(finding.fingerprint, ())
    return ", ".join([", new", *(EXCUSES[each].mark for each in by)])


def count_words(comparison: Comparison) -> str:
    """Count the findings of both sides."""
    each = f" ({category_words(comparison.new)})" if comparison.new else ""
    altered = len(comparison.altered)
    said = f" ({altered} not as before)" if altered else ""
    return (
        f"Findings: {len(comparison.new)} new{each}, {len(comparison.gone)} gone, "
        f"{len(comparison.kept)} on both sides{said}"
    )


def meter_words(comparison: Comparison) -> str:
    """Count the meters of both sides."""
    kinds = [each.kind for each in comparison.meters]
    told = ", ".join(
        f"{kinds.count(kind)} {kind}" for kind in ("changed", "added", "removed")
    )
    before, after = comparison.before, comparison.after
    return f"Meters: {told}; {before.meters} judged before, {after.meters} now"


def altered_words(kept: Kept, excused: Iterable[str] = ()) -> str:
    """Say how a finding on both sides differs; `excused` is by what the change does."""
    one, other = kept
    if marks := ", ".join(EXCUSES[each].mark for each in excused):
        return marks
    if one.is_open is other.is_open:
        return "with other figures"
    return "no longer conceded" if other.is_open else "conceded now"


def hold_words(comparison: Comparison, hold_at: str) -> str:
    """Say whether the comparison is held, and by how many findings."""
    if hold_at == "never":
        return "No hold was asked for."
    held = [each for each in comparison.to_close if each.category <= hold_at]
    count, excuses = len(held), comparison.excuses
    kinds = (by for each in held for by in excuses.get(each.fingerprint, ()))
    excused = excuse_counts(kinds)
    if excused:
        found = counted(count, "finding")
        said = f"Held at {hold_at}: {found} to close, of which {excused}."
    elif count:
        said = f"Held at {hold_at}: {counted(count, 'new finding')} to close."
    else:
        said = f"Not held: no new finding at or above category {hold_at}."
    return said + accepted_words(excuses_of(comparison), comparison.trusted)
