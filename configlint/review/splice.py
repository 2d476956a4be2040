"""One value of a file set in its text, with every other character left as it is.

A value that is written is replaced in its own quotes. One that is not is put into its
section as a new line, or inside the brackets of a section in brackets. What can't be
done for certain is refused: a value that is taken over from elsewhere, one in a block
of lines, one that is written twice.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from configlint.documents import Document
from configlint.errors import Fault, Path, Place, RunError
from configlint.fields import dotted
from configlint.review.layout import (
    Alias,
    Group,
    Leaf,
    Row,
    Written,
    read_layout,
    step_of,
)
from configlint.review.scalar_text import quote_of, scalar_text
from configlint.scalars import shown
from configlint.usual_lines import NULLS

__all__ = ["UNSETTABLE", "Spliced", "splice"]

UNSETTABLE = "value-settable"
"""The kind of fault that a value is which can't be set in place."""

_BREAK = re.compile("\r\n|\r|\n")
_BLOCKS = ("|", ">")
_BY_HAND = "Change the file by hand."
_SHARED = (
    "Where a meter holds it, set it in all the meters that share it in one call; where "
    "none does, write the section out here first."
)


class Spliced(NamedTuple):
    """A text with one value set.

    `merged_from` is the place of the value that a merge key brings in otherwise, and
    that the one which is set now overrides.
    """

    text: str
    merged_from: Place | None = None


class _Spot(NamedTuple):
    """Where a value goes: a written scalar, or a section and the keys it lacks.

    `column` is that of the keys of the section around; `flow` says that the spot lies
    inside brackets.
    """

    node: Leaf | Group
    rest: tuple[str, ...]
    column: int
    flow: bool
    merged_from: Place | None = None


def splice(
    text: str, documents: Sequence[Document], number: int, path: Path, value: str
) -> Spliced:
    """Set the value at a path of a text's document, the one of that number.

    Raises `RunError` where that can't be done in one place.

    >>> from configlint.documents import read_document
    >>> text = "sensor:\\n  bore: 150 mm  # measured\\n"
    >>> read = read_document(text.encode(), "a.yaml").documents
    >>> print(splice(text, read, 0, ("sensor", "bore"), "151 mm").text, end="")
    sensor:
      bore: 151 mm  # measured
    >>> print(splice(text, read, 0, ("sensor", "serial"), "0010").text, end="")
    sensor:
      bore: 150 mm  # measured
      serial: "0010"
    """
    finder = _Finder(documents[number], path)
    roots = read_layout(text, documents[number].file)
    if len(roots) != len(documents):
        raise finder.refusal("another document of the file is faulty.", "Mend it.")
    spot, spare = finder.spot(roots[number]), quote_of(roots)
    if spot.rest:
        return Spliced(_added(text, spot, value, roots, spare), spot.merged_from)
    style = spot.node.style if isinstance(spot.node, Leaf) else ""
    made = scalar_text(value, style, spare, spot.flow)
    return Spliced(_put(text, spot.node, made))


