"""Laws of reading meter files and type sheets."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configlint.documents import Document, read_document
from configlint.errors import Fault, Place
from configlint.fields import Model, model_in, scalar_in
from configlint.meters import (
    PRINCIPLES,
    ElectromagneticMeter,
    MeterEntry,
    UnreadMeter,
    count_meters,
    read_meters,
    unread_meters,
)
from configlint.sensors import ElectromagneticSensor
from configlint.type_sheets import TypeSheet, read_type_sheets

HERE = Path(__file__).parent
FULL = (HERE / "full_meter.yaml").read_text("utf-8")

LISTED = {
    "{meter: FT-1, principle: vortex}": True,
    "{meter: FT-2, principle: turbine, servise: water}": True,
    "{meter: FT-3}": False,
    "{principle: vortex, receiver: 5}": False,
    "{meter: FT-4, principle: none}": False,
    "{meter: [], principle: coriolis}": False,
    "5": False,
    "": False,
    "[1, 2]": False,
}
"""Items of a list of meters, and whether each can be judged."""

SHEET = (HERE / "full_type_sheet.yaml").read_text("utf-8")


def document_of(text: str) -> Document:
    """Read the one document of a text."""
    (document,) = read_document(text.encode(), "m.yaml").documents
    return document


def read(text: str) -> tuple[tuple[MeterEntry, ...], tuple[Fault, ...]]:
    """Read the meters of a text."""
    return read_meters(document_of(text))


def absent(section: Model, path: str = "") -> Iterator[str]:
    """Name every key that a model leaves without a value."""
    for name, value in section:
        if value is None:
            yield path + name
        elif isinstance(value, Model):
            yield from absent(value, f"{path}{name}.")


def models(model: type[Model]) -> Iterator[type[Model]]:
    """Give a model and all models of its sections."""
    yield model
    for field in model.model_fields.values():
        inner = model_in(field.annotation)
        if inner is not None:
            yield from models(inner)


def test_a_full_meter_is_read_without_faults() -> None:
    """A meter that writes every key is read whole, and leaves none of them absent."""
    ((entry,), faults) = read(FULL)
    assert faults == ()
    assert entry.path == ()
    assert list(absent(entry.meter)) == []
    assert isinstance(entry.meter, ElectromagneticMeter)
    assert isinstance(entry.meter.sensor, ElectromagneticSensor)
    assert str(entry.meter.sensor.bore) == "151.2 mm"
    site_data = entry.meter.site_data or {}
    assert {name: str(each) for name, each in site_data.items()} == {
        "pump": "P-7",
        "head": "23 m",
        "note": "None",
    }


def test_a_full_type_sheet_is_read_without_faults() -> None:
    """A type sheet that writes every key is read whole, with none of them absent."""
    ((sheet,), faults) = read_type_sheets(document_of(SHEET))
    assert faults == ()
    assert list(absent(sheet)) == []


def test_a_type_sheet_without_name_is_not_given() -> None:
    """A type sheet that has no name gives the fault alone."""
    sheets, (fault,) = read_type_sheets(document_of("means: x"))
    assert sheets == ()
    assert fault.problem == "type_sheet is not written."


@pytest.mark.parametrize("model", [*PRINCIPLES.values(), TypeSheet])
def test_every_key_says_what_it_is(model: type[Model]) -> None:
    """Every key of every section has a title that says what it is."""
    for section in models(model):
        for name, field in section.model_fields.items():
            assert field.title, f"{section.__name__}.{name}"


def test_the_schema_lets_a_full_meter_through() -> None:
    """The JSON Schema of a meter fits the full meter and refuses a wrong key."""
    schema = PRINCIPLES["electromagnetic"].model_json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    validator.validate(document_of(FULL).value)
    assert not validator.is_valid(document_of(f"{FULL}\nmetre: x").value)


def test_every_principle_names_itself() -> None:
    """The table of principles leads to models that accept its names."""
    for name, model in PRINCIPLES.items():
        mark = scalar_in(model.model_fields["principle"])
        assert mark is not None
        assert mark.read(name) == name


HEAD = "meter: FT-1\nprinciple: electromagnetic\n"


def test_what_is_not_used_is_said_so() -> None:
    """The words `not used` stand in place of each section a meter may do without."""
    text = (
        f"{HEAD}current_output: not used\npulse_output: not used\n"
        "totalizer: not used\n"
        "receiver: {analogue: not used, counter: not used, bus: not used}\n"
    )
    ((entry,), faults) = read(text)
    assert faults == ()
    assert entry.meter.current_output == "not used"
    assert entry.meter.receiver is not None
    assert entry.meter.receiver.bus == "not used"


def test_a_list_of_meters_is_read_one_by_one() -> None:
    """Each meter of a list is read with its path, and none stops another."""
    text = """
