"""Laws of concessions as their file holds them: patterns, bounds, and what is refused.

Everything wrong in the file stops a run, at its place and with what is near.
"""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from configlint.concessions import (
    OF_CONCESSIONS,
    Bound,
    Concession,
    load_concessions,
    matches,
    read_concessions,
)
from configlint.data import data_folder
from configlint.errors import Place, RunError
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook
from configlint.sites import NO_WORKSPACE, Site, Workspace
from configlint.units import parse_quantity
from configlint.workspace import load_workspace
from tests.workspaces import FILES, write

ENTRY = {
    "rule": "velocity-at-span-in-band",
    "meter": "FT-1",
    "reason": "The pump runs slowly until the plant is extended",
    "granted_by": "A. Nobody",
    "granted_on": "2026-01-31",
    "expires_on": "2026-07-31",
}
SITES = (Site("North", Path("north")), Site("South", Path("south")))
WORKSPACE = Workspace("works", Path(), Path("configlint.yaml"), SITES)


@cache
def book() -> RuleBook:
    """Give the standard rules."""
    return load_rule_book(data_folder("rules"))


def entry(**changed: str | None) -> str:
    """Write one entry, changed in some keys; a key of None is left out."""
    keys = {**ENTRY, **changed}
    lines = [f"{key}: {text}" for key, text in keys.items() if text is not None]
    return "  - " + "\n    ".join(lines) + "\n"


def read(*entries: str, workspace: Workspace = WORKSPACE) -> tuple[Concession, ...]:
    """Read a file of some entries."""
    data = f"concessions:\n{''.join(entries)}".encode()
    return read_concessions(data, "concessions.yaml", workspace, book())


def refused(*entries: str, workspace: Workspace = WORKSPACE) -> list[str]:
    """Give the sentences by which a file of some entries is refused."""
    with pytest.raises(RunError) as caught:
        read(*entries, workspace=workspace)
    return str(caught.value).splitlines()


# --- what an entry says -----------------------------------------------------


def test_an_entry_is_read_as_it_is_written() -> None:
    """Every key of an entry arrives, with the place of the entry and its number."""
    bound = '\n      {pulse_output.pulse_weight: 1 l, sensor.lining: "hard rubber"}'
    text = entry(site="N*", fingerprint="0123456789abcdef", **{"while": bound})
    first, second = read(entry(), text)
    assert (first.number, first.place) == (0, Place("concessions.yaml", 2, 5))
    assert (second.number, second.place) == (1, Place("concessions.yaml", 8, 5))
    assert (second.rule, second.meter) == (ENTRY["rule"], "FT-1")
    assert (second.site, second.fingerprint) == ("N*", "0123456789abcdef")
    paths = [each.path for each in second.bounds]
    assert paths == ["pulse_output.pulse_weight", "sensor.lining"]
    assert (second.reason, second.granted_by) == (ENTRY["reason"], "A. Nobody")
    assert second.granted_on == date(2026, 1, 31)
    assert second.expires_on == date(2026, 7, 31)
    assert (first.site, first.fingerprint, first.bounds) == ("", "", ())


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, "for FT-1"),
        ({"site": "North"}, "for FT-1 at North"),
        ({"meter": None, "site": "North"}, "at North"),
        ({"meter": None, "fingerprint": "0123456789abcdef"}, "for 0123456789abcdef"),
        ({"fingerprint": "0123456789abcdef"}, "for FT-1"),
        ({"meter": None}, ""),
    ],
)
def test_a_concession_is_told_by_its_rule_and_meters(
    changed: dict[str, str | None], told: str
) -> None:
    """A message names the rule, then the meter, or the finding, and the site."""
    (one,) = read(entry(**changed))
    assert one.told == f"of {ENTRY['rule']} {told}".strip()


def test_a_finding_says_until_when_by_whom_and_why() -> None:
    """The words of a concession give its end, if it has one, its giver and reason."""
    ending, endless = read(entry(), entry(expires_on=None))
    said = f"by A. Nobody: {ENTRY['reason']}"
    assert ending.words == f"Conceded until 2026-07-31 {said}"
    assert endless.words == f"Conceded {said}"


