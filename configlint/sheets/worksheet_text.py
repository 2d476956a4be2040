"""The calculation sheet as plain text, readable at 80 columns."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator

from configlint.outputs.text import CAUTIONS, WIDTH, inert
from configlint.sheets import phrases
from configlint.sheets.uses import Use
from configlint.sheets.worksheet_values import Entry, Open, Sheet

__all__ = ["write"]

INDENT = "    "
SIGNED = "name ________________  signature ______________  date __________"
GLUED = re.compile(r"(?<=[0-9⁰¹²³⁴⁵⁶⁷⁸⁹]) (?=[^\W0-9_]|[°%‰])")
"""The gap between a number and its unit, where no line ends."""


def write(sheets: Iterable[Sheet]) -> str:
    """Write the sheets as plain text, ending in a line feed."""
    parts = ("".join(f"{line}\n" for line in _lines(sheet)) for sheet in sheets)
    return f"\n{'=' * WIDTH}\n\n".join(parts)


def _lines(sheet: Sheet) -> Iterator[str]:
    yield from _wrapped(phrases.title(sheet))
    for label, text in phrases.heading(sheet):
        yield from _wrapped(f"{label}: {text}", "  ")
    unreadable = phrases.unreadable_words(sheet)
    if unreadable:
        yield from _wrapped(unreadable, "  ")
    yield from ("", "Outcome")
    for label, text in phrases.outcome(sheet):
        yield from _wrapped(f"{label}: {text}", "  ", INDENT)
    yield ""
    widest = max(map(len, phrases.SIGNATURES))
    yield from (f"  {who:<{widest}}  {SIGNED}" for who in phrases.SIGNATURES)
    yield from ("", "Inputs")
    for given in sheet.inputs:
        said = f"{given.symbol}  {given.means}: {phrases.given_words(given)}"
        yield from _wrapped(said, "  ", INDENT)
    for part in sheet.parts:
        yield from ("", part.title)
        for entry in part.entries:
            yield from _entry(entry)
    if sheet.open:
        yield from ("", "Not computed")
        for gap in sheet.open:
            yield from _open(gap)
    yield ""
    for words in (phrases.left_out_words(sheet), phrases.FIGURES, CAUTIONS):
        yield from _wrapped(words)


def _entry(entry: Entry) -> Iterator[str]:
    yield ""
    yield from _wrapped(f"{entry.symbol}  {entry.means}", "  ", INDENT)
    yield from _formula(entry)
    yield from _notes(phrases.entry_notes(entry), entry.uses)


def _open(gap: Open) -> Iterator[str]:
    yield ""
    yield from _wrapped(f"{gap.symbol}  {gap.means}", "  ", INDENT)
    yield from _wrapped(f"{gap.symbol} = {gap.formula}", INDENT, INDENT * 2)
    yield from _notes(phrases.open_notes(gap), gap.uses)


def _formula(entry: Entry) -> Iterator[str]:
    """Write a formula, below it the numbers and the result, the signs in line."""
    before = INDENT + " " * len(entry.symbol)
    behind = f"{before}   "
    yield from _wrapped(f"{entry.symbol} = {entry.formula}", INDENT, behind)
    for said in (entry.numbers, entry.result):
        if said:
            yield from _wrapped(f"= {said}", f"{before} ", behind)


def _notes(notes: Iterable[tuple[str, str]], uses: Iterable[Use]) -> Iterator[str]:
    for label, text in (*notes, *phrases.use_notes(uses)):
        yield from _wrapped(f"{label}: {text}", INDENT, f"{INDENT}  ")


def _wrapped(text: str, first: str = "", later: str | None = None) -> list[str]:
    """Wrap a text made inert, never between a number and its unit."""
    lines = textwrap.wrap(
        GLUED.sub("\u00a0", inert(text)),
        WIDTH,
        initial_indent=first,
        subsequent_indent=first if later is None else later,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace("\u00a0", " ") for line in lines]
