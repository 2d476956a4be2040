"""Laws of the marks that turn a scalar's text into a value."""

from __future__ import annotations

import datetime
from typing import Annotated, Any

import jsonschema
import pytest
from pydantic import TypeAdapter
from pydantic_core import PydanticCustomError

from configlint.amounts import (
    EXAMPLES,
    AmountOrText,
    Count,
    Measured,
    Number,
    UnitSpelling,
)
from configlint.documents import read_document
from configlint.fields import Model, validate
from configlint.scalars import (
    Choice,
    Day,
    Misread,
    Scalar,
    Size,
    Text,
    Truth,
    offer,
    read_text,
    shown,
)
from configlint.units import parse_quantity, spellings

SOUND: tuple[tuple[Scalar, str, object], ...] = (
    (Measured("velocity"), "3 m/s", parse_quantity("3 m/s")),
    (Measured("ratio"), "0.003", parse_quantity("0.003")),
    (Measured("ratio", not_negative=True), "0 %", parse_quantity("0 %")),
    (Measured("volume", "mass"), "10 kg", parse_quantity("10 kg")),
    (Measured("temperature"), "-5 degC", parse_quantity("-5 degC")),
    (Number(), "-1.0230", parse_quantity("-1.0230")),
    (Number(above=0), "1e-3", parse_quantity("1e-3")),
    (Number(least=0, most=8784), "8784", parse_quantity("8784")),
    (Count(), "0", parse_quantity("0")),
    (Count(1, most=20), "20", parse_quantity("20")),
    (Text(), " off ", "off"),
    (Choice("forward", "both"), "both", "both"),
    (Truth(), "true", True),
    (Truth(), "false", False),
    (Day(), "2024-02-29", datetime.date(2024, 2, 29)),
    (Size(), "DN 150", "DN 150"),
    (Size(), "DN150", "DN 150"),
    (Size(), "150 mm", "DN 150"),
    (Size(), "NPS 6", "NPS 6"),
    (Size(), "NPS6", "NPS 6"),
    (Size(), "6 in", "NPS 6"),
    (Size(), "NPS 1-1/2", "NPS 1 1/2"),
    (Size(), "1 1/2 in", "NPS 1 1/2"),
    (Size(), "NPS 3/4", "NPS 3/4"),
    (UnitSpelling("volume", "mass"), "m3", "m3"),
    (UnitSpelling(), "degC", "degC"),
    (AmountOrText(), "80 mm", parse_quantity("80 mm")),
    (AmountOrText(), "pump 3", "pump 3"),
)


@pytest.mark.parametrize(("mark", "text", "value"), SOUND)
def test_a_sound_text_becomes_its_value(mark: Scalar, text: str, value: object) -> None:
    """A text that fits a field becomes the field's value, exactly as written."""
    assert mark.read(text) == value


@pytest.mark.parametrize(("mark", "text", "value"), SOUND)
def test_a_sound_text_fits_the_schema(mark: Scalar, text: str, value: object) -> None:
    """The JSON Schema of a field lets every text through that the field accepts."""
    adapter: TypeAdapter[Any] = TypeAdapter(Annotated[Any, mark])
    schema = adapter.json_schema()
    assert schema["description"]
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(text)


