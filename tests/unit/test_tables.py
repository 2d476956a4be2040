"""Laws of look-up tables: what a row gives, and which rows are refused."""

from __future__ import annotations

import math

import pytest

from configlint.compiler import Scope, make_formula
from configlint.errors import RunError
from configlint.formula import FormulaError
from configlint.kinds import Sort
from configlint.tables import Table, read_table
from configlint.units import NONE, dimension_named
from tests.builders import SIZES, make_document


def refused(text: str) -> list[str]:
    """Give line and problem of every fault for which a table is refused."""
    with pytest.raises(RunError) as caught:
        read_table(make_document(text, "sizes.yaml"))
    assert all(fault.place.file == "sizes.yaml" for fault in caught.value.faults)
    return [f"{fault.place.line} {fault.problem}" for fault in caught.value.faults]


@pytest.fixture(scope="module")
def table() -> Table:
    """Give the table of sizes."""
    return read_table(make_document(SIZES))


def test_a_table_gives_the_values_of_a_row(table: Table) -> None:
    """A row is found by its name and its other names, with amounts in SI."""
    assert table.name == "sizes"
    assert table.look_up("DN 100", "bore") == pytest.approx(0.1, rel=1e-15)
    assert table.look_up("NPS 4", "bore") == pytest.approx(0.1, rel=1e-15)
    assert table.look_up("DN 200", "word") == "large"
    assert table.sources == {"DN 100": "Invented", "DN 200": "Invented"}


def test_a_table_keeps_its_rows_as_its_file_writes_them(table: Table) -> None:
    """Under each of its names a row has its figures as written, and its source."""
    assert table.as_read["NPS 4"] is table.as_read["DN 100"]
    assert table.as_read["NPS 4"].values == {"bore": "100 mm", "word": "small"}
    assert table.as_read["DN 200"].source == "Invented"


def test_what_a_table_does_not_hold_is_missing(table: Table) -> None:
    """An open value, an unknown row and a missing key give a missing value."""
    assert math.isnan(table.look_up("DN 200", "bore"))
    assert math.isnan(table.look_up("DN 300", "bore"))
    assert math.isnan(table.look_up(None, "bore"))
    assert table.look_up("DN 300", "word") is None


def test_a_column_knows_its_kind(table: Table) -> None:
    """A column with a unit holds amounts of that kind, one without holds texts."""
    assert table.columns["bore"].kind == dimension_named("length")
    assert table.columns["word"].kind is Sort.TEXT


@pytest.mark.parametrize(
    ("old", "new", "faults"),
    [
        (
            "bore: 100 mm",
            "bore: 100",
            ["7 '100' in column 'bore': the column is in mm"],
        ),
        ("bore: 100 mm", "bore: 4 bar", ["7 '4 bar' in column 'bore': the column is"]),
        ("bore: 100 mm", "bore: a few", ["7 'a few' in column 'bore': 'a few' is"]),
        ("word: large", "wort: large", ["8 'large' in column 'wort': the table dec"]),
        ("NPS 4", "DN 200", ["8 Another row has the name 'DN 200' too."]),
        ("unit: mm", "unit: mmm", ["4 columns.bore.unit: 'mmm' is no known spelling"]),
        ("source: Invented", "from: here", ["7 'from' is no key of rows.DN 100."]),
        ("table: sizes", "", ["2 table is not written."]),
    ],
)
def test_a_table_that_does_not_fit_is_refused(
    old: str, new: str, faults: list[str]
) -> None:
    """Every value that does not fit its column, and every name taken, is told."""
    assert old in SIZES
    found = refused(SIZES.replace(old, new, 1))
    assert len(found) >= len(faults)
    assert all(any(each.startswith(fault) for each in found) for fault in faults), found


def test_all_faults_of_a_table_are_told_at_once() -> None:
    """Three wrong rows give three faults."""
    text = SIZES.replace("100 mm", "1 bar").replace("NPS 4", "DN 100")
    assert len(refused(text.replace("word: large", "wort: large"))) == 3


def test_a_text_that_is_no_table_is_refused() -> None:
    """A document without the keys of a table names each that it lacks."""
    assert len(refused("{}")) == 4


RATIOS = """\
table: ratios
means: Slips and the ratios that they leave
matched_by: ratio
columns:
  ratio: {means: The ratio, unit: "%"}
  cause: {means: What may have been done}
rows:
  hours:
    values: {ratio: "24", cause: hours for days}
    meant: {between: [h, d]}
    source: Invented
  point: {also: [dot], values: {ratio: "10", cause: a point}, source: Invented}
  other: {values: {ratio: "10.01", cause: another point}, source: Invented}
  silent: {values: {ratio: "7"}, source: Invented}
  own: {values: {cause: its own}, computed: process.density / water, source: Invented}
"""


