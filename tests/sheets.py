"""A meter and rules of an invented works for calculation sheets, and how to ask one."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

from configlint.bench import Bench
from configlint.laying import lay_out
from configlint.sheets.standing import standings
from configlint.sheets.uses import Use
from configlint.sheets.worksheet import make_sheet
from configlint.sheets.worksheet_values import Entry, Given, Open, Sheet
from configlint.workspace import Source, find_sources
from tests.workspaces import write

METER = """\
meter: FT-1
service: Invented water
principle: electromagnetic
type_sheet: wall-mounted-a
sensor:
  nominal_size: DN 150
  bore: 150 mm
  nameplate: {calibration_factor: 1.0234}
transmitter:
  nominal_size: DN 150
  calibration_factor: 1.0234
  damping: 3 s
  settings_locked: true
  display: {flow_unit: m3/h}
current_output:
  lower_range_value: 0 m3/h
  upper_range_value: 100 m3/h
  failure_current: 21.5 mA
pulse_output: not used
receiver:
  analogue: {lower_scale: 0 m3/h, upper_scale: 90 m3/h, damping: 1 s}
  counter: not used
process:
  duty: clean water
  temperature: {minimum: 4 degC, maximum: 22.5 degC}
  flow: {minimum: 20 m3/h, normal: 60 m3/h, maximum: 90 m3/h}
records: {revision: 3, as_left_on: 2026-01-02}
"""

OWN = """\
ruleset: own
edition: "7"
symbols:
  transmitter.settings_locked: locked
site_data:
  pump_speed: {means: Speed of the pump, unit: 1/min}
quantities:
  spread:
    means: Spread of the fluid's temperature
    symbol: Delta_T
    formula: process.temperature.maximum - process.temperature.minimum
    unit: K
    basis: {practice: Invented}
  hottest:
    means: Highest of two temperatures
    symbol: T_hot
    formula: max(process.temperature.maximum, 10[degC])
    unit: degC
    basis: {practice: Invented}
  is_locked:
    means: Whether the settings are locked
    symbol: is locked
    formula: transmitter.settings_locked
    basis: {practice: Invented}
  left_on:
    means: Day of the settings
    symbol: t_left
    formula: records.as_left_on
    basis: {practice: Invented}
  shown_in:
    means: Unit of the display
    symbol: shown in
    formula: transmitter.display.flow_unit
    basis: {practice: Invented}
  pulses_a_turn:
    means: Pulses of a turn of the pump
    symbol: N_turn
    formula: 1[m3/h] / (pulse_output.pulse_weight * site_data.pump_speed)
    basis: {practice: Invented}
  vast:
    means: More than the machine can tell
    symbol: V_vast
    formula: vast_part * vast_part * vast_part * vast_part * vast_part
    basis: {practice: Invented}
  vaster:
    means: Twice as much again
    symbol: V_vaster
    formula: 2 * vast
    basis: {practice: Invented}
  vast_part:
    means: A large part of it
    symbol: V_part
    formula: (sensor.bore / 1e-15[m])**6 * 1e15
    basis: {practice: Invented}
  share_of_maximum:
    means: Normal flow as a share of the highest
    symbol: x_n
    formula: process.flow.normal / process.flow.maximum
    basis: {practice: Invented}
  half:
    means: A half
    symbol: h
    formula: 1/2
    basis: {practice: Invented}
  turns:
    means: Turns of the pump a day
    symbol: N_day
    formula: site_data.pump_speed * 1[d]
    basis: {practice: Invented}
