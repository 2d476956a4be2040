"""What stands on the calculation sheet of a meter, as values that formats write."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from configlint.engine import CONCEDED, NONCONFORMING
from configlint.findings import Subject
from configlint.rules import Edition
from configlint.sheets.identity import Identity
from configlint.sheets.shown import Amount
from configlint.sheets.standing import Standing
from configlint.sheets.uses import Use

__all__ = [
    "BROKEN",
    "Ends",
    "Entry",
    "Given",
    "Lack",
    "Looked",
    "Open",
    "Part",
    "Sheet",
]

BROKEN = (NONCONFORMING, CONCEDED)
"""The outcomes of a rule that is not met."""


class Given(NamedTuple):
    """An input of the sheet: as shown, as its file writes it, and where that stands."""

    path: str
    symbol: str
    means: str
    shown: str
    written: str
    origin: str


class Ends(NamedTuple):
    """A setting that two devices hold: what it is, and as each of them has it.

    `here` and `there` are the paths, `first` and `second` the values as the sheet shows
    them, and `words` say of both whose they are.
    """

    what: str
    here: str
    first: str
    there: str
    second: str
    words: tuple[str, str]


class Looked(NamedTuple):
    """A figure of a table: what it is, its row, as the table writes it, its source."""

    words: str
    table: str
    row: str
    written: str
    source: str


class Entry(NamedTuple):
    """A computed quantity with all that belongs to it.

    `formula` has of every choice the branch that holds. `numbers` is the formula with
    the numbers put in, "" where it would only repeat the result. `amount` is None for a
    text, or a truth. `is_brief` says that formats may tell it in short.
    """

    name: str
    symbol: str
    means: str
    formula: str
    numbers: str
    result: str
    amount: Amount | None
    reasons: tuple[str, ...]
    looked: tuple[Looked, ...]
    assumed: str
    basis: str
    feeds: tuple[str, ...]
    uses: tuple[Use, ...]
    is_brief: bool = False

    @property
    def is_far(self) -> bool:
        """Whether nothing is assumed for it and its rules are met by far."""
        return not self.assumed and all(use.is_far for use in self.uses)


class Lack(NamedTuple):
    """An input that is missing: its path, and what it is, "" where it has no words."""

    path: str
    means: str


class Open(NamedTuple):
    """A quantity that can't be computed, and the inputs that it lacks.

    `instead` are those that would do in their place. Where nothing is missing, `why`
    says which part of the formula gives no number.
    """

    name: str
    symbol: str
    means: str
    formula: str
    missing: tuple[Lack, ...]
    instead: tuple[Lack, ...]
    why: str
    uses: tuple[Use, ...]


class Part(NamedTuple):
    """The quantities that a section of the meter file completes the inputs of."""

    title: str
    entries: tuple[Entry, ...]


class Sheet(NamedTuple):
    """The calculation sheet of one meter.

    `standing` is what a check of its workspace says of it, None where none was made.
    `unreadable` are paths of values that are written but faulty. `not_applicable`
    counts the quantities that do not apply to the meter, `silent` those that only
    tell of a fault and find none, `unwanted` those that can't be computed and that
    every rule has come to its answer without. `symbols` are all that may stand in it.
    `ends` and `keys` are what it is summed up by.
    """

    subject: Subject
    identity: Identity
    service: str
    run_date: date | None
    system: str
    editions: tuple[Edition, ...]
    inputs: tuple[Given, ...]
    parts: tuple[Part, ...]
    open: tuple[Open, ...]
    unreadable: tuple[str, ...]
    not_applicable: int
    silent: int
    unwanted: int
    symbols: frozenset[str] = frozenset()
    standing: Standing | None = None
    ends: tuple[Ends, ...] = ()
    keys: tuple[Entry | Open, ...] = ()
