"""Laws of settings with a list of values."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from configlint.axes import setting_of
from configlint.choices import Choices, choices_of, options_of, value_of
from configlint.rules import RuleBook
from configlint.units import Quantity
from tests.free_meters import free_meter, rule, rule_book

SIZE = "transmitter.nominal_size"
DIRECTION = "transmitter.flow_direction"
LOCKED = "transmitter.settings_locked"
DIGITS = "totalizer.digits"
UNIT = "totalizer.unit"
DAMPING = "transmitter.damping"
TABLE = {"preferred": {"table": "sizes"}}
RULES = {
    "forward": rule(f"{DIRECTION} == 'forward'"),
    "not-reverse": rule(f"{DIRECTION} != 'reverse'"),
    "locked": rule(f"{LOCKED}"),
    "long": rule(f"{DIGITS} >= 7 and {DIGITS} <= 9"),
    "same": rule(f"{SIZE} == sensor.nominal_size"),
    "cubic": rule(f"same_unit({UNIT}, transmitter.display.total_unit)"),
}


@pytest.fixture
def book(tmp_path: Path) -> RuleBook:
    """Load rules on settings that are no amounts."""
    paths = (DIRECTION, LOCKED, DIGITS, UNIT, "records.as_left_by")
    return rule_book(tmp_path, RULES, {SIZE: TABLE, **{path: {} for path in paths}})


def solved(book: RuleBook, path: str, **written: Any) -> Choices:
    """Ask about every value of a setting."""
    texts = {key.replace("__", "."): text for key, text in written.items()}
    choices = choices_of(free_meter(book, texts), setting_of(book, path))
    assert choices is not None
    return choices


def test_every_choice_is_asked(book: RuleBook) -> None:
    """Each choice is told with the rules it would break."""
    choices = solved(book, DIRECTION, transmitter__flow_direction="both")
    assert choices.present == "both"
    assert dict(choices.options) == {
        "forward": (),
        "reverse": ("forward", "not-reverse"),
        "both": ("forward",),
    }
    assert choices.permissible == ("forward",)
    assert set(choices.rules) == {"forward", "not-reverse"}
    assert choices.conflict == ()


def test_a_truth_is_true_or_false(book: RuleBook) -> None:
    """Of a truth both values are asked, the one of the file being told apart."""
    choices = solved(book, LOCKED, transmitter__settings_locked="false")
    assert choices.present == "false"
    assert choices.permissible == ("true",)


def test_a_whole_number_is_one_of_those_a_file_may_hold(book: RuleBook) -> None:
    """A count is every whole number that is accepted at all."""
    choices = solved(book, DIGITS, totalizer__digits="4")
    assert len(choices.options) == 20
    assert choices.permissible == ("7", "8", "9")
    assert choices.present == "4"


def test_a_size_is_a_row_of_its_table_in_the_files_manner(book: RuleBook) -> None:
    """A size is named by the rows of the table, as the file names sizes."""
    choices = solved(book, SIZE, sensor__nominal_size="DN 200")
    assert [each.text for each in choices.options] == ["DN 100", "DN 200"]
    assert choices.permissible == ("DN 200",)
    # The table has one size in inches alone, so that its own names are given.
    inches = solved(book, SIZE, transmitter__nominal_size="NPS 4")
    assert [each.text for each in inches.options] == ["DN 100", "DN 200"]


def test_a_unit_is_one_that_the_file_uses(book: RuleBook) -> None:
    """Units of the right kind that stand in the file are asked, each once."""
    written = {
        "totalizer__unit": "l",
        "totalizer__resolution": "1 m3",
        "transmitter__display__total_unit": "m3",
        "sensor__bore": "100 mm",
    }
    choices = solved(book, UNIT, **written)
    assert {each.text for each in choices.options} == {"l", "m3"}
    assert choices.permissible == ("m3",)


def test_a_unit_to_choose_says_which_gallon_it_is(book: RuleBook) -> None:
    """For a gallon of no kind stand those that say which, each once."""
    written = {
        "totalizer__unit": "gal",
        "totalizer__resolution": "1 US_gal",
        "transmitter__display__total_unit": "gal",
    }
    choices = solved(book, UNIT, **written)
    assert [each.text for each in choices.options] == ["US_gal", "imp_gal"]
    assert choices.present == "gal"


def test_a_rule_that_lacks_an_input_rules_nothing_out(book: RuleBook) -> None:
    """A rule that is left open is told, and breaks no value."""
    choices = solved(book, SIZE, transmitter__nominal_size="DN 100")
    assert choices.not_assessed == ("same",)
    assert len(choices.permissible) == 2


def test_rules_in_conflict_leave_no_choice(tmp_path: Path) -> None:
    """Where every value breaks a rule, the fewest rules in conflict are named."""
    rules = {**RULES, "reverse": rule(f"{DIRECTION} == 'reverse'")}
    choices = solved(rule_book(tmp_path, rules), DIRECTION)
    assert choices.permissible == ()
    assert choices.conflict == ("forward", "reverse")
    assert choices.present == ""


def test_an_open_text_has_no_list(book: RuleBook) -> None:
    """What can be any text is not solved for."""
    free = free_meter(book)
    assert choices_of(free, setting_of(book, "records.as_left_by")) is None
    assert choices_of(free, setting_of(book, "sensor.bored")) is None
    assert list(options_of(free, setting_of(book, "sensor.serial"))) == []


def test_a_text_is_read_as_in_a_file(book: RuleBook) -> None:
    """The value of a text is what reading a meter's file gives."""
    free = free_meter(book)
    assert value_of(free, LOCKED, "true") is True
    assert value_of(free, SIZE, "DN100") == "DN 100"
    amount = value_of(free, "sensor.bore", "10 mm")
    assert isinstance(amount, Quantity)
    assert value_of(free, "nowhere", "text") == "text"


def offered(folder: Path, written: str) -> Choices:
    """Ask about a damping of which the type of the device offers three."""
    rules = {"calm": rule(f"{DAMPING} >= 2[s]"), "quick": rule(f"{DAMPING} <= 5[s]")}
    book = rule_book(folder, rules, {DAMPING: {}})
    free = free_meter(book, {DAMPING: written})
    free.facts.values[f"type_sheet.offers.{DAMPING}"] = ("1 s", "3 s", "10 s")
    choices = choices_of(free, setting_of(book, DAMPING))
    assert choices is not None
    return choices


def test_an_amount_is_one_that_the_type_offers(tmp_path: Path) -> None:
    """Where a type sheet lists the values of an amount, these alone are asked."""
    choices = offered(tmp_path, "3 s")
    assert dict(choices.options) == {"1 s": ("calm",), "3 s": (), "10 s": ("quick",)}
    assert choices.present == "3 s"


def test_a_present_amount_is_told_as_it_is_listed(tmp_path: Path) -> None:
    """The same amount in another unit is the one of the list."""
    assert offered(tmp_path, "3000 ms").present == "3 s"


def test_a_present_amount_that_is_not_offered_is_no_option(tmp_path: Path) -> None:
    """What the type does not offer is told as it is written, beside the list."""
    choices = offered(tmp_path, "4 s")
    assert choices.present == "4 s"
    assert choices.permissible == ("3 s",)
    assert set(choices.rules) == {"calm", "quick"}
