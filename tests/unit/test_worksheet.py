"""Laws of the calculation sheet: what stands on it, in which figures, and by whom."""

from __future__ import annotations

import re
from copy import copy
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.check import check
from configlint.laying import lay_out
from configlint.sheets.uses import ASKS, JUDGES, TELLS, Bound, Use
from configlint.sheets.worksheet import Entry, Given, Open, Sheet, make_sheet
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
  vast_part:
    means: A large part of it
    symbol: V_part
    formula: (sensor.bore / 1e-15[m])**6 * 1e15
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


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a workspace with a meter, rules of its own and a changed limit."""
    files = {
        "configlint.yaml": WORKSPACE,
        "north/site.yaml": SITE,
        "north/FT-1.yaml": METER,
        "own/own.yaml": OWN,
    }
    return write(tmp_path_factory.mktemp("sheet"), files)


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


@pytest.fixture(scope="module")
def sheet(folder: Path) -> Sheet:
    """Give the sheet of the meter."""
    return sheet_of(folder)


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


# --- a quantity ---------------------------------------------------------------


def test_a_quantity_stands_with_formula_numbers_and_result(sheet: Sheet) -> None:
    """The velocity is written out as an engineer writes it, down to the result."""
    velocity = entries(sheet)["velocity_at_span"]
    assert velocity.symbol == "v_URV"
    assert velocity.means == "Mean velocity at the upper range value"
    assert velocity.formula == "Q_URV / A"
    assert velocity.numbers == "100 m³/h / 0.01767 m²"
    assert velocity.result == "1.57 m/s"
    assert velocity.amount is not None
    assert velocity.amount.number == pytest.approx(1.571901, rel=1e-6)
    assert velocity.basis == "Continuity, v = Q / A (follows by arithmetic)"
    assert velocity.feeds == ()
    area = entries(sheet)["bore_area"]
    assert (area.formula, area.numbers) == ("π/4 · d²", "π/4 · (150 mm)²")
    assert "v_URV" in area.feeds


def test_what_is_another_value_is_shown_as_it_stands(sheet: Sheet) -> None:
    """A quantity that is an input has its figures, and its formula needs no numbers."""
    bore = entries(sheet)["bore"]
    assert (bore.formula, bore.numbers, bore.result) == ("d_S", "", "150 mm")


def test_figures_follow_the_inputs(folder: Path) -> None:
    """A result has the figures of the input with the fewest, but three at least."""
    found = entries(sheet_of(folder))
    assert found["calibration_stage"].result == "1.0000"
    assert found["filter_time"].result == "4.00 s"
    text = METER.replace("100 m3/h", "100.00 m3/h").replace("150 mm", "150.0 mm")
    assert entries(sheet_of(folder, text))["velocity_at_span"].result == "1.572 m/s"


def test_a_figure_of_a_table_stands_as_the_table_writes_it(folder: Path) -> None:
    """A looked-up figure is told with its row, as written, its table and its source."""
    text = METER.replace("  bore: 150 mm\n", "")
    bore = entries(sheet_of(folder, text))["bore"]
    (looked,) = bore.looked
    assert bore.formula == "nominal bore of DN_S"
    assert bore.result == "150 mm"
    assert looked[:4] == ("nominal bore of DN_S", "nominal_sizes", "DN 150", "150 mm")
    assert "ISO 6708" in looked.source
    assert bore.assumed.startswith("The bore (sensor.bore) is not written")


def test_the_branch_taken_is_told_with_its_reason(sheet: Sheet) -> None:
    """The formula shows both branches, the numbers the one taken, and why."""
    time = entries(sheet)["filter_time"]
    assert time.formula == "τ_T + (τ_R where the analogue input is used, otherwise 0 s)"
    assert time.numbers == "3 s + 1 s"
    assert time.reasons == ("the analogue input is used",)


def test_values_that_are_no_amounts_stand_in_words(sheet: Sheet) -> None:
    """A truth, a text and a day are shown as such and have no number."""
    found = entries(sheet)
    shown = {
        name: (found[name].result, found[name].amount, found[name].numbers)
        for name in ("is_locked", "shown_in", "left_on")
    }
    assert shown == {
        "is_locked": ("yes", None, ""),
        "shown_in": ("m3/h", None, ""),
        "left_on": ("2026-01-02", None, ""),
    }
    assert inputs(sheet)["transmitter.settings_locked"].shown == "true"


def test_a_temperature_is_computed_with_above_absolute_zero(sheet: Sheet) -> None:
    """Where degrees Celsius take part in arithmetic, the numbers are in kelvin."""
    spread, hottest = entries(sheet)["spread"], entries(sheet)["hottest"]
    assert (spread.symbol, spread.result) == ("Δ_T", "18.5 K")
    assert spread.numbers == "295.7 K − 277.2 K"
    assert (hottest.numbers, hottest.result) == ("max(22.5 °C, 10 °C)", "22.5 °C")


def test_a_constant_is_exact(sheet: Sheet) -> None:
    """What no input takes part in is not rounded to three figures."""
    half = entries(sheet)["half"]
    assert (half.numbers, half.result) == ("1/2", "0.5")
    assert half.amount is not None
    assert half.amount.figures is None


# --- systems of units -----------------------------------------------------------


def test_a_sheet_is_in_the_system_that_is_asked_for(folder: Path) -> None:
    """In US units inputs and results are converted, and the file's figures stay."""
    sheet = sheet_of(folder, system="US")
    velocity, bore = entries(sheet)["velocity_at_span"], inputs(sheet)["sensor.bore"]
    assert sheet.system == "US"
    assert velocity.numbers == "440.3 US_gal/min / 0.1902 ft²"
    assert velocity.result == "5.16 ft/s"
    assert (bore.shown, bore.written) == ("5.91 in", "150 mm")
    assert entries(sheet)["hottest"].numbers == "max(72.50 °F, 10 °C)"
    span = use(velocity, "velocity-at-span-in-band")
    assert [each.limit for each in span.bounds] == [
        "0.3 m/s (0.984 ft/s)",
        "6 m/s (19.7 ft/s)",
    ]


