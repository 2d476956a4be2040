"""Every factor of spellings.yaml against other libraries and published values.

Two libraries that share no code with the one behind the table, scipy.constants and
unyt, each give the value of every part of a spelling; a spelling's factor is put
together from these parts, so that no definition of spellings.yaml takes part. The
published values stand beside the publication they are from.
"""

from __future__ import annotations

import importlib
import re
from fractions import Fraction
from functools import cache
from typing import Any

import pytest

from configlint.units import Unit, parse_quantity, spellings, unit_named

# Loaded by name, since neither library says the types of its values.
SCIPY: Any = importlib.import_module("scipy.constants")
UNYT: Any = importlib.import_module("unyt")

PREFIXES: dict[str, float] = {
    "G": 1e9,
    "M": 1e6,
    "k": 1e3,
    "h": 1e2,
    "d": 1e-1,
    "c": 1e-2,
    "m": 1e-3,
} | {"u": 1e-6, "\u00b5": 1e-6, "\u03bc": 1e-6, "p": 1e-12}
PREFIXED = {
    *("m", "g", "l", "L", "Pa", "bar", "s", "A", "V", "Hz", "S", "T", "F"),
    *("P", "St"),
    *("ohm", "\u03a9", "\u2126"),
}

# Conventional densities behind the liquid columns, in kg/m3: water 1000, mercury
# 13 595.1 (common practice; from memory of NIST SP 811, Appendix B).
WATER, MERCURY = 1000.0, 13595.1

SCIPY_PARTS: dict[str, float] = (
    dict.fromkeys(("1", "pulses", "m", "s", "A", "V", "Hz", "S", "T", "K"), 1.0)
    | dict.fromkeys(("F", "Pa", "ohm", "\u03a9", "\u2126"), 1.0)
    | dict.fromkeys(("degC", "°C", "\u2103"), 1.0)
    | dict.fromkeys(("degF", "°F", "\u2109"), SCIPY.degree_Fahrenheit)
    | {"g": SCIPY.gram, "t": SCIPY.metric_ton, "l": SCIPY.liter, "L": SCIPY.liter}
    | {"min": SCIPY.minute, "h": SCIPY.hour, "d": SCIPY.day, "week": SCIPY.week}
    | {"year": SCIPY.year, "ha": SCIPY.hectare, "acre": SCIPY.acre}
    | {"in": SCIPY.inch, "ft": SCIPY.foot, "yd": SCIPY.yard, "mile": SCIPY.mile}
    | {"mil": SCIPY.mil, "kft": 1000 * SCIPY.foot}
    | {"lb": SCIPY.pound, "oz": SCIPY.oz, "lbf": SCIPY.pound * SCIPY.g}
    | {"US_ton": SCIPY.short_ton, "imp_ton": SCIPY.long_ton, "kgf": SCIPY.kgf}
    | {"US_gal": SCIPY.gallon, "imp_gal": SCIPY.gallon_imp, "oil_bbl": SCIPY.bbl}
    | {"US_fl_oz": SCIPY.fluid_ounce, "imp_fl_oz": SCIPY.fluid_ounce_imp}
    | {"US_qt": SCIPY.gallon / 4, "imp_qt": SCIPY.gallon_imp / 4}
    | {"US_pt": SCIPY.gallon / 8, "imp_pt": SCIPY.gallon_imp / 8}
    | {"acre_ft": SCIPY.acre * SCIPY.foot, "acre_in": SCIPY.acre * SCIPY.inch}
    | {"bar": SCIPY.bar, "psi": SCIPY.psi, "atm": SCIPY.atm, "P": 0.1, "St": 1e-4}
    | {"mH2O": WATER * SCIPY.g, "mmH2O": WATER * SCIPY.g * SCIPY.milli}
    | {"inH2O": WATER * SCIPY.g * SCIPY.inch, "ftH2O": WATER * SCIPY.g * SCIPY.foot}
    | {"mmHg": MERCURY * SCIPY.g * SCIPY.milli}
    | {"inHg": MERCURY * SCIPY.g * SCIPY.inch}
    | {"%": SCIPY.centi, "‰": SCIPY.milli, "ppm": SCIPY.micro, "ppb": SCIPY.nano}
    | {"mho": 1.0}
)

