"""Laws of plain scalars that YAML 1.1 software reads as something else."""

from __future__ import annotations

import pytest

from configlint.plain_scalars import read_otherwise


@pytest.mark.parametrize(
    ("text", "other"),
    [
        ("yes", "true"),
        ("On", "true"),
        ("y", "true"),
        ("NO", "false"),
        ("off", "false"),
        ("N", "false"),
        ("010", "8"),
        ("0012345", "5349"),
        ("-017", "-15"),
        ("0_", "0"),
        ("12:30", "750"),
        ("-1:30:00", "-5400"),
        ("12:30.5", "750.5"),
        ("1_000", "1000"),
        ("1_000.5", "1000.5"),
        ("-1_0.5", "-10.5"),
        ("0b101", "5"),
        ("-0x1F", "-31"),
        ("0x1_F", "31"),
        ("08", 'the text "08"'),
        ("0o17", 'the text "0o17"'),
        ("1e-6", 'the text "1e-6"'),
        ("1.5e3", 'the text "1.5e3"'),
        ("+.5", 'the text "+.5"'),
    ],
)
def test_what_reads_otherwise_is_told(text: str, other: str) -> None:
    """Where YAML 1.1 and the 1.2 core schema part, the 1.1 reading is given."""
    assert read_otherwise(text) == other


@pytest.mark.parametrize(
    "text",
    [
        *("", "~", "null", "true", "False", "DN 150", "250 m3/h", "FT-2104"),
        *("0", "-0", "00", "07", "7", "0.1550", ".5", "1.", "1.5e+3", "0x1F"),
        *("2026-04-02", "2026-04-02 12:30:00", ".inf", "-.INF", ".nan", "=", "<<"),
        *("yEs", "oN", "12:60", "1:2:3:x", "0b_", "0x_", "_1", "+", "-", ".", "0b2"),
        "0" + "7" * 100,
    ],
)
def test_what_reads_the_same_is_let_through(text: str) -> None:
    """Where both readings agree, or the text is no figure, nothing is told."""
    assert read_otherwise(text) is None
