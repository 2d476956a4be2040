"""Laws of what rules know of a meter, its site and its type."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from configlint.data import data_folder
from configlint.documents import Document, read_document
from configlint.facts import Facts, facts, put, sheet_facts
from configlint.inputs import declared_inputs
from configlint.kinds import Sort
from configlint.meters import Meter, read_meters
from configlint.type_sheets import TypeSheet, read_type_sheets
from configlint.units import (
    Dimension,
    Quantity,
    from_si,
    parse_quantity,
    unit_named,
)

HERE = Path(__file__).parent
HEAD = "meter: FT-1\nprinciple: electromagnetic\n"


@dataclass(frozen=True)
class Site:
    """A site as far as the facts know one."""

    name: str = "North works"
    mains_frequency: Quantity | None = None
    unit_convention: str | None = None
    hours_per_year: Quantity | None = None


def document_of(text: str) -> Document:
    """Read the one document of a text."""
    (document,) = read_document(text.encode(), "m.yaml").documents
    return document


def meter_of(text: str) -> Meter:
    """Read the one sound meter of a text."""
    ((entry,), faults) = read_meters(document_of(text))
    assert faults == ()
    return entry.meter


def facts_of(
    text: str, site: Site | None = None, sheet: TypeSheet | None = None
) -> Facts:
    """Give the facts of a meter that needs no more than tag and principle."""
    of_type = None if sheet is None else sheet_facts(sheet)
    return facts(meter_of(HEAD + text), site, of_type)


def sheet_of(text: str) -> TypeSheet:
    """Read a type sheet."""
    ((sheet,), faults) = read_type_sheets(document_of(text))
    assert faults == ()
    return sheet


def full() -> Facts:
    """Give the facts of a meter, site, type sheet and run that say everything."""
    meter = meter_of((HERE / "full_meter.yaml").read_text("utf-8"))
    sheet = sheet_of((HERE / "full_type_sheet.yaml").read_text("utf-8"))
    site = Site("North works", parse_quantity("50 Hz"), "SI", parse_quantity("8000"))
    return facts(meter, site, sheet_facts(sheet), datetime.date(2026, 1, 1))


def test_every_declared_path_is_present() -> None:
    """The facts hold every declared path, however little a meter says."""
    bare = facts_of("").values
    assert bare.keys() == declared_inputs().keys()
    assert full().values.keys() - bare.keys() == {"site_data.pump", "site_data.head"}


def full_of_every_principle() -> Facts:
    """Give the full facts, with what only meters of other principles can say."""
    known = full()
    for file in sorted(data_folder("rules").joinpath("sound").iterdir()):
        sound = document_of(file.read_text("utf-8"))
        assert isinstance(sound.value, dict)
        ((entry,), faults) = read_meters(replace(sound, value=sound.value["meter"]))
        assert faults == ()
        other = facts(entry.meter)
        inputs = declared_inputs().items()
        single = {path for path, each in inputs if each.kind is not Sort.SECTION}
        added = (other.written.keys() - known.written.keys()) & single
        known.written |= {path: other.written[path] for path in added}
        known.values |= {path: other.values[path] for path in added}
    return known


def test_a_full_meter_leaves_nothing_missing() -> None:
    """Every declared path can be given by meter, site, type sheet or run."""
    known = full_of_every_principle()
    missing = [
        path
        for path, value in known.values.items()
        if value is None or (isinstance(value, float) and math.isnan(value))
    ]
    assert missing == []
    assert known.causes == {}


def test_what_is_given_is_written() -> None:
    """Each given value is also held as written, except what no file writes itself."""
    known = full_of_every_principle()
    silent = {
        path
        for path, each in declared_inputs().items()
        if each.kind in (Sort.SECTION, Sort.PATHS, Sort.TEXTS)
    }
    assert known.values.keys() - known.written.keys() == silent


def test_values_have_the_declared_kind() -> None:
    """An amount is a float, a truth a bool and a text a text, as declared."""
    python = {
        Sort.TEXT: str,
        Sort.TRUTH: bool,
        Sort.DAY: float,
        Sort.SECTION: bool,
        Sort.PATHS: tuple,
        Sort.TEXTS: tuple,
    }
    values = full_of_every_principle().values
    for path, each in declared_inputs().items():
        kind = float if isinstance(each.kind, Dimension) else python[each.kind]
        assert type(values[path]) is kind, path


def test_missing_values_are_nan_or_none() -> None:
    """A missing amount or day is NaN, a list is empty, any other missing is None."""
    values = facts_of("").values
    for path in ("sensor.bore", "records.as_left_on", "type_sheet.upstream_straight"):
        value = values[path]
        assert isinstance(value, float)
        assert math.isnan(value)
    for path in ("service", "installation.always_full", "totalizer", "site.name"):
        assert values[path] is None
    assert values["notation.open_gallons"] == ()
    assert values["meter"] == "FT-1"


def test_amounts_are_in_si() -> None:
    """Amounts are given in SI base units, and kept as written beside that."""
    known = full()
    assert known.values["sensor.bore"] == pytest.approx(0.1512)
    assert known.values["process.temperature.maximum"] == pytest.approx(298.15)
    assert known.values["current_output.upper_range_value"] == pytest.approx(250 / 3600)
    assert str(known.written["sensor.bore"]) == "151.2 mm"
    assert str(known.written["transmitter.calibration_factor"]) == "1.0230"
    assert known.written["sensor.calibration.date"] == "2025-05-12"
    assert known.written["transmitter.settings_locked"] == "true"
    assert known.written["type_sheet.display.shows_total_when_delivered"] == "false"
    assert known.values["site.mains_frequency"] == 50.0


def test_days_differ_by_86400_seconds() -> None:
    """Two days that follow each other are 86 400 s apart, over a leap day too."""
    days = [
        facts_of(f"records: {{as_left_on: {day}}}").values["records.as_left_on"]
        for day in ("2024-02-28", "2024-02-29", "2024-03-01")
    ]
    first, second, third = (day for day in days if isinstance(day, float))
    assert (second - first, third - second) == (86_400.0, 86_400.0)


def test_sections_tell_whether_they_are_used() -> None:
    """A section is True when written, False when said to be not used, else None."""
    known = facts_of("totalizer: not used\npulse_output: {}\n")
    assert known.values["totalizer"] is False
    assert known.written["totalizer"] == "not used"
    assert known.values["pulse_output"] is True
    assert known.values["current_output"] is None
    assert "pulse_output" not in known.written


def test_a_velocity_becomes_a_flow_by_the_bore() -> None:
    """10 m/s in a bore of 100 mm is 282.7 m3/h, and 78.54 l/s (computed by hand)."""
    known = facts_of(
        "sensor: {bore: 100 mm}\ncurrent_output: {upper_range_value: 10 m/s}\n"
    )
    flow = known.values["current_output.upper_range_value"]
    assert isinstance(flow, float)
    assert from_si(flow, unit_named("m3/h")) == pytest.approx(282.743, rel=1e-5)
    assert from_si(flow, unit_named("l/s")) == pytest.approx(78.5398, rel=1e-5)
    assert str(known.written["current_output.upper_range_value"]) == "10 m/s"
    assert known.values["notation.velocity_values"] == (
        "current_output.upper_range_value",
    )


def test_a_mass_becomes_a_volume_by_the_density() -> None:
    """36 t/h at 1000 kg/m3 is 10 l/s, and 10 kg a pulse is 10 l (by hand)."""
    known = facts_of(
        "process: {density: 1000 kg/m3}\ncurrent_output: {upper_range_value: 36 t/h}\n"
        "pulse_output: {pulse_weight: 10 kg}\n"
        "totalizer: {unit: kg}\nsite_data: {stock: 5 kg}\n"
    )
    assert known.values["current_output.upper_range_value"] == pytest.approx(0.010)
    assert known.values["pulse_output.pulse_weight"] == pytest.approx(0.010)
    assert known.values["site_data.stock"] == 5.0
    assert known.values["notation.mass_values"] == (
        "current_output.upper_range_value",
        "pulse_output.pulse_weight",
        "totalizer.unit",
    )


def test_a_ratio_becomes_a_flow_by_the_range() -> None:
    """A cut-off of 1 % of 10 m/s in 100 mm is 1 % of 282.7 m3/h, in any order."""
    known = facts_of(
        "transmitter: {low_flow_cutoff: 1 %}\nsensor: {bore: 100 mm}\n"
        "current_output: {upper_range_value: 10 m/s}\n"
    )
    flow = known.values["transmitter.low_flow_cutoff"]
    assert isinstance(flow, float)
    assert from_si(flow, unit_named("m3/h")) == pytest.approx(2.82743, rel=1e-5)
    assert known.causes == {}


CAUSES = (
    ("current_output: {upper_range_value: 3 m/s}", "sensor.bore"),
    ("current_output: {upper_range_value: 3 t/h}", "process.density"),
    ("pulse_output: {pulse_weight: 3 kg}", "process.density"),
    ("transmitter: {low_flow_cutoff: 1 %}", "current_output.upper_range_value"),
)


@pytest.mark.parametrize(("text", "cause"), CAUSES)
def test_what_can_not_be_turned_names_its_cause(text: str, cause: str) -> None:
    """An amount that can't become a volume flow is missing and names what it needs."""
    known = facts_of(text)
    ((path, found),) = known.causes.items()
    assert found == cause
    value = known.values[path]
    assert isinstance(value, float)
    assert math.isnan(value)
    assert path in known.written


