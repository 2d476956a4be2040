"""Two states of an invented plant, written beside one another and compared."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

from configlint.report import Commit
from configlint.review.compare import Comparison, compare
from configlint.review.sides import Side, judge
from tests.sound_meters import meter_text, other_meter
from tests.workspaces import write

__all__ = [
    "DAY",
    "FILE",
    "HOSTILE",
    "PLANT",
    "SITES",
    "WORKSPACE",
    "WRONG",
    "A",
    "B",
    "C",
    "compared",
    "concession",
    "eventful",
    "make_side",
    "meter_text",
    "other_meter",
    "without_changes",
]

DAY = date(2026, 1, 2)
WORKSPACE = """\
workspace: plant
sites: {north: {folder: north}, south: {folder: south}}
"""
SITES = {
    "configlint.yaml": WORKSPACE,
    "north/site.yaml": "site: north\nmains_frequency: 50 Hz\n",
    "south/site.yaml": "site: south\nmains_frequency: 50 Hz\n",
}
A, B, C = "north/a.yaml", "north/b.yaml", "south/c.yaml"
WRONG = {"transmitter.calibration_factor": "1.1"}
PLANT = {
    **SITES,
    A: other_meter("FT-1"),
    B: other_meter("FT-2", **WRONG),
    C: other_meter("FT-3"),
}
"""Three meters of two sites, of which one has a wrong factor."""


def make_side(folder: Path, files: Mapping[str, str]) -> Side:
    """Write the files of a side beneath its folder, with the sites around them."""
    for site in ("north", "south"):
        (folder / site).mkdir(parents=True, exist_ok=True)
    write(folder, {**SITES, **files})
    return Side(folder.name, folder, folder)


def compared(
    folder: Path,
    before: Mapping[str, str],
    after: Mapping[str, str],
    trusted: bool = False,
) -> Comparison:
    """Compare two sets of files, each with the sites around it."""
    sides = (("before", before), ("after", after))
    one, other = (judge(make_side(folder / name, files), DAY) for name, files in sides)
    return compare(one, other, trusted)


def without_changes(found: Comparison, rules: Commit | None = None) -> Comparison:
    """Give a comparison of the same sides between which nothing has changed."""
    return Comparison(
        before=found.before,
        after=found.after,
        meters=(),
        new=(),
        gone=(),
        kept=(),
        rules=rules,
    )


FILE = "north/FT-2104.yaml"
HOSTILE = "FT-\x1b[31m1|`<b>@all #1 [x](http://x.invalid) \u202ewww.x"


def eventful(folder: Path) -> Comparison:
    """Compare two states between which something of every kind has changed."""
    wrong = {"transmitter.calibration_factor": "1.1", "servise": "water"}
    before = {
        FILE: meter_text({**wrong, "sensor.bore": "0.15 m"}),
        "north/moves.yaml": other_meter("FT-2"),
        "north/goes.yaml": other_meter("FT-3"),
        "north/breaks.yaml": other_meter("FT-4"),
        "south/mends.yaml": "meter: [",
        "north/odd.yaml": other_meter("FT-6", **{"transmitter.damping": "2 s"}),
    }
    after = {
        "configlint.yaml": WORKSPACE + POLICY,
        FILE: meter_text(
            {
                "transmitter.calibration_factor": "1.2",
                "current_output.upper_range_value": "300 m3/h",
                "process.batch_volume": None,
            }
        ),
        "south/moves.yaml": other_meter("FT-2", **{"sensor.bore": "140 mm"}),
        "south/comes.yaml": other_meter("FT-7"),
        "north/breaks.yaml": "- x\n",
        "south/mends.yaml": other_meter("FT-5"),
        "north/odd.yaml": other_meter(HOSTILE, **{"transmitter.damping": "2 s"}),
        "other/x.yaml": "a: b\n",
    }
    return compared(folder, before, after)


POLICY = """
policy:
  velocity-at-span-in-band: {highest: {value: 9 m/s, reason: "Sand | and <b>"}}
"""


def concession(tag: str, rule: str = "calibration-factor-agrees") -> str:
    """Write a file of one concession, which holds on the day of the tests."""
    return (
        f"concessions:\n  - {{rule: {rule}, meter: {tag}, reason: Known,"
        " granted_by: invented engineer, granted_on: 2025-12-01,"
        " expires_on: 2026-02-01}\n"
    )
