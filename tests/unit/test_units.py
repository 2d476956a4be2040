"""Laws of spellings, dimensions, amounts as written, and their comparison."""

from __future__ import annotations

import json
import math
import pickle
import subprocess
import sys
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from configlint import table_cache, units
from configlint.units import (
    DIMENSIONLESS,
    NONE,
    TOLERANCE,
    Dimension,
    Quantity,
    QuantityError,
    agrees,
    at_most,
    below,
    dimension_name,
    dimension_named,
    equal,
    from_si,
    parse_quantity,
    unit_named,
)

SOURCE = Path(units.__file__).with_name("spellings.yaml")


@pytest.mark.parametrize(
    ("text", "exact", "step", "kind"),
    [
        ("250 m3/h", Fraction(250, 3600), Fraction(1, 3600), "volume flow"),
        ("0.1550 A", Fraction(155, 1000), Fraction(1, 10000), "current"),
        ("-5 degC", Fraction(26815, 100), Fraction(1), "temperature"),
        ("0.3 %", Fraction(3, 1000), Fraction(1, 1000), "ratio"),
        ("12.50e-3 m", Fraction(125, 10000), Fraction(1, 100000), "length"),
        ("2E+3 mPa s", Fraction(2), Fraction(1), "dynamic viscosity"),
        (".5 l", Fraction(1, 2000), Fraction(1, 10000), "volume"),
        ("5. US gal/min", Fraction(157725491, 5 * 10**11), None, "volume flow"),
        ("+7", Fraction(7), Fraction(1), "ratio"),
        ("0.1234", Fraction(617, 5000), Fraction(1, 10000), "ratio"),
        ("1e15 uS/cm", Fraction(10**11), Fraction(10**11), "conductivity"),
        ("1e-30", Fraction(1, 10**30), Fraction(1, 10**30), "ratio"),
    ],
)
def test_an_amount_keeps_what_was_written(
    text: str, exact: Fraction, step: Fraction | None, kind: str
) -> None:
    """An amount has its exact value, the value of its last digit, and its text."""
    quantity = parse_quantity(text)
    assert quantity.exact == exact
    assert quantity.step == (exact / 5 if step is None else step)
    assert quantity.unit.kind == kind
    assert quantity.text == str(quantity) == text
    assert math.isclose(quantity.si, exact, rel_tol=4.5e-16)


def test_a_bare_number_has_no_dimension() -> None:
    """A number without a unit is read, and left for its field to judge."""
    assert parse_quantity("1.05") == Quantity(1.05, "1.05", DIMENSIONLESS)
    assert DIMENSIONLESS.dimension == NONE == dimension_named("ratio")


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("5 m3/hr", "unit-known", "'m3/hr'"),
        ("5 Degrees", "unit-known", "'Degrees'"),
        ("250m3/h", "value-well-formed", "Write 250 m3/h."),
        ("1 000 m3/h", "value-well-formed", "Write 1000 m3/h"),
        ("abc", "value-well-formed", "'abc' is not an amount."),
        ("5 ", "value-well-formed", "Write 5."),
        ("-273.16 degC", "value-well-formed", "below absolute zero"),
        ("1.1e15 m", "value-well-formed", "at most 1e15"),
        ("-2e15", "value-well-formed", "at most 1e15"),
        ("0e31", "value-well-formed", "within -30 to 30"),
        ("1e-31 m", "value-well-formed", "within -30 to 30"),
        ("1e-" + "9" * 70, "value-well-formed", "within -30 to 30"),
        ("1" * 81, "value-well-formed", "longer than 80 characters"),
        ("5 " + "m" * 10_000, "value-well-formed", "longer than 80 characters"),
        ("٣ m", "value-well-formed", "is not an amount"),
        ("5 __import__('os')", "unit-known", "is no known spelling"),
    ],
)
def test_a_wrong_text_is_refused_with_advice(text: str, kind: str, said: str) -> None:
    """A text that is no amount is refused by the rule it breaks, in full sentences."""
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text)
    error = caught.value
    assert error.kind == kind
    assert said in str(error)
    assert error.problem.endswith(".")
    assert error.advice.endswith(".")
    assert len(str(error)) < 250


