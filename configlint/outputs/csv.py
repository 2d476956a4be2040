"""The findings as comma-separated values (RFC 4180), in UTF-8, one finding a line.

It is for people with a spreadsheet: figures are numbers, rounded to six significant
digits and with a decimal point, shares are in percent, and a unit stands in the head of
its column or in the one beside it. The json and the ndjson report have the figures with
all their digits. `COLUMNS` says what each column holds and what an empty cell means.

A spreadsheet takes a cell that begins with certain signs for a formula and runs it. A
text from a file that would be one is written with an apostrophe before it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from configlint.effects import Amount, Effect, effect_words
from configlint.findings import Finding
from configlint.inputs import declared_inputs
from configlint.outputs.text import inert
from configlint.proposals import advice_words
from configlint.report import Report

__all__ = ["COLUMNS", "Column", "cell", "figure", "write"]

Cell = str | float | None

# The full-width forms count too; and where a comma is the decimal sign, a spreadsheet
# may read semicolons as the ends of cells.
FORMULA = re.compile(r"(^|;)( *)(?=[=+\-@\t\r＝＋－＠])")

COMPUTED = 6
"""Significant digits of what is computed: beyond them no meter and no rule is exact."""

WRITTEN = 12
"""Significant digits of what a file holds, more than anybody writes."""

LONGEST_WHOLE = 1e16
"""From here on a number is written as a power of ten."""


class Row(NamedTuple):
    """A finding with its place in the whole report.

    `rank` is 1 for the finding to close first; `new` is yes, no, or `not asked`;
    `about` is what its rule is about, meter or file.
    """

    finding: Finding
    rank: int
    new: str
    about: str


class Column(NamedTuple):
    """A column: what stands in it and what an empty cell means, and how it is made."""

    means: str
    make: Callable[[Row], Cell]


def write(report: Report, hold_at: str) -> str:
    """Write the heads and a line for each finding, each line ending in CR LF."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in _rows(report):
        writer.writerow(_cells(column.make(row) for column in COLUMNS.values()))
    return text.getvalue()


def _rows(report: Report) -> Iterable[Row]:
    ranked = enumerate(report.worst_first, start=1)
    ranks = {finding.fingerprint: rank for rank, finding in ranked}
    files = {finding.fingerprint for finding in report.about_files}
    new = report.new
    for finding in report.findings:
        name = finding.fingerprint
        is_new = "yes" if name in new else "no"
        yield Row(
            finding,
            ranks[name],
            is_new if report.since else "not asked",
            "file" if name in files else "meter",
        )


def _cells(values: Iterable[Cell]) -> list[Cell]:
    """Make the texts among some values inert; a number stays one."""
    return [cell(value) if isinstance(value, str) else value for value in values]


def cell(text: str) -> str:
    """Make a text inert in a cell: no control characters, and never a formula.

    >>> cell("=1+1"), cell("FT-1; =1+1"), cell("0 to -5 m3/h")
    ("'=1+1", "FT-1; '=1+1", '0 to -5 m3/h')
    """
    return FORMULA.sub(r"\1\2'", inert(text))


def figure(value: float) -> float:
    """Round a number of any unit to six digits; a whole one has no decimal point.

    >>> figure(-37085728.5612), figure(0.2009499255), figure(0.0)
    (-37085700, 0.20095, 0)
    """
    rounded = float(f"{value:.{COMPUTED}g}")
    is_whole = rounded.is_integer() and abs(rounded) < LONGEST_WHOLE
    return int(rounded) if is_whole else rounded


def _percent(share: float | None) -> float | None:
    return None if share is None else figure(100 * share)


def _of_effect(make: Callable[[Effect], Cell]) -> Callable[[Row], Cell]:
    """Make a cell of an effect, which is empty where there is none."""

    def made(row: Row) -> Cell:
        return None if row.finding.effect is None else make(row.finding.effect)

    return made


def _of_year(make: Callable[[Effect, Amount], Cell]) -> Callable[[Row], Cell]:
    """Make a cell of an effect over a year, which is empty where that is not known."""

    def made(row: Row) -> Cell:
        effect = row.finding.effect
        if effect is None or effect.per_year is None:
            return None
        return make(effect, effect.per_year)

    return made


def _part_of(effect: Effect) -> str:
    nets = [net.rule for net in effect.nets if net.effect is not None]
    return ", ".join(nets) or ("not known" if effect.is_share else "")


def _error_at(row: Row) -> str:
    effect = row.finding.effect
    if effect is None:
        return "not computed"
    return f"{effect.told_at} flow" if effect.told_at else "every flow"


def _year_of(row: Row) -> str:
    effect = row.finding.effect
    if effect is None:
        return "not computed"
    if effect.per_year is None:
        return "normal flow not known"
    return "assumed hours" if effect.hours_assumed else "stated hours"


def _advice(row: Row) -> str:
    advice = row.finding.advice
    return advice_words(advice) if advice else ""


def _concession(row: Row) -> str:
    concession = row.finding.concession
    return "" if concession is None else concession.words


def _values(row: Row) -> str:
    given = row.finding.values.items()
    return "; ".join(f"{name}: {_said(value, _digits(name))}" for name, value in given)


def _limits(row: Row) -> str:
    limits = row.finding.limits.items()
    return "; ".join(f"{name}: {_said(limit, WRITTEN)}" for name, limit in limits)


