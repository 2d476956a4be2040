"""Laws of the field types, and of how a document's values become models."""

from __future__ import annotations

import copy
from typing import Annotated

import pytest
from pydantic import Field

from configlint.documents import Document, read_document
from configlint.errors import Fault
from configlint.fields import (
    Choice,
    Measured,
    Model,
    Text,
    Usable,
    dotted,
    is_mapping,
    may_be_unused,
    model_in,
    scalar_in,
    validate,
)
from configlint.units import Quantity


class Deep(Model):
    """A section of a section."""

    depth: Annotated[str, Text()] | None = None


class Inner(Model):
    """A section of a test model."""

    missing_kind = "inner-complete"

    name: Annotated[str, Text()] = Field(title="Name")
    length: Annotated[Quantity, Measured("length")] | None = None
    deep: Deep | None = None


class Outer(Model):
    """A test model with every shape of field."""

    missing_kind = "outer-complete"

    tag: Annotated[str, Text()] = Field(title="Tag")
    kind: Annotated[str, Choice("a", "b")] | None = None
    inner: Inner | None = None
    usable: Usable[Inner] = None
    items: tuple[Inner, ...] = ()
    texts: tuple[Annotated[str, Text()], ...] = ()
    named: dict[str, Inner] = Field(default_factory=dict)
    free: dict[str, str] = Field(default_factory=dict)
    aliased: Annotated[str, Text()] | None = Field(None, alias="with")
    even: int | None = None


def document_of(text: str) -> Document:
    """Read the one document of a text."""
    (document,) = read_document(text.encode(), "m.yaml").documents
    return document


def faults_of(text: str) -> tuple[Fault, ...]:
    """Give the faults of a text that should be an `Outer`."""
    return validate(Outer, document_of(text))[1]


def told(fault: Fault) -> tuple[str, int, int, str]:
    """Give a fault's kind, line, column and sentence."""
    return fault.kind, fault.place.line, fault.place.column, fault.sentence


WELL_FORMED = "value-well-formed"


def test_a_sound_value_becomes_the_model() -> None:
    """A sound value is given as its model, without faults."""
    text = """
tag: FT-1
kind: b
inner: {name: one, length: 2 m}
usable: not used
items: [{name: two}]
texts: [three]
named: {x: {name: four}}
free: {y: 010}
with: five
"""
    outer, faults = validate(Outer, document_of(text))
    assert faults == ()
    assert outer is not None
    assert outer.inner == Inner.model_validate({"name": "one", "length": "2 m"})
    assert outer.usable == "not used"
    assert [each.name for each in outer.items] == ["two"]
    assert outer.texts == ("three",)
    assert outer.named["x"].name == "four"
    assert (outer.free, outer.aliased) == ({"y": "010"}, "five")


def test_what_is_written_empty_is_absent() -> None:
    """A key without a value counts as not written, for scalars and for sections."""
    written = document_of("{tag: FT-1, kind: , inner: , usable: , with: }")
    assert validate(Outer, written) == validate(Outer, document_of("tag: FT-1"))


def test_a_value_at_a_path_is_read_with_its_true_places() -> None:
    """A value below the root is read alone, and its faults have the file's places."""
    document = document_of("list:\n  - {tag: a}\n  - {tag: b, kinds: a}\n")
    assert validate(Outer, document, ("list", 0))[1] == ()
    (fault,) = validate(Outer, document, ("list", 1))[1]
    assert told(fault) == (
        "key-known",
        3,
        14,
        "'kinds' is no key here. Write kind, if that is meant.",
    )
    assert fault.path == ("list", 1, "kinds")


def test_a_value_that_is_not_there_is_explained() -> None:
    """A path that leads to nothing gives a fault that names it, and no model."""
    model, (fault,) = validate(Outer, document_of("a: b"), ("list", 3))
    assert model is None
    assert fault.problem == "list[3]: nothing stands here."


