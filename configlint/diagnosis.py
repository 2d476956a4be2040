"""What may lie behind two figures that should agree and do not.

A ratio is held against a table of ratios that known slips leave behind, as it
is, inverted, squared and both; two figures are held against the slips of a hand
that copies digits. A match is a possible cause, never a proven one: where two
lie within the tolerance, both are named.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

__all__ = ["LEAST_SQUARED", "TOLERANCE", "digit_slip", "ratio_slip"]

TOLERANCE = 0.005
"""How far a ratio may lie from a fingerprint, relative to it."""

SQUARED = "twice over: "
LEAST_SQUARED = 2.0
"""From this ratio on a slip is looked for that was made twice over."""


def ratio_slip(ratio: float, rows: Iterable[tuple[str, float]]) -> str:
    """Name the possible causes of a ratio as a sentence; "" where none is known.

    `rows` are causes with the ratio, above 1, that each leaves. The ratio is a
    plain number; its inverse has the same causes. Near 1 there is no slip to name,
    and a square is named only where no ratio matches as it is (100 is a point moved
    by two places rather than one place, twice over), and only of ratios from 2 on:
    the squares of smaller ones lie where two sound round figures may meet.

    >>> ratio_slip(1 / 3.6, [("l/s taken for m3/h or the reverse", 3.6)])
    'Possible cause: l/s taken for m3/h or the reverse (3.6).'
    """
    if not math.isfinite(ratio) or ratio <= 0:
        return ""
    size = max(ratio, 1 / ratio)
    if _near(size, 1):
        return ""
    known = list(rows)
    found = set(_matches(size, known, 1)) or set(_matches(size, known, 2))
    return _sentence(sorted(found))


def _matches(
    size: float, rows: Iterable[tuple[str, float]], power: int
) -> Iterator[str]:
    said = SQUARED if power == 2 else ""
    for cause, known in rows:
        sought = power == 1 or known >= LEAST_SQUARED
        if sought and _near(size, known**power):
            yield f"{said}{cause} ({known**power:.6g})"


def _near(size: float, known: float) -> bool:
    return abs(size / known - 1) <= TOLERANCE


def digit_slip(stamped: str, entered: str) -> str:
    """Name the slip that turns one number into another; "" where none does.

    The slips are two neighbours exchanged, one digit dropped, one doubled, and
    the decimal point moved. Signs are left out of account.

    >>> digit_slip("1.0234", "1.0243")
    'Possible cause: two digits exchanged.'
    >>> digit_slip("1.0234", "10.234")
    'Possible cause: the decimal point moved.'
    """
    first, second = stamped.lstrip("+-"), entered.lstrip("+-")
    if first == second:
        return ""
    slips = (
        (_exchanged(first, second), "two digits exchanged"),
        (_dropped(first, second), "a digit dropped"),
        (_dropped(second, first), _extra(second, first)),
        (_moved(first, second), "the decimal point moved"),
    )
    return _sentence(words for is_so, words in slips if is_so)


def _sentence(causes: Iterable[str]) -> str:
    words = " or ".join(dict.fromkeys(causes))
    return f"Possible cause: {words}." if words else ""


def _exchanged(first: str, second: str) -> bool:
    if len(first) != len(second):
        return False
    differing = [
        i
        for i, pair in enumerate(zip(first, second, strict=True))
        if len(set(pair)) > 1
    ]
    if len(differing) != 2:
        return False
    left, right = differing
    neighbours = set(first[left + 1 : right]) <= {"."}
    crossed = first[left] == second[right] and first[right] == second[left]
    return neighbours and crossed and "." not in (first[left], first[right])


def _dropped(longer: str, shorter: str) -> bool:
    """Whether leaving one digit out of the longer number gives the shorter."""
    return len(longer) == len(shorter) + 1 and any(
        longer[i].isdigit() and longer[:i] + longer[i + 1 :] == shorter
        for i in range(len(longer))
    )


def _extra(longer: str, shorter: str) -> str:
    """What an extra digit is: its neighbour doubled, or one more."""
    for i in range(1, len(longer)):
        if longer[i] == longer[i - 1] and longer[:i] + longer[i + 1 :] == shorter:
            return "a digit doubled"
    return "a digit too many"


def _moved(first: str, second: str) -> bool:
    """Whether two numbers have the same digits around another decimal point."""
    if "e" in (first + second).lower():
        return False
    one, other = _without_noughts(first), _without_noughts(second)
    return one != other and _digits(one) == _digits(other) != ""


def _without_noughts(number: str) -> str:
    """Leave out the noughts that change nothing, before and behind."""
    whole, point, decimals = number.partition(".")
    return f"{whole.lstrip('0')}{point}{decimals.rstrip('0')}".rstrip(".")


def _digits(number: str) -> str:
    return number.replace(".", "").strip("0")
