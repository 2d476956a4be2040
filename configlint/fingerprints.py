"""When the fingerprint of a slip can be meant in a meter, as a row of a table says.

A ratio alone names many slips. A row of a table of ratios says, under `meant`, which
amounts its ratio can stand between, which two units were mixed up, and what else must
hold. What can't be decided of a meter rules nothing out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any, NamedTuple

from configlint.conventions import convention_of
from configlint.diagnosis import Support, Suspect, is_made_of, weigh

__all__ = ["Fingerprint", "Seen"]

Computed = Callable[[Mapping[str, Any], Mapping[str, Any], Mapping[str, Any]], Any]


class Seen(NamedTuple):
    """What a ratio is judged by: the inputs it is made of, and the meter's facts."""

    compared: tuple[str, ...]
    values: Mapping[str, Any]
    written: Mapping[str, Any]

    @property
    def units(self) -> tuple[str, ...]:
        """The units that the meter's file is written in.

        A gallon whose kind is not said, which is read as a US one, may be either.
        """
        found: tuple[str, ...] = self.values.get("notation.units", ())
        is_open = self.values.get("notation.open_gallons")
        return (*found, "imp_gal") if is_open else found

    @property
    def compared_units(self) -> tuple[str, ...]:
        """The units of the amounts that are compared, as far as they are written."""
        amounts = (self.written.get(path) for path in self.compared)
        return tuple(each.unit.spelling for each in amounts if each is not None)


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """A row of a table of ratios: its texts by column, its ratio, when it is meant.

    It takes one unit of `between` for the other. The file must use one of `needs`. `of`
    holds the paths of the inputs it can be a ratio of; none of these asks nothing.
    `when` must not give false; `computed` gives the ratio of a meter where it is not
    the same for all.
    """

    texts: Mapping[str, Any]
    ratio: float
    between: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    of: frozenset[str] = frozenset()
    when: Computed | None = None
    computed: Computed | None = None

    def suspect(self, column: str, seen: Seen) -> Suspect:
        """Give the cause in a column, to be held against a ratio of a meter."""
        ratio = self.ratio
        if self.computed is not None:
            ratio = self.computed(seen.values, seen.written, {})
        cause, is_conversion = self.texts[column], bool(self.between)
        return Suspect(cause, ratio, is_conversion, partial(self.support, seen))

    def support(self, seen: Seen) -> Support:
        """Say what speaks in a meter for this slip."""
        if self.of and self.of.isdisjoint(seen.compared):
            return Support.RULED_OUT
        if self.needs and not any(
            is_made_of(unit, part) for unit in seen.units for part in self.needs
        ):
            return Support.RULED_OUT
        if self.when is not None and self.when(seen.values, seen.written, {}) is False:
            return Support.RULED_OUT
        system = convention_of(seen.values)
        return weigh(self.between, seen.units, seen.compared_units, system)