def _digits(name: str) -> int:
    """Give the digits of a value: what a file holds is shown as it is written."""
    is_input = name in declared_inputs() or name.startswith("site_data.")
    return WRITTEN if is_input else COMPUTED


def _said(value: Amount | str | bool, digits: int) -> str:
    if isinstance(value, Amount):
        return f"{value.value:.{digits}g} {value.unit}".rstrip()
    return value if isinstance(value, str) else "yes" if value else "no"


COLUMNS: Mapping[str, Column] = {
    "rank": Column(
        "1 for the finding to close first: by category, then by what it costs; those "
        "that are conceded come last.",
        lambda row: row.rank,
    ),
    "category": Column(
        "A: close it before the meter goes into service; B: before acceptance; C: when "
        "convenient.",
        lambda row: row.finding.category,
    ),
    "outcome": Column(
        "nonconforming, or conceded.",
        lambda row: row.finding.outcome,
    ),
    "new": Column(
        "yes or no: whether it is new since the revision that was named; 'not asked' "
        "where none was.",
        lambda row: row.new,
    ),
    "about": Column(
        "meter for a rule about meters, whose findings are their nonconforming and "
        "conceded outcomes; file for a rule about how files are written.",
        lambda row: row.about,
    ),
    "workspace": Column(
        "Name of the workspace; empty for a file of none.",
        lambda row: row.finding.subject.workspace,
    ),
    "site": Column(
        "Name of the site; empty for a file of none.",
        lambda row: row.finding.subject.site,
    ),
    "meter": Column(
        "Tag of the meter; empty where the finding is of a file alone.",
        lambda row: row.finding.subject.meter,
    ),
    "file": Column(
        "Name of the file, as seen from where the run was started.",
        lambda row: row.finding.place.file,
    ),
    "line": Column("Line of the value, from 1.", lambda row: row.finding.place.line),
    "column": Column(
        "Column of the value in code points, from 1.",
        lambda row: row.finding.place.column,
    ),
    "rule": Column("Id of the rule.", lambda row: row.finding.rule),
    "message": Column(
        "What is wrong, with the figures.",
        lambda row: row.finding.message,
    ),
    "effect": Column(
        "What it costs, in words; empty where error_at says that it is not computed.",
        _of_effect(effect_words),
    ),
    "reading_error_percent": Column(
        "Error of the reading in percent of the flow, more than 0 where it reads high; "
        "empty where error_at says that it is not computed.",
        _of_effect(lambda effect: _percent(effect.relative)),
    ),
    "error_at": Column(
        "The flow that the error is told at: every flow, or the minimum, normal or "
        "maximum flow; 'not computed' where the rule computes no effect, or no reading "
        "is wrong by it.",
        _error_at,
    ),
    "error_per_year": Column(
        "What is read too much in a year at normal flow, less than 0 where it is too "
        "little, in the unit beside it; empty where year_by says why.",
        _of_year(lambda _, year: figure(year.value)),
    ),
    "unit_of_error": Column(
        "Unit of error_per_year, a volume or a mass; empty where that is.",
        _of_year(lambda _, year: year.unit),
    ),
    "hours_per_year": Column(
        "Hours of flow in that year; empty where error_per_year is.",
        _of_year(lambda effect, _: figure(effect.hours)),
    ),
    "year_by": Column(
        "What the year rests on: 'stated hours', or 'assumed hours' (those of a whole "
        "year); 'normal flow not known' or 'not computed' where no figure is given.",
        _year_of,
    ),
    "other_faults": Column(
        "Rules of the meter's other findings that bear on the same reading, so that "
        "their errors are not to be added up; empty where none does.",
        _of_effect(lambda effect: ", ".join(effect.others)),
    ),
    "part_of": Column(
        "Rules that tell what these figures are a part of, where several faults of the "
        "meter add up or cancel, or 'not known'; empty where they are the whole.",
        _of_effect(_part_of),
    ),
    "remedy": Column("What to do about it.", lambda row: row.finding.remedy),
    "advice": Column(
        "Values that would settle it; empty where none is proposed.",
        _advice,
    ),
    "concession": Column(
        "Until when, by whom and why it is conceded; empty where it is open.",
        _concession,
    ),
    "values": Column(
        "What the rule looked at, as 'name: value; name: value': inputs as written, "
        "quantities to six digits; empty where it looked at no value.",
        _values,
    ),
    "limits": Column(
        "The limits that judged, in the same way; empty where the rule has none.",
        _limits,
    ),
    "margin_percent": Column(
        "Distance to the limit in percent of it, less than 0 where it is not met; "
        "empty where no number was compared with a limit.",
        lambda row: _percent(row.finding.margin),
    ),
    "assumptions": Column(
        "What else the finding rests on; empty for nothing.",
        lambda row: " ".join(row.finding.assumptions),
    ),
    "basis": Column(
        "Why the rule holds, and how far that was verified.",
        lambda row: row.finding.basis,
    ),
    "pointer": Column(
        "JSON Pointer (RFC 6901) to the value; empty for the whole of a document.",
        lambda row: row.finding.pointer,
    ),
    "fingerprint": Column(
        "What stays the same when lines move, to know the finding again.",
        lambda row: row.finding.fingerprint,
    ),
}
"""What stands in each column, by its head."""