meters:
  - {meter: FT-1, principle: electromagnetic}
  - {meter: FT-2, principle: electromagnetic, sensor: {bore: 80 l}}
  - just text
  - {principle: electromagnetic}
  - {meter: FT-5, principle: electromagnetic}
"""
    entries, faults = read(text)
    assert [(entry.meter.meter, entry.path) for entry in entries] == [
        ("FT-1", ("meters", 0)),
        ("FT-2", ("meters", 1)),
        ("FT-5", ("meters", 4)),
    ]
    assert [(fault.kind, fault.path, fault.place.line) for fault in faults] == [
        ("unit-of-right-kind", ("meters", 1, "sensor", "bore"), 4),
        ("value-well-formed", ("meters", 2), 5),
        ("meter-identified", ("meters", 3, "meter"), 6),
    ]
    assert faults[1].problem == "meters[2]: 'just text' stands here."


WRONG_FILES = (
    ("", "meter-file-recognised", 1, "The document is empty. Write a meter ('meter:'"),
    ("text", "meter-file-recognised", 1, "The document holds no meter."),
    ("[a]", "meter-file-recognised", 1, "The document holds no meter."),
    ("{site: a}", "meter-file-recognised", 1, "The document holds no meter."),
    ("meters: []", "meter-file-recognised", 1, "The list of meters is empty."),
    ("{site: a}", "meter-file-recognised", 1, "or move the file out of the folder"),
    ("meters: a", "value-well-formed", 1, "meters: no list of meters stands here."),
    ("meters: ", "value-well-formed", 1, "each item beginning with '- meter:'."),
)


@pytest.mark.parametrize(("text", "kind", "line", "words"), WRONG_FILES)
def test_a_file_without_meters_is_told(
    text: str, kind: str, line: int, words: str
) -> None:
    """A document that holds no meter gives one fault that says how to write one."""
    entries, (fault,) = read(text)
    assert entries == ()
    assert (fault.kind, fault.place.line) == (kind, line)
    assert words in fault.sentence


def test_keys_beside_a_list_of_meters_are_told() -> None:
    """Every key beside the list of meters is told, in the order of the file."""
    text = f"service: x\nmeters: [{{{HEAD.replace(chr(10), ', ')}}}]\nmeter: y\n"
    entries, faults = read(text)
    assert len(entries) == 1
    assert [(fault.kind, fault.place.line, fault.problem) for fault in faults] == [
        ("key-known", 1, "'service' stands beside the list of meters."),
        ("key-known", 3, "'meter' stands beside the list of meters."),
    ]


UNPRINCIPLED = (
    ("meter: a", ["meter-identified"], "principle is not written, or not as a text."),
    (
        "{meter: a, principle: }",
        ["meter-identified"],
        "one of: electromagnetic, ",
    ),
    ("{meter: a, principle: [b]}", ["meter-identified"], "principle is not written"),
    (
        "{meter: a, sensor: {bore: 3}}",
        ["meter-identified", "unit-of-right-kind"],
        "principle is not written",
    ),
    (
        "{meter: a, principle: Electromagnetik, sensor: {linning: b}}",
        ["meter-identified", "key-known"],
        "principle: 'Electromagnetik' is no principle known here. "
        "Write electromagnetic, if that is meant.",
    ),
    (
        "{meter: a, principle: thermal, sensor: {bluff: b}, totalizer: {digits: 99}}",
        ["meter-identified", "value-well-formed"],
        "electromagnetic, vortex, ultrasonic, coriolis",
    ),
    ("{principle: thermal}", ["meter-identified", "meter-identified"], "thermal"),
    (
        "{meter: 010, principle: thermal, sensor: {serial: 010}}",
        ["meter-identified", "scalar-read-alike"],
        "thermal",
    ),
)


@pytest.mark.parametrize(("text", "kinds", "words"), UNPRINCIPLED)
def test_a_meter_of_no_known_principle_is_told(
    text: str, kinds: list[str], words: str
) -> None:
    """Without a known principle the rest is still looked at, as far as it can be."""
    entries, faults = read(text)
    assert entries == ()
    assert [fault.kind for fault in faults] == kinds
    assert words in faults[0].sentence


def test_scalars_that_are_read_otherwise_are_told() -> None:
    """A plain scalar that YAML 1.1 software reads otherwise is told, a quoted not."""
    text = f"""{HEAD}service: off
