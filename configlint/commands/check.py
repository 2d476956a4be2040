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
from configlint.files import write_beside
from configlint.outputs import FORMATS
from configlint.outputs.text import inert, print_styled
from configlint.report import Report

__all__ = ["check_command"]

HOLDS = ("A", "B", "C", "never")
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
WorkspaceFile = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE",
        help="The workspace file, where it is not above the PATHs.",
    ),
]
AsOf = Annotated[
    datetime | None,
    typer.Option(
        metavar="DATE",
        formats=["%Y-%m-%d"],
        help="Judge dates such as a calibration's as of this day, not of today.",
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
    wanted = [_wanted(text) for text in report or ["text"]]
    if hold_at not in HOLDS:
        raise typer.BadParameter(
            f"{hold_at!r} is none of {', '.join(HOLDS)}.", param_hint="--hold-at"
        )
    if sum(file is None for _, file in wanted) > 1:
        raise typer.BadParameter(
            "only one report can go to the screen; give the others a FILE.",
            param_hint="--report",
        )
    with _progress() as advance:
        result = check(paths, workspace, advance, (as_of or datetime.now()).date())
    for form, file in wanted:
        _deliver(result, hold_at, form, file)
    raise typer.Exit(1 if result.held(hold_at) else 0)


def _wanted(text: str) -> tuple[str, Path | None]:
    form, equals, file = text.partition("=")
    if form not in FORMATS or (equals and not file):
        raise typer.BadParameter(
            f"{text!r} is no report. Write {' or '.join(FORMATS)}, "
            "or FORMAT=FILE such as json=findings.json.",
            param_hint="--report",
        )
    return form, Path(file) if equals else None


def _deliver(result: Report, hold_at: str, form: str, file: Path | None) -> None:
    if file is not None:
        write_beside(file, FORMATS[form](result, hold_at))
        sys.stderr.write(f"The {form} report is in {inert(str(file))}.\n")
    elif form == "text" and sys.stdout.isatty():
        print_styled(result, hold_at, Console())
    else:
        sys.stdout.write(FORMATS[form](result, hold_at))


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
