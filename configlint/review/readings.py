"""What a meter's reading was off by before a change, and what it is off by now.

Some rules say what their fault costs by one quantity alone, such as the error of the
receiver by the whole chain of signal. Of those that a change moves, the ones that take
the most of the meter into account are told, one for each thing that reads. Where the
meter has a fault that bears on the reading and that the quantity leaves out, on either
side, nothing is told: it would not be what the meter reads.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any, NamedTuple

from configlint.effects import SMALLEST, rounded
from configlint.engine import NONCONFORMING, NOT_APPLICABLE
from configlint.formula import Name
from configlint.operators import is_missing
from configlint.rules import MeterRule, RuleBook
from configlint.stages import counted_by
from configlint.units import equal

__all__ = ["Reading", "find_readings"]


class Reading(NamedTuple):
    """What reads, and its error before and after as a share of the flow.

    An error is more than 0 where it reads high; `quantity` is the one that tells it.
    """

    of: str
    quantity: str
    before: float
    after: float


class _Told(NamedTuple):
    """A quantity that tells what something reads, and the inputs that it rests on."""

    of: str
    quantity: str
    inputs: frozenset[str]
    rule: MeterRule


def find_readings(
    book: RuleBook,
    changed: Collection[str],
    values: tuple[Mapping[str, Any], Mapping[str, Any]],
    words: tuple[Mapping[str, str], Mapping[str, str]],
) -> tuple[Reading, ...]:
    """Give the readings of a meter that a change of some settings moves.

    `values` are those of the meter before and after, by path, `words` the outcomes of
    all rules. What can't be computed on both sides is not told, nor what leaves out a
    fault of the meter.
    """
    faults = {
        name for side in words for name, word in side.items() if word == NONCONFORMING
    }
    readings: list[Reading] = []
    taken: list[_Told] = []
    told = sorted(_told(book, changed, words), key=lambda each: -len(each.inputs))
    for each in told:
        known = [_error(side, each.quantity) for side in values]
        before, after = known
        if before is None or after is None:
            continue
        # What a longer chain takes in is told with it.
        if any(each.inputs <= other.inputs for other in taken):
            continue
        taken.append(each)
        whole = not _leaves_out(book, each, faults)
        if whole and not equal(1 + before, 1 + after):
            readings.append(Reading(each.of, each.quantity, before, after))
    return tuple(readings)


def _told(
    book: RuleBook,
    changed: Collection[str],
    words: tuple[Mapping[str, str], Mapping[str, str]],
) -> Iterator[_Told]:
    for rule in book.meter_rules:
        name = _quantity(rule)
        if name not in book.quantity_of:
            continue
        if any(side.get(rule.id) == NOT_APPLICABLE for side in words):
            continue
        below = book.below([name])
        inputs = frozenset(path for path in below if path not in book.quantity_of)
        if rule.effect is not None and not inputs.isdisjoint(changed):
            yield _Told(rule.effect.of, name, inputs, rule)


def _leaves_out(book: RuleBook, told: _Told, faults: Collection[str]) -> bool:
    """Whether a fault bears on what a quantity tells, and is not counted in it."""
    counted = {told.rule.id, *(each.id for each in counted_by(book, told.rule))}
    feeding = _feeding(book, told.of)
    return any(
        rule.id in faults
        and rule.id not in counted
        and not rule.is_net
        and rule.effect is not None
        and rule.effect.of in feeding
        for rule in book.meter_rules
    )


def _feeding(book: RuleBook, of: str) -> frozenset[str]:
    """Name a reading and all those that lead to it, on any meter."""
    names, waiting = {of}, [of]
    while waiting:
        reading = book.readings.get(waiting.pop())
        feeders = set(reading.fed_by) - names if reading else set()
        names |= feeders
        waiting += feeders
    return frozenset(names)


def _quantity(rule: MeterRule) -> str:
    """Name the quantity that alone is a rule's effect, "" where it is none."""
    effect = rule.effect
    if effect is None or not isinstance(effect.formula.tree, Name):
        return ""
    return effect.formula.tree.path


def _error(values: Mapping[str, Any], name: str) -> float | None:
    value = values.get(name)
    if not isinstance(value, float) or is_missing(value):
        return None
    return 0.0 if abs(value) <= SMALLEST else rounded(value)
