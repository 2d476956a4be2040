"""Laws of the counts in words: findings and outcomes add up, and nobody is left out."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.engine import CONCEDED, NONCONFORMING
from configlint.errors import Place
from configlint.findings import Finding
from configlint.meters import UnreadMeter
from configlint.outputs.summary import (
    MOST_NAMED,
    kinds_words,
    not_judged_words,
    unread_entries,
    unread_words,
)
from tests.builders import FINDING
from tests.reports import (
    CONCEDED_FINDING,
    FULL,
    UNREAD,
    WORST,
    make_meter,
    make_report,
)

CONCEDED_WORST = replace(
    CONCEDED_FINDING, rule="scale-agrees", fingerprint="c0ceded000000001"
)
"""A conceded finding of a rule about meters."""


def unread(count: int) -> tuple[UnreadMeter, ...]:
    """Make so many meters that were not judged, each in a file of its own."""
    names = (f"FT-{number}" for number in range(count))
    return tuple(UnreadMeter(Place(f"{each}.yaml"), each, "It is.") for each in names)


@pytest.mark.parametrize(
    ("findings", "said"),
    [
        ((), []),
        (
            (WORST,),
            ["1 finding in all: 1 of rules about meters, 0 of rules about files"],
        ),
        (
            (WORST, FINDING, CONCEDED_FINDING, CONCEDED_WORST),
            [
                "4 findings in all: 2 (1 conceded) of rules about meters, "
                "2 (1 conceded) of rules about files"
            ],
        ),
    ],
)
def test_findings_are_counted_by_what_their_rule_is_about(
    findings: tuple[Finding, ...], said: list[str]
) -> None:
    """Rules about meters and about files are counted apart, the conceded with both."""
    assert list(kinds_words(make_report(*findings))) == said


@pytest.mark.parametrize("day", [None, date(2026, 11, 25)])
def test_findings_and_outcomes_of_a_plant_add_up(root: Path, day: date | None) -> None:
    """The findings about meters are its nonconforming and its conceded outcomes."""
    made = check([root / "examples"], run_date=day, advise=False)
    (said,) = kinds_words(made)
    found = re.fullmatch(
        r"(\d+) findings in all: (\d+)(?: \((\d+) conceded\))? of rules about meters, "
        r"(\d+) of rules about files",
        said,
    )
    assert found
    whole, meters, conceded, files = (int(each or 0) for each in found.groups())
    outcomes = made.by_outcome
    assert whole == meters + files == len(made.findings)
    assert meters == outcomes[NONCONFORMING] + outcomes[CONCEDED]
    assert conceded == outcomes[CONCEDED] == made.conceded
    assert whole == sum(made.by_category.values()) + made.conceded
    assert files > 1


@pytest.mark.parametrize(
    ("wrong", "said"),
    [(1, None), (2, "1 nonconforming or conceded outcome"), (4, "3 nonconforming or")],
)
def test_what_is_told_by_no_finding_since_a_revision_is_counted(
    wrong: int, said: str | None
) -> None:
    """A meter of an unchanged file may break rules that are not told again."""
    meters = (make_meter(wrong=wrong),)
    _, *more = kinds_words(replace(FULL, meters=meters))
    assert len(more) == (said is not None)
    assert all(said and said in words for words in more)
    whole = replace(FULL, meters=meters, since=None)
    assert len(list(kinds_words(whole))) == 1


def test_meters_that_were_not_judged_are_counted() -> None:
    """The count is told where there are any, in the plural of more than one."""
    assert list(not_judged_words(make_report())) == []
    for count, said in ((1, "1 meter"), (3, "3 meters")):
        made = replace(make_report(), not_judged=unread(count))
        assert list(not_judged_words(made)) == [
            f"Not judged, since it could not be read: {said}"
        ]


def test_a_meter_that_was_not_judged_is_named_with_its_place() -> None:
    """Its tag, its file, the line and the reason are told; without a tag, that."""
    first, second = map(unread_words, UNREAD)
    assert first == "FT-2, FT-2.yaml, line 2: principle is not written."
    assert second == "A meter without a tag, pumps.yaml, line 1: meter is not written."


@pytest.mark.parametrize("count", [0, 1, 10, 11, 5000])
def test_a_long_list_of_meters_is_cut_aloud(count: int) -> None:
    """Of many meters the first are named, and it is told how many are not."""
    told = list(unread_entries(replace(make_report(), not_judged=unread(count))))
    named = [words for words in told if words.startswith("FT-")]
    assert len(named) == min(count, MOST_NAMED)
    more = (
        []
        if count <= MOST_NAMED
        else [f"and {count - 10} more (all in the json report)"]
    )
    assert told[len(named) :] == more
