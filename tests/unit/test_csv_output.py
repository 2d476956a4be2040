"""Laws of the comma-separated findings: RFC 4180, figures to use, never a formula."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from configlint.effects import Amount, Effect, Net
from configlint.findings import Subject
from configlint.outputs import FORMATS
from configlint.outputs.csv import COLUMNS, cell, figure, write
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
    assert write(make_report(), "B") == f"{','.join(COLUMNS)}\r\n"


def test_every_finding_is_a_line_in_the_order_of_the_report() -> None:
    """Lines stand in the order of the findings, one for each."""
    found = read_csv(write(FULL, "B"))
    told = [each["fingerprint"] for each in found]
    assert told == [each.fingerprint for each in FULL.findings]


def test_every_part_of_a_finding_has_a_cell() -> None:
    """Figures are numbers of their own, and what is a list is one text."""
    assert row(WORST) == {
        "rank": "1",
        "category": "A",
        "outcome": "nonconforming",
        "new": "not asked",
        "about": "meter",
        "workspace": "plant",
        "site": "north",
        "meter": "FT-1",
        "file": "FT-1.yaml",
        "line": "3",
        "column": "5",
        "rule": "scale-agrees",
        "message": "The bore is wrong.",
        "effect": "The receiver reads 20 % high: 20 m3/h too much at normal flow, "
        "175000 m3 in a year of 8760 h, as none are stated.",
        "reading_error_percent": "20",
        "error_at": "every flow",
        "error_per_year": "175200",
        "unit_of_error": "m3",
        "hours_per_year": "8760",
        "year_by": "assumed hours",
        "other_faults": "",
        "part_of": "",
        "remedy": "Correct it.",
        "advice": "sensor.bore 100 mm.",
        "concession": "",
        "values": "sensor.bore: -80 mm; meter: FT-1; locked: yes",
        "limits": "lowest: 0.1",
        "margin_percent": "-25",
        "assumptions": "The limit is changed by policy.",
        "basis": "Common (common practice)",
        "pointer": "/sensor/bore",
        "fingerprint": "a000000000000000",
    }


def test_what_is_not_there_is_an_empty_cell() -> None:
    """A finding without effect, advice, margin or concession has no words for them."""
    found = row()
    empty = {name for name, value in found.items() if not value}
    assert empty == {
        *("effect", "reading_error_percent", "error_per_year", "unit_of_error"),
        *("hours_per_year", "other_faults", "part_of", "advice", "concession"),
        *("values", "limits", "margin_percent", "assumptions"),
    }
    assert row(replace(FINDING, values={"locked": False}))["values"] == "locked: no"


def test_every_column_says_what_it_holds() -> None:
    """A column has its meaning in words, and says when it is empty, if it can be."""
    assert all(re.fullmatch(r"\S.*\.", each.means) for each in COLUMNS.values())
    nothing = Subject("", "", "", "a.yaml")
    found = row(replace(FINDING, subject=nothing, pointer=""))
    empty = {name for name, value in found.items() if not value}
    told = {name for name, each in COLUMNS.items() if "empty" in each.means}
    assert empty == told


@pytest.mark.parametrize(
    ("effect", "at", "by"),
    [
        (None, "not computed", "not computed"),
        (EFFECT._replace(per_year=None), "every flow", "normal flow not known"),
        (EFFECT, "every flow", "assumed hours"),
        (EFFECT._replace(hours_assumed=False), "every flow", "stated hours"),
        (EFFECT._replace(told_at="maximum"), "maximum flow", "assumed hours"),
    ],
)
def test_an_empty_figure_has_its_reason_beside_it(
    effect: Effect | None, at: str, by: str
) -> None:
    """Why there is no error, or none over a year, stands in a cell of its own."""
    found = row(replace(FINDING, effect=effect))
    assert (found["error_at"], found["year_by"]) == (at, by)
    assert bool(found["reading_error_percent"]) is (at != "not computed")
    of_year = {found[name] for name in ("error_per_year", "hours_per_year")}
    assert ("" not in of_year) is by.endswith("hours")


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (37085728.5612, "37085700"),
        (-0.73582794764212345, "-0.735828"),
        (1.0, "1"),
        (0.0, "0"),
        (-0.0, "0"),
        (1e-7, "1e-07"),
        (123456.5, "123456"),
        (999999.6, "1000000"),
        (2e14, "200000000000000"),
        (9.99999e15, "9999990000000000"),
        (1e16, "1e+16"),
    ],
)
def test_a_figure_has_six_significant_digits(value: float, shown: str) -> None:
    """A figure is rounded, stays a number, and a whole one has no decimal point."""
    assert str(figure(value)) == shown
    assert figure(value) == pytest.approx(value, rel=5e-6)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_any_figure_is_read_back_to_six_digits(value: float) -> None:
    """A spreadsheet reads what was meant, whatever its size, in few characters."""
    written = str(figure(value))
    assert float(written) == float(f"{value:.6g}")
    assert len(written) <= 18


def test_software_gets_all_digits() -> None:
    """What is rounded for a spreadsheet has all its digits in the json and ndjson."""
    effect = EFFECT._replace(relative=0.200949925505)
    made = make_report(replace(FINDING, effect=effect))
    assert row(made.findings[0])["reading_error_percent"] == "20.095"
    for form in ("json", "ndjson"):
        assert re.search(
            r'"reading_error": ?0\.200949925505,', FORMATS[form](made, "B")
        )


def test_a_value_of_the_file_is_shown_as_written() -> None:
    """An input keeps every digit that it has; what is computed is rounded."""
    values = {
        "transmitter.calibration_factor": Amount(1.02345678, ""),
        "site_data.pump": Amount(1.02345678, "m"),
        "velocity_at_span": Amount(2.75020013414, "m/s"),
    }
    limits = {"tolerance": Amount(0.12345678, "%")}
    found = row(replace(FINDING, values=values, limits=limits))
    assert found["values"] == (
        "transmitter.calibration_factor: 1.02345678; site_data.pump: 1.02345678 m; "
        "velocity_at_span: 2.7502 m/s"
    )
    assert found["limits"] == "tolerance: 0.12345678 %"


def test_figures_that_overlap_are_marked() -> None:
    """Where other faults bear on one reading, their rules stand beside the error."""
    effect = EFFECT._replace(others=("size-agrees", "chain-gain-is-one"))
    found = row(replace(FINDING, effect=effect))
    assert found["other_faults"] == "size-agrees, chain-gain-is-one"


def test_the_rank_is_that_of_the_other_reports() -> None:
    """Sorted by their rank, the lines are in the order of the other formats."""
    found = sorted(read_csv(write(FULL, "B")), key=lambda each: int(each["rank"]))
    told = [each["fingerprint"] for each in found]
    assert told == [each.fingerprint for each in FULL.worst_first]
    assert [each["rank"] for each in found] == ["1", "2", "3"]


def test_a_finding_says_what_its_rule_is_about() -> None:
    """Findings about files are told from those that are a meter's outcomes."""
    about = {each["rule"]: each["about"] for each in read_csv(write(FULL, "B"))}
    assert about == {"bore-right": "file", "scale-agrees": "meter"}


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
    assert row(replace(FINDING, margin=-2.5))["margin_percent"] == "-250"


def test_commas_and_quotes_come_through() -> None:
    """What separates and what encloses cells is read back as it was."""
    assert row(replace(FINDING, message='a, "b"; c'))["message"] == 'a, "b"; c'


def test_the_same_report_gives_the_same_bytes() -> None:
    """There is no clock in it."""
    assert write(FULL, "B") == write(FULL, "B")


def test_a_share_names_its_whole() -> None:
    """A row whose figures are part of a net names the rules that tell it, if any do."""
    net = Net("The receiver", "chain", ("bore-right", "scale"), (), EFFECT)
    share = EFFECT._replace(others=("scale",))
    for nets, said in (((), "not known"), ((net, net._replace(rule="b")), "chain, b")):
        told = replace(FINDING, effect=share._replace(nets=nets))
        assert row(told)["part_of"] == said
