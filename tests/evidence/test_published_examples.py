"""Published worked examples, run through the whole check from file to report.

Each example is a row of the tables beside this file, with its source, its mark and
its tolerance. The tool reads a meter file made from it, and the figure is read from
the finding. Where a publication is known to be wrong, its answer must not be ours.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from configlint.outputs.json import report_object
from configlint.rules import RuleBook
from tests.evidence.examples import EXAMPLES, TAGGED
from tests.evidence.meters import MOVED, Examined
from tests.evidence.published import Example, Status, printed

RIGHT = {tag: each for tag, each in TAGGED.items() if not each.is_error}
WRONG = {tag: each for tag, each in TAGGED.items() if each.is_error}

# How many examples there are of each mark: those to be met, and published errors.
EXPECTED: dict[Status, tuple[int, int]] = {
    Status.READ: (31, 15),
    Status.CONSISTENT: (36, 0),
    Status.WEAK: (3, 1),
    Status.PRACTICE: (8, 1),
    Status.MEMORY: (12, 0),
    Status.COMPUTED: (55, 0),
}


def our_figure(examined: Examined, tag: str) -> float:
    """Give what the tool found for an example, in the unit of the publication."""
    example = TAGGED[tag]
    amount = examined.amount(tag, example.rule, example.quantity)
    return printed(amount, example.unit) + example.added


@pytest.mark.parametrize("tag", [pytest.param(t, id=e.name) for t, e in RIGHT.items()])
def test_a_published_figure_is_met(examined: Examined, tag: str) -> None:
    """A printed figure is what the report shows, within its stated tolerance."""
    example = TAGGED[tag]
    expected = pytest.approx(example.figure, rel=example.within)
    assert our_figure(examined, tag) == expected, f"{example.source}; {example.because}"


@pytest.mark.parametrize("tag", [pytest.param(t, id=e.name) for t, e in WRONG.items()])
def test_a_published_error_is_not_met(examined: Examined, tag: str) -> None:
    """A wrong answer in print differs from the report's by just the known ratio."""
    example = TAGGED[tag]
    found = our_figure(examined, tag) / example.figure
    assert found == pytest.approx(example.ratio, rel=example.within), example.source
    assert abs(found - 1) > 3 * example.within, "the error hides in its tolerance"


def test_every_file_is_read_without_fault(examined: Examined, book: RuleBook) -> None:
    """No example's figure is lost in reading: every unit and every key is known."""
    assert examined.report.files == len(examined.report.meters) == len(EXAMPLES)
    found = {each.rule for each in examined.report.findings}
    assert found.isdisjoint(book.reading_rules)


def test_a_moved_limit_is_told(examined: Examined) -> None:
    """A finding that rests on a limit moved by the policy says so, with the reason."""
    assert {rule for _, rule in examined.findings} >= set(MOVED)
    for (_, rule), finding in examined.findings.items():
        told = [note for note in finding.assumptions if "by policy" in note]
        assert len(told) == len(MOVED.get(rule, {}))


def test_the_command_reports_the_same(
    example_folder: Path, examined: Examined, environment: dict[str, str]
) -> None:
    """The command's JSON report on the examples' folder holds the very same figures."""
    command = ("check", "--report", "json", "--hold-at", "never", str(example_folder))
    done = subprocess.run(
        (sys.executable, "-m", "configlint", *command),
        capture_output=True,
        encoding="utf-8",
        env=environment,
        check=True,
    )
    reported: dict[str, Any] = json.loads(done.stdout)
    assert reported["findings"] == report_object(examined.report, "B")["findings"]


def test_the_examples_are_counted() -> None:
    """The number of examples under each mark is the one that may be quoted."""
    right = Counter(example.status for example in RIGHT.values())
    wrong = Counter(example.status for example in WRONG.values())
    found = {each: (right[each], wrong[each]) for each in Status}
    assert found == EXPECTED
    assert right[Status.READ] + wrong[Status.READ] >= 34


def test_every_example_is_another() -> None:
    """No figure is counted twice, and each names its source and its tolerance."""
    seen = {identity(example) for example in EXAMPLES}
    assert len(seen) == len({each.name for each in EXAMPLES}) == len(EXAMPLES)
    assert all(each.source and each.because for each in EXAMPLES)
    assert all(0 < each.within <= 1.5e-2 for each in EXAMPLES)


def identity(example: Example) -> tuple[object, ...]:
    """Give what tells an example from every other."""
    settings = frozenset(example.meter.items())
    return (settings, example.quantity, example.figure, example.unit)
