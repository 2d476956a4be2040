"""An invented workspace of sound meters, to try changes in."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from configlint import bench
from configlint.rule_book import load_rule_book
from tests.sound_meters import meter_text
from tests.workspaces import write

__all__ = ["FILES", "mistyped", "sound", "works", "write"]

FILES = {
    "configlint.yaml": (
        "workspace: Works\nsites:\n  North: {folder: north}\n  South: {folder: south}\n"
    ),
    "north/site.yaml": "site: North\nmains_frequency: 50 Hz\n",
    "south/site.yaml": "site: South\nmains_frequency: 50 Hz\n",
}
# Loading the rules takes most of the time, and they are the same in every test.
LOAD = cache(load_rule_book)


def sound(tag: str = "FT-1") -> str:
    """Write the meter that proofs start from, under a tag and serials of its own."""
    own = {
        "sensor.serial": f"S-{tag}",
        "sensor.calibration.certificate": f"C-{tag}",
        "transmitter.serial": f"T-{tag}",
        "receiver.bus": {"name": "one", "address": tag},
    }
    return meter_text(own, tag)


def mistyped() -> str:
    """Write the sound meter with two digits exchanged in its transmitter's factor."""
    before, after = sound().rsplit("'1.0234'", 1)
    return f"{before}1.0324{after}"


def works(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a folder a workspace of two sites, each of one sound meter, and go there."""
    monkeypatch.chdir(folder)
    monkeypatch.setattr(bench, "load_rule_book", LOAD)
    write(folder, FILES)
    write(folder, {"north/FT-1.yaml": sound(), "south/FT-2.yaml": sound("FT-2")})
    return folder
