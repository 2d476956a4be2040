"""The commands: files, options and exit codes, one module a command.

Exit codes: 0 nothing at or above the hold, 1 something is, 2 the run itself
could not be done.
"""

from __future__ import annotations

import sys

import typer

from configlint.commands.check import check_command
from configlint.commands.rules import rules_app
from configlint.errors import ConfiglintError

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
app.add_typer(rules_app, name="rules")


@app.callback()
def _overview() -> None:
    """Check plant flow-meter configuration files by a declarative rule set."""


def main() -> None:
    """Run a command; every failure is a sentence and an exit code of 2."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(encoding="utf-8", errors="backslashreplace")  # type: ignore[union-attr]
    try:
        app()
    except ConfiglintError as error:
        _stop(str(error))
    except OSError as error:
        _stop(f"{error.filename or 'A file'}: {error.strerror or error}.")
    except Exception as error:
        _stop(
            f"configlint itself failed ({type(error).__name__}: {error}). This is a "
            "fault of the program, not of the files; please report it to its "
            "maintainers with the files that led to it."
        )


def _stop(message: str) -> None:
    sys.stderr.write(f"{message}\n")
    raise SystemExit(2)
