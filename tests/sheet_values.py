"""Values of a calculation sheet, made by hand, to see what is told of them."""

from __future__ import annotations

from configlint.sheets.bounds import Bound
from configlint.sheets.identity import Identity
from configlint.sheets.shown import Amount
from configlint.sheets.uses import JUDGES, TELLS, Use
from configlint.sheets.worksheet_values import Entry, Looked
from configlint.units import DIMENSIONLESS

LOW = Bound("1 m ≤ l", "1 m", "≤", "3 m", True, "1 m", 2.0, "3.00 times", True, ())
HIGH = Bound("l ≤ 4 m", "3 m", "≤", "4 m", True, "4 m", 0.25, "25 % below", True, ())
OVER = HIGH._replace(right="2 m", sign=">", is_met=False, distance="50 % above")
USE = Use(
    "r", "B", "?", JUDGES, "conforms", "1 m ≤ l ≤ 4 m", True, 0.25, (LOW, HIGH), ()
)

IDENTITY = Identity("", "", "", "", "", "", "", {}, "", "", "", "", "0" * 64)
LOOKED = Looked("bore of DN", "sizes", "DN 50", "50 mm", "A table (read).")
ENTRY = Entry(
    name="length",
    symbol="l",
    means="Length",
    formula="a − b",
    numbers="3 m − 3 m",
    result="0 %",
    amount=Amount(0.0, DIMENSIONLESS, 3),
    reasons=("a is given",),
    looked=(LOOKED,),
    assumed="",
    basis="A model",
    feeds=("x",),
    uses=(USE, USE._replace(rule="s", role=TELLS)),
)
