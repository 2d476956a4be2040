"""A formula as an engineer writes it: with symbols, and with the numbers put in.

The numbers that stand for intermediate results are given as many figures as it takes
for the text, computed by hand, to give the result that is shown.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from enum import IntEnum
from typing import NamedTuple

from configlint.compiler import CONSTANTS, Scope, Values, evaluate
from configlint.formula import (
    Apply,
    LookUp,
    Name,
    Node,
    Number,
    Text,
    Texts,
)
from configlint.printed import (
    MINUS,
    POWER_OF_TEN,
    print_exactly,
    print_symbol,
    print_unit,
    superscript,
)
from configlint.units import NONE, from_si, unit_named

__all__ = ["MOST_FIGURES", "Figure", "ToFigure", "in_numbers", "in_symbols"]

MOST_FIGURES = 17
"""So many figures tell a number of this machine from its neighbours."""


class Figure(NamedTuple):
    """A value as a sheet prints it, and the SI amount that the print stands for."""

    text: str
    si: float


ToFigure = Callable[[str, int, bool], Figure]
"""Prints the value of a path with at least so many figures.

The truth says whether it is computed with: its unit has no offset then.
"""


def in_symbols(tree: Node, symbols: Mapping[str, str]) -> str:
    """Write a formula with the symbols of print; a value without one by its path.

    >>> from configlint.parser import parse_formula
    >>> in_symbols(parse_formula("pi/4 * bore**2"), {"bore": "d"})
    'π/4 · d²'
    """
    return _Symbols(symbols).part(tree).text


def in_numbers(
    tree: Node, figure: ToFigure, fewest: int, is_right: Callable[[float], bool]
) -> str:
    """Write a settled formula, without conditionals or look-ups, in numbers.

    Figures are added to the `fewest` until what the printed numbers give, an SI
    amount, `is_right`.

    >>> from configlint.parser import parse_formula
    >>> three = Figure("3 m", 3.0)
    >>> doubled = parse_formula("2 * a")
    >>> in_numbers(doubled, lambda *_: three, 4, lambda metres: metres == 6)
    '2 · 3 m'
    """
    text = ""
    for figures in range(fewest, MOST_FIGURES + 1):
        writer = _Numbers(figure, figures)
        text = writer.part(tree).text
        scope = Scope(dict.fromkeys(writer.printed, NONE))
        if is_right(evaluate(tree, scope, Values(writer.printed, {}))):
            break
    return text


class Bind(IntEnum):
    """How strongly the parts of a text hold together, from the loosest on."""

    WORDS = 0
    OR = 1
    AND = 2
    NOT = 3
    COMPARISON = 4
    SUM = 5
    PRODUCT = 6
    POWER = 7
    ATOM = 8


class _Part(NamedTuple):
    """A part of a text, and how strongly it holds together."""

    text: str
    binds: Bind = Bind.ATOM

    def within(self, least: Bind) -> str:
        """The text, in brackets where it holds together less than it has to."""
        return self.text if self.binds >= least else f"({self.text})"


class _Writer(ABC):
    """Writes a tree; what stands for a value is left to those that come from it.

    `computed` says whether a value takes part in arithmetic, where a temperature must
    be absolute.
    """

    def part(self, node: Node, computed: bool = False) -> _Part:
        if isinstance(node, Apply):
            return FORMS[node.symbol](self, node, computed)
        if isinstance(node, Number):
            return _constant(node, computed)
        if isinstance(node, Text):
            return _Part(f"“{node.text}”")
        if isinstance(node, Texts):
            listed = ", ".join(f"“{each}”" for each in node.texts)
            return _Part(listed if len(node.texts) == 1 else f"({listed})")
        return self.leaf(node, computed)

    @abstractmethod
    def leaf(self, node: Name | LookUp, computed: bool) -> _Part:
        """Write what stands for a value."""


class _Symbols(_Writer):
    def __init__(self, symbols: Mapping[str, str]) -> None:
        self.symbols = symbols

    def leaf(self, node: Name | LookUp, computed: bool) -> _Part:
        if isinstance(node, Name):
            return _told(print_symbol(self.symbols.get(node.path, node.path)))
        column = node.column.replace("_", " ")
        return _Part(f"{column} of {self.part(node.key).within(Bind.SUM)}", Bind.WORDS)


class _Numbers(_Writer):
    def __init__(self, figure: ToFigure, figures: int) -> None:
        self.figure = figure
        self.figures = figures
        self.printed: dict[str, float] = {}

    def leaf(self, node: Name | LookUp, computed: bool) -> _Part:
        path = node.path if isinstance(node, Name) else ""
        if path in CONSTANTS:
            return _Part(print_symbol(path))
        text, self.printed[path] = self.figure(path, self.figures, computed)
        return _told(text)


def _constant(node: Number, computed: bool) -> _Part:
    if not node.unit:
        return _told(print_exactly(node.value))
    unit = unit_named("K" if computed and unit_named(node.unit).offset else node.unit)
    number = print_exactly(from_si(node.value, unit))
    return _told(f"{number} {print_unit(unit.spelling)}")


def _told(text: str) -> _Part:
    """Tell how a printed number or symbol holds together."""
    if text.startswith(MINUS):
        return _Part(text, Bind.SUM)
    if POWER_OF_TEN in text:
        return _Part(text, Bind.PRODUCT)
    if " " in text:
        return _Part(text, Bind.POWER if text[0].isdigit() else Bind.WORDS)
    return _Part(text)


# --- forms of operators ---------------------------------------------------

_Form = Callable[[_Writer, Apply, bool], _Part]


def _between(sign: str, left: Bind, right: Bind, binds: Bind) -> _Form:
    """Write two operands of arithmetic with a sign between them."""

    def form(writer: _Writer, node: Apply, computed: bool) -> _Part:
        first, second = (writer.part(each, True) for each in node.operands)
        return _Part(f"{first.within(left)} {sign} {second.within(right)}", binds)

    return form


def _quotient(writer: _Writer, node: Apply, computed: bool) -> _Part:
    """Write a quotient, a plain one such as π/4 without gaps."""
    first, second = (writer.part(each, True) for each in node.operands)
    stroke = "/" if all(map(_is_plain, node.operands)) else " / "
    left, right = first.within(Bind.PRODUCT), second.within(Bind.POWER)
    return _Part(f"{left}{stroke}{right}", Bind.PRODUCT)


def _is_plain(node: Node) -> bool:
    """Whether a node is a number that is in every formula the same."""
    if isinstance(node, Name):
        return node.path in CONSTANTS
    return isinstance(node, Number) and not node.unit


def _power(writer: _Writer, node: Apply, computed: bool) -> _Part:
    base, exponent = node.operands
    raised = print_exactly(evaluate(exponent, Scope({}), Values({}, {})))
    if raised == "0.5":
        return _Part(f"√({writer.part(base, True).text})")
    power = (
        superscript(raised)
        if "." not in raised
        else f"^{_told(raised).within(Bind.ATOM)}"
    )
    return _Part(f"{writer.part(base, True).within(Bind.ATOM)}{power}", Bind.POWER)


def _ten_to(writer: _Writer, node: Apply, computed: bool) -> _Part:
    """Write ten to a power; to so many times a logarithm, that number to a power."""
    base, power = "10", node.operands[0]
    if isinstance(power, Apply) and power.symbol == "*":
        times, behind = power.operands
        if isinstance(behind, Apply) and behind.symbol == "log10":
            base = writer.part(behind.operands[0], True).within(Bind.ATOM)
            power = times
    return _Part(f"{base}^{writer.part(power, True).within(Bind.ATOM)}", Bind.POWER)


def _negative(writer: _Writer, node: Apply, computed: bool) -> _Part:
    operand = writer.part(node.operands[0], True).within(Bind.PRODUCT)
    return _Part(f"{MINUS}{operand}", Bind.SUM)


def _absolute(writer: _Writer, node: Apply, computed: bool) -> _Part:
    inner = writer.part(node.operands[0], True).text
    return _Part(f"abs({inner})" if "|" in inner else f"|{inner}|")


def _around(before: str, behind: str) -> _Form:
    """Write a function around its operands."""

    def form(writer: _Writer, node: Apply, computed: bool) -> _Part:
        operands = (writer.part(each, computed).text for each in node.operands)
        return _Part(f"{before}{', '.join(operands)}{behind}")

    return form


COMPARISONS = {"==": "=", "!=": "≠", "<": "<", "<=": "≤", ">": ">", ">=": "≥"}


def _compared(writer: _Writer, node: Apply, computed: bool) -> _Part:
    left, right = (writer.part(each).within(Bind.SUM) for each in node.operands)
    return _Part(f"{left} {COMPARISONS[node.symbol]} {right}", Bind.COMPARISON)


def _all(writer: _Writer, node: Apply, computed: bool) -> _Part:
    """Write what must hold together, comparisons that share a side as one chain."""
    said: list[str] = []
    before: Node | None = None
    for each in node.operands:
        part = writer.part(each)
        if isinstance(each, Apply) and each.symbol in COMPARISONS:
            left, right = each.operands
            if left == before:
                behind = writer.part(right).within(Bind.SUM)
                said[-1] += f" {COMPARISONS[each.symbol]} {behind}"
            else:
                said.append(part.text)
            before = right
        else:
            said.append(part.within(Bind.NOT))
            before = None
    return _Part(" and ".join(said), Bind.AND if len(said) > 1 else Bind.COMPARISON)


def _some(writer: _Writer, node: Apply, computed: bool) -> _Part:
    parts = (writer.part(each).within(Bind.AND) for each in node.operands)
    return _Part(" or ".join(parts), Bind.OR)


DENIED = {
    "==": "!=",
    "!=": "==",
    "<": ">=",
    "<=": ">",
    ">": "<=",
    ">=": "<",
    "in": "not in",
    "not in": "in",
}
"""Comparisons whose contrary is another comparison."""
DENIED_WORDS = {
    "given": "{} is not given",
    "used": "{} is not used",
    "agrees": "{} does not agree with {}",
    "same_unit": "{} and {} are not one unit",
    "decimal_units": "{} is not {} with its point moved",
    "matches": "{} does not have the form {}",
}


def _denied(writer: _Writer, node: Apply, computed: bool) -> _Part:
    (inner,) = node.operands
    if isinstance(inner, Apply) and inner.symbol in DENIED:
        return writer.part(Apply(DENIED[inner.symbol], inner.operands, inner.span))
    if isinstance(inner, Apply) and inner.symbol in DENIED_WORDS:
        form = _words(DENIED_WORDS[inner.symbol], Bind.COMPARISON)
        return form(writer, inner, computed)
    operand = writer.part(inner).within(Bind.ATOM)
    return _Part(f"not {operand}", Bind.NOT)


def _chosen(writer: _Writer, node: Apply, computed: bool) -> _Part:
    condition, chosen, other = node.operands
    first = writer.part(chosen, computed).within(Bind.SUM)
    second = writer.part(other, computed).text
    said = writer.part(condition).within(Bind.OR)
    return _Part(f"{first} where {said}, otherwise {second}", Bind.WORDS)


def _words(form: str, binds: Bind = Bind.WORDS) -> _Form:
    """Say an operator in words, each operand at its place."""

    def said(writer: _Writer, node: Apply, computed: bool) -> _Part:
        operands = (writer.part(each).text for each in node.operands)
        return _Part(form.format(*operands), binds)

    return said


FORMS: Mapping[str, _Form] = {
    "+": _between("+", Bind.SUM, Bind.PRODUCT, Bind.SUM),
    "-": _between(MINUS, Bind.SUM, Bind.PRODUCT, Bind.SUM),
    "*": _between("·", Bind.PRODUCT, Bind.POWER, Bind.PRODUCT),
    "/": _quotient,
    "**": _power,
    "negative": _negative,
    "abs": _absolute,
    "sqrt": _around("√(", ")"),
    "log10": _around("lg(", ")"),
    "ten_to": _ten_to,
    "floor": _around("⌊", "⌋"),
    "round": _around("round(", ")"),
    "significand": _around("significand(", ")"),
    "min": _around("min(", ")"),
    "max": _around("max(", ")"),
    **dict.fromkeys(COMPARISONS, _compared),
    "and": _all,
    "or": _some,
    "not": _denied,
    "if": _chosen,
    "in": _words("{} is one of {}", Bind.COMPARISON),
    "not in": _words("{} is none of {}", Bind.COMPARISON),
    "given": _words("{} is given", Bind.COMPARISON),
    "used": _words("{} is used", Bind.COMPARISON),
    "agrees": _words("{} agrees with {}", Bind.COMPARISON),
    "same_unit": _words("{} and {} are one unit", Bind.COMPARISON),
    "decimal_units": _words("{} is {} with its point moved", Bind.COMPARISON),
    "matches": _words("{} has the form {}", Bind.COMPARISON),
    "count": _words("number of {}"),
    "figure": _words("figure of {}"),
    "unit_of": _words("the unit of {}"),
    "time_base": _words("time base of {}"),
    "slip_between": _words("slip between {} and {}"),
}
