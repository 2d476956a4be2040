"""Laws of the command `adjust`: what it shows, what it writes, and its exit codes."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
import yaml

from tests.adjusting import FILES, mistyped, sound, write
from tests.commanding import Run, command_in, refused

FACTOR = "transmitter.calibration_factor=1.0234"
FILE = "north/FT-1.yaml"


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, in a workspace whose first meter has a wrong factor."""
    write(tmp_path, {**FILES, FILE: mistyped(), "south/FT-2.yaml": sound("FT-2")})
    return command_in(tmp_path, environment, "adjust")


def test_a_change_is_shown_and_then_written(run: Run, tmp_path: Path) -> None:
    """Without --write the file stays; with it, one scalar of it has changed."""
    file = tmp_path / FILE
    before = file.read_bytes()
    shown = run(FILE, "--set", FACTOR)
    assert (shown.returncode, shown.stderr) == (0, "")
    assert "\n-  calibration_factor: 1.0324\n+  calibration_factor: 1.0234\n" in (
        shown.stdout
    )
    assert file.read_bytes() == before
    written = run(FILE, "--set", FACTOR, "--write")
    assert (written.returncode, written.stderr) == (0, "")
    assert file.read_bytes() == before.replace(b"1.0324", b"1.0234")
    again = run(FILE, "--set", FACTOR, "--write")
    assert again.returncode == 0
    assert "There is nothing to change" in again.stdout


def test_advice_is_taken_and_written(run: Run, tmp_path: Path) -> None:
    """The value that a finding proposes is written without being typed."""
    done = run("--take-advice", "FT-1:calibration-factor-agrees", FILE, "--write")
    assert (done.returncode, done.stderr) == (0, "")
    assert "calibration_factor: 1.0234\n" in (tmp_path / FILE).read_text("utf-8")
    done = run("--take-advice", "calibration-factor-agrees", FILE)
    refused(done, "FT-1 has no finding of the rule calibration-factor-agrees")


def test_a_change_that_makes_it_worse_is_held(run: Run, tmp_path: Path) -> None:
    """A new finding of category A ends with 1, and the file stays, write or not."""
    before = (tmp_path / FILE).read_bytes()
    for write_it in ((), ("--write",)):
        done = run(FILE, "--set", "sensor.serial=S-FT-2", *write_it)
        assert (done.returncode, done.stderr) == (1, "")
        assert "Held: the change brings" in done.stdout
        assert "FT-2 in south/FT-2.yaml" in " ".join(done.stdout.split())
    assert (tmp_path / FILE).read_bytes() == before