# The same parts in unyt's words; a factor before an asterisk is a plain number.
UNYT_PARTS: dict[str, str] = (
    {"1": "dimensionless", "pulses": "dimensionless", "degC": "K", "degF": "R"}
    | {"°C": "K", "\u2103": "K", "°F": "R", "\u2109": "R", "mho": "A/V"}
    | {"S": "A/V", "\u03a9": "ohm", "\u2126": "ohm", "l": "L", "h": "hr", "d": "day"}
    | {"in": "inch", "year": "365*day", "kft": "1000*ft", "oil_bbl": "42*gal_US"}
    | {"US_gal": "gal_US", "imp_gal": "gal_UK", "US_ton": "2000*lb"}
    | {"US_fl_oz": "fl_oz_US", "imp_fl_oz": "fl_oz_UK", "imp_ton": "2240*lb"}
    | {"US_qt": "qt_US", "imp_qt": "qt_UK", "US_pt": "pt_US", "imp_pt": "pt_UK"}
    | {"acre_ft": "acre*ft", "acre_in": "acre*inch", "P": "0.1*Pa*s"}
    | {"St": "cm**2/s", "kgf": "9.80665*N", "mH2O": "9.80665*kPa"}
    | {"mmH2O": "9.80665*Pa", "inH2O": "9.80665*kPa*inch/m", "oz": "oz"}
    | {"ftH2O": "9.80665*kPa*ft/m", "%": "0.01*dimensionless", "atm": "atm"}
    | {"‰": "0.001*dimensionless", "ppm": "1e-6*dimensionless"}
    | {"ppb": "1e-9*dimensionless", "mmHg": f"{MERCURY}*9.80665e-3*Pa"}
    | {"inHg": f"{MERCURY}*9.80665*Pa*inch/m"}
)

# Spellings that are abbreviations, in the parts they stand for.
ABBREVIATIONS: dict[str, str] = (
    {"cfs": "ft3/s", "cfm": "ft3/min", "cfh": "ft3/h"}
    | {"gpm": "US_gal/min", "gph": "US_gal/h", "gpd": "US_gal/d"}
    | {"US_gpm": "US_gal/min", "US_gph": "US_gal/h", "US_gpd": "US_gal/d"}
    | {"imp_gpm": "imp_gal/min", "imp_gph": "imp_gal/h", "imp_gpd": "imp_gal/d"}
    | {"MGD": "US_Mgal/d", "US_MGD": "US_Mgal/d", "imp_MGD": "imp_Mgal/d"}
    | {"gal": "US_gal", "kgal": "US_kgal", "Mgal": "US_Mgal", "bbl": "oil_bbl"}
)
MULTIPLES: dict[str, tuple[float, str]] = (
    {"US_kgal": (1e3, "US_gal"), "US_Mgal": (1e6, "US_gal")}
    | {"imp_kgal": (1e3, "imp_gal"), "imp_Mgal": (1e6, "imp_gal")}
    | {"ccf": (100.0, "ft3"), "CCF": (100.0, "ft3"), "HCF": (100.0, "ft3")}
    | {"kcf": (1e3, "ft3")}
)
RAISED = re.compile(r"(\D+?)(?:\^?([23])|([²³]))")
POWERS = {"2": 2, "3": 3, "²": 2, "³": 3}

Part = tuple[float, str, int]


