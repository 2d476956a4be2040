"""Laws of the schemas: current, sound, and of one mind with the program."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from configlint.check import check
from configlint.data import data_folder
from configlint.rule_book import load_rule_book
from configlint.schemas import DIALECT, main, schemas, write_schemas

NAMES = (
    *("meter", "site", "workspace", "concessions", "rules", "table", "type-sheet"),
    *("findings", "finding-lines", "worksheet", "windows", "comparison"),
    "adjustment",
)

METER = """\
meter: FT-1
principle: electromagnetic
sensor: {bore: 80 mm, serial: 12345, calibration: {date: 2026-01-02}}
transmitter: {damping: 3 s, settings_locked: true}
pulse_output: not used
totalizer:
"""


def documents(text: str) -> list[Any]:
    """Read all documents of a text as an editor does: a date is a text there."""
    return [with_texts(each) for each in yaml.safe_load_all(text)]


def with_texts(value: object) -> object:
    """Give a value with its dates as texts, which YAML 1.2 leaves them."""
    if isinstance(value, dict):
        return {key: with_texts(each) for key, each in value.items()}
    if isinstance(value, list):
        return [with_texts(each) for each in value]
    return value.isoformat() if isinstance(value, date) else value


@cache
def schema_named(name: str) -> dict[str, Any]:
    """Give a schema as it is generated now."""
    return dict(schemas())[name]


def refusals(name: str, value: object) -> list[str]:
    """Give what a schema has against a value."""
    validator = Draft202012Validator(schema_named(name))
    return [error.message for error in validator.iter_errors(value)]


def schema_of(file: Path) -> str:
    """Name the schema of a file in the examples."""
    by_name = {"configlint.yaml": "workspace", "site.yaml": "site"}
    by_name |= {"concessions.yaml": "concessions"}
    by_folder = {"type_sheets": "type-sheet", "rules": "rules", "types": "type-sheet"}
    by_folder |= {"tables": "table"}
    return by_name.get(file.name) or by_folder.get(file.parent.name, "meter")


def parts_of(value: object) -> Iterable[object]:
    """Give what an object or a list holds."""
    if isinstance(value, dict):
        return value.values()
    return value if isinstance(value, list) else ()


def properties(schema: object) -> Iterator[tuple[str, dict[str, Any]]]:
    """Give every property that a schema describes, at any depth."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {}).items()
    for part in parts_of(schema):
        yield from properties(part)


def test_the_kept_schemas_are_current(tmp_path: Path) -> None:
    """The schemas kept in the repository are those that the models give now."""
    write_schemas(tmp_path)
    made = {file.name: file.read_text("utf-8") for file in tmp_path.iterdir()}
    kept = data_folder("schemas")
    assert sorted(made) == sorted(f"{name}.schema.json" for name in NAMES)
    assert made == {file.name: file.read_text("utf-8") for file in kept.iterdir()}


@pytest.mark.parametrize("name", NAMES)
def test_every_schema_is_one_of_its_dialect(name: str) -> None:
    """Each schema is itself valid by JSON Schema, draft 2020-12, and has a title."""
    schema = schema_named(name)
    assert schema["$schema"] == DIALECT == Draft202012Validator.META_SCHEMA["$id"]
    Draft202012Validator.check_schema(schema)
    assert schema["title"]


@pytest.mark.parametrize("name", NAMES)
def test_every_key_is_explained(name: str) -> None:
    """Whatever can be written has a title or a description for an editor to show."""
    found = list(properties(schema_named(name)))
    assert found
    bare = [
        key
        for key, each in found
        if not {"title", "description", "const"} & each.keys()
    ]
    assert bare == []


def test_a_slip_is_named() -> None:
    """A misspelt key is named by the schema, and not lost among alternatives."""
    (meter,) = documents(METER.replace("bore:", "boar:"))
    (said,) = refusals("meter", {**meter, "servise": "water", "sensor": None})
    assert "'servise' was unexpected" in said


def test_every_amount_has_an_example() -> None:
    """Where an amount of a physical kind is written, the schema shows how."""
    amounts = [
        (key, each)
        for key, each in properties(schema_named("meter"))
        if "pattern" in each and r" \S" in each["pattern"]
    ]
    assert len(amounts) > 30
    assert [key for key, each in amounts if not each.get("examples")] == []


def test_a_meter_is_accepted() -> None:
    """A sound meter validates by itself and in a list, with its numbers unquoted."""
    (meter,) = documents(METER)
    assert refusals("meter", meter) == []
    assert refusals("meter", {"meters": [meter, meter]}) == []


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("principle:", "principal:"),
        ("bore: 80 mm", "boar: 80 mm"),
        ("bore: 80 mm", "bore: 80"),
        ("bore: 80 mm", "bore: wide"),
        ("bore: 80 mm", "bore: [80 mm]"),
        ("settings_locked: true", "settings_locked: maybe"),
        ("date: 2026-01-02", "date: 2 January"),
        ("pulse_output: not used", "pulse_output: unused"),
        ("electromagnetic", "elektromagnetic"),
    ],
)
def test_a_slip_is_refused(right: str, wrong: str) -> None:
    """A misspelt key, a wrong form and a wrong choice do not validate."""
    assert right in METER
    (meter,) = documents(METER.replace(right, wrong))
    assert refusals("meter", meter)
    assert refusals("meter", {"meters": [meter]})


@pytest.mark.parametrize(
    ("folder", "name"), [(".", "rules"), ("tables", "table"), ("types", "type-sheet")]
)
def test_the_files_beside_the_rules_validate(folder: str, name: str) -> None:
    """Every rule file, table and type sheet that comes along is of its schema."""
    files = sorted((data_folder("rules") / folder).glob("*.yaml"))
    assert files
    for file in files:
        for document in documents(file.read_text("utf-8")):
            assert refusals(name, document) == [], file


def test_the_sound_meters_validate() -> None:
    """The meters that proofs start from are of the meter's schema, with their sites."""
    files = sorted((data_folder("rules") / "sound").glob("*.yaml"))
    assert files
    for file in files:
        (document,) = documents(file.read_text("utf-8"))
        assert refusals("meter", document["meter"]) == [], file
        assert refusals("site", {"site": "north", **document["site"]}) == [], file
        sheet = {"type_sheet": "made", **document["type_sheet"]}
        assert refusals("type-sheet", sheet) == [], file


def test_schema_and_program_agree_on_the_examples(root: Path) -> None:
    """An example validates when reading it finds nothing, and not with a wrong key."""
    files = sorted((root / "examples").rglob("*.yaml"))
    assert files
    reading = load_rule_book(data_folder("rules")).reading_rules
    told: dict[str, set[str]] = {}
    for found in check([root / "examples"]).findings:
        if found.rule in reading:
            told.setdefault(Path(found.place.file).name, set()).add(found.rule)
    for file in files:
        rules = told.get(file.name, set())
        if rules and "key-known" not in rules:
            continue
        made = documents(file.read_text("utf-8"))
        errors = [error for each in made for error in refusals(schema_of(file), each)]
        assert bool(errors) is bool(rules), (file, errors)


def test_the_schemas_are_written_by_a_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With a folder the schemas are written; without one, what is wrong is said."""
    assert main([str(tmp_path)]) == 0
    written = json.loads((tmp_path / "meter.schema.json").read_text("utf-8"))
    assert written == schema_named("meter")
    assert main([]) == 2
    assert main([str(tmp_path / "nowhere")]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Name one folder" in said.err
    assert "meter.schema.json: No such file or directory." in said.err
