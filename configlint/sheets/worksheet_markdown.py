"""The calculation sheet as Markdown, readable as it stands and where it is rendered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from configlint.outputs.text import CAUTIONS, inert
from configlint.sheets import phrases
from configlint.sheets.uses import Use
from configlint.sheets.worksheet_values import Entry, Open, Sheet

__all__ = ["write"]

SIGNS = "\\`*_{}[]<>()#+!|&~$"


def write(sheets: Iterable[Sheet]) -> str:
    """Write the sheets as Markdown, a rule between two, ending in a line feed."""
    return "\n---\n\n".join("\n".join((*_lines(sheet), "")) for sheet in sheets)


def _lines(sheet: Sheet) -> Iterator[str]:
    yield from (f"# {_plain(phrases.title(sheet))}", "")
    yield from _table((), phrases.heading(sheet))
    unreadable = phrases.unreadable_words(sheet)
    if unreadable:
        yield from ("", _plain(unreadable))
    yield from ("", "## Outcome", "")
    for label, text in phrases.outcome(sheet):
        yield f"- {label}: {_plain(text)}"
    yield ""
    yield from _table(
        ("", "name", "signature", "date"),
        ((who, "", "", "") for who in phrases.SIGNATURES),
    )
    yield from ("", "## Inputs", "")
    yield from _table(
        ("symbol", "meaning", "value", "as written", "where"),
        (
            (e.symbol, e.means, e.shown, phrases.written_words(e), e.origin)
            for e in sheet.inputs
        ),
    )
    for part in sheet.parts:
        yield from ("", f"## {_plain(part.title)}")
        for entry in part.entries:
            yield from _entry(entry)
    if sheet.open:
        yield from ("", "## Not computed")
        for gap in sheet.open:
            yield from _open(gap)
    yield from ("", "## Notes", "")
    for words in (phrases.left_out_words(sheet), phrases.FIGURES, CAUTIONS):
        yield f"- {_plain(words)}"


def _entry(entry: Entry) -> Iterator[str]:
    yield from ("", f"### {_plain(entry.symbol)}: {_plain(entry.means)}", "")
    before = " " * len(entry.symbol)
    yield f"    {inert(f'{entry.symbol} = {entry.formula}')}"
    for said in (entry.numbers, entry.result):
        if said:
            yield f"    {inert(f'{before} = {said}')}"
    yield from _notes(phrases.entry_notes(entry), entry.uses)


def _open(gap: Open) -> Iterator[str]:
    yield from ("", f"### {_plain(gap.symbol)}: {_plain(gap.means)}", "")
    yield f"    {inert(f'{gap.symbol} = {gap.formula}')}"
    yield from _notes(phrases.open_notes(gap), gap.uses)


def _notes(notes: Iterable[tuple[str, str]], uses: Iterable[Use]) -> Iterator[str]:
    yield ""
    for label, text in (*notes, *phrases.use_notes(uses)):
        yield f"- {label}: {_plain(text)}"


def _table(heads: Iterable[str], rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    """Write a table; without heads of its own it has empty ones, two columns wide."""
    heads = tuple(heads) or ("", "")
    yield f"| {' | '.join(heads)} |"
    yield f"| {' | '.join('---' for _ in heads)} |"
    for row in rows:
        yield f"| {' | '.join(map(_plain, row))} |"


def _plain(text: str) -> str:
    """Make a text inert: in one line, and with no sign that Markdown acts on.

    >>> _plain("FT-1 | <b> *x*")
    'FT-1 \\\\| \\\\<b\\\\> \\\\*x\\\\*'
    """
    one_line = " ".join(inert(text).split())
    return "".join(f"\\{sign}" if sign in SIGNS else sign for sign in one_line)
