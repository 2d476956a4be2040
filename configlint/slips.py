"""Common slips in writing an amount or a unit, and what to write instead.

This module knows the ways people write numbers and units that are refused. Each
slip has a pattern, a statement of what is wrong, and advice with the very text to
write. What it needs to know of the units it is given: the spellings that exist.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Callable, Container, Iterable, Mapping

from configlint.errors import ConfiglintError

__all__ = [
    "ANY_AMOUNT",
    "LONGEST_TEXT",
    "NUMERAL",
    "QuantityError",
    "below_absolute_zero",
    "find_slip",
    "not_an_amount",
    "out_of_bounds",
    "rank_spellings",
    "unknown_unit",
]

LONGEST_TEXT = 80
"""The longest text, in characters, that is looked at as an amount."""

NUMERAL = r"[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
"""The pattern of a number: that of the YAML 1.2 core schema's floating-point
numbers, without its words for infinity and not-a-number."""

ANY_AMOUNT = "Write a number, one space and a unit, such as 250 m3/h."
"""Advice where nothing is known of what was meant."""
_SHOWN = 40


class QuantityError(ConfiglintError, ValueError):
    """A text is no amount: what is wrong with it, and what to write instead.

    `kind` is the reading rule it breaks: "unit-known" or "value-well-formed".
    """

    def __init__(self, problem: str, advice: str, kind: str) -> None:
        super().__init__(problem, advice, kind)
        self.problem = problem
        self.advice = advice
        self.kind = kind

    def __str__(self) -> str:
        """Say what is wrong, then what to do."""
        return f"{self.problem} {self.advice}"


_Match = re.Match[str]
_AMOUNT = re.compile(rf"({NUMERAL})\s*(.*)", re.DOTALL)
# What follows a number: nothing, or the unit with the space before it.
_REST = r"(\s*[^\s0-9,._'’].*)?"


def _without_separators(match: _Match) -> str:
    digits = re.sub(r"[^-+.0-9]", "", match[1])
    return f"Write {digits}{_unit(match[2])}, without separators."


def _with_point(match: _Match) -> str:
    whole = match[1].replace(".", "")
    return f"Write {whole}.{match[2]}{_unit(match[3])}, with a decimal point."


def _either(match: _Match) -> str:
    whole, decimals, unit = match[1], match[2], _unit(match[3])
    return f"Write {whole}.{decimals}{unit} or {whole}{decimals}{unit}, as is meant."


def _unit(rest: str | None) -> str:
    return f" {rest.strip()}" if rest else ""


_SLIPS: tuple[tuple[re.Pattern[str], str, Callable[[_Match], str]], ...] = (
    (
        re.compile(r"[-+]?\.?(?:nan|inf(?:inity)?)(?![a-z]).*", re.IGNORECASE),
        "is not a finite number.",
        lambda match: "Write the number, or leave the line out if it is not known.",
    ),
    (
        re.compile(r"([-+]?[1-9][0-9]{0,2}),([0-9]{3})" + _REST),
        "has a comma, which can mean a decimal point or thousands.",
        _either,
    ),
    (
        re.compile(r"([-+]?[0-9]{1,3}(?:\.[0-9]{3})+),([0-9]+)" + _REST),
        "has a decimal comma and thousands separators.",
        _with_point,
    ),
    (
        re.compile(r"([-+]?[0-9]+),([0-9]+)" + _REST),
        "has a decimal comma.",
        _with_point,
    ),
    (
        re.compile(
            r"([-+]?[0-9]{1,3}(?:[,'’\s][0-9]{3})+(?:\.[0-9]+)?"
            r"|[-+]?[0-9]+(?:_[0-9]+)+(?:\.[0-9]+)?)" + _REST
        ),
        "has separators between digits.",
        _without_separators,
    ),
    (
        re.compile(r"[\u2010-\u2015\u2212]\s*([0-9.].*)"),
        "has a dash or a typographic minus sign.",
        lambda match: f"Write the hyphen of the keyboard: -{match[1]}.",
    ),
    (
        re.compile(r"(?:[0-9]+ )?[0-9]+/[0-9]+(?: .*)?"),
        "is written with a fraction.",
        lambda match: "Write a decimal number, such as 0.5 for 1/2.",
    ),
)


def find_slip(text: str, spellings: Container[str]) -> QuantityError | None:
    """Recognise a slip in writing an amount, so as to say what is meant.

    >>> print(find_slip("0,155 A", {"A"}))
    '0,155 A' has a decimal comma. Write 0.155 A, with a decimal point.
    """
    if not text.strip():
        return _malformed("There is no amount.", ANY_AMOUNT)
    if len(text) > LONGEST_TEXT:
        problem = f"{_shown(text)} is longer than {LONGEST_TEXT} characters."
        return _malformed(problem, ANY_AMOUNT)
    if text.strip() in spellings:
        advice = f"Write the number before it, such as 1 {text.strip()}."
        return _malformed(f"{_shown(text)} is a unit without a number.", advice)
    for pattern, problem, advise in _SLIPS:
        if match := pattern.fullmatch(text):
            return _malformed(f"{_shown(text)} {problem}", advise(match))
    return _misspaced(text, spellings)


def _misspaced(text: str, spellings: Container[str]) -> QuantityError | None:
    """Recognise a right number and a right unit with other than one space between."""
    match = _AMOUNT.fullmatch(text.strip())
    if match is None or (match[2] and match[2] not in spellings):
        return None
    joined = text == match[1] + match[2]
    fault = (
        "has no space between number and unit."
        if joined
        else "has other than one plain space between number and unit."
    )
    if not match[2]:
        fault = "has a space that belongs to nothing."
    right = f"{match[1]} {match[2]}".rstrip()
    return _malformed(f"{_shown(text)} {fault}", f"Write {right}.")


def not_an_amount(text: str) -> QuantityError:
    """Refuse a text in which no slip was recognised."""
    return _malformed(f"{_shown(text)} is not an amount.", ANY_AMOUNT)


def out_of_bounds(text: str) -> QuantityError:
    """Refuse a number that is too large or too small to be meant."""
    problem = f"{_shown(text)} is outside the numbers that can be meant."
    advice = "Write a number of at most 1e15 whose exponent is within -30 to 30."
    return _malformed(problem, advice)


def below_absolute_zero(text: str) -> QuantityError:
    """Refuse a temperature that can't be."""
    problem = f"{_shown(text)} is below absolute zero."
    return _malformed(problem, "Check the sign and the unit of the temperature.")


