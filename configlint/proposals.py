"""What is proposed for a finding: changes that are made together, and their words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from configlint.templates import listed

__all__ = [
    "COUNTERPART",
    "KINDS",
    "PERMISSIBLE",
    "PREFERRED",
    "Advice",
    "Change",
    "advice_words",
]

COUNTERPART = "as its counterpart"
PERMISSIBLE = "nearest permissible"
PREFERRED = "nearest preferred"
KINDS = (COUNTERPART, PERMISSIBLE, PREFERRED)
"""What values are proposed as."""


class Change(NamedTuple):
    """A setting by its path, and the text that its file would hold for it."""

    setting: str
    value: str


class Advice(NamedTuple):
    """Changes, made together, that settle a finding.

    `within` says in words what the first setting may be, the others going with it;
    it is empty for one that is no amount. `if_right` names the setting whose value the
    changes take for right, where nothing but the plant says which of two is; and
    `unless` names the rules that would be broken if it were the other one. `bound`
    names the rule that bounds the value, where that is not the finding's own; `net`
    the one whose finding these changes settle as a whole, along with the one at hand.
    """

    kind: str
    changes: tuple[Change, ...]
    within: str = ""
    if_right: str = ""
    unless: tuple[str, ...] = ()
    bound: str = ""
    net: str = ""


def advice_words(advice: Sequence[Advice]) -> str:
    """Say what to enter, the preferred values where there are some.

    Of two values that disagree it says which one is taken for right.

    >>> nearest = Advice(PERMISSIBLE, (Change("a", "6.3 l"),), "6.22 to 20 l")
    >>> preferred = Advice(PREFERRED, (Change("a", "10 l"),), "6.22 to 20 l")
    >>> advice_words([nearest, preferred])
    'a 10 l. Permissible: 6.22 to 20 l, the nearest 6.3 l.'
    """
    best, nearest = advice[-1], advice[0]
    if nearest.net:
        return f"with {nearest.net}, which sets all of these together."
    if nearest.if_right:
        return _either_words(advice)
    words = _changes_words(best.changes)
    value = best.changes[0].value
    if best.within in ("", value):
        return f"{words}."
    other = nearest.changes[0].value
    nearer = f", the nearest {other}" if other != value else ""
    bound = f" by {best.bound}" if best.bound else ""
    return f"{words}. Permissible: {best.within}{bound}{nearer}."


def _changes_words(changes: Sequence[Change]) -> str:
    return " together with ".join(f"{each.setting} {each.value}" for each in changes)


def _either_words(advice: Sequence[Advice]) -> str:
    """Say what to enter if one of two values is right, and if the other one is.

    >>> one = Advice(COUNTERPART, (Change("a", "1 l"),), "", "b", ("too-small",))
    >>> _either_words([one])
    'if b is right, a 1 l. The other way round would break too-small.'
    """
    words = "; ".join(
        f"if {each.if_right} is right, {_changes_words(each.changes)}"
        for each in advice
    )
    unless = listed(advice[0].unless)
    return (
        f"{words}. The other way round would break {unless}." if unless else f"{words}."
    )
