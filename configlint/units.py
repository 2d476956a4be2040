"""Written amounts such as "250 m3/h": spelling, dimension, exact value, comparison.

The spellings are an allow-list, kept with their definitions in spellings.yaml;
no unit is ever composed from text. pint turns each definition into an exact
fraction once, and the resulting table stays in the user's cache folder.

>>> parse_quantity("250 m3/h").si
0.06944444444444445
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from types import MappingProxyType
from typing import Any

from configlint import slips
from configlint.dimensions import NONE, Dimension, write_dimension
from configlint.slips import QuantityError
from configlint.table_cache import keep_table, kept_table
from configlint.unit_values import DIMENSIONLESS, Quantity, Unit, decades_apart

__all__ = [
    "DIMENSIONLESS",
    "NONE",
    "TOLERANCE",
    "Dimension",
    "Quantity",
    "QuantityError",
    "Unit",
    "agrees",
    "at_most",
    "below",
    "decades_apart",
    "dimension_name",
    "dimension_named",
    "equal",
    "from_si",
    "nearest_spellings",
    "parse_quantity",
    "spellings",
    "unambiguous",
    "unit_named",
]

TOLERANCE = 1e-9
"""The relative tolerance of every comparison of amounts in this program."""

_PINT_UNITS = ("meter", "kilogram", "second", "ampere", "kelvin")
_Ratio = tuple[int, int]
_ZERO = Fraction(0)
_SPELLINGS_FILE = Path(__file__).with_name("spellings.yaml")
# Raise this when the shape of the cached table changes.
_TABLE_FORMAT = 1
_WORST_ROUNDING = Fraction(5, 10_000)
_LARGEST_NUMBER = 1e15
_LARGEST_EXPONENT = 30


@dataclass(frozen=True, slots=True)
class _Table:
    """All that spellings.yaml says, ready for use.

    `scales` serves the quick path: unit, factor, and whether it has an offset, by
    the spelling, which is None behind a bare number.
    """

    units: Mapping[str, Unit]
    kinds: Mapping[str, Dimension]
    mistakes: Mapping[str, tuple[str, ...]]
    scales: Mapping[str | None, tuple[Unit, float, bool]]
    names: Mapping[Dimension, str]


def spellings() -> Mapping[str, Unit]:
    """All spellings understood, in the order of spellings.yaml."""
    return _table().units


def unit_named(spelling: str) -> Unit:
    """Find a unit by its exact spelling, or raise QuantityError with the nearest.

    >>> unit_named("US_gal").factor
    Fraction(473176473, 125000000000)
    """
    try:
        return _table().units[spelling]
    except KeyError:
        raise slips.unknown_unit(spelling, nearest_spellings(spelling)) from None


def dimension_named(name: str) -> Dimension:
    """Find a dimension by its name, such as "volume flow", or raise ValueError."""
    kinds = _table().kinds
    if name in kinds:
        return kinds[name]
    near = difflib.get_close_matches(name, kinds, 3, 0.4) or sorted(kinds)
    message = f"{name!r} is no kind of quantity. Write one of: {', '.join(near)}."
    raise ValueError(message)


def dimension_name(dimension: Dimension) -> str:
    """Name a dimension, from base units where it has no name of its own.

    >>> dimension_name(dimension_named("kinematic viscosity") ** 2)
    'quantity in m4/s2'
    """
    name = _table().names.get(dimension)
    return name or f"quantity in {write_dimension(dimension)}"


def from_si(value: float, unit: Unit) -> float:
    """Turn an amount in SI base units into a number of the unit.

    >>> from_si(373.15, unit_named("degC"))
    100.0
    """
    return (value - float(unit.offset)) / float(unit.factor)


def equal(a: float, b: float) -> bool:
    """Whether two amounts in the same SI unit are equal within TOLERANCE.

    The tolerance is relative to the larger magnitude, so that nothing but zero
    equals zero. An infinity equals itself alone, and NaN nothing.

    >>> equal(0.1 + 0.2, 0.3), equal(0.0, 1e-12)
    (True, False)
    """
    return math.isclose(a, b, rel_tol=TOLERANCE, abs_tol=0.0)


def at_most(a: float, b: float) -> bool:
    """Whether `a` is less than `b`, or equal to it within TOLERANCE, in one SI unit.

    >>> at_most(3.6 / 3600, 1 * 0.001)
    True
    """
    return a <= b or equal(a, b)


def below(a: float, b: float) -> bool:
    """Whether `a` is less than `b` by more than TOLERANCE, in one SI unit.

    >>> below(1.0, 1.0 + 1e-12), below(1.0, 1.0 + 1e-6)
    (False, True)
    """
    return a < b and not equal(a, b)


def agrees(a: Quantity, b: Quantity) -> bool:
    """Whether two figures that must be the same are, to the digits written.

    In one unit they must be the same number. In two units one was converted and
    rounded: they may differ by half of the coarser last digit, yet never by more
    than a relative 0.0005, the worst rounding of a figure of four digits. Without
    that bound 1 US_gal would agree with 5 l.

    >>> agrees(parse_quantity("250 m3/h"), parse_quantity("69.44 l/s"))
    True
    >>> agrees(parse_quantity("1 US_gal"), parse_quantity("1 imp_gal"))
    False
    """
    if a.number == b.number and a.unit is b.unit:
        return True
    if a.unit.dimension != b.unit.dimension:
        return False
    if not math.isclose(a.si, b.si, rel_tol=2 * _WORST_ROUNDING):
        return False
    # Only close figures are worth the cost of exact fractions.
    first, second = a.exact, b.exact
    if (a.unit.factor, a.unit.offset) == (b.unit.factor, b.unit.offset):
        return first == second
    bound = _WORST_ROUNDING * max(abs(first), abs(second))
    return abs(first - second) <= min(max(a.step, b.step) / 2, bound)


_AMOUNT = re.compile(rf"({slips.NUMERAL})(?: (.*))?", re.DOTALL)


def parse_quantity(text: str) -> Quantity:
    """Read "number space unit", or a bare number, which is dimensionless.

    The number may have a sign, one decimal point and an exponent; its magnitude
    is at most 1e15, its exponent within ±30. Raises QuantityError with advice.

    >>> parse_quantity("-40 degF").exact == parse_quantity("-40 degC").exact
    True
    """
    amount = _AMOUNT.fullmatch(text)
    if amount is None or len(text) > slips.LONGEST_TEXT:
        raise slips.find_slip(text, spellings()) or slips.not_an_amount(text)
    number, spelling = amount.groups()
    scale = _table().scales.get(spelling)
    if scale is None:
        raise slips.find_slip(text, spellings()) or slips.unknown_unit(
            spelling, nearest_spellings(spelling)
        )
    value = float(number)
    exponent = number.lower().partition("e")[2]
    if abs(value) > _LARGEST_NUMBER or abs(int(exponent or 0)) > _LARGEST_EXPONENT:
        raise slips.out_of_bounds(text)
    unit, factor, is_offset = scale
    if is_offset:
        return _read_temperature(text, number, unit)
    # Three roundings, hence at most two units in the last place off: far inside
    # TOLERANCE, and many times as fast as the exact fraction.
    return Quantity(value * factor, number, unit)


def _read_temperature(text: str, number: str, unit: Unit) -> Quantity:
    """Add the offset exactly, so that absolute zero is zero in every unit."""
    kelvin = Fraction(number) * unit.factor + unit.offset
    if kelvin < 0:
        raise slips.below_absolute_zero(text)
    return Quantity(float(kelvin), number, unit)


def nearest_spellings(text: str, count: int = 3) -> tuple[str, ...]:
    """Offer the spellings most likely meant by a wrong one, best first.

    Of several spellings of the same unit one is offered, and of an ambiguous
    spelling those that say which unit is meant.

    >>> nearest_spellings("m3/hr")
    ('m3/h',)
    >>> nearest_spellings("Gal/min")
    ('US_gal/min', 'imp_gal/min')
    """
    table = _table()
    offers: dict[tuple[str, Fraction], str] = {}
    for likely in slips.rank_spellings(text, table.units, table.mistakes):
        for spelling in _closed(likely, table.units):
            unit = table.units[spelling]
            offers.setdefault((unit.kind, unit.factor), spelling)
    return tuple(offers.values())[:count]


def unambiguous(spelling: str) -> tuple[str, ...]:
    """Give a known spelling itself, or for an ambiguous one those that say which.

    >>> unambiguous("l/s"), unambiguous("gpm")
    (('l/s',), ('US_gpm', 'imp_gpm'))
    """
    return _closed(spelling, _table().units)


def _closed(spelling: str, units: Mapping[str, Unit]) -> tuple[str, ...]:
    """Replace an ambiguous spelling by those that say which unit is meant."""
    if not units[spelling].open:
        return (spelling,)
    before = [f"{which}_{spelling}" for which in ("US", "imp", "oil")]
    within = [spelling.replace("gal", f"{which}_gal") for which in ("US", "imp")]
    said = (*before, *within, spelling.replace("bbl", "oil_bbl"))
    return tuple(each for each in said if each in units and not units[each].open)


@cache
def _table() -> _Table:
    """Take the unit table from the user's cache, or compute and keep it."""
    source = _SPELLINGS_FILE.read_bytes()
    origin = f"format {_TABLE_FORMAT}, pint {version('pint')}\n".encode() + source
    key = sha256(origin).hexdigest()
    with suppress(ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        return _built(kept_table("units", key))
    # No table was kept, or one of another shape.
    raw = _computed(source)
    keep_table("units", key, raw)
    return _built(raw)


def _built(raw: Any) -> _Table:
    kinds = {
        kind: Dimension(tuple(Fraction(each) for each in exponents))
        for kind, exponents in raw["kinds"].items()
    }
    units: dict[str, Unit] = {}
    for spelling, kind, factor, offset, *rest in raw["units"]:
        exact = Fraction(*factor), Fraction(*offset) if offset[0] else _ZERO
        units[spelling] = Unit(spelling, kind, kinds[kind], *exact, *rest)
    return _Table(
        units=MappingProxyType(units),
        kinds=kinds,
        mistakes={wrong: tuple(right) for wrong, right in raw["mistakes"].items()},
        scales={None: _scale(DIMENSIONLESS)}
        | {spelling: _scale(unit) for spelling, unit in units.items()},
        names={dimension: kind for kind, dimension in kinds.items()},
    )


def _scale(unit: Unit) -> tuple[Unit, float, bool]:
    return unit, float(unit.factor), bool(unit.offset)


def _computed(source: bytes) -> dict[str, Any]:
    """Turn spellings.yaml into plain lists and texts with exact factors."""
    # Late imports on purpose: the two libraries take more time than checking a file
    # does, and are of use only when the cache holds no table.
    import pint
    import yaml

    registry: Any = pint.UnitRegistry(non_int_type=Fraction, cache_folder=None)
    content = yaml.safe_load(source)
    kinds: dict[str, list[str]] = {}
    units: list[list[Any]] = []
    for kind, system, keys, definition in _rows(content["units"]):
        entry = definition if isinstance(definition, dict) else {"is": definition}
        exponents, *exact = _measured(registry, entry["is"])
        if kinds.setdefault(kind, exponents) != exponents:
            message = f"In spellings.yaml, {keys} has not the dimension of {kind}."
            raise ValueError(message)
        remark = content["remarks"][entry["open"]] if "open" in entry else ""
        first, *others = system.split(" ")
        meaning = (*exact, first, remark, bool(others))
        units += [[spelling, kind, *meaning] for spelling in keys.split(", ")]
    mistakes = {
        wrong: [right] if isinstance(right, str) else right
        for wrong, right in content["mistakes"].items()
    }
    return {"kinds": kinds, "units": units, "mistakes": mistakes}


def _rows(groups: Any) -> Iterator[tuple[str, str, str, Any]]:
    """Walk over kind of quantity, system, spellings and definition."""
    for kind, systems in groups.items():
        for system, entries in systems.items():
            for keys, definition in entries.items():
                yield kind, system, keys, definition


def _measured(registry: Any, definition: str) -> tuple[list[str], _Ratio, _Ratio]:
    """Find a definition's exponents, factor and offset, all exact."""
    one = registry.Quantity(registry.parse_expression(definition))
    base = registry.Quantity(Fraction(one.magnitude), one.units).to_base_units()
    zero = registry.Quantity(_ZERO, one.units).to_base_units()
    powers = dict(base.unit_items())
    exponents = [str(powers.pop(name, 0)) for name in _PINT_UNITS]
    if powers:
        message = f"In spellings.yaml, {definition} needs other base units."
        raise ValueError(message)
    offset = Fraction(zero.magnitude)
    factor = Fraction(base.magnitude) - offset
    return exponents, factor.as_integer_ratio(), offset.as_integer_ratio()
