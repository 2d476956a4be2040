"""Laws of the command `check` in a workspace: paths, own rules, and its faults."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.builders import DAMPING_RULE
from tests.commanding import Run, command_in, refused
from tests.sound_meters import meter_text
from tests.workspaces import METER, write

SOUND = meter_text()
CYCLE = """\
ruleset: own
edition: "1"
quantities:
  one: {means: A, symbol: A, formula: 2 * two, basis: {practice: Common}}
  two: {means: B, symbol: B, formula: one / 2, basis: {practice: Common}}
"""
WITH_RULES = "workspace: plant\nrules: rules\n"
BROKEN = ", {with: {transmitter.damping: 9 s}, gives: nonconforming}"


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a folder of its own."""
    return command_in(tmp_path, environment)


def test_a_path_that_is_not_there_is_refused(run: Run, tmp_path: Path) -> None:
    """A missing path ends the run with 2, though other files could be checked."""
    write(tmp_path, {"FT-1.yaml": SOUND})
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
                "rules/own.yaml": DAMPING_RULE.replace(
                    "transmitter.damping <=", "damp <="
                ),
            },
            "own.yaml:8:13",
            ("'damp'", "damp <= longest\n^^^^\n", "rules names"),
        ),
        (
            {
                "configlint.yaml": WITH_RULES,
                "rules/own.yaml": DAMPING_RULE.replace("5 s", "5 m"),
            },
            "own.yaml:8:13",
            ("A time and a length do not go together", "^^^", "of one kind"),
        ),
        (
            {
                "configlint.yaml": WITH_RULES,
                "rules/own.yaml": DAMPING_RULE.partition("    proof:")[0],
            },
            "own.yaml:5:5",
            ("proof",),
        ),
        (
            {
                "configlint.yaml": WITH_RULES,
                "rules/own.yaml": DAMPING_RULE.replace(BROKEN, ""),
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
    files = {
        "configlint.yaml": WITH_RULES,
        "rules/own.yaml": DAMPING_RULE,
        "a/m.yaml": damped,
    }
    write(tmp_path, files)
    done = run("check", "a", "--hold-at", "C")
    assert done.returncode == 1
    assert "C  own-damping, line 3\n     The damping is 9 s.\n" in done.stdout
    assert "Rule set own, edition 1, digest " in done.stdout
