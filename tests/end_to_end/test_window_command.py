"""Laws of the command `window`: whose windows, in which form, and clear refusals."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from tests.commanding import Done, Run, command_in
from tests.workspaces import write

METER = """\
meter: {tag}
principle: electromagnetic
sensor: {{bore: 150 mm, nominal_size: DN 150}}
current_output: {{lower_range_value: 0 m3/h, upper_range_value: 100 m3/h}}
pulse_output: not used
process:
  flow: {{minimum: 30 m3/h, normal: 100 m3/h, maximum: 150 m3/h}}
"""
WORKSPACE = """\
workspace: Invented
sites:
  north: {folder: north}
policy:
  velocity-at-span-in-band:
    highest: {value: 4 m/s, reason: Invented}
"""
FILES = {
    "configlint.yaml": WORKSPACE,
    "north/site.yaml": "site: north\n",
    "north/one.yaml": METER.format(tag="FT-1"),
    "north/two.yaml": f"{METER.format(tag='FT-2')}---\n{METER.format(tag='FT-3')}",
    "north/faulty.yaml": METER.format(tag="FT-4").replace("100 m3/h}", "100 mm}"),
    "north/bare.yaml": "meter: FT-5\nprinciple: vortex\n",
    "north/broken.yaml": "meter: [\n",
}
SPAN = "current_output.upper_range_value"


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a workspace of its own."""
    write(tmp_path, FILES)
    return command_in(tmp_path, environment, "window")


def amounts(done: Done) -> dict[str, Any]:
    """Give the amounts of a report's first meter, by their paths."""
    assert done.returncode == 0, done.stderr
    (first, *_) = json.loads(done.stdout)["meters"]
    return {each["setting"]: each for each in first["amounts"]}


def test_a_file_gives_the_windows_of_its_settings(run: Run) -> None:
    """A file of one meter gives its windows as text, and the exit code 0."""
    done = run("north/one.yaml")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("FT-1, north, Invented\n  in north/one.yaml\n")
    assert SPAN in done.stdout
    assert "pulse_output" not in done.stdout


def test_a_meter_is_found_by_its_tag(run: Run) -> None:
    """A tag leads to the same windows as the meter's file."""
    by_tag, by_file = run("FT-1", SPAN), run("north/one.yaml", SPAN)
    assert by_tag.stdout == by_file.stdout
    assert "not permissible by maximum-flow-within-span" in by_tag.stdout


def test_a_policys_limit_bounds_the_window(run: Run) -> None:
    """The limits that hold are those of the site."""
    (interval,) = amounts(run("FT-1", SPAN, "--report", "json"))[SPAN]["intervals"]
    assert interval["to_rule"] in ("velocity-at-span-in-band", "span-not-oversized")
    # 4 m/s in 150 mm are 254.47 m3/h, less than three times the highest flow.
    assert interval["to"] == pytest.approx(254.46900494, rel=1e-9)
    assert interval["from"] == 150
    assert interval["from_rule"] == "maximum-flow-within-span"


def test_what_a_person_states_is_solved_for_when_it_is_named(run: Run) -> None:
    """A bore is not chosen, but its window can be asked for."""
    assert "sensor.bore" not in amounts(run("FT-1", "--report", "json"))
    bore = amounts(run("FT-1", "sensor.bore", "--report", "json"))["sensor.bore"]
    assert bore["intervals"]


def test_every_meter_of_a_file_has_windows(run: Run) -> None:
    """A file of several meters gives the windows of each."""
    done = run("north/two.yaml", SPAN)
    assert done.stdout.count(f"{SPAN}: ") == 2


def test_reports_go_to_files_whole(run: Run, tmp_path: Path, root: Path) -> None:
    """Each format can be written to a file, several in one run."""
    forms = ("text", "json", "html", "svg")
    options = [part for each in forms for part in ("--report", f"{each}=out.{each}")]
    done = run("FT-1", *options)
    assert (done.returncode, done.stdout) == (0, "")
    schema = json.loads((root / "schemas" / "windows.schema.json").read_text("utf-8"))
    content = json.loads((tmp_path / "out.json").read_text("utf-8"))
    Draft202012Validator(schema).validate(content)
    assert (tmp_path / "out.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert (tmp_path / "out.svg").read_text("utf-8").startswith("<?xml")
    assert len(list(tmp_path.glob("out.*"))) == 4


def test_a_value_that_cannot_be_read_is_not_there(run: Run) -> None:
    """A faulty value has a window as if it were still to be written."""
    span = amounts(run("FT-4", SPAN, "--report", "json"))[SPAN]
    assert span["present"] is None
    assert span["intervals"][0]["from"] == 150


def test_a_bare_meter_has_windows_too(run: Run) -> None:
    """A meter that says next to nothing is told what there is to say."""
    done = run("FT-5")
    assert done.returncode == 0
    assert "not written" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("FT-9",), "There is no file and no meter 'FT-9'"),
        (("north/broken.yaml",), "No meter could be read here"),
        (("FT-1", "pulse_output.puls"), "'pulse_output.puls' is no setting of a"),
        (("FT-1", "current_output.upper_range"), f"Write {SPAN} or "),
        (("FT-1", "qqqqqqqq"), "`configlint rules names` lists the values"),
        (("FT-1", "--report", "pdf"), "'pdf' is no report"),
        (("FT-1", "--as-of", "soon"), "'soon' does not match the format"),
        ((), "Missing argument"),
    ],
)
def test_a_mistake_is_told_with_what_to_do(
    run: Run, arguments: tuple[str, ...], said: str
) -> None:
    """What can't be done is said in words, on the error stream, with exit code 2."""
    done = run(*arguments)
    assert done.returncode == 2
    assert done.stdout == ""
    words = " ".join(done.stderr.replace("│", " ").split())
    assert said in words


def test_a_report_that_cannot_be_written_is_told(run: Run, tmp_path: Path) -> None:
    """A folder that is not there is named, and nothing is left behind."""
    done = run("FT-1", "--report", "svg=nowhere/out.svg")
    assert done.returncode == 2
    assert "nowhere" in done.stderr
    assert not list(tmp_path.glob("**/out*"))
