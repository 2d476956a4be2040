"""Where each value of a file stands, to the character, and its round-trip reading.

An edit in place has to know where a value begins and ends in the text, which the
reader of meter files does not keep. This is the reading of another YAML library, which
is also asked, after an edit, whether the values are those that are meant. Indices count
from 0 in code points of the text without a byte order mark.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from configlint.errors import Fault, Place, RunError

if TYPE_CHECKING:
    from ruamel.yaml import YAML

__all__ = [
    "Alias",
    "Group",
    "Leaf",
    "Row",
    "Written",
    "read_layout",
    "read_round_trip",
    "step_of",
    "walk",
]

T = TypeVar("T")


class Leaf(NamedTuple):
    """A scalar: its text, its span with the quotes, and how it is written.

    `style` is the quote or block sign, "" for a plain scalar; `tag` is a type mark
    before it, which lies outside the span, as an anchor does.
    """

    start: int
    end: int
    text: str
    style: str = ""
    tag: str = ""


class Alias(NamedTuple):
    """A name that stands for a value written elsewhere."""

    start: int
    end: int
    name: str


class Group(NamedTuple):
    """A mapping; `column` is that of its keys.

    `end` is right behind its last written character, be it a bracket or a value.
    """

    start: int
    end: int
    column: int
    flow: bool
    entries: tuple[tuple[Written, Written], ...]


class Row(NamedTuple):
    """A list; its `end` is right behind its last written character."""

    start: int
    end: int
    flow: bool
    items: tuple[Written, ...]


Written = Leaf | Alias | Group | Row

# What stands behind a key that has no value: a colon, and anchor and type mark.
_COLON = re.compile(r"\s*:(?:[ \t]+[&!]\S*)*")
# What stands between the first mark of a value, an anchor or a type, and the value.
_PROPERTIES = re.compile(r"(?:[&!]\S*\s*(?:#[^\r\n]*\s*)*)*")
_USUAL_STEP = 2
# The kinds of scalar that would become anything but a text, or nothing.
_KINDS = ("bool", "int", "float", "timestamp", "value")


def read_layout(text: str, file: str) -> tuple[Written, ...]:
    """Read where the values of a text stand; give the root of every document.

    Raises `RunError` where the text can't be read.

    >>> (root,) = read_layout("sensor:\\n  bore: 150 mm  # measured\\n", "a.yaml")
    >>> section = root.entries[0][1]
    >>> section.column, section.entries[0][1]
    (2, Leaf(start=16, end=22, text='150 mm', style='', tag=''))
    """
    plain = _without_tabs(text)
    return _all_of(lambda reader: _Composer(reader.parse(plain), plain).roots(), file)


def read_round_trip(text: str, file: str) -> tuple[Any, ...]:
    """Load a text with merge keys and aliases followed; scalars stay texts.

    Raises `RunError` where the text can't be loaded.

    >>> read_round_trip("a: &x {b: 0010}\\nc: {<<: *x, d: }\\n", "a.yaml")
    ({'a': {'b': '0010'}, 'c': {'d': None, 'b': '0010'}},)
    """
    plain = _without_tabs(text)
    return _all_of(lambda reader: map(_plain, reader.load_all(plain)), file)


def _without_tabs(text: str) -> str:
    """Give a text with a blank for every tab, so that all indices stay.

    YAML lets a tab stand before a comment or behind a colon, and the library does not.
    In an indentation there is none: the reader of meter files has refused it before.
    A value with a tab in it is read with a blank here, before an edit and after it.
    """
    return text.replace("\t", " ")


def walk(roots: Iterable[Written]) -> Iterator[Written]:
    """Give everything that is written, the outer before the inner."""
    for node in roots:
        yield node
        if isinstance(node, Row):
            yield from walk(node.items)
        elif isinstance(node, Group):
            yield from walk(part for entry in node.entries for part in entry)


def step_of(roots: Iterable[Written]) -> int:
    """Tell by how many blanks a file indents a section, 2 where it shows none."""
    steps = (
        inner.column - node.column
        for node in walk(roots)
        if isinstance(node, Group) and not node.flow
        for _, inner in node.entries
        if isinstance(inner, Group) and not inner.flow
    )
    return next(steps, _USUAL_STEP)


class _Composer:
    """Builds the values of a text from the parser's events."""

    def __init__(self, events: Iterator[Any], text: str) -> None:
        self.take: Callable[[], Any] = lambda: next(events)
        self.text = text

    def roots(self) -> Iterator[Written]:
        self.take()
        while self.name(self.take()) == "DocumentStart":
            yield self.node(self.take())
            self.take()

    def name(self, event: Any) -> str:
        """Tell what an event is; the library's own classes would cost its import."""
        return type(event).__name__.removesuffix("Event")

    def node(self, event: Any) -> Written:
        start, end = event.start_mark.index, event.end_mark.index
        match self.name(event):
            case "Alias":
                return Alias(start, end, event.anchor)
            case "Scalar":
                begun = self.behind_properties(event, start)
                style, tag = event.style or "", event.tag or ""
                return Leaf(min(begun, end), end, event.value, style, tag)
            case "SequenceStart":
                return self.row(event, start)
        return self.group(event, start)

    def behind_properties(self, event: Any, start: int) -> int:
        """Find where a scalar starts behind its anchor and its type mark."""
        if event.anchor is None and event.tag is None:
            return start
        found = _PROPERTIES.match(self.text, start)
        return start if found is None else found.end()

    def row(self, event: Any, start: int) -> Row:
        items: list[Written] = []
        while self.name(last := self.take()) != "SequenceEnd":
            items.append(self.node(last))
        flow = bool(event.flow_style)
        end = last.end_mark.index if flow else items[-1].end
        return Row(start, end, flow, tuple(items))

    def group(self, event: Any, start: int) -> Group:
        entries: list[tuple[Written, Written]] = []
        column = event.start_mark.column
        while self.name(last := self.take()) != "MappingEnd":
            if not entries and (event.anchor or event.tag):
                # The mapping begins with these, which may stand in the line above.
                column = last.start_mark.column
            key = self.node(last)
            entries.append((key, self.placed(self.node(self.take()), key)))
        flow = bool(event.flow_style)
        end = last.end_mark.index if flow else max(each.end for each in entries[-1])
        return Group(start, end, column, flow, tuple(entries))

    def placed(self, value: Written, key: Written) -> Written:
        """Place a value of no length behind its colon; the parser may go lines on."""
        if not isinstance(value, Leaf) or value.start < value.end:
            return value
        colon = _COLON.match(self.text, key.end)
        at = key.end if colon is None else colon.end()
        return value._replace(start=at, end=at)


