"""Laws of the site's own data: declared in rule files, and read as strictly."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.facts import facts, put
from configlint.kinds import Kind, Sort
from configlint.meters import read_meters
from configlint.operators import is_missing
from configlint.rule_book import load_rule_book
from configlint.units import NONE, dimension_named, parse_quantity
from tests.builders import make_book, make_document, write_folder
from tests.site_data import DECLARED, METER, RULE, known_of, read


def told(folder: Path, rules: str, **others: str) -> list[str]:
    """Give file, line and sentence of each fault for which rules are refused."""
    with pytest.raises(RunError) as caught:
        load_rule_book(write_folder(folder, rules, **others))
    return [
        f"{Path(fault.place.file).name} {fault.place.line} {fault.sentence}"
        for fault in caught.value.faults
    ]


# --- what rule files declare --------------------------------------------------


def test_a_declaration_says_the_kind(tmp_path: Path) -> None:
    """A unit says its dimension; without one a kind is said, or it is a text."""
    book = make_book(tmp_path, DECLARED)
    kinds: Mapping[str, Kind] = {
        "pump_capacity": dimension_named("volume flow"),
        "well_level": dimension_named("length"),
        "leak_share": NONE,
        "strokes": NONE,
        "asset_number": Sort.TEXT,
        "pump_maker": Sort.TEXT,
        "metered": Sort.TRUTH,
        "put_in_on": Sort.DAY,
    }
    for name, kind in kinds.items():
        assert book.inputs[f"site_data.{name}"].kind == kind
        assert book.scope.names[f"site_data.{name}"] == kind
    assert book.inputs["site_data.pump_capacity"].means == "Capacity of the duty pump"
    assert book.units["site_data.pump_capacity"] == "m3/h"
    assert book.units["site_data.asset_number"] == ""
    assert "sensor.bore" in book.inputs


def test_without_a_declaration_nothing_is_known(tmp_path: Path) -> None:
    """What no rule file declares is no input, and no rule can name it."""
    book = make_book(tmp_path / "a", 'ruleset: own\nedition: "1"\n')
    assert (book.site_data.marks, book.site_data.inputs) == ({}, {})
    rule = RULE.replace("{ACCEPT}", "given(site_data.spare)").replace("{FINDING}", "No")
    sentences = told(tmp_path / "b", DECLARED + rule)
    assert len(sentences) == 1
    assert "There is no value 'site_data.spare'" in sentences[0]


def test_formulas_are_checked_by_the_declared_dimension(tmp_path: Path) -> None:
    """A comparison with another dimension is refused at load, as of any input."""
    rule = RULE.replace("{FINDING}", "No")
    for accept, words in {
        "site_data.pump_capacity > sensor.bore": "A volume flow and a length do not",
        "site_data.asset_number > 3": "A text and a plain number do not",
        "site_data.strokes > 3[m]": "A plain number and a length do not",
    }.items():
        faults = told(tmp_path, DECLARED + rule.replace("{ACCEPT}", accept))
        assert [words in fault for fault in faults] == [True], faults


def test_a_finding_text_shows_it_in_a_unit_of_its_kind_only(tmp_path: Path) -> None:
    """A text that asks for a unit of another kind is refused at load."""
    rule = RULE.replace("{ACCEPT}", "given(site_data.strokes)")
    wrong = rule.replace("{FINDING}", "It is {site_data.well_level [bar]}.")
    (fault,) = told(tmp_path, DECLARED + wrong)
    assert fault.startswith("rules.yaml 17 In '{site_data.well_level [bar]}'")


@pytest.mark.parametrize("name", ["duty pump", "a.b", "3rd", "Füllstand", "if", "a-b"])
def test_a_name_is_plain(tmp_path: Path, name: str) -> None:
    """A name that no formula could hold is refused at its key."""
    rules = f"{DECLARED}  {name}: {{means: A value}}\n"
    assert told(tmp_path, rules) == [
        f"rules.yaml 12 The name {name!r} is no plain name. Write letters, digits and "
        "underscores, no digit first, and no word of the formulas."
    ]


@pytest.mark.parametrize(
    ("model", "words"),
    [
        ("{unit: m}", "means is not written"),
        ("{means: A, unit: m3/hour}", "'m3/hour' is no known spelling"),
        ("{means: A, kind: amount}", "'amount' is not one of:"),
        (
            "{means: A, unit: m, kind: number}",
            "one has both a unit, m, and a kind, number. Leave the kind out",
        ),
    ],
)
def test_a_declaration_is_whole_and_clear(
    tmp_path: Path, model: str, words: str
) -> None:
    """A meaning is needed, a unit is a known one, and a kind stands in its place."""
    (fault,) = told(tmp_path, f"{DECLARED}  one: {model}\n")
    assert fault.startswith("rules.yaml 12 ")
    assert words in fault


@pytest.mark.parametrize(
    "other",
    [
        "{means: Capacity of the duty pump, unit: l/s}",
        "{means: Capacity of the duty pump}",
        "{means: Capacity of the standby pump, unit: m3/h}",
    ],
)
def test_two_files_declare_a_name_alike(tmp_path: Path, other: str) -> None:
    """A name that two files declare otherwise is refused, and both places are told."""
    more = f'ruleset: more\nedition: "1"\nsite_data:\n  pump_capacity: {other}\n'
    assert told(tmp_path, DECLARED, zz=more) == [
        "zz.yaml 4 site_data.pump_capacity is declared otherwise in another place "
        f"(see also {tmp_path}/rules.yaml:4:3). Declare it once, or in the same words."
    ]


def test_two_files_may_repeat_a_declaration(tmp_path: Path) -> None:
    """A declaration that another file repeats is the same one."""
    again = DECLARED.replace("ruleset: own", "ruleset: more")
    book = make_book(tmp_path, DECLARED, zz=again)
    assert len(book.site_data.inputs) == 8


# --- what meter files say -----------------------------------------------------


def test_a_value_is_read_as_declared(tmp_path: Path) -> None:
    """Each value is of its declared kind, and one that is not declared stays free."""
    book = make_book(tmp_path, DECLARED)
    assert read(book)[1] == []
    known = known_of(book)
    values, written = known.values, known.written
    assert values["site_data.pump_capacity"] == pytest.approx(240 / 3600)
    assert str(written["site_data.pump_capacity"]) == "240 m3/h"
    assert values["site_data.leak_share"] == pytest.approx(0.05)
    assert values["site_data.strokes"] == 120
    assert values["site_data.asset_number"] == "4711"
    assert values["site_data.metered"] is True
    assert written["site_data.metered"] == "true"
    assert written["site_data.put_in_on"] == "2026-01-02"
    day = values["site_data.put_in_on"]
    assert isinstance(day, float)
    assert day % 86400 == 0
    assert values["site_data.spare"] == pytest.approx(0.007)


def test_without_a_declaration_a_value_is_an_amount_or_a_text(tmp_path: Path) -> None:
    """What no rule file declares is read as it was, whatever it looks like."""
    book = make_book(tmp_path, 'ruleset: own\nedition: "1"\n')
    entry, faults = read(book)
    assert faults == []
    values = facts(entry.meter, own=book.site_data.inputs).values
    assert values["site_data.asset_number"] == 4711
    assert values["site_data.metered"] == "true"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "site_data:\n",
        "site_data: {spare: 1}\n",
        "site_data: {pump_capacity: , well_level: }\n",
    ],
)
def test_what_is_not_written_is_missing(tmp_path: Path, text: str) -> None:
    """A declared value that the file lacks, or leaves empty, is there as missing."""
    book = make_book(tmp_path, DECLARED)
    head = "meter: FT-1\nprinciple: electromagnetic\n"
    known = known_of(book, head + text)
    for path in book.site_data.inputs:
        assert is_missing(known.values[path])
        assert path not in known.written
    assert known.values["site_data.asset_number"] is None
    assert known.unreadable == set()


WRONG = [
    (
        "pump_capacity: 240 mm",
        "unit-of-right-kind",
        "'240 mm' is a length, which does not belong here. Write a volume flow such "
        "as 250 m3/h.",
    ),
    ("pump_capacity: 3 m/s", "unit-of-right-kind", "'3 m/s' is a velocity, which"),
    ("pump_capacity: 240", "unit-of-right-kind", "'240' has no unit. Write a volume"),
    ("pump_capacity: 240 m3/hr", "unit-known", "'m3/hr' is no known spelling"),
    ("pump_capacity: much", "value-well-formed", "'much'"),
    ("strokes: 5 Hz", "unit-of-right-kind", "'5 Hz' has a unit where none belongs."),
    ("metered: yes", "value-well-formed", "'yes' is neither true nor false."),
    ("put_in_on: 2026-02-30", "value-well-formed", "a day that no calendar has."),
    ("pump_capacity: [1 m3/h]", "value-well-formed", "a list stands here."),
]


@pytest.mark.parametrize(("line", "kind", "words"), WRONG)
def test_a_faulty_value_is_told_at_its_place(
    tmp_path: Path, line: str, kind: str, words: str
) -> None:
    """What does not fit its declaration breaks the reading rule that others would."""
    book = make_book(tmp_path, DECLARED)
    name = line.partition(":")[0]
    text = f"meter: FT-1\nprinciple: electromagnetic\nsite_data:\n  {line}\n"
    entry, (fault,) = read(book, text)
    assert (fault.kind, fault.path) == (kind, ("site_data", name))
    assert fault.place.line == 4
    assert fault.sentence.startswith(f"site_data.{name}: ")
    assert words in fault.sentence
    assert entry.unreadable == (f"site_data.{name}",)
    known = known_of(book, text)
    assert f"site_data.{name}" in known.unreadable
    assert f"site_data.{name}" not in known.written
    assert is_missing(known.values[f"site_data.{name}"])


def test_each_faulty_value_is_told(tmp_path: Path) -> None:
    """One faulty value hides no other, nor what is sound, in a list of meters too."""
    text = """\