@pytest.mark.parametrize(
    ("changed", "is_of_any"),
    [
        ({}, False),
        ({"meter": "'*'"}, True),
        ({"meter": None}, True),
        ({"meter": "'**'", "site": "'*'"}, True),
        ({"meter": "'*'", "site": "North"}, False),
        ({"meter": None, "fingerprint": "0123456789abcdef"}, False),
    ],
)
def test_bare_patterns_narrow_nothing_down(
    changed: dict[str, str | None], is_of_any: bool
) -> None:
    """A star alone names no meter; a site or a fingerprint does."""
    (one,) = read(entry(**changed))
    assert one.is_of_any is is_of_any


@pytest.mark.parametrize(
    ("pattern", "text", "fits"),
    [
        ("FT-1", "FT-1", True),
        ("FT-1", "FT-12", False),
        ("FT-1", "ft-1", False),
        ("FT-1*", "FT-12", True),
        ("*-1", "FT-1", True),
        ("F*-*1", "FT-21", True),
        ("F*-*-*1", "FT-21", False),
        ("a*a", "a", False),
        ("a*b*a", "aba", True),
        ("a*b*a", "aa", False),
        ("*", "", True),
        ("F?-1", "FT-1", False),
        ("[F]T-1", "FT-1", False),
        ("*ab*ab*", "aab", False),
    ],
)
def test_a_star_alone_stands_for_any_characters(
    pattern: str, text: str, fits: bool
) -> None:
    """All other characters of a pattern stand for themselves, and in one order."""
    assert matches(pattern, text) is fits


def test_a_pattern_of_many_stars_takes_no_long_time() -> None:
    """The stars of a pattern are gone through once, whatever the text is."""
    assert not matches("a*" * 500 + "b", "a" * 5000)


@pytest.mark.parametrize(
    ("site", "meter", "of", "covers"),
    [
        (None, "FT-1", ("FT-1", "North"), True),
        (None, "FT-1", ("FT-1", ""), True),
        ("North", "FT-1", ("FT-1", "South"), False),
        ("North", "FT-1", ("FT-1", ""), False),
        ("*th", "FT-*", ("FT-1", "South"), True),
        ("North", None, ("FT-2", "North"), True),
        ("North", "FT-1", ("FT-2", "North"), False),
    ],
)
def test_a_meter_is_covered_by_its_tag_and_its_site(
    site: str | None, meter: str | None, of: tuple[str, str], covers: bool
) -> None:
    """Where both are named, both must fit; one that is not named is any."""
    (one,) = read(entry(site=site and f"'{site}'", meter=meter and f"'{meter}'"))
    assert one.covers(*of) is covers


# --- values that it is bound to ---------------------------------------------


def bound_of(path: str, text: str) -> Bound:
    """Read a value that an entry is bound to."""
    (one,) = read(entry(**{"while": f"{{{path}: '{text}'}}"}))
    (bound,) = one.bounds
    assert (bound.path, bound.text) == (path, text)
    return bound


@pytest.mark.parametrize(
    ("bound", "written", "holds"),
    [
        ("1 l", "1 l", True),
        ("1 l", "1.00 l", True),
        ("1 l", "0.001 m3", True),
        ("1 l", "1.1 l", False),
        ("1 l", "1 kg", False),
        ("1 US_gal", "3.785 l", True),
        ("1 l to 10 l", "1 l", True),
        ("1 l to 10 l", "0.01 m3", True),
        ("1 l to 10 l", "10.01 l", False),
        ("1 l to 10 l", "0.99 l", False),
        ("1 l to 10 l", "5 kg", False),
    ],
)
def test_an_amount_holds_while_it_is_the_same_or_in_its_range(
    bound: str, written: str, holds: bool
) -> None:
    """Another unit makes no difference, another amount or kind of it does."""
    read_bound = bound_of("pulse_output.pulse_weight", bound)
    assert read_bound.holds(parse_quantity(written)) is holds


@pytest.mark.parametrize("text", ["1 l", "1 l to 10 l"])
def test_an_amount_that_is_not_there_does_not_hold(text: str) -> None:
    """What is no longer written, or no amount any more, is not what was conceded."""
    bound = bound_of("pulse_output.pulse_weight", text)
    assert not bound.holds(None)
    assert not bound.holds("1 l")


@pytest.mark.parametrize(
    ("path", "text", "other"),
    [
        ("sensor.serial", "S-1 to S-2", "S-1"),
        ("sensor.nominal_size", "DN 150", "DN 100"),
        ("transmitter.settings_locked", "false", "true"),
        ("sensor.calibration.date", "2026-01-31", "2026-02-01"),
        ("transmitter.flow_direction", "forward", "reverse"),
    ],
)
def test_any_other_value_holds_while_it_is_the_same(
    path: str, text: str, other: str
) -> None:
    """A text, a size, a truth, a date and a choice hold as facts have them."""
    bound = bound_of(path, text)
    assert bound.holds(text)
    assert not bound.holds(other)
    assert not bound.holds(None)


