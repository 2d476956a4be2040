"""The rule language: formula text to a tree of a few kinds of node.

The grammar is that of Python's expressions, held to a whitelist:

    formula    : truth
    truth      : truth `or` truth | truth `and` truth | `not` truth | comparison
    comparison : sum ((`<` | `<=` | `==` | `!=` | `>=` | `>`) sum)*
               | sum [`not`] `in` texts
    sum        : product ((`+` | `-`) product)*
    product    : factor ((`*` | `/`) factor)*
    factor     : `-` factor | atom [`**` exponent]
    atom       : number [`[` unit `]`] | text | name | look-up | function `(` … `)`
               | `(` formula `)` | formula `if` truth `else` formula
    look-up    : table `[` formula `]` `.` column

A unit stands in square brackets behind its number, as in print: `0.3[m/s]`.
No text is ever executed: the tree is rebuilt node by node, within bounds on
length, depth, nodes and powers.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from typing import NamedTuple

from configlint.errors import ConfiglintError
from configlint.operators import OPERATORS
from configlint.units import QuantityError, parse_quantity

__all__ = [
    "Apply",
    "FormulaError",
    "LookUp",
    "Name",
    "Node",
    "Number",
    "Span",
    "Text",
    "Texts",
    "children",
    "parse_formula",
]

LONGEST = 800
DEEPEST = 40
MOST_NODES = 300
HIGHEST_POWER = 6


class Span(NamedTuple):
    """Where a node stands in its formula: first column and the one behind."""

    start: int
    end: int


class FormulaError(ConfiglintError):
    """A formula that can't be taken, with the span of the fault."""

    def __init__(self, text: str, span: Span, problem: str, advice: str) -> None:
        super().__init__(text, span, problem, advice)
        self.text = text
        self.span = span
        self.problem = problem
        self.advice = advice

    def marked(self) -> str:
        """Give the formula with a mark under the fault, on two lines."""
        width = max(1, self.span.end - self.span.start)
        return f"{self.text}\n{' ' * self.span.start}{'^' * width}"

    def __str__(self) -> str:
        return f"{self.problem}. {self.advice}\n{self.marked()}"


@dataclass(frozen=True, slots=True)
class Number:
    """A constant: its SI amount and the unit written behind it, "" for none."""

    value: float
    unit: str
    span: Span


