"""Laws of decoding, and the table of slips with the sentence each must give."""

from __future__ import annotations

import codecs
import re
from pathlib import Path

import pytest
import yaml

from configlint.documents import read_document
from configlint.errors import Place
from configlint.source_text import Stop, decode, explain, split_lines


@pytest.mark.parametrize("mark", [b"", codecs.BOM_UTF8])
def test_utf_8_is_decoded(mark: bytes) -> None:
    """UTF-8 is read with its mark and without, and the mark is no text."""
    assert decode(mark + "bore: 5 µm, 𝄞\r\n".encode(), "m") == ("bore: 5 µm, 𝄞\r\n", ())


@pytest.mark.parametrize(
    ("data", "line", "column", "byte"),
    [
        (b"\xff\xff", 1, 1, "0xFF"),
        ("a: 1\nb: ü".encode("latin-1"), 2, 4, "0xFC"),
        ("é: 1\r\nü: 2\rb: ".encode() + b"x\xb0C\n", 3, 5, "0xB0"),
        (codecs.BOM_UTF8 + b"ab\x80", 1, 3, "0x80"),
        (b"a: \xed\xa0\x80", 1, 4, "0xED"),
        (b"a: \xe2\x82", 1, 4, "0xE2"),
        (b"a: \xc0\x80", 1, 4, "0xC0"),
    ],
)
def test_a_bad_byte_has_its_place(
    data: bytes, line: int, column: int, byte: str
) -> None:
    """The first byte that is no UTF-8 is named, with line and column."""
    text, (fault,) = decode(data, "m.yaml")
    assert text == ""
    assert fault.place == Place("m.yaml", line, column)
    assert byte in fault.problem
    assert "as UTF-8" in fault.advice


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_utf_16_is_recognised(encoding: str) -> None:
    """UTF-16 is named, with its byte order mark and without."""
    _, (fault,) = decode("tag: FT-1\n".encode(encoding), "m.yaml")
    named = "UTF-16" in fault.problem
    assert named
    assert fault.advice == "Save the file as UTF-8."


@pytest.mark.parametrize("data", [b"", b"\x00", b"a\x00", b"\x00\x00\x00\x00"])
def test_a_few_zero_bytes_are_no_utf_16(data: bytes) -> None:
    """UTF-16 is not guessed from too little, nor from zeros alone."""
    assert not any("UTF-16" in fault.problem for fault in decode(data, "m.yaml")[1])


ODD = "\0\a\b\v\f\x1b\x7f\x80\x85\x9f\u2028\u2029\ufeff\ufffe\uffff"


@pytest.mark.parametrize("character", ODD, ids=ascii)
def test_an_invisible_character_is_refused(character: str) -> None:
    """What no editor shows, or what breaks a line unseen, is named by its number."""
    text, (fault,) = decode(f"a: é\r\nb: 1{character}2\n".encode(), "m.yaml")
    assert text == ""
    assert fault.place == Place("m.yaml", 2, 5)
    assert f"U+{ord(character):04X} stands here." in fault.problem


def test_each_invisible_character_is_told_once() -> None:
    """Nine of a kind are one fault with their number, another kind is another."""
    _, faults = decode(("a: " + "\u2028" * 9 + "\n\0\n").encode(), "m.yaml")
    assert [(fault.place.line, fault.place.column) for fault in faults] == [
        (1, 4),
        (2, 1),
    ]
    assert "(9 times in the file)" in faults[0].problem
    assert "times" not in faults[1].problem


