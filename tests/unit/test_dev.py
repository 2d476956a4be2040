"""Laws of the project's own tasks: dev.py, the Makefile and the CI's script."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

import dev


@pytest.fixture
def checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give dev.py a checkout of its own, with nothing but a project file."""
    (tmp_path / "pyproject.toml").write_text("[project]\n", "utf-8")
    monkeypatch.setattr(dev, "ROOT", tmp_path)
    monkeypatch.setattr(dev, "VENV", tmp_path / ".venv")
    return tmp_path


@pytest.fixture
def steps(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Record the steps that dev.py would run in that checkout, and run none."""
    recorded: list[str] = []

    def record(step: str, *command: str | Path) -> None:
        assert command
        recorded.append(step)
        dev.venv_python().parent.mkdir(parents=True, exist_ok=True)
        dev.venv_python().touch()

    monkeypatch.setattr(dev, "run", record)
    return recorded


def test_no_task_gives_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a task, dev.py lists every task with what it does, and ends with 0."""
    assert dev.main([]) == 0
    shown = capsys.readouterr().out
    assert [name for name in dev.TASKS if f"  {name} " not in shown] == []


@pytest.mark.parametrize("arguments", [["deom"], ["demo", "again"]])
def test_an_unknown_task_is_refused(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """What is no task is named, the tasks are listed, and the exit code is 2."""
    assert dev.main(arguments) == 2
    shown = capsys.readouterr().out
    assert f"no task '{' '.join(arguments)}'" in shown
    assert "  demo " in shown


@pytest.mark.parametrize("code", [1, 2, 77])
def test_a_failing_step_ends_the_task(
    code: int,
    checkout: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The first step that fails is named, and its exit code becomes dev.py's own."""

    def task() -> None:
        dev.run("sound", sys.executable, "-c", "pass")
        dev.run("broken", sys.executable, "-c", f"raise SystemExit({code})")
        dev.run("never reached", sys.executable, "-c", "pass")

    assert checkout.is_dir()
    monkeypatch.setitem(dev.TASKS, "demo", task)
    assert dev.main(["demo"]) == code
    shown = capsys.readouterr()
    assert f"the step 'broken' failed with exit code {code}" in shown.err
    assert "never reached" not in shown.out


def test_a_step_ended_by_a_signal_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """A negative exit code, which a signal leaves, becomes a plain failure."""

    def task() -> None:
        raise dev.StepFailedError("pytest", -9)

    monkeypatch.setitem(dev.TASKS, "demo", task)
    assert dev.main(["demo"]) == 1


def test_a_second_installation_is_quick(checkout: Path, steps: list[str]) -> None:
    """An installation is made once, and again only when the project file changes."""
    dev.install("plain")
    assert steps == ["make .venv", "install ."]
    dev.install("plain")
    assert steps == ["make .venv", "install ."]
    (checkout / "pyproject.toml").write_text("[project]\nname = 'b'\n", "utf-8")
    dev.install("plain")
    assert steps == ["make .venv", "install .", "install ."]


def test_the_tests_installation_serves_the_demo(steps: list[str]) -> None:
    """The larger installation holds the smaller one, but not the other way round."""
    both = ["make .venv", "install .", "install .[test]", "fetch references"]
    dev.install("plain")
    dev.install("test")
    assert steps == both
    (dev.VENV / "plain.stamp").unlink()
    dev.install("plain")
    assert steps == both


def test_every_task_installs_first(steps: list[str]) -> None:
    """Every task begins by making the environment it works in."""
    for name, task in dev.TASKS.items():
        steps.clear()
        for stamp in dev.VENV.glob("*.stamp"):
            stamp.unlink()
        task()
        assert any(step.startswith("install .") for step in steps[:2]), name
        assert not steps[-1].startswith("install ."), name


def test_the_makefile_has_the_same_tasks(root: Path) -> None:
    """Every task of dev.py is a target that does nothing else, and no other is."""
    makefile = (root / "Makefile").read_text("utf-8")
    targets = re.findall(r"^(\w+):\n\t@python3 dev\.py (\w+)$", makefile, re.MULTILINE)
    assert targets == [(name, name) for name in dev.TASKS]
    assert re.findall(r"^(\w+):", makefile, re.MULTILINE) == list(dev.TASKS)


def test_the_continuous_run_is_the_documented_command(root: Path) -> None:
    """The CI's script stops at the first failure and runs `make test`."""
    lines = (root / ".ci" / "run").read_text("utf-8").splitlines()
    assert lines[0].endswith("bash")
    assert "set -eu" in lines
    assert lines[-1] == "make test"
