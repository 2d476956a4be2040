"""An invented workspace whose meters break its rules, checked with concessions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.findings import Finding
from configlint.report import Report
from tests import concessions
from tests.builders import standard_book
from tests.workspaces import write

__all__ = [
    "HEAD",
    "TODAY",
    "TWO",
    "WHILE",
    "WORKSPACE",
    "Check",
    "checks_in",
    "entry",
    "meter",
    "of",
    "range_rule",
    "services_rule",
    "told",
    "use_rules",
    "words_of",
]

TODAY = date(2026, 6, 1)
WORKSPACE = """\
workspace: works
sites:
  north: {folder: north}
  south: {folder: south}
rules: rules
"""
Check = Callable[..., Report]

HEAD = 'ruleset: own\nedition: "7"\nrules:\n'


def range_rule(
    name: str, category: str, settings: str = "current_output.upper_range_value"
) -> str:
    """Write a rule that the range of every meter here breaks."""
    return f"""\
  {name}:
    category: {category}
    asks: Is the range small?
    limits: {{highest: 50 m3/h}}
    accept: current_output.upper_range_value <= highest
    finding: "{{current_output.upper_range_value}} is above {{highest}}."
    remedy: Make it smaller.
    settings: [{settings}]
    basis: {{practice: Common}}
    proof: [{{gives: conforms}}, {{gives: nonconforming}}]
"""


def services_rule(settings: str) -> str:
    """Write a rule across meters, which two meters of one service break."""
    return f"""\
  own-services-differ:
    category: B
    asks: Is every service that of one meter?
    across: {{scope: site, same: [service]}}
    finding: "{{others}} has this service too."
    remedy: Correct it.
    settings: [{settings}]
    basis: {{practice: Common}}
    proof: [{{gives: conforms}}, {{gives: nonconforming}}]
"""


OWN = (
    HEAD
    + range_rule("own-range-small", "C")
    + range_rule("own-range-urgent", "A", "")
    + services_rule("service")
)


def meter(tag: str, span: str = "100 m3/h", more: str = "") -> str:
    """Write a meter whose range is too large for the workspace's rules."""
    return (
        f"meter: {tag}\nprinciple: electromagnetic\n"
        f"current_output: {{upper_range_value: {span}}}\n{more}"
    )


TWO = {"north/a.yaml": meter("FT-1"), "north/b.yaml": meter("FT-2")}
WHILE = "    while: {current_output.upper_range_value: 100 m3/h}\n"
"""What binds an entry to the range that the meters have."""


def entry(
    rule: str, tag: str | None = "FT-1", last: str | None = "2026-12-31", more: str = ""
) -> str:
    """Write an entry for the meters of a pattern, until a last day."""
    named = None if tag is None else f"'{tag}'"
    return concessions.entry(rule=rule, meter=named, expires_on=last) + more


def use_rules(monkeypatch: pytest.MonkeyPatch, own: str) -> None:
    """Judge by the standard rules and a text of more, loaded once for all runs."""
    book = standard_book(own)
    monkeypatch.setattr("configlint.bench.load_rule_book", lambda *folders: book)


def checks_in(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Check:
    """Give a way to check a workspace of some meters with some concessions."""
    use_rules(monkeypatch, OWN)

    def check_files(
        files: Mapping[str, str],
        *entries: str,
        paths: tuple[str, ...] = ("",),
        day: date | None = TODAY,
        workspace: str = WORKSPACE,
    ) -> Report:
        own = {"configlint.yaml": workspace, "rules/own.yaml": OWN}
        listed = {"concessions.yaml": f"concessions:\n{''.join(entries)}"}
        sites = {"north/site.yaml": "site: north\n", "south/site.yaml": "site: south\n"}
        write(folder, {**own, **sites, **files, **listed})
        return check([folder / path for path in paths], run_date=day)

    return check_files


def of(report: Report, *rules: str) -> list[Finding]:
    """Give the findings of some rules."""
    return [each for each in report.findings if each.rule in rules]


def words_of(report: Report, rule: str) -> list[tuple[str, str]]:
    """Give the meters that a rule finds something in, each with the outcome."""
    found = sorted(of(report, rule), key=lambda each: each.subject.meter)
    return [(each.subject.meter, each.outcome) for each in found]


def told(report: Report) -> list[tuple[str, int, str]]:
    """Give what is told of concessions: the rule, the line, and the message."""
    rules = ("concession-in-date", "concession-used", "concession-narrow")
    return [(each.rule, each.place.line, each.message) for each in of(report, *rules)]
