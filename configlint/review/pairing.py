"""Which meter of one side is which of the other, though its file or site has changed.

A meter is known by workspace, site and tag. One that is not found so is looked for by
the serial number of its sensor, by its tag at another site, as the only meter left in
its file, and by having the same values under another tag. Each step takes two meters
only where no other could be meant, so that the sides can change places.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from configlint.bench import Laid
from configlint.review.sides import Placed

__all__ = ["Card", "Pairs", "pair_cards", "values_below"]

ALIKE = 0.5
"""The share of its values that the only meter left in a file must have kept."""
SERIAL = "sensor.serial"
TAG = "meter"

Key = Callable[["Card"], Hashable]


@dataclass(frozen=True, eq=False)
class Card:
    """A meter to be found on the other side, with its values as they are written.

    No two are equal, even where all of their values are.
    """

    placed: Placed

    @property
    def laid(self) -> Laid:
        """The meter, laid out with the rules that hold for it."""
        return self.placed.laid

    @property
    def identity(self) -> tuple[str, str, str]:
        """Workspace, site and tag."""
        subject = self.laid.subject
        return subject.workspace, subject.site, subject.meter

    @cached_property
    def values(self) -> Mapping[str, str]:
        """Every value of the file's meter by its path, as written."""
        entry = self.laid.entry
        value: Any = entry.document.value
        for step in entry.path:
            value = value[step]
        return dict(values_below(value))

    @property
    def serial(self) -> str:
        """The serial number of the sensor, "" where none is written."""
        return self.values.get(SERIAL, "")

    @property
    def untagged(self) -> frozenset[tuple[str, str]]:
        """All values but the tag."""
        return frozenset(each for each in self.values.items() if each[0] != TAG)


class Pairs(NamedTuple):
    """The meters that are on both sides, and those on one side alone."""

    both: tuple[tuple[Card, Card], ...]
    before: tuple[Card, ...]
    after: tuple[Card, ...]


def values_below(value: object, path: str = "") -> Iterator[tuple[str, str]]:
    """Give every scalar in a value with its dotted path, as written.

    >>> dict(values_below({"meter": "FT-1", "sensor": {"bore": "50 mm"}}))
    {'meter': 'FT-1', 'sensor.bore': '50 mm'}
    """
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from values_below(inner, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from values_below(inner, f"{path}[{index}]")
    elif value is not None:
        yield path, str(value)


def pair_cards(before: Sequence[Card], after: Sequence[Card]) -> Pairs:
    """Find the meters of one side on the other."""
    pairing = _Pairing(dict.fromkeys(before), dict.fromkeys(after))
    for key in EXACT:
        pairing.take_in_order(key)
    for key, fits in LIKELY:
        pairing.take_only(key, fits)
    return Pairs(tuple(pairing.pairs), tuple(pairing.before), tuple(pairing.after))


def _fits(before: Card, after: Card) -> bool:
    return True


def _is_same_sensor(before: Card, after: Card) -> bool:
    """Whether nothing speaks against one sensor: two serial numbers do."""
    return not (before.serial and after.serial) or before.serial == after.serial


def _is_alike(before: Card, after: Card) -> bool:
    one, other = before.untagged, after.untagged
    shared = len(one & other) >= ALIKE * max(len(one), len(other))
    return shared and _is_same_sensor(before, after)


# Of meters that share a tag, those of one sensor and one file belong together first.
EXACT: tuple[Key, ...] = (
    lambda card: (card.identity, card.serial, card.placed.key),
    lambda card: (card.identity, card.serial),
    lambda card: (card.identity, card.placed.key),
    lambda card: card.identity,
)
LIKELY: tuple[tuple[Key, Callable[[Card, Card], bool]], ...] = (
    (lambda card: card.serial or None, _fits),
    (lambda card: (card.identity[0], card.identity[2]), _is_same_sensor),
    (lambda card: card.identity[2], _is_same_sensor),
    (lambda card: card.placed.key, _is_alike),
    (lambda card: card.untagged, _fits),
)


@dataclass(slots=True)
class _Pairing:
    """The meters of both sides that are still alone, and the pairs found."""

    before: dict[Card, None]
    after: dict[Card, None]
    pairs: list[tuple[Card, Card]] = field(default_factory=list)

    def take_in_order(self, key: Key) -> None:
        """Pair all meters of one key, the first with the first."""
        for ones, others in self._groups(key):
            self._take(list(zip(ones, others, strict=False)))

    def take_only(self, key: Key, fits: Callable[[Card, Card], bool]) -> None:
        """Pair the meters that are the only ones of a key on their sides."""
        for ones, others in self._groups(key):
            if len(ones) == len(others) == 1 and fits(ones[0], others[0]):
                self._take([(ones[0], others[0])])

    def _groups(self, key: Key) -> list[tuple[list[Card], list[Card]]]:
        groups: dict[Hashable, tuple[list[Card], list[Card]]] = defaultdict(
            lambda: ([], [])
        )
        for side, cards in enumerate((self.before, self.after)):
            for card in cards:
                groups[key(card)][side].append(card)
        groups.pop(None, None)
        return list(groups.values())

    def _take(self, pairs: list[tuple[Card, Card]]) -> None:
        self.pairs += pairs
        for one, other in pairs:
            del self.before[one]
            del self.after[other]