@pytest.mark.parametrize(
    ("text", "convention", "system"),
    [
        (METER, "", "SI"),
        (METER.replace("m3/h", "US_gal/min").replace(" mm", " in"), "", "SI"),
        ("meter: FT-1\nprinciple: electromagnetic\nsensor: {bore: 6 in}\n", "", "US"),
        (METER, "US", "US"),
        (METER, "imperial", "imperial"),
    ],
)
def test_without_being_asked_a_sheet_keeps_to_the_convention(
    folder: Path, text: str, convention: str, system: str
) -> None:
    """The site's convention holds, else the one system of the file, else SI."""
    bench, source = bench_of(folder)
    assert source.site is not None
    site = replace(source.site, unit_convention=convention or None)
    rules = {**bench.site_rules, site: bench.site_rules[source.site]}
    other = copy(bench)
    other.site_rules = rules
    (laid,) = other.lay_out(source._replace(data=text.encode(), site=site))
    assert make_sheet(laid).system == system


def test_a_flow_written_otherwise_is_shown_as_the_flow_it_is(folder: Path) -> None:
    """A velocity for a range becomes the flow that rules judge, beside its figure."""
    text = METER.replace("upper_range_value: 100 m3/h", "upper_range_value: 2 m/s")
    sheet = sheet_of(folder, text)
    given = inputs(sheet)["current_output.upper_range_value"]
    assert (given.shown, given.written) == ("127 m³/h", "2 m/s")
    assert entries(sheet)["velocity_at_span"].result == "2.00 m/s"


# --- rules ------------------------------------------------------------------------


def test_a_rule_stands_with_outcome_limits_and_margins(sheet: Sheet) -> None:
    """Each comparison is told with its limit, how far inside, and the policy's note."""
    velocity = entries(sheet)["velocity_at_span"]
    span = use(velocity, "velocity-at-span-in-band")
    assert (span.role, span.outcome, span.category) == (JUDGES, "conforms", "B")
    low, high = span.bounds
    assert low[:2] == ("0.3 m/s ≤ v_URV", "0.3 m/s")
    assert low.margin == pytest.approx(1.571901 / 0.3 - 1, rel=1e-6)
    assert high[:2] == ("v_URV ≤ 6 m/s", "6 m/s")
    assert high.margin == pytest.approx(1 - 1.571901 / 6, rel=1e-6)
    assert span.margin == high.margin
    assert low.is_met
    assert high.is_met
    assert span.notes == (
        "The limit highest is 6 m/s by policy (standard 10 m/s): Abrasive sludge",
    )