rules:
  own-lock:
    category: C
    asks: Is it locked, and shown in a unit of flow?
    accept: is_locked and shown_in in ['m3/h', 'l/s']
    finding: "{is_locked}"
    remedy: Lock it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-spread:
    category: B
    asks: Is the spread of the temperature what was agreed?
    limits: {agreed: 18.5 K, least: 0 K, most: 25 degC, turned: "3"}
    accept: >-
      spread == agreed and least < spread
      and (hottest <= most if used(receiver.analogue) else hottest < most)
      and (spread < agreed * turned or spread <= least)
      and ((hottest > most if used(totalizer) else half < turned) or is_locked)
    finding: "{spread}"
    remedy: Agree on it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-ways:
    category: C
    asks: Is it locked, or the spread what the use of the receiver asks for?
    limits: {tight: 5 K, wide: 20 K}
    accept: is_locked or spread <= (tight if receiver.use == 'control' else wide)
    finding: "{spread}"
    remedy: Lock it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-parts:
    category: C
    asks: Is the spread small, and the pump slow?
    limits: {small: 5 K, slow: "1000"}
    accept: spread < small and half < site_data.pump_speed * 1[min] / slow
    finding: "{spread}"
    remedy: Agree on it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-nests:
    category: C
    asks: Is the spread wide, or between two limits?
    limits: {wide: 30 K, least: 1 K, most: 25 K}
    accept: spread > wide or (least < spread and spread < most)
    finding: "{spread}"
    remedy: Agree on it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-days:
    category: C
    asks: Are the settings of the day on record?
    accept: left_on <= records.as_left_on
    finding: "{left_on}"
    remedy: Correct it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-sides:
    category: C
    asks: Is a part less than a part?
    accept: half * 3 <= 3 * (spread / 1[K])
    finding: "{half}"
    remedy: Correct it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-sides-of-kelvins:
    category: C
    asks: Is a part of the spread less than another?
    accept: 2 * spread <= 3 * spread
    finding: "{spread}"
    remedy: Correct it.
    basis: {practice: Invented}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""

WORKSPACE = """\
workspace: Two works
sites:
  north: {folder: north}
rules: own
policy:
  velocity-at-span-in-band:
    highest: {value: 6 m/s, reason: Abrasive sludge}
"""
SITE = "site: north\nmains_frequency: 50 Hz\n"


def write_works(folder: Path) -> Path:
    """Write a workspace with a meter, rules of its own and a changed limit."""
    files = {
        "configlint.yaml": WORKSPACE,
        "north/site.yaml": SITE,
        "north/FT-1.yaml": METER,
        "own/own.yaml": OWN,
    }
    return write(folder, files)


@cache
def bench_of(folder: Path) -> tuple[Bench, Source]:
    """Give the rules of the workspace, loaded once, and the meter's file."""
    sources = find_sources([folder / "north" / "FT-1.yaml"])
    (source,) = sources.files
    return Bench(source.workspace), source


def sheet_of(folder: Path, text: str = METER, system: str = "") -> Sheet:
    """Make the sheet of a meter's text in the workspace."""
    bench, source = bench_of(folder)
    (laid,) = bench.lay_out(source._replace(data=text.encode()))
    return make_sheet(laid, system)


def checked(named: Path, run_date: date | None = None, system: str = "") -> list[Sheet]:
    """Make the sheets of what a path names, as the command makes them."""
    laid = lay_out(str(named), run_date=run_date)
    return [
        make_sheet(each, system, run_date, standing)
        for each, standing in zip(laid, standings(laid, run_date), strict=True)
    ]


def entries(sheet: Sheet) -> dict[str, Entry]:
    """Give the computed quantities of a sheet by name."""
    return {entry.name: entry for part in sheet.parts for entry in part.entries}


def gaps(sheet: Sheet) -> dict[str, Open]:
    """Give the quantities that are open by name."""
    return {gap.name: gap for gap in sheet.open}


def inputs(sheet: Sheet) -> dict[str, Given]:
    """Give the inputs of a sheet by path."""
    return {given.path: given for given in sheet.inputs}


def use(entry: Entry | Open, rule: str) -> Use:
    """Give what a rule does with a quantity."""
    (found,) = (each for each in entry.uses if each.rule == rule)
    return found
