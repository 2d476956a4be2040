"""Laws of the rule language's operators: totality, three-valued truth, kinds."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import yaml

from configlint import units
from configlint.kinds import Kind, Sort
from configlint.operator_kinds import KindError, power_kind
from configlint.operators import OPERATORS, is_missing
from configlint.units import NONE, dimension_named, parse_quantity

SPELLINGS = Path(units.__file__).with_name("spellings.yaml")
NAN, INF = math.nan, math.inf
LENGTH = dimension_named("length")
AREA = LENGTH**2
TIME = dimension_named("time")
VELOCITY = dimension_named("velocity")

TRUTHS = (True, False, None)


def computed(symbol: str, *operands: Any) -> Any:
    """Compute with an operator of the table."""
    return OPERATORS[symbol].evaluate(*operands)


def test_missing_is_none_or_nan_alone() -> None:
    """None and NaN are missing, and no value that a meter can have is."""
    assert is_missing(None)
    assert is_missing(NAN)
    there = (0.0, INF, False, "", ("a",), parse_quantity("1 m"))
    assert not any(map(is_missing, there))


@pytest.mark.parametrize(
    ("symbol", "operands", "result"),
    [
        ("+", (1.5, 2.0), 3.5),
        ("-", (1.5, 2.0), -0.5),
        ("*", (1.5, 2.0), 3.0),
        ("/", (3.0, 2.0), 1.5),
        ("**", (3.0, 2.0), 9.0),
        ("**", (9.0, 0.5), 3.0),
        ("**", (4.0, -1.0), 0.25),
        ("negative", (2.0,), -2.0),
        ("abs", (-2.0,), 2.0),
        ("min", (3.0, 1.0, 2.0), 1.0),
        ("max", (3.0, 1.0, 2.0), 3.0),
        ("sqrt", (9.0,), 3.0),
        ("sqrt", (0.0,), 0.0),
        ("log10", (1000.0,), 3.0),
        ("ten_to", (8.0,), 1e8),
        ("significand", (250.0,), 2.5),
        ("significand", (1000.0,), 1.0),
        ("significand", (0.001,), 1.0),
        ("significand", (0.3,), 3.0),
        ("significand", (-0.25,), -2.5),
        ("floor", (2.9,), 2.0),
        ("floor", (-2.1,), -3.0),
        ("round", (2.5,), 2.0),
        ("round", (2.6,), 3.0),
        ("count", (("a", "b"),), 2.0),
        ("count", ((),), 0.0),
        ("if", (True, 1.0, 2.0), 1.0),
        ("if", (False, "a", "b"), "b"),
        ("if", (None, "a", "b"), None),
        ("used", (True,), True),
        ("used", (None,), None),
        ("given", (0.0,), True),
        ("given", (NAN,), False),
        ("given", (None,), False),
        ("matches", ("FT-12", "FT-[0-9]+"), True),
        ("matches", ("FT-12 ", "FT-[0-9]+"), False),
        ("matches", (None, "x"), None),
        ("in", ("a", ("a", "b")), True),
        ("not in", ("a", ("a", "b")), False),
        ("in", (None, ("a",)), None),
        ("not in", ("a", None), None),
        ("in", (NAN, ("a",)), None),
        ("not in", (NAN, ("a",)), None),
        ("matches", (NAN, "x"), None),
        ("same_unit", (NAN, "m3"), None),
        ("decimal_units", ("m3", NAN), None),
        ("time_base", (NAN,), None),
    ],
)
def test_an_operator_gives_its_result(
    symbol: str, operands: tuple[Any, ...], result: Any
) -> None:
    """Each operator gives what its name says."""
    assert computed(symbol, *operands) == result


@pytest.mark.parametrize(
    ("symbol", "operands"),
    [
        ("/", (1.0, 0.0)),
        ("/", (1.0, NAN)),
        ("**", (-8.0, 0.5)),
        ("**", (0.0, -1.0)),
        ("**", (1e200, 6.0)),
        ("**", (NAN, 2.0)),
        ("sqrt", (-1.0,)),
        ("sqrt", (NAN,)),
        ("log10", (0.0,)),
        ("log10", (-1.0,)),
        ("log10", (NAN,)),
        ("ten_to", (400.0,)),
        ("significand", (0.0,)),
        ("significand", (NAN,)),
        ("significand", (INF,)),
        ("floor", (NAN,)),
        ("floor", (INF,)),
        ("round", (NAN,)),
        ("round", (-INF,)),
        ("min", (1.0, NAN)),
        ("max", (NAN, 1.0)),
        ("if", (None, 1.0, 2.0)),
        ("abs", (NAN,)),
        ("negative", (NAN,)),
        ("+", (NAN, 1.0)),
    ],
)
def test_what_can_not_be_computed_is_no_amount(
    symbol: str, operands: tuple[Any, ...]
) -> None:
    """An amount that is missing or can't be computed is NaN, and nothing is raised."""
    assert math.isnan(computed(symbol, *operands))


