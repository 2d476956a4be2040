"""What a change does to one meter, in the meter's own terms.

Which settings are written otherwise, what follows from them for the quantities that
rules judge by, and which setting a rule names beside a changed one that has not been
changed with it. All of it is read off the rule book: what depends on what, what a rule
would have a person change, and which of two settings is of one kind.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from configlint.bench import Laid
from configlint.effects import rounded
from configlint.engine import (
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    Derived,
    derive_told,
)
from configlint.findings import Amount, Subject
from configlint.operators import is_missing
from configlint.review.pairing import Card
from configlint.review.readings import Reading, find_readings
from configlint.rules import DerivedQuantity, MeterRule, RuleBook
from configlint.units import NONE, Quantity, equal, from_si, unit_named

__all__ = [
    "REVISION",
    "Consequence",
    "MeterChange",
    "Move",
    "Reviewed",
    "Reviewer",
    "Setting",
    "Stayed",
    "changed_settings",
    "stale_revision",
]

RECORDS = "records."
REVISION = "records.revision"
"""What is raised with every change of a meter's settings."""


class Consequence(NamedTuple):
    """A quantity that a change of settings moves; None where it can't be computed.

    `because` names the changed settings that it is computed from.
    """

    quantity: str
    means: str
    before: Amount | None
    after: Amount | None
    because: tuple[str, ...]


class Stayed(NamedTuple):
    """A setting that was not changed with another, though a rule compares the two."""

    path: str
    value: str
    rule: str


class Setting(NamedTuple):
    """A setting as each side writes it, "" where it is not written.

    `same_value` says that the two spellings are exactly one amount.
    """

    path: str
    before: str
    after: str
    same_value: bool
    consequences: tuple[Consequence, ...] = ()
    stayed: tuple[Stayed, ...] = ()


class Move(NamedTuple):
    """What a meter belongs to on each side: `what` is file, site or workspace."""

    what: str
    before: str
    after: str


class MeterChange(NamedTuple):
    """A meter that has changed, or that is on one side alone.

    `subject` is what it is now, or was at last, `kind` is changed, added or removed.
    `unread` says of one on one side alone that its file is on the other as well, with
    something in it that can't be read. `readings` tell what the changed settings make
    of the net reading; `revision` is the one of the records that has stayed though
    settings have not, "" where none has.
    """

    subject: Subject
    kind: str
    moves: tuple[Move, ...] = ()
    settings: tuple[Setting, ...] = ()
    unread: bool = False
    readings: tuple[Reading, ...] = ()
    revision: str = ""


class Reviewed(NamedTuple):
    """The changed settings of a meter, and the readings that these move."""

    settings: tuple[Setting, ...]
    readings: tuple[Reading, ...] = ()


def changed_settings(before: Card, after: Card) -> tuple[Setting, ...]:
    """Compare what two sides write of one meter, in the order of the later one."""
    ones, others = before.values, after.values
    return tuple(
        Setting(
            path,
            ones.get(path, ""),
            others.get(path, ""),
            _same_value(before.laid, after.laid, path),
        )
        for path in dict.fromkeys((*others, *ones))
        if ones.get(path) != others.get(path)
    )


def stale_revision(before: Card, after: Card, settings: Sequence[Setting]) -> str:
    """Give the revision of a meter's records that stays where its settings do not.

    It is "" where settings stay as well, or where no revision is written.
    """
    changed = (
        each
        for each in settings
        if not (each.same_value or each.path.startswith(RECORDS))
    )
    revision = after.values.get(REVISION, "")
    stays = revision == before.values.get(REVISION, "")
    return revision if stays and any(changed) else ""


def _same_value(before: Laid, after: Laid, path: str) -> bool:
    one, other = (laid.facts.written.get(path) for laid in (before, after))
    if isinstance(one, Quantity) and isinstance(other, Quantity):
        same_kind = one.unit.dimension == other.unit.dimension
        return same_kind and one.exact == other.exact
    return one is not None and one == other


