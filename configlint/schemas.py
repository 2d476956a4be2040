"""JSON Schemas (draft 2020-12) of every file format, generated from the models.

`python -m configlint.schemas FOLDER` writes them; the ones kept in schemas/ let
an editor complete and explain the files.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from configlint.files import write_beside
from configlint.meters import PRINCIPLES
from configlint.outputs.json import ReportObject
from configlint.rule_files import RuleFile
from configlint.tables import TableFile
from configlint.type_sheets import TypeSheet
from configlint.workspace import SiteFile, WorkspaceFile

__all__ = ["schemas", "write_schemas"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
TITLES: dict[str, tuple[str, Any]] = {
    "site": ("A site's file, site.yaml", SiteFile),
    "workspace": ("A workspace's file, configlint.yaml", WorkspaceFile),
    "rules": ("A file of a rule set", RuleFile),
    "table": ("A look-up table beside the rules", TableFile),
    "type-sheet": ("The type sheet of a device", TypeSheet),
    "findings": ("The findings report", ReportObject),
}


def schemas() -> Iterator[tuple[str, dict[str, Any]]]:
    """Give each format's name and schema."""
    yield "meter", _meter_schema()
    for name, (title, model) in TITLES.items():
        yield name, _headed(title, TypeAdapter(model).json_schema())


def _meter_schema() -> dict[str, Any]:
    """One meter of any principle at the root, or many under `meters`."""
    models = tuple(PRINCIPLES.values())
    _, together = TypeAdapter.json_schemas(
        [(model, "validation", TypeAdapter(model)) for model in models]
    )
    definitions = together["$defs"]
    one = [{"$ref": f"#/$defs/{model.__name__}"} for model in models]
    meters = {
        "type": "object",
        "description": "Several meters in one file.",
        "properties": {"meters": {"type": "array", "items": {"anyOf": one}}},
        "required": ["meters"],
        "additionalProperties": False,
    }
    schema = {"anyOf": [*one, meters], "$defs": definitions}
    return _headed("A meter's file", schema)


def _headed(title: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"$schema": DIALECT, **schema, "title": title}


def write_schemas(folder: Path) -> None:
    """Write each schema as NAME.schema.json into a folder."""
    for name, schema in schemas():
        text = json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
        write_beside(folder / f"{name}.schema.json", text)


if __name__ == "__main__":
    write_schemas(Path(sys.argv[1]))