def test_a_limit_that_is_computed_is_told_as_an_amount(sheet: Sheet) -> None:
    """A side of a comparison stands in symbols, and its amount as the limit."""
    velocity = entries(sheet)["velocity_at_normal_flow"]
    low, high = use(velocity, "velocity-at-normal-flow").bounds
    assert low.condition == "(lowest at normal of duty) ≤ v_n"
    assert (low.limit, high.limit) == ("0.5 m/s", "10 ft/s (3.05 m/s)")


def test_a_rule_that_is_not_met_is_off_by_its_margin(folder: Path) -> None:
    """A limit that is not met has a margin below zero, the same as in the finding."""
    text = METER.replace("upper_range_value: 100 m3/h", "upper_range_value: 500 m3/h")
    file = folder / "north" / "other.yaml"
    file.write_text(text, "utf-8")
    velocity = entries(sheet_of(folder, text))["velocity_at_span"]
    span = use(velocity, "velocity-at-span-in-band")
    found = {each.rule: each for each in check([file]).findings}
    assert span.outcome == "nonconforming"
    assert [each.is_met for each in span.bounds] == [True, False]
    assert span.margin == span.bounds[1].margin == pytest.approx(-0.309918, rel=1e-5)
    assert span.margin == found["velocity-at-span-in-band"].margin


def test_every_kind_of_comparison_is_told(sheet: Sheet) -> None:
    """Equality has no margin, nor has a limit of zero; only the branch taken speaks."""
    found = entries(sheet)
    spread = use(found["spread"], "own-spread").bounds
    named = ("spread", "agreed", "turned")
    assert spread == (
        Bound("Δ_T = 18.5 K", "18.5 K", None, True, named[:2]),
        Bound("0 K < Δ_T", "0 K", None, True, ("least", "spread")),
        Bound("Δ_T < 18.5 K · 3", "55.5 K", 0.666666666667, True, named),
        Bound("Δ_T ≤ 0 K", "0 K", None, False, ("spread", "least")),
    )
    (hot,) = use(found["hottest"], "own-spread").bounds
    assert (hot.condition, hot.limit) == ("T_hot ≤ 25 °C", "25 °C")
    assert use(found["half"], "own-spread").bounds == ()


def test_a_rule_can_ask_or_only_tell(sheet: Sheet) -> None:
    """A rule that applies by a value asks it; one whose text shows it tells it."""
    velocity = entries(sheet)["velocity_at_span"]
    assert use(velocity, "velocity-at-normal-flow").role == ASKS
    assert use(entries(sheet)["bore"], "velocity-at-span-in-band").role == TELLS


# --- what is open, and what is left out ------------------------------------------


def test_what_lacks_an_input_names_it(folder: Path) -> None:
    """An open quantity names the inputs it lacks, and those that would do instead."""
    text = METER.replace("  bore: 150 mm\n", "").replace("  nominal_size: DN 150\n", "")
    found = gaps(sheet_of(folder, text))
    assert found["bore"].missing == ("sensor.bore",)
    assert found["bore"].instead == ("sensor.nominal_size",)
    assert found["velocity_at_span"].missing == ("sensor.bore",)
    assert found["velocity_at_span"].formula == "Q_URV / A"
    assert use(found["velocity_at_span"], "velocity-at-span-in-band").bounds == ()
    assert found["turns"].missing == ("site_data.pump_speed",)


def test_what_gives_no_number_lacks_nothing(sheet: Sheet) -> None:
    """A result that is no finite number is open, with no input to blame."""
    found = gaps(sheet)
    assert found["vast"].missing == ()
    assert found["lower_range_digits"].missing == ()


def test_an_unreadable_value_is_told_and_nothing_stands_in(folder: Path) -> None:
    """A faulty value is missing, named on the sheet, and has no fallback."""
    sheet = sheet_of(folder, METER.replace("bore: 150 mm", "bore: 150 millimetre"))
    assert sheet.unreadable == ("sensor.bore",)
    assert gaps(sheet)["bore"].missing == ("sensor.bore",)
    assert gaps(sheet)["bore"].instead == ()


def test_what_does_not_apply_is_left_out_and_counted(
    folder: Path, sheet: Sheet
) -> None:
    """Without a pulse output its quantities are gone, by its rules or by its inputs."""
    shown = entries(sheet).keys() | gaps(sheet).keys()
    assert shown.isdisjoint({"pulse_rate_at_span", "counter_error", "pulses_a_turn"})
    total = len(shown) + sheet.not_applicable + sheet.silent
    (laid,) = lay_out(str(folder / "north" / "FT-1.yaml"))
    assert total == len(laid.book.quantities)
    used = METER.replace("pulse_output: not used", "pulse_output: {pulse_weight: 1 l}")
    more = sheet_of(folder, used)
    assert more.not_applicable < sheet.not_applicable
    assert entries(more)["pulse_rate_at_span"].result == "27.8 Hz"
    assert gaps(more)["pulses_a_turn"].missing == ("site_data.pump_speed",)


