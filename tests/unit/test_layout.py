"""Laws of a file's layout: every value has the span that it is written in."""

from __future__ import annotations

import pytest

from configlint.errors import RunError
from configlint.review.layout import (
    Alias,
    Group,
    Leaf,
    Row,
    read_layout,
    read_round_trip,
    step_of,
    walk,
)

TEXT = """\
# above
plain: 150 mm  # behind
single: 'it''s'
double: "a\\"b"
lines: first
  second
block: |
  one
  two
empty:   # nothing
flow: {a: 1, b: , c: [2, 'x'], d}
list:
  - &first 1
  - &second # behind
    2
named: &name {e: 3}
again: *name
typed: !!str &both 4
last: &nothing
"""


def spans(text: str, kind: type) -> list[str]:
    """Give what stands in the spans of everything of a kind, keys too."""
    found = walk(read_layout(text, "m.yaml"))
    return [text[each.start : each.end] for each in found if isinstance(each, kind)]


def values(text: str) -> dict[str, str]:
    """Give the spans of the values of a mapping at the root, by their keys."""
    (root,) = read_layout(text, "m.yaml")
    assert isinstance(root, Group)
    return {
        text[key.start : key.end]: text[value.start : value.end]
        for key, value in root.entries
    }


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_span_holds_what_is_written_and_no_more(end: str) -> None:
    """A span has the quotes of its value, but no anchor, type mark or comment."""
    text = TEXT.replace("\n", end)
    found = values(text)
    assert found["plain"] == "150 mm"
    assert found["single"] == "'it''s'"
    assert found["double"] == '"a\\"b"'
    assert found["lines"] == f"first{end}  second"
    assert found["block"] == f"|{end}  one{end}  two{end}"
    assert found["empty"] == found["last"] == ""
    assert found["flow"] == "{a: 1, b: , c: [2, 'x'], d}"
    assert found["again"] == "*name"
    assert found["typed"] == "4"
    assert spans(text, Alias) == ["*name"]
    assert {"1", "2", "3", "'x'"} <= set(spans(text, Leaf))
    assert spans(text, Row)[-1].endswith("2")


def test_a_value_of_no_length_is_right_behind_its_colon() -> None:
    """Where nothing is written, the span is behind the colon, or behind the anchor."""
    text = "a:   # x\n\nb : \n\nc: &x\n\n? d\n: \n"
    (root,) = read_layout(text, "m.yaml")
    assert isinstance(root, Group)
    found = [text[: value.start].rpartition("\n")[2] for _, value in root.entries]
    assert found == ["a:", "b :", "c: &x", ":"]


def test_a_span_counts_code_points() -> None:
    """Characters beyond the first plane count as one, as they do in the text."""
    assert values("𝄞: é 𝄞\nb: c\n") == {"𝄞": "é 𝄞", "b": "c"}


def test_a_section_has_the_column_of_its_keys() -> None:
    """The column is that of the keys, wherever an anchor of the section stands."""
    text = "a: &x\n   b: 1\nc:\n  - d: 2\n"
    columns = [
        each.column for each in walk(read_layout(text, "m")) if isinstance(each, Group)
    ]
    assert columns == [0, 3, 4]


def test_every_document_has_a_root() -> None:
    """The roots come in the order of the documents; a text without one has none."""
    assert len(read_layout("a: 1\n--- \nb: 2\n--- 3\n", "m.yaml")) == 3
    assert read_layout("# nothing\n", "m.yaml") == ()


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("a:\n    b: 1\n", 4),
        ("a: 1\n", 2),
        ("a: {b: {c: 1}}\nd:\n - e:\n      f: 1\n", 3),
        ("", 2),
    ],
)
def test_the_step_is_that_of_the_first_section_in_another(text: str, step: int) -> None:
    """A file's own indentation is found; two blanks stand for one that shows none."""
    assert step_of(read_layout(text, "m.yaml")) == step


def test_a_round_trip_keeps_every_scalar_a_text() -> None:
    """No figure, truth or date is made of a text, and merged keys are there."""
    text = "a: &x {b: 010, c: yes, d: 2025-02-30, e: =}\nf: {<<: *x, b: ~}\n- bad"
    text = text.removesuffix("- bad") + "g: 1e999\n"
    (loaded,) = read_round_trip(text, "m.yaml")
    assert loaded["a"] == {"b": "010", "c": "yes", "d": "2025-02-30", "e": "="}
    assert loaded["f"] == {"b": None, "c": "yes", "d": "2025-02-30", "e": "="}
    assert loaded["g"] == "1e999"


def test_a_round_trip_shows_what_is_no_text() -> None:
    """Values behind type marks and keys that are lists are shown in some text."""
    (loaded,) = read_round_trip("a: !x 1\n? [b, c]\n: 2\nd: {}\n~: 3\n", "m.yaml")
    assert "!x" in loaded["a"]
    assert "('b', 'c')" in loaded
    assert loaded[None] == "3"


@pytest.mark.parametrize(
    ("text", "place"),
    [("a: [1\n", "m.yaml:2:1"), ("a: *b\n", "m.yaml:1:4"), ("? {a: {}}\n: 1\n", "m")],
)
def test_what_the_library_can_not_read_is_one_fault(text: str, place: str) -> None:
    """Whatever error the library ends in is a sentence with a place in the file."""
    with pytest.raises(RunError) as caught:
        read_round_trip(text, "m.yaml")
    (fault,) = caught.value.faults
    assert str(fault.place).startswith(place)
    assert "can't read this" in fault.problem


@pytest.mark.parametrize(
    "text",
    [
        "a: b\t# c\n",
        "a: b\t\n",
        "a:\tb\n",
        "a:\t\n  b: c\n",
        "a: 'b'\t# c\n",
        "a: [b]\t# c\n",
        "a: &x\tb\n",
        "a: b\n  \t# c\nc: d\n",
        "a: {b:\tc,\td: e}\n",
    ],
)
def test_a_tab_that_yaml_allows_is_as_good_as_a_blank(text: str) -> None:
    """Before a comment or behind a colon it does not hinder, and moves nothing."""
    blank = text.replace("\t", " ")
    assert read_layout(text, "a.yaml") == read_layout(blank, "a.yaml")
    assert read_round_trip(text, "a.yaml") == read_round_trip(blank, "a.yaml")


def test_an_anchor_that_is_set_twice_is_no_warning() -> None:
    """What the reader of meter files has said already is not said again."""
    (loaded,) = read_round_trip("a: &x 1\nb: &x 2\nc: *x\nc: 3\n", "m.yaml")
    assert loaded["b"] == "2"
