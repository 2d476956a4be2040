"""Laws of the command `check`: exit codes, reports, and one clear message a mistake."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from configlint.outputs.text import CAUTIONS
from tests.commanding import Run, command_in, refused
from tests.sound_meters import meter_text
from tests.workspaces import write

SOUND = meter_text()
# A key that is not known is of category B, a unit that is not known of category A.
OF_B = f"{SOUND}servise: water\n"
OF_A = SOUND.replace("bore: 150 mm", "bore: 150 millimetre")


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a folder of its own."""
    return command_in(tmp_path, environment)


@pytest.mark.parametrize(
    ("text", "hold_at", "code"),
    [
        (SOUND, "C", 0),
        (OF_B, "A", 0),
        (OF_B, "B", 1),
        (OF_B, "C", 1),
        (OF_A, "A", 1),
        (OF_A, "never", 0),
    ],
)
def test_the_exit_code_says_whether_the_run_is_held(
    run: Run, tmp_path: Path, text: str, hold_at: str, code: int
) -> None:
    """The code is 1 where a finding is at or above the hold, and 0 where none is."""
    write(tmp_path, {"FT-1.yaml": text})
    done = run("check", "FT-1.yaml", "--hold-at", hold_at)
    assert (done.returncode, done.stderr) == (code, "")
    last = done.stdout.splitlines()[-1]
    assert last.startswith("Held at") is (code == 1)


def test_the_hold_is_b_unless_chosen(run: Run, tmp_path: Path) -> None:
    """Without a choice a finding of category B holds the run."""
    write(tmp_path, {"FT-1.yaml": OF_B})
    assert run("check", ".").returncode == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("check",), ("PATH",)),
        (("check", "FT-1.yaml", "--hold-at", "D"), ("'D'", "A, B, C, never")),
        (("check", "FT-1.yaml", "--report", "xml"), ("'xml'", "text or json")),
        (("check", "FT-1.yaml", "--report", "json="), ("'json='", "FORMAT=FILE")),
        (
            ("check", "FT-1.yaml", "--report", "json", "--report", "text"),
            ("only one report", "FILE"),
        ),
        (("check", "FT-1.yaml", "--no-such"), ("--no-such",)),
        (("check", "FT-1.yaml", "--as-of", "today"), ("'today'", "%Y-%m-%d")),
        (("chekc", "FT-1.yaml"), ("chekc",)),
    ],
)
def test_a_wrong_call_is_refused(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """A slip in the call ends with 2 and says what was written and what is known."""
    write(tmp_path, {"FT-1.yaml": SOUND})
    refused(run(*arguments), *words)


def test_a_report_can_go_to_a_file_beside_the_screen(run: Run, tmp_path: Path) -> None:
    """The report for software goes to its file, the one for people to the screen."""
    write(tmp_path, {"FT-1.yaml": OF_B})
    done = run("check", ".", "--report", "json=out.json", "--report", "text")
    assert done.returncode == 1
    assert done.stdout.startswith("FT-2104\n  in FT-1.yaml\n")
    content = json.loads((tmp_path / "out.json").read_text("utf-8"))
    assert content["format"] == "configlint-findings/1"
    assert done.stdout == run("check", ".").stdout


def test_several_reports_go_to_several_files(run: Run, tmp_path: Path) -> None:
    """Two reports are written in one run, and nothing stands on the screen then."""
    write(tmp_path, {"FT-1.yaml": OF_B})
    reports = ("--report", "json=a.json", "--report", "text=b.txt")
    done = run("check", "FT-1.yaml", *reports)
    told = "The json report is in a.json.\nThe text report is in b.txt.\n"
    assert (done.stdout, done.stderr, done.returncode) == ("", told, 1)
    screen = run("check", "FT-1.yaml", "--report", "json")
    assert (tmp_path / "a.json").read_bytes() == screen.stdout.encode()
    assert (tmp_path / "b.txt").read_bytes() == run("check", ".").stdout.encode()


def test_a_report_that_cannot_be_written_is_told(run: Run, tmp_path: Path) -> None:
    """Where a report's folder is not there, the run ends with 2 and names the file."""
    write(tmp_path, {"FT-1.yaml": SOUND})
    done = run("check", "FT-1.yaml", "--report", "json=no/out.json")
    refused(done, "out.json: No such file or directory.")
    write(tmp_path, {"folder/a.txt": "kept"})
    assert run("check", "FT-1.yaml", "--report", "text=folder").returncode == 2
    assert (tmp_path / "folder" / "a.txt").read_text("utf-8") == "kept"


def test_the_report_ends_with_the_cautions(run: Run, tmp_path: Path) -> None:
    """Every report on the screen warns before settings are changed."""
    write(tmp_path, {"FT-1.yaml": SOUND})
    assert CAUTIONS in " ".join(run("check", ".").stdout.split())


def test_the_day_of_the_run_can_be_stated(run: Run, tmp_path: Path) -> None:
    """Dates are judged as of a stated day, so that a run can be repeated later."""
    write(tmp_path, {"FT-1.yaml": SOUND})
    done = run("check", ".", "--as-of", "2026-05-04")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == run("check", ".", "--as-of", "2026-05-04").stdout
