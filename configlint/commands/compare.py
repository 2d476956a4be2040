"""`configlint compare`: two revisions, folders or files, and what lies between."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from configlint.commands.options import (
    AsOf,
    HoldAt,
    RulesFrom,
    TrustChange,
    Wanted,
    WorkspaceFile,
    deliver,
    refuse_needless_trust,
    refuse_unknown_hold,
    report_option,
    wanted_reports,
)
from configlint.outputs.text import STYLES
from configlint.review import compare_json, compare_markdown, compare_text
from configlint.review.asking import open_sides, read_arguments
from configlint.review.compare import Comparison, compare
from configlint.review.compare_text import comparison_lines
from configlint.review.differences import read_own
from configlint.review.sides import judge

__all__ = ["compare_command"]

FORMATS: Mapping[str, Callable[[Comparison, str], str]] = {
    "text": compare_text.write,
    "json": compare_json.write,
    "markdown": compare_markdown.write,
}

Sides = Annotated[
    list[str],
    typer.Argument(
        metavar="BEFORE [AFTER] [PATH]...",
        help="BEFORE and AFTER are files, folders or git revisions; main..HEAD is both "
        "in one. One revision is compared with the files as they are now. PATHs keep "
        "the comparison to some files or folders.",
    ),
]
Reports = Annotated[
    list[str] | None,
    report_option("a report", FORMATS, "the text report"),
]


def compare_command(
    sides: Sides,
    report: Reports = None,
    hold_at: HoldAt = "B",
    rules_from: RulesFrom = None,
    trust_change: TrustChange = False,
    workspace: WorkspaceFile = None,
    as_of: AsOf = None,
) -> None:
    """Compare two states of meter files: settings, what follows, and findings.

    Ends with 1 where a new finding is at or above the hold, or one that only the change
    itself concedes.
    """
    wanted = wanted_reports(report, FORMATS)
    refuse_unknown_hold(hold_at)
    refuse_needless_trust(trust_change, rules_from)
    asked = read_arguments(sides)
    run_date = (as_of or datetime.now()).date()
    with open_sides(asked, rules_from, workspace) as (before, after):
        one, other = judge(before, run_date), judge(after, run_date)
        own = None
        if rules_from is not None:
            own = read_own(open_sides(asked, None, workspace))
        comparison = compare(one, other, trust_change, own)
    for each in wanted:
        _deliver(comparison, hold_at, each)
    raise typer.Exit(1 if comparison.held(hold_at) else 0)


def _deliver(comparison: Comparison, hold_at: str, wanted: Wanted) -> None:
    if wanted == Wanted("text", None) and sys.stdout.isatty():
        console = Console()
        for line in comparison_lines(comparison, hold_at):
            style = STYLES.get(line.style, "")
            console.print(Text(line.text, style=style), soft_wrap=True, highlight=False)
    else:
        deliver(wanted, FORMATS[wanted.form](comparison, hold_at))