def test_no_character_that_is_let_through_stops_a_parser() -> None:
    """Both parsers read every character of the first plane that is not refused here."""
    beyond = (0x10000, 0x1F600, 0x1FFFE, 0x1FFFF, 0xE0001, 0x10FFFE, 0x10FFFF)
    codes = (*range(0xD800), *range(0xE000, 0x10000), *beyond)
    kept = [sign for sign in map(chr, codes) if decode(sign.encode(), "m.yaml")[0]]
    # The line ends fold, and blanks beside them go.
    assert kept[:4] == ["\t", "\n", "\r", " "]
    text = "".join(kept[4:])
    assert len(text) > 63_000
    for loader in (yaml.CBaseLoader, yaml.BaseLoader):
        quoted = text.replace("'", "''")
        assert yaml.load(f"'{quoted}'", loader) == text


def test_lines_end_as_yaml_ends_them() -> None:
    """LF, CRLF and a lone CR end a line, and nothing else does."""
    text = "a\nb\r\nc\rd\n\re\x85f\u2028g"
    assert split_lines(text) == ["a", "b", "c", "d", "", "e\x85f\u2028g"]


SLIPS: list[tuple[str, tuple[int, int], str]] = [
    ("\ta: 1", (1, 1), "A tab stands in the indentation"),
    ("a:\n\t- b", (2, 1), "A tab stands in the indentation"),
    ("a:\n  b: 1\n  \tc: 2", (3, 3), "A tab stands in the indentation"),
    ("a: 'x", (1, 4), "The quote ' is opened here and not closed"),
    ('a: "x\nb: "y"\n', (1, 4), 'The quote " is opened here and not closed'),
    ("a: [1, 'x]\nb: 2\n", (1, 8), "The quote ' is opened here and not closed"),
    ("a: 'it's'", (1, 8), "Text goes on behind the closing quote"),
    ('a: "x" y', (1, 8), "Text goes on behind the closing quote"),
    ('a: "C:\\sites"', (1, 7), r"\s has no meaning inside double quotes"),
    ('a: "C:\\users"', (1, 7), r"\u is no code of a character"),
    ('a: "\\x1"', (1, 5), r"\x is no code of a character"),
    ("a: [1, 2\nb: 3", (1, 4), "The bracket [ is opened here and not closed"),
    ("a: {x: 1\nb: {y: 2}\n", (1, 4), "The bracket { is opened here and not closed"),
    ("a: [\n", (1, 4), "The bracket [ is opened here and not closed in this line"),
    ("a: {b: 1 c: 2}", (1, 11), "A comma is missing"),
    ("a: }", (1, 4), "The bracket } closes nothing"),
    ("a: [1]]", (1, 7), "The bracket ] closes nothing"),
    ("a: [1] b", (1, 8), "Text goes on behind the closing bracket"),
    ("a: {b: 1}c: 2", (1, 10), "Text goes on behind the closing bracket"),
    ("a: &x  '1}\nb: 2\n", (1, 8), "The quote ' is opened here and not closed."),
    ("a: 'x\n---\nb: 'y'", (1, 4), "The quote ' is opened here and not closed"),
    ("a: : b", (1, 4), "A second colon with a space behind it"),
    ("a: &x 1\nb: *x\tc\n", (2, 6), "A tab stands in this line"),
    ("'a': 1\nb: !<x", (2, 7), "This line doesn't fit"),
    ("a:1\nb: 2", (1, 2), "No space follows the colon"),
    ("a: 1\nb:2\nc: 3", (2, 2), "No space follows the colon"),
    ("a: 1\n\n# c:2\n- b:2\n", (4, 4), "No space follows the colon"),
    ("a: b: c", (1, 5), "A second colon with a space behind it"),
    ("a: 12 m3/h, b: 3", (1, 14), "A second colon with a space behind it"),
    ("a: @x", (1, 4), "A value can't begin with @"),
    ("a: %x", (1, 4), "A value can't begin with %"),
    ("a: `x`", (1, 4), "A value can't begin with `"),
    ("a: *.csv", (1, 4), "A value can't begin with *"),
    ("a: & b", (1, 4), "A value can't begin with &"),
    ("a: > 5 m3/h", (1, 4), "A value can't begin with >"),
    ("a: | x", (1, 4), "A value can't begin with |"),
    ("a: - b", (1, 4), "A list begins in the line of its key"),
    ("a: 1\n...\nb: 2", (2, 1), "The line ... ends a document"),
    ("%YAML 3.0\n---\na: 1", (1, 1), "The line begins with %YAML"),
    ("a: 1\nserial 2\nb: 3", (2, 1), "No colon stands between a key and a value"),
    ("a: 1\n b: 2", (2, 2), "This line is indented deeper than line 1"),
    ("a: 1\n\n# c\n   b: 2\n", (4, 4), "This line is indented deeper than line 1"),
    ("a:\n   b: 1\n  c: 2", (3, 3), "The indentation is 2; by the lines above it is 0"),
    ("- - a\n - b", (2, 2), "The indentation is 1; by the lines above it is 0 or 4"),
    ("n: |\n  text\n b: x\n", (3, 2), "The indentation is 1; by the lines above"),
    ("- a\nb: 1", (2, 1), "A list item and a key stand at the same level"),
    ("a: 1\n- b", (2, 1), "A list item and a key stand at the same level"),
    ("a: !<x y> z", (1, 7), "This line doesn't fit the lines before it (the parser"),
    ("a:\n  b: !<x y\n", (2, 9), "This line doesn't fit the lines before it (the"),
]


