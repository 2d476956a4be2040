"""The findings as a code quality report, the JSON that a code host shows in a change.

The members are those that the host reads of the format (from memory of what documents
it): `description`, `check_name`, `fingerprint`, `severity` in the format's own words,
and `location`, a path with the lines where the finding begins and ends.
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
    line = finding.place.line
    return {
        "description": shortened(named, LONGEST),
        "check_name": finding.rule,
        "fingerprint": finding.fingerprint,
        "severity": severity,
        "location": {
            "path": root.told(finding.place.file),
            "lines": {"begin": line, "end": line},
        },
    }
