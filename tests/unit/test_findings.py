"""Laws of findings: where they point, what they show, and how they are known again."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from configlint.check import check
from configlint.documents import read_document
from configlint.engine import NONCONFORMING, Derived, Judge, Outcome, derive_told
from configlint.errors import Fault, Place
from configlint.facts import facts
from configlint.findings import (
    Amount,
    Finding,
    Located,
    Subject,
    fault_finding,
    in_order,
    locate,
    outcome_finding,
)
from configlint.meters import MeterEntry, read_meters
from configlint.rules import MeterRule, RuleBook
from configlint.sites import Site
from configlint.units import parse_quantity
from tests.builders import FINDING, SOUND_RULES, make_book

RULES = """\
ruleset: made
edition: "1"
quantities:
  bore_area:
    means: Cross-section
    symbol: A
    formula: pi/4 * sensor.bore**2
    unit: m2
    basis: {practice: Geometry}
  slenderness:
    means: Straight pipe in bores
    symbol: n
    formula: installation.upstream_straight / sensor.bore
    basis: {practice: Geometry}
rules:
"""

RULE = """\
  made-rule:
    category: B
    asks: Is it right?
    accept: {ACCEPT}
    finding: {FINDING}
    remedy: Correct it.
    settings: [{SETTINGS}]
    LIMITS
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""

METER = """\
# An invented meter
meter: FT-1
principle: electromagnetic
sensor:
  bore: 100 mm
  calibration: {date: 2026-01-02}
transmitter:
  damping: 3 s
  settings_locked: false
  low_flow_cutoff: 5 gal/min
current_output: {upper_range_value: 500 l/min}
installation: {upstream_straight: 2 m}
pulse_output: not used
"""

SUBJECT = Subject("plant", "north", "FT-1", "made.yaml")
ANYWHERE = Located(Place("made.yaml", 3, 5), "/meter")


def made_book(
    folder: Path,
    accept: str,
    settings: str = "",
    limits: str = "",
    finding: str = "It is wrong.",
) -> RuleBook:
    """Make a book of one rule."""
    rule = RULE.replace("{ACCEPT}", accept).replace("{SETTINGS}", settings)
    rule = rule.replace("LIMITS", f"limits: {{{limits}}}" if limits else "")
    return make_book(folder, RULES + rule.replace("{FINDING}", finding))


def read_meter(text: str = METER) -> MeterEntry:
    """Read the first meter of a text."""
    (document,) = read_document(text.encode(), "made.yaml").documents
    entries, faults = read_meters(document)
    assert faults == ()
    return entries[0]


def derived_of(book: RuleBook, entry: MeterEntry) -> Derived:
    """Derive the quantities of a meter of the site `north`."""
    north = Site("north", Path(), mains_frequency=parse_quantity("50 Hz"))
    return derive_told(book, facts(entry.meter, north))


def located_by(book: RuleBook, text: str = METER) -> tuple[int, str]:
    """Find the line and the pointer of the finding of a book's rule."""
    entry = read_meter(text)
    (rule,) = book.meter_rules
    place, pointed = locate(rule, derived_of(book, entry), entry.document, entry.path)
    assert place.file == "made.yaml"
    return place.line, pointed


def found_by(book: RuleBook, text: str = METER, notes: tuple[str, ...] = ()) -> Finding:
    """Judge a meter by a book's rule and make the finding of it."""
    derived = derived_of(book, read_meter(text))
    (outcome,) = Judge(book).judge(derived)
    assert outcome.word == NONCONFORMING
    assert isinstance(outcome.rule, MeterRule)
    limits = outcome.rule.limits
    return outcome_finding(outcome, SUBJECT, derived, ANYWHERE, book, limits, notes)


# --- where a finding points -------------------------------------------------


def test_the_first_written_setting_is_the_place(tmp_path: Path) -> None:
    """Of the values a person would change, the first the file holds is pointed at."""
    settings = "transmitter.serial, transmitter.damping, sensor.bore"
    book = made_book(tmp_path, "sensor.bore > 1[m]", settings)
    assert located_by(book) == (8, "/transmitter/damping")


def test_a_value_read_is_the_place_where_no_setting_is_written(tmp_path: Path) -> None:
    """Without a written setting, the first value the rule reads is pointed at."""
    book = made_book(tmp_path, "sensor.bore > 1[m]", "transmitter.serial")
    assert located_by(book) == (5, "/sensor/bore")


