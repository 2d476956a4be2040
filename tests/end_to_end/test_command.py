"""Laws of the command `check`: exit codes, reports, and one clear message a mistake."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from configlint.outputs.text import CAUTIONS
from tests.commanding import Done, Run, command_in

ROOT = Path(__file__).resolve().parents[2]

METER = """\
meter: FT-1
principle: electromagnetic
"""


def sound_meter() -> str:
    """Write the meter that all proofs start from, with which nothing is wrong."""
    text = (ROOT / "rules" / "sound" / "separate.yaml").read_text("utf-8")
    meter = yaml.load(text, yaml.BaseLoader)["meter"]
    return yaml.safe_dump(meter, sort_keys=False)


SOUND = sound_meter()
# A key that is not known is of category B, a unit that is not known of category A.
OF_B = f"{SOUND}servise: water\n"
OF_A = SOUND.replace("bore: 150 mm", "bore: 150 millimetre")

RULE = """\
ruleset: own
edition: "1"
rules:
  own-rule:
    category: C
    asks: Is the damping short?
    limits: {longest: 5 s}
    accept: transmitter.damping <= longest
    finding: The damping is {transmitter.damping}.
    remedy: Shorten it.
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
CYCLE = """\
ruleset: own
edition: "1"
quantities:
  one: {means: A, symbol: A, formula: 2 * two, basis: {practice: Common}}
  two: {means: B, symbol: B, formula: one / 2, basis: {practice: Common}}
"""


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a folder of its own."""
    return command_in(tmp_path, environment)


def write(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Write files below a folder."""
    for name, text in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(text if isinstance(text, bytes) else text.encode())


def refused(done: Done, *words: str) -> None:
    """Hold a run that could not be done: its code, and one message with its words."""
    assert (done.returncode, done.stdout) == (2, "")
    for word in words:
        assert word in done.stderr


def found_in(done: Done) -> list[dict[str, Any]]:
    """Give the findings of a report on the screen, which is of its schema."""
    assert done.stderr == ""
    content = json.loads(done.stdout)
    schema = (ROOT / "schemas" / "findings.schema.json").read_text("utf-8")
    assert list(Draft202012Validator(json.loads(schema)).iter_errors(content)) == []
    findings: list[dict[str, Any]] = content["findings"]
    return findings


# --- exit codes -------------------------------------------------------------


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
    """1 says that a finding is at or above the hold, 0 that none is."""
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


# --- reports ----------------------------------------------------------------


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


# --- files that are no meter files ------------------------------------------

BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join(['*' + before] * 9)}]\n"
    for before, name in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize(
    ("content", "rule", "line", "words"),
    [
        (b"", "meter-file-recognised", 1, ("empty",)),
        (b"\n# nothing\n", "meter-file-recognised", 1, ("empty",)),
        (b"pumps: [P-1]\n", "meter-file-recognised", 1, ("no meter",)),
        (b"meters: []\n", "meter-file-recognised", 1, ("empty",)),
        (b"\x7fELF\x00\x01\x02\xff", "file-readable", 1, ()),
        (bytes(range(256)), "file-readable", 3, ("0x80",)),
        (b"[" * 10_000, "file-readable", 1, ()),
        (b"meter: " + b"[" * 10_000 + b"]" * 10_000, "file-readable", 1, ()),
        (b"{a: " * 10_000, "file-readable", 1, ()),
        (BOMB.encode(), "file-readable", None, ("values",)),
        (b"meter: FT-1\nprinciple: 'x\n", "file-readable", 2, ("quote",)),
        (b"meter: FT-1\n" + b"#" * 4_000_000, "file-readable", 1, ("bytes",)),
        ("meter: FT-1\n".encode("utf-16"), "file-readable", 1, ("UTF-16",)),
        (b"meter: FT-1\nmeter: FT-2\n", "key-written-once", 2, ("'meter'",)),
    ],
)
def test_a_file_that_is_no_meter_file_is_a_finding(
    run: Run,
    tmp_path: Path,
    content: bytes,
    rule: str,
    line: int | None,
    words: tuple[str, ...],
) -> None:
    """Whatever a file holds, it is told what is wrong, where, and what to do."""
    write(tmp_path, {"a.yaml": content, "b.yaml": SOUND})
    done = run("check", ".", "--report", "json")
    assert done.returncode == 1
    found = [each for each in found_in(done) if each["rule"] == rule]
    first = found[0]
    assert first["file"] == "a.yaml"
    assert line in (None, first["line"])
    assert first["remedy"]
    assert all(word in first["message"] for word in words)
    content_told = json.loads(done.stdout)
    assert [meter["meter"] for meter in content_told["meters"]] == ["FT-2104"]