class _Finder:
    """Follows a path to where its value is or belongs, or says why it can't be set."""

    def __init__(self, document: Document, path: Path) -> None:
        self.document = document
        self.path = path

    def refusal(self, said: str, advice: str) -> RunError:
        elsewhere = self.document.source_place(self.path)
        place, problem = self.document.place(self.path), f"{dotted(self.path)}: {said}"
        fault = Fault(UNSETTABLE, place, problem, advice, self.path, elsewhere)
        return RunError(fault)

    def spot(self, root: Written) -> _Spot:
        node, column, flow = root, 0, False
        for depth, step in enumerate(self.path):
            if isinstance(node, Row) and isinstance(step, int):
                flow = flow or node.flow
                node = self.item(node, step)
                continue
            if isinstance(node, Leaf):
                return self.opened(node, self.path[depth:], column, flow)
            section = self.section(node)
            flow, column = flow or section.flow, section.column
            found = [value for key, value in section.entries if _is_key(key, step)]
            if not found:
                return self.lacking(section, depth, flow)
            node = self.only(found)
        return self.written(node, column, flow)

    def item(self, row: Row, index: int) -> Written:
        if index < len(row.items):
            return row.items[index]
        raise self.refusal("the list has no such item.", _BY_HAND)

    def section(self, node: Written) -> Group:
        """Give a section that is written here, not taken over from elsewhere."""
        if isinstance(node, Group):
            return node
        if isinstance(node, Alias):
            raise self.taken_over(node)
        raise self.refusal("a list stands where its section is expected.", _BY_HAND)

    def only(self, found: list[Written]) -> Written:
        if len(found) == 1:
            return found[0]
        said = "a key on the way to it is written more than once."
        raise self.refusal(said, "Delete all but one.")

    def taken_over(self, alias: Alias) -> RunError:
        said = f"this is not written here but taken over by *{alias.name}."
        return self.refusal(said, _SHARED)

    def written(self, node: Written, column: int, flow: bool) -> _Spot:
        """Give the spot of a value that stands where the path ends."""
        if isinstance(node, Alias):
            raise self.taken_over(node)
        if not isinstance(node, Leaf):
            thing = "section" if isinstance(node, Group) else "list"
            raise self.refusal(f"a {thing} is written here.", _BY_HAND)
        if node.style in _BLOCKS:
            said = f"this is written as a block of lines behind {node.style}."
            raise self.refusal(said, "Write it in one line first.")
        if node.tag:
            said = "a type mark stands before the value."
            raise self.refusal(said, "Delete the mark first.")
        return _Spot(node, (), column, flow)

    def opened(self, leaf: Leaf, rest: Path, column: int, flow: bool) -> _Spot:
        """Give the spot in a section that is written as a key with nothing in it."""
        if leaf.text in NULLS and not leaf.style:
            return _Spot(leaf, tuple(map(str, rest)), column, flow)
        said = f"{shown(leaf.text)} is written in place of its section."
        raise self.refusal(said, "Delete these words first, if the section is used.")

    def lacking(self, section: Group, depth: int, flow: bool) -> _Spot:
        """Give the spot in a section that lacks a key, or has it by a merge key."""
        rest = tuple(map(str, self.path[depth:]))
        reached = self.path[: depth + 1]
        merged = self.document.source_place(reached)
        if merged is None or not self.document.holds(reached):
            return _Spot(section, rest, section.column, flow)
        if len(rest) == 1:
            return _Spot(section, rest, section.column, flow, merged)
        said = "its section is not written here but comes through the merge key <<."
        raise self.refusal(said, _SHARED)


def _is_key(node: Written, step: str | int) -> bool:
    return isinstance(node, Leaf) and node.text == step


def _added(
    text: str, spot: _Spot, value: str, roots: Sequence[Written], spare: str
) -> str:
    """Put in a value that is not written yet, with the sections that it lacks."""
    keys = [scalar_text(key, "", spare, flow=True) for key in spot.rest]
    node, step = spot.node, step_of(roots)
    if isinstance(node, Group) and spot.flow:
        made = _in_brackets(keys, scalar_text(value, "", spare, flow=True))
        return _put_in_brackets(text, node, made)
    if isinstance(node, Leaf) and (spot.flow or node.start < node.end):
        made = _in_brackets(keys, scalar_text(value, "", spare, flow=True))
        return _put(text, node, f"{{{made}}}")
    column = spot.column + (step if isinstance(node, Leaf) else 0)
    lines = [f"{' ' * (column + step * n)}{key}:" for n, key in enumerate(keys)]
    lines[-1] += f" {scalar_text(value, '', spare)}"
    return _put_behind(text, node.end, lines)


def _put(text: str, node: Written, made: str) -> str:
    """Put a value in the place of another; where none is, behind the colon."""
    before = text[: node.start]
    gap = "" if node.start < node.end or before.endswith((" ", "\n", "\r")) else " "
    return f"{before}{gap}{made}{text[node.end :]}"


def _in_brackets(keys: Sequence[str], value: str) -> str:
    """Write `key: value`, with all keys but the first in brackets of their own."""
    made = f"{keys[-1]}: {value}"
    for key in reversed(keys[:-1]):
        made = f"{key}: {{{made}}}"
    return made


def _put_in_brackets(text: str, group: Group, made: str) -> str:
    """Put an entry behind the last one in brackets."""
    if not group.entries:
        return f"{text[: group.end - 1]}{made}{text[group.end - 1 :]}"
    key, value = group.entries[-1]
    last = max(key.end, value.end)
    # A comma right behind a colon would be a part of the key.
    gap = " " if value.start == value.end else ""
    return f"{text[:last]}{gap}, {made}{text[last:]}"


def _put_behind(text: str, end: int, lines: Sequence[str]) -> str:
    """Put lines behind the line that a section ends in, with the file's line ends."""
    usual = _BREAK.search(text)
    ending = usual[0] if usual else "\n"
    if text[:end].endswith(("\n", "\r")):
        # A block of lines ends with the end of its last line.
        return f"{text[:end]}{''.join(f'{each}{ending}' for each in lines)}{text[end:]}"
    found = _BREAK.search(text, end)
    if found is None:
        return f"{text}{ending}{ending.join(lines)}"
    ending = found[0]
    made = "".join(f"{each}{ending}" for each in lines)
    return f"{text[: found.end()]}{made}{text[found.end() :]}"
