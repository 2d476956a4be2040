"""Laws of starting a command: each failure ends with 2, and is a sentence."""

from __future__ import annotations

import runpy
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from configlint import __version__
from configlint.commands import check as check_module
from configlint.commands import options as options_module
from configlint.errors import Fault, Place, RunError
from configlint.report import Report
from tests.commanding import Start, start_in
from tests.workspaces import METER, write


@pytest.fixture
def start(monkeypatch: pytest.MonkeyPatch) -> Start:
    """Give the command in this process, by its exit code."""
    return start_in(monkeypatch)


@pytest.fixture
def meter(tmp_path: Path) -> str:
    """Give the name of a meter file."""
    return str(write(tmp_path, {"FT-1.yaml": METER}) / "FT-1.yaml")


def fail_with(error: Exception) -> Callable[..., None]:
    """Give a function that fails."""

    def fail(*_: object, **__: object) -> None:
        raise error

    return fail


def test_a_module_starts_the_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`python -m configlint` is the command."""
    monkeypatch.setattr(sys, "argv", ["configlint", "--help"])
    # A test that has imported the module would have it run twice.
    monkeypatch.delitem(sys.modules, "configlint.__main__", raising=False)
    with pytest.raises(SystemExit) as ended:
        runpy.run_module("configlint", run_name="__main__")
    assert ended.value.code == 0
    assert "check" in capsys.readouterr().out


def test_the_version_is_told(start: Start, capsys: pytest.CaptureFixture[str]) -> None:
    """The version is told alone, and the command ends with 0."""
    assert start("--version") == 0
    assert capsys.readouterr().out == f"configlint {__version__}\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ("rules", "show", "no-such"),
        ("rules", "list", "--report", "xml"),
        ("check", "a.yaml", "--hold-at", "D"),
        ("check", "a.yaml", "--report", "xml"),
        ("check", "a.yaml", "--report", "json", "--report", "text"),
    ],
)
def test_a_wrong_call_ends_with_2(
    start: Start, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    """A slip in the call is refused before anything is done."""
    assert start(*arguments) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Usage: " in said.err


@pytest.mark.parametrize("text", ["", "meter: FT-1\n"])
def test_a_name_is_inert_in_a_message(
    start: Start, tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    """A file's name sends no escape and begins no line of its own in a message."""
    assert start("check", str(tmp_path / f"{text}a\x1b[31m\nb")) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert said.strip().isprintable()
    assert r"a\x1b[31m\nb: " in said


def test_every_fault_of_a_run_is_told(
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """All faults that stop a run are said, and their marks stand on their own lines."""
    marked = Fault("a", Place("own.yaml", 3, 9), "Wrong:\nv < 1\n^\n", "Mend it.")
    other = Fault("b", Place("other.yaml"), "Wrong.\x07", "Mend it.")
    monkeypatch.setattr(check_module, "check", fail_with(RunError(marked, other)))
    assert start("check", meter) == 2
    assert capsys.readouterr().err == (
        "own.yaml:3:9: Wrong:\nv < 1\n^\nMend it.\n"
        "other.yaml:1:1: Wrong.\\x07 Mend it.\n"
    )


def test_a_fault_of_the_program_is_a_sentence(
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """An unforeseen error ends with 2 and a sentence naming it, not a traceback."""
    monkeypatch.setattr(check_module, "check", fail_with(KeyError("no-rule")))
    assert start("check", meter) == 2
    said = capsys.readouterr()
    assert said.err.startswith("configlint itself failed (KeyError: 'no-rule').")
    assert said.out == ""


@pytest.mark.parametrize(
    ("reports", "advise"),
    [
        ((), True),
        (("json",), True),
        (("coverage",), False),
        (("coverage", "csv=a.csv"), True),
    ],
)
def test_values_are_looked_for_where_a_report_tells_them(
    reports: tuple[str, ...],
    advise: bool,
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Looking for values that would do takes time, and is done for a reader alone."""
    asked = []

    def spy(paths: object, *options: object) -> Report:
        asked.append(options[-1])
        return Report((), (), (), 0)

    monkeypatch.chdir(Path(meter).parent)
    monkeypatch.setattr(check_module, "check", spy)
    start("check", meter, *(f"--report={each}" for each in reports))
    assert asked == [advise]


def test_an_error_of_the_system_names_its_file(
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """An error of the system is told with the file it is about."""
    error = PermissionError(13, "Permission denied", "out.json")
    monkeypatch.setattr(options_module, "write_beside", fail_with(error))
    assert start("check", meter, "--report", "json=out.json") == 2
    assert capsys.readouterr().err == "out.json: Permission denied.\n"