def test_a_missing_value_is_sought_where_it_would_stand(tmp_path: Path) -> None:
    """A value that must be given and is not has the place of its section's key."""
    book = made_book(tmp_path, "given(sensor.serial)", "transmitter.serial")
    assert located_by(book) == (4, "/sensor/serial")


def test_a_value_listed_as_faulty_is_the_place(tmp_path: Path) -> None:
    """A rule that counts faulty values points at the first of them."""
    accept = "count(notation.open_gallons) == 0"
    book = made_book(tmp_path, accept, "sensor.bore")
    assert located_by(book) == (10, "/transmitter/low_flow_cutoff")


def test_a_value_that_the_text_lists_is_the_place(tmp_path: Path) -> None:
    """A rule whose text lists values points at the first of them."""
    accept, finding = "sensor.bore > 1[m]", "Look at {notation.open_gallons}."
    book = made_book(tmp_path, accept, "sensor.bore", finding=finding)
    assert located_by(book) == (10, "/transmitter/low_flow_cutoff")


@pytest.mark.parametrize(
    "accept",
    [
        "site.mains_frequency > 60[Hz]",
        "given(run.date)",
        "given(type_sheet.upstream_straight)",
        "count(notation.velocity_values) > 0",
    ],
)
def test_what_no_meter_file_holds_is_never_the_place(
    tmp_path: Path, accept: str
) -> None:
    """A rule about the site or the type alone points at the meter."""
    assert located_by(made_book(tmp_path, accept)) == (2, "")


def test_quantities_are_no_place(tmp_path: Path) -> None:
    """A quantity stands in no file; the values beside it are pointed at."""
    book = made_book(tmp_path, "bore_area > 1[m2] and transmitter.damping > 0[s]")
    assert located_by(book) == (8, "/transmitter/damping")


def test_the_place_of_a_meter_in_a_list_is_its_own(tmp_path: Path) -> None:
    """In a list of meters the place and the pointer lead to the meter in question."""
    text = """\
meters:
  - {meter: FT-0, principle: electromagnetic}
  - meter: FT-1
    principle: electromagnetic
    sensor: {bore: 80 mm}
"""
    book = made_book(tmp_path, "sensor.bore > 1[m]")
    (document,) = read_document(text.encode(), "made.yaml").documents
    entry = read_meters(document)[0][1]
    derived = derived_of(book, entry)
    located = locate(book.meter_rules[0], derived, document, entry.path)
    assert located == (Place("made.yaml", 5, 20), "/meters/1/sensor/bore")


# --- what a finding shows ---------------------------------------------------


def test_a_finding_says_all_that_its_rule_says(tmp_path: Path) -> None:
    """Rule, category, subject, place, remedy and basis come through as they are."""
    found = found_by(made_book(tmp_path, "sensor.bore > 1[m]"))
    assert found.subject == SUBJECT
    assert (found.place, found.pointer) == ANYWHERE
    assert (found.rule, found.category) == ("made-rule", "B")
    assert found.outcome == NONCONFORMING
    assert (found.message, found.remedy) == ("It is wrong.", "Correct it.")
    assert found.basis == "Common (common practice)"


def test_inputs_are_shown_as_written_and_quantities_in_their_unit(
    tmp_path: Path,
) -> None:
    """A file's amounts keep its units; derived ones have the unit declared for them."""
    accept = "bore_area > 1[m2] and slenderness > 100 and transmitter.damping > 9[s]"
    values = found_by(made_book(tmp_path, accept)).values
    assert values == {
        "bore_area": Amount(0.00785398163397, "m2"),
        "sensor.bore": Amount(100.0, "mm"),
        "slenderness": Amount(20.0, ""),
        "installation.upstream_straight": Amount(2.0, "m"),
        "transmitter.damping": Amount(3.0, "s"),
    }


def test_values_that_are_no_amounts_are_shown_as_they_are(tmp_path: Path) -> None:
    """Texts, truths and days are shown as such, and what is missing is not shown."""
    accept = (
        "meter == 'FT-2' and transmitter.settings_locked and given(sensor.serial) "
        "and given(sensor.calibration.date) and count(notation.open_gallons) == 0 "
        "and used(pulse_output)"
    )
    values = found_by(made_book(tmp_path, accept)).values
    assert values == {
        "meter": "FT-1",
        "transmitter.settings_locked": False,
        "sensor.calibration.date": "2026-01-02",
        "pulse_output": False,
    }


