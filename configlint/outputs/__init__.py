"""The formats of a report: one module a format, one table of them all."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from configlint.outputs import coverage, json, text
from configlint.report import Report

__all__ = ["FORMATS", "Writer"]

Writer = Callable[[Report, str], str]
"""Turns a report and the hold (A, B, C or never) into the text of a file."""

FORMATS: Mapping[str, Writer] = {
    "text": text.write,
    "json": json.write,
    "coverage": coverage.write,
}
