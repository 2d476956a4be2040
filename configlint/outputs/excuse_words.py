"""What a change excuses by itself, in words, for the head of every report about it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from configlint.report import EXCUSES, Excuse

__all__ = [
    "RULES_CHANGED",
    "Excuses",
    "accepted_words",
    "excuse_counts",
    "excuses_told",
]

RULES_CHANGED = "Rules and policy changed by this change"
"""The heading of what a change changes of the files that judge it."""


class Excuses(NamedTuple):
    """What a change excuses in one way: a heading, and an entry for each finding."""

    heading: str
    entries: tuple[str, ...]


def excuses_told(excuses: Iterable[Excuse], trusted: bool) -> Iterator[Excuses]:
    """Say what a change excuses, each way under a heading of its own.

    `trusted` says that what excuses them is accepted.

    >>> one = Excuse("0" * 16, "concession", "FT-1, a-rule, category A")
    >>> [each.heading for each in excuses_told([one], trusted=False)]
    ['Conceded by this very change, not accepted yet (--trust-change): 1 finding']
    """
    told = list(excuses)
    state = "accepted by --trust-change"
    if not trusted:
        state = "not accepted yet (--trust-change)"
    for kind, words in EXCUSES.items():
        entries = tuple(each.told for each in told if each.by == kind)
        if entries:
            noun = "finding" if len(entries) == 1 else "findings"
            yield Excuses(f"{words.heading}, {state}: {len(entries)} {noun}", entries)


def accepted_words(excuses: Iterable[Excuse], trusted: bool) -> str:
    """Say at the end of the verdict what was accepted by asking for it, "" for nothing.

    >>> accepted_words([Excuse("0" * 16, "concession", "FT-1")], trusted=True)
    ' Accepted by --trust-change: 1 conceded by this very change.'
    """
    counts = excuse_counts(each.by for each in excuses) if trusted else ""
    return f" Accepted by --trust-change: {counts}." if counts else ""


def excuse_counts(kinds: Iterable[str]) -> str:
    """Count findings by what excuses them, as a part of the verdict; "" for none.

    >>> excuse_counts(["concession", "rules", "rules"])
    '1 conceded by this very change, 2 let pass by its own rules or policy'
    """
    counts = Counter(kinds)
    return ", ".join(
        f"{counts[kind]} {words.counted}"
        for kind, words in EXCUSES.items()
        if counts[kind]
    )