def test_hostile_names_reach_the_terminal_inert(run: Run, tmp_path: Path) -> None:
    """Escapes, line ends and direction marks of a file are shown, not sent."""
    text = (
        'meter: "FT-\\e[31m1\\nHeld at A: 9 findings to close."\n'
        'principle: electromagnetic\n"\\u202eservise\\x9b": water\n'
    )
    write(tmp_path, {"a\u202e.yaml": text})
    for form in ("text", "json"):
        said = run("check", ".", "--report", form).stdout
        assert said.replace("\n", "").isprintable()
    lines = run("check", ".").stdout.splitlines()
    assert [line for line in lines if line.startswith("Held")] == lines[-1:]


def test_a_file_name_that_is_no_text_is_reported(run: Run, tmp_path: Path) -> None:
    """A file whose name is no UTF-8 is checked and reported in every format."""
    # This stands for a byte that is no UTF-8.
    write(tmp_path, {"FT-\udcff.yaml": "meter: ["})
    done = run("check", ".", "--report", "text", "--report", "json=out.json")
    assert done.returncode == 1
    assert r"in FT-\udcff.yaml" in done.stdout
    content = json.loads((tmp_path / "out.json").read_text("utf-8"))
    assert content["findings"][0]["file"] == "FT-\udcff.yaml"


# --- paths and workspaces ---------------------------------------------------


def test_a_path_that_is_not_there_is_refused(run: Run, tmp_path: Path) -> None:
    """A missing path ends the run with 2, though other files could be checked."""
    write(tmp_path, {"FT-1.yaml": OF_A})
    done = run("check", "FT-1.yaml", "nowhere")
    refused(done, "nowhere: There is no such file or folder.", "Name a YAML file")


def test_a_folder_without_meter_files_is_refused(run: Run, tmp_path: Path) -> None:
    """A folder that holds no YAML file ends the run with 2."""
    write(tmp_path, {"empty/notes.txt": "nothing"})
    refused(run("check", "empty"), "empty: The folder holds no YAML file.")


def test_a_missing_workspace_file_is_refused(run: Run, tmp_path: Path) -> None:
    """A workspace file that is named and not there ends the run with 2."""
    write(tmp_path, {"FT-1.yaml": SOUND})
    done = run("check", "FT-1.yaml", "--workspace", "none.yaml")
    refused(done, "none.yaml:1:1:", "No such file or directory")


WITH_RULES = "workspace: plant\nrules: rules\n"


