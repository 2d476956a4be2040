"""The windows of a meter as an HTML page that needs nothing else, and prints well."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from configlint.sheets.canvas import plain
from configlint.sheets.page import page
from configlint.sheets.window import WindowSheet
from configlint.sheets.window_svg import KEY, drawing
from configlint.sheets.window_words import (
    CAUTION,
    SEARCH,
    choice_notes,
    window_notes,
)
from configlint.window import Window

__all__ = ["write"]

STYLE = """\
@page { size: A4; margin: 16mm; }
body { font: 10.5pt/1.4 Georgia, "Times New Roman", serif; color: #000;
  background: #fff; max-width: 60em; margin: 1.5em auto; padding: 0 1em; }
h1 { font-size: 1.5em; border-bottom: 2px solid; padding-bottom: .2em; }
h2 { font-size: 1.2em; border-bottom: 1px solid; margin: 1.6em 0 .6em; }
h3 { font-size: 1em; margin: 0; }
h1, h2, h3 { break-after: avoid; }
section { break-inside: avoid; margin: 1em 0 1.4em; border-top: 1px solid #bbb;
  padding-top: .6em; }
article { break-before: page; }
article:first-of-type { break-before: auto; }
svg { max-width: 100%; height: auto; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid #888; padding: .2em .5em; text-align: left;
  vertical-align: top; overflow-wrap: anywhere; }
tr { break-inside: avoid; }
dl { display: grid; grid-template-columns: 8em 1fr; gap: .1em .8em; margin: 0; }
dt { font-style: italic; }
dd { margin: 0; }
code { font-family: "DejaVu Sans Mono", Menlo, Consolas, monospace; font-size: .9em; }
"""
Notes = Iterable[tuple[str, str]]


def write(sheets: Iterable[WindowSheet]) -> str:
    """Write the windows as one page, each meter on paper of its own."""
    made = tuple(sheets)
    title = ", ".join(_title(sheet) for sheet in made)
    body = "\n".join(
        line for number, sheet in enumerate(made) for line in _article(number, sheet)
    )
    return page(plain(title), STYLE, body)


def _title(sheet: WindowSheet) -> str:
    return f"What settings of {sheet.subject.meter} may be"


def _article(number: int, sheet: WindowSheet) -> Iterator[str]:
    subject = sheet.subject
    yield f"<article>\n<h1>{plain(_title(sheet))}</h1>"
    home = ", ".join(each for each in (subject.site, subject.workspace) if each)
    rules = ", ".join(f"{each.name} {each.edition}" for each in sheet.editions)
    facts = (("File", subject.file), ("Site", home), ("Rule sets", rules))
    yield from _pairs((label, words) for label, words in facts if words)
    yield f"<p>{plain(CAUTION)}</p>"
    if sheet.windows:
        yield f"<h2>Amounts</h2>\n<p>{plain(KEY)}</p>"
        for place, window in enumerate(sheet.windows):
            yield from _amount(sheet, window, f"window-{number}-{place}")
    if sheet.choices:
        yield "<h2>Choices</h2>"
        yield from _choices(sheet)
    if sheet.stated:
        yield "<h2>For a person to state</h2>"
        yield from _stated(sheet)
    yield f"<p>{plain(SEARCH)}</p>\n</article>"


def _amount(sheet: WindowSheet, window: Window, name: str) -> Iterator[str]:
    yield f"<section>\n<h3>{_named(sheet, window.setting)}</h3>"
    yield drawing(window, name)
    yield from _pairs(window_notes(window))
    yield "</section>"


def _choices(sheet: WindowSheet) -> Iterator[str]:
    yield "<table>\n<tr><th>Setting</th><th>What it may be</th></tr>"
    for choices in sheet.choices:
        yield f"<tr><td>{_named(sheet, choices.setting)}</td><td>"
        yield from _pairs(choice_notes(choices))
        yield "</td></tr>"
    yield "</table>"


def _named(sheet: WindowSheet, setting: str) -> str:
    return f"<code>{plain(setting)}</code> {plain(sheet.means[setting])}"


def _pairs(pairs: Notes) -> Iterator[str]:
    yield "<dl>"
    for label, words in pairs:
        yield f"<dt>{plain(label)}</dt><dd>{plain(words)}</dd>"
    yield "</dl>"


def _stated(sheet: WindowSheet) -> Iterator[str]:
    yield "<table>\n<tr><th>Setting</th><th>Now</th><th>Where it is read</th></tr>"
    for each in sheet.stated:
        name = _named(sheet, each.setting)
        cells = (name, plain(each.present), plain(each.where))
        yield f"<tr>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"
    yield "</table>"