meters:
  - meter: FT-1
    principle: electromagnetic
    site_data: &own {pump_capacity: 1 mm, strokes: 5 Hz, well_level: 2 m}
  - {meter: FT-2, principle: electromagnetic, site_data: *own}
"""
    document = make_document(text)
    marks = make_book(tmp_path, DECLARED).site_data.marks
    entries, faults = read_meters(document, marks)
    assert [fault.path for fault in faults] == [
        ("meters", meter, "site_data", name)
        for meter in (0, 1)
        for name in ("pump_capacity", "strokes")
    ]
    assert faults[0].elsewhere is None
    assert faults[2].elsewhere is not None
    for entry in entries:
        assert str((entry.meter.site_data or {})["well_level"]) == "2 m"


def test_a_meter_of_no_principle_is_read_by_the_declarations_too(
    tmp_path: Path,
) -> None:
    """The faults of a meter that can't be judged are told as far as they can be."""
    marks = make_book(tmp_path, DECLARED).site_data.marks
    text = "meter: FT-1\nprinciple: electric\nsite_data: {metered: yes, strokes: 2 m}\n"
    entries, faults = read_meters(make_document(text), marks)
    assert entries == ()
    assert [fault.path[-1] for fault in faults] == ["principle", "strokes", "metered"]


def test_a_section_that_is_none_leaves_all_open(tmp_path: Path) -> None:
    """Where a text stands for the section, every declared value can't be read."""
    book = make_book(tmp_path, DECLARED)
    text = "meter: FT-1\nprinciple: electromagnetic\nsite_data: none\n"
    assert known_of(book, text).unreadable == set(book.site_data.inputs)


def test_another_value_can_be_tried(tmp_path: Path) -> None:
    """A value written over a meter's facts is of the kind that was declared."""
    book = make_book(tmp_path, DECLARED)
    known = known_of(book, METER.replace("240 m3/h", "240 mm"))
    tried = known.copy()
    put(tried, "site_data.pump_capacity", parse_quantity("1 m3/s"))
    assert tried.values["site_data.pump_capacity"] == 1
    assert tried.converted == {}
    assert tried.unreadable == set()
    assert known.unreadable == {"site_data.pump_capacity"}
