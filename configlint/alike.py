"""The plain scalars of a meter that YAML 1.1 software reads as something else.

Only such keys are looked at whose text has nothing in it, a unit for one, to tell
what it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from configlint.documents import Document
from configlint.errors import Fault, Path
from configlint.fields import (
    AmountOrText,
    Measured,
    Model,
    Number,
    Scalar,
    Text,
    dotted,
    model_in,
    scalar_in,
)
from configlint.plain_scalars import ODD_STARTS, read_otherwise
from configlint.scalars import shown

__all__ = ["find_alike"]


class _Bare(NamedTuple):
    """The keys of one section to look at, and those of the sections below it."""

    texts: tuple[str, ...]
    sections: tuple[tuple[str, _Bare], ...]


@cache
def _bare(model: type[Model]) -> _Bare:
    texts: list[str] = []
    sections: list[tuple[str, _Bare]] = []
    for name, field in model.model_fields.items():
        inner = model_in(field.annotation)
        mark = scalar_in(field)
        if inner is not None:
            sections.append((name, _bare(inner)))
        elif mark is not None and _says_nothing(mark):
            texts.append(name)
    return _Bare(tuple(texts), tuple(sections))


def _says_nothing(mark: Scalar) -> bool:
    """Whether a text of this kind may be a bare word or number."""
    if isinstance(mark, Measured):
        return "ratio" in mark.kinds
    return isinstance(mark, Text | Number | AmountOrText)


def find_alike(
    document: Document,
    path: Path,
    value: object,
    model: type[Model],
    declared: Mapping[str, Scalar],
) -> list[Fault]:
    """Find the scalars of a meter that are read in two ways.

    `declared` says what the texts are that stand under names of the site's own, as
    far as rule files tell.
    """
    found: list[tuple[Path, str]] = []
    if isinstance(value, dict):
        _find_odd(value, _bare(model), (), found)
    if not found:
        return []
    clear = {name for name, mark in declared.items() if not _says_nothing(mark)}
    faults = [
        _alike(document, path, below, text)
        for below, text in found
        if document.is_plain((*path, *below))
        and not (below[0] == "site_data" and below[-1] in clear)
    ]
    return sorted(faults, key=lambda fault: fault.place)


def _find_odd(
    section: dict[str, object],
    keys: _Bare,
    path: Path,
    found: list[tuple[Path, str]],
) -> None:
    for key in keys.texts:
        each = section.get(key)
        if isinstance(each, str):
            if each[:1] in ODD_STARTS and read_otherwise(each) is not None:
                found.append(((*path, key), each))
        elif isinstance(each, dict):
            # Names of the site's own have all the mark of their mapping.
            _find_odd(each, _Bare(tuple(each), ()), (*path, key), found)
    for key, inner in keys.sections:
        each = section.get(key)
        if isinstance(each, dict):
            _find_odd(each, inner, (*path, key), found)


def _alike(document: Document, path: Path, below: Path, text: str) -> Fault:
    problem = (
        f"{dotted(below)}: {shown(text)} stands without quotes, and YAML 1.1 "
        f"software reads {read_otherwise(text)}."
    )
    advice = f'Put it in quotes: "{text}".'
    here = (*path, *below)
    return Fault("scalar-read-alike", document.place(here), problem, advice, here)
