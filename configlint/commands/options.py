"""What several commands have in common: their reports, and where these go."""

from __future__ import annotations

import sys
from collections.abc import Collection
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import typer

from configlint.files import write_beside
from configlint.outputs.text import inert
from configlint.report import HOLDS

__all__ = [
    "AsOf",
    "HoldAt",
    "RulesFrom",
    "TrustChange",
    "Wanted",
    "WorkspaceFile",
    "day_option",
    "deliver",
    "refuse_needless_trust",
    "refuse_unknown_hold",
    "report_option",
    "wanted_reports",
]


def day_option(means: str) -> Any:
    """Make the option of a day, which is written such as 2026-05-04."""
    return typer.Option(metavar="DATE", formats=["%Y-%m-%d"], help=means)


def report_option(written: str, formats: Collection[str], shown: str) -> Any:
    """Make the option of reports: what is written, its formats, what is shown."""
    return typer.Option(
        metavar="FORMAT[=FILE]",
        help=f"Write {written} ({', '.join(formats)}), to FILE or to the screen. "
        f"May be given several times; without it {shown} is shown.",
    )


WorkspaceFile = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE",
        help="The workspace file, where it is not above the PATHs.",
    ),
]
AsOf = Annotated[
    datetime | None,
    day_option("Judge dates such as a calibration's as of this day, not of today."),
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
TrustChange = Annotated[
    bool,
    typer.Option(
        "--trust-change",
        help="Accept the rules, policies and concessions that the change itself "
        "brings. Without it, what they alone excuse counts as found.",
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


def refuse_needless_trust(trusted: bool, rules_from: str | None) -> None:
    """Raise `typer.BadParameter` where a change's own rules would not judge anyway."""
    if trusted and rules_from is not None:
        said = "--rules-from takes the rules from elsewhere; give one of the two."
        raise typer.BadParameter(said, param_hint="--trust-change")


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
