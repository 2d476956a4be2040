"""Two states of an invented plant, written beside one another and compared."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any
from zlib import crc32

import yaml

from configlint.data import data_folder
from configlint.review.compare import Comparison, compare
from configlint.review.sides import Side, judge
from tests.workspaces import write

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


@cache
def sound_values() -> Mapping[str, Any]:
    """Give the meter that all proofs start from, with which nothing is wrong."""
    text = (data_folder("rules") / "sound" / "separate.yaml").read_text("utf-8")
    values: dict[str, Any] = yaml.load(text, yaml.BaseLoader)["meter"]
    return values


def meter_text(
    changes: Mapping[str, str | None] | None = None, tag: str = "FT-2104"
) -> str:
    """Write a sound meter with some values changed by their paths, None for none."""
    values = deepcopy(dict(sound_values()))
    for path, text in {"meter": tag, **(changes or {})}.items():
        *way, last = path.split(".")
        part = values
        for step in way:
            part = part.setdefault(step, {})
        if text is None:
            part.pop(last)
        else:
            part[last] = text
    return yaml.safe_dump(values, sort_keys=False, allow_unicode=True)


def other_meter(tag: str, **changes: str) -> str:
    """Write a sound meter that shares no number with another one."""
    own = {"sensor.serial": f"S-{tag}", "transmitter.serial": f"T-{tag}"}
    own["sensor.calibration.certificate"] = f"C-{tag}"
    factor = f"1.{crc32(tag.encode()) % 1000:03}4"
    own["sensor.nameplate.calibration_factor"] = factor
    own["transmitter.calibration_factor"] = factor
    return meter_text({**own, **changes}, tag)


def make_side(folder: Path, files: Mapping[str, str]) -> Side:
    """Write the files of a side beneath its folder, with the sites around them."""
    for site in ("north", "south"):
        (folder / site).mkdir(parents=True, exist_ok=True)
    write(folder, {**SITES, **files})
    return Side(folder.name, folder, folder)


def compared(
    folder: Path, before: Mapping[str, str], after: Mapping[str, str]
) -> Comparison:
    """Compare two sets of files, each with the sites around it."""
    sides = (("before", before), ("after", after))
    one, other = (judge(make_side(folder / name, files), DAY) for name, files in sides)
    return compare(one, other)


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
