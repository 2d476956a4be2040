"""Laws of loading rules: what a sound book holds, and in which order."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.data import data_folder
from configlint.kinds import Sort
from configlint.rule_book import load_rule_book
from configlint.rule_files import BasisModel
from configlint.rules import (
    AcrossRule,
    MeterRule,
    ReadingRule,
    RuleBook,
    basis_words,
)
from configlint.shelf import Shelf
from configlint.units import NONE
from tests.builders import SOUND_RULES as RULES
from tests.builders import VELOCITY, make_book, write_folder


@pytest.fixture
def book(tmp_path: Path) -> RuleBook:
    """Give the book of the sound rules."""
    return make_book(tmp_path, RULES)


def test_quantities_come_in_an_order_in_which_none_needs_a_later_one(
    book: RuleBook,
) -> None:
    """A quantity stands behind all that its formula and fallback name."""
    assert [quantity.name for quantity in book.quantities] == ["bore", "area", "speed"]
    assert book.quantity_of["bore"].note == "The bore is that of the nominal size."
    assert book.scope.names["speed"] == VELOCITY
    assert book.units["speed"] == "m/s"


def test_a_book_knows_the_symbols_of_quantities_and_inputs(tmp_path: Path) -> None:
    """Every quantity has the symbol of its own, and an input the one it is given."""
    own = "ruleset: own\nedition: '1'\nsymbols: {sensor.bore: d_S}\n"
    book = make_book(tmp_path, RULES, own=own)
    assert book.symbols == {
        "bore": "d",
        "area": "A",
        "speed": "v",
        "sensor.bore": "d_S",
    }


def test_rules_are_sorted_by_what_they_judge(book: RuleBook) -> None:
    """A book holds rules of one meter, across meters and of reading apart."""
    (rule,) = book.meter_rules
    assert isinstance(rule, MeterRule)
    assert rule.limit_values == {"lowest": 0.3, "highest": 10.0}
    assert rule.limit_kinds == {"lowest": VELOCITY, "highest": VELOCITY}
    assert rule.place.line == 26
    assert rule.limits["lowest"].text == "0.3 m/s"
    (across,) = book.across_rules
    assert isinstance(across, AcrossRule)
    assert (across.scope, across.same) == ("all sites", ("sensor.serial",))
    assert across.reads == ("sensor.serial", "meter")
    assert isinstance(book.reading_rules["file-readable"], ReadingRule)
    assert [rule.id for rule in book.all_rules] == [
        "file-readable",
        "serial-unique",
        "speed-in-band",
    ]


def test_a_book_knows_what_the_findings_of_a_rule_show(book: RuleBook) -> None:
    """What a rule names is shown, and below it all that its quantities rest on."""
    assert book.meter_rules[0].reads == ("lowest", "speed", "highest")
    assert book.shown == {
        "speed-in-band": (
            "speed",
            "current_output.upper_range_value",
            "area",
            "bore",
            "sensor.bore",
            "sensor.nominal_size",
        ),
        "serial-unique": ("sensor.serial", "meter"),
    }


def test_a_book_tells_its_editions(tmp_path: Path) -> None:
    """An edition has a digest that changes with its files alone, not with CRLF."""
    first = make_book(tmp_path / "a", RULES).editions
    assert [(each.name, each.edition) for each in first] == [("made", "1")]
    crlf = tmp_path / "b"
    write_folder(crlf, RULES)
    (crlf / "rules.yaml").write_bytes(RULES.replace("\n", "\r\n").encode())
    assert load_rule_book(crlf).editions == first
    changed = make_book(tmp_path / "c", RULES.replace("10 m/s", "9 m/s")).editions
    assert changed[0].digest != first[0].digest


def test_a_digest_is_of_its_own_rule_set_and_of_what_is_shared(tmp_path: Path) -> None:
    """Another rule set's files leave a digest alone; tables and meters change it."""
    first = make_book(tmp_path / "a", RULES).editions[0]
    other = 'ruleset: other\nedition: "7"\n'
    both = make_book(tmp_path / "b", RULES, other=other).editions
    assert [each.name for each in both] == ["made", "other"]
    assert both[0] == first
    folder = write_folder(tmp_path / "c", RULES)
    table = folder / "tables/sizes.yaml"
    table.write_text(table.read_text("utf-8").replace("100 mm", "101 mm"), "utf-8")
    assert load_rule_book(folder).editions[0].digest != first.digest


