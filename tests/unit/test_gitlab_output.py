"""Laws of the code quality report: of the host's fields, with its own words."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from configlint.errors import Place
from configlint.outputs import FORMATS
from configlint.outputs.gitlab import write
from tests.builders import FINDING
from tests.readers import read_code_quality
from tests.reports import CONCEDED_FINDING, FULL, WORST, make_findings, make_report


def test_it_is_one_of_the_formats() -> None:
    """The command offers it by its name."""
    assert FORMATS["gitlab"] is write


def test_every_finding_is_an_object_of_the_fields() -> None:
    """Each finding is told once, with its rule, its place and its fingerprint."""
    found = read_code_quality(write(FULL, "B"))
    assert len(found) == len(FULL.findings)
    assert found[0] == {
        "description": "FT-1: The bore is wrong. To do: Correct it. "
        "Basis: Common (common practice)",
        "check_name": "bore-right",
        "fingerprint": "0123456789abcdef",
        "severity": "major",
        "location": {"path": "FT-1.yaml", "lines": {"begin": 3, "end": 3}},
    }
    assert "Effect: The receiver reads 20 % high" in found[1]["description"]


def test_a_report_of_nothing_is_an_empty_array() -> None:
    """Without findings there is an array all the same, as the host asks for one."""
    assert read_code_quality(write(make_report(), "B")) == []


@pytest.mark.parametrize(
    ("category", "severity"), [("A", "blocker"), ("B", "major"), ("C", "minor")]
)
def test_the_severity_is_that_of_the_category(category: str, severity: str) -> None:
    """A category is told in the host's own words."""
    (found,) = read_code_quality(write(make_report(*make_findings(1, category)), "B"))
    assert found["severity"] == severity


def test_what_is_conceded_is_for_information() -> None:
    """A conceded finding stays, since its absence would tell that it is mended."""
    (found,) = read_code_quality(write(make_report(CONCEDED_FINDING), "B"))
    assert found["severity"] == "info"
    assert "Conceded until 2026-06-30" in found["description"]


def test_a_finding_of_a_file_is_told_without_a_meter() -> None:
    """A description begins with a tag only where there is one."""
    subject = FINDING.subject._replace(meter="")
    made = make_report(replace(FINDING, subject=subject))
    (found,) = read_code_quality(write(made, "B"))
    assert found["description"].startswith("The bore is wrong.")


def test_a_path_is_from_the_root_of_the_repository(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The host finds the file, wherever in the repository the run was started."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "sites").mkdir()
    monkeypatch.chdir(tmp_path / "sites")
    made = make_report(FINDING, replace(WORST, place=Place("../../FT-2.yaml")))
    found = read_code_quality(write(made, "B"))
    paths = [each["location"]["path"] for each in found]
    assert paths == ["sites/FT-1.yaml", "../../FT-2.yaml"]


def test_a_long_description_is_cut() -> None:
    """A single text can't fill the whole page."""
    made = make_report(replace(FINDING, message="long " * 5000))
    (found,) = read_code_quality(write(made, "B"))
    assert len(found["description"]) == 4000


def test_the_same_report_gives_the_same_bytes() -> None:
    """There is no clock in it."""
    assert write(FULL, "B") == write(FULL, "B")