class Reviewer:
    """One rule book, asked what follows from a change of settings."""

    def __init__(self, book: RuleBook) -> None:
        self.book = book
        self.below: dict[str, frozenset[str]] = {}

    def review(self, before: Card, after: Card) -> Reviewed:
        """Give the changed settings of a meter, each with what follows from it."""
        settings = changed_settings(before, after)
        changed = [each.path for each in settings if not each.same_value]
        if not changed:
            return Reviewed(settings)
        states = (self._state(before.laid), self._state(after.laid))
        one, other = states
        consequences = tuple(self._consequences(changed, *states))
        stayed = dict(self._stayed(changed, after, *states))
        told = tuple(
            each._replace(
                consequences=_first_of(each.path, consequences),
                stayed=tuple(stayed.get(each.path, ())),
            )
            for each in settings
        )
        values = (one.derived.values, other.derived.values)
        words = (one.words, other.words)
        return Reviewed(told, find_readings(self.book, changed, values, words))

    def _state(self, laid: Laid) -> _State:
        derived = derive_told(self.book, laid.facts.copy())
        own = derive_told(laid.book, laid.facts.copy())
        words = {each.rule.id: each.word for each in laid.judge.judge(own)}
        return _State(derived, words)

    def _consequences(
        self, changed: Sequence[str], before: _State, after: _State
    ) -> Iterator[Consequence]:
        for name in self._judged_by(changed, before, after):
            quantity = self.book.quantity_of[name]
            one, other = (_amount(quantity, state.derived) for state in (before, after))
            if _differ(one, other):
                because = tuple(each for each in changed if each in self._below(name))
                yield Consequence(name, quantity.means, one, other, because)

    def _judged_by(
        self, changed: Sequence[str], before: _State, after: _State
    ) -> list[str]:
        """Name the quantities that rules judge this meter by and that may have moved.

        First come those with a unit of their own, then those of rules that would have
        a person change a setting in question, then the more urgent rules.
        """
        ranks: dict[str, tuple[bool, bool, str]] = {}
        for rule in self.book.meter_rules:
            # What a net is asked by orders its stages; the reading tells the net.
            if rule.is_net:
                continue
            if NOT_APPLICABLE in (before.words.get(rule.id), after.words.get(rule.id)):
                continue
            for name in rule.reads:
                quantity = self.book.quantity_of.get(name)
                if quantity is None or self._below(name).isdisjoint(changed):
                    continue
                plain = self.book.scope.names[name] == NONE
                rank = (plain, set(changed).isdisjoint(rule.settings), rule.category)
                ranks[name] = min(rank, ranks.get(name, rank))
        return sorted(ranks, key=lambda name: ranks[name])

    def _below(self, name: str) -> frozenset[str]:
        if name not in self.below:
            self.below[name] = frozenset(self.book.below([name]))
        return self.below[name]

    def _stayed(
        self, changed: Sequence[str], after: Card, one: _State, other: _State
    ) -> Iterator[tuple[str, list[Stayed]]]:
        """Name what was not changed with a setting, by the setting."""
        turned = [
            rule
            for rule in self.book.meter_rules
            if one.words.get(rule.id) == CONFORMS
            and other.words.get(rule.id) == NONCONFORMING
        ]
        for path in changed:
            yield (
                path,
                [
                    Stayed(other_path, after.values[other_path], rule.id)
                    for rule in turned
                    for other_path in self._counterparts(rule, path)
                    if other_path in after.values and other_path not in changed
                ],
            )

    def _counterparts(self, rule: MeterRule, path: str) -> Iterator[str]:
        """Name the settings of one kind that a rule would change as well as another."""
        kinds = self.book.scope.names
        if path not in rule.settings:
            return
        for other in rule.settings:
            declared = self.book.settings.get(other)
            chosen = declared is None or declared.adjustable
            if other != path and chosen and kinds[other] == kinds[path]:
                yield other


class _State(NamedTuple):
    """A meter on one side: its quantities, and the outcome of every rule."""

    derived: Derived
    words: Mapping[str, str]


def _first_of(path: str, found: Sequence[Consequence]) -> tuple[Consequence, ...]:
    """Give what is to be told under a setting: once, under the first it is due to."""
    return tuple(each for each in found if each.because[0] == path)


def _amount(quantity: DerivedQuantity, derived: Derived) -> Amount | None:
    value = derived.values.get(quantity.name)
    if not isinstance(value, float) or is_missing(value):
        return None
    unit = quantity.unit
    return Amount(rounded(from_si(value, unit_named(unit)) if unit else value), unit)


def _differ(one: Amount | None, other: Amount | None) -> bool:
    if one is None or other is None:
        return one is not other
    return not equal(one.value, other.value)
