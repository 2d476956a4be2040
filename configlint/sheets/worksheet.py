"""The calculation sheet of a meter, as values that every format writes.

Every derived quantity that applies to the meter stands on it with its formula in
symbols and in numbers, its result, what it rests on, and what the rules say of it.
One that can't be computed names the inputs it lacks. The quantities stand under the
section of the meter file that completes their inputs, so that each is computed from
what was shown before it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import NamedTuple

from configlint.bench import Laid
from configlint.compiler import Values, evaluate
from configlint.conventions import convention_of
from configlint.engine import NO_NUMBER, NONCONFORMING, Causes, derive_told
from configlint.findings import Subject
from configlint.formula import Node, names
from configlint.kinds import Input, Sort
from configlint.operators import is_missing
from configlint.printed import FEWEST_FIGURES, print_symbol
from configlint.rules import DerivedQuantity, Edition, basis_words
from configlint.settling import Settled, settle
from configlint.sheets.shown import Amount, Shown, print_amount
from configlint.sheets.uses import JUDGES, Use, Uses
from configlint.units import Dimension, Quantity, parse_quantity
from configlint.worked import in_numbers, in_symbols

__all__ = ["Entry", "Given", "Looked", "Open", "Part", "Sheet", "make_sheet"]


class Given(NamedTuple):
    """An input of the sheet: as shown, as its file writes it, and where that stands."""

    path: str
    symbol: str
    means: str
    shown: str
    written: str
    origin: str


class Looked(NamedTuple):
    """A figure of a table: what it is, its row, as the table writes it, its source."""

    words: str
    table: str
    row: str
    written: str
    source: str


class Entry(NamedTuple):
    """A computed quantity with all that belongs to it.

    `numbers` is the formula with the numbers put in, "" where it would only repeat
    the result. `amount` is None for a text, or a truth.
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


class Open(NamedTuple):
    """A quantity that can't be computed, and the inputs that it lacks.

    `instead` are those that would do in their place.
    """

    name: str
    symbol: str
    means: str
    formula: str
    missing: tuple[str, ...]
    instead: tuple[str, ...]
    uses: tuple[Use, ...]


class Part(NamedTuple):
    """The quantities that a section of the meter file completes the inputs of."""

    title: str
    entries: tuple[Entry, ...]


class Sheet(NamedTuple):
    """The calculation sheet of one meter.

    `unreadable` are paths of values that are written but faulty. `not_applicable`
    counts the quantities that do not apply to the meter, `silent` those that only
    tell of a fault and find none. `nonconforming` names the rules about one meter that
    it does not meet, each with its category.
    """

    subject: Subject
    principle: str
    service: str
    revision: str
    run_date: date | None
    system: str
    editions: tuple[Edition, ...]
    inputs: tuple[Given, ...]
    parts: tuple[Part, ...]
    open: tuple[Open, ...]
    unreadable: tuple[str, ...]
    not_applicable: int
    silent: int
    nonconforming: tuple[str, ...] = ()


def make_sheet(laid: Laid, system: str = "", run_date: date | None = None) -> Sheet:
    """Make the calculation sheet of a meter.

    `system` is SI, US or imperial; without one the sheet is in the convention of the
    site, else in the system of the file's units. `run_date` is the day that dates
    are judged by.
    """
    return _Maker(laid, system).make(run_date)


