"""Laws of a run that is ended by a signal, through the real command."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.comparisons import SITES, other_meter
from tests.repositories import Repo

WAIT = 60.0
"""Seconds within which a run has made its private folder, and within which it ends."""
METERS = 40


@pytest.fixture
def repo(tmp_path: Path) -> Repo:
    """Give a repository with as many meters as take a run some seconds."""
    made = Repo(tmp_path / "repo")
    wrong = {"transmitter.calibration_factor": "1.1"}
    names = [f"FT-{number}" for number in range(METERS)]
    made.commit({**SITES, **{f"north/{n}.yaml": other_meter(n) for n in names}})
    made.commit({f"north/{n}.yaml": other_meter(n, **wrong) for n in names})
    return made


def wait_for_folder(folder: Path, process: subprocess.Popen[str]) -> None:
    """Wait until a run has written a file into its private folder."""
    last = time.monotonic() + WAIT
    while not list(folder.glob(".configlint-*/configlint.yaml")):
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < last
        time.sleep(0.005)


@pytest.mark.parametrize(
    "arguments",
    [
        ("compare", "HEAD~1..HEAD"),
        ("check", ".", "--since", "HEAD~1"),
        ("check", ".", "--rules-from", "HEAD~1"),
    ],
)
@pytest.mark.parametrize(
    ("number", "code"), [(signal.SIGTERM, 143), (signal.SIGINT, 130)]
)
def test_a_signal_ends_a_run_that_leaves_nothing_behind(
    arguments: tuple[str, ...],
    number: signal.Signals,
    code: int,
    repo: Repo,
    tmp_path: Path,
    environment: dict[str, str],
) -> None:
    """SIGTERM and Ctrl-C end a run from git, its folder too, by codes of their own."""
    spare = tmp_path / "temporary"
    spare.mkdir()
    process = subprocess.Popen(
        (sys.executable, "-m", "configlint", *arguments),
        cwd=repo.folder,
        env={**environment, "TMPDIR": str(spare)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )
    wait_for_folder(spare, process)
    process.send_signal(number)
    said = process.communicate(timeout=WAIT)
    assert process.returncode == code
    assert said == ("", "Ended by a signal before it was done.\n")
    assert list(spare.iterdir()) == []
