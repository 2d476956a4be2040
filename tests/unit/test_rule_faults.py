"""Laws of refusing rules: each mistake is told, at its file and line, with advice."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import Fault, RunError
from configlint.rule_book import load_rule_book
from tests.builders import SOUND_RULES as RULES
from tests.builders import write_folder


def refused(folder: Path, rules: str = RULES, **others: str) -> tuple[Fault, ...]:
    """Give the faults for which a folder of rules is refused."""
    with pytest.raises(RunError) as caught:
        load_rule_book(write_folder(folder, rules, **others))
    return caught.value.faults


def told(folder: Path, old: str, new: str) -> list[str]:
    """Give line and sentence of each fault, once a part of the rules is changed."""
    assert RULES.count(old) == 1
    faults = refused(folder, RULES.replace(old, new))
    assert all(fault.place.file == f"{folder}/rules.yaml" for fault in faults)
    return [f"{fault.place.line} {fault.sentence}" for fault in faults]


WRONG = [
    # --- limits of a reading rule ---
    (
        "    remedy: Make it readable.\n",
        "    limits: {longest: 1 parsek}\n    remedy: Make it readable.\n",
        "'parsek' is no known spelling of a unit.",
    ),
    # --- names and kinds in formulas ---
    (
        "lowest <= speed",
        "lowst <= speed",
        "31 There is no value 'lowst':\nlowst <= speed <= highest\n^^^^^\n"
        "The nearest known are lowest.",
    ),
    (
        "accept: lowest <= speed <= highest",
        "accept: lowest <= bore <= highest",
        "31 A velocity and a length do not go together:\nlowest <= bore <= highest\n"
        "^^^^^^^^^^^^^^\nBoth sides must be of one kind.",
    ),
    ("formula: sensor.bore", "formula: sensor.bor", "19 There is no value 'sensor"),
    (
        "sizes[sensor.nominal_size].bore",
        "sizs[sensor.nominal_size].bore",
        "22 There is no table 'sizs'",
    ),
    ("pi/4 * bore**2", "pi/4 * bore**", "13 The formula breaks off or goes wrong here"),
    ("accept: lowest <= speed <= highest", "accept: lowest", "not true or false."),
    ("applies: given(", "applies: sqrt(", "29 The formula gives"),
    # --- quantities ---
    (
        "    unit: m2\n",
        "    unit: mm\n",
        "14 The formula of 'area' gives an area, not a length as its unit (mm) says.",
    ),
    ("    unit: m2\n", "", "not a plain number as its unit (none) says."),
    (
        "sizes[sensor.nominal_size].bore",
        "sizes[sensor.nominal_size].word",
        "20 The fallback of 'bore' gives a text, not a length as its unit (mm) says.",
    ),
    ("formula: sensor.bore", "formula: area", "need each other in a ring"),
    ("formula: sensor.bore", "formula: bore", "19 The quantities bore need each"),
    ("  speed:\n", "  meter:\n", "4 The name 'meter' is taken or is no plain name."),
    ("  speed:\n", "  pi:\n", "4 The name 'pi' is taken or is no plain name."),
    ("  speed:\n", "  a-b:\n", "4 The name 'a-b' is taken or is no plain name."),
    ("basis: {practice: Continuity}", "basis: {}", "9 Nothing is named that this"),
    # --- the form of a rule ---
    (
        "    accept: lowest <= speed <= highest\n",
        "",
        "26 A rule has either `accept` or `across`. Write one.",
    ),
    (
        "    across: {",
        "    accept: given(meter)\n    across: {",
        "39 A rule has either `accept` or `across`. Write one.",
    ),
    (
        "    across: {",
        "    limits: {a: 1 m}\n    across: {",
        "42 A rule across meters has no limits.",
    ),
    ("basis: {practice: Common}", "basis: {status: read}", "35 Nothing is named that"),
    ("basis: {published: A handbook}", "basis: {clause: '4'}", "54 Nothing is named"),
    (
        "settings: [current_output.upper_range_value]",
        "settings: [meter, current_output.upper_range]",
        "34 There is no value 'current_output.upper_range'. The nearest known are "
        "current_output.upper_range_value",
    ),
    ("same: [sensor.serial]", "same: []", "42 rules.serial-unique.across.same: "),
    ("same: [sensor.serial]", "same: [serial]", "42 There is no value 'serial'."),
    ("agree: meter", "agree: tag", "42 There is no value 'tag'."),
    # --- limits ---
    ("highest: 10 m/s}", "highest: 10 m/z}", "30 'm/z' is no known spelling"),
    ("highest: 10 m/s}", "highest: 10 mm}", "31 A velocity and a length do not go"),
    (
        "highest: 10 m/s}",
        "highest: 10 m/s, spare: 1 m}",
        "30 The limit 'spare' is used by no formula of the rule.",
    ),
    (
        "highest: 10 m/s}",
        "highest: 10 m/s, bore: 1 m}",
        "30 The limit 'bore' has the name of another value.",
    ),
    (
        "highest: 10 m/s}",
        "highest: 10 m/s, pi: '3'}",
        "30 The limit 'pi' has the name of another value.",
    ),
    # --- texts ---
    (
        "{speed [m/s] .2f}",
        "{sped [m/s] .2f}",
        "32 In '{sped [m/s] .2f}' there is no value 'sped'. The nearest known are",
    ),
    ("{speed [m/s] .2f}", "{speed [mm]}", "32 In '{speed [mm]}' mm is a unit of"),
    ("remedy: Change the range.", 'remedy: "{others}"', "33 In '{others}' there is no"),
    # --- proofs ---
    (
        "      - {with: {sensor.bore: 10 mm}, gives: nonconforming}\n",
        "",
        "26 The rule has no proof that gives 'nonconforming'.",
    ),
    (
        "      - {gives: conforms}\n",
        "",
        "26 The rule has no proof that gives 'conforms'.",
    ),
    (
        "      - {gives: conforms}\n",
        "      - {gives: conforms, base: integral}\n",
        "37 There is no sound meter 'integral' for a proof to start from. "
        "There are separate.",
    ),
    (
        "{with: {meter: B}, gives",
        "{base: x, with: {meter: B}, gives",
        "48 There is no sound meter 'x' for a proof",
    ),
    (
        "      - {gives: conforms}\n",
        "      - {gives: conforms}\n      - {with: {sensor.bore: 10 mm}}\n",
        "38 A proof has either `gives` or a list of `meters`.",
    ),
    (
        "      - {meters:",
        "      - {gives: conforms, meters:",
        "48 A proof has either `gives` or a list of `meters`.",
    ),
    ("gives: conforms}\n      - {with", "gives: passes}\n      - {with", "37 rules."),
    # --- symbols ---
    (
        "quantities:\n",
        "symbols: {sensor.bor: d}\nquantities:\n",
        "3 There is no value 'sensor.bor'. The nearest known are sensor.bore",
    ),
    (
        "quantities:\n",
        "symbols: {speed: w}\nquantities:\n",
        "3 The value 'speed' has a symbol already: v. Give a value one symbol.",
    ),
    # --- ids, editions and keys ---
    ("  file-readable:", "  serial-unique:", "50 There is another rule 'serial-"),
    ("category: B", "category: D", "27 rules.speed-in-band.category: 'D' is not"),
    ("    asks: Is the velocity", "    ask: Is the velocity", "28 'ask' is no key of"),
]


@pytest.mark.parametrize(("old", "new", "sentence"), WRONG)
def test_a_wrong_rule_file_is_refused(
    tmp_path: Path, old: str, new: str, sentence: str
) -> None:
    """Each mistake in a rule file is told with its line, its words and advice."""
    found = told(tmp_path, old, new)
    assert any(sentence in each for each in found), found


def test_several_faults_are_told_at_once(tmp_path: Path) -> None:
    """Faults of quantities, formulas, limits, texts and proofs hide no other."""
    changes = {
        "unit: m2": "unit: mm",
        "lowest <= speed": "lowst <= speed",
        "highest: 10 m/s}": "highest: 10 m/s, bore: 1 m}",
        "remedy: Change the range.": 'remedy: "{x}"',
        "same: [sensor.serial]": "same: [serial]",
        "basis: {published: A handbook}": "basis: {}",
        "      - {gives: conforms}\n": "",
    }
    text = RULES
    for old, new in changes.items():
        text = text.replace(old, new)
    faults = refused(tmp_path, text)
    lines = [14, 26, 30, 31, 33, 41, 53]
    assert sorted(fault.place.line for fault in faults) == lines
    assert {fault.kind for fault in faults} == {"rule-file-sound"}


def test_a_fault_of_a_quantity_makes_no_second_one_where_it_is_used(
    tmp_path: Path,
) -> None:
    """What uses a faulty quantity is checked by the quantity's unit."""
    faults = refused(tmp_path, RULES.replace("formula: sensor.bore", "formula: x < y"))
    assert [fault.place.line for fault in faults] == [19]


