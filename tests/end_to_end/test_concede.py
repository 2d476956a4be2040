"""Laws of concessions through the real command: granted, told, run out, refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.commanding import Run, command_in, content_of
from tests.sound_meters import meter_text
from tests.workspaces import write

METER = meter_text(tag="FT-1")
KEY = "FT-1:key-known"
GRANT = ("--reason", "An old key of ours", "--granted-by", "A. Nobody")
TODAY = ("--as-of", "2026-06-01")
LAST = ("--expires-on", "2027-06-01")


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a workspace with one misspelt key."""

    site = "site: north\nmains_frequency: 50 Hz\nunit_convention: SI\n"
    files = {
        "configlint.yaml": "workspace: works\nsites: {north: {folder: north}}\n",
        "north/site.yaml": site,
        "north/FT-1.yaml": f"{METER}servise: water\n",
    }
    return command_in(write(tmp_path, files), environment)


def test_a_finding_is_conceded_until_it_runs_out(run: Run, tmp_path: Path) -> None:
    """A held run is released by a concession, tells it, and is held when it is over."""
    assert run("check", ".", *TODAY).returncode == 1
    done = run("concede", KEY, *GRANT, *LAST, *TODAY)
    assert (done.returncode, done.stderr) == (0, "")
    file = tmp_path / "concessions.yaml"
    first, *lines, last = done.stdout.splitlines()
    assert first == "Written to concessions.yaml:"
    assert (
        last == "Each finding stays in every report as conceded. It is not corrected."
    )
    assert file.read_text("utf-8").endswith("\n".join(lines) + "\n")
    done = run("check", ".", *TODAY, "--hold-at", "C")
    assert done.returncode == 0
    assert (
        "  B  key-known, line 114, conceded\n"
        "     'servise' is no key here.\n"
        "     Conceded until 2027-06-01 by A. Nobody: An old key of ours\n"
    ) in done.stdout
    assert "\nFindings by category: 0 of A, 0 of B, 0 of C\nConceded: 1 finding\n" in (
        done.stdout
    )
    assert done.stdout.splitlines()[-1] == (
        "Not held: no finding at or above category C."
    )
    done = run("check", ".", "--as-of", "2027-06-02")
    assert done.returncode == 1
    assert "ran out on 2027-06-01" in done.stdout
    assert "conceded\n     'servise'" not in done.stdout


def test_the_json_report_says_what_is_conceded_and_by_what(run: Run) -> None:
    """The finding stays, as conceded, with who, why, from when to when, and where."""
    before = content_of(run("check", ".", *TODAY, "--report", "json"))
    (mark,) = [each["fingerprint"] for each in before["findings"]]
    run("concede", mark, *GRANT, *LAST, "--granted-on", "2026-05-31", *TODAY)
    # One day more than a year is too long for category A alone.
    after = content_of(run("check", ".", *TODAY, "--report", "json"))
    (finding,) = after["findings"]
    assert finding["outcome"] == "conceded"
    assert finding["concession"] == {
        "granted_by": "A. Nobody",
        "reason": "An old key of ours",
        "granted_on": "2026-05-31",
        "expires_on": "2027-06-01",
        "file": "concessions.yaml",
        "line": 4,
    }
    open_then = {**finding, "outcome": "nonconforming", "concession": None}
    assert before["findings"] == [open_then]
    summary = after["summary"]
    assert (summary["conceded"], before["summary"]["conceded"]) == (1, 0)
    assert summary["categories"] == {"A": 0, "B": 0, "C": 0}
    assert summary["hold"] == {"at": "B", "held": False}
    assert summary["worst_first"] == [mark]


def test_an_open_finding_is_told_before_a_conceded_one(
    run: Run, tmp_path: Path
) -> None:
    """In a meter's findings the conceded ones come last, whatever their category."""
    file = tmp_path / "north" / "FT-1.yaml"
    text = file.read_text("utf-8")
    text = text.replace("bore: 150 mm", "bore: 150 millimetre", 1)
    file.write_text(text, "utf-8")
    done = run("concede", "FT-1:unit-known", *GRANT, *LAST, *TODAY)
    assert done.returncode == 0
    said = run("check", ".", *TODAY).stdout
    assert said.index("  B  key-known") < said.index(
        "  A  unit-known, line 9, conceded"
    )


