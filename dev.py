"""The project's own tasks, with nothing but the standard library.

`python dev.py TASK` works wherever Python does; `make TASK` is the same. Every
task works in the folder `.venv` of this checkout, which it makes when absent.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
REFERENCES = ROOT / "tests" / "references"

# Every module that stands flat in the package is a stage of the core. These two
# are not: they only start something, in a process of their own.
CORE = "configlint/*.py"
NOT_CORE = "configlint/__main__.py,configlint/schemas.py"
OF_MODULES = ("tests/unit", "tests/property")
"""The tests that measure coverage; all others start the command or check a plant."""


class StepFailedError(Exception):
    """A step of a task ended with an exit code other than 0."""

    def __init__(self, step: str, code: int) -> None:
        super().__init__(step, code)
        self.step = step
        self.code = code

    def __str__(self) -> str:
        return f"the step '{self.step}' failed with exit code {self.code}"


def run(step: str, *command: str | Path) -> None:
    """Run one step in the checkout; raise `StepFailedError` unless it ends with 0."""
    print(f"dev.py: {step}", flush=True)
    # UTF-8 is said aloud because a Windows console would choose its own code page.
    environment = {**os.environ, "PYTHONUTF8": "1"}
    code = subprocess.run(command, cwd=ROOT, env=environment, check=False).returncode
    if code != 0:
        raise StepFailedError(step, code)


def venv_python() -> Path:
    """The Python of the project's own environment, on Windows and elsewhere."""
    windows = VENV / "Scripts" / "python.exe"
    return windows if os.name == "nt" else VENV / "bin" / "python"


def run_module(step: str, module: str, *arguments: str | Path) -> None:
    """Run a module with the Python of the project's own environment."""
    run(step, venv_python(), "-m", module, *arguments)


def installed_for() -> str:
    """A digest of all that an installation depends on."""
    files = (ROOT / "pyproject.toml", *sorted(REFERENCES.glob("*.*")))
    texts = (file.read_text("utf-8") for file in files)
    parts = (sys.version, str(ROOT), *texts)
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def is_stamped(name: str) -> bool:
    """Say whether this installation was made, and nothing has changed since."""
    stamp = VENV / f"{name}.stamp"
    return stamp.is_file() and stamp.read_text("utf-8") == installed_for()


def install(name: str) -> None:
    """Install the package as `plain`, or as `test` with what its tests need."""
    if is_stamped(name) or is_stamped("test"):
        return
    if not venv_python().is_file():
        run("make .venv", sys.executable, "-m", "venv", VENV)
    extra = ".[test]" if name == "test" else "."
    run_module(f"install {extra}", "pip", "install", "--quiet", "--editable", extra)
    if name == "test":
        # What the tests hold the outputs against lies in the registries, not here.
        run_module("fetch references", "tests.references.fetch")
    (VENV / f"{name}.stamp").write_text(installed_for(), "utf-8")


def demo() -> None:
    """Check the invented plant in examples/ and show what is found."""
    install("plain")
    run_module(
        "configlint check examples --hold-at never",
        *("configlint", "check", "examples", "--hold-at", "never"),
    )
    command = venv_python().with_name("configlint").relative_to(ROOT)
    print(f"Next: {command} check examples/water/sites/marsh/FT-3207.yaml")


def test() -> None:
    """Check form, types and tests, the core's coverage, and every rule's proof."""
    install("test")
    run_module("ruff check", "ruff", "check", ".")
    run_module("ruff format", "ruff", "format", "--check", ".")
    run_module("mypy", "mypy")
    run_module(
        "pytest of the modules",
        *("pytest", "-n", "2", *OF_MODULES),
        *("--cov=configlint", "--cov-branch", "--cov-report="),
    )
    # Coverage slows a run by half, and the core has to be covered without these.
    run_module(
        "pytest of the whole",
        *("pytest", "-n", "2", "tests"),
        *(f"--ignore={folder}" for folder in OF_MODULES),
    )
    run_module(
        "coverage of the core",
        *("coverage", "report", "--include", CORE, "--omit", NOT_CORE),
        *("--fail-under", "100", "--show-missing", "--skip-covered"),
    )
    run_module("configlint rules prove", "configlint", "rules", "prove")


def schemas() -> None:
    """Write the JSON Schemas in schemas/ anew from the models."""
    install("plain")
    run_module("schemas", "configlint.schemas", "schemas")


def benchmark() -> None:
    """Measure the speed, as ratios to something measured in the same run."""
    install("test")
    run("benchmark", venv_python(), ROOT / "tests" / "benchmarks" / "benchmark.py")


TASKS: dict[str, Callable[[], None]] = {
    task.__name__: task for task in (demo, test, schemas, benchmark)
}


def help_text() -> str:
    """Say how to use this file, with each task and what it does."""
    tasks = (f"  {name:<10} {task.__doc__}" for name, task in TASKS.items())
    return "\n".join(("usage: python dev.py TASK", "", "tasks:", *tasks))


def main(arguments: list[str]) -> int:
    """Run the task named, and give the exit code of the step that failed, else 0."""
    if arguments in ([], ["-h"], ["--help"]):
        print(help_text())
        return 0
    if len(arguments) > 1 or arguments[0] not in TASKS:
        print(f"dev.py: no task '{' '.join(arguments)}'\n\n{help_text()}")
        return 2
    try:
        TASKS[arguments[0]]()
    except StepFailedError as failure:
        print(f"dev.py: {failure}", file=sys.stderr)
        # A step that was ended by a signal has a negative code, which no shell knows.
        return max(failure.code, 1)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