def test_an_input_has_one_symbol_over_all_files(tmp_path: Path) -> None:
    """A symbol given for an input in two files is refused at the second."""
    symbol = "ruleset: two\nedition: '1'\nsymbols: {sensor.bore: d}\n"
    faults = refused(tmp_path, RULES, other=symbol, second=symbol)
    assert [fault.place.file for fault in faults] == [f"{tmp_path}/second.yaml"]
    assert "'sensor.bore' has a symbol already: d" in faults[0].problem


def test_files_of_one_rule_set_have_one_edition(tmp_path: Path) -> None:
    """Two editions of one rule set are refused at the second."""
    (fault,) = refused(tmp_path, RULES, second='ruleset: made\nedition: "2"\n')
    assert (fault.place.file, fault.place.line) == (f"{tmp_path}/second.yaml", 2)
    assert "has edition '1' in another file, '2' here" in fault.problem


def test_an_id_is_given_once_over_all_files(tmp_path: Path) -> None:
    """A rule and a quantity of another file are not overridden in silence."""
    faults = refused(tmp_path, RULES, second=RULES)
    problems = [fault.problem for fault in faults]
    assert "There is another rule 'speed-in-band'." in problems
    assert "There is another rule 'file-readable'." in problems
    assert "The name 'bore' is taken or is no plain name." in problems
    assert {fault.place.file for fault in faults} == {f"{tmp_path}/second.yaml"}