FAULTS = (
    ("just text", WELL_FORMED, 1, 1, "the document: 'just text' stands here. Write a"),
    ("[a]", WELL_FORMED, 1, 1, "the document: a list stands here. Write a section."),
    ("{kind: a}", "outer-complete", 1, 1, "tag is not written. Write tag, which is"),
    ("{tag: }", "outer-complete", 1, 2, "tag is not written."),
    ("{tag: a, inner: {}}", "inner-complete", 1, 17, "inner.name is not written."),
    ("{tag: a, kind: c}", WELL_FORMED, 1, 16, "kind: 'c' is not one of: a, b"),
    ("{tag: a, inner: b}", WELL_FORMED, 1, 17, "inner: 'b' stands here. Write a sec"),
    ("{tag: a, usable: [b]}", WELL_FORMED, 1, 18, "or the words 'not used'."),
    ("{tag: a, usable: off}", WELL_FORMED, 1, 18, "usable: 'off' stands here."),
    ("{tag: a, texts: b}", WELL_FORMED, 1, 17, "texts: 'b' stands here. Write a list."),
    ("{tag: a, texts: [~]}", WELL_FORMED, 1, 18, "texts[0] is not written."),
    ("{tag: a, named: b}", WELL_FORMED, 1, 17, "named: 'b' stands here. Write a sec"),
    ("{tag: a, named: {x: }}", WELL_FORMED, 1, 18, "named.x is not written."),
    ("{tag: a, free: {x: [b]}}", WELL_FORMED, 1, 20, "a list stands here. Write a te"),
    ("{tag: a, even: 2}", WELL_FORMED, 1, 16, "even: '2': Input should be a valid int"),
    ("{tag: a, iner: b}", "key-known", 1, 10, "'iner' is no key here. Write inner"),
    ("{tag: a, iner: }", "key-known", 1, 10, "'iner' is no key here."),
    ("{tag: a, wth: b}", "key-known", 1, 10, "Write with, if that is meant."),
    ("{tag: a, aliased: b}", "key-known", 1, 10, "'aliased' is no key here."),
    ("{tag: a, length: 1 m}", "key-known", 1, 10, "Write it under inner or usable or"),
    (
        "{tag: a, inner: {name: b, lenth: c}}",
        "key-known",
        1,
        27,
        "'lenth' is no key of inner. Write length, if that is meant.",
    ),
    (
        "{tag: a, inner: {name: b, deep: {dept: c}}}",
        "key-known",
        1,
        34,
        "'dept' is no key of inner.deep. Write depth, if that is meant.",
    ),
    (
        "{tag: a, items: [{name: b, lenth: c}]}",
        "key-known",
        1,
        28,
        "'lenth' is no key of items[0]. Write length, if that is meant.",
    ),
    (
        "{tag: a, named: {name: {name: b, lenth: c}}}",
        "key-known",
        1,
        34,
        "'lenth' is no key of named.name. Write length, if that is meant.",
    ),
)


@pytest.mark.parametrize(("text", "kind", "line", "column", "words"), FAULTS)
def test_a_fault_has_its_place_and_sentence(
    text: str, kind: str, line: int, column: int, words: str
) -> None:
    """Each way of being wrong gives one fault, at its place, that says what to do."""
    (fault,) = faults_of(text)
    assert (fault.kind, fault.place.line, fault.place.column) == (kind, line, column)
    assert words in fault.sentence


def test_no_fault_hides_another() -> None:
    """All faults of a value are told, in the order of their places."""
    text = "{tagg: a, kind: c, inner: {nam: x, length: 3}, items: [{name: y}, {}, 3]}"
    assert [fault.path for fault in faults_of(text)] == [
        ("tag",),
        ("tagg",),
        ("kind",),
        ("inner", "name"),
        ("inner", "nam"),
        ("inner", "length"),
        ("items", 1, "name"),
        ("items", 2),
    ]


