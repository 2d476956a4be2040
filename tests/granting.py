"""An invented workspace whose findings are conceded, and what is granted in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.errors import RunError
from configlint.findings import Finding
from configlint.report import Report
from configlint.review.concede import Grant, Granted, concede, write_granted
from tests import conceding
from tests.conceding import HEAD, TODAY, range_rule, services_rule, use_rules
from tests.workspaces import sentences, write

__all__ = [
    "GRANT",
    "LAST",
    "SMALL",
    "Plant",
    "finding",
    "granted",
    "meter",
    "plant_in",
    "refused",
    "run",
]

LAST = date(2026, 12, 31)
GRANT = Grant("It is old", "A. Nobody", TODAY, LAST)
SMALL = "FT-1:own-range-small"
Plant = Callable[..., Path]

UNWRITTEN = "pulse_output, transmitter.damping"
OWN = (
    HEAD
    + range_rule(
        "own-range-small", "A", f"{UNWRITTEN}, current_output.upper_range_value"
    )
    + services_rule("")
    + """\
  own-service-short:
    category: C
    asks: Is the service in a word?
    accept: service != 'wash water'
    finding: It is '{service}'.
    remedy: Shorten it.
    settings: [records.revision]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-owner-known:
    category: C
    asks: Does the file say who left it so?
    accept: given(records.as_left_by)
    finding: Nobody is named.
    remedy: Name them.
    settings: [records.as_left_by]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
)


def meter(tag: str, span: str = "100 m3/h", more: str = "") -> str:
    """Write a meter that breaks every rule of the workspace."""
    return f"service: wash water\n{conceding.meter(tag, span, more)}"


FILES = {
    "configlint.yaml": "workspace: works\nsites: {north: {folder: north}}\n",
    "north/site.yaml": "site: north\n",
    "north/a.yaml": meter("FT-1"),
    "north/b.yaml": meter("FT-2"),
}


def plant_in(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Plant:
    """Give a way to write a workspace into a folder, and go there."""
    use_rules(monkeypatch, OWN)
    monkeypatch.chdir(folder)

    def write_files(files: Mapping[str, str] | None = None) -> Path:
        return write(folder, {**FILES, **(files or {})})

    return write_files


def granted(*asked: str, grant: Grant = GRANT, day: date | None = TODAY) -> Granted:
    """Concede some findings of the workspace around, and write it."""
    made = concede(asked, grant, day=day)
    write_granted(made)
    return made


def refused(*asked: str, grant: Grant = GRANT) -> list[str]:
    """Give the sentences by which findings are refused."""
    with pytest.raises(RunError) as error:
        concede(asked, grant, day=TODAY)
    return sentences(error)


def run(folder: Path) -> Report:
    """Check the workspace."""
    return check([folder], run_date=TODAY)


def finding(report: Report, rule: str, tag: str = "FT-1") -> Finding:
    """Give the one finding of a meter by a rule."""
    (found,) = [
        each
        for each in report.findings
        if (each.rule, each.subject.meter) == (rule, tag)
    ]
    return found