def _all_of(read: Callable[[YAML], Iterable[T]], file: str) -> tuple[T, ...]:
    """Read a whole text, or raise what the library has against it as our error."""
    reader = _library()
    try:
        with warnings.catch_warnings():
            # An anchor that is set twice is told by the reader of meter files.
            warnings.simplefilter("ignore")
            return tuple(read(reader()))
    except Exception as error:
        # The library does not only raise errors of its own: a key that is a section,
        # or a figure of thousands of digits, ends in one of the language.
        mark = getattr(error, "problem_mark", None)
        place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)
        said = getattr(error, "problem", None) or str(error)
        problem = f"The second reader, which proves an edit, can't read this: {said}."
        advice = "Write it more plainly, or change the file by hand."
        raise RunError(Fault("file-readable", place, problem, advice)) from error


@cache
def _library() -> Callable[[], YAML]:
    from ruamel.yaml import YAML
    from ruamel.yaml.constructor import RoundTripConstructor

    class Texts(RoundTripConstructor):
        """Leaves every scalar the text that is written."""

    for kind in _KINDS:
        tag = f"tag:yaml.org,2002:{kind}"
        Texts.add_constructor(tag, RoundTripConstructor.construct_yaml_str)

    def reader() -> YAML:
        made = YAML(typ="rt", pure=True)
        made.Constructor = Texts
        # Which of two equal keys counts is told by the reader of meter files.
        made.allow_duplicate_keys = True
        return made

    return reader


def _plain(value: Any) -> Any:
    """Copy what was loaded to dicts, lists and texts; of the rest, what it shows."""
    if isinstance(value, dict):
        return {_key(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    return _key(value)


def _key(value: Any) -> str | None:
    if isinstance(value, str):
        return str(value)
    return None if value is None else repr(value)