def test_a_diagnosis_is_silent_until_there_is_a_fault(folder: Path) -> None:
    """A text that names a cause stands on the sheet where its rule finds something."""
    right = METER.replace("upper_scale: 90 m3/h", "upper_scale: 100 m3/h")
    wrong = METER.replace("upper_scale: 90 m3/h", "upper_scale: 27.8 m3/h")
    assert "receiver_scale_cause" not in entries(sheet_of(folder, right))
    cause = entries(sheet_of(folder, wrong))["receiver_slip"]
    assert cause.result.startswith("Possible cause: ")
    assert cause.amount is None
    assert sheet_of(folder, wrong).silent < sheet_of(folder, right).silent


# --- inputs, parts and head --------------------------------------------------------


def test_an_input_says_where_it_is_written(folder: Path) -> None:
    """Inputs come from a line, the type sheet, the site, or the run."""
    dated = METER.replace("sensor:\n", "sensor:\n  calibration: {date: 2025-03-11}\n")
    file = folder / "north" / "other.yaml"
    file.write_text(dated, "utf-8")
    (laid,) = lay_out(str(file), run_date=date(2026, 5, 4))
    sheet = make_sheet(laid, "", date(2026, 5, 4))
    found = inputs(sheet)
    assert found["sensor.bore"].origin == "line 8"
    assert found["type_sheet.calibration_factor.lowest"].origin == (
        "type sheet wall-mounted-a"
    )
    assert found["site.mains_frequency"].origin == "site north"
    assert found["run.date"].origin == "the run"
    assert found["run.date"].shown == "2026-05-04"
    assert sheet.run_date == date(2026, 5, 4)
    assert entries(sheet)["calibration_age"].numbers == "2026-05-04 − 2025-03-11"
    assert entries(sheet)["calibration_age"].result == "419 d"


def test_limits_name_their_inputs_too(sheet: Sheet) -> None:
    """An input that stands only in a limit of a rule is among the inputs."""
    assert "process.flow.maximum" in inputs(sheet)
    assert "receiver.analogue" not in inputs(sheet)


def test_a_quantity_stands_behind_what_it_is_computed_from(sheet: Sheet) -> None:
    """The parts follow the file's sections, and no formula names a later result."""
    titles = [part.title for part in sheet.parts]
    order = ["Sensor", "Transmitter", "Current output", "Receiver", "Process"]
    assert [title for title in titles if title in order] == order
    symbols = {entry.symbol for entry in entries(sheet).values()}
    seen: set[str] = set()
    for entry in entries(sheet).values():
        words = re.split(r"(?<=[0-9⁵]) [a-z]+|[ ()|,]+", entry.formula)
        assert set(words) & symbols <= seen, entry.name
        seen.add(entry.symbol)


def test_a_site_s_own_data_has_a_part_of_its_own(folder: Path) -> None:
    """What is computed from the site's own data stands under that."""
    text = METER + "site_data: {pump_speed: 1450 1/min}\n"
    sheet = sheet_of(folder, text)
    assert sheet.parts[-1].title == "Site data"
    turns = entries(sheet)["turns"]
    assert (turns.formula, turns.result) == ("site_data.pump_speed · 1 d", "2088000")


def test_the_head_says_of_what_and_by_what(sheet: Sheet) -> None:
    """Meter, site, file, record and rule sets stand on the sheet; no day unasked."""
    assert sheet.subject[:3] == ("Two works", "north", "FT-1")
    assert (sheet.principle, sheet.service) == ("electromagnetic", "Invented water")
    assert sheet.revision == "3"
    assert sheet.run_date is None
    assert [(each.name, each.edition) for each in sheet.editions][1] == ("own", "7")


def test_the_facts_stay_as_they_were_laid_out(folder: Path) -> None:
    """Making a sheet leaves the meter as it was, so that another can be made of it."""
    (laid,) = lay_out(str(folder / "north" / "FT-1.yaml"))
    before = dict(laid.facts.values)
    first = make_sheet(laid, "US")
    assert laid.facts.values == before
    assert make_sheet(laid, "US") == first