def test_a_change_goes_to_other_software(run: Run, tmp_path: Path) -> None:
    """The report can be json, on the screen or in a file beside the text."""
    done = run(FILE, "--set", FACTOR, "--report", "json", "--write")
    assert (done.returncode, done.stderr) == (0, "")
    content = json.loads(done.stdout)
    assert content["written"]
    assert content["changes"][0]["after"] == "1.0234"
    done = run(
        *(FILE, "--set", "service=x", "--report", "text", "--report", "json=a.json")
    )
    assert "The json report is in a.json." in done.stderr
    assert not json.loads((tmp_path / "a.json").read_text("utf-8"))["written"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), ("FILE",)),
        ((FILE,), ("--set or --take-advice",)),
        ((FILE, "--set", "service"), ("'service' has no '='", "PATH=VALUE")),
        ((FILE, "--set", FACTOR, "--report", "xml"), ("'xml'", "text or json")),
        ((FILE, "--set", FACTOR, "--as-of", "today"), ("'today'",)),
        (("nowhere.yaml", "--set", FACTOR), ("nowhere.yaml: There is no such file",)),
        (("north", "--set", FACTOR), ("north: This is a folder",)),
        (("configlint.yaml", "--set", FACTOR), ("holds no meters",)),
        ((FILE, "--set", "sensor.bore=wide"), ("FT-1.yaml:9:9", "'wide'")),
        ((FILE, "--set", "sensor.boar=1 mm"), ("'sensor.boar'", "sensor.bore")),
        ((FILE, "--set", "FT-9:sensor.bore=1 mm"), ("No meter 'FT-9'", "FT-1")),
        ((FILE, "--set", "service=\x1b[31m"), ("'\\x1b[31m' is not one line",)),
        ((FILE, "--set", "service=a", "--set", "service=b"), ("'a' and 'b'",)),
        ((FILE, FILE, "--take-advice", "no-such"), ("There is no rule 'no-such'",)),
    ],
)
def test_what_can_not_be_done_is_refused(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """A slip ends with 2, a sentence about it, and every file as it was."""
    before = (tmp_path / FILE).read_bytes()
    refused(run(*arguments, "--write"), *words)
    assert (tmp_path / FILE).read_bytes() == before


def test_nothing_is_written_when_one_of_several_files_is_refused(
    run: Run, tmp_path: Path
) -> None:
    """All files change together or none does."""
    files = (FILE, "south/FT-2.yaml")
    before = [(tmp_path / each).read_bytes() for each in files]
    (tmp_path / files[1]).chmod(0o444)
    refused(run(*files, "--set", "service=x", "--write"), "FT-2.yaml", "read-only")
    assert [(tmp_path / each).read_bytes() for each in files] == before
    (tmp_path / files[1]).chmod(0o644)
    assert run(*files, "--set", "service=x", "--write").returncode == 0
    assert all(b"\nservice: x\n" in (tmp_path / each).read_bytes() for each in files)


def test_a_folder_that_can_not_be_written_is_told(run: Run, tmp_path: Path) -> None:
    """Where no file can be made beside, the file is named and stays as it was."""
    (tmp_path / FILE).rename(tmp_path / "north" / f"{'x' * 245}.yaml")
    long = f"north/{'x' * 245}.yaml"
    done = run(long, "--set", "service=x", "--write")
    refused(done, "x.yaml: File name too long.")


def test_a_link_stays_a_link(run: Run, tmp_path: Path) -> None:
    """What a link leads to is changed in its own place, also over a linked folder."""
    (tmp_path / "link.yaml").symlink_to(FILE)
    (tmp_path / "folder").symlink_to("north")
    done = run("link.yaml", "--set", FACTOR, "--write")
    assert (
        "link.yaml is a link: the file it leads to is north/FT-1.yaml." in done.stdout
    )
    assert (tmp_path / "link.yaml").is_symlink()
    assert b"1.0324" not in (tmp_path / FILE).read_bytes()
    assert run("folder/FT-1.yaml", "--set", "service=x", "--write").returncode == 0
    assert b"service: x\n" in (tmp_path / FILE).read_bytes()
    assert not (tmp_path / FILE).is_symlink()


@pytest.mark.parametrize(
    "name", ["-x.yaml", "a b\n.yaml", "é\x1b[31m.yaml", "$(x);.yaml"]
)
def test_a_hostile_name_is_a_name(run: Run, tmp_path: Path, name: str) -> None:
    """Whatever a file is named, it is changed, and its name does nothing else."""
    write(tmp_path, {f"north/{name}": sound("FT-3")})
    done = run("--set", "service=x", "--write", "--", f"north/{name}")
    assert (done.returncode, done.stderr) == (0, "")
    assert "\x1b" not in done.stdout
    assert b"\nservice: x\n" in (tmp_path / "north" / name).read_bytes()
    left = {each.name for each in (tmp_path / "north").iterdir()}
    assert left == {"FT-1.yaml", "site.yaml", name}


def test_every_word_of_a_call_can_be_any_text(run: Run, tmp_path: Path) -> None:
    """Bytes that are no text, and words with all signs, end in a sentence."""
    for setting in (
        os.fsdecode(b"service=\xff"),
        os.fsdecode(b"\xff:service=a"),
        "::=",
        "a" * 100_000 + "=b",
        "meters[0].service=x",
    ):
        refused(run(FILE, "--set", setting), "FT-1.yaml")
    value = "é'\": #" * 2000
    assert run(FILE, "--set", f"service={value}", "--write").returncode == 0
    assert yaml.safe_load((tmp_path / FILE).read_text("utf-8"))["service"] == value