def test_a_rule_without_sound_meters_tells_that_there_are_none(tmp_path: Path) -> None:
    """A folder without sound meters leaves its proofs nothing to start from."""
    folder = write_folder(tmp_path, RULES)
    (folder / "sound/separate.yaml").unlink()
    with pytest.raises(RunError) as caught:
        load_rule_book(folder)
    assert {fault.advice for fault in caught.value.faults} == {"There are none."}


@pytest.mark.parametrize(
    ("file", "text", "problem"),
    [
        ("broken.yaml", "a: [", "The bracket [ is opened here"),
        ("empty.yaml", "#", "nothing stands here"),
        ("sound/no.yaml", "[a]", "This is no sound meter."),
        ("sound/no.yaml", "meter: {meter: a}", "This is no sound meter."),
        ("sound/no.yaml", "sound: a\nmeter: b", "This is no sound meter."),
        ("sound/two.yaml", "sound: separate", "There is another sound meter 'separate"),
        ("types/no.yaml", "type_sheet: a\nx: b", "'x' is no key here"),
        ("types/two.yaml", "type_sheet: a\n---\ntype_sheet: a", "another type sheet"),
        ("tables/no.yaml", "table: a", "means is not written"),
        ("tables/two.yaml", "", "There is another table 'sizes'"),
    ],
)
def test_a_wrong_file_is_told_by_its_name(
    tmp_path: Path, file: str, text: str, problem: str
) -> None:
    """Every fault of a table, type sheet or sound meter names its file."""
    folder = write_folder(tmp_path, RULES)
    path = folder / file
    path.parent.mkdir(exist_ok=True)
    path.write_text(text or _double(folder, file), "utf-8")
    with pytest.raises(RunError) as caught:
        load_rule_book(folder)
    assert any(problem in fault.problem for fault in caught.value.faults)
    assert {each.place.file for each in caught.value.faults} == {path.as_posix()}


@pytest.mark.parametrize(
    ("text", "named"), [("ruleset: [\n", "own/rules.yaml"), (None, "own")]
)
def test_rule_files_are_named_from_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str | None, named: str
) -> None:
    """A fault names its rule file, or the folder without any, as a user would."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "own"
    folder.mkdir()
    if text is not None:
        (folder / "rules.yaml").write_text(text, "utf-8")
    with pytest.raises(RunError) as caught:
        load_rule_book(folder)
    assert {each.place.file for each in caught.value.faults} == {named}


def _double(folder: Path, file: str) -> str:
    source = folder / "tables/sizes.yaml"
    return source.read_text("utf-8") if file.startswith("tables/") else ""


def test_a_file_that_can_not_be_read_is_told(tmp_path: Path) -> None:
    """A folder named like a rule file is a fault, not a traceback."""
    folder = write_folder(tmp_path, RULES)
    (folder / "folder.yaml").mkdir()
    with pytest.raises(RunError) as caught:
        load_rule_book(folder)
    (fault,) = caught.value.faults
    assert fault.kind == "file-readable"
    assert fault.place.file.endswith("folder.yaml")


def test_a_folder_without_rules_is_refused(tmp_path: Path) -> None:
    """A folder that holds no rule file can't be taken for one that is all met."""
    with pytest.raises(RunError, match="The folder holds no file of rules"):
        load_rule_book(tmp_path / "nowhere")
