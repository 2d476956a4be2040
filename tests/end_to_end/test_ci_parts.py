"""Laws of what a repository of meters copies into its own checks: each part runs.

The shell steps of the composite action, the GitLab job of the README and the hook are
taken from their files as they stand and run in a repository with real commits, with
nothing on the path but git and configlint. Installing is the one step that is not run,
since it needs a network.
"""

from __future__ import annotations

import json
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from tests.repositories import Repo

ACTION = ".github/actions/check/action.yml"
WORKFLOW = ".github/workflows/meters.yml"
HOOKS = ".pre-commit-hooks.yaml"
SHELL = ("--noprofile", "--norc", "-e", "-o", "pipefail", "-c")
"""How the code host starts bash for a step that asks for it."""

COPIED = (
    "configlint.yaml",
    "sites/north/site.yaml",
    "sites/north/FT-1201.yaml",
    "sites/north/FT-1203.yaml",
    "sites/ridge/site.yaml",
    "sites/marsh/site.yaml",
)
METER = "sites/north/FT-1201.yaml"


class Ran(NamedTuple):
    """What a step printed, what it wrote into the job's summary, and its exit code."""

    printed: str
    summary: str
    code: int


def load(file: Path) -> Any:
    """Read a YAML file."""
    return yaml.safe_load(file.read_text("utf-8"))


