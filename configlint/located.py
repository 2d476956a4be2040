"""A document and the places of its values.

The marks of a document are a tree beside its values. Its leaves are whatever
event a parser gave for a scalar; line and column are worked out only when
somebody asks, since most files give rise to no question.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple, Protocol

from configlint.errors import Fault, Path, Place

__all__ = [
    "BOUNDS",
    "Borrowed",
    "Bounds",
    "Document",
    "Event",
    "LateMarks",
    "Mark",
    "Position",
    "Reading",
    "Scalar",
    "Section",
    "Series",
    "origin",
    "place_of",
]


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a file may cost: bytes, levels of nesting, values with aliases expanded.

    Keys count as values. The defaults hold some thousand meters in one file.
    """

    bytes: int = 4_000_000
    depth: int = 50
    nodes: int = 500_000


BOUNDS = Bounds()


class Position(Protocol):
    """Line and column of a parser, counted from 0 in code points."""

    @property
    def line(self) -> int:
        """The line, from 0."""

    @property
    def column(self) -> int:
        """The column, from 0."""


class Event(Protocol):
    """What a parser reports, with where it starts."""

    @property
    def start_mark(self) -> Position | None:
        """Where it starts, with its anchor if it has one."""


class Scalar(Event, Protocol):
    """A scalar as a parser reports it."""

    @property
    def style(self) -> str | None:
        """The quote or block sign; nothing for a plain scalar."""


class Section(NamedTuple):
    """The marks of a mapping; `keys` also has those whose value was refused."""

    event: Event
    keys: dict[str, Event]
    values: dict[str, Mark]


class Series(NamedTuple):
    """The marks of a list."""

    event: Event
    values: list[Mark]


class Borrowed(NamedTuple):
    """The mark of a value that came through an alias, which stands at `event`."""

    event: Event
    source: Mark


Mark = Scalar | Section | Series | Borrowed


class LateMarks:
    """The marks of a document that are made when the first place is asked for."""

    __slots__ = ("_make", "_marks")

    def __init__(self, make: Callable[[], Mark]) -> None:
        self._make = make
        self._marks: Mark | None = None

    def made(self) -> Mark:
        """Give the marks, the same ones every time."""
        if self._marks is None:
            self._marks = self._make()
        return self._marks


def origin(mark: Mark) -> Scalar | Section | Series:
    """Follow aliases to the mark of what is written."""
    while isinstance(mark, Borrowed):
        mark = mark.source
    return mark


def place_of(event: Event, file: str) -> Place:
    """Turn where an event starts into a place; an event without marks is at 1:1."""
    mark = event.start_mark
    return Place(file) if mark is None else Place(file, mark.line + 1, mark.column + 1)


def _event(mark: Mark) -> Event:
    return mark.event if isinstance(mark, Section | Series | Borrowed) else mark


def _step(mark: Mark, step: str | int) -> Mark | None:
    inside = origin(mark)
    if isinstance(inside, Section) and isinstance(step, str):
        return inside.values.get(step)
    if isinstance(inside, Series) and isinstance(step, int):
        return inside.values[step] if 0 <= step < len(inside.values) else None
    return None


class _Steps(NamedTuple):
    """How far a path leads: its first alias, the last mark, and if to its end."""

    alias: Event | None
    mark: Mark
    arrived: bool


def _walk(mark: Mark, path: Path) -> _Steps:
    alias = None
    for step in path:
        inner = _step(mark, step)
        if inner is None:
            return _Steps(alias, mark, False)
        mark = inner
        if alias is None and isinstance(mark, Borrowed):
            alias = mark.event
    return _Steps(alias, mark, True)


@dataclass(frozen=True, slots=True)
class Document:
    """One YAML document and where each of its values stands.

    `value` is a dict in written order, a list, a text as written, or None for a
    plain `~`, `null` or nothing. Parts that came through an alias are shared, so
    nobody may change them. `marks` serves the methods alone. `faults` are those
    that were met in this document.

    >>> from configlint.documents import read_document
    >>> document = read_document(b"meter:\\n  tag: FT-2104\\n", "m.yaml").documents[0]
    >>> document.value
    {'meter': {'tag': 'FT-2104'}}
    >>> print(document.place(("meter", "tag")), document.key_place(("meter", "tag")))
    m.yaml:2:8 m.yaml:2:3
    """

    file: str
    value: object
    marks: Mark | LateMarks
    faults: tuple[Fault, ...] = ()

    def _tree(self) -> Mark:
        return self.marks.made() if isinstance(self.marks, LateMarks) else self.marks

    def place(self, path: Path) -> Place:
        """Find a value, or its nearest written ancestor; for an aliased one the alias.

        >>> from configlint.documents import read_document
        >>> marked = b"a: &x {size: DN 50}\\nb: *x\\nc: {<<: *x}\\n"
        >>> document = read_document(marked, "m.yaml").documents[0]
        >>> print(document.place(("b", "size")), document.place(("c", "size")))
        m.yaml:2:4 m.yaml:3:9
        >>> print(document.place(("a", "bore")))
        m.yaml:1:4
        """
        alias, mark, _ = _walk(self._tree(), path)
        return place_of(alias or _event(mark), self.file)

    def holds(self, path: Path) -> bool:
        """Tell whether a path leads to a written value."""
        return _walk(self._tree(), path).arrived

    def key_place(self, path: Path) -> Place:
        """Find the key that ends a path; for a list item or the root, the value.

        A key whose value was refused has a place as well. A key that came through
        an alias or a merge key stands where the alias stands.
        """
        if path:
            alias, mark, arrived = _walk(self._tree(), path[:-1])
            section, key = origin(mark), path[-1]
            if arrived and isinstance(section, Section) and key in section.keys:
                return place_of(alias or section.keys[str(key)], self.file)
        return self.place(path)

    def source_place(self, path: Path) -> Place | None:
        """Find where a value is written that came through an alias or a merge key.

        >>> from configlint.documents import read_document
        >>> marked = b"a: &x {size: DN 50}\\nb: *x\\n"
        >>> document = read_document(marked, "m.yaml").documents[0]
        >>> print(document.source_place(("b", "size")))
        m.yaml:1:14
        >>> print(document.source_place(("a", "size")))
        None
        """
        alias, mark, _ = _walk(self._tree(), path)
        return None if alias is None else place_of(_event(origin(mark)), self.file)

    def is_plain(self, path: Path) -> bool:
        """Tell whether a path leads to a scalar that is written without quotes."""
        _, mark, arrived = _walk(self._tree(), path)
        scalar = origin(mark)
        if not arrived or isinstance(scalar, Section | Series):
            return False
        # The C parser gives a plain scalar the style "", the Python one None.
        return not scalar.style


@dataclass(frozen=True, slots=True)
class Reading:
    """What a file gave: its documents, and all faults in the order they were met.

    A document whose root was refused, or whose syntax broke, is left out.
    """

    documents: tuple[Document, ...]
    faults: tuple[Fault, ...]
