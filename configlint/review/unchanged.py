"""Whether an edit has changed the values that it was to change, and no other.

Two readers that know nothing of each other are asked: the one that meter files are
checked with, and a round-trip loader of YAML. Both must find in the new text every
value of the old one, but for those that were set, and these exactly as given.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from configlint.documents import Document, read_document
from configlint.errors import Fault, Path, Place, RunError
from configlint.fields import dotted
from configlint.meters import tag_around
from configlint.review.layout import read_round_trip
from configlint.review.splice import UNSETTABLE

__all__ = ["Wanted", "differences", "hold_to"]

Wanted = Mapping[Path, str]
"""The values that are set, by their document's number and their path in it."""


def hold_to(before: str, after: str, file: str, wanted: Wanted) -> None:
    """Let an edit pass whose new text differs from the old one in what is wanted.

    Raises `RunError` that says what else would change, or that something would.
    """
    old, new = (_read(each, file) for each in (before, after))
    if len(old) != len(new):
        raise _unproven(file)
    found = set(differences([e.value for e in old], [e.value for e in new]))
    others = sorted(found - wanted.keys(), key=dotted)
    if others:
        raise RunError(*_shared(old, others[0]))
    first = read_round_trip(before, file)
    try:
        loaded = read_round_trip(after, file)
    except RunError as error:
        raise _unproven(file) from error
    told = set(differences(first, loaded))
    held = all(
        _at([e.value for e in new], path) == _at(loaded, path) == value
        for path, value in wanted.items()
    )
    if told != found or not held:
        raise _unproven(file)


def _unproven(file: str) -> RunError:
    problem = "The edit can't be proven to change what is asked for and nothing else."
    return RunError(Fault(UNSETTABLE, Place(file), problem, "Change it by hand."))


def _read(text: str, file: str) -> tuple[Document, ...]:
    return read_document(text.encode("utf-8"), file).documents


def _shared(old: Sequence[Document], other: Path) -> Iterator[Fault]:
    """Say which value of which meter would change as well, and where it is written."""
    number, path = other[0], other[1:]
    document = old[int(number)]
    tag = tag_around(document, path)
    problem = f"{dotted(path)}{f' of {tag}' if tag else ''} would change as well."
    advice = (
        "Set it in all the meters that share it in one call, or write it out first."
    )
    place, source = document.place(path), document.source_place(path)
    yield Fault(UNSETTABLE, place, problem, advice, path, source)


def differences(old: object, new: object, path: Path = ()) -> Iterator[Path]:
    """Give the paths at which two values differ; nothing is as good as not written.

    >>> old, new = {"a": {"b": "1", "c": None}}, {"a": {"b": "2"}, "d": {"e": "3"}}
    >>> list(differences(old, new))
    [('a', 'b'), ('d', 'e')]
    """
    if old is new:
        return
    before, after = _entries(old), _entries(new)
    if before is not None and after is not None:
        for key in {**before, **after}:
            yield from differences(before.get(key), after.get(key), (*path, key))
    elif isinstance(old, list | tuple) and isinstance(new, list | tuple):
        if len(old) != len(new):
            yield path
        for index, pair in enumerate(zip(old, new, strict=False)):
            yield from differences(*pair, (*path, index))
    elif old != new:
        yield path


def _entries(value: object) -> dict[Any, object] | None:
    """Give what a section holds; a value that is none gives None."""
    if isinstance(value, dict):
        return value
    return {} if value is None else None


def _at(value: object, path: Path) -> object:
    for step in path:
        match value:
            case dict():
                value = value.get(step)
            case list() | tuple() if isinstance(step, int) and step < len(value):
                value = value[step]
            case _:
                return None
    return value