def refusal(schema: str, file: Path) -> str:
    """Give what a published schema says against a file, empty where it conforms."""
    command = ("-m", "check_jsonschema", "--builtin-schema", schema, str(file))
    done = subprocess.run(
        (sys.executable, *command), capture_output=True, encoding="utf-8", check=False
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr


@pytest.fixture
def repo(root: Path, tmp_path: Path) -> Repo:
    """Give a repository of an invented plant: one sound meter, one that is not."""
    made = Repo(tmp_path / "plant")
    plant = root / "examples" / "water"
    made.commit({name: (plant / name).read_text("utf-8") for name in COPIED})
    return made


@pytest.fixture
def alone(root: Path, tmp_path: Path) -> dict[str, str]:
    """Give an environment with git and configlint on the path, and nothing else."""
    programs = tmp_path / "bin"
    programs.mkdir()
    git = shutil.which("git")
    assert git, "git is needed for these tests"
    (programs / "git").symlink_to(git)
    command = programs / "configlint"
    start = "from configlint.commands import main\nmain()\n"
    command.write_text(f"#!{sys.executable}\n{start}", "utf-8")
    command.chmod(0o755)
    return {
        "PATH": str(programs),
        "HOME": str(tmp_path),
        "PYTHONPATH": str(root),
        "PYTHONUTF8": "1",
        "XDG_CACHE_HOME": str(tmp_path / "cache"),
    }


def run_shell(script: str, folder: Path, environment: Mapping[str, str]) -> Ran:
    """Run a script as the code host runs a step."""
    bash = shutil.which("bash")
    assert bash, "bash is needed for these tests"
    summary = folder.parent / "summary.md"
    summary.write_text("", "utf-8")
    done = subprocess.run(
        (bash, *SHELL, script),
        cwd=folder,
        env={**environment, "GITHUB_STEP_SUMMARY": str(summary)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
    )
    return Ran(done.stdout, summary.read_text("utf-8"), done.returncode)


def steps_of(
    root: Path, given: Mapping[str, str]
) -> Iterator[tuple[str, str, dict[str, str]]]:
    """Give the name, script and variables of each step of the action that runs."""
    action = load(root / ACTION)
    inputs = {name: each["default"] for name, each in action["inputs"].items()}
    assert set(given) <= set(inputs)
    inputs |= given
    for step in action["runs"]["steps"]:
        if "run" not in step or "pip install" in step["run"]:
            continue
        condition = step.get("if")
        assert condition in (None, "inputs.base != ''")
        if condition and not inputs["base"]:
            continue
        variables = {
            name: re.sub(r"\$\{\{ inputs\.([a-z-]+) \}\}", lambda m: inputs[m[1]], text)
            for name, text in step.get("env", {}).items()
        }
        yield step["name"], step["run"], variables


def run_action(
    root: Path, repo: Repo, alone: Mapping[str, str], **given: str
) -> dict[str, Ran]:
    """Run the action's steps until one fails, and give what each did."""
    inputs = {name.replace("_", "-"): text for name, text in given.items()}
    ran: dict[str, Ran] = {}
    for name, script, variables in steps_of(root, inputs):
        ran[name] = run_shell(script, repo.folder, {**alone, **variables})
        if ran[name].code:
            break
    return ran


def change(repo: Repo, written: str, instead: str, name: str = METER) -> str:
    """Commit a change of one line on a branch, and give the commit it starts from."""
    base = repo.git("rev-parse", "HEAD")
    text = (repo.folder / name).read_text("utf-8")
    assert text.count(written) == 1
    repo.git("checkout", "--quiet", "-b", "change")
    repo.commit({name: text.replace(written, instead)})
    return base


REVIEW = "Say what the change does"
CHECK = "Check the meters"


def test_a_mistake_in_a_pull_request_is_held(
    root: Path, repo: Repo, alone: dict[str, str]
) -> None:
    """A wrong digit is compared, annotated at its line, written as SARIF, and held."""
    base = change(repo, "upper_scale: 700 m3/h", "upper_scale: 770 m3/h")
    ran = run_action(root, repo, alone, base=base)
    assert ran[REVIEW].code == 0, ran[REVIEW].printed
    assert "receiver-scale-agrees" in ran[REVIEW].summary
    assert ran[CHECK].code == 1, ran[CHECK].printed
    errors = [line for line in ran[CHECK].printed.splitlines() if "::error" in line]
    assert len(errors) == 1
    assert f"file={METER},line=155" in errors[0]
    assert "FT-1203" not in ran[CHECK].printed
    sarif = json.loads((repo.folder / "configlint.sarif").read_text("utf-8"))
    (result,) = sarif["runs"][0]["results"]
    assert result["ruleId"] == "receiver-scale-agrees"
    report = json.loads((repo.folder / "configlint.json").read_text("utf-8"))
    assert report["summary"]["hold"] == {"at": "B", "held": True}


def test_a_sound_change_passes(root: Path, repo: Repo, alone: dict[str, str]) -> None:
    """A change without a mistake passes, whatever stands in files it leaves alone."""
    base = change(repo, "damping: 3 s", "damping: 4 s")
    ran = run_action(root, repo, alone, base=base)
    assert [each.code for each in ran.values()] == [0, 0], ran
    assert "4 s" in ran[REVIEW].summary
    assert "::error" not in ran[CHECK].printed


POLICY = "policy:\n  receiver-scale-agrees:\n    tolerance: {value: 50 %, reason: x}\n"
CONCESSION = (
    "concessions:\n  - rule: receiver-scale-agrees\n    meter: FT-1201\n"
    "    reason: Looks right to me\n    granted_by: Ann Invented\n"
    f"    granted_on: {date.today() - timedelta(days=1)}\n"
    f"    expires_on: {date.today() + timedelta(days=90)}\n"
)


def excuse(repo: Repo, by: str) -> str:
    """Commit a mistake with what would excuse it, and give the base of the change."""
    base = change(repo, "upper_scale: 700 m3/h", "upper_scale: 770 m3/h")
    workspace = (repo.folder / "configlint.yaml").read_text("utf-8")
    assert "policy:" not in workspace
    own = {"configlint.yaml": workspace + POLICY}
    repo.commit(own if by == "policy" else {"concessions.yaml": CONCESSION})
    return base


TOLD = {
    "policy": "receiver-scale-agrees, tolerance at Invented Valley Water: the standard",
    "concession": "Concession of receiver-scale-agrees for FT-1201, added.",
}
"""What the summary of the change says of what it would be excused by."""


@pytest.mark.parametrize("by", TOLD)
def test_a_change_can_not_excuse_itself(
    by: str, root: Path, repo: Repo, alone: dict[str, str]
) -> None:
    """Neither a policy nor a concession that comes with a mistake excuses it, and a
    reviewer is told of it."""
    base = excuse(repo, by)
    alone_with_it = run_shell("configlint check .", repo.folder, alone)
    held = [
        line
        for line in alone_with_it.printed.split("FT-1203")[0].splitlines()
        if "receiver-scale-agrees" in line and "conceded" not in line
    ]
    assert held == []
    ran = run_action(root, repo, alone, base=base)
    assert TOLD[by] in ran[REVIEW].summary
    assert ran[CHECK].code == 1
    assert "receiver-scale-agrees" in ran[CHECK].printed


@pytest.mark.parametrize("by", TOLD)
def test_in_gitlab_a_change_can_not_excuse_itself(
    by: str, root: Path, repo: Repo, alone: dict[str, str]
) -> None:
    """The README's job gives a merge request the same protection."""
    base = excuse(repo, by)
    merge = {**alone, "CI_MERGE_REQUEST_DIFF_BASE_SHA": base}
    ran = run_gitlab(root, repo, merge)
    assert ran.code == 1
    assert "receiver-scale-agrees" in ran.printed
    assert "FT-1203" not in ran.printed
    assert TOLD[by] in (repo.folder / "change.md").read_text("utf-8")


def test_in_gitlab_a_sound_change_passes(
    root: Path, repo: Repo, alone: dict[str, str]
) -> None:
    """A merge request without a mistake passes, whatever stands in other files."""
    base = change(repo, "damping: 3 s", "damping: 4 s")
    ran = run_gitlab(root, repo, {**alone, "CI_MERGE_REQUEST_DIFF_BASE_SHA": base})
    assert ran.code == 0, ran.printed


@pytest.mark.parametrize("by", TOLD)
def test_the_hook_of_a_change_holds_what_excuses_itself(
    by: str, root: Path, repo: Repo, alone: dict[str, str]
) -> None:
    """A commit that would excuse its own mistake is held before it is made."""
    excuse(repo, by)
    repo.git("reset", "--quiet", "--mixed", "main")
    _, hook = load(root / HOOKS)
    assert hook["pass_filenames"] is False
    done = run_shell(shlex.join(shlex.split(hook["entry"])), repo.folder, alone)
    assert done.code == 1
    said = " ".join(done.printed.split())
    assert "not accepted yet (--trust-change): 1 finding" in said


def test_the_night_checks_everything(
    root: Path, repo: Repo, alone: dict[str, str]
) -> None:
    """Without a base all files are checked, and the summary tells of all of them."""
    ran = run_action(root, repo, alone, hold_at="never", json="night.json")
    assert list(ran) == [CHECK]
    assert ran[CHECK].code == 0, ran[CHECK].printed
    assert "FT-1203" in ran[CHECK].summary
    report = json.loads((repo.folder / "night.json").read_text("utf-8"))
    assert {each["meter"] for each in report["meters"]} == {"FT-1201", "FT-1203"}


@pytest.mark.parametrize(
    "given",
    [
        {"paths": "$(touch taken)"},
        {"paths": "`touch taken`"},
        {"paths": "; touch taken"},
        {"base": "$(touch taken)"},
        {"base": "--output=taken"},
        {"hold_at": "B; touch taken"},
        {"json": "$(touch taken)/x"},
    ],
)
def test_an_input_is_never_run(
    given: dict[str, str], root: Path, repo: Repo, alone: dict[str, str]
) -> None:
    """What comes in as an input is text to the shell and to git, whatever it says."""
    ran = run_action(root, repo, alone, **given)
    assert [each.code for each in ran.values()][-1] == 2, ran
    assert not list(repo.folder.rglob("taken"))


def test_every_part_conforms_to_its_published_schema(root: Path) -> None:
    """Action and workflow are ones that the host's published schemas accept."""
    assert refusal("vendor.github-actions", root / ACTION) == ""
    assert refusal("vendor.github-workflows", root / WORKFLOW) == ""


def test_the_workflow_uses_the_action_as_it_is(root: Path) -> None:
    """The workflow gives the action inputs that it has, and bounds every job."""
    inputs = set(load(root / ACTION)["inputs"])
    workflow = load(root / WORKFLOW)
    assert workflow["permissions"] == {"contents": "read"}
    for job in workflow["jobs"].values():
        assert job["timeout-minutes"] <= 30
        (used,) = [
            s for s in job["steps"] if s.get("uses") == "./.github/actions/check"
        ]
        assert set(used["with"]) <= inputs
        assert not any("${{" in step.get("run", "") for step in job["steps"])
    review = workflow["jobs"]["review"]
    assert review["steps"][0]["with"]["fetch-depth"] == 0
    assert review["permissions"] == {"contents": "read", "security-events": "write"}


def test_no_text_of_an_input_is_pasted_into_a_script(root: Path) -> None:
    """The action's scripts name variables; expressions stand in `env` alone."""
    scripts = [
        step["run"] for step in load(root / ACTION)["runs"]["steps"] if "run" in step
    ]
    assert len(scripts) == 3
    assert not any("${{" in script for script in scripts)


def gitlab_job(root: Path) -> str:
    """Give the GitLab job that the README shows."""
    text = (root / "README.md").read_text("utf-8")
    (job,) = re.findall(r"```yaml\n(meters:\n.*?)```", text, re.DOTALL)
    return str(job)


def run_gitlab(root: Path, repo: Repo, alone: Mapping[str, str]) -> Ran:
    """Run the README's script, all of it in one shell as the host does."""
    install, *scripts = yaml.safe_load(gitlab_job(root))["meters"]["script"]
    assert install.startswith("pip install ")
    return run_shell("\n".join(scripts), repo.folder, alone)


def test_the_gitlab_job_conforms_to_its_published_schema(
    root: Path, tmp_path: Path
) -> None:
    """The README's job is one that the host's published schema accepts."""
    file = tmp_path / ".gitlab-ci.yml"
    file.write_text(gitlab_job(root), "utf-8")
    assert refusal("vendor.gitlab-ci", file) == ""
    file.write_text(gitlab_job(root).replace("script:", "scripts:"), "utf-8")
    assert refusal("vendor.gitlab-ci", file) != ""


def test_the_gitlab_job_runs(root: Path, repo: Repo, alone: dict[str, str]) -> None:
    """The README's script checks the plant and writes the reports it promises."""
    job = yaml.safe_load(gitlab_job(root))["meters"]
    ran = run_gitlab(root, repo, alone)
    assert ran.code == 1, ran
    assert "FT-1203" in ran.printed
    assert not (repo.folder / "change.md").exists()
    reports = job["artifacts"]["reports"]
    quality = json.loads((repo.folder / reports["codequality"]).read_text("utf-8"))
    assert {each["location"]["path"] for each in quality} == {
        "sites/north/FT-1203.yaml"
    }
    assert (repo.folder / reports["junit"]).read_text("utf-8").startswith("<?xml")


def test_the_hook_runs(root: Path, repo: Repo, alone: dict[str, str]) -> None:
    """The hook checks all files of the repository before a commit."""
    hooks = load(root / HOOKS)
    for hook in hooks:
        assert hook["language"] == "python"
        assert re.search(hook["files"], METER)
        assert hook["pass_filenames"] is False
    hook = hooks[0]
    done = run_shell(shlex.join(shlex.split(hook["entry"])), repo.folder, alone)
    assert done.code == 1
    assert "FT-1203" in done.printed
    assert "2 meters in 2 files" in done.printed