def test_an_error_travels_between_processes() -> None:
    """An error survives pickling with all its fields, as a pool of workers needs."""
    error = QuantityError("It is wrong.", "Write it right.", "unit-known")
    copy = pickle.loads(pickle.dumps(error))
    assert (copy.problem, copy.advice, copy.kind) == error.args


def test_absolute_zero_is_zero_in_every_unit() -> None:
    """The lowest temperature is read, and is 0 K exactly, in every unit."""
    for text in ("0 K", "-273.15 degC", "-459.67 degF"):
        assert parse_quantity(text).si == 0.0


def test_dimensions_multiply_like_amounts() -> None:
    """Products, quotients and powers of dimensions are those of the amounts."""
    length, time = dimension_named("length"), dimension_named("time")
    flow = dimension_named("volume flow")
    assert length * dimension_named("area") / time == flow
    assert flow / flow == NONE
    assert (length**2) ** Fraction(1, 2) == length
    volt = dimension_named("voltage")
    assert volt / dimension_named("current") == dimension_named("resistance")
    ampere = Dimension(tuple(Fraction(each) for each in (0, 0, 0, 1, 0)))
    assert dimension_named("current") == ampere


def test_a_dimension_without_a_name_is_written_in_base_units() -> None:
    """A dimension that no kind has is written from the SI base units."""
    acceleration = dimension_named("acceleration")
    assert dimension_name(dimension_named("velocity")) == "velocity"
    assert dimension_name(NONE) == "ratio"
    assert dimension_name(acceleration**2) == "quantity in m2/s4"
    assert dimension_name(NONE / dimension_named("time") ** 2) == "quantity in 1/s2"
    root = dimension_named("pressure") ** Fraction(1, 2)
    assert dimension_name(root) == "quantity in kg^(1/2)/(m^(1/2).s)"
    assert dimension_name(acceleration * dimension_named("mass")) == (
        "quantity in m.kg/s2"
    )


def test_an_unknown_kind_is_refused_with_the_nearest() -> None:
    """An unknown name of a kind is refused, and known ones are offered."""
    with pytest.raises(ValueError, match="Write one of: velocity"):
        dimension_named("velocitty")
    with pytest.raises(ValueError, match="Write one of: acceleration, area, "):
        dimension_named("")


def test_a_unit_turns_amounts_back() -> None:
    """An amount in SI units is turned into the number of a unit, offset included."""
    assert from_si(250 / 3600, unit_named("m3/h")) == pytest.approx(250, rel=1e-15)
    assert from_si(273.15, unit_named("degF")) == pytest.approx(32, rel=1e-12)


def test_comparison_has_one_tolerance() -> None:
    """Amounts within a relative 1e-9 are equal, and amounts beyond it are in order."""
    near, far = 1 + TOLERANCE / 2, 1 + TOLERANCE * 2
    assert TOLERANCE == 1e-9
    assert equal(1.0, near)
    assert equal(-near, -1.0)
    assert not equal(1.0, far)
    assert at_most(near, 1.0)
    assert not at_most(far, 1.0)
    assert at_most(1.0, far)
    assert below(1.0, far)
    assert not below(1.0, near)
    assert not below(far, 1.0)


def test_comparison_is_exact_at_zero_and_infinity() -> None:
    """Nothing but zero equals zero, nothing but infinity infinity, and NaN nothing."""
    assert equal(0.0, -0.0)
    assert not equal(0.0, 5e-324)
    assert below(0.0, 5e-324)
    assert equal(math.inf, math.inf)
    assert not equal(math.inf, 1e308)
    assert not at_most(math.inf, 1e308)
    assert not at_most(math.nan, math.nan)
    assert not below(math.nan, 1.0)


