"""Formulas as trees: a few kinds of node, each with its place in the text.

`parser` makes the trees, `compiler` checks and computes them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from configlint.errors import ConfiglintError

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
    "asked_for",
    "children",
    "in_one_line",
    "names",
]


class Span(NamedTuple):
    """Where a node stands in its formula: first column and the one behind."""

    start: int
    end: int


def in_one_line(text: str) -> str:
    r"""Write a formula in one line, with every character in its column.

    >>> in_one_line("a <= b\nor c")
    'a <= b or c'
    """
    return re.sub(r"[\r\n\t]", " ", text)


class FormulaError(ConfiglintError):
    """A formula that can't be taken, with the span of the fault."""

    def __init__(self, text: str, span: Span, problem: str, advice: str) -> None:
        super().__init__(text, span, problem, advice)
        self.text = in_one_line(text)
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
    if isinstance(node, LookUp):
        yield node.key
    elif isinstance(node, Apply):
        yield from node.operands


def asked_for(node: Node) -> Iterator[str]:
    """Give the paths of all values that a tree asks to be given."""
    if isinstance(node, Apply) and node.symbol == "given":
        yield from names(node)
    for child in children(node):
        yield from asked_for(child)


def names(node: Node) -> Iterator[str]:
    """Give the paths that a tree names, from left to right, repeated ones too.

    >>> tree = Apply("not", (Name("a.b", Span(4, 7)),), Span(0, 7))
    >>> list(names(tree))
    ['a.b']
    """
    if isinstance(node, Name):
        yield node.path
    for child in children(node):
        yield from names(child)