def test_a_faulty_value_counts_as_absent() -> None:
    """The rest of a value with faults is read, as if the faulty parts were absent."""
    text = """
tag: FT-1
kind: c
extra:
inner: {name: one, length: 3}
usable: {length: 3 m}
items: [{name: two, length: 1 l}, {length: 1 m}, 4, {name: five, length: 5 m}]
texts: [~, a]
named: {x: {}, y: {name: z, a: b}}
free: {x: [a], y: b}
"""
    outer, faults = validate(Outer, document_of(text))
    assert len(faults) == 11
    assert outer is not None
    assert (outer.tag, outer.kind, outer.usable) == ("FT-1", None, None)
    assert outer.inner is not None
    assert (outer.inner.name, outer.inner.length) == ("one", None)
    assert [each.name for each in outer.items] == ["two", "five"]
    assert outer.texts == ("a",)
    assert {name: each.name for name, each in outer.named.items()} == {"y": "z"}
    assert outer.free == {"y": "b"}


def test_a_value_without_a_required_key_is_no_model() -> None:
    """A required key that is missing or faulty leaves no model, only the faults."""
    assert validate(Outer, document_of("{kind: a}"))[0] is None
    assert validate(Outer, document_of("{tag: [a]}"))[0] is None


def test_a_documents_value_is_never_changed() -> None:
    """Reading a faulty value leaves the document's own value as it was."""
    document = document_of(
        "{tag: a, inner: &i {name: b, x: c}, usable: *i, items: [3]}"
    )
    before = copy.deepcopy(document.value)
    outer, faults = validate(Outer, document)
    assert document.value == before
    assert outer is not None
    assert outer.inner == outer.usable == Inner(name="b")
    assert len(faults) == 3


def test_a_replaced_value_is_read_instead_of_the_documents() -> None:
    """A value that is handed in is read in place of what the document holds."""
    document = document_of("{tag: a, kind: c}")
    outer, faults = validate(Outer, document, (), {"tag": "b"})
    assert (outer, faults) == (Outer(tag="b"), ())


def test_a_fault_behind_an_alias_names_both_places() -> None:
    """A fault in a value that came through an alias names alias and anchor."""
    document = document_of("a: &x {name: n, length: 3}\ntag: t\ninner: *x\n")
    (fault,) = validate(Outer, document, (), {"tag": "t", "inner": {"length": "3"}})[1][
        1:
    ]
    assert fault.place.line == 3
    assert fault.elsewhere is not None
    assert fault.elsewhere.line == 1


def test_models_are_frozen() -> None:
    """A model can't be changed after it was made."""
    with pytest.raises(ValueError, match="frozen"):
        Outer(tag="a").__setattr__("tag", "b")


def test_a_schema_describes_each_key_in_one_place() -> None:
    """A key that may be empty has one description, with null among its types."""
    schema = Outer.model_json_schema()
    properties = schema["properties"]
    assert schema["additionalProperties"] is False
    assert properties["kind"]["enum"] == ["a", "b", None]
    assert properties["kind"]["type"] == ["string", "null"]
    assert properties["with"]["type"] == ["string", "number", "boolean", "null"]
    assert properties["items"]["type"] == "array"
    assert "default" not in properties["kind"]
    assert properties["inner"]["anyOf"][0] == {"$ref": "#/$defs/Inner"}
    assert [each.get("const") for each in properties["usable"]["anyOf"]] == [
        None,
        "not used",
        None,
    ]


def test_fields_tell_what_they_hold() -> None:
    """A field tells its section, its mark, and whether it holds free names."""
    fields = Outer.model_fields
    assert model_in(fields["usable"].annotation) is Inner
    assert model_in(fields["named"].annotation) is Inner
    assert model_in(fields["kind"].annotation) is None
    assert scalar_in(fields["tag"]) == Text()
    assert scalar_in(fields["kind"]) == Choice("a", "b")
    assert scalar_in(fields["inner"]) is None
    assert [name for name, each in fields.items() if is_mapping(each)] == [
        "named",
        "free",
    ]
    assert [name for name, each in fields.items() if may_be_unused(each)] == ["usable"]


def test_paths_are_written_with_dots() -> None:
    """A path is written with dots between keys and brackets around list indices."""
    assert dotted(("meters", 0, "sensor", "bore")) == "meters[0].sensor.bore"
    assert dotted(()) == ""