def test_limits_are_shown_in_the_units_they_are_written_in(tmp_path: Path) -> None:
    """A limit keeps its own unit, to twelve digits at the most."""
    limits = "lowest: 0.30 m3/h, coldest: 70 degF, share: '0.1'"
    accept = (
        "current_output.upper_range_value < lowest"
        " and process.temperature.minimum > coldest and share < 1"
    )
    book = made_book(tmp_path, accept, limits=limits)
    shown = found_by(book).limits
    assert shown == {
        "lowest": Amount(0.3, "m3/h"),
        "coldest": Amount(70.0, "degF"),
        "share": Amount(0.1, ""),
    }


@pytest.mark.parametrize(
    ("accept", "margin"),
    [
        ("sensor.bore >= 125[mm]", -0.2),
        ("sensor.bore <= 30[mm]", -2.33333333333),
        ("sensor.lining == 'rubber' or meter == 'FT-2'", None),
    ],
)
def test_the_margin_is_relative_to_the_limit(
    tmp_path: Path, accept: str, margin: float | None
) -> None:
    """The distance to the limit is told to twelve digits, and left out without one."""
    book = made_book(tmp_path, accept)
    text = METER.replace("sensor:\n", "sensor:\n  lining: glass\n")
    assert found_by(book, text).margin == margin


def test_the_finding_shows_what_the_quantities_are_computed_from(
    tmp_path: Path,
) -> None:
    """The inputs below a quantity, and those below its fallback, are shown as well."""
    book = make_book(tmp_path, SOUND_RULES)
    (rule,) = book.meter_rules
    entry = read_meter(METER.replace("bore: 100 mm", "nominal_size: DN 100"))
    derived = derived_of(book, entry)
    outcome = Outcome(rule, NONCONFORMING)
    found = outcome_finding(outcome, SUBJECT, derived, ANYWHERE, book, rule.limits)
    assert found.values["bore"] == Amount(100.0, "mm")
    assert found.values["sensor.nominal_size"] == "DN 100"
    assert "sensor.bore" not in found.values
    assert found.message.endswith(" m/s, outside 0.3 m/s to 10 m/s.")


@pytest.mark.parametrize(
    ("bore", "assumed"),
    [
        ("nominal_size: DN 100", ("The bore is that of the nominal size.",)),
        ("bore: 100 mm", ()),
    ],
)
def test_what_was_assumed_is_told(
    tmp_path: Path, bore: str, assumed: tuple[str, ...]
) -> None:
    """A quantity that took its fallback tells so, behind the notes of a policy."""
    book = make_book(tmp_path, SOUND_RULES)
    (rule,) = book.meter_rules
    derived = derived_of(book, read_meter(METER.replace("bore: 100 mm", bore)))
    outcome = Outcome(rule, NONCONFORMING)
    notes = ("By policy.",)
    found = outcome_finding(outcome, SUBJECT, derived, ANYWHERE, book, {}, notes)
    assert found.assumptions == ("By policy.", *assumed)


