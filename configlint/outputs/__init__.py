"""The formats of a report: one module a format, one table of them all."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from configlint.outputs import (
    coverage,
    csv,
    github,
    gitlab,
    json,
    junit,
    markdown,
    ndjson,
    sarif,
    text,
)
from configlint.report import Report

__all__ = ["ADVISING", "FORMATS", "Writer"]

Writer = Callable[[Report, str], str]
"""Turns a report and the hold (A, B, C or never) into the text of a file."""

FORMATS: Mapping[str, Writer] = {
    "text": text.write,
    "json": json.write,
    "coverage": coverage.write,
    "markdown": markdown.write,
    "csv": csv.write,
    "ndjson": ndjson.write,
    "sarif": sarif.write,
    "junit": junit.write,
    "github": github.write,
    "gitlab": gitlab.write,
}

ADVISING = frozenset(FORMATS) - {"coverage"}
"""The formats that tell which values would do."""
