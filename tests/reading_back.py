"""Reads a formula with numbers as a calculation sheet prints it, and computes it.

It is independent of the tool: units are turned into SI by the constants of scipy, and
the arithmetic is Python's own syntax tree, walked here.
"""

from __future__ import annotations

import ast
import importlib
import math
import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

__all__ = ["UNITS", "read_amount", "read_back"]

# Loaded by name, since the library does not say the types of its values.
SCIPY: Any = importlib.import_module("scipy.constants")

FOOT, INCH, POUND = SCIPY.foot, SCIPY.inch, SCIPY.pound
DAY, HOUR, MINUTE, YEAR = SCIPY.day, SCIPY.hour, SCIPY.minute, SCIPY.year
LITRE, GALLON, IMPERIAL = SCIPY.liter, SCIPY.gallon, SCIPY.gallon_imp

UNITS: Mapping[str, float] = {
    "": 1.0,
    "%": 1e-2,
    "m": 1.0,
    "mm": 1e-3,
    "km": 1e3,
    "in": INCH,
    "ft": FOOT,
    "mile": SCIPY.mile,
    "m²": 1.0,
    "mm²": 1e-6,
    "in²": INCH**2,
    "ft²": FOOT**2,
    "m³": 1.0,
    "l": LITRE,
    "ml": 1e-3 * LITRE,
    "ft³": FOOT**3,
    "gal": GALLON,
    "gal/min": GALLON / MINUTE,
    "bbl": SCIPY.bbl,
    "US_gal": GALLON,
    "US_fl_oz": SCIPY.fluid_ounce,
    "US_Mgal": 1e6 * GALLON,
    "imp_gal": IMPERIAL,
    "imp_fl_oz": IMPERIAL / 160,
    "imp_Mgal": 1e6 * IMPERIAL,
    "m³/s": 1.0,
    "m³/min": 1 / MINUTE,
    "m³/h": 1 / HOUR,
    "l/s": LITRE,
    "l/min": LITRE / MINUTE,
    "l/h": LITRE / HOUR,
    "ft³/s": FOOT**3,
    "ft³/h": FOOT**3 / HOUR,
    "US_gal/h": GALLON / HOUR,
    "US_gal/min": GALLON / MINUTE,
    "US_Mgal/d": 1e6 * GALLON / DAY,
    "US_MGD": 1e6 * GALLON / DAY,
    "imp_gal/d": IMPERIAL / DAY,
    "US_gal/d": GALLON / DAY,
    "m³/d": 1 / DAY,
    "imp_gal/h": IMPERIAL / HOUR,
    "imp_gal/min": IMPERIAL / MINUTE,
    "imp_Mgal/d": 1e6 * IMPERIAL / DAY,
    "kg": 1.0,
    "lb": POUND,
    "kg/h": 1 / HOUR,
    "t/h": 1e3 / HOUR,
    "lb/h": POUND / HOUR,
    "m/s": 1.0,
    "ft/s": FOOT,
    "kg/m³": 1.0,
    "kg/l": 1 / LITRE,
    "lb/ft³": POUND / FOOT**3,
    "bar": SCIPY.bar,
    "psi": SCIPY.psi,
    "Pa·s": 1.0,
    "mPa·s": 1e-3,
    "cP": 1e-3,
    "K": 1.0,
    "s": 1.0,
    "ms": 1e-3,
    "h": HOUR,
    "d": DAY,
    "year": YEAR,
    "Hz": 1.0,
    "mHz": 1e-3,
    "kHz": 1e3,
    "A": 1.0,
    "mA": 1e-3,
    "V": 1.0,
    "mV": 1e-3,
    "Ω": 1.0,
    "kΩ": 1e3,
    "MΩ": 1e6,
    "µS/cm": 1e-4,
    "pF/m": 1e-12,
    "pF/ft": 1e-12 / FOOT,
    "pulses/l": 1 / LITRE,
    "pulses/m³": 1.0,
    "pulses/US_gal": 1 / GALLON,
    "pulses/imp_gal": 1 / IMPERIAL,
    "pulses/ft³": 1 / FOOT**3,
}
"""What a printed unit is in SI."""

RAISED = "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"
TO_PLAIN = str.maketrans(RAISED, "-0123456789")
NUMBER = rf"[0-9]+(?:\.[0-9]+)?(?:·10[{RAISED}]+)?"
SPELLED = "|".join(sorted(map(re.escape, filter(None, UNITS)), key=len, reverse=True))
VALUE = re.compile(
    r"(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2})"
    rf"|(?P<number>{NUMBER})(?: (?P<unit>{SPELLED})(?![\w/²³·]))?"
)


def read_amount(text: str) -> float:
    """Read a printed amount in SI, or a plain number.

    >>> read_amount("−1.50·10³ mm"), read_amount("20 °C")
    (-1.5, 293.15)
    """
    celsius = re.fullmatch(r"(−?[0-9.]+) °([CF])", text)
    if celsius is None:
        return read_back(text)
    scale = {"C": "Celsius", "F": "Fahrenheit"}[celsius[2]]
    number = float(celsius[1].replace("−", "-"))
    return float(SCIPY.convert_temperature(number, scale, "Kelvin"))


def read_back(text: str) -> float:
    """Compute a formula with numbers from its print alone, in SI.

    >>> read_back("100 m³/h / (2 · 0.5 m²)") * 3600
    100.0
    """
    plain = VALUE.sub(_plain_value, text)
    plain = re.sub(rf"[{RAISED}]+", _power, plain)
    plain = re.sub(r"\|([^|]*)\|", r"abs(\1)", plain)
    for sign, written in SIGNS.items():
        plain = plain.replace(sign, written)
    return _value(ast.parse(plain.strip(), mode="eval").body)


SIGNS = {
    "·": "*",
    "−": "-",
    "^": "**",
    "√": "sqrt",
    "π": "pi",
    "⌊": "floor(",
    "⌋": ")",
}


def _plain_value(found: re.Match[str]) -> str:
    if found["day"]:
        return repr(date.fromisoformat(found["day"]).toordinal() * DAY)
    return repr(_number(found["number"]) * UNITS[found["unit"] or ""])


def _number(printed: str) -> float:
    digits, _, power = printed.partition("·10")
    return float(f"{digits}e{power.translate(TO_PLAIN) or 0}")


def _power(found: re.Match[str]) -> str:
    return f"**({found[0].translate(TO_PLAIN)})"


OPERATORS: Mapping[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: lambda left, right: left + right,
    ast.Sub: lambda left, right: left - right,
    ast.Mult: lambda left, right: left * right,
    ast.Div: lambda left, right: left / right,
    ast.Pow: lambda left, right: float(left**right),
}
FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "lg": math.log10,
    "abs": abs,
    "min": min,
    "max": max,
    "floor": math.floor,
    "round": round,
    "significand": lambda value: value / 10 ** math.floor(math.log10(value)),
}


def _value(node: ast.expr) -> float:
    match node:
        case ast.Constant(value=float() | int() as number):
            return float(number)
        case ast.Name(id="pi"):
            return math.pi
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand)
        case ast.BinOp(left=left, op=operator, right=right):
            return OPERATORS[type(operator)](_value(left), _value(right))
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return FUNCTIONS[name](*map(_value, arguments))
    raise AssertionError(f"no arithmetic: {ast.dump(node)}")
