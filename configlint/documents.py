"""Text to values with places: a scalar stays the text that was written.

What a scalar *is* (a number, a date, a truth value) the model decides, so that a
key `on`, a serial `0012345` and a figure `0.1550` come through as written.

A value that nobody can trust (a repeated key's, one behind a type mark, an alias
of nothing) counts as not written: it is left out, and a fault says why.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, NoReturn, cast

import yaml
from yaml.events import (
    CollectionEndEvent,
    CollectionStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
    StreamEndEvent,
)

from configlint import refusals
from configlint.errors import ConfiglintError, Fault, Place
from configlint.located import (
    BOUNDS,
    Borrowed,
    Bounds,
    Document,
    Event,
    LateMarks,
    Mark,
    Reading,
    Section,
    Series,
    origin,
    place_of,
)
from configlint.plain_scalars import read_otherwise
from configlint.refusals import Refusal, shorten
from configlint.source_text import Stop, decode, explain, split_lines
from configlint.usual_lines import NULLS, mark_lines, read_lines

__all__ = [
    "BOUNDS",
    "Bounds",
    "Document",
    "Reading",
    "read_document",
    "read_otherwise",
]


_Take = Callable[[], Event]
_Node = ScalarEvent | CollectionStartEvent
_Value = tuple[object, Mark | None]

_REFUSED: _Value = (None, None)
_MERGE = "<<"
_MOST_FAULTS = 1000


class _OverflowError(ConfiglintError):
    """Reading on would cost too much; the fault that says so has been kept."""


class _Anchored(NamedTuple):
    """What an anchor names, and how many values; None while it is being read."""

    event: Event
    value: _Value | None
    nodes: int = 0


class _Reader:
    """Builds the documents of one file from a parser's events."""

    def __init__(self, take: _Take, file: str, bounds: Bounds) -> None:
        self.take = take
        self.file = file
        self.bounds = bounds
        self.path: list[str | int] = []
        self.faults: list[Fault] = []
        self.documents: list[Document] = []
        self.anchors: dict[str | None, _Anchored] = {}
        self.nodes = 0

    def read_stream(self) -> None:
        self.take()
        while type(self.take()) is not StreamEndEvent:
            self.anchors.clear()
            before = len(self.faults)
            value, mark = self.value(self.take())
            if mark is not None:
                faults = tuple(self.faults[before:])
                self.documents.append(Document(self.file, value, mark, faults))
            self.take()

    def refuse(
        self,
        event: Event,
        refusal: Refusal,
        elsewhere: Event | None = None,
        **words: object,
    ) -> _Value:
        if len(self.faults) == _MOST_FAULTS:
            self.overflow(event, refusals.FAULTS_TOO_MANY, _MOST_FAULTS)
        first = None if elsewhere is None else place_of(elsewhere, self.file)
        problem, advice = (text.format(**words) for text in refusal[:2])
        place, path = place_of(event, self.file), tuple(self.path)
        self.faults.append(Fault(refusal.kind, place, problem, advice, path, first))
        return _REFUSED

    def overflow(self, event: Event, refusal: Refusal, most: int) -> NoReturn:
        problem, place = refusal.problem.format(most=most), place_of(event, self.file)
        self.faults.append(Fault(refusal.kind, place, problem, refusal.advice))
        raise _OverflowError

    def limit_nodes(self) -> None:
        """Count the written values from now on, which costs time, up to the bound."""
        take, left = self.take, self.bounds.nodes

        def take_counted() -> Event:
            nonlocal left
            event = take()
            left -= isinstance(event, NodeEvent)
            if left < 0:
                self.overflow(event, refusals.VALUES_TOO_MANY, self.bounds.nodes)
            return event

        self.take = take_counted

    def value(self, event: Event) -> _Value:
        """Read any value; its mark is None where it counts as not written."""
        if not isinstance(event, _Node):
            return self.alias(event)
        if event.anchor is None:
            return self.bare_value(event)
        before = self.nodes
        self.anchors[event.anchor] = _Anchored(event, None)
        value = self.bare_value(event)
        self.anchors[event.anchor] = _Anchored(event, value, self.nodes - before)
        return value

    def bare_value(self, event: _Node) -> _Value:
        if event.tag is not None:
            mark = shorten(event.tag.replace("tag:yaml.org,2002:", "!!"))
            self.refuse(event, refusals.TYPE_MARK, mark=mark)
            return self.skip(event)
        if isinstance(event, ScalarEvent):
            text = event.value
            return (None if text in NULLS and not event.style else text), event
        if len(self.path) >= self.bounds.depth:
            self.too_deep(event, len(self.path) + 1)
            return self.skip(event, told=True)
        if isinstance(event, MappingStartEvent):
            return self.mapping(event)
        return self.series(event)

    def inner_value(self, key: str | int, event: Event) -> _Value:
        self.path.append(key)
        value = self.value(event)
        self.path.pop()
        return value

    def series(self, start: Event) -> _Value:
        values: list[object] = []
        marks: list[Mark] = []
        while type(event := self.take()) is not SequenceEndEvent:
            value, mark = self.inner_value(len(values), event)
            if mark is not None:
                values.append(value)
                marks.append(mark)
        self.nodes += len(marks)
        return values, Series(start, marks)

    def mapping(self, start: Event) -> _Value:
        """Read a mapping: the hot loop, in which a usual entry makes two calls."""
        take = self.take
        entries: dict[str, object] = {}
        keys: dict[str, Event] = {}
        marks: dict[str, Mark] = {}
        key: str | None
        value: object
        mark: Mark | None
        while type(event := take()) is not MappingEndEvent:
            if type(event) is ScalarEvent and event.tag is event.anchor is None:
                key = event.value
            elif (key := self.odd_key(event)) is None:
                self.skip(take())
                continue
            inner = take()
            if type(inner) is ScalarEvent and inner.tag is inner.anchor is None:
                value = inner.value
                mark = inner
                if value in NULLS and not inner.style:
                    value = None
            else:
                value, mark = self.inner_value(key, inner)
            if key in keys:
                self.repeated(key, event, keys[key])
                entries.pop(key, None)
                marks.pop(key, None)
                continue
            keys[key] = event
            if mark is not None:
                entries[key] = value
                marks[key] = mark
        self.nodes += 2 * len(marks)
        section = Section(start, keys, marks)
        if _MERGE in marks:
            self.merge(entries, section)
        return entries, section

    def odd_key(self, event: Event) -> str | None:
        """Read a key that has a tag or an anchor, or that is no scalar."""
        if isinstance(event, CollectionStartEvent):
            self.refuse(event, refusals.KEY_NO_SCALAR)
            self.skip(event)
            return None
        _, mark = self.value(event)
        scalar = None if mark is None else origin(mark)
        if isinstance(scalar, ScalarEvent):
            return scalar.value
        if scalar is not None:
            self.refuse(event, refusals.KEY_NO_SCALAR)
        return None

    def repeated(self, key: str, event: Event, first: Event) -> None:
        self.path.append(key)
        self.refuse(event, refusals.KEY_REPEATED, first, key=shorten(key))
        self.path.pop()

    def too_deep(self, event: Event, levels: int) -> None:
        most = self.bounds.depth
        self.refuse(event, refusals.TOO_DEEP, levels=levels, most=most)

    def skip(self, event: Event, told: bool = False) -> _Value:
        """Pass over a refused value; an alias of a part of it is refused as well.

        Far beyond the bound on depth, which is `told` or not yet, reading ends: a
        parser's own limit would only come as another fault.
        """
        levels = 0
        while True:
            if isinstance(event, _Node) and event.anchor is not None:
                self.anchors[event.anchor] = _Anchored(event, _REFUSED)
            if isinstance(event, CollectionStartEvent):
                levels += 1
            elif isinstance(event, CollectionEndEvent):
                levels -= 1
            if levels == 0:
                return _REFUSED
            if levels > 2 * self.bounds.depth:
                if not told:
                    self.too_deep(event, len(self.path) + levels)
                raise _OverflowError
            event = self.take()

    def alias(self, event: Event) -> _Value:
        name = cast(NodeEvent, event).anchor
        if (anchored := self.anchors.get(name)) is None:
            return self.refuse(event, refusals.ALIAS_UNKNOWN, name=name)
        first, anchored_value, nodes = anchored
        if anchored_value is None:
            return self.refuse(event, refusals.ALIAS_IN_ITSELF, first, name=name)
        if self.nodes + nodes > (most := self.bounds.nodes):
            refusal = refusals.ALIASES_TOO_MANY
            return self.refuse(event, refusal, first, name=name, most=most)
        self.nodes += nodes
        value, mark = anchored_value
        return _REFUSED if mark is None else (value, Borrowed(event, mark))

    def merge(self, entries: dict[str, object], section: Section) -> None:
        """Put in what a merge key brings; a written key wins, then the first source."""
        key = section.keys[_MERGE]
        if isinstance(key, ScalarEvent) and key.style:
            return
        value, mark = entries.pop(_MERGE), section.values.pop(_MERGE)
        whole = origin(mark)
        if not isinstance(whole, Series):
            self.merge_one(value, mark, entries, section)
            return
        for item, item_mark in zip(
            cast(list[object], value), whole.values, strict=True
        ):
            if isinstance(mark, Borrowed):
                item_mark = Borrowed(mark.event, item_mark)
            self.merge_one(item, item_mark, entries, section)

    def merge_one(
        self, value: object, mark: Mark, entries: dict[str, object], section: Section
    ) -> None:
        source = origin(mark)
        if not (isinstance(source, Section) and isinstance(value, dict)):
            self.refuse(section.keys[_MERGE], refusals.MERGE_NO_SECTION)
            return
        alias = mark.event if isinstance(mark, Borrowed) else None
        for key, inner in source.values.items():
            if key not in section.keys:
                entries[key] = value[key]
                section.keys[key] = alias or source.keys[key]
                section.values[key] = Borrowed(alias, inner) if alias else inner


