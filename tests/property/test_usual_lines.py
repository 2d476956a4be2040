"""Law of the short way to read a file: the parser reads the same, or reads alone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from configlint.documents import Bounds, Reading, read_document
from configlint.errors import Path
from configlint.usual_lines import read_lines

KEYS = st.sampled_from(("a", "b", "bore", "_c", "d-1", "null", "yes", "E" * 101, "é"))
BLANKS = st.sampled_from(("", "", "", " ", "  ", "\t", "\xa0"))
INDENTS = st.sampled_from(("", "", "  ", "  ", "    ", "      ", " ", "   "))
COMMENTS = st.sampled_from(("", "", "", "#", " # b: c", " #\t'", "# x", "  #"))
PIECES = st.sampled_from(
    [
        *("150 mm", "DN 150", "0.1550 A", "-2", "x", "µS/cm", "𝄞", "null", "~", "Null"),
        *("12:30", ":", ": ", "#", " #", "-", "- ", "?", ",", "[", "]", "{", "}", "&a"),
        *("*a", "!", "!!int 1", "|", ">", "%", "@", "`", "'", '"', "\\", "''", "\t"),
        *(
            "'x y'",
            '"x: # y"',
            '"\\n"',
            "'it''s'",
            "''",
            '""',
            "<<",
            "=",
            ".",
            "+",
            "(",
        ),
    ]
)
VALUES = st.one_of(st.just(""), PIECES, st.lists(PIECES, max_size=4).map("".join))
ENTRIES = st.tuples(
    *(INDENTS, KEYS, BLANKS, st.sampled_from((":", ":", ":", ": ", ":  ", "")), BLANKS),
    *(VALUES, BLANKS, COMMENTS),
).map("".join)
USUAL = st.tuples(INDENTS, KEYS, st.just(": "), VALUES).map("".join)
OTHERS = st.sampled_from(
    ("", "  ", "# x", "  # x", "\t", "- a", "---", "...", "a", "%x")
)
LINES = st.one_of(USUAL, USUAL, USUAL, ENTRIES, OTHERS)
ENDS = st.sampled_from(("\n", "\n", "\n", "\r\n", "\r"))
TEXTS = st.lists(st.tuples(LINES, ENDS).map("".join), max_size=8).map("".join)


@st.composite
def nested(draw: st.DrawFn) -> str:
    """Write sections in sections, of which now and then a line has another form."""
    lines: list[str] = []
    open_at = [0]
    for number in range(draw(st.integers(1, 12))):
        value, comment = draw(st.one_of(st.just(""), PIECES)), draw(COMMENTS)
        lines.append(f"{' ' * open_at[-1]}key{number}: {value}{comment}")
        lines += draw(st.lists(OTHERS, max_size=1)) if number % 5 == 4 else []
        if not value:
            open_at.append(open_at[-1] + draw(st.integers(0, 3)))
        del open_at[draw(st.integers(1, len(open_at))) :]
    return draw(ENDS).join(lines)


def read_by_parser(text: str) -> Reading:
    """Read with a bound that is too small for the short way, but for nothing else."""
    return read_document(text.encode(), "m.yaml", Bounds(nodes=2 * len(text) - 1))


def paths_of(value: object, path: Path = ()) -> Iterator[Path]:
    """Give the paths of a value and of all below it, and one that is not written."""
    yield from (path, (*path, "unwritten"))
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from paths_of(inner, (*path, key))


@settings(max_examples=400)
@given(st.one_of(TEXTS, nested()))
@example("a:\n  b: 1\n c: 2\n")
@example("a: 1\n  b: 2\n")
@example("a: null\n  b: 2\n")
@example("a:\n  b: x: y\n")
@example("a:\nb: 1\na: 2\n")
@example('a: "x"y\n')
@example("a:   # only said\n  b: 1 # one\n")
@example("  a: 1\nb: 2\n")
@example("a:\n  b:\n    c: 'x'\n    d: -2\ne: \"\"")
def test_usual_lines_are_read_as_the_parser_reads_them(text: str) -> None:
    """What is read without the parser has the parser's values, and no fault."""
    value = read_lines(text, 50)
    if value is None:
        return
    parsed = read_by_parser(text)
    assert parsed.faults == ()
    assert [document.value for document in parsed.documents] == [value]
    mine, theirs = (
        read_document(text.encode(), "m.yaml").documents[0],
        parsed.documents[0],
    )
    for path in paths_of(value):
        assert mine.place(path) == theirs.place(path)
        assert mine.key_place(path) == theirs.key_place(path)
        assert mine.is_plain(path) == theirs.is_plain(path)


@pytest.mark.parametrize("depth", [1, 2, 3, 4])
def test_sections_too_deep_are_left_to_the_parser(depth: int) -> None:
    """Just where the parser refuses a section as too deep, nothing is read here."""
    text = "a:\n  b:\n    c: 1\n"
    refused = bool(read_document(text.encode(), "m.yaml", Bounds(depth=depth)).faults)
    assert refused is (depth < 3)
    assert (read_lines(text, depth) is None) is refused
