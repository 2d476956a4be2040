"""Laws of declared readings: which goes by which is checked when rules are loaded."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.rule_book import load_rule_book
from tests.builders import SOUND_RULES, standard_book, write_folder

READINGS = """\
readings:
  The meter: {}
  The total: {fed_by: [The meter], applies: used(pulse_output)}
rules:
"""
EFFECT = "    effect: {of: The meter, reading_error: '1'}\n"
RULES = (
    SOUND_RULES.replace("rules:\n", READINGS, 1)
    .replace("    basis: {practice: Common}", f"{EFFECT}    basis: {{practice: 1}}", 1)
    .replace("gives: nonconforming", "gives: nonconforming, effect: 100 %", 1)
)


def faults(folder: Path, old: str, new: str) -> list[str]:
    """Load rules with one change, and give what is told of them."""
    assert old in RULES
    with pytest.raises(RunError) as refused:
        load_rule_book(write_folder(folder, RULES.replace(old, new, 1)))
    return [fault.message for fault in refused.value.faults]


def test_the_standard_readings_lead_from_the_meter_to_the_receiver() -> None:
    """Each reading but the meter's is fed by the one before it."""
    readings = standard_book().readings
    assert {name: each.fed_by for name, each in readings.items()} == {
        "The meter": (),
        "The current's reading": ("The meter",),
        "The receiver": ("The current's reading",),
        "The total by pulses": ("The meter",),
        "The receiver's total": ("The total by pulses",),
    }


def test_every_effect_of_the_standard_rules_is_of_a_declared_reading() -> None:
    """What reads wrong is spelt alike in all rules."""
    book = standard_book()
    told = {each.effect.of for each in book.meter_rules if each.effect is not None}
    assert told == set(book.readings)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("fed_by: [The meter]", "fed_by: [The mter]", "There is no reading 'The mter'"),
        ("The meter: {}", "The meter: {fed_by: [The total]}", "goes by itself"),
        ("The meter: {}", "The meter: {fed_by: [The meter]}", "goes by itself"),
        ("{of: The meter", "{of: The meters", "There is no reading 'The meters'"),
        ("used(pulse_output)}", "1 + 1}", "not true or false"),
        ("used(pulse_output)}", "used(pulses)}", "pulses"),
    ],
)
def test_a_wrong_reading_is_refused(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    """A reading that is not declared, goes by itself or has no truth is a fault."""
    found = faults(tmp_path, old, new)
    assert any(said in each for each in found), found


def test_an_unknown_reading_is_told_with_those_there_are(tmp_path: Path) -> None:
    """The advice offers the declared names."""
    wrong = RULES.replace("{of: The meter", "{of: The moter", 1)
    with pytest.raises(RunError) as refused:
        load_rule_book(write_folder(tmp_path, wrong))
    (fault,) = refused.value.faults
    assert fault.message == "There is no reading 'The moter'."
    assert fault.advice.startswith("Write one of: The meter, The total; or declare it")


def test_a_reading_is_declared_once(tmp_path: Path) -> None:
    """A second file that declares one again is refused at its line."""
    name, edition, _ = RULES.split("\n", 2)
    again = f"{name}\n{edition}\nreadings:\n  The meter: {{}}\n"
    folder = write_folder(tmp_path, RULES)
    (folder / "zz.yaml").write_text(again, "utf-8")
    with pytest.raises(RunError) as refused:
        load_rule_book(folder)
    (fault,) = refused.value.faults
    assert "'The meter' is declared in another place too" in fault.message
    assert fault.place.line == 4


def test_a_net_has_an_effect(tmp_path: Path) -> None:
    """A rule that is declared a net and says nothing that it costs is refused."""
    found = faults(tmp_path, EFFECT, "    net: true\n")
    assert any("A net has an effect, and this rule has none." in each for each in found)


def test_a_net_is_what_its_rule_declares(tmp_path: Path) -> None:
    """A rule whose values are not proposed is no net by that."""
    folder = write_folder(tmp_path, RULES.replace(EFFECT, f"{EFFECT}    net: true\n"))
    assert {each.id for each in load_rule_book(folder).meter_rules if each.is_net} == {
        "speed-in-band"
    }
    withheld = RULES.replace(EFFECT, f"{EFFECT}    proposes_values: false\n")
    other = tmp_path / "other"
    other.mkdir()
    book = load_rule_book(write_folder(other, withheld))
    assert not any(each.is_net for each in book.meter_rules)