class _PythonLoader(yaml.BaseLoader):
    """PyYAML's parser in Python, made to refuse what the one in C refuses."""

    def get_event(self) -> object:
        parse = cast(Callable[[], object], super().get_event)
        try:
            event = parse()
            # Half a surrogate pair, written as an escape, could never be printed.
            getattr(event, "value", "").encode("utf-8")
        except (OverflowError, ValueError) as error:
            problem, mark = "found a number out of range", self.get_mark()
            raise yaml.MarkedYAMLError(problem=problem, problem_mark=mark) from error
        return event


def _events(text: str) -> _Take:
    """Choose the parser in C, which is some 25 times as fast, where there is one."""
    loader = getattr(yaml, "CBaseLoader", _PythonLoader)
    return cast(_Take, loader(text).get_event)


def _syntax_fault(error: yaml.MarkedYAMLError, text: str, file: str) -> Fault:
    lines = split_lines(text)
    stopped, begun = error.problem_mark, error.context_mark
    row, column = (stopped.line, stopped.column) if stopped else (0, 0)
    if row >= len(lines):
        row, column = len(lines) - 1, len(lines[-1])
    opened = (begun.line, begun.column) if begun else None
    slip = explain(Stop(lines, row, column, opened, error.problem or ""))
    place = Place(file, slip.row + 1, slip.column + 1)
    return Fault("file-readable", place, slip.problem, slip.advice)


