"""Formula trees to kinds and to functions: the dimension check and the compiler.

`kind_of` refuses, before any meter is read, a formula that names what is not
there or compares m/s with mm. `compile_tree` builds a plain Python function of
SI floats from the checked tree; `evaluate` walks the same tree with the same
table of operators, for explanations and for single parts.
"""

from __future__ import annotations

import ast
import difflib
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from configlint.formula import (
    Apply,
    FormulaError,
    LookUp,
    Name,
    Node,
    Number,
    Text,
    Texts,
    names,
)
from configlint.kinds import Kind, Sort, kind_name
from configlint.operator_kinds import KindError, power_kind
from configlint.operators import OPERATORS
from configlint.parser import parse_formula
from configlint.tables import Table
from configlint.units import NONE as NONE_KIND
from configlint.units import unit_named

__all__ = [
    "CONSTANTS",
    "Formula",
    "Function",
    "Scope",
    "Values",
    "compile_tree",
    "evaluate",
    "make_formula",
    "offer_names",
]

Function = Callable[[Mapping[str, Any], Mapping[str, Any], Mapping[str, Any]], Any]
CONSTANTS = {"pi": math.pi}
"""Plain numbers that every formula may name."""

COMPARED = frozenset({"==", "!=", "in", "not in"})


@dataclass(frozen=True, slots=True)
class Scope:
    """The names a formula may use: inputs and quantities, limits, and tables.

    `choices` gives, for a text that the model closes, the texts it can be, and
    `origins`, for a quantity, the inputs that it is computed from.
    """

    names: Mapping[str, Kind]
    limits: Mapping[str, Kind] = field(default_factory=dict)
    tables: Mapping[str, Table] = field(default_factory=dict)
    choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    origins: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def with_limits(self, limits: Mapping[str, Kind]) -> Scope:
        """Give the scope of one rule, with its own limits."""
        return Scope(self.names, limits, self.tables, self.choices, self.origins)

    def inputs_of(self, tree: Node) -> tuple[str, ...]:
        """Give the inputs that a tree is computed from, through quantities too."""
        named = (self.origins.get(path, (path,)) for path in names(tree))
        return tuple(dict.fromkeys(path for paths in named for path in paths))


@dataclass(frozen=True, slots=True)
class Values:
    """What a formula is computed from: SI values, figures as written, limits."""

    values: Mapping[str, Any]
    written: Mapping[str, Any]
    limits: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Formula:
    """A checked formula: its text, tree, kind and compiled function."""

    text: str
    tree: Node
    kind: Kind
    function: Function


def make_formula(text: str, scope: Scope) -> Formula:
    """Parse, check and compile a formula.

    Raises `FormulaError` with a mark under the fault.

    >>> from configlint.units import dimension_named
    >>> scope = Scope({"v": dimension_named("velocity")})
    >>> make_formula("v <= 10[m/s]", scope).function({"v": 3.0}, {}, {})
    True
    """
    tree = parse_formula(text)
    kind = _Checker(text, scope).kind_of(tree)
    return Formula(text, tree, kind, compile_tree(tree, scope))


