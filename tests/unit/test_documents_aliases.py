"""Laws of aliases and merge keys: what they bring, from where, and what they can't."""

from __future__ import annotations

import pytest

from configlint.errors import Place
from tests.documents import document_of, fault_of, values_of

pytestmark = pytest.mark.usefixtures("parser")


ALIASES = """\
type: &type
  size: DN 50
  range: &range {low: 0 m3/h}
names: [&name FT-1, *name]
a: *type
b:
  <<: *type
  size: DN 80
  own: *range
c: {<<: [*range, *type, {size: DN 100, extra: x}], low: 1 m3/h}
list: &list [*type]
d: {<<: *list}
"""


def test_aliases_and_merge_keys_bring_values() -> None:
    """An alias is its anchor's value; a written key wins, then the first source."""
    document = document_of(ALIASES)
    type_ = {"size": "DN 50", "range": {"low": "0 m3/h"}}
    assert document.value == {
        "type": type_,
        "names": ["FT-1", "FT-1"],
        "a": type_,
        "b": type_ | {"size": "DN 80", "own": {"low": "0 m3/h"}},
        "c": type_ | {"low": "1 m3/h", "extra": "x"},
        "list": [type_],
        "d": type_,
    }


@pytest.mark.parametrize(
    ("path", "value", "source"),
    [
        (("names", 1), (4, 21), (4, 9)),
        (("a",), (5, 4), (1, 7)),
        (("a", "size"), (5, 4), (2, 9)),
        (("a", "range", "low"), (5, 4), (3, 23)),
        (("a", "nothing"), (5, 4), (1, 7)),
        (("b", "range"), (7, 7), (3, 10)),
        (("b", "size"), (8, 9), None),
        (("b", "own", "low"), (9, 8), (3, 23)),
        (("c", "low"), (10, 57), None),
        (("c", "size"), (10, 18), (2, 9)),
        (("c", "extra"), (10, 47), None),
        (("d", "range", "low"), (12, 9), (3, 23)),
        (("d", "size"), (12, 9), (2, 9)),
    ],
)
def test_an_aliased_value_has_two_places(
    path: tuple[str | int, ...], value: tuple[int, int], source: tuple[int, int] | None
) -> None:
    """An aliased value is placed at its alias, and its source where it is written."""
    document = document_of(ALIASES)
    assert document.place(path) == Place("m.yaml", *value)
    expected = None if source is None else Place("m.yaml", *source)
    assert document.source_place(path) == expected


def test_keys_that_came_through_an_alias_stand_where_it_stands() -> None:
    """The key of a merged or aliased value is placed at the alias."""
    document = document_of(ALIASES)
    assert document.key_place(("a", "size")) == Place("m.yaml", 5, 4)
    assert document.key_place(("b", "range")) == Place("m.yaml", 7, 7)
    assert document.key_place(("b", "size")) == Place("m.yaml", 8, 3)
    assert document.key_place(("c", "extra")) == Place("m.yaml", 10, 40)


def test_a_merge_leaves_its_source_alone() -> None:
    """What a section merges is not written into the section it merges."""
    document = document_of("a: &x {k: 1}\nb: {<<: *x, l: 2}\nc: *x\n")
    assert document.value == {
        "a": {"k": "1"},
        "b": {"l": "2", "k": "1"},
        "c": {"k": "1"},
    }


def test_a_quoted_merge_sign_is_a_key() -> None:
    """Only a plain << merges; a quoted one is a key like any other."""
    assert document_of("'<<': {a: 1}").value == {"<<": {"a": "1"}}


def test_an_anchored_key_can_be_named() -> None:
    """A key may carry an anchor, and an alias of a scalar may be a key."""
    document = document_of("&k size: DN 50\nx: {*k : DN 80}\ny: *k\n")
    assert document.value == {"size": "DN 50", "x": {"size": "DN 80"}, "y": "size"}
    assert document.key_place(("x", "size")) == Place("m.yaml", 2, 5)


def test_a_later_anchor_of_the_same_name_counts_from_there() -> None:
    """An alias means the last anchor of its name above it."""
    value = document_of("a: &x 1\nb: *x\nc: &x 2\nd: *x\n").value
    assert value == {"a": "1", "b": "1", "c": "2", "d": "2"}


def test_an_alias_knows_nothing_of_the_document_before() -> None:
    """An anchor ends with its document, and means nothing in the next."""
    assert fault_of("a: &x 1\n---\nb: *x\n").problem.startswith("The alias *x has no")


def test_an_alias_of_a_section_is_no_key() -> None:
    """An alias can be a key only where it names a scalar."""
    text = "a: &x {c: 1}\n*x : 2\nb: 3\n"
    assert values_of(text) == [{"a": {"c": "1"}, "b": "3"}]
    assert fault_of(text).place == Place("m.yaml", 2, 1)


@pytest.mark.parametrize(
    "text",
    [
        "a: {<<: 5, c: 1}",
        "a: {<<: [x], c: 1}",
        "a: {<<: [[]], c: 1}",
        "a: {<<: , c: 1}",
    ],
)
def test_a_merge_key_takes_sections_only(text: str) -> None:
    """A merge of what is no section is a fault at the merge key."""
    fault = fault_of(text)
    assert (fault.place, fault.path) == (Place("m.yaml", 1, 5), ("a",))
    assert values_of(text) == [{"a": {"c": "1"}}]


def test_an_unknown_alias_counts_as_not_written() -> None:
    """An alias without anchor is a fault with its path, and reading goes on."""
    text = "a:\n  - 1\n  - *nothing\n  - 2\nb: 3\n"
    assert values_of(text) == [{"a": ["1", "2"], "b": "3"}]
    fault = fault_of(text)
    assert (fault.place, fault.path) == (Place("m.yaml", 3, 5), ("a", 1))
    assert "&nothing" in fault.advice


def test_an_alias_can_not_stand_in_its_own_anchor() -> None:
    """A value that would hold itself is a fault that names the anchor's place."""
    text = "a: &x\n  b: *x\n  c: 1\n"
    assert values_of(text) == [{"a": {"c": "1"}}]
    fault = fault_of(text)
    assert fault.place == Place("m.yaml", 2, 6)
    assert fault.elsewhere == Place("m.yaml", 1, 4)
