"""The counts of a run in words, which every format for people says alike.

Findings and outcomes are counted apart: a rule about files is asked of no meter, so its
findings are no outcomes. What is said here lets a reader add the two counts up.
"""

from __future__ import annotations

from collections.abc import Iterator

from configlint.engine import CONCEDED, NONCONFORMING
from configlint.meters import UnreadMeter
from configlint.report import Report

__all__ = [
    "CLOSE_IT",
    "MOST_NAMED",
    "counted",
    "kinds_words",
    "not_judged_words",
    "unread_entries",
    "unread_words",
]

MOST_NAMED = 10
"""How many meters that were not judged are named, before the others are counted."""

CLOSE_IT = {
    "A": "before the meter goes into service",
    "B": "before acceptance",
    "C": "when convenient",
}
"""When findings of a category are to be closed."""


def kinds_words(report: Report) -> Iterator[str]:
    """Say how many findings there are of each kind of rule, so that they add up.

    Those about meters are the nonconforming and the conceded outcomes. In a run since a
    revision it is said how many of these are told by no finding.
    """
    if not report.findings:
        return
    files = report.about_files
    of_files = sum(not each.is_open for each in files)
    meters = len(report.findings) - len(files)
    yield (
        f"{counted(len(report.findings), 'finding')} in all: "
        f"{_part(meters, report.conceded - of_files)} of rules about meters, "
        f"{_part(len(files), of_files)} of rules about files"
    )
    outcomes = report.by_outcome
    untold = outcomes[NONCONFORMING] + outcomes[CONCEDED] - meters
    if report.since is not None and untold > 0:
        yield (
            f"Not told as findings, since their files have not changed: "
            f"{counted(untold, 'nonconforming or conceded outcome')}"
        )


def _part(count: int, conceded: int) -> str:
    return f"{count} ({conceded} conceded)" if conceded else str(count)


def not_judged_words(report: Report) -> Iterator[str]:
    """Say how many meters were not judged, if there are any."""
    if report.not_judged:
        meters = counted(len(report.not_judged), "meter")
        yield f"Not judged, since it could not be read: {meters}"


def unread_entries(report: Report) -> Iterator[str]:
    """Name the first of the meters that were not judged, and count the others."""
    yield from map(unread_words, report.not_judged[:MOST_NAMED])
    more = len(report.not_judged) - MOST_NAMED
    if more > 0:
        yield f"and {more} more (all in the json report)"


def unread_words(meter: UnreadMeter) -> str:
    """Name a meter that was not judged, with the place of what keeps it from that.

    >>> from configlint.errors import Place
    >>> unread_words(UnreadMeter(Place("a.yaml", 3), "FT-1", "meter: a list."))
    'FT-1, a.yaml, line 3: meter: a list.'
    """
    tag = meter.tag or "A meter without a tag"
    return f"{tag}, {meter.place.file}, line {meter.place.line}: {meter.reason}"


def counted(count: int, noun: str) -> str:
    """Write a count with its noun, in the plural unless it is one.

    >>> counted(1, "meter"), counted(2, "meter")
    ('1 meter', '2 meters')
    """
    return f"{count} {noun}{'' if count == 1 else 's'}"