@pytest.mark.parametrize(
    ("files", "place", "words"),
    [
        (
            {"configlint.yaml": "workspace: plant\nrules: no-such\n"},
            "configlint.yaml:2:8",
            ("'no-such' does not exist", "Create no-such"),
        ),
        (
            {"configlint.yaml": "workspace: plant\nsites: {a: {folder: ../b}}\n"},
            "configlint.yaml:2:21",
            ("lies outside the workspace", "below the workspace file"),
        ),
        (
            {"configlint.yaml": "workspace: plant\nsite: {}\n"},
            "configlint.yaml:2:1",
            ("'site'", "sites"),
        ),
        ({"configlint.yaml": "workspace: [\n"}, "configlint.yaml:1:12", ("bracket",)),
        (
            {"configlint.yaml": "workspace: a\npolicy: {x: {y: {value: 1}}}\n"},
            "configlint.yaml:2:17",
            ("reason",),
        ),
        (
            {
                "configlint.yaml": "workspace: a\n"
                "policy: {no-such: {lowest: {value: 1 m, reason: b}}}\n"
            },
            "configlint.yaml:2:36",
            ("'no-such'", "configlint rules list"),
        ),
        (
            {
                "configlint.yaml": WITH_RULES,
                "rules/own.yaml": RULE.replace("transmitter.damping <=", "damp <="),
            },
            "own.yaml:8:13",
            ("'damp'", "damp <= longest\n^^^^\n", "rules names"),
        ),
        (
            {
                "configlint.yaml": WITH_RULES,
                "rules/own.yaml": RULE.replace("5 s", "5 m"),
            },
            "own.yaml:8:13",
            ("A time and a length do not go together", "^^^", "of one kind"),
        ),
        (
            {
                "configlint.yaml": WITH_RULES,
                "rules/own.yaml": RULE.partition("    proof:")[0],
            },
            "own.yaml:5:5",
            ("proof",),
        ),
        (
            {
                "configlint.yaml": WITH_RULES,
                "rules/own.yaml": RULE.replace(", {gives: nonconforming}", ""),
            },
            "own.yaml:4:3",
            ("no proof that gives 'nonconforming'",),
        ),
        (
            {"configlint.yaml": WITH_RULES, "rules/own.yaml": CYCLE},
            "own.yaml:",
            ("one", "two"),
        ),
        (
            {"configlint.yaml": WITH_RULES, "rules/notes.txt": ""},
            "rules:1:1",
            ("holds no file of rules",),
        ),
    ],
)
def test_a_faulty_workspace_stops_the_run(
    run: Run,
    tmp_path: Path,
    files: Mapping[str, str],
    place: str,
    words: tuple[str, ...],
) -> None:
    """Nothing is judged by a faulty workspace: place, fault and advice are told."""
    write(tmp_path, {"FT-1.yaml": SOUND, **files})
    done = run("check", "FT-1.yaml")
    refused(done, place, *words)


def test_a_workspace_of_its_own_rules_is_judged_by_them(
    run: Run, tmp_path: Path
) -> None:
    """A rule from the workspace's folder speaks beside the standard ones."""
    damped = f"{METER}transmitter: {{damping: 9 s}}\n"
    files = {"configlint.yaml": WITH_RULES, "rules/own.yaml": RULE, "a/m.yaml": damped}
    write(tmp_path, files)
    done = run("check", "a", "--hold-at", "C")
    assert done.returncode == 1
    assert "C  own-rule, line 3\n     The damping is 9 s.\n" in done.stdout
    assert "Rule set own, edition 1, digest " in done.stdout


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


# --- the other commands -----------------------------------------------------


def test_the_rules_can_be_listed_and_shown(run: Run) -> None:
    """Every listed rule can be shown, in words and for software."""
    listed = json.loads(run("rules", "list", "--report", "json").stdout)
    assert len(listed) > 20
    ids = [each["id"] for each in listed]
    assert ids == sorted(set(ids))
    text = run("rules", "list").stdout
    assert all(f"{each['category']}  {each['id']}\n" in text for each in listed)
    assert max(map(len, text.splitlines())) <= 80
    forms = {"accept" in each: each["id"] for each in listed}
    for name in (*forms.values(), "key-known", "tag-unique"):
        shown = run("rules", "show", name)
        assert shown.returncode == 0
        for title in ("Asks:", "Accept:", "Remedy:", "Basis:"):
            assert title in shown.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("rules", "show", "no-such"), ("'no-such'", "rules list")),
        (("rules", "list", "--report", "xml"), ("'xml'", "text or json")),
        (("rules", "list", "--rules", "nowhere"), ("nowhere",)),
    ],
)
def test_a_wrong_call_about_rules_is_refused(
    run: Run, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """A slip in a call about rules ends with 2 and says what is known."""
    refused(run(*arguments), *words)


def test_schemas_can_be_written_anew(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    """The schemas are written by a module of their own, which needs a folder."""
    command = (sys.executable, "-m", "configlint.schemas")
    for arguments, code in ((("made",), 0), ((), 2), (("nowhere",), 2)):
        (tmp_path / "made").mkdir(exist_ok=True)
        done = subprocess.run(
            (*command, *arguments),
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            encoding="utf-8",
            check=False,
        )
        assert done.returncode == code
        assert "Traceback" not in done.stderr
    assert (tmp_path / "made" / "meter.schema.json").is_file()
