"""Laws of a change that would excuse itself, through the real command."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configlint.data import data_folder
from tests.commanding import Done, Run, command_in
from tests.comparisons import SITES, WORKSPACE, other_meter
from tests.repositories import Repo

A = "north/a.yaml"
WRONG = {"transmitter.calibration_factor": "1.1"}
TODAY = date.today()
CONCESSION = {
    "concessions.yaml": (
        "concessions:\n  - rule: calibration-factor-agrees\n    meter: FT-1\n"
        "    reason: Looks right to me\n    granted_by: Ann Invented\n"
        f"    granted_on: {TODAY - timedelta(days=1)}\n"
        f"    expires_on: {TODAY + timedelta(days=90)}\n"
    )
}
COMPARE = ("compare", "main..HEAD")
CHECK = ("check", ".", "--since", "main")


@pytest.fixture
def repo(tmp_path: Path) -> Repo:
    """Give a repository with a sound meter, on a branch of main."""
    made = Repo(tmp_path / "repo")
    made.commit({**SITES, A: other_meter("FT-1")})
    made.git("switch", "--quiet", "--create", "work")
    return made


@pytest.fixture
def run(repo: Repo, environment: dict[str, str]) -> Run:
    """Give the real command, run in the repository."""
    return command_in(repo.folder, environment)


def content_of(done: Done, schema: str) -> dict[str, Any]:
    """Give a report on the screen, which is of its schema."""
    content: dict[str, Any] = json.loads(done.stdout)
    file = data_folder("schemas") / f"{schema}.schema.json"
    shape = json.loads(file.read_text("utf-8"))
    assert list(Draft202012Validator(shape).iter_errors(content)) == []
    return content


@pytest.mark.parametrize("command", [COMPARE, CHECK])
def test_a_change_that_concedes_its_own_mistake_is_held(
    command: tuple[str, ...], repo: Repo, run: Run
) -> None:
    """It ends with 1, and says so first and last; an option accepts it."""
    repo.commit({A: other_meter("FT-1", **WRONG), **CONCESSION})
    done = run(*command)
    assert done.returncode == 1
    head, *_, verdict = done.stdout.splitlines()
    if command == COMPARE:
        head = done.stdout.splitlines()[2]
    told = "Conceded by this very change, not accepted yet (--trust-change): 1 finding"
    assert head == told
    assert verdict.endswith("of which 1 conceded by this very change.")
    said = " ".join(done.stdout.split())
    assert "by Ann Invented: Looks right to me" in said
    assert "Concession of calibration-factor-agrees for FT-1, added." in said
    trusted = run(*command, "--trust-change")
    assert trusted.returncode == 0
    accepted = "Accepted by --trust-change: 1 conceded by this very change."
    assert trusted.stdout.splitlines()[-1].endswith(accepted)


@pytest.mark.parametrize("command", [COMPARE, CHECK])
def test_by_the_rules_of_main_it_is_listed(
    command: tuple[str, ...], repo: Repo, run: Run
) -> None:
    """With --rules-from the finding is plainly open, and the concession is listed."""
    repo.commit({A: other_meter("FT-1", **WRONG), **CONCESSION})
    done = run(*command, "--rules-from", "main")
    assert done.returncode == 1
    assert "not accepted yet" not in done.stdout
    assert "Concession of calibration-factor-agrees for FT-1, added." in done.stdout


@pytest.mark.parametrize(
    ("command", "schema"), [(COMPARE, "comparison"), (CHECK, "findings")]
)
def test_software_is_told_too(
    command: tuple[str, ...], schema: str, repo: Repo, run: Run
) -> None:
    """The JSON has each excused finding by its fingerprint, with what excuses it."""
    repo.commit({A: other_meter("FT-1", **WRONG), **CONCESSION})
    content = content_of(run(*command, "--report", "json"), schema)
    told = content if schema == "comparison" else content["since"]
    (excuse,) = told["excuses"]
    assert (excuse["by"], told["trusted"]) == ("concession", False)
    if schema == "comparison":
        assert content["hold"] == {"at": "B", "held": True}
        (change,) = content["judging"]["concessions"]
        assert (change["change"], change["before"]) == ("added", None)
        assert change["after"]["granted_by"] == "Ann Invented"


def test_a_comparison_of_what_is_worse_in_rules_is_of_its_schema(
    repo: Repo, run: Run
) -> None:
    """Rules, limits, readings and a revision that stays are told to software."""
    own = 'ruleset: own\nedition: "1"\nrules:\n'
    policy = (
        f"{WORKSPACE}rules: rules\npolicy:\n  receiver-scale-agrees:\n"
        "    tolerance: {value: 30 %, reason: Hurry}\n"
    )
    repo.commit(
        {
            A: other_meter("FT-1", **{"receiver.analogue.upper_scale": "300 m3/h"}),
            "configlint.yaml": policy,
            "rules/own.yaml": own.replace("rules:\n", ""),
        }
    )
    done = run(*COMPARE, "--report", "json")
    content = content_of(done, "comparison")
    assert done.returncode == 1
    (limit,) = content["judging"]["limits"]
    assert (limit["direction"], limit["reason"]) == ("looser", "Hurry")
    assert [each["by"] for each in content["excuses"]] == ["rules"]
    (meter,) = content["meters"]
    (reading,) = meter["readings"]
    assert (reading["of"], reading["before"]) == ("The receiver", 0.0)
    assert reading["after"] == pytest.approx(0.2)
    assert meter["revision_not_raised"] == "2"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("compare", "main", "--rules-from", "main", "--trust-change"), "give one of"),
        ((*CHECK, "--rules-from", "main", "--trust-change"), "give one of"),
        (("check", ".", "--trust-change"), "without --since there is no change"),
    ],
)
def test_trust_that_says_nothing_is_refused(
    arguments: tuple[str, ...], words: str, run: Run
) -> None:
    """Where the change's own rules do not judge anyway, the option is a slip."""
    done = run(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert words in " ".join(done.stderr.replace("│", " ").split())


def test_faulty_rules_of_the_change_do_not_stop_those_of_main(
    repo: Repo, run: Run
) -> None:
    """A file of concessions that can't be read is told, and judged without."""
    broken = {"concessions.yaml": "concessions: [\n"}
    repo.commit({A: other_meter("FT-1", **WRONG), **broken})
    done = run(*COMPARE, "--rules-from", "main")
    assert done.returncode == 1
    assert "Can't be taken: concessions.yaml:" in " ".join(done.stdout.split())
    assert run(*COMPARE).returncode == 2
