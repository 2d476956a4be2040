"""`configlint check`: the main job, over files and folders."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import Progress

from configlint.check import check
from configlint.commands.options import (
    AsOf,
    Wanted,
    WorkspaceFile,
    deliver,
    wanted_reports,
)
from configlint.outputs import FORMATS
from configlint.outputs.text import print_styled
from configlint.report import HOLDS, Report

__all__ = ["check_command"]

LONG_RUN = 200
"""From so many files on, a run on a terminal shows how far it has come."""


MeterPaths = Annotated[
    list[Path],
    typer.Argument(metavar="PATH...", help="Meter files, or folders of them."),
]
Reports = Annotated[
    list[str] | None,
    typer.Option(
        metavar="FORMAT[=FILE]",
        help=f"Write a report ({', '.join(FORMATS)}), to FILE or to the screen. "
        "May be given several times; without it the text report is shown.",
    ),
]
HoldAt = Annotated[
    str,
    typer.Option(
        metavar="CATEGORY",
        help="Fail (exit code 1) at a finding of this category or a more urgent "
        "one: A before service, B before acceptance, C when convenient, or never.",
    ),
]


def check_command(
    paths: MeterPaths,
    report: Reports = None,
    hold_at: HoldAt = "B",
    workspace: WorkspaceFile = None,
    as_of: AsOf = None,
) -> None:
    """Check meter files against the rules and report what does not conform."""
    wanted = wanted_reports(report, FORMATS)
    if hold_at not in HOLDS:
        raise typer.BadParameter(
            f"{hold_at!r} is none of {', '.join(HOLDS)}.", param_hint="--hold-at"
        )
    with _progress() as advance:
        result = check(paths, workspace, advance, (as_of or datetime.now()).date())
    for each in wanted:
        _deliver(result, hold_at, each)
    raise typer.Exit(1 if result.held(hold_at) else 0)


def _deliver(result: Report, hold_at: str, wanted: Wanted) -> None:
    if wanted == Wanted("text", None) and sys.stdout.isatty():
        print_styled(result, hold_at, Console())
    else:
        deliver(wanted, FORMATS[wanted.form](result, hold_at))


@contextmanager
def _progress() -> Iterator[Callable[[int, int], None]]:
    """Show on a terminal how many of the files are done, for a long run only."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("Checking files", visible=False)

        def advance(done: int, total: int) -> None:
            if total >= LONG_RUN:
                progress.update(task, completed=done, total=total, visible=True)

        yield advance
