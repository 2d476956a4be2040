"""The calculation sheet of a meter, as values that every format writes.

Every derived quantity that applies to the meter stands on it with its formula in
symbols and in numbers, its result, what it rests on, and what the rules say of it.
One that can't be computed names the inputs it lacks. The quantities stand under the
section of the meter file that completes their inputs, so that each is computed from
what was shown before it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from configlint.compiler import Values, evaluate
from configlint.conventions import convention_of
from configlint.engine import NO_NUMBER, NOT_APPLICABLE, Causes, derive_told
from configlint.formula import Node, Number, names
from configlint.judged import Laid
from configlint.kinds import Input, Sort
from configlint.operators import is_missing
from configlint.printed import FEWEST_FIGURES, print_symbol
from configlint.rules import DerivedQuantity, basis_words
from configlint.settling import Settled, decided, settle, without_number
from configlint.sheets.identity import identity_of
from configlint.sheets.key_figures import KEY_FIGURES, are_brief, ends_of
from configlint.sheets.shown import Amount, Shown, print_amount
from configlint.sheets.standing import Standing
from configlint.sheets.uses import JUDGES, Uses
from configlint.sheets.worksheet_values import (
    BROKEN,
    Entry,
    Given,
    Lack,
    Looked,
    Open,
    Part,
    Sheet,
)
from configlint.units import Dimension, Quantity, parse_quantity
from configlint.worked import in_numbers, in_symbols

__all__ = ["make_sheet"]


def make_sheet(
    laid: Laid,
    system: str = "",
    run_date: date | None = None,
    standing: Standing | None = None,
) -> Sheet:
    """Make the calculation sheet of a meter.

    `system` is SI, US or imperial; without one the sheet is in the convention of the
    site, else in the system of the file's units. `run_date` is the day that dates
    are judged by, `standing` what the sheet is headed with.
    """
    return _Maker(laid, system, standing).make(run_date)


FIGURE = re.compile(r"(-?[0-9][0-9.eE+-]*) *(?:\[ *([^\]]*?) *\])?")
"""A formula that is nothing but a number, with its unit."""


class _Maker:
    """One sheet while it is made."""

    def __init__(self, laid: Laid, system: str, standing: Standing | None) -> None:
        self.laid = laid
        self.standing = standing
        self.book = laid.book
        self.derived = derive_told(self.book, laid.facts.copy())
        self.values = Values(self.derived.values, self.derived.written)
        self.shown = Shown(
            self.book, self.derived, system or convention_of(self.derived.values)
        )
        self.settled = dict(self.computed())
        across, conceded = standing.told if standing else ({}, frozenset())
        self.uses = Uses(laid, self.shown, across, conceded)

    def computed(self) -> Iterator[tuple[str, Settled]]:
        """Compute the amounts, each from those before it, as the sheet shows them."""
        for quantity in self.book.quantities:
            value = self.derived.values[quantity.name]
            if isinstance(value, float) and math.isfinite(value):
                tree, symbols = self.tree(quantity), self.book.symbols
                settled = settle(tree, self.book.scope, self.values, symbols)
                assumed = self.assumed(quantity, settled)
                self.shown.add(quantity.name, value, settled, assumed)
                yield quantity.name, settled

    def tree(self, quantity: DerivedQuantity) -> Node:
        """The formula that gave the value: the quantity's own, or its fallback."""
        fallen = quantity.fallback if quantity.name in self.derived.assumed else None
        return (fallen or quantity.formula).tree

    def assumed(self, quantity: DerivedQuantity, settled: Settled) -> Quantity | None:
        """Give the figure that is assumed for an input, as its rule file writes it."""
        is_assumed = quantity.fallback and quantity.name in self.derived.assumed
        if not (is_assumed and isinstance(settled.tree, Number)):
            return None
        text = quantity.fallback.text if quantity.fallback else ""
        found = FIGURE.fullmatch(text.strip())
        return parse_quantity(" ".join(filter(None, found.groups()))) if found else None

    def make(self, run_date: date | None) -> Sheet:
        """Sort the quantities into those shown, those open and those left out."""
        applying = [each for each in self.book.quantities if self.applies(each)]
        silent = self.silent(applying)
        there = [each for each in applying if each.name not in silent]
        known = [each for each in there if not self.is_open(each)]
        lacking = [each for each in there if self.is_open(each)]
        wanted = [each for each in lacking if self.uses.is_wanted(each.name)]
        feeds = self.feeds(known)
        entries = {each.name: self.entry(each, feeds) for each in known}
        below = {each.name: frozenset(names(self.taken(each))) for each in known}
        for name in are_brief(entries.values(), below):
            entries[name] = entries[name]._replace(is_brief=True)
        gaps = tuple(map(self.open, wanted))
        told: dict[str, Entry | Open] = {**entries}
        told.update({gap.name: gap for gap in gaps})
        return Sheet(
            self.laid.subject,
            identity_of(self.laid),
            str(self.derived.written.get("service", "")),
            run_date,
            self.shown.system,
            self.book.editions,
            tuple(self.inputs((*known, *wanted), (*entries.values(), *gaps))),
            tuple(self.parts(entries)),
            gaps,
            tuple(sorted(self.laid.facts.unreadable)),
            len(self.book.quantities) - len(applying),
            len(silent),
            len(lacking) - len(wanted),
            frozenset(map(print_symbol, self.book.symbols.values())),
            self.standing,
            tuple(ends_of(self.said, self.is_unused)),
            tuple(told[name] for name in KEY_FIGURES if name in told),
        )

    def silent(self, applying: Iterable[DerivedQuantity]) -> set[str]:
        """Name those that only tell of a fault and find none, or serve these alone."""
        applying = list(applying)
        silent = {each.name for each in applying if self.is_silent(each)}
        for quantity in reversed(applying):
            name = quantity.name
            direct = (use.outcome != NOT_APPLICABLE for use in self.uses.of(name))
            if any(direct) or not self.uses.applies(name):
                continue
            above = {e.name for e in applying if name in names(self.tree(e))}
            if above <= silent:
                silent.add(name)
        return silent

    def is_silent(self, quantity: DerivedQuantity) -> bool:
        """Whether a text tells of a fault alone, and there is none to tell of."""
        if quantity.formula.kind is not Sort.TEXT:
            return False
        uses = self.uses.of(quantity.name)
        return self.derived.values[quantity.name] == "" or not any(
            use.role == JUDGES or use.outcome in BROKEN for use in uses
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
            in_symbols(self.taken(quantity), self.book.symbols),
            "" if numbers == result else numbers,
            result,
            amount if is_amount else None,
            settled.reasons if settled else (),
            tuple(self.looked(settled)) if settled else (),
            self.derived.assumed.get(name, ""),
            self.basis(quantity, settled),
            feeds.get(name, ()),
            self.uses.of(name),
        )

    def taken(self, quantity: DerivedQuantity) -> Node:
        """The formula that gave the value, of every choice the branch that holds."""
        return decided(self.tree(quantity), self.book.scope, self.values)

    def basis(self, quantity: DerivedQuantity, settled: Settled | None) -> str:
        """Say what a value rests on: a stated one not on what else was assumed."""
        is_stated = (
            quantity.fallback is not None
            and quantity.name not in self.derived.assumed
            and settled is not None
            and settled.is_value
            and settled.paths[0] in self.book.inputs
        )
        if is_stated and settled:
            return f"Stated ({self.origin(settled.paths[0])})"
        return basis_words(quantity.basis)

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
        others = (path for path in instead if path not in missing)
        return Open(
            quantity.name,
            print_symbol(quantity.symbol),
            quantity.means,
            in_symbols(tree, self.book.symbols),
            tuple(map(self.lack, missing)),
            tuple(map(self.lack, others)),
            "" if missing else self.why(tree),
            self.uses.of(quantity.name),
        )

    def lack(self, path: str) -> Lack:
        """Tell an input that is missing with what it is."""
        declared = self.book.inputs.get(path)
        return Lack(path, declared.means if declared else "")

    def why(self, tree: Node) -> str:
        """Say which part of a formula gives no number, though nothing is missing."""
        scope, symbols = self.book.scope, self.book.symbols
        part, reason = without_number(tree, scope, self.values)
        settled = settle(part, scope, self.values, symbols)
        self.shown.take_cells(settled.cells)
        paths = {*names(part), *settled.paths}
        amounts = (self.derived.values.get(path, 0.0) for path in paths)
        numbers = in_symbols(part, symbols)
        if all(not isinstance(each, float) or math.isfinite(each) for each in amounts):
            figure = self.shown.figure
            numbers = in_numbers(settled.tree, figure, FEWEST_FIGURES, lambda _: True)
        return f"{numbers} {reason}"

    def inputs(
        self, there: Iterable[DerivedQuantity], entries: Iterable[Entry | Open]
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
        shown = _words(value) if isinstance(value, bool) else said
        if isinstance(written, Quantity):
            said = print_amount(written)
        if isinstance(value, float):
            shown = self.shown.amount(path).said
        symbol = print_symbol(self.book.symbols.get(path, path))
        return Given(path, symbol, given.means, shown, said, self.origin(path))

    def said(self, path: str) -> str:
        """Say an input as the sheet shows it, "" where it is not written."""
        declared, value = self.book.inputs.get(path), self.derived.values.get(path)
        if declared is None or is_missing(value):
            return ""
        return self.given(declared, value).shown

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
