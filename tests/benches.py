"""An invented workspace of two sites, with rules of its own, and its bench."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from configlint.bench import Bench
from configlint.findings import Finding
from configlint.report import MeterResult
from configlint.workspace import find_sources
from tests.workspaces import write

__all__ = [
    "METER",
    "OWN",
    "PLANT",
    "SHEET",
    "SOUTH",
    "WORKSPACE",
    "Made",
    "Make",
    "made_in",
    "of_rule",
    "open_bench",
]

# Rules of a workspace's own, with limits, a quantity with a fallback, and rules
# across meters.
OWN = """\
ruleset: own
edition: "7"
quantities:
  own_bore:
    means: Bore
    symbol: d
    formula: sensor.bore
    unit: mm
    fallback: {formula: "100[mm]", note: The bore is taken for 100 mm.}
    basis: {practice: Geometry}
rules:
  own-range-small:
    category: C
    asks: Is the range small?
    applies: given(current_output.upper_range_value)
    limits: {highest: 50 m3/h}
    accept: current_output.upper_range_value <= highest
    finding: "{current_output.upper_range_value} is above {highest}."
    remedy: Make the range smaller than {highest}.
    settings: [current_output.upper_range_value]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-bores-agree:
    category: B
    asks: Do meters of one service have one bore?
    across: {scope: site, same: [service], agree: own_bore}
    finding: "The bore {own_bore} is not that of {others}."
    remedy: Correct it.
    settings: [service]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
WORKSPACE = """\
workspace: plant
sites:
  north: {folder: north}
  south: {folder: south}
rules: rules
type_sheets: types
policy:
  own-range-small:
    highest: {value: 60 m3/h, reason: Larger pumps}
"""
SOUTH = """\
site: south
policy:
  own-range-small:
    highest: {value: 25 l/s, reason: Largest pumps}
"""
SHEET = """\
type_sheet: own-type
means: An invented transmitter
principle: electromagnetic
source: Invented
"""
METER = """\
meter: FT-1
principle: electromagnetic
service: wash water
"""
PLANT = {
    "configlint.yaml": WORKSPACE,
    "rules/own.yaml": OWN,
    "north/site.yaml": "site: north\n",
    "south/site.yaml": SOUTH,
    "types/own.yaml": SHEET,
}
"""The files of the workspace, without a meter."""

Made = tuple[Bench, list[MeterResult], list[Finding]]
Make = Callable[[Mapping[str, str]], Made]


def open_bench(folder: Path, files: Mapping[str, str]) -> Bench:
    """Make the bench of a workspace with some files, and take every one of them."""
    sources = find_sources([write(folder, {**PLANT, **files})])
    (workspace,) = sources.workspaces
    bench = Bench(workspace)
    for source in sources.files:
        bench.take(source)
    return bench


def made_in(folder: Path) -> Make:
    """Give a way to check files in the workspace, which is written into a folder."""

    def check_files(files: Mapping[str, str]) -> Made:
        bench = open_bench(folder, files)
        return bench, *bench.close()

    return check_files


def of_rule(findings: list[Finding], rule: str) -> list[Finding]:
    """Give the findings of one rule in the order of their places."""
    found = (each for each in findings if each.rule == rule)
    return sorted(found, key=lambda each: each.place)
