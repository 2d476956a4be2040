"""How what judges one side differs from what judges the other.

All of it is written in files of the repository, and so a change can bring its own.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import NamedTuple

from configlint.errors import RunError
from configlint.review.concession_changes import ConcessionChange, concession_changes
from configlint.review.limit_changes import LimitChange, limit_changes
from configlint.review.rule_changes import RuleChange, rule_changes
from configlint.review.sides import Side
from configlint.review.standards import Standards, read_standards

__all__ = [
    "NOTHING_OWN",
    "NO_DIFFERENCES",
    "Differences",
    "Own",
    "differences",
    "read_own",
]


class Differences(NamedTuple):
    """How what judges one side differs from what judges the other."""

    concessions: tuple[ConcessionChange, ...] = ()
    rules: tuple[RuleChange, ...] = ()
    limits: tuple[LimitChange, ...] = ()


NO_DIFFERENCES = Differences()


class Own(NamedTuple):
    """How what is each side's own differs, and why it can't be taken, if so."""

    differences: Differences
    untaken: tuple[str, ...] = ()


NOTHING_OWN = Own(NO_DIFFERENCES)


def read_own(opened: AbstractContextManager[tuple[Side, Side]]) -> Own:
    """Read how two sides are judged by their own rules, whichever rules judge them.

    What can't be taken is told and stops nothing, since it does not judge.
    """
    try:
        with opened as (before, after):
            return Own(differences(read_standards(before), read_standards(after)))
    except RunError as error:
        told = (f"{fault.place}: {fault.sentence}" for fault in error.faults)
        return Own(NO_DIFFERENCES, tuple(told))


def differences(before: Standards, after: Standards) -> Differences:
    """Say how two sides are judged otherwise, by workspace and then by name."""
    keys = sorted(before.keys() | after.keys())
    pairs = [(before.get(key), after.get(key)) for key in keys]
    return Differences(
        tuple(each for pair in pairs for each in concession_changes(*pair)),
        tuple(each for pair in pairs for each in rule_changes(*pair)),
        tuple(each for pair in pairs for each in limit_changes(*pair)),
    )
