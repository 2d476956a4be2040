"""Laws of the command `compare` in this process: its screen, its files, its code."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from configlint import commands
from tests.comparisons import meter_text
from tests.workspaces import write


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a current folder with a meter as found and as left."""
    wrong = meter_text({"transmitter.calibration_factor": "1.1"})
    write(tmp_path, {"found.yaml": wrong, "left.yaml": meter_text()})
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """Run the command and give its exit code."""
    monkeypatch.setattr(sys, "argv", ["configlint", "compare", *arguments])
    with pytest.raises(SystemExit) as ended:
        commands.main()
    assert isinstance(ended.value.code, int)
    return ended.value.code


def test_a_terminal_gets_the_same_words(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On a terminal styles are laid over the text, which stays the same."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("TERM", "dumb")
    assert run(monkeypatch, "left.yaml", "found.yaml") == 1
    plain = capsys.readouterr().out
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    assert run(monkeypatch, "left.yaml", "found.yaml") == 1
    assert capsys.readouterr().out == plain
    assert "A  calibration-factor-agrees, line" in plain


def test_the_code_says_whether_something_new_is_held(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """1 says that a new finding is at or above the hold, 0 that none is, 2 neither."""
    assert run(monkeypatch, "left.yaml", "found.yaml", "--hold-at", "never") == 0
    assert run(monkeypatch, "found.yaml", "left.yaml", "--hold-at", "C") == 0
    assert run(monkeypatch, "found.yaml", "nowhere.yaml") == 2
    assert "nowhere.yaml: There is no such file or folder." in capsys.readouterr().err


def test_reports_go_where_they_are_sent(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A report is written to its file, and the screen stays empty then."""
    assert run(monkeypatch, "found.yaml", "left.yaml", "--report", "markdown=o.md") == 0
    assert capsys.readouterr().out == ""
    assert (here / "o.md").read_text("utf-8").startswith("### Flow meter settings")
