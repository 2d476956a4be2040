"""The calculation sheet as an HTML page that needs nothing else, and prints well."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from configlint.outputs.text import CAUTIONS, inert
from configlint.sheets import phrases, summary_words
from configlint.sheets.page import page
from configlint.sheets.worksheet_values import Entry, Open, Sheet

__all__ = ["write"]

STYLE = """\
@page { size: A4; margin: 14mm 16mm;
  @bottom-right { content: counter(page) " / " counter(pages); font-size: 9pt; } }
body { font: 10.5pt/1.4 Georgia, "Times New Roman", serif; color: #000;
  background: #fff; max-width: 48em; margin: 1.5em auto; padding: 0 1em; }
h1 { font-size: 1.5em; border-bottom: 2px solid; padding-bottom: .2em; }
h2 { font-size: 1.2em; border-bottom: 1px solid; margin: 1.6em 0 .6em; }
h3 { font-size: 1em; margin: 0 0 .3em; }
h1, h2, h3 { break-after: avoid; }
article { break-before: page; }
article:first-of-type { break-before: auto; }
h2.derivations { break-before: page; }
section.quantity { break-inside: avoid; margin: 0 0 .9em; }
p.brief { break-inside: avoid; margin: .35em 0; font-size: .92em; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid #888; padding: .2em .5em; text-align: left;
  vertical-align: top; overflow-wrap: break-word; }
tr { break-inside: avoid; }
table.inputs { font-size: .92em; line-height: 1.25; }
table.inputs td:first-child { width: 7em; overflow-wrap: anywhere; }
table.formula { width: auto; margin: .3em 0 .4em 1.5em; }
table.formula td { border: 0; padding: .1em .3em; }
table.formula tr:last-child td:last-child { font-weight: bold; }
dl { display: grid; grid-template-columns: 10.5em 1fr; gap: .1em .8em;
  margin: .2em 0 0 1.5em; font-size: .92em; }
dl.wide { grid-template-columns: 24em 1fr; }
dt { font-style: italic; }
dd { margin: 0; }
dt.broken, dd.broken { font-weight: bold; }
section.broken { border-left: 4px solid; padding-left: .7em; }
thead { display: table-header-group; }
var { font-style: italic; }
sub { font-size: .72em; line-height: 0; }
table.signatures td { height: 2em; }
table.signatures { margin-top: 1em; break-inside: avoid; }
@media print { body { font-size: 9pt; line-height: 1.3; max-width: none; margin: 0;
  padding: 0; } h2 { margin: 1.1em 0 .4em; } }
"""

_Set = Callable[[str], str]
"""Makes a text inert and sets the symbols of its sheet as in print."""


class _Setters(NamedTuple):
    """How formulas are set, and words, in which a single letter is no symbol."""

    formula: _Set
    words: _Set


def write(sheets: Iterable[Sheet]) -> str:
    """Write the sheets as one page, each on paper of its own, ending in a line feed."""
    made = tuple(sheets)
    title = ", ".join(summary_words.title(sheet) for sheet in made)
    body = "\n".join(line for sheet in made for line in _article(sheet))
    return page(_plain(title), STYLE, body)


def _article(sheet: Sheet) -> Iterator[str]:
    setters = _setters(sheet)
    yield "<article>"
    yield from _summary(sheet, setters)
    yield '<h2 class="derivations">Derivations</h2>'
    yield f"<p>{_plain(phrases.BRIEF)}</p>"
    yield "<h2>Inputs</h2>"
    yield from _table(
        ("Symbol", "Meaning", "Value", "As written", "Where"),
        (
            (
                setters.formula(e.symbol),
                *map(_plain, (e.means, e.shown, phrases.written_words(e), e.origin)),
            )
            for e in sheet.inputs
        ),
    )
    for part in sheet.parts:
        yield f"<h2>{_plain(part.title)}</h2>"
        for entry in part.entries:
            yield from _entry(entry, setters)
    if sheet.open:
        yield "<h2>Not computed</h2>"
        for gap in sheet.open:
            yield from _open(gap, setters)
    yield from _section("Sources", phrases.table_sources(sheet), _plain)
    checked = summary_words.rules_checked(sheet)
    yield from _section("Rules checked", checked, _plain)
    yield "<h2>Notes</h2>"
    for words in (phrases.left_out_words(sheet), phrases.FIGURES, CAUTIONS):
        yield f"<p>{_plain(words)}</p>"
    yield "</article>"


def _summary(sheet: Sheet, setters: _Setters) -> Iterator[str]:
    """Write what is signed: the meter, its outcome, what is set, key figures."""
    yield f"<h1>{_plain(summary_words.title(sheet))}</h1>"
    yield from _pairs(summary_words.heading(sheet), _plain)
    unreadable = summary_words.unreadable_words(sheet)
    if unreadable:
        yield f"<p>{_plain(unreadable)}</p>"
    yield from _section("Outcome", summary_words.outcome(sheet), _plain)
    yield from _section("Set at both ends", summary_words.ends(sheet), _plain)
    key_figures = summary_words.key_figures(sheet)
    yield from _section("Key figures", key_figures, setters.words, "wide")
    yield from _table(
        ("", "Name", "Signature", "Date"),
        ((who, "", "", "") for who in summary_words.SIGNATURES),
        "signatures",
    )


def _section(
    name: str, told: Iterable[tuple[str, str]], in_print: _Set, kind: str = ""
) -> Iterator[str]:
    """Write what has a label each below its heading, nothing where there is none."""
    pairs = tuple(told)
    if pairs:
        yield f"<h2>{name}</h2>"
        yield from _pairs(pairs, in_print, kind)


def _entry(entry: Entry, setters: _Setters) -> Iterator[str]:
    yield from _brief(entry, setters) if entry.is_brief else _quantity(entry, setters)


def _open(gap: Open, setters: _Setters) -> Iterator[str]:
    yield from _quantity(gap, setters)


def _brief(entry: Entry, setters: _Setters) -> Iterator[str]:
    """Write a quantity in one paragraph."""
    *before, result = map(setters.formula, (entry.symbol, *phrases.steps(entry)))
    said = " = ".join((*before, f"<strong>{result}</strong>"))
    notes = "".join(
        f" <em>{_plain(label)}:</em> {setters.words(text)}"
        for label, text in phrases.notes(entry)
    )
    yield f'<p class="brief">{_plain(entry.means)}: {said}.{notes}</p>'


def _quantity(entry: Entry | Open, setters: _Setters) -> Iterator[str]:
    """Write a quantity: its heading, its formula step by step, and its notes."""
    notes = tuple(phrases.notes(entry))
    is_broken = any(_is_broken(label) for label, _ in notes)
    yield f'<section class="quantity{" broken" if is_broken else ""}">'
    yield f"<h3>{setters.formula(entry.symbol)}: {_plain(entry.means)}</h3>"
    yield from _formula(entry.symbol, phrases.steps(entry), setters.formula)
    yield from _pairs(notes, setters.words)
    yield "</section>"


def _formula(symbol: str, steps: Iterable[str], in_print: _Set) -> Iterator[str]:
    yield '<table class="formula">'
    before = in_print(symbol)
    for step in steps:
        yield f"<tr><td>{before}</td><td>=</td><td>{in_print(step)}</td></tr>"
        before = ""
    yield "</table>"


def _pairs(
    pairs: Iterable[tuple[str, str]], in_print: _Set, kind: str = ""
) -> Iterator[str]:
    yield f'<dl class="{kind}">' if kind else "<dl>"
    for label, text in pairs:
        kind = ' class="broken"' if _is_broken(label) else ""
        yield f"<dt{kind}>{_plain(label)}</dt><dd{kind}>{in_print(text)}</dd>"
    yield "</dl>"


def _is_broken(label: str) -> bool:
    """Whether a label is of something that is still to be closed."""
    return label == phrases.NOT_MET or label.startswith(
        f"{summary_words.NONCONFORMING}, "
    )


def _table(
    heads: Iterable[str], rows: Iterable[tuple[str, ...]], kind: str = "inputs"
) -> Iterator[str]:
    """Write a table of cells that are HTML already."""
    yield f'<table class="{kind}">'
    yield f"<thead><tr>{''.join(f'<th>{head}</th>' for head in heads)}</tr></thead>"
    yield "<tbody>"
    for row in rows:
        yield f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>"
    yield from ("</tbody>", "</table>")


def _plain(text: str) -> str:
    """Make a text inert in HTML.

    >>> _plain("<b>&")
    '&lt;b&gt;&amp;'
    """
    return html.escape(inert(text))


def _setters(sheet: Sheet) -> _Setters:
    """Make the functions that set the symbols of a sheet, with what stands low."""
    known = list(filter(SYMBOL.fullmatch, sheet.symbols))
    return _Setters(_setter(known), _setter(each for each in known if "_" in each))


def _setter(symbols: Iterable[str]) -> _Set:
    any_of = "|".join(map(re.escape, sorted(symbols, key=len, reverse=True)))
    pattern = re.compile(rf"{NO_UNIT}(?:{any_of or NOTHING})(?!\w|,\w)")

    def in_print(text: str) -> str:
        return pattern.sub(lambda found: _symbol(found[0]), _plain(text))

    return in_print


SYMBOL = re.compile(r"[^\W\d_]+(?:_[\w,]+)?")
NO_UNIT = r"(?<![\w,/])(?<![0-9⁰¹²³⁴⁵⁶⁷⁸⁹] )"
"""Before a symbol is no letter or stroke of a unit, and no number it would be of."""
NOTHING = "(?!)"


def _symbol(symbol: str) -> str:
    letter, _, below = symbol.partition("_")
    return f"<var>{letter}</var>{f'<sub>{below}</sub>' if below else ''}"