def test_a_bound_concession_ends_when_the_value_changes(
    run: Run, tmp_path: Path
) -> None:
    """With --bound the settings are written, and another value is found again."""
    file = tmp_path / "north" / "FT-1.yaml"
    text = METER
    file.write_text(text.replace("value: 250 m3/h", "value: 2500 m3/h"), "utf-8")
    asked = "FT-1:velocity-at-span-in-band"
    done = run("concede", asked, "--bound", *GRANT, *LAST, *TODAY)
    assert "    while:\n      current_output.upper_range_value: 2500 m3/h\n" in (
        done.stdout
    )
    for span, outcome in (("2.5 ML/h", "conceded"), ("2600 m3/h", "nonconforming")):
        file.write_text(text.replace("value: 250 m3/h", f"value: {span}"), "utf-8")
        findings = content_of(run("check", ".", *TODAY, "--report", "json"))["findings"]
        found = {each["rule"]: each["outcome"] for each in findings}
        assert found["velocity-at-span-in-band"] == outcome
        assert ("concession-used" in found) is (outcome != "conceded")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), ("Missing argument", "FINDING")),
        ((KEY, "--granted-by", "A. Nobody"), ("--reason",)),
        ((KEY, "--reason", "Old"), ("--granted-by",)),
        ((KEY, "--reason", " ", "--granted-by", "A"), ("--reason", "nothing is")),
        ((KEY, "--reason", "Old", "--granted-by", ""), ("--granted-by", "nothing is")),
        ((KEY, *GRANT, "--expires-on", "2026-05-31"), ("--expires-on", "is before")),
        ((KEY, *GRANT, "--expires-on", "31.12.2026"), ("--expires-on", "2026")),
        ((KEY, *GRANT, "--in", "nowhere"), ("nowhere: There is no such file",)),
        ((KEY, *GRANT), ("north/FT-1.yaml:114:1: ", "no end", "--expires-on")),
        (("FT-1:key-know", *GRANT, *LAST), ("FT-1:key-know: ", "key-known")),
        (("0" * 16, *GRANT, *LAST), (f"{'0' * 16}: There is no finding",)),
    ],
)
def test_what_can_not_be_conceded_is_said_and_not_written(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """Every mistake ends with exit code 2 and its reason, and leaves no file."""
    done = run("concede", *arguments, *TODAY)
    assert (done.returncode, done.stdout) == (2, "")
    for word in words:
        assert word in done.stderr
    assert {each.name for each in tmp_path.iterdir()} == {"configlint.yaml", "north"}


def test_a_workspace_is_found_around_its_folders(run: Run, tmp_path: Path) -> None:
    """The file lies beside the workspace file, wherever in it the command is run."""
    done = run("concede", KEY, *GRANT, *LAST, *TODAY, folder="north")
    assert done.returncode == 0
    assert done.stdout.startswith(f"Written to {tmp_path}/concessions.yaml:\n")
    assert (tmp_path / "concessions.yaml").is_file()


def test_a_folder_that_can_not_be_written_keeps_what_it_holds(
    run: Run, tmp_path: Path
) -> None:
    """A read-only file of concessions is told, and holds what it held."""
    file = tmp_path / "concessions.yaml"
    file.write_text("concessions: []  # none\n", "utf-8")
    file.chmod(0o444)
    done = run("concede", KEY, *GRANT, *LAST, *TODAY)
    assert (done.returncode, done.stdout) == (2, "")
    assert "concessions.yaml" in done.stderr
    assert file.read_text("utf-8") == "concessions: []  # none\n"


def test_a_wrong_file_of_concessions_stops_every_run(run: Run, tmp_path: Path) -> None:
    """Its faults are told with their places, and nothing is judged."""
    (tmp_path / "concessions.yaml").write_text(
        "concessions:\n"
        "  - {rule: key-knwn, meter: FT-1, reason: Old, granted_by: A. Nobody,\n"
        "     granted_on: 2026-01-01, expires_on: 2025-01-01}\n",
        "utf-8",
    )
    done = run("check", ".", *TODAY)
    assert (done.returncode, done.stdout) == (2, "")
    first, second = done.stderr.splitlines()
    assert first.startswith("concessions.yaml:2:12: There is no rule 'key-knwn'.")
    assert "key-known" in first
    assert second.startswith("concessions.yaml:3:42: It expires on 2025-01-01, before")


def test_text_of_an_entry_reaches_the_screen_inert(run: Run, tmp_path: Path) -> None:
    """Control characters in a reason or a name are shown, never sent."""
    odd = '"\\e[31m\\u202e"'
    (tmp_path / "concessions.yaml").write_text(
        "concessions:\n"
        f"  - {{rule: key-known, meter: FT-1, reason: {odd}, granted_by: {odd},\n"
        "     granted_on: 2026-01-01, expires_on: 2026-12-31}\n",
        "utf-8",
    )
    for form in ("text", "json"):
        said = run("check", ".", *TODAY, "--report", form).stdout
        assert said.replace("\n", "").isprintable()
        assert "onceded" in said