@pytest.mark.parametrize("left", [1.0, 1.0 + 1e-12, 2.0, 0.0, -1.0, INF])
@pytest.mark.parametrize("right", [1.0, 1.0 + 1e-12, 2.0, 0.0, -1.0, INF])
def test_comparisons_agree_with_one_another(left: float, right: float) -> None:
    """Of less, equal and more exactly one holds, and the others follow from it."""
    less, equal, more = (computed(s, left, right) for s in ("<", "==", ">"))
    assert [less, equal, more].count(True) == 1
    assert computed("<=", left, right) is (less or equal)
    assert computed(">=", left, right) is (more or equal)
    assert computed("!=", left, right) is (not equal)


def test_amounts_within_the_tolerance_are_equal() -> None:
    """A difference far below what can be written changes no comparison."""
    assert computed("==", 1.0, 1.0 + 1e-12)
    assert computed("<=", 1.0 + 1e-12, 1.0)
    assert computed("<", 1.0, 1.0 + 1e-12) is False
    assert computed("<", 1.0, 1.0 + 1e-6) is True


@pytest.mark.parametrize("symbol", ["<", "<=", ">", ">=", "==", "!="])
@pytest.mark.parametrize("operands", [(NAN, 1.0), (1.0, NAN), (NAN, NAN)])
def test_a_comparison_with_a_missing_amount_is_undecided(
    symbol: str, operands: tuple[float, float]
) -> None:
    """No comparison with a missing amount is true or false."""
    assert computed(symbol, *operands) is None


def test_other_values_are_equal_exactly() -> None:
    """Texts and truths are compared as they are, and missing ones are undecided."""
    assert computed("==", "a", "a") is True
    assert computed("==", "a", "A") is False
    assert computed("!=", True, False) is True
    assert computed("==", None, "a") is None
    assert computed("!=", "a", None) is None


@pytest.mark.parametrize("parts", list(itertools.product(TRUTHS, repeat=2)))
def test_truth_is_that_of_kleene(parts: tuple[bool | None, bool | None]) -> None:
    """`and` is the least and `or` the greatest of false < undecided < true."""
    rank = {False: 0, None: 1, True: 2}
    assert computed("and", *parts) is min(parts, key=rank.__getitem__)
    assert computed("or", *parts) is max(parts, key=rank.__getitem__)


def test_not_turns_what_is_decided() -> None:
    """Not true is false, not false is true, not undecided is undecided."""
    assert [computed("not", truth) for truth in TRUTHS] == [False, True, None]


@pytest.mark.parametrize(
    ("left", "right", "result"),
    [
        ("1.0230", "1.023", True),
        ("1.0230", "1.0231", False),
        ("250 m3/h", "69.44 l/s", True),
    ],
)
def test_figures_agree_to_the_digits_written(
    left: str, right: str, result: bool
) -> None:
    """Two amounts agree as written, to the digits of the coarser one."""
    figures = parse_quantity(left), parse_quantity(right)
    assert computed("agrees", *figures) is result


def test_texts_agree_when_they_are_the_same() -> None:
    """Texts agree when equal; with a missing one that is undecided."""
    assert computed("agrees", "DN 150", "DN 150") is True
    assert computed("agrees", "DN 150", "NPS 6") is False
    assert computed("agrees", "DN 150", parse_quantity("150 mm")) is False
    assert computed("agrees", None, "DN 150") is None
    assert computed("agrees", "DN 150", None) is None


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("440.29 US_gal/min", 440.29, "US_gal/min"),
        ("0.1550 A", 0.155, "A"),
        ("-2", -2.0, ""),
        ("1e3 m3/h", 1000.0, "m3/h"),
    ],
)
def test_a_figure_and_its_unit_are_those_written(
    text: str, number: float, unit: str
) -> None:
    """The figure of an amount is its number without its unit, as the file has it."""
    assert computed("figure", parse_quantity(text)) == number
    assert computed("unit_of", parse_quantity(text)) == unit


