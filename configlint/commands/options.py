"""What several commands have in common: their reports, and where these go."""

from __future__ import annotations

import sys
from collections.abc import Collection
from datetime import datetime
from pathlib import Path
from typing import Annotated, NamedTuple

import typer

from configlint.files import write_beside
from configlint.outputs.text import inert
from configlint.report import HOLDS

__all__ = [
    "AsOf",
    "HoldAt",
    "RulesFrom",
    "Wanted",
    "WorkspaceFile",
    "deliver",
    "refuse_unknown_hold",
    "wanted_reports",
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
HoldAt = Annotated[
    str,
    typer.Option(
        metavar="CATEGORY",
        help="Fail (exit code 1) at a finding of this category or a more urgent "
        "one: A before service, B before acceptance, C when convenient, or never.",
    ),
]
RulesFrom = Annotated[
    str | None,
    typer.Option(
        metavar="REV",
        help="Judge by the rules, policies, type sheets and concessions of this "
        "revision, so that a change can't relax what judges it.",
    ),
]


class Wanted(NamedTuple):
    """A report that is asked for: its format, and its file, None for the screen."""

    form: str
    file: Path | None


def refuse_unknown_hold(hold_at: str) -> None:
    """Raise `typer.BadParameter` for what no run can be held at."""
    if hold_at not in HOLDS:
        raise typer.BadParameter(
            f"{hold_at!r} is none of {', '.join(HOLDS)}.", param_hint="--hold-at"
        )


def wanted_reports(
    texts: Collection[str] | None, formats: Collection[str], default: str = "text"
) -> list[Wanted]:
    """Read the reports that are asked for, each as FORMAT or FORMAT=FILE.

    Raises `typer.BadParameter` for a format there is not, and where more than one
    report would go to the screen.
    """
    wanted = [_wanted(text, formats) for text in texts or (default,)]
    if sum(each.file is None for each in wanted) > 1:
        raise typer.BadParameter(
            "only one report can go to the screen; give the others a FILE.",
            param_hint="--report",
        )
    return wanted


def _wanted(text: str, formats: Collection[str]) -> Wanted:
    form, equals, file = text.partition("=")
    if form not in formats or (equals and not file):
        raise typer.BadParameter(
            f"{text!r} is no report. Write {' or '.join(formats)}, "
            "or FORMAT=FILE such as json=findings.json.",
            param_hint="--report",
        )
    return Wanted(form, Path(file) if equals else None)


def deliver(wanted: Wanted, text: str) -> None:
    """Write a report to its file, whole or not at all, or to the screen."""
    if wanted.file is None:
        sys.stdout.write(text)
        return
    write_beside(wanted.file, text)
    told = inert(str(wanted.file))
    sys.stderr.write(f"The {wanted.form} report is in {told}.\n")