def test_rules_may_use_quantities_of_another_folder(tmp_path: Path) -> None:
    """A site's own rules build on the quantities of the standard ones."""
    standard = write_folder(tmp_path / "standard", RULES)
    own = tmp_path / "own"
    own.mkdir()
    quantity = (
        "  own_speed: {means: a, symbol: b, formula: 2 * speed, unit: m/s,"
        " basis: {practice: Ours}}\n"
    )
    text = f'ruleset: own\nedition: "1"\nquantities:\n{quantity}'
    (own / "rules.yaml").write_text(text, "utf-8")
    book = load_rule_book(standard, own)
    assert book.quantities[-1].name == "own_speed"


def test_the_rules_that_come_with_the_package_load() -> None:
    """The standard rules are sound."""
    book = load_rule_book(data_folder("rules"))
    assert "bore" in book.quantity_of


def test_a_quantity_without_unit_is_a_number_or_no_amount(tmp_path: Path) -> None:
    """A quantity without a unit may be a plain number, a text or a truth."""
    given = (
        "  is_large: {means: a, symbol: b, formula: 'bore > 1[m]',"
        " basis: {practice: c}}\n"
        "  ratio: {means: a, symbol: b, formula: 'bore / 1[m]',"
        " basis: {practice: c}}\n"
        "rules:\n"
    )
    book = make_book(tmp_path, RULES.replace("rules:\n", given, 1))
    assert book.scope.names["is_large"] is Sort.TRUTH
    assert book.scope.names["ratio"] == NONE


def test_a_shelf_takes_one_kind_of_file_alone(tmp_path: Path) -> None:
    """Type sheets of a workspace are read without the rest of a rule folder."""
    (tmp_path / "a.yaml").write_text("type_sheet: a\ninvented: true\n", "utf-8")
    shelf = Shelf()
    assert shelf.take_folder(tmp_path, shelf.take_type_sheets) == 1
    shelf.refuse_if_faulty()
    assert list(shelf.type_sheets) == ["a"]


@pytest.mark.parametrize(
    ("basis", "words"),
    [
        ({"practice": "Geometry"}, "Geometry (common practice)"),
        (
            {"practice": "Geometry", "status": "computed"},
            "Geometry (follows by arithmetic)",
        ),
        ({"published": "A handbook"}, "A handbook"),
        (
            {"standard": "ISO 0", "edition": "1999", "clause": "4", "status": "read"},
            "ISO 0:1999, clause 4 (checked in the source)",
        ),
    ],
)
def test_a_basis_is_written_in_one_line(basis: dict[str, str], words: str) -> None:
    """The words of a basis name its source and how far it was verified."""
    assert basis_words(BasisModel(**basis)) == words


def test_a_book_is_loaded_anew_when_a_file_changes(tmp_path: Path) -> None:
    """The same files give the same book; one that has changed gives another."""
    folder = write_folder(tmp_path, RULES)
    first = load_rule_book(folder)
    assert load_rule_book(folder) is first
    (folder / "rules.yaml").write_text(RULES.replace("10 m/s", "9 m/s"), "utf-8")
    (rule,) = load_rule_book(folder).meter_rules
    assert rule.limits["highest"].text == "9 m/s"
    (folder / "rules.yaml").write_text(RULES, "utf-8")
    assert load_rule_book(folder).meter_rules[0].limits["highest"].text == "10 m/s"


def test_faults_are_named_from_where_a_book_is_loaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rule's place is told as seen from the current folder, whatever was before."""
    folder = write_folder(tmp_path / "own", RULES)
    monkeypatch.chdir(tmp_path)
    assert load_rule_book(folder).meter_rules[0].place.file == "own/rules.yaml"
    monkeypatch.chdir(folder)
    assert load_rule_book(folder).meter_rules[0].place.file == "rules.yaml"