def test_what_is_not_written_has_no_figure_and_no_unit() -> None:
    """Of a missing amount both are missing."""
    assert math.isnan(computed("figure", None))
    assert computed("unit_of", None) is None


@pytest.mark.parametrize(
    ("left", "right", "same", "decimal"),
    [
        ("m3", "m3", True, True),
        ("m3", "m³", True, True),
        ("m3", "kl", True, True),
        ("m3", "l", False, True),
        ("l", "m3", False, True),
        ("US_gal", "gal", True, True),
        ("US_Mgal", "US_gal", False, True),
        ("US_gal", "imp_gal", False, False),
        ("m3", "ft3", False, False),
        ("kg", "t", False, True),
        ("m3", "t", False, False),
        ("h", "min", False, False),
        ("hl", "dl", False, True),
        ("m3", "m4", False, False),
        ("m4", "m3", False, False),
        ("m4", "m4", False, False),
        (None, "m3", None, None),
        ("m3", None, None, None),
    ],
)
def test_units_are_compared_by_what_they_mean(
    left: str | None, right: str | None, same: bool | None, decimal: bool | None
) -> None:
    """One unit under two spellings is the same; l and m3 differ by their point alone.

    An unknown spelling is no unit; a missing one leaves the question undecided.
    """
    assert computed("same_unit", left, right) is same
    assert computed("decimal_units", left, right) is decimal


TIMES = {
    "second": "s",
    "minute": "min",
    "hour": "h",
    "day": "d",
    "(365*day)": "year",
}


def test_a_time_base_is_that_of_the_definition() -> None:
    """Every flow and velocity is per the time that its definition divides by."""
    content = yaml.safe_load(SPELLINGS.read_text("utf-8"))["units"]
    tried = 0
    for kind in ("volume flow", "mass flow", "velocity"):
        for entries in content[kind].values():
            for keys, definition in entries.items():
                text = definition["is"] if isinstance(definition, dict) else definition
                for spelling in keys.split(", "):
                    base = TIMES[text.rpartition("/")[2]]
                    assert computed("time_base", spelling) == base
                    tried += 1
    assert tried > 100


@pytest.mark.parametrize("spelling", [None, "", "m3", "min", "kg/m3", "1/s", "m3/w"])
def test_what_is_no_flow_has_no_time_base(spelling: str | None) -> None:
    """Missing and unknown spellings, and units of other kinds, have no time base."""
    assert computed("time_base", spelling) is None


@pytest.mark.parametrize(
    ("stamped", "entered", "slip"),
    [
        ("1.0234", "1.0243", "Possible cause: two digits exchanged."),
        ("0.1850 A", "0.180 A", "Possible cause: a digit dropped."),
        ("0.1850 A", "0.1851 A", ""),
    ],
)
def test_a_slip_is_told_between_two_figures(
    stamped: str, entered: str, slip: str
) -> None:
    """The slip between two amounts is that between their numbers, units aside."""
    amounts = parse_quantity(stamped), parse_quantity(entered)
    assert computed("slip_between", *amounts) == slip


def test_a_slip_is_told_between_two_texts() -> None:
    """Texts are compared as they are, and with a missing one there is no answer."""
    found = computed("slip_between", "S-20417", "S-20471")
    assert found == "Possible cause: two digits exchanged."
    assert computed("slip_between", None, "S-20471") is None
    assert computed("slip_between", parse_quantity("1.0234"), None) is None