def test_a_cause_is_named_through_the_range() -> None:
    """A ratio of a range in velocity needs the bore, which is then named for both."""
    known = facts_of(
        "transmitter: {low_flow_cutoff: 1 %}\n"
        "current_output: {upper_range_value: 3 m/s}\n"
    )
    assert known.causes == {
        "transmitter.low_flow_cutoff": "sensor.bore",
        "current_output.upper_range_value": "sensor.bore",
    }


@pytest.mark.parametrize("zero", ["0 m/s", "0 kg/h", "0 m3/h"])
def test_nothing_needs_no_bore_and_no_density(zero: str) -> None:
    """A flow of zero is zero in every notation, though bore and density be missing."""
    known = facts_of(f"current_output: {{lower_range_value: {zero}}}")
    assert known.values["current_output.lower_range_value"] == 0.0
    assert known.causes == {}


def test_open_spellings_are_listed_by_what_is_open() -> None:
    """Bare gallons and bare barrels are listed by path, in values and in units."""
    known = facts_of(
        "transmitter: {display: {flow_unit: gpm, total_unit: US_gal}}\n"
        "current_output: {upper_range_value: 9 bbl/d}\n"
        "process: {density: 8 lb/gal}\nsite_data: {tank: 900 gal}\n"
    )
    assert known.values["notation.open_gallons"] == (
        "transmitter.display.flow_unit",
        "process.density",
        "site_data.tank",
    )
    assert known.values["notation.open_barrels"] == (
        "current_output.upper_range_value",
    )


