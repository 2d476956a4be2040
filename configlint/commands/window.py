"""`configlint window`: what each setting of a meter may be with every rule met."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Annotated

import typer

from configlint.bench import Laid
from configlint.commands.options import (
    AsOf,
    WorkspaceFile,
    deliver,
    report_option,
    wanted_reports,
)
from configlint.laying import lay_out
from configlint.sheets import window_html, window_json, window_svg, window_text
from configlint.sheets.window import WindowSheet, make_sheets
from configlint.window import settable_paths

__all__ = ["window_command"]

FORMATS: Mapping[str, Callable[[Iterable[WindowSheet]], str]] = {
    "text": window_text.write,
    "json": window_json.write,
    "html": window_html.write,
    "svg": window_svg.write,
}

Named = Annotated[
    str,
    typer.Argument(
        metavar="METER|FILE",
        help="The tag of a meter, or a meter file, or a folder of them.",
    ),
]
Settings = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="SETTING",
        help="Settings by their paths, such as pulse_output.pulse_weight, or parts "
        "such as pulse_output; without any, all those that rules would change.",
    ),
]
Reports = Annotated[
    list[str] | None,
    report_option("the windows", FORMATS, "the text"),
]


def window_command(
    named: Named,
    settings: Settings = None,
    report: Reports = None,
    workspace: WorkspaceFile = None,
    as_of: AsOf = None,
) -> None:
    """Find the values each setting may take with every rule met, all else as it is."""
    wanted = wanted_reports(report, FORMATS)
    laid = lay_out(named, workspace, (as_of or datetime.now()).date())
    names = tuple(settings or ())
    _refuse_unknown(laid, names)
    sheets = make_sheets(laid, names)
    for each in wanted:
        deliver(each, FORMATS[each.form](sheets))


def _refuse_unknown(laid: Iterable[Laid], names: Iterable[str]) -> None:
    """Raise `typer.BadParameter` for what is no setting, nor a part of a meter."""
    known = dict.fromkeys(path for each in laid for path in settable_paths(each.book))
    for name in names:
        if not any(path == name or path.startswith(f"{name}.") for path in known):
            raise typer.BadParameter(_unknown(name, known), param_hint="SETTING")


def _unknown(name: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(name, list(known), 3, 0.5)
    offered = f"Write {' or '.join(near)}, if that is meant." if near else ""
    otherwise = "`configlint rules names` lists the values that a meter's file holds."
    return f"{name!r} is no setting of a meter. {offered or otherwise}"