sensor:
  serial: 0012345
  bore: 80 mm
  nameplate: {{calibration_factor: 1e-1}}
transmitter: {{serial: "0012345", low_flow_cutoff: 1e-2}}
totalizer: {{digits: 010}}
site_data: {{pump: 12:30, head: "12:30"}}
records: {{revision: "no", as_left_on: 2026-01-02}}
"""
    ((entry,), faults) = read(text)
    assert entry.meter.service == "off"
    assert {fault.kind for fault in faults} == {"scalar-read-alike"}
    assert [fault.path for fault in faults] == [
        ("service",),
        ("sensor", "serial"),
        ("sensor", "nameplate", "calibration_factor"),
        ("transmitter", "low_flow_cutoff"),
        ("totalizer", "digits"),
        ("site_data", "pump"),
    ]
    assert faults[0].place.line == 3
    assert faults[1].sentence == (
        "sensor.serial: '0012345' stands without quotes, and YAML 1.1 software "
        'reads 5349. Put it in quotes: "0012345".'
    )


def test_scalars_of_a_list_item_have_their_place() -> None:
    """A plain scalar below a list of meters is told at its own place."""
    text = "meters:\n  - meter: 010\n    principle: electromagnetic\n"
    _, (fault,) = read(text)
    assert (fault.path, fault.place.line) == (("meters", 0, "meter"), 2)
    assert fault.problem.startswith("meter: '010'")


def test_wrong_shapes_are_told_once() -> None:
    """A text for a section, or a section for a text, gives one fault and no more."""
    text = f"{HEAD}sensor: off\nservice: {{a: b}}\npulse_output: off\n"
    _, faults = read(text)
    assert [(fault.kind, fault.path) for fault in faults] == [
        ("value-well-formed", ("sensor",)),
        ("value-well-formed", ("service",)),
        ("value-well-formed", ("pulse_output",)),
    ]


@pytest.mark.parametrize(
    ("text", "line", "tag", "reason"),
    [
        ("meter: FT-2\nprinciple: none\n", 2, "FT-2", "principle: 'none' is no"),
        ("meter: FT-2\nservise: water\n", 1, "FT-2", "principle is not written"),
        ("\nprinciple: vortex\n", 2, "", "meter is not written"),
        ("principle: vortex\nreceiver: 5\nmeter: ''\n", 3, "", "meter: The text is"),
        ("meters:\n  - 5\n", 2, "", "meters[0]: '5' stands here"),
    ],
)
def test_a_meter_that_can_not_be_read_is_told_with_what_keeps_it_from_that(
    text: str, line: int, tag: str, reason: str
) -> None:
    """The fault of its tag or principle is the reason, before all others it has."""
    document = document_of(text)
    entries, faults = read_meters(document)
    assert not entries
    (unread,) = unread_meters(document, (), faults)
    assert (unread.place.line, unread.tag) == (line, tag)
    assert unread.reason.startswith(reason)


@given(st.lists(st.sampled_from([*LISTED]), max_size=6))
def test_every_meter_of_a_list_is_read_or_told(listed: list[str]) -> None:
    """Whatever stands in a list, each item is a meter or is told with its reason."""
    text = "meters:\n" + "".join(f"  - {each}\n" for each in listed)
    document = document_of(text if listed else "meters: []\n")
    entries, faults = read_meters(document)
    unread = list(unread_meters(document, {each.path for each in entries}, faults))
    assert len(entries) + len(unread) == len(listed) == count_meters(document)
    lines = [number for number, each in enumerate(listed, 2) if not LISTED[each]]
    assert [each.place.line for each in unread] == lines
    assert len(entries) == sum(LISTED[each] for each in listed)
    assert all(each.reason for each in unread)


def test_a_meter_without_a_fault_of_its_own_is_told_all_the_same() -> None:
    """Where nothing says why a meter was not read, its own place stands for it."""
    (unread,) = unread_meters(document_of("\nmeter: FT-1\n"), (), ())
    assert unread == UnreadMeter(Place("m.yaml", 2), "FT-1", "It can't be read.")
