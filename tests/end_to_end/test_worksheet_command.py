"""Laws of the command `worksheet`: whose sheets, in which form, and clear refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.commanding import Run, command_in
from tests.workspaces import write

METER = """\
meter: {tag}
principle: electromagnetic
sensor: {{bore: 150 mm, calibration: {{date: 2025-03-11}}}}
current_output: {{lower_range_value: 0 m3/h, upper_range_value: 100 m3/h}}
"""
WORKSPACE = "workspace: Invented\nsites:\n  north: {folder: north}\n"
FILES = {
    "configlint.yaml": WORKSPACE,
    "north/site.yaml": "site: north\nunit_convention: SI\n",
    "north/one.yaml": METER.format(tag="FT-1"),
    "north/two.yaml": f"{METER.format(tag='FT-2')}---\n{METER.format(tag='FT-3')}",
    "north/broken.yaml": "meter: [\n",
}
CONCESSIONS = """\
concessions:
  - rule: velocity-at-span-in-band
    meter: FT-2
    reason: The pump is to be changed.
    granted_by: Ruth Notreal
    granted_on: 2026-01-05
    expires_on: 2026-06-30
"""
FAST = METER.format(tag="FT-2").replace("100 m3/h", "900 m3/h")
FORMULA = "v_URV = Q_URV / A"


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a workspace of its own."""
    write(tmp_path, FILES)
    return command_in(tmp_path, environment, "worksheet")


def test_a_file_gives_its_sheet(run: Run) -> None:
    """A file of one meter gives one sheet, as text, and the exit code 0."""
    done = run("north/one.yaml")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Calculation sheet of FT-1\n")
    for line in (FORMULA, "= 100 m³/h / 0.01767 m²", "= 1.57 m/s"):
        assert f" {line}\n" in done.stdout


def test_a_tag_gives_the_same_sheet(run: Run) -> None:
    """A meter can be named by its tag, from anywhere in its workspace."""
    assert run("FT-1").stdout == run("north/one.yaml").stdout


def test_several_meters_give_several_sheets(run: Run) -> None:
    """A file or folder of several meters gives a sheet for each, in order."""
    two, all_of_them = run("north/two.yaml"), run("north")
    heads = [
        [line for line in done.stdout.splitlines() if line.startswith("Calculation")]
        for done in (two, all_of_them)
    ]
    of = "Calculation sheet of"
    assert heads[0] == [f"{of} FT-2", f"{of} FT-3"]
    assert heads[1] == [f"{of} FT-1", f"{of} FT-2", f"{of} FT-3"]


@pytest.mark.parametrize(
    ("unit", "result"),
    [
        ("us", "5.16 ft/s"),
        ("US", "5.16 ft/s"),
        ("si", "1.57 m/s"),
        ("imperial", "ft/s"),
    ],
)
def test_the_units_can_be_chosen(run: Run, unit: str, result: str) -> None:
    """With --unit results stand in that system, and inputs with the file's figure."""
    done = run("FT-1", "--unit", unit)
    assert done.returncode == 0
    assert result in done.stdout
    assert (", written 150 mm (line 3)" in done.stdout) is (unit != "si")


def test_every_report_is_written_to_its_file(run: Run, tmp_path: Path) -> None:
    """Several formats can be asked for at once, each to a file, and each is whole."""
    wanted = {
        "html": "</html>",
        "json": "}",
        "markdown": "precedence.",
        "text": "precedence.",
    }
    options = [f"--report={form}=sheet.{form}" for form in wanted]
    done = run("FT-1", *options)
    assert (done.returncode, done.stdout) == (0, "")
    for form in wanted:
        assert f"The {form} report is in sheet.{form}." in done.stderr
        text = (tmp_path / f"sheet.{form}").read_text("utf-8")
        assert wanted[form] in text.splitlines()[-1]
        assert "v_URV" in text or "<var>v</var><sub>URV</sub>" in text
    sheet = json.loads((tmp_path / "sheet.json").read_text("utf-8"))
    assert sheet["sheets"][0]["meter"] == "FT-1"


def test_a_day_is_on_the_sheet_only_if_given(run: Run) -> None:
    """Without --as-of nothing depends on the day; with it ages are computed."""
    without, dated = run("FT-1").stdout, run("FT-1", "--as-of", "2026-05-04").stdout
    assert "Dates as of: no day. What depends on one was not judged here" in without
    assert "`check` judges this by the day on which" in without
    assert "Missing: the day to judge by; give it by --as-of DATE." in without
    assert "Dates as of: 2026-05-04" in dated
    assert " = 2026-05-04 − 2025-03-11 = 419 d\n" in dated


def test_what_others_share_heads_the_sheet(run: Run, tmp_path: Path) -> None:
    """A tag that another file has too is told on the sheet of either, at its head."""
    write(tmp_path, {"north/again.yaml": METER.format(tag="FT-1")})
    done = run("north/one.yaml")
    head, _, _ = done.stdout.partition("\nInputs\n")
    assert done.returncode == 0
    assert "  Nonconforming, A: tag-unique, line 1: " in head
    assert "north/again.yaml" in head
    assert "Compared with 3 other meters of the workspace Invented." in head


def test_a_concession_is_told_as_of_its_day(run: Run, tmp_path: Path) -> None:
    """A finding that is conceded on the day says until when, by whom, and why."""
    write(tmp_path, {"concessions.yaml": CONCESSIONS, "north/two.yaml": FAST})
    without, dated = run("FT-2").stdout, run("FT-2", "--as-of", "2026-05-04").stdout
    assert "Whether velocity-at-span-in-band is conceded depends on the day" in without
    assert "  Conceded, B: velocity-at-span-in-band, line 4: " in dated
    assert "Conceded until 2026-06-30 by Ruth Notreal:" in " ".join(dated.split())
    assert "(category B): conceded. 0.3 m/s ≤ v_URV ≤" in " ".join(dated.split())


def test_a_workspace_can_be_named(run: Run, tmp_path: Path) -> None:
    """With --workspace a meter outside of it is laid out by its rules."""
    write(tmp_path / "away", {"one.yaml": METER.format(tag="FT-9")})
    done = run("away/one.yaml", "--workspace", "configlint.yaml")
    assert "  Workspace: Invented\n" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), ("METER|FILE",)),
        (("FT-8",), ("'FT-8'", "FT-1")),
        (("north/broken.yaml",), ("north/broken.yaml", "No meter could be read")),
        (("FT-1", "--unit", "metric"), ("'metric'", "us, si, imperial", "--unit")),
        (("FT-1", "--report", "pdf"), ("'pdf'", "html", "--report")),
        (("FT-1", "--report", "html="), ("'html='", "FORMAT=FILE")),
        (("FT-1", "--report", "html", "--report", "text"), ("only one report",)),
        (("FT-1", "--as-of", "4 May"), ("4 May", "--as-of")),
        (("FT-1", "--report", "html=gone/a.html"), ("gone/a.html", "No such file")),
        (("FT-1", "--workspace", "gone.yaml"), ("gone.yaml",)),
    ],
)
def test_a_mistake_gets_one_clear_message(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """What can not be done ends with 2, says why and what is possible, no file left."""
    before = sorted(tmp_path.rglob("*"))
    done = run(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    for word in words:
        assert word in done.stderr
    assert sorted(tmp_path.rglob("*")) == before
