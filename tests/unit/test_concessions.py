"""Laws of concessions as their file holds them: entries, patterns, and its place."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from configlint.concessions import load_concessions, matches, read_concessions
from configlint.errors import Place
from configlint.sites import NO_WORKSPACE
from configlint.workspace import load_workspace
from tests.builders import standard_book
from tests.concessions import ENTRY, WORKSPACE, entry, read
from tests.workspaces import FILES, write


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
    """Of a meter's tag and site, each that an entry names must fit."""
    (one,) = read(entry(site=site and f"'{site}'", meter=meter and f"'{meter}'"))
    assert one.covers(*of) is covers


@pytest.mark.parametrize(
    "text", ["", "# none\n", "---\n", "concessions: []\n", "concessions:\n"]
)
def test_a_file_may_hold_no_entry(text: str) -> None:
    """A file whose entries have all been deleted holds no concessions."""
    assert read_concessions(text.encode(), "c.yaml", WORKSPACE, standard_book()) == ()


def test_concessions_lie_beside_the_workspace_file(tmp_path: Path) -> None:
    """The file lies at the workspace's root, and is named as the run sees it."""
    folder = write(tmp_path, {**FILES, "own-rules/two.yaml": "", "types/one.yaml": ""})
    workspace = load_workspace(folder / "configlint.yaml")
    assert load_concessions(workspace, standard_book()) == ()
    file = folder / "concessions.yaml"
    file.write_text(f"concessions:\n{entry(site='North')}", "utf-8")
    (one,) = load_concessions(workspace, standard_book())
    assert one.place == Place(file.as_posix(), 2, 5)
    file.unlink()
    assert load_concessions(workspace, standard_book()) == ()


def test_files_of_no_workspace_have_no_concessions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a workspace file a file of concessions is nobody's."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "concessions.yaml").write_text("no: list\n", "utf-8")
    assert load_concessions(NO_WORKSPACE, standard_book()) == ()
