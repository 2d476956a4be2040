"""Sentences about a change, the same in every format of the comparison."""

from __future__ import annotations

from decimal import Decimal

from configlint.outputs.text import category_words, counted
from configlint.review.changes import Consequence, MeterChange, Setting, Stayed
from configlint.review.compare import Comparison, LimitChange, OwnChange
from configlint.review.matching import Kept
from configlint.units import equal

__all__ = [
    "altered_words",
    "consequence_words",
    "count_words",
    "figures",
    "hold_words",
    "kind_words",
    "limit_words",
    "meter_words",
    "own_words",
    "setting_words",
    "stayed_words",
]

FEWEST_FIGURES, MOST_FIGURES = 3, 12
LARGE = 1e6
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


def limit_words(limit: LimitChange) -> str:
    """Say how a policy's limit has changed."""
    where = limit.site or limit.workspace
    before, after = limit.before or "the standard", limit.after or "the standard"
    reason = f": {limit.reason}" if limit.reason else ""
    return f"{limit.rule}, {limit.limit} at {where}: {before}, now {after}{reason}"


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


def altered_words(kept: Kept) -> str:
    """Say how a finding on both sides differs."""
    one, other = kept
    if one.is_open is other.is_open:
        return "with other figures"
    return "no longer conceded" if other.is_open else "conceded now"


def hold_words(comparison: Comparison, hold_at: str) -> str:
    """Say whether the comparison is held, and by how many findings."""
    if hold_at == "never":
        return "No hold was asked for."
    count = sum(each.category <= hold_at for each in comparison.to_close)
    if count:
        return f"Held at {hold_at}: {counted(count, 'new finding')} to close."
    return f"Not held: no new finding at or above category {hold_at}."
