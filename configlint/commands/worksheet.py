"""`configlint worksheet`: the calculation sheet of a meter."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Annotated

import typer

from configlint.commands.options import (
    WorkspaceFile,
    day_option,
    deliver,
    report_option,
    wanted_reports,
)
from configlint.laying import lay_out
from configlint.sheets import (
    worksheet_html,
    worksheet_json,
    worksheet_markdown,
    worksheet_text,
)
from configlint.sheets.standing import standings
from configlint.sheets.worksheet import make_sheet
from configlint.sheets.worksheet_values import Sheet

__all__ = ["worksheet_command"]

FORMATS: Mapping[str, Callable[[Iterable[Sheet]], str]] = {
    "text": worksheet_text.write,
    "json": worksheet_json.write,
    "markdown": worksheet_markdown.write,
    "html": worksheet_html.write,
}
SYSTEMS = {"us": "US", "si": "SI", "imperial": "imperial"}

Named = Annotated[
    str,
    typer.Argument(
        metavar="METER|FILE",
        help="The tag of a meter, or a meter file; each meter of it gets a sheet.",
    ),
]
Unit = Annotated[
    str | None,
    typer.Option(
        metavar="SYSTEM",
        help=f"Show the sheet in the units of a system: {', '.join(SYSTEMS)}. Without "
        "it the site's convention holds, else the system of the file's units.",
    ),
]
Reports = Annotated[
    list[str] | None,
    report_option("the sheet", FORMATS, "the text"),
]
AsOf = Annotated[
    datetime | None,
    day_option(
        "Compute what depends on a day, such as a calibration's age, as of this one. "
        "Without it that stays open, and the sheet is the same every day."
    ),
]


def worksheet_command(
    named: Named,
    unit: Unit = None,
    report: Reports = None,
    workspace: WorkspaceFile = None,
    as_of: AsOf = None,
) -> None:
    """Write the calculation sheet of a meter: every quantity with its formula."""
    wanted = wanted_reports(report, FORMATS)
    if unit is not None and unit.lower() not in SYSTEMS:
        raise typer.BadParameter(
            f"{unit!r} is none of {', '.join(SYSTEMS)}.", param_hint="--unit"
        )
    system = SYSTEMS[unit.lower()] if unit else ""
    run_date = as_of.date() if as_of else None
    laid = lay_out(named, workspace, run_date)
    sheets = tuple(
        make_sheet(each, system, run_date, standing)
        for each, standing in zip(laid, standings(laid, run_date), strict=True)
    )
    for each in wanted:
        deliver(each, FORMATS[each.form](sheets))
