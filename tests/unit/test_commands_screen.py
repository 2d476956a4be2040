"""Laws of a command's screen: a terminal, a file, a full one, one of another kind."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from tests.commanding import Start, start_in
from tests.workspaces import METER, write


@pytest.fixture
def start(monkeypatch: pytest.MonkeyPatch) -> Start:
    """Give the command in this process, by its exit code."""
    return start_in(monkeypatch)


class Screen(io.TextIOWrapper):
    """An output that says whether it is a terminal, and may be full."""

    def __init__(self, file: Path, terminal: bool, full: bool = False) -> None:
        super().__init__(file.open("wb"), encoding="ascii", newline="\n")
        self.terminal = terminal
        self.full = full
        self.kept = ""

    def isatty(self) -> bool:
        """Whether it is a terminal."""
        return self.terminal

    def write(self, text: str) -> int:
        """Keep a text until it is flushed."""
        self.kept += text
        return len(text)

    def flush(self) -> None:
        """Write what is kept, where there is room for it."""
        if self.kept and self.full:
            self.full = False
            raise OSError(28, "No space left on device")
        super().write(self.kept)
        self.kept = ""
        super().flush()


@pytest.fixture
def meter(tmp_path: Path) -> str:
    """Give the name of a meter file."""
    return str(write(tmp_path, {"FT-1.yaml": METER}) / "FT-1.yaml")


def test_a_full_screen_is_told_once(
    start: Start,
    meter: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Where the output has no room the run ends with 2, and tries no second time."""
    with Screen(tmp_path / "screen.txt", terminal=False, full=True) as screen:
        monkeypatch.setattr(sys, "stdout", screen)
        assert start("check", meter) == 2
    assert capsys.readouterr().err == "The output: No space left on device.\n"
    assert (tmp_path / "screen.txt").read_bytes() == b""


@pytest.mark.parametrize(("terminal", "styled"), [(True, True), (False, False)])
def test_only_a_terminal_gets_styles(
    start: Start,
    meter: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    terminal: bool,
    styled: bool,
) -> None:
    """The same words come styled to a terminal and plain to a file, in UTF-8."""
    for name, value in (("TERM", "xterm"), ("COLORTERM", "truecolor")):
        monkeypatch.setenv(name, value)
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    file = tmp_path / "screen.txt"
    with Screen(file, terminal) as screen:
        monkeypatch.setattr(sys, "stdout", screen)
        start("check", meter)
    text = file.read_text("utf-8")
    assert ("\x1b[" in text) is styled
    assert "FT-1" in text


@pytest.mark.parametrize(("files", "told"), [(199, False), (200, True)])
def test_a_long_run_shows_how_far_it_is(
    start: Start,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    files: int,
    told: bool,
) -> None:
    """On a terminal a run over many files shows its progress, beside the report."""
    folder = tmp_path / "meters"
    folder.mkdir()
    for number in range(files):
        (folder / f"{number}.yaml").write_text("", "utf-8")
    monkeypatch.setenv("TERM", "xterm")
    file = tmp_path / "screen.txt"
    with Screen(file, terminal=True) as screen:
        monkeypatch.setattr(sys, "stderr", screen)
        start("check", str(folder), "--report", f"json={tmp_path / 'out.json'}")
    assert ("Checking files" in file.read_text("utf-8")) is told


def test_an_output_of_another_kind_is_taken(
    start: Start, meter: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An output that has no encoding to set, as in a notebook, is written to."""
    kept = io.StringIO()
    monkeypatch.setattr(sys, "stdout", kept)
    assert start("check", meter, "--hold-at", "never") == 0
    assert kept.getvalue().startswith("FT-1")
