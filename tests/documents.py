"""How tests read documents: of a text, with no fault or with one, by either parser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import yaml

from configlint.documents import BOUNDS, Bounds, Document, Reading, read_document
from configlint.errors import Fault, Path

__all__ = [
    "document_of",
    "fault_of",
    "paths_of",
    "read",
    "read_both",
    "values_of",
    "without_parser_in_c",
]


def read(text: str, bounds: Bounds = BOUNDS) -> Reading:
    """Read a text as the file m.yaml."""
    return read_document(text.encode(), "m.yaml", bounds)


def document_of(text: str) -> Document:
    """Read a text that has one document and no fault."""
    reading = read(text)
    assert reading.faults == ()
    (document,) = reading.documents
    return document


def fault_of(text: str) -> Fault:
    """Read a text that has one fault."""
    (fault,) = read(text).faults
    return fault


def values_of(text: str) -> list[object]:
    """Give the values of all documents of a text."""
    return [document.value for document in read(text).documents]


def without_parser_in_c(patch: pytest.MonkeyPatch) -> None:
    """Leave PyYAML its parser in Python alone, for as long as the patch lasts."""
    patch.delattr(yaml, "CBaseLoader")


def read_both(data: bytes) -> tuple[Reading, Reading]:
    """Read with PyYAML's parser in C, and with the one in Python."""
    in_c = read_document(data, "m.yaml")
    with pytest.MonkeyPatch.context() as patch:
        without_parser_in_c(patch)
        return in_c, read_document(data, "m.yaml")


def paths_of(value: object, path: Path = ()) -> Iterator[tuple[Path, object]]:
    """Give every path of a value, with what is there."""
    yield path, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from paths_of(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from paths_of(inner, (*path, index))
