"""Laws of how a value is written: every reader reads back exactly what was given."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from configlint.documents import read_document
from configlint.review.layout import read_layout, read_round_trip
from configlint.review.scalar_text import is_one_line, quote_of, scalar_text

ONE_LINE = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]),
    min_size=1,
    max_size=20,
).filter(is_one_line)
SIGNS = st.lists(
    st.sampled_from([*"-?:,[]{}#&*!|>'\"%@`=~ a1.\\", ": ", " #"]), min_size=1
).map("".join)


@pytest.mark.parametrize(
    ("value", "written"),
    [
        ("120 m3/h", "120 m3/h"),
        ("-2", "-2"),
        ("true", "true"),
        ("2026-03-31", "2026-03-31"),
        ("http://a/b", "http://a/b"),
        ("a#b", "a#b"),
        ("yes", '"yes"'),
        ("0010", '"0010"'),
        ("~", '"~"'),
        ("=", '"="'),
        ("a: b", '"a: b"'),
        ("a #b", '"a #b"'),
        ("a:", '"a:"'),
        ("- a", '"- a"'),
        ("--- a", '"--- a"'),
        ('say "x"', 'say "x"'),
        ('"x" \\', '"\\"x\\" \\\\"'),
    ],
)
def test_quotes_are_written_where_they_are_needed(value: str, written: str) -> None:
    """A value stands plain unless a reader would take it for something else."""
    assert scalar_text(value) == written


def test_a_quote_that_is_there_is_kept() -> None:
    """A value in quotes stays in these quotes, and a spare one is the file's own."""
    assert scalar_text("a", "'") == "'a'"
    assert scalar_text("it's", "'") == "'it''s'"
    assert scalar_text("a", '"', "'") == '"a"'
    assert scalar_text("yes", "", "'") == "'yes'"


def test_brackets_need_more_quotes() -> None:
    """Inside brackets no comma, bracket or colon stands without quotes."""
    for value in ("a, b", "[a", "a]", "{a", "a}", "a:b"):
        assert scalar_text(value) == value or value[0] in "[{"
        assert scalar_text(value, flow=True) == f'"{value}"'


@given(st.one_of(ONE_LINE, SIGNS), st.sampled_from(("", "'", '"')), st.booleans())
def test_a_value_is_read_back_as_given(value: str, quote: str, flow: bool) -> None:
    """The reader of meter files, the round-trip one and YAML 1.1 read one value."""
    written = scalar_text(value, quote, flow=flow)
    text = f"a: {{b: {written}}}\n" if flow else f"a:\n  b: {written}\n"
    (document,) = read_document(text.encode(), "m.yaml").documents
    assert document.value == {"a": {"b": value}}
    assert read_round_trip(text, "m.yaml") == (document.value,)
    plain = yaml.safe_load(text)["a"]["b"]
    assert isinstance(plain, str | bool | int | float) or str(plain) == value
    if isinstance(plain, str):
        assert plain == value


@pytest.mark.parametrize(
    ("text", "quote"),
    [
        ("a: 'b'\n", "'"),
        ('a: "b"\n', '"'),
        ("a: 'b'\nc: \"d\"\n", '"'),
        ("a: 'b'\n'c': \"d\"\n", "'"),
        ("a: b\n", '"'),
    ],
)
def test_the_quote_of_a_file_is_the_one_it_uses_most(text: str, quote: str) -> None:
    """The double quote is taken where a file shows no other habit."""
    assert quote_of(read_layout(text, "m.yaml")) == quote


@pytest.mark.parametrize("value", ["", "a\nb", "a\r", "\t", "\x00", "\u2028", "\ud800"])
def test_what_no_line_can_hold_is_told(value: str) -> None:
    """Breaks, tabs and characters that no file may hold are no value of one line."""
    assert not is_one_line(value)
    assert is_one_line("250 m³/h")
