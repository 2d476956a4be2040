"""The real command, as tests start it: in a folder, and never with a traceback.

Where a test has to reach into the command, it is started in the test's own process.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from configlint import commands
from tests.builders import validator_of

__all__ = [
    "Done",
    "Run",
    "Start",
    "command_in",
    "content_of",
    "refused",
    "start_in",
]

Done = subprocess.CompletedProcess[str]
Run = Callable[..., Done]
Start = Callable[..., int]


def command_in(
    home: Path,
    environment: Mapping[str, str],
    *words: str,
    module: str = "configlint",
) -> Run:
    """Give the command with its first words, ready to be run in a folder.

    `folder` is another one, as seen from there.
    """

    def run_command(*arguments: str, folder: str | Path = ".") -> Done:
        done = subprocess.run(
            (sys.executable, "-m", module, *words, *arguments),
            cwd=home / folder,
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


def start_in(monkeypatch: pytest.MonkeyPatch, *words: str) -> Start:
    """Give the command with its first words in this process, by its exit code."""

    def start_command(*arguments: str) -> int:
        monkeypatch.setattr(sys, "argv", ["configlint", *words, *arguments])
        with pytest.raises(SystemExit) as ended:
            commands.main()
        assert isinstance(ended.value.code, int)
        return ended.value.code

    return start_command


def refused(done: Done, *words: str) -> None:
    """Hold a run that could not be done: its code, and a message with its words."""
    assert (done.returncode, done.stdout) == (2, "")
    for word in words:
        assert word in done.stderr


def content_of(done: Done, schema: str = "findings") -> dict[str, Any]:
    """Give a report on the screen, which is of its schema."""
    assert done.stderr == ""
    content: dict[str, Any] = json.loads(done.stdout)
    assert list(validator_of(schema).iter_errors(content)) == []
    return content
