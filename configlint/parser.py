"""The rule language: formula text to a tree.

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
    texts      : `[` text (`,` text)* `]` | name

A unit stands in square brackets behind its number, as in print: `0.3[m/s]`.
No text is ever executed: the tree is rebuilt node by node, within bounds on
length, depth, nodes and powers.
"""

from __future__ import annotations

import ast
import re
import warnings
from collections.abc import Callable

from configlint.formula import (
    Apply,
    FormulaError,
    LookUp,
    Name,
    Node,
    Number,
    Span,
    Text,
    Texts,
    in_one_line,
)
from configlint.operators import OPERATORS, Operator
from configlint.units import QuantityError, parse_quantity

__all__ = ["parse_formula"]

LONGEST = 800
DEEPEST = 40
MOST_NODES = 300
HIGHEST_POWER = 6

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
WORDS = frozenset({"and", "or", "not", "in", "if", "negative"})
FUNCTIONS = frozenset(filter(str.isidentifier, OPERATORS)) - WORDS
ONE_TEXT = re.compile(r"""'[^']*'|"[^"]*\"""")
# Texts come first, so that brackets in a pattern are not taken for a unit.
UNIT_BEHIND_NUMBER = re.compile(
    ONE_TEXT.pattern
    + r"|(?<![\w.])(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
    r"\s*\[(?P<unit>[^\[\]]*)\]"
)
UNREADABLE = re.compile(r"""\\|'''|\"{3}""")
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
    if not text.strip():
        raise FormulaError(text, Span(0, 1), "the formula is empty", "Write a formula.")
    if len(text) > LONGEST:
        raise FormulaError(
            f"{text[:LONGEST]}…",
            Span(LONGEST, LONGEST + 1),
            f"the formula has more than {LONGEST} characters",
            "Name parts of it as quantities.",
        )
    return _Parser(in_one_line(text)).parse()


