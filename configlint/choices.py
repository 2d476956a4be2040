"""What a setting with a list of values may be: a choice, a truth, a size, a count.

An amount has a list where the type of the device offers certain ones.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple, cast

from configlint.amounts import Count, UnitSpelling
from configlint.axes import offered_texts
from configlint.conflicts import smallest_conflict
from configlint.facts import Facts
from configlint.rules import RuleBook, Setting
from configlint.scalars import Choice, Truth
from configlint.settings import declared_marks
from configlint.stages import LeftOut
from configlint.units import Quantity, equal, unambiguous, unit_named
from configlint.variation import Free, Variation

__all__ = ["Choices", "Option", "choices_of", "options_of", "value_of"]


class Option(NamedTuple):
    """A value that a setting can be, and the rules that it would break."""

    text: str
    broken: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Choices:
    """Every value that a setting can be, with the rules each would break.

    `present` is what the file states, "" for nothing. Where every value breaks a
    rule, `conflict` names the fewest rules that can't be met together. `rules` are
    those asked with the present value, `not_assessed` those left open then,
    `not_counted` those left out.
    """

    setting: str
    present: str
    options: tuple[Option, ...]
    conflict: tuple[str, ...]
    rules: tuple[str, ...]
    not_assessed: tuple[str, ...]
    not_counted: tuple[LeftOut, ...] = ()

    @property
    def permissible(self) -> tuple[str, ...]:
        """The values that break no rule."""
        return tuple(option.text for option in self.options if not option.broken)


def choices_of(free: Free, setting: Setting) -> Choices | None:
    """Ask the rules about every value that a setting can be; None for an open text."""
    texts = tuple(options_of(free, setting))
    if not texts:
        return None
    variation = free.vary([setting.path])
    present = _as_listed(free, setting.path, texts)
    # The value that is there comes last, so that what is left open is told for it.
    asked = [text for text in texts if text != present] + [present] * bool(present)
    broken = {text: ask(free, variation, setting.path, text) for text in asked}
    return Choices(
        setting.path,
        present,
        tuple(Option(text, broken[text]) for text in texts),
        smallest_conflict(
            [broken[text] for text in texts], variation.named(variation.all_rules)
        ),
        variation.named(variation.applying()),
        variation.named(variation.left_open()),
        variation.passed_over,
    )


def _as_listed(free: Free, path: str, texts: Sequence[str]) -> str:
    """Write the present value as it is listed, where the same amount is."""
    present = shown(free.facts, path)
    amount = free.facts.written.get(path)
    alike = (
        text
        for text in texts
        if isinstance(amount, Quantity)
        and equal(amount.si, cast(Quantity, value_of(free, path, text)).si)
    )
    return present if present in texts else next(alike, present)


def ask(free: Free, variation: Variation, path: str, text: str) -> tuple[str, ...]:
    """Name the rules that a text of a setting would break."""
    variation.put(path, value_of(free, path, text))
    return variation.named(variation.broken())


def shown(found: Facts, path: str) -> str:
    """Write what a meter's file states for a setting, "" for nothing."""
    written = found.written.get(path, "")
    return written.text if isinstance(written, Quantity) else written


def value_of(free: Free, path: str, text: str) -> Quantity | str | bool:
    """Read a text as it would be read in the file of a meter, an amount with its unit.

    >>> from configlint.data import data_folder
    >>> from configlint.dependence import Dependence
    >>> from configlint.engine import Judge
    >>> from configlint.rule_book import load_rule_book
    >>> book = load_rule_book(data_folder("rules"))
    >>> free = Free(Dependence(book), Judge(book), Facts({}, {}))
    >>> value_of(free, "sensor.bore", "80 mm").si
    0.08
    """
    mark = free.mark(path)
    return text if mark is None else mark.read(text)


def options_of(free: Free, setting: Setting) -> Iterator[str]:
    """Give the texts that a setting can be, none where the list has no end."""
    mark = free.mark(setting.path)
    offered = offered_texts(free.facts, setting.path)
    if offered:
        yield from offered
    elif isinstance(mark, Choice):
        yield from mark.choices
    elif isinstance(mark, Truth):
        yield from ("true", "false")
    elif isinstance(mark, Count) and mark.least is not None and mark.most is not None:
        yield from map(str, range(int(mark.least), int(mark.most) + 1))
    elif isinstance(mark, UnitSpelling):
        kinds = mark.kinds
        yield from (each for each in _spellings(free.facts) if _is_of(each, kinds))
    elif setting.preferred.table:
        yield from _rows(free.book, free.facts, setting)


def _spellings(found: Facts) -> dict[str, None]:
    """The units that a meter's file uses, each once, in the order of the file.

    None is ambiguous: for gallons of no kind stand those that say which they are.
    """
    marks = declared_marks()
    used = (
        each.unit.spelling if isinstance(each, Quantity) else each
        for path, each in found.written.items()
        if isinstance(each, Quantity) or isinstance(marks.get(path), UnitSpelling)
    )
    named = (each for spelling in used if spelling for each in unambiguous(spelling))
    return dict.fromkeys(named)


def _is_of(spelling: str, kinds: tuple[str, ...]) -> bool:
    return unit_named(spelling).kind in kinds


def _rows(book: RuleBook, found: Facts, setting: Setting) -> list[str]:
    """Name the rows of a table in the manner of the name that the file uses."""
    table = book.scope.tables[setting.preferred.table]
    manner = shown(found, setting.path).partition(" ")[0]
    alike = [name for name in table.rows if name.partition(" ")[0] == manner]
    return alike if len(alike) > 1 else list(table.sources)