WELL_FORMED = "value-well-formed"
RIGHT_KIND = "unit-of-right-kind"
WRONG: tuple[tuple[Scalar, str, str, str], ...] = (
    (Measured("length"), "80 l", RIGHT_KIND, "'80 l' is a volume, which does not"),
    (Measured("length"), "5 m2", RIGHT_KIND, "'5 m2' is an area, which does not"),
    (Measured("length"), "80", RIGHT_KIND, "'80' has no unit. Write a length such"),
    (Measured("area"), "80", RIGHT_KIND, "Write an area such as 0.5 m2."),
    (Measured("pressure"), "PN 16", WELL_FORMED, "Write a pressure such as 6 bar."),
    (Measured("volume", "mass"), "1 m", RIGHT_KIND, "Write a volume or mass such as"),
    (
        Measured("volume flow", "mass flow", "velocity"),
        "1 m",
        RIGHT_KIND,
        "Write a volume flow, mass flow or velocity such as 250 m3/h.",
    ),
    (Measured("length"), "80 mmm", "unit-known", "mmm"),
    (Measured("length"), "wide", WELL_FORMED, "wide"),
    (Measured("length", above_zero=True), "0 mm", WELL_FORMED, "'0 mm' is not above"),
    (Measured("length", above_zero=True), "0 mm", WELL_FORMED, "80 mm, above 0."),
    (Measured("time", not_negative=True), "-1 s", WELL_FORMED, "3 s, 0 or more."),
    (Number(), "1.02 m", RIGHT_KIND, "a unit where none belongs. Write a bare number."),
    (Number(), "abc", WELL_FORMED, "abc"),
    (Number(above=0), "0", WELL_FORMED, "out of bounds. Write a bare number above 0."),
    (Number(least=2), "1", WELL_FORMED, "Write a bare number of 2 or more."),
    (Number(most=2), "3", WELL_FORMED, "Write a bare number of 2 or less."),
    (Number(least=0, most=9), "10", WELL_FORMED, "Write a bare number from 0 to 9."),
    (Count(), "-1", WELL_FORMED, "'-1' is not a whole number."),
    (Count(), "7.5", WELL_FORMED, "Write a whole number of 0 or more."),
    (Count(1, most=20), "21", WELL_FORMED, "Write a whole number from 1 to 20."),
    (Text(), "  ", WELL_FORMED, "The text is blank."),
    (Choice("forward", "both"), "foward", WELL_FORMED, "Write forward, if that is"),
    (
        Choice("forward", "both"),
        "x",
        WELL_FORMED,
        "not one of: forward, both. Write the",
    ),
    (Choice("both ends"), "one end", WELL_FORMED, "'one end' is not both ends."),
    (Choice("a", "both ends"), "one end", WELL_FORMED, "Write the one that is meant."),
    (Choice("electromagnetic"), "x", WELL_FORMED, "Write electromagnetic."),
    (Truth(), "yes", WELL_FORMED, "'yes' is neither true nor false. Write true,"),
    (Truth(), "OFF", WELL_FORMED, "Write false, if that is meant."),
    (Truth(), "perhaps", WELL_FORMED, "Write one of: true, false."),
    (Day(), "2024-02-30", WELL_FORMED, "'2024-02-30' is a day that no calendar has."),
    (Day(), "1.2.2024", WELL_FORMED, "is not written as a date. Write year-month-day"),
    (Size(), "150", WELL_FORMED, "'150' is not a nominal size."),
    (Size(), "DN 0", WELL_FORMED, "Write it as DN 150 or NPS 6."),
    (Size(), "NPS 2/2", WELL_FORMED, "is not a nominal size."),
    (UnitSpelling("volume"), "m3/h", RIGHT_KIND, "'m3/h' is a unit of volume flow."),
    (UnitSpelling("volume"), "m3/h", RIGHT_KIND, "Write a unit of volume such as l."),
    (UnitSpelling(), "m3/hr", "unit-known", "m3/h"),
    (AmountOrText(), " ", WELL_FORMED, "The text is blank."),
)


@pytest.mark.parametrize(("mark", "text", "kind", "words"), WRONG)
def test_a_wrong_text_is_explained(
    mark: Scalar, text: str, kind: str, words: str
) -> None:
    """A wrong text breaks one reading rule, and its sentence says what to write."""
    with pytest.raises(PydanticCustomError) as caught:
        mark.read(text)
    context = caught.value.context or {}
    assert caught.value.type == kind
    assert words in f"{context['problem']} {context['advice']}"


@pytest.mark.parametrize(("mark", "text", "value"), SOUND)
def test_a_text_of_no_field_is_read_alike(
    mark: Scalar, text: str, value: object
) -> None:
    """A text that no model declares has the value that it would have in a field."""
    assert read_text(mark, text) == value


def test_a_text_of_no_field_that_is_wrong_says_why() -> None:
    """What can't be read is given as the rule it breaks, the problem and the advice."""
    assert read_text(Truth(), "yes") == Misread(
        WELL_FORMED,
        "'yes' is neither true nor false.",
        "Write true, if that is meant.",
    )


@pytest.mark.parametrize("mark", {type(mark): mark for mark, _, _ in SOUND}.values())
def test_a_section_in_place_of_a_scalar_is_explained(mark: Scalar) -> None:
    """A section where a scalar belongs is told, with what every field expects."""

    class Holder(Model):
        value: Annotated[Any, mark]

    (document,) = read_document(b"value: {a: b}", "m.yaml").documents
    (fault,) = validate(Holder, document)[1]
    assert (fault.kind, fault.place.column) == (WELL_FORMED, 8)
    assert fault.sentence == (f"value: a section stands here. Write {mark.expected}.")


def test_every_kind_has_an_example() -> None:
    """Every kind of quantity has examples, and each of them is of its kind."""
    assert set(EXAMPLES) == {unit.kind for unit in spellings().values()}
    for kind, examples in EXAMPLES.items():
        assert {parse_quantity(each).unit.kind for each in examples} == {kind}


def test_long_texts_are_shown_shortened() -> None:
    """A text is quoted in a message with at most sixty characters, none raw."""
    assert shown("a" * 100) == repr("a" * 59 + "…")
    assert shown("\x1b[2J") == r"'\x1b[2J'"


def test_an_offer_names_as_many_as_asked() -> None:
    """An offer names the nearest words, and all of them where none is near."""
    assert offer("bore", ("bores", "borer"), 2) == (
        "Write bores or borer, if that is meant."
    )
    assert offer("x", ("bore",)) == "Write bore."