class _Maker:
    """One sheet while it is made."""

    def __init__(self, laid: Laid, system: str) -> None:
        self.laid = laid
        self.book = laid.book
        self.derived = derive_told(self.book, laid.facts.copy())
        self.values = Values(self.derived.values, self.derived.written)
        self.shown = Shown(
            self.book, self.derived, system or convention_of(self.derived.values)
        )
        self.settled = dict(self.computed())
        self.uses = Uses(laid, self.shown)

    def computed(self) -> Iterator[tuple[str, Settled]]:
        """Compute the amounts, each from those before it, as the sheet shows them."""
        for quantity in self.book.quantities:
            value = self.derived.values[quantity.name]
            if isinstance(value, float) and math.isfinite(value):
                tree, symbols = self.tree(quantity), self.book.symbols
                settled = settle(tree, self.book.scope, self.values, symbols)
                self.shown.add(quantity.name, value, settled)
                yield quantity.name, settled

    def tree(self, quantity: DerivedQuantity) -> Node:
        """The formula that gave the value: the quantity's own, or its fallback."""
        fallen = quantity.fallback if quantity.name in self.derived.assumed else None
        return (fallen or quantity.formula).tree

    def make(self, run_date: date | None) -> Sheet:
        """Sort the quantities into those shown, those open and those left out."""
        applying = [each for each in self.book.quantities if self.applies(each)]
        silent = [each for each in applying if self.is_silent(each)]
        there = [each for each in applying if each not in silent]
        known = [each for each in there if not self.is_open(each)]
        feeds = self.feeds(known)
        entries = {each.name: self.entry(each, feeds) for each in known}
        gaps = tuple(self.open(each) for each in there if self.is_open(each))
        written = self.derived.written
        return Sheet(
            self.laid.subject,
            str(written.get("principle", "")),
            str(written.get("service", "")),
            str(written.get("records.revision", "")),
            run_date,
            self.shown.system,
            self.book.editions,
            tuple(self.inputs(there, entries.values())),
            tuple(self.parts(entries)),
            gaps,
            tuple(sorted(self.laid.facts.unreadable)),
            len(self.book.quantities) - len(applying),
            len(silent),
            tuple(
                f"{each.rule.category} {each.rule.id}"
                for each in self.uses.judged
                if each.outcome == NONCONFORMING
            ),
        )

    def is_silent(self, quantity: DerivedQuantity) -> bool:
        """Whether a text tells of a fault alone, and there is none to tell of."""
        if quantity.formula.kind is not Sort.TEXT:
            return False
        uses = self.uses.of(quantity.name)
        return self.derived.values[quantity.name] == "" or not any(
            use.role == JUDGES or use.outcome == NONCONFORMING for use in uses
        )

    def is_open(self, quantity: DerivedQuantity) -> bool:
        """Whether a quantity can't be computed."""
        value = self.derived.values[quantity.name]
        return is_missing(value) or (isinstance(value, float) and math.isinf(value))

    def applies(self, quantity: DerivedQuantity) -> bool:
        """Whether a quantity applies: by the rules that use it, and by its inputs."""
        if self.uses.applies(quantity.name) is False:
            return False
        return not self.is_open(quantity) or not any(
            self.is_unused(path) for path in self.missing(quantity.formula.tree)
        )

    def is_unused(self, path: str) -> bool:
        """Whether a value would stand in a section that the meter does without."""
        steps = path.split(".")
        above = (".".join(steps[:length]) for length in range(1, len(steps) + 1))
        return any(self.derived.values.get(section) is False for section in above)

    def missing(self, tree: Node) -> tuple[str, ...]:
        """Name the inputs that a formula lacks, which can't be computed."""
        known = self.book.quantity_of
        causes = Causes(self.book.scope, self.values, self.derived, known).of([tree])
        return tuple(each for each in causes if each != NO_NUMBER)

    def feeds(self, known: Iterable[DerivedQuantity]) -> Mapping[str, tuple[str, ...]]:
        """Give, by value, the symbols of the known quantities computed from it."""
        found: dict[str, dict[str, None]] = {}
        for quantity in known:
            for path in names(self.tree(quantity)):
                found.setdefault(path, {})[print_symbol(quantity.symbol)] = None
        return {path: tuple(symbols) for path, symbols in found.items()}

    def entry(
        self, quantity: DerivedQuantity, feeds: Mapping[str, tuple[str, ...]]
    ) -> Entry:
        """Write one quantity out."""
        name, value = quantity.name, self.derived.values[quantity.name]
        settled, amount = self.settled.get(name), self.shown.amounts.get(name)
        result, numbers = _words(value), ""
        if settled and amount:
            result, numbers = amount.said, self.numbers(settled, amount)
        is_amount = isinstance(quantity.formula.kind, Dimension)
        return Entry(
            name,
            print_symbol(quantity.symbol),
            quantity.means,
            in_symbols(self.tree(quantity), self.book.symbols),
            "" if numbers == result else numbers,
            result,
            amount if is_amount else None,
            settled.reasons if settled else (),
            tuple(self.looked(settled)) if settled else (),
            self.derived.assumed.get(name, ""),
            basis_words(quantity.basis),
            feeds.get(name, ()),
            self.uses.of(name),
        )

    def numbers(self, settled: Settled, amount: Amount) -> str:
        """Put the numbers into a formula, "" where it only is another value.

        They have one figure more than the result, or more.
        """
        if settled.is_value:
            return ""
        fewest = (amount.figures or FEWEST_FIGURES) + 1
        return in_numbers(settled.tree, self.shown.figure, fewest, amount.shows)

    def looked(self, settled: Settled) -> Iterator[Looked]:
        """Give the figures that a formula takes from tables."""
        for _, words, name, row, column in settled.cells:
            read = self.book.scope.tables[name].as_read[row]
            written = print_amount(parse_quantity(read.values[column]))
            yield Looked(words, name, row, written, read.source)

    def open(self, quantity: DerivedQuantity) -> Open:
        """Tell what a quantity lacks that can't be computed."""
        tree, fallback = quantity.formula.tree, quantity.fallback
        missing = self.missing(tree)
        instead: tuple[str, ...] = ()
        if fallback and is_missing(
            evaluate(fallback.tree, self.book.scope, self.values)
        ):
            instead = self.missing(fallback.tree)
        return Open(
            quantity.name,
            print_symbol(quantity.symbol),
            quantity.means,
            in_symbols(tree, self.book.symbols),
            missing,
            tuple(path for path in instead if path not in missing),
            self.uses.of(quantity.name),
        )

    def inputs(
        self, there: Iterable[DerivedQuantity], entries: Iterable[Entry]
    ) -> Iterator[Given]:
        """Give the inputs that formulas and limits of the sheet name, where written."""
        named = {path for each in there for path in names(self.tree(each))}
        for entry in entries:
            named.update(
                path
                for use in entry.uses
                for bound in use.bounds
                for path in bound.paths
            )
        for path, given in self.book.inputs.items():
            value = self.derived.values[path]
            is_value = given.kind not in (Sort.SECTION, Sort.PATHS, Sort.TEXTS)
            if path in named and is_value and not is_missing(value):
                yield self.given(given, value)

    def given(self, given: Input, value: object) -> Given:
        """Tell an input with what its file writes."""
        path, written = given.path, self.derived.written.get(given.path)
        said = _words(value) if written is None else str(written)
        if isinstance(written, Quantity):
            said = print_amount(written)
        shown = self.shown.amount(path).said if isinstance(value, float) else said
        symbol = print_symbol(self.book.symbols.get(path, path))
        return Given(path, symbol, given.means, shown, said, self.origin(path))

    def origin(self, path: str) -> str:
        """Say where an input stands."""
        entry = self.laid.entry
        place = (*entry.path, *path.split("."))
        if path.startswith("type_sheet."):
            return f"type sheet {entry.meter.type_sheet}"
        if path.startswith("site."):
            return f"site {self.laid.subject.site}"
        if not entry.document.holds(place):
            return "the run"
        return f"line {entry.document.place(place).line}"

    def parts(self, entries: Mapping[str, Entry]) -> Iterator[Part]:
        """Sort the entries under the sections that complete their inputs."""
        sections = tuple(
            dict.fromkeys(path.partition(".")[0] for path in self.book.inputs)
        )
        places: dict[str, int] = {}
        for quantity in self.book.quantities:
            below = (
                places.get(path, _place(path, sections))
                for path in names(self.tree(quantity))
            )
            places[quantity.name] = max(below, default=0)
        for number in sorted({places[name] for name in entries}):
            inside = [each for name, each in entries.items() if places[name] == number]
            title = sections[number].replace("_", " ").capitalize()
            yield Part(title, tuple(inside))


KNOWN_BEFORE = ("site", "run", "notation")
"""Parts of a meter's facts that no section of its file completes."""


def _place(path: str, sections: tuple[str, ...]) -> int:
    """The place, among the sections of a meter file, of the one that holds a value."""
    top = path.partition(".")[0]
    is_inside = top in sections and top not in KNOWN_BEFORE
    return sections.index(top) if is_inside else 0


def _words(value: object) -> str:
    """Say a value that is no amount."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)
