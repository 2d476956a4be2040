"""Laws of formulas in print: signs, brackets, words, and numbers that are enough."""

from __future__ import annotations

import math

import pytest

from configlint.data import data_folder
from configlint.kinds import Sort
from configlint.operators import OPERATORS
from configlint.parser import parse_formula
from configlint.rule_book import load_rule_book
from configlint.worked import FORMS, MOST_FIGURES, Figure, in_numbers, in_symbols

SYMBOLS = {"v": "v", "d": "d_S", "n": "tau_T", "m": "slip of the range", "duty": "duty"}


def test_every_operator_can_be_printed() -> None:
    """The language has no operator without a form in print, and none has two."""
    assert set(FORMS) == set(OPERATORS)


@pytest.mark.parametrize(
    ("formula", "printed"),
    [
        ("v + w - n", "v + w − τ_T"),
        ("v - (w - n)", "v − (w − τ_T)"),
        ("v - (w + n)", "v − (w + τ_T)"),
        ("(v + w) * n", "(v + w) · τ_T"),
        ("v * (w / n)", "v · (w / τ_T)"),
        ("v / (w * n)", "v / (w · τ_T)"),
        ("v / w / n", "v / w / τ_T"),
        ("pi/4 * d**2", "π/4 · d_S²"),
        ("2/3", "2/3"),
        ("2[m]/3[m]", "2 m / 3 m"),
        ("(d**2)**3", "(d_S²)³"),
        ("(2[m])**2", "(2 m)²"),
        ("(-v)**2", "(−v)²"),
        ("-v**2", "−v²"),
        ("-(v + w)", "−(v + w)"),
        ("v * -w", "v · (−w)"),
        ("v - -w", "v − (−w)"),
        ("-v + w", "−v + w"),
        ("d**-1", "d_S⁻¹"),
        ("d**0.5", "√(d_S)"),
        ("d**1.5", "d_S^1.5"),
        ("d**-0.5", "d_S^(−0.5)"),
        ("sqrt(v + w)", "√(v + w)"),
        ("log10(n)", "lg(τ_T)"),
        ("ten_to(n * log10(2))", "2^τ_T"),
        ("ten_to((n + 1) * log10(n + 2))", "(τ_T + 2)^(τ_T + 1)"),
        ("ten_to(n * sqrt(n))", "10^(τ_T · √(τ_T))"),
        ("ten_to(n)", "10^τ_T"),
        ("ten_to(n * 2)", "10^(τ_T · 2)"),
        ("ten_to(n)**2", "(10^τ_T)²"),
        ("abs(v)", "|v|"),
        ("abs(v - abs(w))", "abs(v − |w|)"),
        ("floor(n) + round(n)", "⌊τ_T⌋ + round(τ_T)"),
        ("significand(n)", "significand(τ_T)"),
        ("min(v, w) / max(v, 2[m/s])", "min(v, w) / max(v, 2 m/s)"),
        ("m * 2", "(slip of the range) · 2"),
        ("1e-9 / 2e9", "1·10⁻⁹/(2·10⁹)"),
        ("0.3[m/s] + 20[%]", "0.3 m/s + 20 %"),
        ("-5[degC]", "−5 °C"),
        ("5[degC] - 3[K]", "278.15 K − 3 K"),
    ],
)
def test_arithmetic_is_printed_with_the_brackets_it_needs(
    formula: str, printed: str
) -> None:
    """A formula has the signs of print, and brackets just where its tree needs them."""
    assert in_symbols(parse_formula(formula), SYMBOLS) == printed


