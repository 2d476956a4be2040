"""Laws of the sheet's formats: complete, inert, readable, and the same every time."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from markdown_it import MarkdownIt

from configlint.data import data_folder
from configlint.outputs.text import CAUTIONS, WIDTH, inert
from configlint.sheets import (
    phrases,
    summary_words,
    worksheet_html,
    worksheet_json,
    worksheet_markdown,
    worksheet_text,
)
from configlint.sheets.worksheet_values import Entry, Open, Sheet
from tests.sheets import checked
from tests.workspaces import write

HOSTILE = "\x1b[31m<script>alert(1)</script> | `*_x_*` [a](b) & \u202e # $x$ ~~y~~"
METER = """\
meter: FT-1 <b>|*
service: HOSTILE
principle: electromagnetic
sensor: {bore: 150 mm, nominal_size: DN 150, lining: HOSTILE}
transmitter: {nominal_size: DN 80, calibration_factor: 1.0234x, damping: 3 s}
current_output: {lower_range_value: 0 m3/h, upper_range_value: 900 m3/h}
receiver: {counter: not used, analogue: {upper_scale: 250 m3/h, damping: 1 s}}
process: {fluid: HOSTILE, duty: clean water, flow: {minimum: 2.5 m/s}}
"""

Write = Callable[[Iterable[Sheet]], str]
WRITERS: dict[str, Write] = {
    "text": worksheet_text.write,
    "json": worksheet_json.write,
    "markdown": worksheet_markdown.write,
    "html": worksheet_html.write,
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with a meter whose texts are hostile, and a plain one."""
    text = METER.replace("HOSTILE", json.dumps(HOSTILE))
    first, rest = text.split("\n", 1)
    quoted = json.dumps(first.removeprefix("meter: "))
    files = {
        "FT-1.yaml": f"meter: {quoted}\n{rest}",
        "FT-2.yaml": "meter: FT-2\nprinciple: electromagnetic\n",
        "unreadable.yaml": "meter: FT-3\nprinciple: turbine\nsensor: {bore: 8}\n",
    }
    return write(tmp_path_factory.mktemp("formats"), files)


@pytest.fixture(scope="module")
def sheets(folder: Path) -> tuple[Sheet, ...]:
    """Give the sheets of the folder's meters."""
    return tuple(checked(folder, date(2026, 5, 4), "US"))


def quantities(sheets: Iterable[Sheet]) -> list[Entry | Open]:
    """Give every quantity of some sheets, computed or not."""
    found: list[Entry | Open] = []
    for sheet in sheets:
        for part in sheet.parts:
            found += part.entries
        found += sheet.open
    return found


