"""Laws of formulas in print: computed by hand from the text, they give the result."""

from __future__ import annotations

import math
from functools import cache

from hypothesis import assume, given
from hypothesis import strategies as st

from configlint.compiler import Values, evaluate, make_formula
from configlint.laying import lay_out
from configlint.printed import print_number, print_unit
from configlint.settling import settle
from configlint.sheets.shown import Amount
from configlint.sheets.worksheet import make_sheet
from configlint.sheets.worksheet_values import Entry
from configlint.units import DIMENSIONLESS, Unit, from_si, unit_named
from configlint.worked import Figure, in_numbers, in_symbols
from tests.builders import joined, make_scope
from tests.conftest import ROOT
from tests.reading_back import read_amount, read_back

SCOPE = make_scope()
UNIT_OF = {
    "v": unit_named("m/s"),
    "w": unit_named("ft/s"),
    "d": unit_named("mm"),
    "pipe.bore": unit_named("in"),
    "n": DIMENSIONLESS,
    "m": DIMENSIONLESS,
}
SIGNIFICANT = st.decimals("0.001", "5000", places=3).map(float)
VALUES = st.fixed_dictionaries(dict.fromkeys(UNIT_OF, SIGNIFICANT))


@cache
def numbers(depth: int) -> st.SearchStrategy[str]:
    """Draw a formula that gives a plain number, of every form that there is."""
    leaf = st.sampled_from(
        ["n", "m", "2", "0.05", "30[%]", "pi", "v/w", "d/pipe.bore", "3e-7", "2e9"]
    )
    if not depth:
        return leaf
    inner = numbers(depth - 1)
    return st.one_of(
        leaf,
        joined(inner, inner, form="{} + {}"),
        joined(inner, inner, form="{} - {}"),
        joined(inner, inner, form="({}) - ({})"),
        joined(inner, inner, form="{} * {}"),
        joined(inner, inner, form="({}) * ({})"),
        joined(inner, inner, form="({}) / ({})"),
        joined(inner, form="-{}"),
        joined(inner, form="({})**2"),
        joined(inner, form="(-({}))**3"),
        joined(inner, form="({})**-1"),
        joined(inner, form="abs({})**0.5"),
        joined(inner, form="abs({})**1.5"),
        joined(inner, form="abs({})**-0.5"),
        joined(inner, form="abs({})"),
        joined(inner, form="sqrt(abs({}))"),
        joined(inner, form="log10(abs({}) + 1)"),
        joined(inner, form="ten_to(-abs({}) / 1000)"),
        joined(inner, form="floor({})"),
        joined(inner, inner, form="min({}, {})"),
        joined(inner, inner, form="max({}, 2 * {})"),
        joined(inner, inner, inner, form="({} if {} > 1 else {})"),
        joined(inner, inner, form="(sizes[tag].bore / d + ({})) * ({})"),
    )


def figure_of(values: dict[str, float], path: str, figures: int) -> Figure:
    """Print a value in its unit, rounded to so many figures."""
    unit = UNIT_OF.get(path, unit_named("mm"))
    number = float(f"{from_si(values[path], unit):.{figures - 1}e}")
    text = f"{print_number(number, figures)} {print_unit(unit.spelling)}".rstrip()
    return Figure(text, number * float(unit.factor))


def is_rounding(shown: float, computed: float, figures: int) -> bool:
    """Say whether a shown number is a computed one, rounded to so many figures."""
    step = 10.0 ** (math.floor(math.log10(abs(shown))) - figures + 1)
    return abs(shown - computed) <= step / 2 * (1 + 1e-6)


@given(numbers(3), VALUES)
def test_a_formula_with_numbers_gives_the_result(
    text: str, drawn: dict[str, float]
) -> None:
    """What is read back from the print of a formula rounds to the result in print."""
    assume(len(text) <= 800)
    si = {path: number * float(UNIT_OF[path].factor) for path, number in drawn.items()}
    amounts = {**si, "sizes[DN 100].bore": 0.1}
    values = {**si, "tag": "DN 100"}
    formula = make_formula(text, SCOPE)
    result = formula.function(values, {}, {})
    assume(math.isfinite(result) and 1e-9 < abs(result) < 1e12)
    amount = Amount(result, DIMENSIONLESS, 3)
    tree = settle(formula.tree, SCOPE, Values(values, {}), {}).tree
    printed = in_numbers(
        tree,
        lambda path, figures, _: figure_of(amounts, path, figures),
        4,
        amount.shows,
    )
    assert is_rounding(read_amount(amount.said), read_back(printed), 3), printed


@given(numbers(3), VALUES)
def test_a_formula_in_symbols_has_the_order_of_its_tree(
    text: str, drawn: dict[str, float]
) -> None:
    """With values in the place of its symbols, a formula in print gives the same."""
    assume(len(text) <= 800 and " if " not in text and "sizes" not in text)
    formula = make_formula(text, SCOPE)
    named = {path: f"({number})" for path, number in drawn.items()}
    printed = in_symbols(formula.tree, named)
    result = evaluate(formula.tree, SCOPE, Values(drawn, {}))
    assume(math.isfinite(result) and 1e-9 < abs(result) < 1e12)
    assert math.isclose(read_back(printed), result, rel_tol=1e-6), printed


def test_every_sheet_of_the_example_plant_can_be_computed_by_hand() -> None:
    """On each sheet of the plant the printed numbers give the result.

    Every other sheet is in US units, the rest in those of their own site.
    """
    checked = 0
    for number, laid in enumerate(lay_out(str(ROOT / "examples"))):
        for part in make_sheet(laid, ("", "US")[number % 2]).parts:
            for entry in part.entries:
                checked += by_hand(entry)
    assert checked > 2_500


def by_hand(entry: Entry) -> bool:
    """Compute an entry from its print, and say whether there was anything to."""
    if entry.amount is None or not entry.numbers:
        return False
    unit: Unit = entry.amount.unit
    shown = from_si(read_amount(entry.result), unit)
    computed = from_si(read_back(entry.numbers), unit)
    if shown:
        figures = entry.amount.figures or 12
        assert is_rounding(shown, computed, figures), (entry.name, entry.numbers)
    else:
        assert abs(computed) <= 1e-4, (entry.name, entry.numbers)
    return True