@dataclass(frozen=True, slots=True)
class Text:
    """A constant text."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Texts:
    """A constant list of texts."""

    texts: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Name:
    """A value by its dotted path: an input, a quantity or a limit."""

    path: str
    span: Span


@dataclass(frozen=True, slots=True)
class LookUp:
    """A column of the row of a table that a key selects."""

    table: str
    key: Node
    column: str
    span: Span


@dataclass(frozen=True, slots=True)
class Apply:
    """An operator or function of the table, with its operands."""

    symbol: str
    operands: tuple[Node, ...]
    span: Span


Node = Number | Text | Texts | Name | LookUp | Apply


def children(node: Node) -> Iterator[Node]:
    """Give the nodes directly below a node."""
    for field in fields(node):
        value = getattr(node, field.name)
        if isinstance(value, LookUp | Apply | Number | Text | Texts | Name):
            yield value
        elif field.name == "operands":
            yield from value


BINARY: dict[type[ast.operator], str] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.Pow: "**",
}
UNARY: dict[type[ast.unaryop], str] = {ast.USub: "negative", ast.Not: "not"}
COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.Eq: "==",
    ast.NotEq: "!=",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.In: "in",
    ast.NotIn: "not in",
}
FUNCTIONS = frozenset(symbol for symbol in OPERATORS if symbol.isidentifier()) - {
    "negative",
    "not",
    "and",
    "or",
    "in",
    "if",
}
UNIT_BEHIND_NUMBER = re.compile(
    r"(?<![\w.])(?P<number>\d+(?:\.\d*)?(?:[eE][+-]?\d+)?)\s*\[(?P<unit>[^\[\]]*)\]"
)
REFUSED = {
    "Lambda": ("a function of one's own", "Name a quantity instead."),
    "ListComp": ("a loop", "Rules speak of one meter at a time."),
    "GeneratorExp": ("a loop", "Rules speak of one meter at a time."),
    "NamedExpr": ("an assignment", "Name a quantity instead."),
    "Dict": ("a mapping", "Write a table beside the rules instead."),
    "Set": ("a set", "Write a list of texts in square brackets."),
    "JoinedStr": ("a text with parts to fill in", "Write a plain text."),
    "Starred": ("a star", "Write the operands one by one."),
    "Slice": ("a slice", "Look a row up by its key alone."),
}


def parse_formula(text: str) -> Node:
    """Turn a formula's text into its tree.

    Raises `FormulaError` with the span of whatever is not of the language.

    >>> parse_formula("0.3[m/s] <= velocity").symbol
    '<='
    """
    return _Parser(text).parse()


class _Parser:
    """One formula on its way from text to tree."""

    def __init__(self, text: str) -> None:
        self.text = re.sub(r"[\r\n\t]", " ", text)
        self.units: dict[int, str] = {}
        self.nodes = 0

    def parse(self) -> Node:
        if not self.text.strip():
            raise self.error(Span(0, 1), "the formula is empty", "Write a formula.")
        if len(self.text) > LONGEST:
            raise self.error(
                Span(LONGEST, len(self.text)),
                f"the formula has more than {LONGEST} characters",
                "Name parts of it as quantities.",
            )
        return self.node(self.python_tree(), 0)

    def error(self, span: Span, problem: str, advice: str) -> FormulaError:
        return FormulaError(self.text, span, problem, advice)

    def python_tree(self) -> ast.expr:
        covered = UNIT_BEHIND_NUMBER.sub(self.cover, self.text)
        slash = covered.find("\\")
        if slash >= 0:
            raise self.error(
                Span(slash, slash + 1),
                "a backslash has no place in a formula",
                "In a pattern write a class such as [0-9].",
            )
        start = len(covered) - len(covered.lstrip())
        self.covered = covered
        self.indent = start
        try:
            return ast.parse(covered.strip(), mode="eval").body
        except SyntaxError as error:
            column = start + max(0, (error.offset or 1) - 1)
            raise self.error(
                Span(min(column, len(self.text) - 1), column + 1),
                "the formula breaks off or goes wrong here",
                "Check brackets, quotes and operators near the mark.",
            ) from None
        except (ValueError, RecursionError, MemoryError):
            raise self.error(
                Span(0, len(self.text)),
                "the formula is nested too deeply or holds a NUL character",
                "Name parts of it as quantities.",
            ) from None

    def cover(self, match: re.Match[str]) -> str:
        """Hide a unit from Python's parser, which knows no `%` or `µS/cm`."""
        start, end = match.span("unit")
        self.units[start] = match["unit"]
        head = self.text[match.start() : start]
        return f"{head}{'_' * (end - start) or ''}]"

    def span(self, node: ast.expr) -> Span:
        stripped = self.covered.strip().encode()
        start = len(stripped[: node.col_offset].decode())
        end = len(stripped[: node.end_col_offset].decode())
        return Span(self.indent + start, self.indent + end)

    def node(self, node: ast.expr, depth: int) -> Node:
        self.nodes += 1
        if depth > DEEPEST or self.nodes > MOST_NODES:
            raise self.error(
                self.span(node),
                "the formula is too large or nested too deeply",
                "Name parts of it as quantities.",
            )
        build = BUILDERS.get(type(node))
        if build is None:
            return self.refuse(node)
        return build(self, node, depth + 1)

    def refuse(self, node: ast.expr) -> Node:
        what, advice = REFUSED.get(
            type(node).__name__,
            ("this form", "See the grammar in the guide for rule authors."),
        )
        raise self.error(
            self.span(node), f"the rule language does not have {what}", advice
        )

    def constant(self, node: ast.Constant, depth: int) -> Node:
        value, span = node.value, self.span(node)
        if isinstance(value, str):
            return Text(value, span)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return self.number(self.text[span.start : span.end], "", span)
        return self.refuse(node)

    def number(self, digits: str, unit: str, span: Span) -> Number:
        try:
            quantity = parse_quantity(f"{digits} {unit}".rstrip())
        except QuantityError as error:
            problem = error.problem.rstrip(".")
            raise self.error(span, problem, error.advice) from None
        return Number(quantity.si, unit, span)

    def name(self, node: ast.Name, depth: int) -> Node:
        return Name(node.id, self.span(node))

    def attribute(self, node: ast.Attribute, depth: int) -> Node:
        inner = self.node(node.value, depth)
        span = self.span(node)
        if isinstance(inner, Name):
            return Name(f"{inner.path}.{node.attr}", span)
        if isinstance(inner, LookUp) and not inner.column:
            return LookUp(inner.table, inner.key, node.attr, span)
        raise self.error(
            span, "only a name or a look-up has parts", "Check the dot near the mark."
        )

    def subscript(self, node: ast.Subscript, depth: int) -> Node:
        span = self.span(node)
        if isinstance(node.value, ast.Constant):
            unit = self.units.get(self.span(node.slice).start, "").strip()
            digits = self.span(node.value)
            return self.number(self.text[digits.start : digits.end], unit, span)
        if not isinstance(node.value, ast.Name):
            raise self.error(
                span,
                "square brackets hold a unit behind a number, or a table's key",
                "Write 0.3[m/s], or duties[process.duty].lowest_velocity.",
            )
        return LookUp(node.value.id, self.node(node.slice, depth), "", span)

    def listed(self, node: ast.List | ast.Tuple, depth: int) -> Node:
        texts = tuple(self.node(item, depth) for item in node.elts)
        for item in texts:
            if not isinstance(item, Text):
                raise self.error(
                    item.span, "a list holds texts only", "Write ['a', 'b']."
                )
        return Texts(
            tuple(item.text for item in texts if isinstance(item, Text)),
            self.span(node),
        )

    def binary(self, node: ast.BinOp, depth: int) -> Node:
        symbol = BINARY.get(type(node.op))
        if symbol is None:
            raise self.error(
                self.span(node),
                "the rule language has only + - * / **",
                "Use those, or a function.",
            )
        left, right = self.node(node.left, depth), self.node(node.right, depth)
        if symbol == "**":
            right = self.exponent(right)
        return Apply(symbol, (left, right), self.span(node))

    def exponent(self, node: Node) -> Number:
        """Hold a power to a plain constant, so that its dimension is known."""
        sign, inner = 1, node
        if isinstance(node, Apply) and node.symbol == "negative":
            sign, inner = -1, node.operands[0]
        if not isinstance(inner, Number) or inner.unit or inner.value > HIGHEST_POWER:
            raise self.error(
                node.span,
                f"an exponent is a plain number up to {HIGHEST_POWER}",
                "Write **2, **0.5 or **-1.",
            )
        return Number(sign * inner.value, "", node.span)

    def unary(self, node: ast.UnaryOp, depth: int) -> Node:
        symbol = UNARY.get(type(node.op))
        if symbol is None:
            return self.refuse(node)
        return Apply(symbol, (self.node(node.operand, depth),), self.span(node))

    def logic(self, node: ast.BoolOp, depth: int) -> Node:
        symbol = "and" if isinstance(node.op, ast.And) else "or"
        parts = tuple(self.node(part, depth) for part in node.values)
        return Apply(symbol, parts, self.span(node))

    def comparison(self, node: ast.Compare, depth: int) -> Node:
        sides = [self.node(side, depth) for side in (node.left, *node.comparators)]
        links: list[Node] = []
        for left, operator, right in zip(sides, node.ops, sides[1:], strict=False):
            symbol = COMPARISONS.get(type(operator))
            if symbol is None:
                raise self.error(
                    self.span(node), "compare with == or !=", "Not with `is`."
                )
            span = Span(left.span.start, right.span.end)
            links.append(Apply(symbol, (left, right), span))
        return (
            links[0] if len(links) == 1 else Apply("and", tuple(links), self.span(node))
        )

    def condition(self, node: ast.IfExp, depth: int) -> Node:
        parts = (node.test, node.body, node.orelse)
        return Apply("if", tuple(self.node(p, depth) for p in parts), self.span(node))

    def call(self, node: ast.Call, depth: int) -> Node:
        span = self.span(node)
        symbol = node.func.id if isinstance(node.func, ast.Name) else ""
        if symbol not in FUNCTIONS or node.keywords:
            raise self.error(
                span,
                f"there is no function {symbol or 'of this form'}",
                f"The functions are {', '.join(sorted(FUNCTIONS))}.",
            )
        operands = tuple(self.node(argument, depth) for argument in node.args)
        operator = OPERATORS[symbol]
        if not operator.fewest <= len(operands) <= operator.most:
            raise self.error(
                span,
                f"{symbol} takes {operator.fewest} to {operator.most} values",
                "Check what stands between the brackets.",
            )
        if operator.of_names and not all(isinstance(o, Name) for o in operands):
            raise self.error(
                span, f"{symbol} takes names of values only", "Name an input."
            )
        return Apply(symbol, operands, span)


BUILDERS: dict[type[ast.expr], Callable[..., Node]] = {
    ast.Constant: _Parser.constant,
    ast.Name: _Parser.name,
    ast.Attribute: _Parser.attribute,
    ast.Subscript: _Parser.subscript,
    ast.List: _Parser.listed,
    ast.Tuple: _Parser.listed,
    ast.BinOp: _Parser.binary,
    ast.UnaryOp: _Parser.unary,
    ast.BoolOp: _Parser.logic,
    ast.Compare: _Parser.comparison,
    ast.IfExp: _Parser.condition,
    ast.Call: _Parser.call,
}