def causes(table: Table, ratio: float) -> str:
    """Give the causes of a ratio in a meter of which nothing is known."""
    return table.match(ratio, "cause", (), {}, {})


@pytest.fixture(scope="module")
def ratios() -> Table:
    """Give the table of ratios."""
    return read_table(make_document(RATIOS))


def test_a_table_of_ratios_is_looked_up_by_a_number(ratios: Table) -> None:
    """A ratio, its inverse and its square give a sentence with all rows near it."""
    assert ratios.key == NONE
    one = "Possible cause: hours for days (24)."
    assert causes(ratios, 24.0) == causes(ratios, 1 / 24) == one
    both = "Possible cause: a point (10) or another point (10.01)."
    assert causes(ratios, 10.005) == both
    twice = "Possible cause: twice over: hours for days (576)."
    assert causes(ratios, 576.0) == twice


@pytest.mark.parametrize("ratio", [math.nan, 0.0, 1.0, 3.3, 7.0])
def test_a_table_of_ratios_names_no_cause_where_no_row_matches(
    ratios: Table, ratio: float
) -> None:
    """A missing ratio, one of no row and one whose row has no cause name nothing."""
    assert causes(ratios, ratio) == ""


def test_a_table_of_ratios_is_looked_up_in_a_formula(ratios: Table) -> None:
    """A formula gets the sentence as a text, and asks for it by a plain number."""
    scope = Scope({"n": NONE, "tag": Sort.TEXT}, tables={"ratios": ratios})
    formula = make_formula("ratios[1 / n].cause", scope)
    assert formula.kind is Sort.TEXT
    found = formula.function({"n": 24.0}, {}, {})
    assert found == "Possible cause: hours for days (24)."
    with pytest.raises(FormulaError, match="this table's key is a plain number"):
        make_formula("ratios[tag].cause", scope)
    with pytest.raises(FormulaError, match="a table of ratios gives the texts"):
        make_formula("ratios[n].ratio", scope)


def test_a_table_looked_up_by_name_is_not_matched(table: Table) -> None:
    """Without a column of ratios a row is looked up by its name."""
    assert table.key is Sort.TEXT
    assert table.matched_by == ""


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("matched_by: ratio", "matched_by: rate", "3 There is no column 'rate' of"),
        ("matched_by: ratio", "matched_by: cause", "3 There is no column 'cause' of"),
        ('unit: "%"', "unit: mm", "3 There is no column 'ratio' of plain numbers"),
        ('ratio: "24"', 'ratio: "1"', "9 The row 'hours' has no ratio above 1"),
        ('ratio: "24"', 'ratio: "0.04"', "9 The row 'hours' has no ratio above 1"),
        ('ratio: "24", ', "", "9 The row 'hours' has no ratio above 1"),
        ('ratio: "24"', "ratio: a lot", "9 The row 'hours' has no ratio above 1"),
        ("{cause: its own}", '{ratio: "2"}', "15 The row 'own' has no ratio above 1"),
        ("[h, d]", "[min, d]", "10 The row 'hours' has not the ratio of the units"),
        ("[h, d]", "[h]", "10 The row 'hours' has not the ratio of the units"),
        ("[h, d]", "[h, m]", "10 The row 'hours' has not the ratio of the units"),
        ("[h, d]", "[h, days]", "10 rows.hours.meant.between[1]: 'days' is no known"),
    ],
)
def test_a_table_of_ratios_that_does_not_fit_is_refused(
    old: str, new: str, fault: str
) -> None:
    """A table that can't be matched by its ratios says which row or column is wrong."""
    assert old in RATIOS
    found = refused(RATIOS.replace(old, new, 1))
    assert any(each.startswith(fault) for each in found), found


@pytest.mark.parametrize(
    "more", ["meant: {needs: [l]}", "computed: sensor.bore / other", "meant: {}"]
)
def test_only_a_row_of_a_ratio_says_when_it_is_meant(more: str) -> None:
    """A condition would never be asked in a table looked up by names: it is refused."""
    (fault,) = refused(SIZES.replace("DN 200: {", f"DN 200: {{{more}, "))
    assert "The row 'DN 200' is looked up by its name." in fault
