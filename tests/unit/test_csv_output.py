"""Laws of the comma-separated findings: RFC 4180, and never a formula."""

from __future__ import annotations

from dataclasses import replace

import pytest

from configlint.outputs import FORMATS
from configlint.outputs.csv import COLUMNS, cell, write
from tests.builders import EFFECT, FINDING
from tests.readers import read_csv
from tests.reports import CONCEDED_FINDING, FULL, WORST, make_report


def row(finding: object = FINDING) -> dict[str, str]:
    """Give the row of a finding by its heads."""
    assert isinstance(finding, type(FINDING))
    (found,) = read_csv(write(make_report(finding), "B"))
    return found


def test_it_is_one_of_the_formats() -> None:
    """The command offers it by its name."""
    assert FORMATS["csv"] is write


def test_a_report_of_nothing_has_its_heads() -> None:
    """Without findings there is the line of heads, ended by CR and LF."""
    assert write(make_report(), "B") == f"new,{','.join(COLUMNS)}\r\n"


def test_every_finding_is_a_line_in_the_order_of_the_report() -> None:
    """Lines stand in the order of the findings, one for each."""
    found = read_csv(write(FULL, "B"))
    told = [each["fingerprint"] for each in found]
    assert told == [each.fingerprint for each in FULL.findings]


def test_every_part_of_a_finding_has_a_cell() -> None:
    """Figures are numbers of their own, and what is a list is one text."""
    assert row(WORST) == {
        "new": "",
        "category": "A",
        "outcome": "nonconforming",
        "workspace": "plant",
        "site": "north",
        "meter": "FT-1",
        "file": "FT-1.yaml",
        "line": "3",
        "column": "5",
        "pointer": "/sensor/bore",
        "rule": "scale-agrees",
        "message": "The bore is wrong.",
        "effect": "The receiver reads 20 % high: 20 m3/h too much at normal flow, "
        "175000 m3 in a year of 8760 h, as none are stated.",
        "reading_error": "0.2",
        "volume_per_year": "175200.0",
        "unit_of_volume": "m3",
        "remedy": "Correct it.",
        "advice": "sensor.bore 100 mm.",
        "concession": "",
        "values": "sensor.bore: -80 mm; meter: FT-1; locked: yes",
        "limits": "lowest: 0.1",
        "margin": "-0.25",
        "assumptions": "The limit is changed by policy.",
        "basis": "Common (common practice)",
        "fingerprint": "a000000000000000",
    }


def test_what_is_not_there_is_an_empty_cell() -> None:
    """A finding without effect, advice, margin or concession has no words for them."""
    found = row()
    empty = {name for name, value in found.items() if not value}
    assert empty == {
        *("new", "effect", "reading_error", "volume_per_year", "unit_of_volume"),
        *("advice", "concession", "values", "limits", "margin", "assumptions"),
    }
    of_no_year = row(replace(FINDING, effect=EFFECT._replace(per_year=None)))
    assert of_no_year["reading_error"] == "0.2"
    assert of_no_year["volume_per_year"] == of_no_year["unit_of_volume"] == ""
    assert row(replace(FINDING, values={"locked": False}))["values"] == "locked: no"


def test_a_concession_is_told() -> None:
    """A conceded finding says so, with until when, by whom and why."""
    found = row(CONCEDED_FINDING)
    assert found["outcome"] == "conceded"
    assert found["concession"].startswith("Conceded until 2026-06-30 by invented")


def test_what_is_new_is_told() -> None:
    """In a run since a revision each line says whether it was there before."""
    found = read_csv(write(FULL, "B"))
    assert [each["new"] for each in found] == ["no", "yes", "no"]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("  =1", "  '=1"),
        ("＝1", "'＝1"),
        ("\t=1", r"\t=1"),
        ("\r=1", r"\r=1"),
        ("a\n=1", r"a\n=1"),
        ("a;=1; -2", "a;'=1; '-2"),
        ("FT-1", "FT-1"),
        ("0 to -5 m3/h, +3 %", "0 to -5 m3/h, +3 %"),
        ("", ""),
    ],
)
def test_no_text_is_a_formula(text: str, shown: str) -> None:
    """A text that a spreadsheet would run has an apostrophe before it."""
    assert cell(text) == shown


def test_a_number_less_than_nought_stays_a_number() -> None:
    """Figures of the program are no texts of a file, and are left as they are."""
    assert row(replace(FINDING, margin=-2.5))["margin"] == "-2.5"


def test_commas_and_quotes_come_through() -> None:
    """What separates and what encloses cells is read back as it was."""
    assert row(replace(FINDING, message='a, "b"; c'))["message"] == 'a, "b"; c'


def test_the_same_report_gives_the_same_bytes() -> None:
    """There is no clock in it."""
    assert write(FULL, "B") == write(FULL, "B")
