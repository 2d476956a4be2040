"""The calculation sheet as Markdown, readable as it stands and where it is rendered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from configlint.outputs.text import CAUTIONS, inert
from configlint.sheets import phrases, summary_words
from configlint.sheets.worksheet_values import Entry, Open, Sheet

__all__ = ["write"]

SIGNS = "\\`*_{}[]<>()#+!|&~$"


def write(sheets: Iterable[Sheet]) -> str:
    """Write the sheets as Markdown, a rule between two, ending in a line feed."""
    return "\n---\n\n".join("\n".join((*_lines(sheet), "")) for sheet in sheets)


def _lines(sheet: Sheet) -> Iterator[str]:
    yield from _summary(sheet)
    yield from ("", "## Derivations", "", _plain(phrases.BRIEF))
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
    yield from _section("Sources", phrases.table_sources(sheet))
    yield from _section("Rules checked", summary_words.rules_checked(sheet))
    yield from ("", "## Notes", "")
    for words in (phrases.left_out_words(sheet), phrases.FIGURES, CAUTIONS):
        yield f"- {_plain(words)}"


def _summary(sheet: Sheet) -> Iterator[str]:
    """Write what is signed: the meter, its outcome, what is set, key figures."""
    yield from (f"# {_plain(summary_words.title(sheet))}", "")
    yield from _table((), summary_words.heading(sheet))
    unreadable = summary_words.unreadable_words(sheet)
    if unreadable:
        yield from ("", _plain(unreadable))
    yield from _section("Outcome", summary_words.outcome(sheet))
    yield from _section("Set at both ends", summary_words.ends(sheet))
    yield from _section("Key figures", summary_words.key_figures(sheet))
    yield ""
    yield from _table(
        ("", "name", "signature", "date"),
        ((who, "", "", "") for who in summary_words.SIGNATURES),
    )


def _section(name: str, told: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Write what has a label each below its heading, nothing where there is none."""
    heads = ["", f"## {name}", ""]
    for label, text in told:
        yield from heads
        heads = []
        yield f"- {_plain(label)}: {_plain(text)}"


def _entry(entry: Entry) -> Iterator[str]:
    yield from ("", f"### {_plain(entry.symbol)}: {_plain(entry.means)}", "")
    if entry.is_brief:
        said = " = ".join((entry.symbol, *phrases.steps(entry)))
        yield f"    {inert(said)}"
    else:
        before = entry.symbol
        for said in phrases.steps(entry):
            yield f"    {inert(f'{before} = {said}')}"
            before = " " * len(entry.symbol)
    yield from _notes(entry)


def _open(gap: Open) -> Iterator[str]:
    yield from ("", f"### {_plain(gap.symbol)}: {_plain(gap.means)}", "")
    yield f"    {inert(f'{gap.symbol} = {gap.formula}')}"
    yield from _notes(gap)


def _notes(entry: Entry | Open) -> Iterator[str]:
    yield ""
    for label, text in phrases.notes(entry):
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
