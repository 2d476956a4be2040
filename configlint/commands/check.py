"""`configlint check`: the main job, over files and folders."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
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
from configlint.outputs import ADVISING, FORMATS
from configlint.outputs.text import print_styled
from configlint.report import Report
from configlint.review.since import Options, check_by_rules_of, check_since

__all__ = ["check_command"]

LONG_RUN = 200
"""From so many files on, a run on a terminal shows how far it has come."""


MeterPaths = Annotated[
    list[Path],
    typer.Argument(metavar="PATH...", help="Meter files, or folders of them."),
]
Reports = Annotated[
    list[str] | None,
    report_option("a report", FORMATS, "the text report"),
]
ChangedSince = Annotated[
    str | None,
    typer.Option(
        metavar="REV",
        help="Report the files alone that have changed since HEAD and this revision "
        "were last one, and say which findings are new.",
    ),
]


def check_command(
    paths: MeterPaths,
    report: Reports = None,
    hold_at: HoldAt = "B",
    workspace: WorkspaceFile = None,
    as_of: AsOf = None,
    since: ChangedSince = None,
    rules_from: RulesFrom = None,
    trust_change: TrustChange = False,
) -> None:
    """Check meter files against the rules and report what does not conform."""
    wanted = wanted_reports(report, FORMATS)
    refuse_unknown_hold(hold_at)
    refuse_needless_trust(trust_change, rules_from)
    if trust_change and since is None:
        said = "without --since there is no change; all rules are those of the files."
        raise typer.BadParameter(said, param_hint="--trust-change")
    with _progress() as advance:
        day = (as_of or datetime.now()).date()
        options = Options(workspace, day, advance, trust_change)
        advise = any(each.form in ADVISING for each in wanted)
        result = _check(paths, since, rules_from, options, advise)
    for each in wanted:
        _deliver(result, hold_at, each)
    raise typer.Exit(1 if result.held(hold_at) else 0)


def _check(
    paths: Iterable[Path],
    since: str | None,
    rules_from: str | None,
    options: Options,
    advise: bool,
) -> Report:
    if since is not None:
        return check_since(paths, since, rules_from, options)
    if rules_from is not None:
        return check_by_rules_of(paths, rules_from, options)
    workspace, run_date, advance, _ = options
    return check(paths, workspace, advance, run_date, advise)


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
