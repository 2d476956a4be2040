"""The findings as comma-separated values (RFC 4180), in UTF-8, one finding a line.

A spreadsheet takes a cell that begins with certain signs for a formula and runs it. A
text from a file that would be one is written with an apostrophe before it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping

from configlint.advice import advice_words
from configlint.effects import Amount, effect_words
from configlint.findings import Finding
from configlint.outputs.text import inert
from configlint.report import Report

__all__ = ["COLUMNS", "cell", "write"]

Cell = str | float | None

# The full-width forms count too; and where a comma is the decimal sign, a spreadsheet
# may read semicolons as the ends of cells.
FORMULA = re.compile(r"(^|;)( *)(?=[=+\-@\t\r＝＋－＠])")


def write(report: Report, hold_at: str) -> str:
    """Write the heads and a line for each finding, each line ending in CR LF."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(("new", *COLUMNS))
    new = report.new
    for finding in report.findings:
        is_new = "yes" if finding.fingerprint in new else "no"
        cells = (make(finding) for make in COLUMNS.values())
        writer.writerow(_cells((is_new if report.since else "", *cells)))
    return text.getvalue()


def _cells(values: Iterable[Cell]) -> list[Cell]:
    """Make the texts among some values inert; a number stays one."""
    return [cell(value) if isinstance(value, str) else value for value in values]


def cell(text: str) -> str:
    """Make a text inert in a cell: no control characters, and never a formula.

    >>> cell("=1+1"), cell("FT-1; =1+1"), cell("0 to -5 m3/h")
    ("'=1+1", "FT-1; '=1+1", '0 to -5 m3/h')
    """
    return FORMULA.sub(r"\1\2'", inert(text))


def _effect(finding: Finding) -> str:
    return "" if finding.effect is None else effect_words(finding.effect)


def _reading_error(finding: Finding) -> float | None:
    return None if finding.effect is None else finding.effect.relative


def _volume(finding: Finding) -> Amount | None:
    return None if finding.effect is None else finding.effect.per_year


def _volume_per_year(finding: Finding) -> float | None:
    volume = _volume(finding)
    return None if volume is None else volume.value


def _unit_of_volume(finding: Finding) -> str:
    volume = _volume(finding)
    return "" if volume is None else volume.unit


def _advice(finding: Finding) -> str:
    return advice_words(finding.advice) if finding.advice else ""


def _concession(finding: Finding) -> str:
    return "" if finding.concession is None else finding.concession.words


def _listed(values: Mapping[str, Amount | str | bool]) -> str:
    return "; ".join(f"{name}: {_said(value)}" for name, value in values.items())


def _said(value: Amount | str | bool) -> str:
    if isinstance(value, Amount):
        return f"{value.value:.12g} {value.unit}".rstrip()
    return value if isinstance(value, str) else "yes" if value else "no"


COLUMNS: Mapping[str, Callable[[Finding], Cell]] = {
    "category": lambda finding: finding.category,
    "outcome": lambda finding: finding.outcome,
    "workspace": lambda finding: finding.subject.workspace,
    "site": lambda finding: finding.subject.site,
    "meter": lambda finding: finding.subject.meter,
    "file": lambda finding: finding.place.file,
    "line": lambda finding: finding.place.line,
    "column": lambda finding: finding.place.column,
    "pointer": lambda finding: finding.pointer,
    "rule": lambda finding: finding.rule,
    "message": lambda finding: finding.message,
    "effect": _effect,
    "reading_error": _reading_error,
    "volume_per_year": _volume_per_year,
    "unit_of_volume": _unit_of_volume,
    "remedy": lambda finding: finding.remedy,
    "advice": _advice,
    "concession": _concession,
    "values": lambda finding: _listed(finding.values),
    "limits": lambda finding: _listed(finding.limits),
    "margin": lambda finding: finding.margin,
    "assumptions": lambda finding: " ".join(finding.assumptions),
    "basis": lambda finding: finding.basis,
    "fingerprint": lambda finding: finding.fingerprint,
}
"""What stands in each column; before the first it is said whether the finding is new.

The heads are the names of the json report, where it has the same.
"""
