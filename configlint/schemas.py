"""JSON Schemas (draft 2020-12) of every file format, generated from the models.

`python -m configlint.schemas FOLDER` writes them into a folder that exists; the ones
kept in schemas/ let an editor complete and explain the files.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from configlint.concession_files import ConcessionsFile
from configlint.files import write_beside
from configlint.meters import PRINCIPLES
from configlint.outputs.json import ReportObject
from configlint.outputs.ndjson import LineObject
from configlint.review.adjust_json import AdjustmentObject
from configlint.review.compare_json import ComparisonObject
from configlint.rule_files import RuleFile
from configlint.sheets.window_json import WindowsObject
from configlint.sheets.worksheet_json import WorksheetObject
from configlint.tables import TableFile
from configlint.type_sheets import TypeSheet
from configlint.workspace import SiteFile, WorkspaceFile

__all__ = ["main", "schemas", "write_schemas"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
TITLES: dict[str, tuple[str, Any]] = {
    "site": ("A site's file, site.yaml", SiteFile),
    "workspace": ("A workspace's file, configlint.yaml", WorkspaceFile),
    "concessions": (
        "A workspace's file of concessions, concessions.yaml",
        ConcessionsFile,
    ),
    "rules": ("A file of a rule set", RuleFile),
    "table": ("A look-up table beside the rules", TableFile),
    "type-sheet": ("The type sheet of a device", TypeSheet),
    "findings": ("The findings report", ReportObject),
    "finding-lines": ("A line of the findings report as JSON Lines", LineObject),
    "windows": ("What the settings of meters may be", WindowsObject),
    "worksheet": ("Calculation sheets of meters", WorksheetObject),
    "comparison": ("The comparison of two states", ComparisonObject),
    "adjustment": ("The report of a change", AdjustmentObject),
}


def schemas() -> Iterator[tuple[str, dict[str, Any]]]:
    """Give each format's name and schema."""
    yield "meter", _meter_schema()
    for name, (title, model) in TITLES.items():
        yield name, _headed(title, TypeAdapter(model).json_schema())


def _meter_schema() -> dict[str, Any]:
    """One meter of any principle at the root, or many under `meters`.

    Conditions lead to one schema at a time, so that an editor says what is wrong in
    it; between alternatives it could only say that none of them fits.
    """
    models = tuple(PRINCIPLES.values())
    _, together = TypeAdapter.json_schemas(
        [(model, "validation", TypeAdapter(model)) for model in models]
    )
    one = {"$ref": "#/$defs/AnyMeter"}
    listed = {"title": "The meters of the file", "type": "array", "items": one}
    meters = {
        "type": "object",
        "properties": {"meters": listed},
        "additionalProperties": False,
    }
    schema = {
        "if": {"type": "object", "required": ["meters"]},
        "then": meters,
        "else": one,
        "$defs": {"AnyMeter": _any_meter(), **together["$defs"]},
    }
    return _headed("A meter's file", schema)


def _any_meter() -> dict[str, Any]:
    """A meter of the principle that it names; without one, all keys are offered."""
    named = {"title": "Principle of measurement", "enum": list(PRINCIPLES)}
    return {
        "type": "object",
        "properties": {"principle": named},
        "required": ["principle"],
        "allOf": [
            {
                "if": {"properties": {"principle": {"const": principle}}},
                "then": {"$ref": f"#/$defs/{model.__name__}"},
            }
            for principle, model in PRINCIPLES.items()
        ],
    }


def _headed(title: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"$schema": DIALECT, **schema, "title": title}


def write_schemas(folder: Path) -> None:
    """Write each schema as NAME.schema.json into a folder, or raise OSError."""
    for name, schema in schemas():
        text = json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
        write_beside(folder / f"{name}.schema.json", text)


def main(arguments: Sequence[str]) -> int:
    """Write the schemas into the folder named, and give 0; else say why not, and 2."""
    if len(arguments) != 1:
        sys.stderr.write("Name one folder: python -m configlint.schemas FOLDER\n")
        return 2
    try:
        write_schemas(Path(arguments[0]))
    except OSError as error:
        sys.stderr.write(f"{error.filename}: {error.strerror}.\n")
        return 2
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
