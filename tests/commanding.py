"""The real command, as tests start it: in a folder, and never with a traceback."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

__all__ = ["Done", "Run", "command_in"]

Done = subprocess.CompletedProcess[str]
Run = Callable[..., Done]


def command_in(folder: Path, environment: Mapping[str, str], *words: str) -> Run:
    """Give the command with its first words, ready to be run in a folder."""

    def run_command(*arguments: str) -> Done:
        done = subprocess.run(
            (sys.executable, "-m", "configlint", *words, *arguments),
            cwd=folder,
            env=environment,
            capture_output=True,
            encoding="utf-8",
            check=False,
            timeout=120,
        )
        for said in (done.stdout, done.stderr):
            assert "Traceback" not in said
            assert "fault of the program" not in said
        return done

    return run_command
