"""Laws of look-up tables: what a row gives, and which rows are refused."""

from __future__ import annotations

import math

import pytest

from configlint.errors import RunError
from configlint.kinds import Sort
from configlint.tables import Table, read_table
from configlint.units import dimension_named
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