@pytest.mark.parametrize(
    ("symbol", "kinds", "result"),
    [
        ("+", (LENGTH, LENGTH), LENGTH),
        ("-", (LENGTH, LENGTH), LENGTH),
        ("-", (Sort.DAY, Sort.DAY), TIME),
        ("*", (LENGTH, LENGTH), AREA),
        ("/", (LENGTH, TIME), VELOCITY),
        ("negative", (LENGTH,), LENGTH),
        ("abs", (LENGTH,), LENGTH),
        ("min", (LENGTH, LENGTH, LENGTH), LENGTH),
        ("sqrt", (AREA,), LENGTH),
        ("log10", (NONE,), NONE),
        ("==", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("==", (Sort.TRUTH, Sort.TRUTH), Sort.TRUTH),
        ("<", (Sort.DAY, Sort.DAY), Sort.TRUTH),
        ("<=", (LENGTH, LENGTH), Sort.TRUTH),
        ("in", (Sort.TEXT, Sort.TEXTS), Sort.TRUTH),
        ("and", (Sort.TRUTH, Sort.TRUTH, Sort.TRUTH), Sort.TRUTH),
        ("if", (Sort.TRUTH, Sort.TEXT, Sort.TEXT), Sort.TEXT),
        ("given", (Sort.PATHS,), Sort.TRUTH),
        ("used", (Sort.SECTION,), Sort.TRUTH),
        ("count", (Sort.PATHS,), NONE),
        ("agrees", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("agrees", (LENGTH, LENGTH), Sort.TRUTH),
        ("matches", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("figure", (LENGTH,), NONE),
        ("unit_of", (LENGTH,), Sort.TEXT),
        ("same_unit", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("decimal_units", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("time_base", (Sort.TEXT,), Sort.TEXT),
        ("slip_between", (LENGTH, LENGTH), Sort.TEXT),
        ("slip_between", (Sort.TEXT, Sort.TEXT), Sort.TEXT),
    ],
)
def test_kinds_that_go_together_give_a_kind(
    symbol: str, kinds: tuple[Kind, ...], result: Kind
) -> None:
    """Every operator says of what kind its result is."""
    assert OPERATORS[symbol].kind(kinds) == result


@pytest.mark.parametrize(
    ("symbol", "kinds", "problem"),
    [
        ("+", (LENGTH, TIME), "a length and a time do not go together"),
        ("+", (Sort.DAY, Sort.DAY), "this takes amounts, not a date"),
        ("-", (Sort.DAY, TIME), "this takes amounts, not a date"),
        ("*", (LENGTH, Sort.TEXT), "this takes amounts, not a text"),
        ("/", (Sort.TRUTH, LENGTH), "this takes amounts, not true or false"),
        ("log10", (LENGTH,), "this takes a plain number, not a length"),
        ("<", (Sort.TEXT, Sort.TEXT), "this takes amounts, not a text"),
        ("<", (VELOCITY, LENGTH), "a velocity and a length do not go together"),
        ("==", (Sort.SECTION, Sort.SECTION), "a section can't be compared"),
        ("==", (Sort.TEXT, LENGTH), "a text and a length do not go together"),
        ("in", (LENGTH, Sort.TEXTS), "this takes a text, not a length"),
        ("and", (Sort.TRUTH, LENGTH), "this takes true or false, not a length"),
        ("not", (Sort.TEXT,), "this takes true or false, not a text"),
        ("if", (LENGTH, LENGTH, LENGTH), "this takes true or false, not a length"),
        ("if", (Sort.TRUTH, LENGTH, TIME), "a length and a time do not go together"),
        ("used", (Sort.TRUTH,), "this takes a section, not true or false"),
        ("agrees", (Sort.DAY, Sort.DAY), "this takes amounts, not a date"),
        ("agrees", (LENGTH, Sort.TEXT), "a length and a text do not go together"),
        ("figure", (Sort.TEXT,), "this takes amounts, not a text"),
        ("unit_of", (Sort.DAY,), "this takes amounts, not a date"),
        ("same_unit", (LENGTH, Sort.TEXT), "this takes a text, not a length"),
        ("decimal_units", (Sort.TEXT, LENGTH), "this takes a text, not a length"),
        ("time_base", (LENGTH,), "this takes a text, not a length"),
        ("slip_between", (Sort.DAY, Sort.DAY), "this takes amounts, not a date"),
        ("slip_between", (LENGTH, TIME), "a length and a time do not go together"),
    ],
)
def test_kinds_that_do_not_go_together_are_refused(
    symbol: str, kinds: tuple[Kind, ...], problem: str
) -> None:
    """Operands of wrong kinds are refused with what was given, and with advice."""
    with pytest.raises(KindError) as caught:
        OPERATORS[symbol].kind(kinds)
    assert caught.value.problem == problem
    assert caught.value.advice.endswith(".")


def test_a_power_has_the_power_of_the_kind() -> None:
    """The exponents of a power are those of its base times the exponent."""
    assert power_kind(AREA, Fraction(1, 2)) == LENGTH
    assert power_kind(LENGTH, Fraction(-1)) == NONE / LENGTH
    with pytest.raises(KindError, match="this takes amounts"):
        power_kind(Sort.TEXT, Fraction(2))