@pytest.mark.parametrize("parser", ["C", "Python"])
@pytest.mark.parametrize(("text", "place", "problem"), SLIPS)
def test_a_slip_is_told_by_its_look(
    text: str,
    place: tuple[int, int],
    problem: str,
    parser: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each common slip gets its own sentence and place, whichever parser stopped."""
    if parser == "Python":
        monkeypatch.delattr(yaml, "CBaseLoader")
    (fault,) = read_document(text.encode(), "m.yaml").faults
    assert (fault.problem[: len(problem)], fault.place[1:]) == (problem, place)
    assert fault.advice.endswith((".", "`."))


def test_an_escape_in_a_later_line_is_no_open_quote() -> None:
    """A backslash that stops the parser is not told as a quote left open."""
    (fault,) = read_document(b'a: "x\n  \\s"\n', "m.yaml").faults
    assert fault.place[:2] == ("m.yaml", 2)
    assert fault.problem.startswith("A backslash in double quotes begins a code")


def test_a_long_line_is_not_searched() -> None:
    """A line of more than 1000 characters gets the parser's words, in no time."""
    text = "a: b: " + '"' * 100_001
    (fault,) = read_document(text.encode(), "m.yaml").faults
    assert "the parser says" in fault.problem


def test_an_open_quote_is_told_in_a_line_of_any_length() -> None:
    """A quote that is never closed is told where it is opened."""
    text = 'a: "' + "x" * 100_000
    (fault,) = read_document(text.encode(), "m.yaml").faults
    assert fault.place == Place("m.yaml", 1, 4)
    assert "is opened here and not closed" in fault.problem


@pytest.mark.parametrize(
    ("text", "closed"),
    [
        ("a: [1 x: 2, ']']", True),
        ("a: [1 x: 2, ']'", False),
        ("a: [1 x: 2 # ]", False),
        ("a: [{b: [] x: 2}]", True),
        ("a: [{b: [] x: 2}", False),
    ],
)
def test_a_bracket_is_closed_by_its_own(text: str, closed: bool) -> None:
    """Brackets in quotes and comments close nothing, inner ones only themselves."""
    stop = Stop([text], 0, text.index("x") + 1, (0, 3), "")
    assert explain(stop).problem.startswith(
        "A comma is missing" if closed else "The bracket [ is opened here and not"
    )


def test_the_sentences_name_no_parser_state() -> None:
    """Every sentence is written here, and none repeats a parser's vocabulary."""
    source = Path(explain.__code__.co_filename).read_text("utf-8")
    assert not re.search(r"block mapping|flow sequence|simple key|token", source)
