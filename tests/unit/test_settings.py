"""Laws of what rule files declare of settings, and of what is refused at load."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml

from configlint.errors import RunError
from configlint.rule_book import load_rule_book
from configlint.rules import AcrossRule, Preferred
from configlint.settings import declared_marks, mark_of, paths_of
from tests.builders import write_folder
from tests.free_meters import BASIS, rule, rule_book, standard_book

WEIGHT = "pulse_output.pulse_weight"
SIZE = "transmitter.nominal_size"


def preferred_of(folder: Path, path: str, preferred: dict[str, Any]) -> Preferred:
    """Load one setting and give which of its values are preferred."""
    book = rule_book(folder, {}, {path: {"preferred": preferred}})
    return book.settings[path].preferred


def refusals(folder: Path, path: str, **said: Any) -> list[str]:
    """Give what is said of a setting that can't be taken."""
    with pytest.raises(RunError) as refused:
        rule_book(folder, {}, {path: said})
    return [fault.sentence for fault in refused.value.faults]


def test_every_setting_of_the_standard_rules_is_declared() -> None:
    """What a standard rule would change is declared, and nothing else is."""
    book = standard_book()
    named = {path for each in book.judged_rules for path in each.settings}
    assert named == set(book.settings)


def test_what_a_person_reads_is_not_adjustable() -> None:
    """Nameplate, certificate, process, pipe and records are never chosen."""
    settings = standard_book().settings.values()
    read = ("sensor.", "process.", "installation.", "wiring.", "records.", "meter")
    adjustable = {each.path for each in settings if each.adjustable}
    assert not [path for path in adjustable if path.startswith(read)]
    assert {"pulse_output.pulse_weight", "transmitter.damping"} <= adjustable


def test_every_amount_of_a_meter_has_a_unit() -> None:
    """An amount that is not written yet can be offered in a unit of its own."""
    book = standard_book()
    without = [
        path
        for path in declared_marks()
        if book.inputs[path].unit == "" and hasattr(declared_marks()[path], "kinds")
    ]
    # A unit by itself has kinds too, and is no amount.
    assert all(path.endswith("unit") for path in without)


def test_figures_are_given_in_rising_order(tmp_path: Path) -> None:
    """The figures of a decade are kept as exact numbers, in order."""
    preferred = preferred_of(tmp_path, WEIGHT, {"figures": ["5", "1", "2.5"]})
    assert preferred.figures == (Decimal(1), Decimal("2.5"), Decimal(5))


def test_digits_stand_for_all_figures_of_so_many_digits(tmp_path: Path) -> None:
    """Two digits are the ninety figures from 1.0 to 9.9."""
    figures = preferred_of(tmp_path, WEIGHT, {"digits": "2"}).figures
    assert len(figures) == 90
    assert (figures[0], figures[-1]) == (Decimal(1), Decimal("9.9"))


def test_amounts_keep_their_units(tmp_path: Path) -> None:
    """Preferred amounts are read with their units."""
    preferred = preferred_of(tmp_path, WEIGHT, {"amounts": ["10 l", "1 US_gal"]})
    assert [each.text for each in preferred.amounts] == ["10 l", "1 US_gal"]


def test_a_plain_number_takes_plain_amounts(tmp_path: Path) -> None:
    """A setting without dimension prefers bare numbers."""
    path = "transmitter.calibration_factor"
    assert preferred_of(tmp_path, path, {"amounts": ["1"]}).amounts[0].si == 1


def test_a_text_takes_a_table(tmp_path: Path) -> None:
    """The rows of a table are the values of a text."""
    assert preferred_of(tmp_path, SIZE, {"table": "sizes"}).table == "sizes"


@pytest.mark.parametrize(
    ("path", "preferred", "said"),
    [
        (WEIGHT, {"figures": ["12"]}, "'12' is no figure from 1 up to 10"),
        (WEIGHT, {"figures": ["one"]}, "'one' is no figure"),
        (WEIGHT, {"amounts": ["10 mA"]}, "another kind of unit"),
        (WEIGHT, {"amounts": ["10 lites"]}, "'lites' is no known spelling"),
        (WEIGHT, {"table": "sizes"}, "for which that says nothing"),
        (SIZE, {"digits": "2"}, "for which that says nothing"),
        (SIZE, {"table": "size"}, "There is no table 'size'"),
        (WEIGHT, {}, "Not one way of preferring is named"),
        (WEIGHT, {"digits": "2", "amounts": ["1 l"]}, "Not one way of preferring"),
    ],
)
def test_a_preference_that_does_not_fit_is_refused(
    tmp_path: Path, path: str, preferred: dict[str, Any], said: str
) -> None:
    """A preference of a wrong form, kind or name is refused when the rules load."""
    (sentence,) = refusals(tmp_path, path, preferred=preferred)
    assert said in sentence