@pytest.mark.parametrize(
    ("formula", "printed"),
    [
        ("v == w", "v = w"),
        ("v != w or v < w", "v ≠ w or v < w"),
        ("v > w and v >= n", "v > w and v ≥ τ_T"),
        ("1 <= v <= 2", "1 ≤ v ≤ 2"),
        ("1 <= v <= 2 and given(w)", "1 ≤ v ≤ 2 and w is given"),
        ("given(w) and 1 <= v", "w is given and 1 ≤ v"),
        ("(v < 1 or w < 1) and n < 1", "(v < 1 or w < 1) and τ_T < 1"),
        ("v < 1 and w < 1 or n < 1", "v < 1 and w < 1 or τ_T < 1"),
        ("not given(v)", "v is not given"),
        ("not used(output)", "output is not used"),
        ("not (v < w) or not (v <= w)", "v ≥ w or v > w"),
        ("not (v > w) or not (v >= w)", "v ≤ w or v < w"),
        ("not (v == w) or not (v != w)", "v ≠ w or v = w"),
        ("not (duty in ['a'])", "duty is none of “a”"),
        ("not (duty not in ['a'])", "duty is one of “a”"),
        ("not agrees(v, w)", "v does not agree with w"),
        ("not matches(duty, 'x.*')", "duty does not have the form “x.*”"),
        ("not (v < 1 and w < 1)", "not (v < 1 and w < 1)"),
        ("not (1 < v < 2)", "not (1 < v < 2)"),
        ("used(output)", "output is used"),
        ("duty in ['a', 'b']", "duty is one of (“a”, “b”)"),
        ("duty not in ['a']", "duty is none of “a”"),
        ("agrees(v, w)", "v agrees with w"),
        ("matches(duty, 'x.*')", "duty has the form “x.*”"),
        ("count(places) == 0", "(number of places) = 0"),
        ("figure(v) * 2", "(figure of v) · 2"),
        (
            "same_unit(unit_of(v), unit_of(w))",
            "the unit of v and the unit of w are one unit",
        ),
        ("decimal_units('l', 'm3')", "“l” is “m3” with its point moved"),
        ("time_base(unit_of(v))", "time base of the unit of v"),
        ("slip_between(v, w)", "slip between v and w"),
        ("v if w > 1 else n", "v where w > 1, otherwise τ_T"),
        (
            "v + (w if flag else n)",
            "v + (w where flag, otherwise τ_T)",
        ),
        (
            "(v if flag else w) if given(v) else n",
            "(v where flag, otherwise w) where v is given, otherwise τ_T",
        ),
        ("sizes[tag].other_bore", "other bore of tag"),
        ("2 * sizes[tag].bore", "2 · (bore of tag)"),
        ("sizes[v if flag else w].bore", "bore of (v where flag, otherwise w)"),
    ],
)
def test_questions_and_look_ups_are_told_in_words(formula: str, printed: str) -> None:
    """What is no arithmetic is said in words that keep the order of the tree."""
    assert in_symbols(parse_formula(formula), SYMBOLS) == printed


def test_a_value_without_a_symbol_is_called_by_its_path() -> None:
    """A value that nobody has given a symbol stands with its whole path."""
    assert in_symbols(parse_formula("pipe.bore / d"), SYMBOLS) == "pipe.bore / d_S"


def printed(text: str, values: dict[str, float], result: float, fewest: int) -> str:
    """Print a formula in numbers until it gives a result to a thousandth."""

    def figure(path: str, figures: int, computed: bool) -> Figure:
        assert computed is (path != "alone")
        rounded = f"{values[path]:.{figures}g}"
        return Figure(rounded.replace("-", "−"), float(rounded))

    tree = parse_formula(text)
    return in_numbers(
        tree,
        figure,
        fewest,
        lambda value: math.isclose(value, result, rel_tol=1e-3),
    )


@pytest.mark.parametrize(
    ("formula", "values", "result", "shown"),
    [
        ("a / b", {"a": 1.0, "b": 3.0}, 1 / 3, "1/3"),
        ("2 * pi * a", {"a": 1 / 3}, 2 * math.pi / 3, "2 · π · 0.3333"),
        ("a - b", {"a": 1.00001234, "b": 1.0}, 0.00001234, "1.00001234 − 1"),
        ("a * b", {"a": -0.5, "b": -2.0}, 1.0, "(−0.5) · (−2)"),
        ("max(alone, 1)", {"alone": 2.0}, 2.0, "max(2, 1)"),
    ],
)
def test_numbers_have_the_figures_that_the_result_needs(
    formula: str, values: dict[str, float], result: float, shown: str
) -> None:
    """Where a difference eats figures up, the numbers are given more of them."""
    assert printed(formula, values, result, 4).replace(" / ", "/") == shown


def test_numbers_end_with_what_the_machine_can_tell() -> None:
    """Where no number of figures gives the result, the numbers stand in full."""
    shown = printed("a + 0", {"a": 1 / 3}, 1.0, 4)
    assert shown == f"{1 / 3:.{MOST_FIGURES}g} + 0"


def test_every_symbol_of_the_rules_is_of_one_value() -> None:
    """On a sheet of the standard rules no symbol stands for two values."""
    book = load_rule_book(data_folder("rules"))
    assert len(set(book.symbols.values())) == len(book.symbols)


def test_every_amount_that_a_quantity_names_has_a_symbol() -> None:
    """No formula of the standard rules computes with an amount that has only a path."""
    book = load_rule_book(data_folder("rules"))
    named = {
        path
        for quantity in book.quantities
        for path in book.below([quantity.name])
        if not isinstance(book.scope.names[path], Sort)
    }
    assert len(named) > 100
    assert sorted(named - book.symbols.keys()) == []
