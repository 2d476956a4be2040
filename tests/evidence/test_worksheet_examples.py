"""Published worked examples, step by step on the sheet that the real command writes.

The intermediate and the final figures of each are compared with the published ones:
the value of the sheet, the print of the result, and what the formula with numbers
gives when somebody computes it by hand. All other published figures are looked up on
their sheets as well.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

from configlint.printed import print_unit
from tests.evidence.examples import TAGGED
from tests.evidence.meters import RUN_DATE, write_workspace
from tests.evidence.published import UNITS as PUBLISHED_UNITS
from tests.evidence.published import Status
from tests.evidence.worksheet_examples import CALCULATIONS, Calculation, Step
from tests.reading_back import UNITS, read_amount, read_back

Quantity = Mapping[str, Any]
Sheets = Mapping[tuple[str, str], Quantity]
"""The computed quantities of the sheets, by the meter's tag and the quantity."""

NUMBERED = {f"FT-{number}": each for number, each in enumerate(CALCULATIONS, start=1)}
STEPS = [
    pytest.param(tag, step, id=f"{each.name}: {step.quantity} ({step.status})")
    for tag, each in NUMBERED.items()
    for step in each.steps
]
RIGHT = {tag: each for tag, each in TAGGED.items() if not each.is_error}

# How many worked examples there are by the mark of their last figure, and how many
# steps by their own.
EXAMPLES_MARKED = {
    Status.READ: 20,
    Status.CONSISTENT: 2,
    Status.WEAK: 2,
    Status.COMPUTED: 3,
}


def sheets_of(folder: Path, environment: dict[str, str]) -> Sheets:
    """Write the sheets of a folder's meters by the command, and read the JSON."""
    options = ("--report", "json", "--as-of", RUN_DATE.isoformat())
    done = subprocess.run(
        (sys.executable, "-m", "configlint", "worksheet", str(folder), *options),
        capture_output=True,
        encoding="utf-8",
        env=environment,
        check=True,
    )
    content = json.loads(done.stdout)
    return {
        (sheet["meter"], quantity["name"]): quantity
        for sheet in content["sheets"]
        for part in sheet["parts"]
        for quantity in part["quantities"]
    }


@pytest.fixture(scope="module")
def worked(
    tmp_path_factory: pytest.TempPathFactory, environment: dict[str, str]
) -> Sheets:
    """Give the sheets of the worked examples."""
    meters = [(tag, each.meter) for tag, each in NUMBERED.items()]
    folder = write_workspace(tmp_path_factory.mktemp("worked"), meters, moved=False)
    return sheets_of(folder, environment)


@pytest.fixture(scope="module")
def published(example_folder: Path, environment: dict[str, str]) -> Sheets:
    """Give the sheets of all published examples of the check."""
    return sheets_of(example_folder, environment)


def in_si(quantity: Quantity) -> float:
    """Give the value of a quantity on a sheet in SI."""
    value = quantity["value"]
    return float(value["value"]) * UNITS[print_unit(value["unit"])]


@pytest.mark.parametrize(("tag", "step"), STEPS)
def test_a_step_meets_the_published_figure(
    worked: Sheets, tag: str, step: Step
) -> None:
    """A step's value is the published one, within the tolerance that is stated."""
    expected = step.figure * UNITS[step.unit]
    source = NUMBERED[tag].source
    assert in_si(worked[tag, step.quantity]) == pytest.approx(
        expected, rel=step.within
    ), source


@pytest.mark.parametrize(("tag", "step"), STEPS)
def test_a_step_can_be_followed_by_hand(worked: Sheets, tag: str, step: Step) -> None:
    """The result is printed as stated, and its numbers give the published figure."""
    quantity = worked[tag, step.quantity]
    assert quantity["result"] == step.said
    by_hand = read_back(quantity["numbers"] or quantity["result"])
    # A print of three figures is off by half of its last.
    within = max(step.within, 5e-3)
    assert by_hand == pytest.approx(step.figure * UNITS[step.unit], rel=within)
    assert read_amount(quantity["result"]) == pytest.approx(by_hand, rel=5e-3)


@pytest.mark.parametrize("tag", [pytest.param(t, id=e.name) for t, e in RIGHT.items()])
def test_a_published_figure_stands_on_the_sheet(published: Sheets, tag: str) -> None:
    """Each published figure that the check meets is on the meter's sheet too."""
    example = RIGHT[tag]
    value = published[tag, example.quantity]["value"]
    found = in_si({"value": value}) / PUBLISHED_UNITS[example.unit] + example.added
    assert found == pytest.approx(example.figure, rel=example.within), example.source


def test_the_worked_examples_are_counted() -> None:
    """There are at least 15, and the number of each mark may be quoted."""
    assert len(CALCULATIONS) >= 15
    marks = Counter(example.steps[-1].status for example in CALCULATIONS)
    assert marks == EXAMPLES_MARKED


def test_every_worked_example_is_another() -> None:
    """No example is counted twice, and each names its source."""
    settings = {frozenset(example.meter.items()) for example in CALCULATIONS}
    assert len(settings) == len(names_of(CALCULATIONS)) == len(CALCULATIONS)
    assert all(example.source for example in CALCULATIONS)


def names_of(examples: Iterable[Calculation]) -> set[str]:
    """Give the names of worked examples, each once."""
    return {example.name for example in examples}