def test_an_assumption_is_told_by_the_rules_that_rest_on_it(tmp_path: Path) -> None:
    """A rule that reads nothing of an assumed quantity says nothing of it."""
    other = """\
  damped:
    category: C
    asks: Is it damped?
    accept: transmitter.damping > 5[s]
    finding: It is not damped.
    remedy: Damp it.
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
    rules = SOUND_RULES.replace("  serial-unique:\n", f"{other}  serial-unique:\n")
    book = make_book(tmp_path, rules)
    derived = derived_of(book, read_meter(METER.replace("bore: 100", "lining: 1 #")))
    damped = next(rule for rule in book.meter_rules if rule.id == "damped")
    outcome = Outcome(damped, NONCONFORMING)
    found = outcome_finding(outcome, SUBJECT, derived, ANYWHERE, book, {})
    assert found.assumptions == ()


# --- findings of faults -----------------------------------------------------


def made_fault(*path: str | int, problem: str = "It is wrong.") -> Fault:
    """Make a fault of the one reading rule there is."""
    place = Place("made.yaml", 7, 3)
    return Fault("file-readable", place, problem, "Mend it.", path)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> RuleBook:
    """Give a book with a reading rule."""
    return make_book(tmp_path_factory.mktemp("rules"), SOUND_RULES)


def test_a_fault_becomes_a_finding_of_its_reading_rule(book: RuleBook) -> None:
    """The fault gives place, pointer, message and remedy; the rule gives the rest."""
    fault = made_fault("meters", 0, "sensor", "a/b")
    found = fault_finding(fault, SUBJECT, book.reading_rules, ("meters", 0))
    assert (found.place, found.pointer) == (fault.place, "/meters/0/sensor/a~1b")
    assert (found.message, found.remedy) == ("It is wrong.", "Mend it.")
    assert (found.rule, found.category) == ("file-readable", "A")
    assert found.basis == "A handbook"
    assert (found.values, found.limits, found.margin) == ({}, {}, None)


def test_a_second_place_is_named_in_the_message(book: RuleBook) -> None:
    """Where two places take part in a fault, the message names the other one."""
    fault = Fault(
        "file-readable", Place("a"), "Twice.", "Mend it.", (), Place("a", 9, 4)
    )
    found = fault_finding(fault, SUBJECT, book.reading_rules)
    assert found.message == "Twice (see also a:9:4)."


def test_faults_of_one_place_in_the_meter_are_one_fault(book: RuleBook) -> None:
    """A meter's fault is known by its key, wherever in the file the meter stands."""
    rules = book.reading_rules
    alone = fault_finding(made_fault("sensor", "bore"), SUBJECT, rules)
    listed = made_fault("meters", 4, "sensor", "bore", problem="Line 3.")
    moved = SUBJECT._replace(file="other.yaml")
    assert (
        fault_finding(listed, moved, rules, ("meters", 4)).fingerprint
        == alone.fingerprint
    )
    other = fault_finding(made_fault("sensor", "lining"), SUBJECT, rules)
    assert other.fingerprint != alone.fingerprint


def test_a_fault_of_no_meter_is_known_by_its_file(book: RuleBook) -> None:
    """Without a meter the file tells a fault apart, and no line number does."""
    rules = book.reading_rules
    subject = SUBJECT._replace(meter="")
    known = fault_finding(made_fault(problem="See line 3."), subject, rules)
    moved = fault_finding(made_fault(problem="See line 9."), subject, rules)
    other = subject._replace(file="other.yaml")
    assert moved.fingerprint == known.fingerprint
    assert fault_finding(made_fault(), other, rules).fingerprint != known.fingerprint


def test_a_file_of_any_name_has_a_fingerprint(book: RuleBook) -> None:
    """A file name whose bytes are no text does not stop a finding."""
    subject = SUBJECT._replace(meter="", file="a\udcff.yaml")
    found = fault_finding(made_fault(), subject, book.reading_rules)
    assert len(found.fingerprint) == 16


# --- fingerprints and order -------------------------------------------------

# Several things are wrong with it: calibration factors that differ, an open gallon,
# an unknown key and unit, a repeated key, a range of two scales.
FAULTY = """\
meter: FT-1
principle: electromagnetic
servise: water
sensor:
  nominal_size: DN 100
  nameplate: {calibration_factor: "1.0230"}
  bore: 100 millimetre
transmitter:
  nominal_size: DN 100
  calibration_factor: "1.0320"
  low_flow_cutoff: 5 gal/min
current_output: {upper_range_value: 100 m3/h, lower_range_value: 0 m3/h}
receiver:
  analogue: {upper_scale: 200 m3/h, lower_scale: 0 m3/h}
  name: a
  name: b
"""
REORDERED = """\
receiver:
  name: a
  name: b
  analogue: {lower_scale: 0 m3/h, upper_scale: 200 m3/h}

current_output: {lower_range_value: 0 m3/h, upper_range_value: 100 m3/h}
transmitter:
  low_flow_cutoff: 5 gal/min
  calibration_factor: "1.0320"

  nominal_size: DN 100
sensor:
  bore: 100 millimetre
  nameplate: {calibration_factor: "1.0230"}
  nominal_size: DN 100
servise: water
principle: electromagnetic
meter: FT-1
"""
SECOND = FAULTY.replace("FT-1", "FT-2")


