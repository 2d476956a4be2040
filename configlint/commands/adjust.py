"""`configlint adjust`: a change of settings, shown with what it does, and written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from configlint.commands.options import (
    AsOf,
    WorkspaceFile,
    deliver,
    wanted_reports,
)
from configlint.review.adjust import Adjustment, Asked, adjust, write_adjustment
from configlint.review.adjust_json import write_json
from configlint.review.adjust_text import write_text

__all__ = ["adjust_command"]

FORMS: Mapping[str, Callable[[Adjustment, bool], str]] = {
    "text": write_text,
    "json": write_json,
}

Files = Annotated[list[Path], typer.Argument(metavar="FILE...", help="Meter files.")]
Settings = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="[TAG:]PATH=VALUE",
        help="Set a value, such as 'current_output.upper_range_value=250 m3/h'. Where "
        "a file holds several meters, the TAG says which. May be given several times.",
    ),
]
Advice = Annotated[
    list[str] | None,
    typer.Option(
        "--take-advice",
        metavar="[TAG:]RULE",
        help="Set what the finding of this rule proposes. May be given several times.",
    ),
]
Write = Annotated[
    bool, typer.Option("--write", help="Write the change, not only show it.")
]
Reports = Annotated[
    list[str] | None,
    typer.Option(
        metavar="FORMAT[=FILE]",
        help=f"Tell the change as {' or '.join(FORMS)}, on the screen or in FILE. May "
        "be given several times.",
    ),
]


def adjust_command(
    files: Files,
    settings: Settings = None,
    take_advice: Advice = None,
    write: Write = False,
    report: Reports = None,
    workspace: WorkspaceFile = None,
    as_of: AsOf = None,
) -> None:
    """Change settings in meter files: show the change and what it does, or write it.

    A change that brings a new finding of category A is shown and never written, and
    ends with exit code 1.
    """
    wanted = wanted_reports(report, FORMS)
    asked = Asked(settings or (), take_advice or ())
    _refuse_unless_asked(asked)
    day = (as_of or datetime.now()).date()
    adjustment = adjust(files, asked, workspace, day)
    written = write and write_adjustment(adjustment)
    for each in wanted:
        deliver(each, FORMS[each.form](adjustment, written))
    raise typer.Exit(1 if adjustment.held else 0)


def _refuse_unless_asked(asked: Asked) -> None:
    if not (asked.settings or asked.advice):
        said = "say what to change, with --set or --take-advice."
        raise typer.BadParameter(said, param_hint="--set")
    for text in asked.settings:
        if "=" not in text:
            said = f"{text!r} has no '='. Write PATH=VALUE, or TAG:PATH=VALUE."
            raise typer.BadParameter(said, param_hint="--set")
