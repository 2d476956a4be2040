"""Laws of the advice: each common slip is recognised, and told what to write."""

from __future__ import annotations

import re

import pytest

from configlint.slips import (
    LONGEST_TEXT,
    NUMERAL,
    QuantityError,
    find_slip,
    not_an_amount,
    rank_spellings,
    unknown_unit,
)

KNOWN = {"m", "m3/h", "A", "%", "degC", "US gal", "1/l"}


@pytest.mark.parametrize(
    ("text", "problem", "advice"),
    [
        ("", "There is no amount.", "Write a number, one space and a unit"),
        (" \t", "There is no amount.", "Write a number, one space and a unit"),
        ("0,155 A", "a decimal comma.", "Write 0.155 A, with a decimal point."),
        ("1,5", "a decimal comma.", "Write 1.5, with a decimal point."),
        ("-10,5m3/h", "a decimal comma.", "Write -10.5 m3/h, with a decimal point."),
        ("1,234 m", "decimal point or thousands", "Write 1.234 m or 1234 m, as is"),
        ("1.234,5 m", "decimal comma and thousands", "Write 1234.5 m, with"),
        ("1,234,567 m", "separators between digits", "Write 1234567 m, without"),
        ("1,234.5 m3/h", "separators between digits", "Write 1234.5 m3/h, without"),
        ("1 000 m3/h", "separators between digits", "Write 1000 m3/h, without"),
        ("1\u202f000m3/h", "separators between digits", "Write 1000 m3/h, without"),
        ("-1_000", "separators between digits", "Write -1000, without"),
        ("1_00_0.5 m", "separators between digits", "Write 1000.5 m, without"),
        ("12'000 m", "separators between digits", "Write 12000 m, without"),
        ("12’000 US gal", "separators between digits", "Write 12000 US gal, without"),
        ("NaN", "is not a finite number.", "leave the line out if it is not known"),
        ("-inf m", "is not a finite number.", "leave the line out if it is not known"),
        (".Inf", "is not a finite number.", "leave the line out if it is not known"),
        ("infinity", "is not a finite number.", "leave the line out"),
        ("−5 degC", "typographic minus sign.", "Write the hyphen of the keyboard: -5"),
        ("– 5", "typographic minus sign.", "Write the hyphen of the keyboard: -5."),
        ("1/2 in", "is written with a fraction.", "such as 0.5 for 1/2"),
        ("1 1/2 in", "is written with a fraction.", "such as 0.5 for 1/2"),
        ("m3/h", "is a unit without a number.", "such as 1 m3/h."),
        ("1/l", "is a unit without a number.", "such as 1 1/l."),
        ("250m3/h", "has no space between number and unit.", "Write 250 m3/h."),
        ("-1e3A", "has no space between number and unit.", "Write -1e3 A."),
        ("0.3%", "has no space between number and unit.", "Write 0.3 %."),
        ("5  m", "has other than one plain space", "Write 5 m."),
        ("5\tm", "has other than one plain space", "Write 5 m."),
        ("5\u00a0US gal", "has other than one plain space", "Write 5 US gal."),
        (" 5 m", "has other than one plain space", "Write 5 m."),
        ("5 ", "has a space that belongs to nothing.", "Write 5."),
        ("9" * 81, "is longer than 80 characters.", "Write a number, one space"),
    ],
)
def test_a_slip_is_told_what_to_write(text: str, problem: str, advice: str) -> None:
    """A known slip is named, and the advice holds the very text to write."""
    slip = find_slip(text, KNOWN)
    assert slip is not None
    assert slip.kind == "value-well-formed"
    assert problem in slip.problem
    assert advice in slip.advice


@pytest.mark.parametrize(
    "text",
    [
        *("abc", "3-5 m", "12:30", "0x1F", "250 furlong", "250furlong", "1,2,3"),
        *("5,", "information", "nano", "--5 m", "1.2.3 m", "~5 m", "\x1b[31m"),
    ],
)
def test_an_unknown_slip_is_not_guessed(text: str) -> None:
    """A text that fits no known slip gets no specific advice."""
    assert find_slip(text, KNOWN) is None


@pytest.mark.parametrize("text", ["5", "-0.5", "+7.", ".5", "1e5", "1E-05", "007"])
def test_a_number_is_plain_ascii(text: str) -> None:
    """A number has a sign, digits, one decimal point and an exponent, if any."""
    assert re.fullmatch(NUMERAL, text)
    assert float(text) == float(text.strip())


@pytest.mark.parametrize(
    "text", ["", ".", "-", "e5", "1e", "1_0", "٣", "１", "0x1", "1,5", "inf", "5\n"]
)
def test_other_forms_are_no_number(text: str) -> None:
    """What Python reads as a number, but this grammar does not, is no number."""
    assert not re.fullmatch(NUMERAL, text)


def test_every_slip_of_the_longest_text_is_quick() -> None:
    """No text makes a pattern search without end: each is settled in linear time."""
    for unit in ("1", "1,", "1'", "1 ", "1_", "1.", "nan", "−1", "1/", "1e", ",", "_"):
        text = (unit * LONGEST_TEXT)[:LONGEST_TEXT]
        assert find_slip(text + "!", KNOWN) is not None
        slip = find_slip(text[:-1] + "!", KNOWN)
        assert slip is None or slip.kind == "value-well-formed"


def test_control_characters_are_shown_escaped() -> None:
    """What a message quotes is shortened, and can't drive a terminal."""
    error = not_an_amount("\x1b[31m" + "x" * 100)
    assert "\x1b" not in str(error)
    assert r"\x1b[31m" in error.problem
    assert len(error.problem) < 80
    assert isinstance(error, QuantityError)


def test_an_unknown_unit_is_offered_the_nearest() -> None:
    """An unknown unit gets the nearest spellings, or the place of the list."""
    assert "Write m or mm, if that is meant." in str(unknown_unit("M", ["m", "mm"]))
    assert "configlint/spellings.yaml" in str(unknown_unit("?", []))
    assert unknown_unit("M", []).kind == "unit-known"


@pytest.mark.parametrize(
    ("wrong", "ranked"),
    [
        ("m3/hr", ("m3/h",)),
        ("M3/HR", ("m3/h",)),
        ("M³/H", ("m3/h",)),
        ("Us-Gal", ("US gal",)),
        ("\u2126", ("\u03a9",)),
        ("m3/hh", ("m3/h",)),
        ("", ()),
        ("€", ()),
    ],
)
def test_spellings_are_ranked_by_likeness(wrong: str, ranked: tuple[str, ...]) -> None:
    """Known mistakes come first, then other capitals and signs, then likeness."""
    known = ["m3/h", "US gal", "\u03a9", "kg"]
    assert rank_spellings(wrong, known, {"m3/hr": ("m3/h",)}) == ranked