def test_a_size_in_another_spelling_is_the_same() -> None:
    """A nominal size is bound to as facts spell it, however the entry does."""
    assert bound_of("sensor.nominal_size", "DN150").holds("DN 150")


def test_the_first_value_that_has_changed_is_told() -> None:
    """What no longer agrees is named, with what it is and what it was."""
    both = "{pulse_output.pulse_weight: 1 l, transmitter.damping: 3 s}"
    (one,) = read(entry(**{"while": both}))
    weight, damping = parse_quantity("1 l"), parse_quantity("3 s")
    paths = ("pulse_output.pulse_weight", "transmitter.damping")
    assert one.lapse(dict(zip(paths, (weight, damping), strict=True))) == ""
    assert one.lapse({paths[0]: parse_quantity("10 l"), paths[1]: damping}) == (
        "pulse_output.pulse_weight is 10 l, and was 1 l when conceded"
    )
    assert one.lapse({paths[0]: weight}) == (
        "transmitter.damping is not written, and was 3 s when conceded"
    )


def test_a_value_of_the_sites_own_can_be_bound_to(tmp_path: Path) -> None:
    """A value that a rule file declares under site_data is read as it declares it."""
    own = (
        'ruleset: own\nedition: "1"\n'
        "site_data: {stock: {means: Spare sensors, kind: number}}\n"
    )
    (tmp_path / "own.yaml").write_text(own, "utf-8")
    with_own = load_rule_book(data_folder("rules"), tmp_path)
    text = f"concessions:\n{entry(**{'while': '{site_data.stock: 2}'})}"
    (one,) = read_concessions(text.encode(), "c.yaml", WORKSPACE, with_own)
    assert one.lapse({"site_data.stock": parse_quantity("2.0")}) == ""
    wrong = text.replace("stock: 2", "stok: 2")
    with pytest.raises(RunError, match=r"nearest known are site_data\.stock"):
        read_concessions(wrong.encode(), "c.yaml", WORKSPACE, with_own)


# --- what is refused --------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "place", "words"),
    [
        (
            {"rule": "velocity-at-spam-in-band"},
            "2:11",
            "no rule 'velocity-at-spam-in-band'. The nearest known are velocity-at-",
        ),
        ({"rule": "xx"}, "2:11", "`configlint rules list`"),
        ({"rule": "concession-used"}, "2:11", "is about concessions"),
        ({"site": "Nort"}, "8:11", "no site 'Nort'. Write North, if that is meant"),
        ({"site": "'W*'"}, "8:11", "no site 'W*'. Write one of: North, South"),
        ({"expires_on": "2026-01-30"}, "7:17", "before it is granted on 2026-01-31"),
        ({"granted_on": "2026-02-30"}, "6:17", "a day that no calendar has"),
        ({"granted_on": "31.01.2026"}, "6:17", "not written as a date"),
        ({"granted_on": None}, "2:5", "granted_on, which is required"),
        ({"reason": "' '"}, "4:13", "The text is blank"),
        ({"reason": None}, "2:5", "Write reason, which is required"),
        ({"granted_by": None}, "2:5", "Write granted_by, which is required"),
        ({"rule": None}, "2:5", "Write rule, which is required"),
        ({"metre": "FT-1"}, "8:5", "Write meter, if that is meant"),
        ({"fingerprint": "0123456789abcdef-2"}, "8:18", "no fingerprint of one"),
        ({"fingerprint": "0123456789ABCDEF"}, "8:18", "16 digits"),
        ({"while": "{sensor.bor: 80 mm}"}, "8:25", "nearest known are sensor.bore"),
        ({"while": "{sensor.bore: 80}"}, "8:26", "sensor.bore: "),
        ({"while": "{sensor.bore: 80 mm to 8}"}, "8:26", "sensor.bore: "),
        ({"while": "{sensor.bore: 80 mm to 70 mm}"}, "8:26", "no range from a lower"),
        ({"while": "{sensor.bore: 80 mm to 80 mm}"}, "8:26", "no range from a lower"),
        ({"while": "{sensor.bore: 1 mm to 2 mm to 3 mm}"}, "8:26", "sensor.bore: "),
        (
            {"while": "{pulse_output.pulse_weight: 1 l to 2 kg}"},
            "8:40",
            "no range from a lower to a higher amount",
        ),
        (
            {"while": "{sensor.calibration.date: 2026-01-01 to 2026-02-01}"},
            "8:38",
            "not written as a date",
        ),
        ({"while": "{pulse_output: not used}"}, "8:27", "no value 'pulse_output'"),
        ({"while": "{site.name: North}"}, "8:24", "no value 'site.name'"),
        ({"while": "FT-1"}, "8:12", "Write a section"),
    ],
)
def test_a_wrong_entry_is_refused_where_it_is_wrong(
    changed: dict[str, str | None], place: str, words: str
) -> None:
    """One mistake gives one sentence, with its place and what to write instead."""
    (said,) = refused(entry(**changed))
    assert said.startswith(f"concessions.yaml:{place}: ")
    assert words in said