def _read_text(text: str, file: str, bounds: Bounds) -> Reading:
    reader = _Reader(_events(text), file, bounds)
    if 2 * len(text) > bounds.nodes:
        reader.limit_nodes()
    try:
        reader.read_stream()
    except yaml.MarkedYAMLError as error:
        reader.faults.append(_syntax_fault(error, text, file))
    except _OverflowError:
        pass
    return Reading(tuple(reader.documents), tuple(reader.faults))


def read_document(data: bytes, file: str, bounds: Bounds = BOUNDS) -> Reading:
    """Read a YAML file's bytes: every document, and every fault with its place.

    No bytes raise an error. Of a stream whose syntax breaks, the documents before
    the break are kept. An empty file is one document without a value.

    >>> reading = read_document(b"fluid: water\\nduty: a\\nduty: b\\n", "m.yaml")
    >>> reading.documents[0].value
    {'fluid': 'water'}
    >>> print(reading.faults[0].place, reading.faults[0].elsewhere)
    m.yaml:3:1 m.yaml:2:1
    """
    if len(data) > bounds.bytes:
        problem, advice, kind = refusals.BYTES_TOO_MANY
        problem = problem.format(most=bounds.bytes)
        return Reading((), (Fault(kind, Place(file), problem, advice),))
    text, faults = decode(data, file)
    if faults:
        return Reading((), faults)
    document = _read_lines(text, file, bounds)
    if document is not None:
        return Reading((document,), ())
    reading = _read_text(text, file, bounds)
    if reading.documents or reading.faults:
        return reading
    nothing = ScalarEvent(None, None, (True, False), "")
    return Reading((Document(file, None, nothing),), ())


def _read_lines(text: str, file: str, bounds: Bounds) -> Document | None:
    """Read a file of usual lines alone; its marks are made when they are needed."""
    if 2 * len(text) > bounds.nodes:
        return None
    value = read_lines(text, bounds.depth)
    if value is None:
        return None
    return Document(file, value, LateMarks(lambda: mark_lines(text)))
