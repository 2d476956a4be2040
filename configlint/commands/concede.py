"""`configlint concede`: leave to use meters as they are, granted and written down."""

from __future__ import annotations

import sys
from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

from configlint.commands.options import AsOf, WorkspaceFile, day_option
from configlint.outputs.text import inert
from configlint.review.concede import Grant, Granted, concede, write_granted

__all__ = ["concede_command"]

Findings = Annotated[
    list[str],
    typer.Argument(
        metavar="FINDING...",
        help="The findings, each by its fingerprint or as TAG:RULE.",
    ),
]
Reason = Annotated[
    str,
    typer.Option(metavar="TEXT", help="Why the meter may be used as it is."),
]
GrantedBy = Annotated[str, typer.Option(metavar="NAME", help="Who grants it.")]
GrantedOn = Annotated[
    datetime | None,
    day_option("First day on which it holds, without it today."),
]
ExpiresOn = Annotated[
    datetime | None,
    day_option("Last day on which it holds. A finding of category A or B needs it."),
]
Bounded = Annotated[
    bool,
    typer.Option(
        "--bound", help="Concede it only while the finding's settings stay as they are."
    ),
]
Within = Annotated[
    list[Path] | None,
    typer.Option(
        "--in",
        metavar="PATH",
        help="A file or folder of the workspace, where it is not around the current "
        "folder. May be given several times.",
    ),
]


def concede_command(
    findings: Findings,
    reason: Reason,
    granted_by: GrantedBy,
    expires_on: ExpiresOn = None,
    granted_on: GrantedOn = None,
    bound: Bounded = False,
    within: Within = None,
    workspace: WorkspaceFile = None,
    as_of: AsOf = None,
) -> None:
    """Concede findings: write into concessions.yaml who accepts them, and until when.

    They stay in every report, as conceded, and do not hold a run until they expire.
    """
    day = (as_of or datetime.now()).date()
    first = granted_on.date() if granted_on else day
    last = expires_on.date() if expires_on else None
    _refuse_blank({"--reason": reason, "--granted-by": granted_by})
    _refuse_reversed(first, last)
    grant = Grant(reason, granted_by, first, last, bound)
    granted = concede(findings, grant, within or (), workspace, day)
    write_granted(granted)
    _tell(granted)


def _refuse_blank(texts: dict[str, str]) -> None:
    for option, text in texts.items():
        if not text.strip():
            raise typer.BadParameter("nothing is written.", param_hint=option)


def _refuse_reversed(first: date, last: date | None) -> None:
    if last is not None and last < first:
        said = f"{last} is before {first}, the first day on which it holds."
        raise typer.BadParameter(said, param_hint="--expires-on")


def _tell(granted: Granted) -> None:
    sys.stdout.write(f"Written to {inert(granted.name)}:\n")
    for line in granted.lines:
        sys.stdout.write(f"{inert(line)}\n")
    sys.stdout.write(
        "Each finding stays in every report as conceded. It is not corrected.\n"
    )