def heads(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Give what is told of a sheet as a whole, each with its label."""
    for tell in (
        summary_words.heading,
        summary_words.outcome,
        summary_words.ends,
        summary_words.key_figures,
        phrases.table_sources,
        summary_words.rules_checked,
    ):
        yield from tell(sheet)


def squeezed(text: str) -> str:
    """Give a text without spaces, and without the strokes that set a letter low.

    So it is the same however it is wrapped, and where letters really stand low.
    """
    return re.sub(r"[\s_]+", "", text)


class Page(HTMLParser):
    """Reads a page: its tags, its attributes, and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.texts: list[str] = []
        self.attributes: set[str] = set()
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag that opens."""
        self.tags.append(tag)
        self.attributes.update(name for name, _ in attrs)
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Hold a tag that closes against the one that is open."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Note a text."""
        self.texts.append(data)

    @property
    def text(self) -> str:
        """All text of the page."""
        return "".join(self.texts)


def in_markdown(text: str) -> str:
    """Render Markdown by a library of its own, with tables and struck out text."""
    renderer = MarkdownIt("commonmark", {"html": True})
    return str(renderer.enable(["table", "strikethrough"]).render(text))


def plain(form: str, text: str) -> str:
    """Give what a reader sees of a sheet in a format."""
    if form == "html":
        return Page(text).text
    return Page(in_markdown(text)).text if form == "markdown" else text


@pytest.mark.parametrize("form", ["text", "markdown", "html"])
def test_every_format_shows_the_whole_sheet(
    sheets: tuple[Sheet, ...], form: str
) -> None:
    """No formula, number, result, note, rule or caution is missing for a reader."""
    seen = squeezed(plain(form, WRITERS[form](sheets)))
    told = [text for sheet in sheets for pair in heads(sheet) for text in pair]
    told += [given.symbol for sheet in sheets for given in sheet.inputs]
    told += [phrases.left_out_words(sheet) for sheet in sheets]
    told += [summary_words.unreadable_words(sheet) for sheet in sheets]
    for each in quantities(sheets):
        told += [each.symbol, each.means, *phrases.steps(each)]
        told += [text for _, text in phrases.notes(each)]
    missing = [text for text in told if squeezed(inert(text)) not in seen]
    assert missing == []
    assert squeezed(CAUTIONS) in seen
    assert len(told) > 500


@pytest.mark.parametrize("form", WRITERS)
def test_the_same_sheets_are_written_the_same(
    folder: Path, sheets: tuple[Sheet, ...], form: str
) -> None:
    """Two runs over the same files give the same bytes, which end in a line feed."""
    again = checked(folder, date(2026, 5, 4), "US")
    text = WRITERS[form](sheets)
    assert text == WRITERS[form](again)
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


@pytest.mark.parametrize("form", WRITERS)
def test_what_a_terminal_acts_on_never_gets_out(
    sheets: tuple[Sheet, ...], form: str
) -> None:
    """In no format stands a character that controls a terminal or turns text round."""
    written = WRITERS[form](sheets)
    odd = {sign for sign in written if not sign.isprintable() and sign != "\n"}
    assert odd == set()


def test_the_text_is_readable_at_80_columns(sheets: tuple[Sheet, ...]) -> None:
    """No line is longer than 80, none ends in blanks, or between number and unit."""
    text = worksheet_text.write(sheets)
    lines = text.splitlines()
    assert [line for line in lines if len(line) > WIDTH] == []
    assert [line for line in lines if line != line.rstrip()] == []
    assert (
        re.findall(r"[0-9⁰¹²³⁴⁵⁶⁷⁸⁹]\n +(?:m/s|ft/s|US_gal|m³|in|ft|%)\b", text) == []
    )


def test_the_steps_of_a_formula_stand_below_each_other(
    sheets: tuple[Sheet, ...],
) -> None:
    """Formula, numbers and result have their signs of equality in one column."""
    lines = worksheet_text.write(sheets).splitlines()
    at = lines.index("    v_URV = Q_URV / A")
    assert lines[at + 1 : at + 3] == [
        "          = 3963 US_gal/min / 0.1902 ft²",
        "          = 46.4 ft/s",
    ]


# --- markdown and HTML --------------------------------------------------------


def test_markdown_holds_no_tag_and_no_link_of_a_file(sheets: tuple[Sheet, ...]) -> None:
    """Rendered, a sheet has headings, tables, lists and formulas, and nothing else."""
    page = Page(in_markdown(worksheet_markdown.write(sheets)))
    tables = {"table", "thead", "tbody", "tr", "th", "td"}
    texts = {"h1", "h2", "h3", "p", "ul", "li", "pre", "code", "hr"}
    assert set(page.tags) <= tables | texts
    assert page.attributes == set()
    assert page.tags.count("h1") == len(sheets)
    assert page.tags.count("h3") == page.tags.count("pre") == len(quantities(sheets))


def test_a_page_is_whole_and_needs_nothing_else(sheets: tuple[Sheet, ...]) -> None:
    """Every tag is closed, no script or picture is named, and no file is fetched."""
    text = worksheet_html.write(sheets)
    page = Page(text)
    assert text.startswith("<!DOCTYPE html>")
    assert page.open == []
    assert {"script", "link", "img", "iframe", "a", "b"}.isdisjoint(page.tags)
    assert page.attributes <= {"lang", "charset", "name", "content", "class"}
    assert "url(" not in text
    assert "@import" not in text
    assert page.tags.count("article") == len(sheets)
    brief = [e for e in quantities(sheets) if isinstance(e, Entry) and e.is_brief]
    assert page.tags.count("section") == len(quantities(sheets)) - len(brief)
    assert page.tags.count("strong") == text.count('<p class="brief">') == len(brief)


def test_a_symbol_is_set_with_what_stands_low(sheets: tuple[Sheet, ...]) -> None:
    """In a formula a symbol has its subscript, and a unit of the same letter none."""
    text = worksheet_html.write(sheets)
    assert "<td><var>Q</var><sub>URV</sub> / <var>A</var></td>" in text
    assert "<var>v</var><sub>URV</sub>" in text
    assert "<td>3963 US_gal/min / 0.1902 ft²</td>" in text
    assert "<var>m</var>" in text
    assert not re.search(r"([0-9] |/)<var>", text)


def test_what_is_not_met_stands_out_without_colour(sheets: tuple[Sheet, ...]) -> None:
    """A quantity that breaks a rule is marked by words and by a bar, no other is."""
    text = worksheet_html.write(sheets)
    marked = re.findall(r'<section class="quantity broken">(.*?)</section>', text, re.S)
    plain_ones = re.findall(r'<section class="quantity">(.*?)</section>', text, re.S)
    assert marked
    assert all(f">{phrases.NOT_MET}</dt>" in each for each in marked)
    assert not any(phrases.NOT_MET in each for each in plain_ones)
    assert "color: #000" in text
    assert 'class="broken">Nonconforming, A</dt>' in text


def test_a_sheet_without_symbols_is_set(sheets: tuple[Sheet, ...]) -> None:
    """A sheet of nothing but its head is written in every format."""
    bare = sheets[0]._replace(inputs=(), parts=(), open=(), unreadable=())
    for form, writer in WRITERS.items():
        text = writer([bare])
        assert "Not computed" not in text
        assert inert(html.unescape(plain(form, text))).count("Calculation sheet of") < 3


def test_who_signs_has_a_place(sheets: tuple[Sheet, ...]) -> None:
    """Who prepares, checks and approves a sheet has lines to sign on paper."""
    for form in ("text", "markdown", "html"):
        seen = plain(form, WRITERS[form](sheets))
        assert all(seen.count(who) == len(sheets) for who in summary_words.SIGNATURES)


# --- JSON ---------------------------------------------------------------------


def test_the_json_is_of_its_schema(sheets: tuple[Sheet, ...]) -> None:
    """The sheets validate against the published schema, and hold every quantity."""
    content = json.loads(worksheet_json.write(sheets))
    file = data_folder("schemas") / "worksheet.schema.json"
    schema = json.loads(file.read_text("utf-8"))
    assert list(Draft202012Validator(schema).iter_errors(content)) == []
    named = [
        quantity["name"]
        for sheet in content["sheets"]
        for quantity in (
            *(each for part in sheet["parts"] for each in part["quantities"]),
            *sheet["not_computed"],
        )
    ]
    assert named == [each.name for each in quantities(sheets)]
    assert content["cautions"] == CAUTIONS


def test_the_json_says_how_the_meter_stands(sheets: tuple[Sheet, ...]) -> None:
    """Findings, open rules and counts of the check are in the JSON, as it has them."""
    first = json.loads(worksheet_json.write(sheets))["sheets"][0]["outcome"]
    standing = sheets[0].standing
    assert standing is not None
    assert [tuple(each.values()) for each in first["findings"]] == [
        (each.rule, each.category, each.line, each.message, each.conceded)
        for each in standing.findings
    ]
    assert [tuple(each.values()) for each in first["not_assessed"]] == [
        (each.rule, each.category, list(each.missing)) for each in standing.gaps
    ]
    assert first["counts"] == standing.outcomes
    assert first["conforming"] == list(standing.met)
    assert first["not_applicable"] == list(standing.not_applicable)
    assert len(first["conforming"]) == standing.outcomes["conforms"] > 0
    assert len(first["not_applicable"]) == standing.outcomes["not-applicable"]
    assert (first["compared_with"], first["concession_needs_day"]) == (2, [])
    unchecked = sheets[0]._replace(standing=None)
    assert json.loads(worksheet_json.write([unchecked]))["sheets"][0]["outcome"] is None


def test_the_json_says_of_which_meter_it_is(sheets: tuple[Sheet, ...]) -> None:
    """Identity, both ends and key figures are in the JSON, as the sheet has them."""
    first = json.loads(worksheet_json.write(sheets))["sheets"][0]
    known = first["identity"]
    assert (known["principle"], known["nominal_size"]) == ("electromagnetic", "DN 150")
    assert known["file_sha256"] == sheets[0].identity.digest
    assert [each["means"] for each in first["both_ends"]] == [
        each.what for each in sheets[0].ends
    ]
    size = first["both_ends"][0]
    assert size["ends"] == [
        {"path": "sensor.nominal_size", "shown": "DN 150"},
        {"path": "transmitter.nominal_size", "shown": "DN 80"},
    ]
    assert first["key_figures"] == [each.name for each in sheets[0].keys]


def test_the_summary_stands_before_the_derivations(sheets: tuple[Sheet, ...]) -> None:
    """Who signs reads identity, outcome and key figures first, then how they came."""
    order = ("Sensor serial", "Outcome", "Key figures", "Prepared by", "Derivations")
    rest = ("Inputs", "Sources", "Rules checked")
    for form in ("text", "markdown", "html"):
        seen = plain(form, WRITERS[form](sheets[:1]))
        seen = seen[seen.index("Sensor serial") :]
        places = [seen.index(each) for each in (*order, *rest)]
        assert places == sorted(places)
    assert 'class="derivations"' in worksheet_html.write(sheets)


def test_the_json_keeps_texts_as_they_are(sheets: tuple[Sheet, ...]) -> None:
    """What a file says is given to software as it is written, to the letter."""
    first = json.loads(worksheet_json.write(sheets))["sheets"][0]
    assert first["service"] == HOSTILE
    assert first["as_of"] == "2026-05-04"
    velocity = next(
        each
        for part in first["parts"]
        for each in part["quantities"]
        if each["name"] == "velocity_at_span"
    )
    assert velocity["value"]["value"] == pytest.approx(46.41439, rel=1e-6)
    assert velocity["value"]["unit"] == "ft/s"
