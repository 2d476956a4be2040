"""The findings as a code quality report, the JSON that a code host shows in a change.

The members, and the words of its severity, are those of the host's documentation (from
memory): `description`, `check_name`, `fingerprint`, `severity`, `location`.
"""

from __future__ import annotations

from typing import Any

from configlint.findings import Finding
from configlint.outputs.json_text import to_text
from configlint.outputs.names import Root, find_root
from configlint.outputs.text import finding_words, inert, shortened
from configlint.report import Report

__all__ = ["SEVERITIES", "write"]

SEVERITIES = {"A": "blocker", "B": "major", "C": "minor"}
"""The host's word for each category, out of info, minor, major, critical, blocker."""

CONCEDED = "info"
LONGEST = 4_000


def write(report: Report, hold_at: str) -> str:
    """Write an array with an object for each finding, ending in a line feed.

    One that is conceded stays in it, since its absence would tell that it is mended.
    """
    root = find_root()
    return to_text([_object(finding, root) for finding in report.findings])


def _object(finding: Finding, root: Root) -> dict[str, Any]:
    words = " ".join(map(inert, finding_words(finding)))
    meter = finding.subject.meter
    named = f"{inert(meter)}: {words}" if meter else words
    severity = SEVERITIES[finding.category] if finding.is_open else CONCEDED
    return {
        "description": shortened(named, LONGEST),
        "check_name": finding.rule,
        "fingerprint": finding.fingerprint,
        "severity": severity,
        "location": {
            "path": root.told(finding.place.file),
            "lines": {"begin": finding.place.line},
        },
    }
