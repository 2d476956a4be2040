"""Laws of faults in a document: each is told at its place, and the rest is kept."""

from __future__ import annotations

import pytest

from configlint.documents import read_document
from configlint.errors import Place
from tests.documents import fault_of, read, values_of

pytestmark = pytest.mark.usefixtures("parser")


def test_a_repeated_key_counts_as_not_written() -> None:
    """Each repeat of a key is told at its place with the first; no value is kept."""
    reading = read("s:\n  a: 1\n  b: 2\n  a: 3\n  a: {c: 1}\nt: 4\n")
    assert [found.value for found in reading.documents] == [{"s": {"b": "2"}, "t": "4"}]
    assert [(fault.kind, fault.place.line, fault.path) for fault in reading.faults] == [
        ("key-written-once", 4, ("s", "a")),
        ("key-written-once", 5, ("s", "a")),
    ]
    assert {fault.elsewhere for fault in reading.faults} == {Place("m.yaml", 2, 3)}
    assert reading.documents[0].key_place(("s", "a")) == Place("m.yaml", 2, 3)
    assert reading.documents[0].place(("s", "a")) == Place("m.yaml", 2, 3)


def test_a_repeated_key_is_not_merged_in() -> None:
    """A merge brings no key that its section writes, not even a repeated one."""
    assert values_of("x: &x {a: 0, b: 0}\ny: {a: 1, a: 2, <<: *x}") == [
        {"x": {"a": "0", "b": "0"}, "y": {"b": "0"}}
    ]


def test_a_repeated_merge_key_brings_nothing() -> None:
    """Two merge keys in one section are a repeated key, and neither merges."""
    text = "x: &x {a: 0}\ny: {<<: *x, <<: *x, b: 1}\n"
    assert values_of(text) == [{"x": {"a": "0"}, "y": {"b": "1"}}]
    assert fault_of(text).kind == "key-written-once"


@pytest.mark.parametrize(
    ("text", "value", "mark"),
    [
        ("a: !!int 5\nb: 1", {"b": "1"}, "!!int"),
        ("a: !!python/object/apply:os.system [x]\nb: 1", {"b": "1"}, "!!python/obj"),
        ("a: !x {c: {d: [1]}}\nb: 1", {"b": "1"}, "!x"),
        ("a: !<y> x\nb: 1", {"b": "1"}, "y"),
        ("a: [1, ! 2, 3]\nb: 1", {"a": ["1", "3"], "b": "1"}, "!"),
        ("!x a: 1\nb: 1", {"b": "1"}, "!x"),
        ("a: {<<: !x {c: 1}}\nb: 1", {"a": {}, "b": "1"}, "!x"),
    ],
)
def test_a_type_mark_is_refused(text: str, value: object, mark: str) -> None:
    """A value behind a type mark counts as not written; the rest is kept."""
    fault = fault_of(text)
    assert fault.kind == "type-mark-absent"
    assert f"'{mark}" in fault.problem
    assert values_of(text) == [value]


def test_an_alias_of_a_refused_value_is_refused_with_it() -> None:
    """One type mark is one fault, though aliases name the value and its parts."""
    text = "a: !t &x {b: &y 1, c: &z [2]}\nd: *x\ne: *y\nf: *z\ng: 1\n"
    assert values_of(text) == [{"g": "1"}]
    assert fault_of(text).place == Place("m.yaml", 1, 4)


def test_a_document_whose_root_is_refused_is_left_out() -> None:
    """The documents beside a refused one are kept."""
    assert values_of("a: 1\n--- !x\nb: 2\n---\nc: 3\n") == [{"a": "1"}, {"c": "3"}]


@pytest.mark.parametrize("text", ["? [a]\n: 1\nb: 2", "{x: 1}: 1\nb: 2"])
def test_a_key_must_be_a_scalar(text: str) -> None:
    """A section or a list as a key is a fault, and its value is not kept."""
    assert values_of(text) == [{"b": "2"}]
    assert "where a key is expected" in fault_of(text).problem


def test_a_long_text_is_shortened_in_a_message() -> None:
    """A message shortens a key that is long."""
    key = "k" * 900
    fault = fault_of(f"{key}: 1\n{key}: 2\n")
    assert len(fault.problem) < 200


def test_a_brace_in_a_key_stays_a_brace() -> None:
    """A brace in a file's text is never taken for a blank of the message."""
    assert "'{0}{key}'" in fault_of('"{0}{key}": 1\n"{0}{key}": 2\n').problem


def test_documents_before_a_syntax_fault_are_kept() -> None:
    """A break of syntax ends the reading; whole documents above it stay."""
    text = "a: 1\na: 2\nb: 3\n---\nc: 4\n---\nd: [1\ne: 5\n"
    assert values_of(text) == [{"b": "3"}, {"c": "4"}]
    first, second = read(text).faults
    assert first.kind == "key-written-once"
    assert (second.kind, second.place) == ("file-readable", Place("m.yaml", 7, 4))


@pytest.mark.parametrize("text", ['a: "\\ud800"', 'a: "\\U00110000"'])
def test_an_escape_of_no_character_is_a_fault(text: str) -> None:
    """Half a surrogate pair and a number beyond Unicode are no text."""
    fault = fault_of(text)
    assert fault.place == Place("m.yaml", 1, 5)
    assert "is no code of a character" in fault.problem


def test_what_is_no_text_gives_no_document() -> None:
    """A file that can't be decoded has its fault and nothing else."""
    reading = read_document(b"a: 1\nb: \xff\n", "m.yaml")
    assert reading.documents == ()
    assert [fault.place for fault in reading.faults] == [Place("m.yaml", 2, 4)]


def test_each_document_has_its_own_faults() -> None:
    """A fault belongs to the document it was met in; one that was lost has none."""
    reading = read("a: 1\na: 2\n---\nb: 1\n---\nc: !!str x\n---\nd: 1\nd: 2\ne: [\n")
    lines = [[fault.place.line for fault in each.faults] for each in reading.documents]
    assert lines == [[2], [], [6]]
    assert [fault.place.line for fault in reading.faults] == [2, 6, 9, 10]