class _Checker:
    """The dimension check of one formula."""

    def __init__(self, text: str, scope: Scope) -> None:
        self.text = text
        self.scope = scope

    def error(self, node: Node, problem: str, advice: str) -> FormulaError:
        return FormulaError(self.text, node.span, problem, advice)

    def kind_of(self, node: Node) -> Kind:
        if isinstance(node, Number):
            return unit_named(node.unit).dimension if node.unit else NONE_KIND
        if isinstance(node, Text):
            return Sort.TEXT
        if isinstance(node, Texts):
            return Sort.TEXTS
        if isinstance(node, Name):
            return self.name(node)
        if isinstance(node, LookUp):
            return self.look_up(node)
        return self.applied(node)

    def name(self, node: Name) -> Kind:
        scope = self.scope
        for kinds in (scope.limits, scope.names):
            if node.path in kinds:
                return kinds[node.path]
        if node.path in CONSTANTS:
            return NONE_KIND
        known = [*scope.limits, *scope.names]
        raise self.error(
            node, f"there is no value {node.path!r}", offer_names(node.path, known)
        )

    def look_up(self, node: LookUp) -> Kind:
        table = self.scope.tables.get(node.table)
        if table is None:
            raise self.error(
                node,
                f"there is no table {node.table!r}",
                offer_names(node.table, self.scope.tables),
            )
        if self.kind_of(node.key) != table.key:
            raise self.error(
                node.key,
                f"this table's key is {kind_name(table.key)}",
                "Name a value of that kind.",
            )
        if not node.column:
            raise self.error(
                node,
                "a look-up names a column of its table",
                f"Write a dot and one of {', '.join(table.columns)} behind it.",
            )
        if node.column not in table.columns:
            raise self.error(
                node,
                f"the table {node.table!r} has no column {node.column!r}",
                offer_names(node.column, table.columns),
            )
        kind = table.columns[node.column].kind
        if table.matched_by and kind is not Sort.TEXT:
            raise self.error(
                node,
                "a table of ratios gives the texts of the rows that match",
                "Name one of its columns of texts.",
            )
        return kind

    def applied(self, node: Apply) -> Kind:
        kinds = [self.kind_of(operand) for operand in node.operands]
        self.closed_choices(node)
        try:
            if node.symbol == "**":
                return power_kind(kinds[0], exponent_of(node))
            return OPERATORS[node.symbol].kind(kinds)
        except KindError as problem:
            raise self.error(node, problem.problem, problem.advice) from None

    def closed_choices(self, node: Apply) -> None:
        """Refuse a comparison with a text that the input can never be."""
        if node.symbol not in COMPARED:
            return
        for name, constant in (node.operands, node.operands[::-1]):
            path = name.path if isinstance(name, Name) else ""
            choices = self.scope.choices.get(path, ())
            for text in _constant_texts(constant) if choices else ():
                if text not in choices:
                    raise self.error(
                        constant,
                        f"this input is never {text!r}",
                        f"It can be {', '.join(choices)}.",
                    )


def _constant_texts(node: Node) -> tuple[str, ...]:
    if isinstance(node, Text):
        return (node.text,)
    return node.texts if isinstance(node, Texts) else ()


def offer_names(word: str, known: Iterable[str]) -> str:
    """Advise the known names nearest to a wrong one, or how to see them all.

    >>> offer_names("sensor.bor", ["sensor.bore", "principle"])
    'The nearest known are sensor.bore.'
    """
    close = difflib.get_close_matches(word, list(known), n=3, cutoff=0.5)
    if close:
        return f"The nearest known are {', '.join(close)}."
    return "`configlint rules names` shows what formulas may name."


def exponent_of(node: Apply) -> Fraction:
    """Give a power's constant exponent as a fraction."""
    constant = evaluate(node.operands[1], Scope({}), Values({}, {}))
    return Fraction(str(constant)).limit_denominator(1000)


# --- compiling ------------------------------------------------------------

CONNECTIVES = frozenset({"and", "or"})
PLAIN: dict[str, type[ast.operator]] = {"+": ast.Add, "-": ast.Sub, "*": ast.Mult}
IDENTIFIERS = {
    operator.symbol: f"operator_{position}"
    for position, operator in enumerate(OPERATORS.values())
}
ARGUMENTS = ("values", "written", "limits")


def compile_tree(tree: Node, scope: Scope) -> Function:
    """Compile a checked tree to a function of (values, written, limits)."""
    parameters = ast.arguments(
        posonlyargs=[],
        args=[ast.arg(arg=name) for name in ARGUMENTS],
        kwonlyargs=[],
        kw_defaults=[],
        defaults=[],
    )
    body = ast.Lambda(args=parameters, body=_root_code(tree, scope))
    module = ast.fix_missing_locations(ast.Expression(body=body))
    function: Function = eval(compile(module, "<formula>", "eval"), _globals(scope))
    return function


def _globals(scope: Scope) -> dict[str, Any]:
    known: dict[str, Any] = {"__builtins__": {}}
    for symbol, identifier in IDENTIFIERS.items():
        known[identifier] = OPERATORS[symbol].evaluate
    for name, table in scope.tables.items():
        known[f"table_{name}"] = table.match if table.matched_by else table.look_up
    return known


def _root_code(tree: Node, scope: Scope) -> ast.expr:
    """Ask first whether a truth holds, with Python's own connectives.

    They compute the parts up to the first that decides, and the usual answer is
    yes. The parts are thus written at most twice, so that code stays in proportion
    to the formula.
    """
    whole = _code(tree, scope)
    if not isinstance(tree, Apply) or tree.symbol not in (*CONNECTIVES, "not"):
        return whole
    return ast.IfExp(_holds(tree, scope, True), ast.Constant(True), whole)


