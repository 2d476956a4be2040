"""What a published figure is to the tests here: a row with source, mark and tolerance.

Each row names a publication, never the place where a copy of it was found, and
carries the mark of how far the figure can be trusted. Printed units are turned into
SI by the constants of scipy, so that no definition of the tool takes part.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from configlint.findings import Amount

__all__ = ["Example", "Limit", "Status", "printed"]

# Loaded by name, since the library does not say the types of its values.
SCIPY: Any = importlib.import_module("scipy.constants")


class Status(StrEnum):
    """How far a figure can be trusted as a witness from outside."""

    READ = "read"
    """The figure was read in the publication itself."""
    CONSISTENT = "consistency"
    """Read without the heads of its columns, which were found by computing."""
    WEAK = "weak source"
    """Seen in a scan, in a forum or in somebody's program: good for arithmetic."""
    PRACTICE = "common practice"
    MEMORY = "from memory"
    COMPUTED = "computed"
    """Nobody has printed it; it follows from definitions, or from another library."""


@dataclass(frozen=True, slots=True)
class Example:
    """A worked example: a meter's settings, and the figure that belongs to them.

    The figure in its printed `unit` is met by the `quantity` that a finding of
    `rule` shows, plus `added`, within the relative tolerance `within`. Where the
    printed figure is wrong, `ratio` says by how much ours differs from it.
    """

    shows: str
    source: str
    status: Status
    meter: Mapping[str, str]
    rule: str
    quantity: str
    figure: float
    unit: str
    within: float
    because: str
    added: float = 0.0
    ratio: float = 1.0

    @property
    def is_error(self) -> bool:
        """Whether the printed figure is wrong, so that we must not meet it."""
        return self.ratio != 1

    @property
    def name(self) -> str:
        """What the test of the example is called."""
        return f"{self.shows} ({self.status})".replace("/", " per ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A limit of a rule, or a figure of a duty, beside the one that is published."""

    rule: str
    name: str
    source: str
    status: Status
    figure: float
    unit: str
    within: float = 1e-12
    because: str = "the very figure"
    duty: str = ""

    @property
    def label(self) -> str:
        """What the test of the limit is called."""
        said = f"{self.figure:g} {self.unit}".replace("/", " per ")
        parts = (self.rule, self.duty, self.name, said, f"({self.source})")
        return " ".join(part for part in parts if part)


GALLON: float = SCIPY.gallon
UNITS: dict[str, float] = {
    "": 1.0,
    "%": SCIPY.centi,
    "m": 1.0,
    "mm": SCIPY.milli,
    "m/s": 1.0,
    "ft/s": SCIPY.foot,
    "ft/min": SCIPY.foot / SCIPY.minute,
    "m3/h": 1 / SCIPY.hour,
    "l/h": SCIPY.liter / SCIPY.hour,
    "l/s": SCIPY.liter,
    "ft3/s": SCIPY.foot**3,
    "US_gal/min": GALLON / SCIPY.minute,
    "Hz": 1.0,
    "s": 1.0,
    "ms": SCIPY.milli,
    "min": SCIPY.minute,
    "h": SCIPY.hour,
    "d": SCIPY.day,
    "year": SCIPY.year,
    "mA": SCIPY.milli,
    "ohm": 1.0,
    "m3": 1.0,
    "l": SCIPY.liter,
    "pulses/l": 1 / SCIPY.liter,
}


def printed(amount: Amount, unit: str) -> float:
    """Give an amount of a report in the unit of a publication."""
    return amount.value * UNITS[amount.unit] / UNITS[unit]
