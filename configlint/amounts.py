"""What an amount's text can be: measured, a bare number, a count, a unit alone."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from pydantic.json_schema import JsonSchemaValue
from pydantic_core import PydanticCustomError

from configlint.scalars import RIGHT_KIND, WELL_FORMED, Scalar, Text, shown, text_error
from configlint.slips import ANY_AMOUNT
from configlint.units import Quantity, QuantityError, parse_quantity, unit_named

__all__ = ["AmountOrText", "Count", "Measured", "Number", "UnitSpelling"]

EXAMPLES: Mapping[str, tuple[str, ...]] = {
    "volume flow": ("250 m3/h", "40 l/s", "1100 US_gal/min"),
    "mass flow": ("12 t/h", "3.5 kg/s"),
    "volume": ("10 l", "0.1 m3", "10 US_gal"),
    "mass": ("10 kg", "1 t"),
    "length": ("80 mm", "2.5 m"),
    "area": ("0.5 m2",),
    "velocity": ("3 m/s", "10 ft/s"),
    "acceleration": ("9.81 m/s2",),
    "density": ("998 kg/m3",),
    "pressure": ("6 bar", "90 psi"),
    "dynamic viscosity": ("1.0 mPa.s",),
    "kinematic viscosity": ("1.0 mm2/s",),
    "temperature": ("20 degC",),
    "time": ("3 s", "50 ms"),
    "frequency": ("6.25 Hz",),
    "current": ("0.1550 A", "20 mA"),
    "voltage": ("24 V",),
    "resistance": ("250 ohm",),
    "resistance per length": ("36 ohm/km",),
    "capacitance per length": ("100 pF/m",),
    "magnetic flux density": ("5 mT",),
    "pulses per volume": ("100 1/m3",),
    "pulses per mass": ("10 1/kg",),
    "conductivity": ("500 uS/cm",),
    "ratio": ("0.3 %", "0.003"),
}
"""What an amount of each kind looks like, for messages and for editors."""

AMOUNT = r"^[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?"


def _quantity(text: str, expected: str) -> Quantity:
    try:
        return parse_quantity(text)
    except QuantityError as error:
        # Where nothing is known of what was meant, the field's own example says most.
        advice = f"Write {expected}." if error.advice == ANY_AMOUNT else error.advice
        raise text_error(error.kind, error.problem, advice) from None


def _with_article(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


@dataclass(frozen=True, slots=True)
class Measured(Scalar):
    """An amount of one of some kinds of quantity, as `dimension_named` knows them.

    `unit` is the one a report shows it in, its first kind's usual one if empty.
    `above_zero` and `not_negative` bound the amount.
    """

    kinds: tuple[str, ...]
    unit: str
    above_zero: bool
    not_negative: bool

    def __init__(
        self,
        *kinds: str,
        unit: str = "",
        above_zero: bool = False,
        not_negative: bool = False,
    ) -> None:
        values = (kinds, unit, above_zero, not_negative)
        for name, value in zip(self.__slots__, values, strict=True):
            object.__setattr__(self, name, value)

    @property
    def expected(self) -> str:
        """The kinds with an example: "a volume flow or velocity such as 250 m3/h"."""
        kinds = ", ".join(self.kinds[:-1]) + " or " * (len(self.kinds) > 1)
        named = _with_article(kinds + self.kinds[-1])
        bound = ", above 0" * self.above_zero or ", 0 or more" * self.not_negative
        return f"{named} such as {EXAMPLES[self.kinds[0]][0]}{bound}"

    def read(self, text: str) -> Quantity:
        """Give the amount of a text."""
        quantity = _quantity(text, self.expected)
        if quantity.unit.kind not in self.kinds:
            raise self._wrong_kind(quantity)
        if self.above_zero and quantity.si <= 0:
            problem = f"{shown(text)} is not above 0."
            raise text_error(WELL_FORMED, problem, f"Write {self.expected}.")
        if self.not_negative and quantity.si < 0:
            problem = f"{shown(text)} is below 0."
            raise text_error(WELL_FORMED, problem, f"Write {self.expected}.")
        return quantity

    def _wrong_kind(self, quantity: Quantity) -> PydanticCustomError:
        if not quantity.unit.spelling:
            problem = f"{shown(quantity.text)} has no unit."
        else:
            found = _with_article(quantity.unit.kind)
            problem = f"{shown(quantity.text)} is {found}, which does not belong here."
        return text_error(RIGHT_KIND, problem, f"Write {self.expected}.")

    def json_schema(self) -> JsonSchemaValue:
        """A number, a space and a unit, with examples of each kind."""
        examples = [text for kind in self.kinds for text in EXAMPLES[kind]]
        if "ratio" in self.kinds:
            pattern, kind = AMOUNT + r"( \S.*)?$", ["string", "number"]
            return {"type": kind, "pattern": pattern, "examples": examples}
        return {"type": "string", "pattern": AMOUNT + r" \S.*$", "examples": examples}


@dataclass(frozen=True, slots=True)
class Number(Scalar):
    """A bare number, kept with its digits; `least`, `above` and `most` bound it."""

    least: float | None = None
    above: float | None = None
    most: float | None = None

    @property
    def expected(self) -> str:
        """A bare number and its bounds."""
        return f"a bare number{self.bounds}"

    @property
    def bounds(self) -> str:
        """The bounds in words, with a blank before them."""
        if self.least is not None and self.most is not None:
            return f" from {self.least:g} to {self.most:g}"
        words = (
            (self.above, " above {:g}"),
            (self.least, " of {:g} or more"),
            (self.most, " of {:g} or less"),
        )
        return "".join(word.format(bound) for bound, word in words if bound is not None)

    def read(self, text: str) -> Quantity:
        """Give the number of a text as a quantity without dimension."""
        quantity = _quantity(text, self.expected)
        if quantity.unit.spelling:
            problem = f"{shown(text)} has a unit where none belongs."
            raise text_error(RIGHT_KIND, problem, f"Write {self.expected}.")
        if not self.holds(quantity.si):
            problem = f"{shown(text)} is out of bounds."
            raise text_error(WELL_FORMED, problem, f"Write {self.expected}.")
        return quantity

    def holds(self, value: float) -> bool:
        """Whether a dimensionless number keeps to the bounds."""
        return (
            (self.least is None or value >= self.least)
            and (self.above is None or value > self.above)
            and (self.most is None or value <= self.most)
        )

    def json_schema(self) -> JsonSchemaValue:
        """A number; written in quotes it is the same number."""
        bounds = {
            "minimum": self.least,
            "exclusiveMinimum": self.above,
            "maximum": self.most,
        }
        given = {name: bound for name, bound in bounds.items() if bound is not None}
        return {"type": ["number", "string"], "pattern": AMOUNT + "$", **given}


@dataclass(frozen=True, slots=True)
class Count(Number):
    """A whole number, by default 0 or more, kept as a quantity."""

    least: float | None = 0

    @property
    def expected(self) -> str:
        """A whole number and its bounds."""
        return f"a whole number{self.bounds}"

    def read(self, text: str) -> Quantity:
        """Give the count of a text as a quantity without dimension."""
        if not re.fullmatch(r"\+?[0-9]+", text):
            problem = f"{shown(text)} is not a whole number."
            raise text_error(WELL_FORMED, problem, f"Write {self.expected}.")
        return Number.read(self, text)

    def json_schema(self) -> JsonSchemaValue:
        """A whole number; written in quotes it is the same number."""
        whole = {"type": ["integer", "string"], "pattern": r"^\+?[0-9]+$"}
        return Number.json_schema(self) | whole


@dataclass(frozen=True, slots=True)
class UnitSpelling(Scalar):
    """A unit's spelling by itself, of one of some kinds or of any kind."""

    kinds: tuple[str, ...]

    def __init__(self, *kinds: str) -> None:
        object.__setattr__(self, "kinds", kinds)

    @property
    def expected(self) -> str:
        """The kinds with an example."""
        kind = f"of {' or '.join(self.kinds)} " if self.kinds else ""
        return f"a unit {kind}such as {self.examples[0]}"

    @property
    def examples(self) -> list[str]:
        """Units of each kind."""
        kinds = self.kinds or ("volume flow",)
        texts = [text for kind in kinds for text in EXAMPLES[kind]]
        return [text.partition(" ")[2] for text in texts]

    def read(self, text: str) -> str:
        """Give the spelling if it is known and of a right kind."""
        try:
            unit = unit_named(text)
        except QuantityError as error:
            raise text_error(error.kind, error.problem, error.advice) from None
        if self.kinds and unit.kind not in self.kinds:
            problem = f"{shown(text)} is a unit of {unit.kind}."
            raise text_error(RIGHT_KIND, problem, f"Write {self.expected}.")
        return text

    def json_schema(self) -> JsonSchemaValue:
        """A text with examples."""
        return {"type": "string", "examples": self.examples}


@dataclass(frozen=True, slots=True)
class AmountOrText(Scalar):
    """A value of the site's own: an amount where it reads as one, else a text."""

    @property
    def expected(self) -> str:
        """Both forms."""
        return "an amount such as 80 mm, or a text"

    def read(self, text: str) -> Quantity | str:
        """Give the amount, or else the text."""
        try:
            return parse_quantity(text)
        except QuantityError:
            return Text().read(text)

    def json_schema(self) -> JsonSchemaValue:
        """Any scalar."""
        return Text().json_schema()