def unknown_unit(spelling: str, nearest: Iterable[str]) -> QuantityError:
    """Refuse a unit spelling, and offer the nearest known ones."""
    offered = " or ".join(nearest)
    advice = (
        f"Write {offered}, if that is meant."
        if offered
        else "Write a unit that configlint/spellings.yaml lists, such as m3/h."
    )
    problem = f"{_shown(spelling)} is no known spelling of a unit."
    return QuantityError(problem, advice, "unit-known")


def _malformed(problem: str, advice: str) -> QuantityError:
    return QuantityError(problem, advice, "value-well-formed")


def _shown(text: str) -> str:
    """Quote a text for a message, shortened, with control characters escaped."""
    return repr(text if len(text) <= _SHOWN else f"{text[: _SHOWN - 1]}…")


def rank_spellings(
    wrong: str, spellings: Iterable[str], mistakes: Mapping[str, tuple[str, ...]]
) -> tuple[str, ...]:
    """Rank the spellings that are most likely meant by a wrong one, best first.

    A known mistake has its answer; then come spellings that differ in capitals,
    dots, spaces or raised figures alone; then those that look alike.

    >>> rank_spellings("m3/hr", ["m3/h", "m3/d"], {"m3/hr": ("m3/h",)})
    ('m3/h',)
    >>> rank_spellings("M³/H", ["m3/h", "m3/d"], {})
    ('m3/h',)
    """
    wrong = wrong.strip()[:LONGEST_TEXT]
    if wrong in mistakes:
        return mistakes[wrong]
    answers = {each: (each,) for each in spellings} | dict(mistakes)
    plain = _folded(wrong)
    alike = [each for each in answers if _folded(each) == plain]
    found = alike or difflib.get_close_matches(wrong, answers, 6, 0.6)
    return tuple(dict.fromkeys(right for each in found for right in answers[each]))


def _folded(spelling: str) -> str:
    plain = unicodedata.normalize("NFKC", spelling).casefold()
    return re.sub(r"[-\s.·⋅*^_]", "", plain)