def test_an_unknown_path_is_refused_with_the_nearest(tmp_path: Path) -> None:
    """A setting that no meter's file can hold is refused, with what may be meant."""
    (sentence,) = refusals(tmp_path, "pulse_output.puls_weight")
    assert "has no value 'pulse_output.puls_weight'" in sentence
    assert WEIGHT in sentence


def test_a_value_of_the_site_itself_is_no_setting(tmp_path: Path) -> None:
    """What a site's or type's file holds is no setting of a meter."""
    (sentence,) = refusals(tmp_path, "site.mains_frequency")
    assert "has no value" in sentence


def test_a_setting_rests_on_something(tmp_path: Path) -> None:
    """A setting without a basis is refused."""
    (sentence,) = refusals(tmp_path, WEIGHT, basis={})
    assert "Nothing is named that this rests on" in sentence


def write_own(folder: Path, ruleset: str, **said: Any) -> None:
    """Write a file of a rule set that declares one setting."""
    setting = {"adjustable": "true", "where": "Menu", "basis": BASIS, **said}
    content = {"ruleset": ruleset, "edition": "1", "settings": {WEIGHT: setting}}
    folder.mkdir(exist_ok=True)
    file = folder / f"{len(list(folder.iterdir()))}.yaml"
    file.write_text(yaml.safe_dump(content), "utf-8")


def test_a_rule_set_declares_a_setting_once(tmp_path: Path) -> None:
    """A second declaration in one rule set is refused at its place."""
    write_own(tmp_path, "own")
    write_own(tmp_path, "own")
    with pytest.raises(RunError) as refused:
        load_rule_book(tmp_path)
    (fault,) = refused.value.faults
    assert "declared already" in fault.sentence
    assert fault.place.file.endswith("1.yaml")


def test_a_later_rule_set_goes_over_an_earlier_one(tmp_path: Path) -> None:
    """A company's own preference takes the place of the standard one."""
    write_own(tmp_path / "first", "first", preferred={"figures": ["1"]})
    write_own(tmp_path / "second", "second", preferred={"amounts": ["4 l"]})
    book = load_rule_book(tmp_path / "first", tmp_path / "second")
    assert book.settings[WEIGHT].preferred.figures == ()
    assert book.settings[WEIGHT].prefers_amounts


def test_the_sites_own_data_can_be_settings(tmp_path: Path) -> None:
    """A declared value of the site's own is a setting as any other."""
    own = {"stock": {"means": "Stock", "unit": "l"}}
    path = "site_data.stock"
    asked = rule("site_data.stock > 1[l]", settings=[path])
    book = rule_book(tmp_path, {"stocked": asked}, {path: {}}, site_data=own)
    assert book.settings[path].adjustable
    assert mark_of(path, book.site_data) is not None


def test_a_rule_across_meters_may_name_settings_too() -> None:
    """What rules across meters would change is a person's to state."""
    book = standard_book()
    across = [each for each in book.judged_rules if isinstance(each, AcrossRule)]
    named = {path for each in across for path in each.settings}
    assert not any(book.settings[path].adjustable for path in named)


def test_no_settings_are_needed(tmp_path: Path) -> None:
    """A folder of rules that declares no setting loads as before."""
    text = "ruleset: own\nedition: '1'\n"
    assert load_rule_book(write_folder(tmp_path, text)).settings == {}


def test_a_principle_has_values_of_its_own() -> None:
    """What a meter's file may hold goes by its principle; of an unknown one, all."""
    turbine, magnetic = paths_of("turbine"), paths_of("electromagnetic")
    assert "transmitter.k_factor" in turbine - magnetic
    assert "transmitter.excitation_current" in magnetic - turbine
    assert paths_of("a guess") == declared_marks().keys() >= turbine | magnetic