def _holds(node: Node, scope: Scope, truth: bool) -> ast.expr:
    """Give code that is true just where a truth is known and is the one asked for.

    By De Morgan's laws, `and` is false where a part is, and so on.
    """
    if isinstance(node, Apply) and node.symbol == "not":
        return _holds(node.operands[0], scope, not truth)
    if isinstance(node, Apply) and node.symbol in CONNECTIVES:
        parts = [_holds(part, scope, truth) for part in node.operands]
        every = truth is (node.symbol == "and")
        return ast.BoolOp(ast.And() if every else ast.Or(), parts)
    code = _code(node, scope)
    return code if truth else ast.Compare(code, [ast.Is()], [ast.Constant(False)])


def _code(node: Node, scope: Scope) -> ast.expr:
    if isinstance(node, Number):
        return ast.Constant(node.value)
    if isinstance(node, Text):
        return ast.Constant(node.text)
    if isinstance(node, Texts):
        return ast.Tuple([ast.Constant(text) for text in node.texts], ast.Load())
    if isinstance(node, Name):
        return _name_code(node, scope)
    if isinstance(node, LookUp):
        return _look_up_code(node, scope)
    return _apply_code(node, scope)


def _look_up_code(node: LookUp, scope: Scope) -> ast.expr:
    """Look a row up; what a ratio may mean is asked of the meter as well."""
    operands = [_code(node.key, scope), ast.Constant(node.column)]
    if scope.tables[node.table].matched_by:
        compared = [ast.Constant(path) for path in scope.inputs_of(node.key)]
        operands.append(ast.Tuple([*compared], ast.Load()))
        operands += [ast.Name(each, ast.Load()) for each in ("values", "written")]
    return _call(f"table_{node.table}", operands)


def _name_code(node: Name, scope: Scope) -> ast.expr:
    if node.path in scope.limits:
        return _item("limits", node.path)
    if node.path in scope.names:
        return _item("values", node.path)
    return ast.Constant(CONSTANTS[node.path])


def _apply_code(node: Apply, scope: Scope) -> ast.expr:
    if OPERATORS[node.symbol].as_written:
        operands: list[ast.expr] = [
            _call("written", [ast.Constant(operand.path)], "get")
            for operand in node.operands
            if isinstance(operand, Name)
        ]
    else:
        operands = [_code(operand, scope) for operand in node.operands]
    if node.symbol in PLAIN:
        return ast.BinOp(operands[0], PLAIN[node.symbol](), operands[1])
    return _call(IDENTIFIERS[node.symbol], operands)


def _item(mapping: str, key: str) -> ast.expr:
    return ast.Subscript(ast.Name(mapping, ast.Load()), ast.Constant(key), ast.Load())


def _call(name: str, operands: list[ast.expr], method: str = "") -> ast.expr:
    function: ast.expr = ast.Name(name, ast.Load())
    if method:
        function = ast.Attribute(function, method, ast.Load())
    return ast.Call(function, operands, [])


# --- walking --------------------------------------------------------------


def evaluate(node: Node, scope: Scope, values: Values) -> Any:
    """Compute one node of a checked tree from the same table of operators.

    >>> from configlint.parser import parse_formula
    >>> evaluate(parse_formula("1 + 2"), Scope({}), Values({}, {}))
    3.0
    """
    if isinstance(node, Number):
        return node.value
    if isinstance(node, Text):
        return node.text
    if isinstance(node, Texts):
        return node.texts
    if isinstance(node, Name):
        return _named(node.path, scope, values)
    if isinstance(node, LookUp):
        return _looked_up(node, scope, values)
    operator = OPERATORS[node.symbol]
    if operator.as_written:
        return operator.evaluate(
            *(values.written.get(o.path) for o in node.operands if isinstance(o, Name))
        )
    return operator.evaluate(*(evaluate(o, scope, values) for o in node.operands))


def _looked_up(node: LookUp, scope: Scope, values: Values) -> Any:
    key, table = evaluate(node.key, scope, values), scope.tables[node.table]
    if table.matched_by:
        compared = scope.inputs_of(node.key)
        return table.match(key, node.column, compared, values.values, values.written)
    return table.look_up(key, node.column)


def _named(path: str, scope: Scope, values: Values) -> Any:
    if path in scope.limits:
        return values.limits[path]
    if path in scope.names:
        return values.values[path]
    return CONSTANTS[path]
