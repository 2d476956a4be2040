"""Which concessions a change adds, removes, changes or extends."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from configlint.concessions import Concession
from configlint.review.standards import Standard, name_of

__all__ = ["ConcessionChange", "concession_changes"]

ADDED, REMOVED, CHANGED, EXTENDED = "added", "removed", "changed", "extended"


class ConcessionChange(NamedTuple):
    """A concession that is added, removed, changed, or extended to a later day.

    `aim` is the entry as it is, or was at last, and so tells what is conceded of which
    meters; `before` or `after` is None where it stands on one side alone.
    """

    workspace: str
    change: str
    aim: Concession
    before: Concession | None
    after: Concession | None


def concession_changes(
    one: Standard | None, other: Standard | None
) -> Iterator[ConcessionChange]:
    """Pair the entries that concede one thing of one meter; the others come or go."""
    name = name_of(one, other)
    waiting: dict[tuple[str, ...], list[Concession]] = defaultdict(list)
    for each in one.concessions if one else ():
        waiting[_aim(each)].append(each)
    later = list(other.concessions if other else ())
    # Entries that are alike are told apart by what they say.
    same = [each for each in later if _take(waiting[_aim(each)], _content(each))]
    for each in later:
        if any(each is known for known in same):
            continue
        known = waiting[_aim(each)]
        earlier = known.pop(0) if known else None
        yield ConcessionChange(name, _change(earlier, each), each, earlier, each)
    for left in waiting.values():
        yield from (ConcessionChange(name, REMOVED, each, each, None) for each in left)


def _aim(concession: Concession) -> tuple[str, ...]:
    """Say what is conceded of which meters."""
    one = concession
    return one.rule, one.meter, one.site, one.fingerprint


def _content(concession: Concession) -> tuple[object, ...]:
    """Say on which terms it is conceded."""
    one = concession
    bounds = tuple(sorted((bound.path, bound.text) for bound in one.bounds))
    return bounds, one.reason, one.granted_by, one.granted_on, one.expires_on


def _take(known: list[Concession], content: tuple[object, ...]) -> bool:
    """Take one of the same content out of a list, and say whether there was one."""
    for number, each in enumerate(known):
        if _content(each) == content:
            del known[number]
            return True
    return False


def _change(before: Concession | None, after: Concession) -> str:
    if before is None:
        return ADDED
    earlier, later = _last(before), _last(after)
    return EXTENDED if later > earlier else CHANGED


def _last(concession: Concession) -> date:
    """Give the last day; one without an end holds on the last there is."""
    return concession.expires_on or date.max