def split_spelling(spelling: str) -> list[Part]:
    """Split a spelling into parts: a plain factor, a part's name, and its power."""
    joined = spelling.replace("US ", "US_").replace("imp ", "imp_")
    joined = joined.replace("fl oz", "fl_oz").replace(" ", ".")
    above, _, under = joined.partition("/")
    parts = [(each, 1) for each in re.split("[.·⋅]", above)]
    parts += [(each, -1) for each in re.split("[.·⋅]", under.strip("()")) if each]
    return [part for name, power in parts for part in expand(name, power)]


def expand(name: str, power: int) -> list[Part]:
    """Resolve abbreviations, multiples, powers and prefixes of one part."""
    if name in ABBREVIATIONS:
        return [
            (factor, part, inner * power)
            for factor, part, inner in split_spelling(ABBREVIATIONS[name])
        ]
    if name in MULTIPLES:
        factor, base = MULTIPLES[name]
        ((inner, part, raised),) = expand(base, power)
        return [(factor**power * inner, part, raised)]
    if name in SCIPY_PARTS:
        return [(1.0, name, power)]
    if raised_name := RAISED.fullmatch(name):
        base, figure, sign = raised_name.groups()
        return expand(base, power * POWERS[figure or sign])
    factor, base = PREFIXES[name[0]], name[1:]
    assert base in PREFIXED or base == "mho"
    return [(factor**power, base, power)]


@cache
def unyt_part(name: str) -> Any:
    """Give a part as a quantity of unyt's, in its metre-kilogram-second base."""
    words = re.split("([*/](?!\\*))(?<!\\*\\*)", UNYT_PARTS.get(name, name))
    result = UNYT.unyt_quantity(1.0, "dimensionless")
    for sign, word in zip(["*", *words[1::2]], words[::2], strict=True):
        is_number = re.fullmatch(r"[0-9.e-]+", word)
        part = float(word) if is_number else UNYT.unyt_quantity(1.0, word).in_mks()
        result = result * part if sign == "*" else result / part
    return result


def by_unyt(spelling: str) -> tuple[float, tuple[Fraction, ...]]:
    """Give a spelling's SI factor and its exponents over the base units."""
    result = UNYT.unyt_quantity(1.0, "dimensionless")
    for factor, name, power in split_spelling(spelling):
        result = result * factor * unyt_part(name) ** power
    base = result.in_mks()
    known = base.units.dimensions.as_powers_dict()
    dimensions = UNYT.dimensions
    order = (
        *(dimensions.length, dimensions.mass, dimensions.time),
        *(dimensions.current_mks, dimensions.temperature),
    )
    return float(base.value), tuple(Fraction(str(known[each])) for each in order)


def by_scipy(spelling: str) -> float:
    """Give a spelling's SI factor from the constants of scipy."""
    result = 1.0
    for factor, name, power in split_spelling(spelling):
        result *= factor * SCIPY_PARTS[name] ** power
    return result


@pytest.mark.parametrize("kind", sorted({u.kind for u in spellings().values()}))
def test_every_factor_agrees_with_scipy(kind: str) -> None:
    """Every factor is that of scipy.constants, to the precision of its floats."""
    units = [unit for unit in spellings().values() if unit.kind == kind]
    assert units
    for unit in units:
        assert float(unit.factor) == pytest.approx(by_scipy(unit.spelling), rel=2e-15)


@pytest.mark.parametrize("kind", sorted({u.kind for u in spellings().values()}))
def test_every_factor_agrees_with_unyt(kind: str) -> None:
    """Every factor and every dimension is that of unyt, likewise."""
    units = [unit for unit in spellings().values() if unit.kind == kind]
    assert units
    for unit in units:
        factor, exponents = by_unyt(unit.spelling)
        assert float(unit.factor) == pytest.approx(factor, rel=2e-14), unit.spelling
        assert unit.dimension.exponents == exponents, unit.spelling


