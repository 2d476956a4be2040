"""The commands: files, options and exit codes, one module a command.

Exit codes: 0 nothing at or above the hold, 1 something is, 2 the run itself
could not be done, 143 or 130 it was ended by SIGTERM or Ctrl-C.
"""

from __future__ import annotations

import io
import os
import sys
from typing import Annotated, NoReturn

import typer

from configlint import __version__
from configlint.commands.adjust import adjust_command
from configlint.commands.check import check_command
from configlint.commands.compare import compare_command
from configlint.commands.concede import concede_command
from configlint.commands.ending import ended_in_order
from configlint.commands.rules import rules_app
from configlint.commands.window import window_command
from configlint.commands.worksheet import worksheet_command
from configlint.errors import Fault, RunError
from configlint.outputs.text import inert

__all__ = ["app", "main"]

app = typer.Typer(
    name="configlint",
    help="Check plant flow-meter configuration files by a declarative rule set.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("check")(check_command)
app.command("compare")(compare_command)
app.command("adjust")(adjust_command)
app.command("concede")(concede_command)
app.command("window")(window_command)
app.command("worksheet")(worksheet_command)
app.add_typer(rules_app, name="rules")

PLACELESS = frozenset({"path-found", "revision-found", "finding-found"})
"""Faults of a name that leads to no file, and so to no line."""


def _tell_version(asked: bool) -> None:
    if asked:
        sys.stdout.write(f"configlint {__version__}\n")
        raise typer.Exit


Version = Annotated[
    bool,
    typer.Option(
        "--version",
        help="Tell the version and end.",
        callback=_tell_version,
        is_eager=True,
    ),
]


@app.callback()
def _overview(version: Version = False) -> None:
    """Check plant flow-meter configuration files by a declarative rule set."""


def main() -> None:
    """Run a command; every failure is a sentence and an exit code of 2."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # Line ends are what a report writes, not what a system would make of them.
            stream.reconfigure(
                encoding="utf-8", errors="backslashreplace", newline="\n"
            )
    try:
        with ended_in_order():
            _run()
    except RunError as error:
        _stop("\n".join(_said(fault) for fault in error.faults))
    except OSError as error:
        _stop(f"{error.filename or 'The output'}: {error.strerror or error}.")
    except Exception as error:
        _stop(
            f"configlint itself failed ({type(error).__name__}: {error}). This is a "
            "fault of the program, not of the files; please report it to its "
            "maintainers with the files that led to it."
        )


def _run() -> None:
    """Run the command and see all its output written, or raise OSError."""
    try:
        app()
    finally:
        try:
            sys.stdout.flush()
        except OSError:
            # What can't be written would be tried again when Python ends.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise


def _said(fault: Fault) -> str:
    """Write a fault with its place on one line, whatever the file is named."""
    place = fault.place.file if fault.kind in PLACELESS else str(fault.place)
    return f"{inert(place)}: {fault.sentence}"


def _stop(message: str) -> NoReturn:
    for line in message.split("\n"):
        sys.stderr.write(f"{inert(line)}\n")
    raise SystemExit(2)