@pytest.mark.parametrize("rule", OF_CONCESSIONS)
def test_a_rule_about_concessions_can_not_be_conceded(rule: str) -> None:
    """Each of these rules is one of the rule set, and is refused in an entry."""
    assert rule in book().reading_rules
    (said,) = refused(entry(rule=rule))
    assert "can't be conceded" in said


def test_all_mistakes_are_told_in_the_order_of_their_places() -> None:
    """Three wrong entries give their sentences at once, from top to bottom."""
    wrong = entry(rule="a", site="b", expires_on="2020-01-01")
    said = refused(wrong, entry(**{"while": "{a: 1}"}), entry(fingerprint="0"))
    lines = [int(each.split(":")[1]) for each in said]
    assert len(lines) == 5
    assert lines == sorted(lines)


def test_a_workspace_without_sites_has_none_to_name() -> None:
    """Where no sites are, an entry's site is to be left out."""
    (said,) = refused(entry(site="North"), workspace=Workspace("w", Path()))
    assert said.endswith("Leave it out.")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("concessions: [\n", "concessions.yaml:"),
        ("concesions: []\n", "Write concessions, if that is meant"),
        ("concessions: {a: b}\n", "Write a list"),
        ("- a\n", "Write a section"),
        ("text\n", "Write a section"),
        ("---\n---\nconcessions: []\n", "second document"),
        ("concessions: []\n---\nconcessions: []\n", "second document"),
    ],
)
def test_a_file_of_another_shape_is_refused(text: str, words: str) -> None:
    """What is no list of entries under its key is told, and never passed over."""
    with pytest.raises(RunError, match=re.escape(words)):
        read_concessions(text.encode(), "concessions.yaml", WORKSPACE, book())


@pytest.mark.parametrize(
    "text", ["", "# none\n", "---\n", "concessions: []\n", "concessions:\n"]
)
def test_a_file_may_hold_no_entry(text: str) -> None:
    """A file whose entries have all been deleted holds no concessions."""
    assert read_concessions(text.encode(), "c.yaml", WORKSPACE, book()) == ()


# --- where it is looked for -------------------------------------------------


def test_concessions_lie_beside_the_workspace_file(tmp_path: Path) -> None:
    """The file is that of the workspace's root, named as the run sees it."""
    folder = write(tmp_path, {**FILES, "own-rules/two.yaml": "", "types/one.yaml": ""})
    workspace = load_workspace(folder / "configlint.yaml")
    assert load_concessions(workspace, book()) == ()
    file = folder / "concessions.yaml"
    file.write_text(f"concessions:\n{entry(site='North')}", "utf-8")
    (one,) = load_concessions(workspace, book())
    assert one.place == Place(file.as_posix(), 2, 5)
    file.unlink()
    assert load_concessions(workspace, book()) == ()


def test_files_of_no_workspace_have_no_concessions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a workspace file a file of concessions is nobody's."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "concessions.yaml").write_text("no: list\n", "utf-8")
    assert load_concessions(NO_WORKSPACE, book()) == ()


def test_a_file_that_cannot_be_read_stops_the_run(tmp_path: Path) -> None:
    """A folder in the place of the file is told, with what it should be."""
    (tmp_path / "concessions.yaml").mkdir()
    workspace = Workspace("w", tmp_path, tmp_path / "configlint.yaml")
    with pytest.raises(RunError, match=r"can't be read.*Make it a readable file"):
        load_concessions(workspace, book())