def test_the_offsets_are_those_of_scipy() -> None:
    """Degrees Celsius and Fahrenheit begin where scipy.constants says, in kelvin."""
    zeros = {
        **dict.fromkeys(("degC", "°C", "\u2103"), "Celsius"),
        **dict.fromkeys(("degF", "°F", "\u2109"), "Fahrenheit"),
    }
    for spelling, unit in spellings().items():
        scale = zeros.get(spelling, "Kelvin")
        zero = SCIPY.convert_temperature(0.0, scale, "Kelvin")
        assert float(unit.offset) == pytest.approx(zero, rel=1e-15), spelling


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("0 degC", "273.15"),
        ("100 degC", "373.15"),
        ("212 degF", "373.15"),
        ("32 degF", "273.15"),
        ("-40 degF", "233.15"),
        ("-40 °C", "233.15"),
        ("0.01 \u2103", "273.16"),
    ],
)
def test_fixed_points_of_temperature(text: str, kelvin: str) -> None:
    """Water freezes at 0 degC and 32 degF and boils at 100 degC and 212 degF.

    Source: the definitions of the scales (common practice).
    """
    assert parse_quantity(text).exact == Fraction(kelvin)


CUBIC_INCH = Fraction("0.0254") ** 3


@pytest.mark.parametrize(
    ("spelling", "exact", "source"),
    [
        ("in", Fraction("0.0254"), "international yard and pound agreement, 1959"),
        ("ft", Fraction("0.3048"), "international yard and pound agreement, 1959"),
        ("lb", Fraction("0.45359237"), "international yard and pound agreement, 1959"),
        ("US_gal", 231 * CUBIC_INCH, "NIST Handbook 44, Appendix C"),
        ("US_gal", Fraction("3.785411784e-3"), "NIST Handbook 44, Appendix C"),
        ("imp_gal", Fraction("4.54609e-3"), "Weights and Measures Act 1985, sch. 1"),
        ("ft3", Fraction("0.028316846592"), "NIST Handbook 44, Appendix C (unrounded)"),
        ("bbl", Fraction("0.158987294928"), "NIST Handbook 44, Appendix C, footnote"),
        ("bbl", 42 * 231 * CUBIC_INCH, "NIST Handbook 44, Appendix C, footnote"),
        ("imp_gpm", Fraction("0.2727654") / 3600, "derived from the 1985 Act"),
        ("US_gpm", Fraction("0.22712470704") / 3600, "derived from Handbook 44"),
        ("US_gpm", Fraction("6.30901964e-5"), "derived from Handbook 44"),
        ("cfm", Fraction("28.316846592e-3") / 60, "derived from the foot"),
        ("acre_ft", 43560 * Fraction("0.3048") ** 3, "common practice"),
        ("uS/cm", Fraction("1e-4"), "SI prefixes"),
        ("mS/m", 10 * Fraction("1e-4"), "SI prefixes"),
    ],
)
def test_published_definitions_are_met_exactly(
    spelling: str, exact: Fraction, source: str
) -> None:
    """A factor that is exact by definition is that very fraction."""
    assert unit_named(spelling).factor == exact, source


