"""Numbers, units and symbols as a calculation sheet prints them.

A number has as many figures as it deserves, a unit its signs of print, and an amount
a unit of the reader's system in which its number is of a size that people read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Context, Decimal

from configlint.conventions import counterpart
from configlint.units import Unit, from_si, spellings, unit_named

__all__ = [
    "FEWEST_FIGURES",
    "MINUS",
    "POWER_OF_TEN",
    "SYSTEMS",
    "count_figures",
    "print_exactly",
    "print_number",
    "print_plainly",
    "print_symbol",
    "print_unit",
    "print_written",
    "readable_unit",
    "round_number",
    "superscript",
    "unit_in",
]

FEWEST_FIGURES = 3
"""The fewest significant figures of a computed amount."""

MINUS = "−"
POWER_OF_TEN = "·10"
SUPERSCRIPTS = str.maketrans("-−0123456789", "⁻⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
PLAIN_FROM, PLAIN_BELOW = -4, 7
"""Powers of ten between which a number is written without one."""
MILLION = 10**6
SMALLEST_PLAIN, LARGEST_PLAIN = 1e-6, 1e9
"""Numbers from the one up to the other are told without a power of ten."""
SURE_FIGURES = 15
"""Figures of a number that this machine does not round."""
EXACT_FIGURES = 12
"""Figures of an amount that nothing rounds; what is behind them is arithmetic."""


def count_figures(number: str) -> int | None:
    """Count the significant figures of a number as written; None for zero.

    Noughts behind the first other figure count, those before it do not.

    >>> count_figures("0.1550"), count_figures("250"), count_figures("0.0")
    (4, 3, None)
    """
    mantissa = re.split("[eE]", number)[0]
    return len(re.sub("[^0-9]", "", mantissa).lstrip("0")) or None


def print_number(value: float, figures: int) -> str:
    """Print a number of any unit, finite, with so many significant figures.

    >>> print_number(2.7512, 3), print_number(-0.5, 3), print_number(1e8, 3)
    ('2.75', '−0.500', '1.00·10⁸')
    """
    return _print(_rounded(value, figures)) if value else "0"


def round_number(value: float, figures: int) -> float:
    """Round a number of any unit, finite, to so many significant figures.

    Halves go up as they do by hand: what the machine has rounded is no part of them.

    >>> round_number(55.374999999999993, 4)
    55.38
    """
    return float(_rounded(value, figures))


def _rounded(value: float, figures: int) -> str:
    if figures >= SURE_FIGURES:
        return f"{value:.{figures - 1}e}"
    by_hand = Context(prec=figures, rounding=ROUND_HALF_UP)
    sure = by_hand.create_decimal(f"{value:.{SURE_FIGURES - 1}e}")
    return f"{sure:.{figures - 1}e}"


def print_exactly(value: float) -> str:
    """Print a number of any unit, finite, that nothing rounds, without idle noughts.

    >>> print_exactly(419.0), print_exactly(25.4), print_exactly(1e-9)
    ('419', '25.4', '1·10⁻⁹')
    """
    mantissa, _, exponent = f"{value:.{EXACT_FIGURES - 1}e}".partition("e")
    return _print(f"{mantissa.rstrip('0').rstrip('.')}e{exponent}") if value else "0"


def print_plainly(value: float) -> str:
    """Write a number of any unit to three figures, as a sentence tells it.

    Millions are a word; what is larger still, or very small, has a power of ten.

    >>> [print_plainly(each) for each in (0.0412345, 28.0, 245280.0, 999600.0, 4.87e15)]
    ['0.0412', '28', '245000', '1 million', '4.87 x 10^15']
    """
    if not math.isfinite(value):
        return "no number" if math.isnan(value) else "infinite"
    figures = Decimal(f"{value:.3g}")
    size = abs(float(figures))
    if size >= LARGEST_PLAIN or 0 < size < SMALLEST_PLAIN:
        power = figures.adjusted()
        return f"{figures.scaleb(-power).normalize():f} x 10^{power}"
    if size >= MILLION:
        return f"{(figures / MILLION).normalize():f} million"
    return f"{figures:f}"


def print_written(number: str) -> str:
    """Print a number as a file writes it, every figure kept.

    >>> print_written("0.1550"), print_written("-5"), print_written("1.50e3")
    ('0.1550', '−5', '1.50·10³')
    """
    mantissa, _, exponent = number.lower().partition("e")
    power = f"{POWER_OF_TEN}{superscript(str(int(exponent)))}" if exponent else ""
    return f"{mantissa.lstrip('+').replace('-', MINUS)}{power}"


def _print(scientific: str) -> str:
    power = scientific.partition("e")[2]
    if PLAIN_FROM <= int(power) < PLAIN_BELOW:
        return f"{Decimal(scientific):f}".replace("-", MINUS)
    return print_written(scientific)


def superscript(exponent: str) -> str:
    """Write a whole exponent in raised figures.

    >>> superscript("-2")
    '⁻²'
    """
    return exponent.translate(SUPERSCRIPTS)


# --- units ----------------------------------------------------------------

RAISED = re.compile(r"(?<=[a-z])\^?([23])(?![\w])")
SIGNS = {"ohm": "Ω", "degC": "°C", "degF": "°F"}
PULSES = ("pulses per volume", "pulses per mass")


def print_unit(spelling: str) -> str:
    """Write a unit with the signs of print; it stays a spelling of the same unit.

    >>> print_unit("m3/h"), print_unit("kohm"), print_unit("degC"), print_unit("1/l")
    ('m³/h', 'kΩ', '°C', 'pulses/l')
    """
    known = spellings()
    printed = RAISED.sub(lambda match: superscript(match[1]), spelling)
    if spelling in known and known[spelling].kind in PULSES:
        pulses = printed.replace("1/", "pulses/")
        printed = pulses if pulses in known else printed
    for written, sign in SIGNS.items():
        printed = printed.replace(written, sign)
    printed = re.sub(r"\bu(?=[mSAVs](?![a-z]))", "\u00b5", printed)
    return re.sub(r"Pa\.s$", "Pa·s", printed)


SYSTEMS = ("SI", "US", "imperial")
"""The systems of units that a sheet can be in."""

_SHARED = {
    "length": ("in", "ft", "mile"),
    "area": ("in2", "ft2"),
    "velocity": ("ft/s",),
    "acceleration": ("ft/s2",),
    "density": ("lb/ft3",),
    "pressure": ("psi",),
    "temperature": ("degF",),
    "mass": ("lb",),
    "mass flow": ("lb/h",),
    "dynamic viscosity": ("cP",),
    "kinematic viscosity": ("cSt",),
    "resistance per length": ("ohm/kft",),
    "capacitance per length": ("pF/ft",),
    "pulses per mass": ("1/lb",),
}


def _of_gallons(gallon: str) -> dict[str, tuple[str, ...]]:
    flows = (f"{gallon}/h", f"{gallon}/min", f"{gallon.replace('gal', 'Mgal')}/d")
    volumes = (gallon.replace("gal", "fl_oz"), gallon, gallon.replace("gal", "Mgal"))
    return {
        "volume flow": flows,
        "volume": volumes,
        "pulses per volume": (f"1/{gallon}",),
    }


UNITS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "SI": {
        "length": ("mm", "m", "km"),
        "area": ("mm2", "m2"),
        "volume": ("ml", "l", "m3"),
        "volume flow": ("l/h", "m3/h"),
        "velocity": ("m/s",),
        "acceleration": ("m/s2",),
        "density": ("kg/m3",),
        "pressure": ("bar",),
        "temperature": ("degC",),
        "mass": ("kg", "t"),
        "mass flow": ("kg/h", "t/h"),
        "dynamic viscosity": ("mPa.s",),
        "kinematic viscosity": ("mm2/s",),
        "resistance per length": ("ohm/km",),
        "capacitance per length": ("pF/m",),
        "pulses per volume": ("1/m3", "1/l"),
        "pulses per mass": ("1/kg",),
    },
    "US": {**_SHARED, **_of_gallons("US_gal")},
    "imperial": {**_SHARED, **_of_gallons("imp_gal")},
    "any": {
        "time": ("ms", "s", "h", "d", "year"),
        "frequency": ("mHz", "Hz", "kHz"),
        "current": ("uA", "mA", "A"),
        "voltage": ("uV", "mV", "V"),
        "resistance": ("ohm", "kohm", "Mohm"),
    },
}
"""By system and kind, the units of a sheet, the smallest first."""

READ_FROM, READ_BELOW = 0.01, 1e5
"""Between these a number is of a size that people read."""


def unit_in(unit: Unit, system: str) -> Unit:
    """Give the unit of a system that stands for a unit: itself, where it is part of it.

    It is the one that findings are told in, else the one nearest in size.

    >>> unit_in(unit_named("m3/h"), "US").spelling
    'US_gal/min'
    """
    offered = UNITS[system].get(unit.kind)
    if system in unit.systems or offered is None:
        return unit
    named = counterpart(unit.spelling, system)
    if named:
        return unit_named(named)
    return min(
        (unit_named(each) for each in offered),
        key=lambda each: abs(math.log(each.factor / unit.factor)),
    )


def readable_unit(value: float, unit: Unit, system: str) -> Unit:
    """Give the unit of a system in which an SI amount is a number that people read.

    >>> readable_unit(3e-5, unit_named("m2"), "SI").spelling
    'mm2'
    """
    own = unit_in(unit, system)
    offered = UNITS[system].get(own.kind) or UNITS["any"].get(own.kind, ())
    if not value or READ_FROM <= abs(from_si(value, own)) < READ_BELOW:
        return own
    return min(
        (own, *(unit_named(each) for each in offered)),
        key=lambda each: abs(math.log10(abs(from_si(value, each))) - 1),
    )


# --- symbols --------------------------------------------------------------

GREEK = {
    "alpha": "α",
    "beta": "β",
    "gamma": "γ",
    "delta": "δ",
    "epsilon": "ε",
    "eta": "η",
    "theta": "θ",
    "kappa": "κ",
    "lambda": "λ",
    "mu": "μ",
    "nu": "ν",
    "pi": "π",
    "rho": "ρ",
    "sigma": "σ",
    "tau": "τ",
    "phi": "φ",
    "omega": "ω",
    "Delta": "Δ",
}


def print_symbol(symbol: str) -> str:
    """Write a symbol with the Greek letters that it names.

    >>> print_symbol("tau_T"), print_symbol("v_URV")
    ('τ_T', 'v_URV')
    """
    return re.sub("[A-Za-z]+", lambda word: GREEK.get(word[0], word[0]), symbol)