class _Parser:
    """One formula on its way from text to tree."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.units: dict[int, str] = {}
        self.covered = UNIT_BEHIND_NUMBER.sub(self.cover, text)
        self.indent = len(text) - len(text.lstrip())
        self.nodes = 0

    def cover(self, match: re.Match[str]) -> str:
        """Hide a unit from Python's parser, which knows no `%` or `µS/cm`."""
        unit = match["unit"]
        if unit is None:
            return match[0]
        start = match.start("unit")
        self.units[start] = unit.strip()
        return f"{self.text[match.start() : start]}{'_' * len(unit)}]"

    def parse(self) -> Node:
        self.refuse_unreadable()
        tree = self.python_tree()
        rest = self.covered[self.span(tree).end :]
        if rest.strip(" )"):
            raise self.error(
                Span(len(self.text) - len(rest.lstrip(" )")), len(self.text)),
                "a remark has no place in a formula",
                "Write it as a remark of the rule file.",
            )
        return self.node(tree, 0)

    def error(self, span: Span, problem: str, advice: str) -> FormulaError:
        return FormulaError(self.text, span, problem, advice)

    def refuse_unreadable(self) -> None:
        """Refuse what would hide the end of a text from the cover of units."""
        match = UNREADABLE.search(self.text)
        if match is not None:
            raise self.error(
                Span(*match.span()),
                "a backslash or a threefold quote has no place in a formula",
                "In a pattern write a class such as [0-9]; quote a text once.",
            )

    def python_tree(self) -> ast.expr:
        try:
            with warnings.catch_warnings():
                # What Python advises to write otherwise, it still reads.
                warnings.simplefilter("ignore")
                return ast.parse(self.covered.strip(), mode="eval").body
        except SyntaxError as error:
            # Where the text breaks off Python gives no column, or one behind it.
            last = len(self.text.rstrip()) - 1
            column = min(self.indent + error.offset - 1, last) if error.offset else last
            raise self.error(
                Span(column, column + 1),
                "the formula breaks off or goes wrong here",
                "Check brackets, quotes and operators near the mark.",
            ) from None
        except (ValueError, RecursionError, MemoryError):
            raise self.error(
                Span(0, len(self.text)),
                "the formula is nested too deeply or holds a character of no text",
                "Name parts of it as quantities.",
            ) from None

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
            raise self.refusal(node)
        return build(self, node, depth + 1)

    def refusal(self, node: ast.expr) -> FormulaError:
        what, advice = REFUSED.get(
            type(node).__name__,
            ("this form", "See the grammar in the guide for rule authors."),
        )
        problem = f"the rule language does not have {what}"
        return self.error(self.span(node), problem, advice)

    def constant(self, node: ast.Constant, depth: int) -> Node:
        value, span = node.value, self.span(node)
        if isinstance(value, str):
            if not ONE_TEXT.fullmatch(self.text[slice(*span)]):
                raise self.error(
                    span,
                    "a text is one pair of quotes with nothing before it",
                    "Put a comma between two texts.",
                )
            return Text(value, span)
        if isinstance(value, bool):
            raise self.error(
                span,
                "a formula does not compare with True or False",
                "Write the value alone, or `not` before it.",
            )
        if isinstance(value, int | float):
            return self.number(self.text[slice(*span)], "", span)
        raise self.refusal(node)

    def number(self, digits: str, unit: str, span: Span) -> Number:
        try:
            quantity = parse_quantity(f"{digits} {unit}" if unit else digits)
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
        unit = self.units.get(self.span(node.slice).start)
        if isinstance(node.value, ast.Constant) and unit:
            digits = self.text[slice(*self.span(node.value))]
            return self.number(digits, unit, span)
        if isinstance(node.value, ast.Name):
            return LookUp(node.value.id, self.node(node.slice, depth), "", span)
        raise self.error(
            span,
            "square brackets hold a unit right behind a number, or a table's key",
            "Write 0.3[m/s], or duties[process.duty].lowest_velocity.",
        )

    def listed(self, node: ast.List | ast.Tuple, depth: int) -> Node:
        texts = []
        for item in node.elts:
            text = self.node(item, depth)
            if not isinstance(text, Text):
                raise self.error(
                    text.span, "a list holds texts only", "Write ['a', 'b']."
                )
            texts.append(text.text)
        return Texts(tuple(texts), self.span(node))

    def binary(self, node: ast.BinOp, depth: int) -> Node:
        symbol = BINARY.get(type(node.op))
        if symbol is None:
            raise self.error(
                self.span(node),
                "the rule language calculates with + - * / ** only",
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
            raise self.refusal(node)
        operand, span = self.node(node.operand, depth), self.span(node)
        if symbol == "negative" and isinstance(operand, Number) and operand.unit:
            # -5[degC] is five degrees below zero, not the opposite of 278.15 K.
            digits = self.text[operand.span.start : operand.span.end].partition("[")[0]
            return self.number(f"-{digits.strip()}", operand.unit, span)
        return Apply(symbol, (operand,), span)

    def logic(self, node: ast.BoolOp, depth: int) -> Node:
        symbol = "and" if isinstance(node.op, ast.And) else "or"
        parts = tuple(self.node(part, depth) for part in node.values)
        self.check_operands(OPERATORS[symbol], parts, self.span(node))
        return Apply(symbol, parts, self.span(node))

    def comparison(self, node: ast.Compare, depth: int) -> Node:
        sides = [self.node(side, depth) for side in (node.left, *node.comparators)]
        links: list[Node] = []
        for left, operator, right in zip(sides, node.ops, sides[1:], strict=False):
            span = Span(left.span.start, right.span.end)
            symbol = COMPARISONS.get(type(operator))
            if symbol is None:
                raise self.error(span, "values are not compared with `is`", "Write ==.")
            links.append(Apply(symbol, (left, right), span))
        if len(links) == 1:
            return links[0]
        return Apply("and", tuple(links), self.span(node))

    def condition(self, node: ast.IfExp, depth: int) -> Node:
        parts = (node.test, node.body, node.orelse)
        return Apply("if", tuple(self.node(p, depth) for p in parts), self.span(node))

    def call(self, node: ast.Call, depth: int) -> Node:
        span = self.span(node)
        symbol = node.func.id if isinstance(node.func, ast.Name) else ""
        if symbol not in FUNCTIONS:
            raise self.error(
                span,
                f"there is no function {symbol or 'of this form'}",
                f"The functions are {', '.join(sorted(FUNCTIONS))}.",
            )
        if node.keywords:
            raise self.error(
                span, f"{symbol} takes values without names", "Write the values alone."
            )
        operands = tuple(self.node(argument, depth) for argument in node.args)
        self.check_operands(OPERATORS[symbol], operands, span)
        return Apply(symbol, operands, span)

    def check_operands(
        self, operator: Operator, operands: tuple[Node, ...], span: Span
    ) -> None:
        symbol, fewest, most = operator.symbol, operator.fewest, operator.most
        if not fewest <= len(operands) <= most:
            count = f"{fewest}" if fewest == most else f"{fewest} to {most}"
            raise self.error(
                span,
                f"{symbol} takes {count} value{'' if most == 1 else 's'}",
                "Check what stands between the brackets.",
            )
        if operator.of_names and not all(isinstance(o, Name) for o in operands):
            raise self.error(
                span, f"{symbol} takes names of values only", "Name an input."
            )
        if symbol == "matches":
            self.check_pattern(operands[1])

    def check_pattern(self, node: Node) -> None:
        """Refuse a pattern that could only fail once a meter is judged."""
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                re.compile(node.text if isinstance(node, Text) else "(")
        except (re.error, OverflowError, RecursionError, Warning):
            raise self.error(
                node.span,
                "this is no regular expression",
                "Write a constant text such as 'FT-[0-9]+'.",
            ) from None


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
