"""The amounts of one meter as its sheet shows them, in one system of units.

An input stands as its file writes it, or converted; a computed amount has as many
figures as the inputs it comes from, and is carried on unrounded.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from configlint.engine import Derived
from configlint.printed import (
    FEWEST_FIGURES,
    count_figures,
    print_exactly,
    print_number,
    print_unit,
    print_written,
    readable_unit,
    round_number,
    unit_in,
)
from configlint.rules import RuleBook
from configlint.settling import Cell, Settled
from configlint.units import (
    DIMENSIONLESS,
    Quantity,
    Unit,
    from_si,
    parse_quantity,
    unit_named,
)
from configlint.worked import Figure

__all__ = ["Amount", "Shown", "print_amount"]

ARITHMETIC = 1e-12
"""A plain number below this is the machine's rounding, not a difference."""
NEAR_ZERO = 1e-6
OF_MASS = ("mass", "mass flow", "pulses per mass")
"""Kinds of amounts that the density turns into those of volume."""


class Amount(NamedTuple):
    """A value of the sheet: in SI, the unit it is shown in, its significant figures.

    `figures` is None where nothing rounds it. `text` is how its file writes it, ""
    where the sheet shows another number.
    """

    si: float
    unit: Unit
    figures: int | None
    text: str = ""

    @property
    def number(self) -> float:
        """Its number in the unit it is shown in, unrounded."""
        return from_si(self.si, self.unit)

    @property
    def said(self) -> str:
        """The amount as the sheet shows it by itself."""
        return self.figure(0, False).text

    def shows(self, value: float) -> bool:
        """Whether another amount, in SI, would be shown as this one is.

        For a plain zero, what is less than a millionth is near enough.
        """
        if not math.isfinite(value):
            return False
        if not self.si and self.unit.dimension == DIMENSIONLESS.dimension:
            return abs(value) < NEAR_ZERO
        return self._replace(si=value).said == self.said

    def figure(self, figures: int, computed: bool) -> Figure:
        """Print it as it is written, else with at least so many figures.

        Where it is computed with, its unit has no offset.
        """
        absolute = computed and bool(self.unit.offset)
        if self.text and not absolute:
            return Figure(self.text, self.si)
        unit = unit_named("K") if absolute else self.unit
        number = from_si(self.si, unit)
        if self.figures is None:
            return Figure(_with_unit(print_exactly(number), unit), self.si)
        most = max(figures, self.figures or FEWEST_FIGURES)
        rounded = round_number(number, most)
        si = rounded * float(unit.factor) + float(unit.offset)
        return Figure(_with_unit(print_number(number, most), unit), si)


def _with_unit(number: str, unit: Unit) -> str:
    return f"{number} {print_unit(unit.spelling)}".rstrip()


def print_amount(amount: Quantity) -> str:
    """Print an amount with every figure and the unit of its file, as print has them.

    >>> print_amount(parse_quantity("-0.50 m3/h"))
    '−0.50 m³/h'
    """
    return _with_unit(print_written(amount.number), amount.unit)


@dataclass(slots=True)
class Shown:
    """What a sheet shows of a meter's values; results are added as they are computed.

    `system` is SI, US or imperial.
    """

    book: RuleBook
    derived: Derived
    system: str
    amounts: dict[str, Amount] = field(default_factory=dict)
    cells: dict[str, Quantity] = field(default_factory=dict)

    def take_cells(self, cells: Iterable[Cell]) -> None:
        """Take the amounts that a formula has looked up, as their table writes them."""
        for cell in cells:
            row = self.book.scope.tables[cell.table].as_read[cell.row]
            written = self.cells[cell.path] = parse_quantity(row.values[cell.column])
            self.amounts[cell.path] = self.of_written(written)

    def amount(self, path: str) -> Amount:
        """Give the amount or day at a path, which must not be missing."""
        if path not in self.amounts:
            self.amounts[path] = self._input(path)
        return self.amounts[path]

    def figure(self, path: str, figures: int, computed: bool) -> Figure:
        """Print the value at a path; see `Amount.figure`."""
        return self.amount(path).figure(figures, computed)

    def of_written(self, written: Quantity) -> Amount:
        """Give an amount as its file writes it, or converted to the sheet's system.

        A count, which is a bare whole number, and zero are exact.
        """
        unit = unit_in(written.unit, self.system)
        figures = None if _is_count(written) else count_figures(written.number)
        if unit == written.unit:
            return Amount(written.si, unit, figures, print_amount(written))
        figures = max(FEWEST_FIGURES, figures) if figures else None
        return Amount(written.si, unit, figures)

    def as_written(self, written: Quantity) -> str:
        """Print an amount as written, and in the sheet's system where that differs."""
        amount = self.of_written(written)
        return amount.text or f"{print_amount(written)} ({amount.said})"

    def computed(self, value: float, unit: Unit, amounts: Iterable[Amount]) -> Amount:
        """Give an SI amount that is computed from others, in a unit that people read.

        It has as many figures as the one with the fewest, but not less than three.
        """
        si = 0.0 if _is_noise(value, unit) else value
        known = [each.figures for each in amounts if each.figures is not None]
        figures = max(FEWEST_FIGURES, min(known)) if known else None
        return Amount(si, readable_unit(si, unit, self.system), figures)

    def add(
        self, name: str, value: float, settled: Settled, assumed: Quantity | None
    ) -> Amount:
        """Take a computed amount, in SI, with the formula that it comes from.

        What is another value as it stands is shown as that one. `assumed` is a figure
        that stands for an input: it is as good as it is written.
        """
        self.take_cells(settled.cells)
        if assumed is not None:
            figures = count_figures(assumed.number)
            shown = self.of_written(assumed)._replace(figures=figures)
            self.amounts[name] = shown
            return shown
        made_of = [self.amount(path) for path in settled.paths]
        if settled.is_value:
            self.amounts[name] = made_of[0]
        else:
            unit = self._declared(name)
            self.amounts[name] = self.computed(value, unit, made_of)
        return self.amounts[name]

    def _input(self, path: str) -> Amount:
        value, written = self.derived.values[path], self.derived.written.get(path)
        own = self._declared(path)
        if isinstance(written, Quantity):
            if written.unit.dimension == self.book.scope.names[path]:
                return self.of_written(written)
            # A velocity, a mass or a ratio was turned into what rules compute with.
            figures = max(FEWEST_FIGURES, self._figures_turned(written))
            return Amount(value, readable_unit(value, own, self.system), figures)
        return Amount(value, own, None, str(written))

    def _figures_turned(self, written: Quantity) -> int:
        """Give the figures of an amount turned into another kind: a mass by density."""
        figures = count_figures(written.number) or 0
        density = self.derived.written.get("process.density")
        if written.unit.kind in OF_MASS and isinstance(density, Quantity):
            return min(figures, count_figures(density.number) or figures)
        return figures

    def _declared(self, path: str) -> Unit:
        spelling = self.book.units.get(path, "")
        return unit_named(spelling) if spelling else DIMENSIONLESS


def _is_noise(value: float, unit: Unit) -> bool:
    """Whether a plain number is nothing but what the machine has rounded."""
    return unit.dimension == DIMENSIONLESS.dimension and abs(value) < ARITHMETIC


def _is_count(written: Quantity) -> bool:
    return not written.unit.spelling and written.number.isdigit()