SYSTEMS = (
    ("totalizer: {digits: 7}", None, ()),
    ("sensor: {bore: 80 mm}", None, ("SI",)),
    ("totalizer: {unit: US_gal}", None, ("US",)),
    ("sensor: {bore: 3 in}", None, ("US",)),
    ("sensor: {bore: 3 in}", "imperial", ("imperial",)),
    ("sensor: {bore: 3 in}", "SI", ("US",)),
    ("sensor: {bore: 3 in}\ntotalizer: {unit: imp_gal}", None, ("imperial",)),
    ("sensor: {bore: 3 in}\ntotalizer: {unit: US_gal}", "imperial", ("US",)),
    ("sensor: {bore: 3 mm}\ntotalizer: {unit: US_gal}", None, ("SI", "US")),
)


@pytest.mark.parametrize(("text", "convention", "systems"), SYSTEMS)
def test_the_systems_of_units_in_use_are_named(
    text: str, convention: str | None, systems: tuple[str, ...]
) -> None:
    """The systems in use are named; what US and imperial share belongs to either."""
    known = facts_of(text, Site(unit_convention=convention))
    assert known.values["notation.unit_systems"] == systems


BORE, TOTAL = "sensor.bore", "totalizer.unit"
TWO_IN_MM = "sensor: {bore: 3 mm, electrode_diameter: 10 mm}\n"
FOREIGN = (
    ("totalizer: {digits: 7}", "SI", ()),
    ("sensor: {bore: 3 mm}", None, ()),
    ("sensor: {bore: 3 mm}", "SI", ()),
    ("sensor: {bore: 3 mm}", "US", (BORE,)),
    ("sensor: {bore: 3 in}", "SI", (BORE,)),
    ("sensor: {bore: 3 in}", "imperial", ()),
    ("sensor: {bore: 3 in}\ntotalizer: {unit: US_gal}", "imperial", (TOTAL,)),
    ("sensor: {bore: 3 mm}\ntotalizer: {unit: US_gal}", "US", (BORE,)),
    (TWO_IN_MM + "totalizer: {unit: US_gal}", None, (TOTAL,)),
    ("sensor: {bore: 3 mm}\ntransmitter: {damping: 3 s}", "SI", ()),
)


