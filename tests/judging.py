"""Books of one rule, with quantities to draw on, and what they say of a bare meter."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from configlint.engine import Judge, Outcome
from configlint.rules import RuleBook
from tests.builders import BOTH_PROVEN, MADE_RULE, make_book, make_derived

__all__ = ["QUANTITIES", "RIGHT", "RULE", "URV", "WIDE", "book_of", "judged"]

QUANTITIES = """\
ruleset: made
edition: "1"
quantities:
  bore:
    means: Inside diameter
    symbol: d
    formula: sensor.bore
    unit: mm
    fallback: {formula: "sizes[sensor.nominal_size].bore", note: By the size.}
    basis: {practice: Geometry}
  speed:
    means: Velocity at the upper range value
    symbol: v
    formula: current_output.upper_range_value / (pi/4 * bore**2)
    unit: m/s
    basis: {practice: Continuity}
  word:
    means: The size in a word
    symbol: w
    formula: sizes[sensor.nominal_size].word
    basis: {practice: Common}
"""
RULE = MADE_RULE + BOTH_PROVEN

URV = "current_output.upper_range_value"
WIDE = {URV: "1000 m3/h", "sensor.bore": "100 mm"}
RIGHT = {URV: "100 m3/h", "sensor.bore": "100 mm"}


def book_of(folder: Path, accept: str, applies: str = "", limits: str = "") -> RuleBook:
    """Make a book of one rule."""
    lines = [f"    accept: {accept}", f"    limits: {{{limits}}}"]
    if applies:
        lines.append(f"    applies: {applies}")
    return make_book(folder, QUANTITIES + RULE + "\n".join(lines) + "\n")


def judged(
    book: RuleBook,
    meter: Mapping[str, str],
    changed: Mapping[str, Mapping[str, float]] | None = None,
) -> Outcome:
    """Judge a meter by a book of one rule."""
    (outcome,) = Judge(book, changed).judge(make_derived(book, meter))
    assert outcome.rule is book.meter_rules[0]
    return outcome
