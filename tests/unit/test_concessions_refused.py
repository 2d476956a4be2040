"""Laws of wrong files of concessions: they stop a run, and what is wrong is told."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from configlint.concessions import OF_CONCESSIONS, load_concessions, read_concessions
from configlint.errors import RunError
from configlint.sites import Workspace
from tests.builders import standard_book
from tests.concessions import WORKSPACE, entry, refused


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
    """A rule about concessions is one of the rule set, and no entry concedes it."""
    assert rule in standard_book().reading_rules
    (said,) = refused(entry(rule=rule))
    assert "can't be conceded" in said


def test_all_mistakes_are_told_in_the_order_of_their_places() -> None:
    """All mistakes of a file are told at once, in the order of their places."""
    wrong = entry(rule="a", site="b", expires_on="2020-01-01")
    said = refused(wrong, entry(**{"while": "{a: 1}"}), entry(fingerprint="0"))
    lines = [int(each.split(":")[1]) for each in said]
    assert len(lines) == 5
    assert lines == sorted(lines)


def test_a_workspace_without_sites_has_none_to_name() -> None:
    """Where a workspace has no sites, an entry's site is to be left out."""
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
        read_concessions(text.encode(), "concessions.yaml", WORKSPACE, standard_book())


def test_a_file_that_cannot_be_read_stops_the_run(tmp_path: Path) -> None:
    """A folder in the place of the file is told, with what it should be."""
    (tmp_path / "concessions.yaml").mkdir()
    workspace = Workspace("w", tmp_path, tmp_path / "configlint.yaml")
    with pytest.raises(RunError, match=r"can't be read.*Make it a readable file"):
        load_concessions(workspace, standard_book())