@pytest.mark.parametrize(
    ("text", "spelling", "printed", "within", "source"),
    [
        ("1 psi", "Pa", "6894.757", 1e-7, "NIST SP 811, Appendix B (6.894 757 E+03)"),
        ("1 ft3", "US_gal", "7.481", 1e-4, "NIST Handbook 44, Appendix C (rounded)"),
        ("1 ft3", "dm3", "28.316", 1e-4, "NIST Handbook 44, Appendix C (rounded)"),
        ("140 US_MGD", "ft3/s", "217", 2e-3, "Oklahoma Water Resources Board"),
        (
            "1 m3",
            "US_gal",
            "264.1720524",
            1e-9,
            "printed oilfield table (common practice)",
        ),
        (
            "1 m3",
            "oil_bbl",
            "6.28981077",
            1e-9,
            "printed oilfield table (common practice)",
        ),
        (
            "1 ft3",
            "US_gal",
            "7.480519481",
            1e-9,
            "printed oilfield table (common practice)",
        ),
        (
            "1 psi",
            "kPa",
            "6.894757293",
            1e-9,
            "printed oilfield table (common practice)",
        ),
        ("2.9 HCF", "US_gal", "2169", 2e-4, "a public water utility's billing notes"),
        ("10 ft3/min", "l/min", "280", 1.2e-2, "40 CFR 63 subpart AA, table 5"),
        ("10 ft3/min", "l/min", "280", 1.2e-2, "40 CFR 60 subpart RRRa"),
        ("1 acre_in", "US_gal", "27154", 2e-5, "University of Florida IFAS Extension"),
        ("1 acre_in", "m3", "102.8", 2e-4, "University of Florida IFAS Extension"),
        ("1 ft3/s", "US_gpm", "448.8", 1e-4, "common practice, operator sheets"),
        ("1 US_MGD", "US_gpm", "694.4", 1e-4, "common practice, operator sheets"),
        ("1 US_MGD", "ft3/s", "1.55", 2e-3, "common practice, operator sheets"),
        ("1 bbl/d", "US_gpm", "0.0292", 2e-3, "common practice, oilfield tables"),
        ("1 ccf", "US_gal", "748", 1e-4, "common practice, water billing"),
    ],
)
def test_published_examples_are_reproduced(
    text: str, spelling: str, printed: str, within: float, source: str
) -> None:
    """A printed conversion is met within its rounding, which stands beside it."""
    unit = unit_named(spelling)
    ours = (parse_quantity(text).exact - unit.offset) / unit.factor
    assert float(ours) == pytest.approx(float(printed), rel=within), source


@pytest.mark.parametrize(
    ("text", "wrong", "off", "source"),
    [
        ("10 ft3/min", "28 l/min", 0.0989, "40 CFR 63 subpart BB: ten times low"),
        ("1 acre_in", "102642 l", 0.9986, "IFAS Extension: against its own 102.8 m3"),
        ("1 oil_bbl", "31.5 US_gal", 0.75, "Handbook 44: the barrel of other liquids"),
        ("1 imp_gal", "1 US_gal", 0.8327, "the two gallons of the two acts"),
        ("1 imp_gal", "4.545964591 l", 0.999972, "the gallon of the 1963 Act"),
        ("1 acre_ft", "1233.489238 m3", 1.000006, "made of US survey feet"),
    ],
)
def test_published_errors_are_not_reproduced(
    text: str, wrong: str, off: float, source: str
) -> None:
    """A figure known to be wrong, or of another unit, differs by the known ratio."""
    ratio = parse_quantity(wrong).exact / parse_quantity(text).exact
    assert float(ratio) == pytest.approx(off, abs=6e-5 if off < 0.9999 else 6e-7)
    assert ratio != 1, source


def test_the_torr_is_another_unit() -> None:
    """The conventional column of mercury differs from the torr by 1.4e-7 only.

    Source: scipy.constants, where the millimetre of mercury is 1/760 atmosphere.
    """
    ratio = float(unit_named("mmHg").factor) / SCIPY.mmHg
    assert ratio - 1 == pytest.approx(1.4e-7, rel=0.05)


def test_every_part_is_used() -> None:
    """No library's value stands in the tables above without a spelling using it."""
    used = {name for each in spellings() for _, name, _ in split_spelling(each)}
    assert set(SCIPY_PARTS) == used
    assert set(UNYT_PARTS) <= used


def test_a_wrong_factor_would_be_seen() -> None:
    """The libraries' values are apart wherever two units are, so a mix-up shows."""
    by_factor: dict[tuple[str, float], list[Unit]] = {}
    for unit in spellings().values():
        key = (unit.kind, float(f"{by_scipy(unit.spelling):.12g}"))
        by_factor.setdefault(key, []).append(unit)
    for same in by_factor.values():
        assert len({unit.factor for unit in same}) == 1