def listed(*meters: str) -> str:
    """Write meters as a list."""
    lines = ("\n    ".join(meter.splitlines()) for meter in meters)
    return "meters:\n" + "".join(f"  - {each}\n" for each in lines)


def fingerprints(folder: Path, files: Mapping[str, str]) -> list[str]:
    """Check some files and give the fingerprints of all findings, sorted."""
    folder.mkdir()
    for name, text in files.items():
        (folder / name).write_text(text, "utf-8")
    return sorted(each.fingerprint for each in check([folder]).findings)


@pytest.mark.parametrize(
    "files",
    [
        {"a.yaml": f"\n\n# Moved down\n\n{FAULTY}"},
        {"a.yaml": REORDERED},
        {"renamed.yaml": FAULTY},
        {"a.yaml": listed(FAULTY)},
        {"a.yaml": f"---\n{FAULTY}"},
    ],
)
def test_a_fingerprint_outlives_a_change_of_form(
    tmp_path: Path, files: Mapping[str, str]
) -> None:
    """Moved lines, reordered keys, other file names and lists change no fingerprint."""
    known = fingerprints(tmp_path / "known", {"a.yaml": FAULTY})
    assert len(known) >= 5
    assert fingerprints(tmp_path / "changed", files) == known


def test_meters_may_change_places(tmp_path: Path) -> None:
    """Two meters keep their fingerprints when they change places or files."""
    known = fingerprints(tmp_path / "a", {"a.yaml": listed(FAULTY, SECOND)})
    ways = (
        {"a.yaml": listed(SECOND, FAULTY)},
        {"b.yaml": FAULTY, "a.yaml": SECOND},
        {"a.yaml": f"{SECOND}---\n{FAULTY}"},
    )
    for number, files in enumerate(ways):
        assert fingerprints(tmp_path / str(number), files) == known


def test_a_mended_fault_takes_only_its_own_fingerprint(tmp_path: Path) -> None:
    """What is mended is gone, and all other findings are known as before."""
    known = fingerprints(tmp_path / "known", {"a.yaml": FAULTY})
    mended = FAULTY.replace("servise", "service")
    left = fingerprints(tmp_path / "mended", {"a.yaml": mended})
    assert len(left) == len(known) - 1
    assert set(left) < set(known)


def test_fingerprints_are_unique_where_tags_are_not(tmp_path: Path) -> None:
    """Two meters of one tag have findings of their own fingerprints."""
    files = {"a.yaml": FAULTY, "b.yaml": listed(FAULTY, FAULTY)}
    known = fingerprints(tmp_path / "known", files)
    assert len(known) > 3 * 5
    assert len(set(known)) == len(known)


@pytest.mark.parametrize(
    "subject",
    [
        SUBJECT._replace(workspace="other"),
        SUBJECT._replace(site="south"),
        SUBJECT._replace(meter="FT-2"),
    ],
)
def test_other_meters_have_other_fingerprints(tmp_path: Path, subject: Subject) -> None:
    """Workspace, site and tag all belong to what a finding is known by."""
    book = made_book(tmp_path, "sensor.bore > 1[m]")
    derived = derived_of(book, read_meter())
    outcome = Outcome(book.meter_rules[0], NONCONFORMING)
    known, other = (
        outcome_finding(outcome, each, derived, ANYWHERE, book, {}).fingerprint
        for each in (SUBJECT, subject)
    )
    assert known != other


def plain_finding(
    line: int, column: int = 1, rule: str = "a", file: str = "m.yaml"
) -> Finding:
    """Make a finding at a place."""
    place = Place(file, line, column)
    return replace(FINDING, fingerprint="0f", place=place, rule=rule)


def test_findings_are_in_order_of_file_line_and_rule() -> None:
    """Whatever their order was, findings are sorted by file, then line, then rule."""
    expected = (
        plain_finding(9, file="a.yaml"),
        plain_finding(2, 7, "a"),
        plain_finding(2, 3, "b"),
        plain_finding(10, 1, "a"),
    )
    for made in itertools.permutations(expected):
        assert [each.place for each in in_order(made)] == [
            each.place for each in expected
        ]


def test_equal_fingerprints_are_numbered_in_order() -> None:
    """The second and third of equal fingerprints are told apart by a number."""
    made = [plain_finding(line) for line in (3, 1, 2)]
    assert [each.fingerprint for each in in_order(made)] == ["0f", "0f-2", "0f-3"]
