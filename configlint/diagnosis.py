"""What may lie behind two figures that should agree and do not.

A ratio is held against suspects, the ratios that known slips leave behind, as it is,
inverted, squared and both; two figures are held against the slips of a hand that
copies digits. A match is a possible cause, never a proven one: where two lie within
the tolerance, both are named, the one that the meter's units speak for first. What no
unit speaks for must fit ten times as well, and is told as the less likely.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator
from enum import IntEnum
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from configlint.units import (
    Dimension,
    decades_apart,
    dimension_named,
    spellings,
    unit_named,
)

__all__ = [
    "CLOSE",
    "LEAST_SQUARED",
    "TOLERANCE",
    "Support",
    "Suspect",
    "digit_slip",
    "is_made_of",
    "ratio_slip",
    "weigh",
]

TOLERANCE = 0.005
"""How far a ratio may lie from a fingerprint, relative to it."""

CLOSE = 0.0005
"""How far it may lie where nothing in the meter speaks for the slip."""

SQUARED = "twice over: "
LEAST_SQUARED = 2.0
"""From this ratio on a slip is looked for that was made twice over."""


class Support(IntEnum):
    """What speaks in a meter for a slip whose ratio fits, the least first."""

    RULED_OUT = 0
    """The slip can't be meant."""
    UNSEEN = 1
    """One of the units that were mixed up is neither written nor usual there."""
    IN_PLAY = 2
    """Both units are written or usual there, or no unit takes part."""
    WRITTEN = 3
    """Both units are written in the file."""
    COMPARED = 4
    """The two figures that do not agree are in these units."""


class Suspect(NamedTuple):
    """A cause with the ratio it leaves, and a way to ask what speaks for it.

    A `conversion` takes one unit for another. Made the wrong way round it leaves the
    square of its ratio.
    """

    cause: str
    ratio: float
    is_conversion: bool
    support: Callable[[], Support]


class _Match(NamedTuple):
    """A suspect that a ratio lies near, in words, with what speaks for it."""

    support: Support
    words: str
    is_close: bool


def ratio_slip(ratio: float, suspects: Iterable[Suspect]) -> str:
    """Name the possible causes of a ratio as a sentence; "" where none is known.

    The ratio is a plain number; its inverse has the same causes. Near 1 there is no
    slip to name. A square is named of conversions only, where no ratio that the meter
    speaks for matches as it is, and only of ratios from 2 on: the squares of smaller
    ones lie where two sound round figures may meet.

    >>> flow = Suspect("l/s mixed up with m3/h", 3.6, True, lambda: Support.IN_PLAY)
    >>> ratio_slip(1 / 3.6, [flow])
    'Possible cause: l/s mixed up with m3/h (3.6).'
    """
    if not math.isfinite(ratio) or ratio <= 0:
        return ""
    size = max(ratio, 1 / ratio)
    if _near(size, 1):
        return ""
    known = list(suspects)
    plain = set(_matches(size, known, 1))
    likely = _likely(plain) or _likely(_matches(size, known, 2))
    if likely:
        return _sentence(likely)
    unseen = sorted(each.words for each in plain if each.support and each.is_close)
    words = " or ".join(unseen)
    said = f"It would also be the ratio of {words}, but the file shows no such unit."
    return said if words else ""


def _likely(matches: Iterable[_Match]) -> list[str]:
    """The matches that something speaks for, the best first.

    Where the very units of the two figures tell the slip, nothing else is told.
    """
    best = {each for each in matches if each.support > Support.UNSEEN}
    told = {each for each in best if each.support is Support.COMPARED} or best
    ranked = sorted(told, key=lambda each: (-each.support, each.words))
    return [each.words for each in ranked]


def _matches(size: float, suspects: Iterable[Suspect], power: int) -> Iterator[_Match]:
    said = SQUARED if power == 2 else ""
    for suspect in suspects:
        known = _size(suspect.ratio) ** power
        sought = power == 1 or (
            suspect.is_conversion and _size(suspect.ratio) >= LEAST_SQUARED
        )
        if sought and _near(size, known) and not _near(known, 1):
            words = f"{said}{suspect.cause} ({known:.6g})"
            yield _Match(suspect.support(), words, _near(size, known, CLOSE))


def _size(ratio: float) -> float:
    """The larger way round of a ratio, not a number where it is none."""
    return max(ratio, 1 / ratio) if 0 < ratio < math.inf else math.nan


def _near(size: float, known: float, reach: float = TOLERANCE) -> bool:
    return abs(size / known - 1) <= reach


# --- the units of a meter ---------------------------------------------------

EVERYWHERE = frozenset({"SI", "any"})
"""The systems of units that every transmitter and every site knows."""

TIME = dimension_named("time")
TIMES = (1, 60, 3600, 86_400, 31_536_000)
"""The times that a flow can be per, in seconds: to the year of 365 days."""


def weigh(
    between: Collection[str],
    written: Collection[str],
    compared: Collection[str],
    convention: str,
) -> Support:
    """Say what speaks for two units having been mixed up; all units by spelling.

    `written` are the units of the file, `compared` those of the figures that do not
    agree, `convention` is the system that the meter's people keep to. A unit is in
    play where it, or one made of it, is written, where it is of that system, and
    everywhere if it is an SI unit or, as the hour, of no system.

    >>> weigh(("US_gal", "l"), ("m3/h", "US_gal/min"), ("m3/h",), "SI").name
    'WRITTEN'
    """
    if not between:
        return Support.IN_PLAY
    if len(set(compared)) > 1 and _are_all_in(between, compared):
        return Support.COMPARED
    if _are_all_in(between, written):
        return Support.WRITTEN
    known = (_is_in_play(part, written, convention) for part in between)
    return Support.IN_PLAY if all(known) else Support.UNSEEN


def _are_all_in(between: Iterable[str], units: Collection[str]) -> bool:
    return all(any(is_made_of(each, part) for each in units) for part in between)


def _is_in_play(part: str, written: Collection[str], convention: str) -> bool:
    """Whether a unit is known in a meter; of a flow it is enough that its amount is."""
    unit = unit_named(part)
    if unit.system in EVERYWHERE or convention in unit.systems:
        return True
    amount, _, _ = part.partition("/")
    sought = (part, amount) if amount in spellings() else (part,)
    return any(is_made_of(each, one) for each in written for one in sought)


@lru_cache(maxsize=4096)
def is_made_of(spelling: str, part: str) -> bool:
    """Whether a unit is made of another: is it or its square, that per time, or per it.

    A moved decimal point makes no difference, so that MGD is made of gallons.

    >>> is_made_of("US_gal/min", "US_gal"), is_made_of("m3/h", "US_gal")
    (True, False)
    """
    whole = unit_named(part)
    return any(
        dimension == whole.dimension and decades_apart(factor, whole.factor)
        for dimension, factor in _forms(spelling)
    )


def _forms(spelling: str) -> Iterator[tuple[Dimension, Fraction]]:
    """What a unit is made of: itself, a time it is per, the amount of a flow."""
    unit = unit_named(spelling)
    last = spellings().get(spelling.rpartition("/")[2])
    if last is not None and last.dimension == TIME:
        yield TIME, last.factor
    for power in (1, -1, 2):
        yield unit.dimension**power, unit.factor**power
    for time in TIMES:
        yield unit.dimension * TIME, unit.factor * time


# --- slips of the hand ------------------------------------------------------


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
