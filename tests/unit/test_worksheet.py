"""Laws of the calculation sheet: what stands on it, in which figures, and whence."""

from __future__ import annotations

import hashlib
import re
from copy import copy
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.judged import Laid
from configlint.laying import lay_out
from configlint.sheets.key_figures import ENDS, KEY_FIGURES
from configlint.sheets.worksheet import make_sheet
from configlint.sheets.worksheet_values import Sheet
from configlint.sites import NO_WORKSPACE
from configlint.workspace import Source
from tests.sheets import (
    METER,
    bench_of,
    entries,
    inputs,
    sheet_of,
    use,
    write_works,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a workspace with a meter, rules of its own and a changed limit."""
    return write_works(tmp_path_factory.mktemp("sheet"))


@pytest.fixture(scope="module")
def sheet(folder: Path) -> Sheet:
    """Give the sheet of the meter."""
    return sheet_of(folder)


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
    """Of a choice the formula and the numbers show the branch taken, and why."""
    time = entries(sheet)["filter_time"]
    assert time.formula == "τ_T + τ_R"
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
    locked = inputs(sheet)["transmitter.settings_locked"]
    assert (locked.shown, locked.written) == ("yes", "true")


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


def test_a_stated_value_rests_on_what_states_it(folder: Path) -> None:
    """The basis of an assumption stands where it was assumed, and nowhere else."""
    stated = METER + "wiring: {signal_cable: {capacitance: 30 pF/ft, length: 10 m}}\n"
    cable = stated.replace("capacitance: 30 pF/ft, ", "")
    found, assumed = (
        entries(sheet_of(folder, text))["signal_cable_capacitance"]
        for text in (stated, cable)
    )
    assert (found.result, found.basis) == ("98.4 pF/m", "Stated (line 28)")
    assert found.assumed == ""
    assert (assumed.result, assumed.assumed != "") == ("100 pF/m", True)
    assert assumed.basis == "Shielded cables have about 100 pF/m (common practice)"
    # A value that is another one by arithmetic keeps the basis of that.
    assert entries(sheet_of(folder))["is_locked"].basis == "Invented (common practice)"


def test_an_assumed_figure_is_as_good_as_it_is_written(folder: Path) -> None:
    """A round figure that is assumed stays round in other units."""
    text = METER.replace("  duty: clean water\n", "  conductivity: 400 uS/cm\n")
    wired = text + "wiring: {signal_cable: {length: 10 m}}\n"
    found = {
        system: entries(sheet_of(folder, wired, system))["electrode_face"]
        for system in ("SI", "US")
    }
    assert found["SI"].result == "10 mm"
    assert found["US"].result == "0.39 in"
    cable = entries(sheet_of(folder, wired, "US"))["signal_cable_capacitance"]
    assert cable.result == "30.5 pF/ft"


# --- what is told in short --------------------------------------------------------


def test_what_serves_a_key_figure_is_told_at_length(sheet: Sheet) -> None:
    """A quantity is told in short only if nothing that it serves is told at length."""
    found = entries(sheet)
    assert not any(found[name].is_brief for name in ("bore", "bore_area"))
    assert not found["velocity_at_span"].is_brief
    brief = {entry.symbol for entry in found.values() if entry.is_brief}
    assert len(brief) > 10
    for entry in found.values():
        if not entry.is_brief:
            formula = re.sub(r"[0-9]+ [a-zA-Z/]+", "", entry.formula)
            words = set(re.split(r"[ ()|,/²]+", formula))
            assert words.isdisjoint(brief), entry.name
        else:
            assert entry.is_far


def test_the_key_figures_are_those_of_the_rules(sheet: Sheet) -> None:
    """Each quantity that sheets are summed up by is one of the standard rules."""
    (laid,) = bench_of_standard()
    names = {quantity.name for quantity in laid.book.quantities}
    assert set(KEY_FIGURES) <= names
    paths = {path for pair in ENDS for path in (pair.here, pair.there)}
    assert paths <= set(laid.book.inputs)
    assert [each.name for each in sheet.keys][:2] == list(KEY_FIGURES[:2])


def bench_of_standard() -> tuple[Laid, ...]:
    """Lay out a meter by the standard rules."""
    source = Source("m.yaml", Path("m.yaml"), NO_WORKSPACE, None, METER.encode())
    return tuple(Bench(NO_WORKSPACE).lay_out(source))


def test_both_ends_of_a_setting_stand_beside_each_other(folder: Path) -> None:
    """Of a setting that two devices hold each has its value, or that it has none."""
    found = {each.what: each for each in sheet_of(folder, system="US").ends}
    factor, span = found["Calibration factor"], found["Upper range value"]
    assert (factor.first, factor.second) == ("1.0234", "1.0234")
    assert (span.first, span.second) == ("440 US_gal/min", "396 US_gal/min")
    assert "Pulse weight" not in found
    counted = METER.replace(
        "pulse_output: not used", "pulse_output: {pulse_weight: 1 l}"
    )
    pulses, current = (
        {each.what: each for each in sheet_of(folder, text).ends}
        for text in (
            counted,
            counted.replace("1.0234}", "1.0234, excitation_current: 0.2 A}"),
        )
    )
    assert pulses["Pulse weight"][2:5:2] == ("1 l", "not used")
    assert current["Excitation current"][2:5:2] == ("0.2 A", "not written")


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


def test_a_mass_is_a_volume_by_the_density_and_as_good_as_it(folder: Path) -> None:
    """A mass flow has, as a volume flow, no more figures than the density."""
    text = METER.replace("range_value: 100 m3/h", "range_value: 100000 kg/h")
    dense = text.replace("  duty: clean", "  density: 998 kg/m3\n  duty: clean")
    given = inputs(sheet_of(folder, dense))["current_output.upper_range_value"]
    assert (given.shown, given.written) == ("100 m³/h", "100000 kg/h")


# --- inputs, parts and head ------------------------------------------------------


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
    assert sheet.service == "Invented water"
    assert sheet.identity.principle == "electromagnetic"
    assert sheet.identity.revision == "3"
    assert sheet.identity.digest == hashlib.sha256(METER.encode()).hexdigest()
    assert sheet.run_date is None
    assert [(each.name, each.edition) for each in sheet.editions][1] == ("own", "7")


def test_the_facts_stay_as_they_were_laid_out(folder: Path) -> None:
    """Making a sheet leaves the meter as it was, so that another can be made of it."""
    (laid,) = lay_out(str(folder / "north" / "FT-1.yaml"))
    before = dict(laid.facts.values)
    first = make_sheet(laid, "US")
    assert laid.facts.values == before
    assert make_sheet(laid, "US") == first
