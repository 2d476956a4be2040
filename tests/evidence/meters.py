"""Meter files made from published examples, checked, and read back from the report.

Nothing here computes: the settings of an example are written into files of a
temporary workspace, the tool checks the folder, and the figures are read from the
findings of its report. A rule is silent on what conforms, so the workspace's policy
moves limits out of reach, and the finding then shows the quantity.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import yaml

from configlint.check import check
from configlint.findings import Amount, Finding
from configlint.report import MeterResult, Report

__all__ = ["MOVED", "RUN_DATE", "Examined", "examine", "write_workspace"]

REASON = "Moved out of reach, so that the finding shows the figure"
MOVED: dict[str, dict[str, str]] = {
    "velocity-at-span-in-band": {"lowest": "1000 m/s"},
    "pulse-rate-margin": {"highest_share": "0 %"},
    "pulse-resolution-at-minimum-flow": {"longest": "0 s"},
    "totalizer-rollover": {"shortest": "1000000 d"},
    "counter-rollover": {"shortest": "1000000 d"},
    "failure-current-outside-measuring-band": {
        "highest_low": "0 mA",
        "lowest_high": "1000 mA",
    },
    "vortex-flow-stays-linear": {"lowest": "1000000000"},
    "k-factor-fits-bore": {"highest": "0.6"},
    "coriolis-zero-small": {"largest_share": "0 %"},
}
"""The limits that the policy of the evidence moves, by rule and name."""

RUN_DATE = date(2026, 5, 4)
"""The day that the evidence judges dates by."""

Settings = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Examined:
    """A report, with its findings by the meter's tag and the rule."""

    report: Report
    findings: Mapping[tuple[str, str], Finding]
    meters: Mapping[str, MeterResult]

    def amount(self, tag: str, rule: str, quantity: str) -> Amount:
        """Read a quantity from the finding of a rule on a meter."""
        value = self.findings[tag, rule].values[quantity]
        assert isinstance(value, Amount)
        return value

    def limit(self, tag: str, rule: str, name: str) -> Amount:
        """Read a limit from the finding of a rule on a meter."""
        return self.findings[tag, rule].limits[name]

    def conforms(self, tag: str, rule: str) -> bool:
        """Whether a rule that applies to a meter was assessed and found nothing."""
        left_open = {each.rule for each in self.meters[tag].left_open}
        return (tag, rule) not in self.findings and rule not in left_open


def examine(folder: Path) -> Examined:
    """Check the meter files of a folder by the tool's whole flow, as of `RUN_DATE`."""
    report = check([folder], run_date=RUN_DATE)
    findings = {(each.subject.meter, each.rule): each for each in report.findings}
    assert len(findings) == len(report.findings)
    meters = {each.subject.meter: each for each in report.meters}
    return Examined(report, findings, meters)


def write_workspace(
    folder: Path, meters: Iterable[tuple[str, Settings]], *, moved: bool
) -> Path:
    """Write a workspace with a file for each tag's settings; give its folder.

    With `moved` its policy moves the limits of `MOVED`, else the standard ones hold.
    """
    folder.mkdir(parents=True, exist_ok=True)
    workspace: dict[str, Any] = {"workspace": "evidence"}
    if moved:
        workspace["policy"] = {
            rule: {
                name: {"value": value, "reason": REASON}
                for name, value in limits.items()
            }
            for rule, limits in MOVED.items()
        }
    _write(folder / "configlint.yaml", workspace)
    for tag, settings in meters:
        _write(folder / f"{tag}.yaml", _meter(tag, settings))
    return folder


def _meter(tag: str, settings: Settings) -> dict[str, Any]:
    """Nest the settings of a meter, which are given by their paths."""
    meter: dict[str, Any] = {"meter": tag, "principle": "electromagnetic"}
    for path, text in settings.items():
        *way, last = path.split(".")
        section = meter
        for step in way:
            section = section.setdefault(step, {})
        section[last] = text
    return meter


def _write(file: Path, content: Mapping[str, Any]) -> None:
    file.write_text(yaml.safe_dump(content, sort_keys=False), "utf-8")
