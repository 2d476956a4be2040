"""The windows of a meter as plain text, readable at 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from configlint.outputs.text import WIDTH, inert
from configlint.sheets.window import WindowSheet
from configlint.sheets.window_words import (
    CAUTION,
    SEARCH,
    choice_notes,
    window_notes,
)
from configlint.window import Stated, Window

__all__ = ["write"]

LABEL = 15


def write(sheets: Iterable[WindowSheet]) -> str:
    """Write the windows as plain text, ending in a line feed."""
    parts = ["".join(f"{line}\n" for line in _lines(sheet)) for sheet in sheets]
    return "\n".join([*parts, "".join(f"{line}\n" for line in _notes())])


def _notes() -> Iterator[str]:
    yield from _wrapped(SEARCH)
    yield from _wrapped(CAUTION)


def _lines(sheet: WindowSheet) -> Iterator[str]:
    subject = sheet.subject
    names = (subject.meter, subject.site, subject.workspace)
    yield from _wrapped(", ".join(name for name in names if name))
    yield from _wrapped(f"in {subject.file}", "  ")
    for each in sheet.solutions:
        if isinstance(each, Stated):
            continue
        yield ""
        yield from _wrapped(f"{each.setting}: {sheet.means[each.setting]}")
        notes = window_notes(each) if isinstance(each, Window) else choice_notes(each)
        for label, words in notes:
            yield from _labelled(label, words)
    yield from _stated(sheet)


def _stated(sheet: WindowSheet) -> Iterator[str]:
    if not sheet.stated:
        return
    yield ""
    yield "For a person to state; name one to see its window all the same:"
    for each in sheet.stated:
        now = f" {each.present}" if each.present else ""
        where = f": {each.where}" if each.where else ""
        yield from _wrapped(f"{each.setting}{now}{where}", "  ", "    ")


def _labelled(label: str, words: str) -> Iterator[str]:
    first = f"  {label}".ljust(LABEL)
    rest = " " * LABEL
    yield from _wrapped(words, first, rest if label else rest + "  ")


def _wrapped(text: str, first: str = "", rest: str | None = None) -> Iterator[str]:
    yield from textwrap.wrap(
        inert(text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=first if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