@pytest.mark.parametrize(
    ("left", "right", "same"),
    [
        ("1.0230", "1.023", True),
        ("1.0230", "1.0231", False),
        ("100 m3/h", "1e2 m³/h", True),
        ("250 m3/h", "250.0000001 m3/h", False),
        ("250.00 m3/h", "69.44 l/s", True),
        ("250.00 m3/h", "69.45 l/s", False),
        ("10 US_gal", "37.85 l", True),
        ("10 US_gal", "38 l", False),
        ("1 US_gal", "1 imp_gal", False),
        ("1 US_gal", "5 l", False),
        ("1000 m3/h", "1.0005e6 l/h", True),
        ("1000 m3/h", "1.001e6 l/h", False),
        ("0 m3/h", "0.00 l/s", True),
        ("0 m3/h", "0.1 l/s", False),
        ("20 degC", "68 degF", True),
        ("20.0 degC", "69.0 degF", False),
        ("1 m", "1 s", False),
        ("0.3 %", "3 ‰", True),
    ],
)
def test_two_figures_agree_to_the_digits_written(
    left: str, right: str, same: bool
) -> None:
    """Figures agree when equal in one unit, or rounded from one another in two."""
    a, b = parse_quantity(left), parse_quantity(right)
    assert agrees(a, b) is agrees(b, a) is same


@pytest.fixture
def own_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[Path, Any]]:
    """Give an empty cache folder, and the unit table's loader without its memory."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    units._table.cache_clear()
    yield tmp_path / "configlint", units._table
    units._table.cache_clear()


def test_a_table_is_kept_and_found_again(own_cache: tuple[Path, Any]) -> None:
    """The first run keeps the table, and the next one takes the very same from it."""
    folder, load = own_cache
    computed = load()
    (file,) = folder.iterdir()
    kept = file.read_bytes()
    load.cache_clear()
    assert load() == computed
    assert file.read_bytes() == kept


@pytest.mark.parametrize("table", [[], {"kinds": {}}, {"units": 5}, None, "text"])
def test_a_table_of_another_shape_is_computed_again(
    own_cache: tuple[Path, Any], table: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sound cache file whose table is of no use is not used, and is replaced."""
    folder, load = own_cache
    raw: dict[str, Any] = {"kinds": {}, "units": [], "mistakes": {}}
    monkeypatch.setattr(units, "_computed", lambda source: raw)
    load()
    (file,) = folder.iterdir()
    key = json.loads(file.read_bytes())["key"]
    table_cache.keep_table("units", key, table)
    load.cache_clear()
    assert load().units == {}
    assert table_cache.kept_table("units", key) == raw


def test_other_sources_have_another_table(
    own_cache: tuple[Path, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A changed spellings.yaml makes a new table; the kept one is not used for it."""
    folder, load = own_cache
    load()
    changed = tmp_path / "spellings.yaml"
    text = SOURCE.read_text("utf-8").replace("m/min: meter/minute", "m/mn: meter/day")
    changed.write_text(text, encoding="utf-8")
    monkeypatch.setattr(units, "_SPELLINGS_FILE", changed)
    load.cache_clear()
    assert load().units["m/mn"].factor == Fraction(1, 86400)
    assert "m/min" not in load().units
    assert len(list(folder.iterdir())) == 2


def test_a_good_cache_needs_neither_pint_nor_yaml(environment: dict[str, str]) -> None:
    """With a kept table, reading amounts imports no unit library and no YAML reader."""
    program = (
        "import sys; from configlint.units import parse_quantity; "
        "print(parse_quantity('1 l/s').si, 'pint' in sys.modules, 'yaml' in "
        "sys.modules)"
    )
    command = [sys.executable, "-c", program]
    runs = [
        subprocess.run(
            command, env=environment, capture_output=True, text=True, check=True
        )
        for _ in range(2)
    ]
    assert runs[1].stdout == "0.001 False False\n"
    assert runs[0].stderr == runs[1].stderr == ""


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ("{length: {SI: {m: meter, s: second}}}", "s has not the dimension of length"),
        ("{amount: {SI: {mol: mole}}}", "mole needs other base units"),
        ("{angle: {any: {rev: turn}}}", "turn needs other base units"),
    ],
)
def test_a_wrong_definition_is_refused(entries: str, said: str) -> None:
    """A definition of the wrong dimension, or of none known here, is refused."""
    source = f"{{units: {entries}, remarks: {{}}, mistakes: {{}}}}"
    with pytest.raises(ValueError, match=said):
        units._computed(source.encode())
