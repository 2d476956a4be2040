"""An invented workspace for tests, and how its files are written and refused."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from configlint.errors import RunError

METER = "meter: FT-1\nprinciple: electromagnetic\n"
WORKSPACE = """
workspace: Two works
unit_convention: SI
sites:
  North: {folder: sites/north}
  South: {folder: sites/south}
type_sheets: types
rules: own-rules
policy:
  velocity-at-span-in-band:
    highest: {value: 6 m/s, reason: Abrasive sludge}
"""
NORTH = """
site: North
mains_frequency: 50 Hz
unit_convention: US
policy:
  velocity-at-span-in-band:
    highest: {value: 5 m/s, reason: Sand}
"""
FILES = {
    "configlint.yaml": WORKSPACE,
    "concessions.yaml": "concessions: []\n",
    "sites/north/site.yaml": NORTH,
    "sites/north/a.yaml": METER,
    "sites/north/deep/b.yml": METER,
    "sites/south/c.YAML": METER,
    "sites/south/notes.txt": "no meter",
    "types/one.yaml": "type_sheet: one\n",
    "own-rules/two.yaml": "ruleset: own\n",
}


def write(folder: Path, files: Mapping[str, str | bytes]) -> Path:
    """Write files below a folder, with the line ends that their texts have."""
    for name, text in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return folder


def sentences(error: pytest.ExceptionInfo[RunError]) -> list[str]:
    """Give the faults that stopped a run, each with its place."""
    return str(error.value).splitlines()