@pytest.mark.parametrize(("text", "convention", "foreign"), FOREIGN)
def test_the_values_of_another_system_are_named(
    text: str, convention: str | None, foreign: tuple[str, ...]
) -> None:
    """Values outside the site's system are named, or else outside the usual one."""
    known = facts_of(text, Site(unit_convention=convention))
    assert known.values["notation.foreign_values"] == foreign


def test_a_type_sheet_says_nothing_of_the_meters_notation() -> None:
    """The units of a type sheet are turned by the meter's bore, but not noted."""
    sheet = sheet_of("{type_sheet: a, delivered: {upper_range_value: 10 ft/s}}")
    known = facts_of("sensor: {bore: 100 mm}", sheet=sheet)
    flow = known.values["type_sheet.delivered.upper_range_value"]
    assert flow == pytest.approx(10 * 0.3048 * math.pi / 4 * 0.01)
    assert known.values["notation.unit_systems"] == ("SI",)
    assert known.values["notation.velocity_values"] == ()
    assert known.values["type_sheet.type_sheet"] == "a"


def test_a_site_gives_what_it_knows() -> None:
    """A site without mains frequency and convention gives its name alone."""
    known = facts_of("", Site("South"))
    assert known.values["site.name"] == "South"
    assert known.values["site.unit_convention"] is None
    assert known.written == {
        "meter": "FT-1",
        "principle": "electromagnetic",
        "site.name": "South",
    }


def test_the_facts_of_two_meters_are_apart() -> None:
    """What one meter says never shows in the facts of the next."""
    facts_of("sensor: {bore: 80 mm}\ntotalizer: not used\nsite_data: {a: b}")
    assert facts_of("").values.keys() == declared_inputs().keys()
    assert facts_of("").values["totalizer"] is None


SWAYED = """\
sensor: {bore: 100 mm}
current_output: {upper_range_value: 2 m/s}
transmitter: {low_flow_cutoff: 2 %, settings_locked: false}
process: {density: 1000 kg/m3, flow: {minimum: 36 t/h}}
"""
CUTOFF = "transmitter.low_flow_cutoff"


def test_a_value_can_be_put_as_if_the_file_held_it() -> None:
    """Other facts are converted by the new value, in the order they need it."""
    known = facts_of(SWAYED)
    put(known, "sensor.bore", parse_quantity("200 mm"))
    flow = 2 * math.pi / 4 * 0.2**2
    assert known.values["current_output.upper_range_value"] == pytest.approx(flow)
    assert known.values[CUTOFF] == pytest.approx(0.02 * flow)
    put(known, "process.density", parse_quantity("500 kg/m3"))
    assert known.values["process.flow.minimum"] == pytest.approx(0.02)


def test_a_value_put_in_another_unit_is_converted_no_more() -> None:
    """A flow in place of a velocity or a ratio stands by itself."""
    known = facts_of(SWAYED)
    put(known, CUTOFF, parse_quantity("3.6 m3/h"))
    put(known, "current_output.upper_range_value", parse_quantity("36 m3/h"))
    put(known, "sensor.bore", parse_quantity("200 mm"))
    assert known.values[CUTOFF] == pytest.approx(0.001)
    assert known.values["current_output.upper_range_value"] == pytest.approx(0.01)
    put(known, CUTOFF, parse_quantity("50 %"))
    assert known.values[CUTOFF] == pytest.approx(0.005)


def test_what_is_missing_for_a_conversion_is_told_anew() -> None:
    """A cause is gone once what was missing has been put there."""
    known = facts_of("current_output: {upper_range_value: 2 m/s}")
    assert known.causes == {"current_output.upper_range_value": "sensor.bore"}
    put(known, "sensor.bore", parse_quantity("200 mm"))
    assert known.causes == {}


def test_texts_and_truths_can_be_put() -> None:
    """A text and a truth stand as a file would hold them."""
    known = facts_of(SWAYED)
    put(known, "transmitter.settings_locked", True)
    put(known, "sensor.lining", "hard rubber")
    locked = "transmitter.settings_locked"
    assert (known.values[locked], known.written[locked]) == (True, "true")
    assert known.values["sensor.lining"] == known.written["sensor.lining"]


def test_a_copy_of_facts_is_written_over_by_itself() -> None:
    """What is put into a copy does not show in the facts it was made of."""
    known = facts_of(SWAYED)
    other = known.copy()
    put(other, "sensor.bore", parse_quantity("200 mm"))
    put(other, CUTOFF, parse_quantity("3.6 m3/h"))
    assert known == facts_of(SWAYED)
    assert other != known
