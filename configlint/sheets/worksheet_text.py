"""The calculation sheet as plain text, readable at 80 columns."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator

from configlint.outputs.text import CAUTIONS, WIDTH, inert
from configlint.sheets import phrases, summary_words
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
    yield from _summary(sheet)
    yield from ("", "Derivations")
    yield from _wrapped(phrases.BRIEF, "  ")
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
    yield from _section("Sources", phrases.table_sources(sheet))
    yield from _section("Rules checked", summary_words.rules_checked(sheet))
    yield ""
    for words in (phrases.left_out_words(sheet), phrases.FIGURES, CAUTIONS):
        yield from _wrapped(words)


def _summary(sheet: Sheet) -> Iterator[str]:
    """Write what is signed: the meter, its outcome, what is set, key figures."""
    yield from _wrapped(summary_words.title(sheet))
    for label, text in summary_words.heading(sheet):
        yield from _wrapped(f"{label}: {text}", "  ", INDENT)
    unreadable = summary_words.unreadable_words(sheet)
    if unreadable:
        yield from _wrapped(unreadable, "  ")
    yield from _section("Outcome", summary_words.outcome(sheet))
    yield from _section("Set at both ends", summary_words.ends(sheet))
    yield from _section("Key figures", summary_words.key_figures(sheet))
    yield ""
    widest = max(map(len, summary_words.SIGNATURES))
    yield from (f"  {who:<{widest}}  {SIGNED}" for who in summary_words.SIGNATURES)


def _section(name: str, told: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Write what has a label each below its heading, nothing where there is none."""
    heads = ["", name]
    for label, text in told:
        yield from heads
        heads = []
        yield from _wrapped(f"{label}: {text}", "  ", INDENT)


def _entry(entry: Entry) -> Iterator[str]:
    yield ""
    yield from _wrapped(f"{entry.symbol}  {entry.means}", "  ", INDENT)
    if entry.is_brief:
        said = " = ".join((entry.symbol, *phrases.steps(entry)))
        yield from _wrapped(said, INDENT, INDENT * 2)
    else:
        yield from _formula(entry)
    yield from _notes(entry)


def _open(gap: Open) -> Iterator[str]:
    yield ""
    yield from _wrapped(f"{gap.symbol}  {gap.means}", "  ", INDENT)
    yield from _wrapped(f"{gap.symbol} = {gap.formula}", INDENT, INDENT * 2)
    yield from _notes(gap)


def _formula(entry: Entry) -> Iterator[str]:
    """Write a formula, below it the numbers and the result, the signs in line."""
    before = INDENT + " " * len(entry.symbol)
    behind = f"{before}   "
    first, *later = phrases.steps(entry)
    yield from _wrapped(f"{entry.symbol} = {first}", INDENT, behind)
    for said in later:
        yield from _wrapped(f"= {said}", f"{before} ", behind)


def _notes(entry: Entry | Open) -> Iterator[str]:
    for label, text in phrases.notes(entry):
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
