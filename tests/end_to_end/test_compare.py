"""Laws of comparing revisions through the real command, in real repositories."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from tests.commanding import Done, Run, command_in, content_of, refused
from tests.comparisons import (
    PLANT,
    WORKSPACE,
    WRONG,
    A,
    B,
    C,
    meter_text,
    other_meter,
)
from tests.repositories import Repo, git

RANGE = {"current_output.upper_range_value": "300 m3/h"}

Json = dict[str, Any]


@pytest.fixture
def repo(tmp_path: Path) -> Repo:
    """Give a repository of a plant with one commit."""
    made = Repo(tmp_path / "repo")
    made.commit(PLANT)
    return made


@pytest.fixture
def run(repo: Repo, tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in the repository; it must leave nothing behind."""
    spare = tmp_path / "temporary"
    spare.mkdir()
    own = {**environment, "TMPDIR": str(spare), "TEMP": str(spare), "TMP": str(spare)}

    run_in = command_in(repo.folder, own)

    def run_command(*arguments: str, folder: Path = repo.folder) -> Done:
        done = run_in(*arguments, folder=folder)
        assert ".configlint-" not in f"{done.stdout}{done.stderr}"
        assert list(spare.iterdir()) == []
        return done

    return run_command


def compared(done: Done) -> Json:
    """Give a comparison on the screen, which is of its schema."""
    return content_of(done, "comparison")


def rules_of(findings: list[Json]) -> list[tuple[str, str]]:
    """Name findings by their meter and rule."""
    return [(each["meter"], each["rule"]) for each in findings]


# --- what is compared -------------------------------------------------------


@pytest.mark.parametrize("arguments", [("HEAD",), ("HEAD", "HEAD"), ("HEAD..main",)])
def test_a_state_does_not_differ_from_itself(
    run: Run, arguments: tuple[str, ...]
) -> None:
    """A revision compared with itself, or with what is checked out, tells no change."""
    done = run("compare", *arguments)
    assert (done.returncode, done.stderr) == (0, "")
    assert "No setting, finding or rule has changed.\n" in done.stdout
    assert done.stdout.endswith("Not held: no new finding at or above category B.\n")


def test_a_changed_range_is_held_and_explained(repo: Repo, run: Run) -> None:
    """A range that the receiver did not follow is told with what follows from it."""
    repo.commit({A: other_meter("FT-1", **RANGE)})
    done = run("compare", "HEAD~1..HEAD")
    assert done.returncode == 1
    said = " ".join(done.stdout.split())
    for words in (
        "current_output.upper_range_value: 250 m3/h, now 300 m3/h",
        "velocity at span 3.93 to 4.72 m/s; pulse rate at span 6.94 to 8.33 Hz",
        "Not changed with it: receiver.analogue.upper_scale, still 250 m3/h",
        "A receiver-scale-agrees, line",
    ):
        assert words in said
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert run("compare", "HEAD~1..HEAD", "--hold-at", "never").returncode == 0


def test_there_and_back_tell_the_same(repo: Repo, run: Run) -> None:
    """What is new from one revision to another is gone from that to the first."""
    repo.commit({A: other_meter("FT-1", **RANGE), B: other_meter("FT-2")})
    there = compared(run("compare", "HEAD~1", "HEAD", "--report", "json"))
    back = compared(run("compare", "HEAD", "HEAD~1", "--report", "json"))
    assert there["findings"]["new"] == back["findings"]["gone"]
    assert there["findings"]["gone"] == back["findings"]["new"]
    assert there["findings"]["unchanged"] == back["findings"]["unchanged"]
    assert [(each["meter"], len(each["settings"])) for each in there["meters"]] == [
        ("FT-1", 1),
        ("FT-2", 1),
    ]


def test_the_working_tree_is_read_as_it_stands(repo: Repo, run: Run) -> None:
    """What is neither committed nor added counts, and a deleted file is gone."""
    (repo.folder / B).unlink()
    repo.write({"south/d.yaml": other_meter("FT-4")})
    content = compared(run("compare", "HEAD", "--report", "json"))
    changes = {each["meter"]: each["change"] for each in content["meters"]}
    assert changes == {"FT-2": "removed", "FT-4": "added"}
    assert content["before"]["revision"]["commit"] == repo.git("rev-parse", "HEAD")
    assert content["after"]["revision"] is None


def test_paths_keep_the_comparison_to_them(repo: Repo, run: Run) -> None:
    """With a path only what lies below it is compared, though it may be gone by now."""
    repo.git("rm", "--quiet", "-r", "north")
    repo.write({C: other_meter("FT-3", **RANGE)})
    content = compared(run("compare", "HEAD", "north", "--report", "json"))
    assert [each["meter"] for each in content["meters"]] == ["FT-1", "FT-2"]
    below = run("compare", "HEAD", "../north", folder=repo.folder / "south")
    assert "../north/a.yaml" in below.stdout


def test_two_folders_are_compared_without_a_repository(
    run: Run, tmp_path: Path
) -> None:
    """As-found and as-left folders, or two files, are compared in the same way."""
    for name, changes in (("found", WRONG), ("left", {})):
        folder = tmp_path / "handover" / name
        folder.mkdir(parents=True)
        (folder / "FT-1.yaml").write_text(other_meter("FT-1", **changes), "utf-8")
    here = tmp_path / "handover"
    for arguments in (("found", "left"), ("found/FT-1.yaml", "left/FT-1.yaml")):
        done = run("compare", *arguments, "--report", "json", folder=here)
        content = compared(done)
        gone = rules_of(content["findings"]["gone"])
        assert ("FT-1", "calibration-factor-agrees") in gone
        assert content["findings"]["new"] == []


# --- what moves -------------------------------------------------------------


def test_a_renamed_file_and_a_moved_meter_are_followed(repo: Repo, run: Run) -> None:
    """A meter in another file, at another site, keeps its findings."""
    repo.git("mv", B, "north/renamed.yaml")
    repo.commit()
    content = compared(run("compare", "HEAD~1", "HEAD", "--report", "json"))
    (meter,) = content["meters"]
    move = {"what": "file", "before": B, "after": "north/renamed.yaml"}
    assert (meter["moves"], meter["settings"]) == ([move], [])
    repo.git("mv", "north/renamed.yaml", "south/b.yaml")
    repo.commit()
    done = run("compare", "HEAD~2", "HEAD", "--report", "json", "--hold-at", "C")
    content = compared(done)
    assert done.returncode == 0
    assert [each["what"] for each in content["meters"][0]["moves"]] == ["file", "site"]
    assert content["findings"]["new"] == content["findings"]["gone"] == []


def test_moved_lines_and_keys_are_no_change(repo: Repo, run: Run) -> None:
    """Comments, blank lines and reordered sections change nothing."""
    sections = PLANT[B].split("\nsensor:\n")
    assert len(sections) == 2
    text = f"# a remark\n\nsensor:\n{sections[1]}{sections[0]}\n"
    repo.commit({B: text})
    done = run("compare", "HEAD~1", "HEAD")
    assert "No setting, finding or rule has changed.\n" in done.stdout


def test_another_spelling_is_the_same_value(repo: Repo, run: Run) -> None:
    """An amount in another unit is told as the same value, and holds nothing."""
    repo.commit({C: other_meter("FT-3", **{"pulse_output.pulse_weight": "0.01 m3"})})
    done = run("compare", "HEAD~1")
    assert done.returncode == 0
    said = " ".join(done.stdout.split())
    assert "10 l, now 0.01 m3 (written otherwise, same value)" in said


def test_a_workspace_file_alone_is_compared(repo: Repo, run: Run) -> None:
    """For the path of a workspace file, what it changes of the policy is told."""
    repo.write({"configlint.yaml": WORKSPACE + TIGHT})
    content = compared(run("compare", "HEAD", "configlint.yaml", "--report", "json"))
    (limit,) = content["judging"]["limits"]
    assert (limit["before"], limit["after"]) == (None, "2 m/s")


# --- odd repositories -------------------------------------------------------


def test_a_file_that_is_no_yaml_on_one_side(repo: Repo, run: Run) -> None:
    """A file that can't be read on one side is a finding of that side, either way."""
    repo.commit({A: "no YAML: ["})
    done = run("compare", "HEAD~1", "HEAD", "--report", "json")
    content = compared(done)
    assert done.returncode == 1
    assert rules_of(content["findings"]["new"]) == [("", "file-readable")]
    assert [(each["change"], each["unreadable"]) for each in content["meters"]] == [
        ("removed", True)
    ]
    back = run("compare", "HEAD", "HEAD~1")
    assert back.returncode == 0
    assert "could not be read before" in back.stdout


def test_a_deleted_workspace_file_is_told(repo: Repo, run: Run) -> None:
    """Where the workspace file goes, the sites and their policies are told as gone."""
    repo.git("rm", "--quiet", "configlint.yaml")
    repo.commit()
    content = compared(run("compare", "HEAD~1", "HEAD", "--report", "json"))
    assert {each["file"]: each["change"] for each in content["judging"]["files"]} == {
        "configlint.yaml": "removed",
        "north/site.yaml": "removed",
        "south/site.yaml": "removed",
    }
    for meter in content["meters"]:
        assert {each["what"] for each in meter["moves"]} == {"site", "workspace"}
    assert [each["file"] for each in content["findings"]["gone"]] == []


def test_links_lead_out_of_no_tree(repo: Repo, run: Run, tmp_path: Path) -> None:
    """A link in a revision is not followed, to a file outside or to one inside."""
    secret = tmp_path / "secret.yaml"
    secret.write_text(other_meter("FT-SECRET"), "utf-8")
    (repo.folder / "north/out.yaml").symlink_to(secret)
    (repo.folder / "north/up.yaml").symlink_to("../../secret.yaml")
    repo.commit()
    done = run("compare", "HEAD~1", "HEAD")
    assert done.returncode == 0
    assert "FT-SECRET" not in done.stdout
    for name in ("north/out.yaml", "north/up.yaml"):
        assert f"Not read: {name}: it is a link" in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--output=x",), ("--output",)),
        (("HEAD", "--output=x"), ("--output",)),
        (("--", "--output=x"), ("is an option by its first character",)),
        (("--", "HEAD", "--output=x"), ("is an option by its first character",)),
        (("--output=x..HEAD",), ("--output",)),
        (("mian",), ("There is no revision 'mian'", "Write main")),
        (("HEAD~7", "HEAD"), ("There is no revision 'HEAD~7'",)),
        (("north",), ("nothing to compare this with",)),
        ((), ("BEFORE",)),
        (("HEAD", "--hold-at", "D"), ("'D'", "A, B, C, never")),
        (("HEAD", "--report", "xml"), ("'xml'", "text or json or markdown")),
        (("HEAD", "--rules-from", "nowhere"), ("There is no revision 'nowhere'",)),
        (("HEAD", "--workspace", "none.yaml"), ("none.yaml", "can't be read")),
    ],
)
def test_a_wrong_call_is_refused(
    repo: Repo, run: Run, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """A slip ends with 2 and says what was written; no revision is an option to git."""
    refused(run("compare", *arguments), *words)
    assert not (repo.folder / "x").exists()


def test_a_branch_named_like_an_option_can_be_compared(repo: Repo, run: Run) -> None:
    """By its whole name, a branch whose name begins with a hyphen is a revision."""
    repo.git("update-ref", "refs/heads/--output=x", "HEAD")
    done = run("compare", "refs/heads/--output=x")
    assert done.returncode == 0
    assert done.stdout.startswith("From refs/heads/--output=x (")


def test_a_shallow_clone_says_what_to_fetch(
    repo: Repo, run: Run, tmp_path: Path
) -> None:
    """In a shallow clone the message says so, and by which command it is made whole."""
    repo.commit({A: other_meter("FT-1", **RANGE)})
    clone = ("clone", "--quiet", "--depth=1", f"file://{repo.folder}", "shallow")
    git(tmp_path, *clone)
    here = tmp_path / "shallow"
    for arguments in (
        ("compare", "HEAD~1"),
        ("compare", "HEAD~1..HEAD"),
        ("check", ".", "--since", "HEAD~1"),
        ("check", ".", "--rules-from", "HEAD~1"),
    ):
        refused(run(*arguments, folder=here), "This clone is shallow", "--unshallow")
    assert run("compare", "HEAD", folder=here).returncode == 0


def test_where_there_is_no_repository_that_is_said(run: Run, tmp_path: Path) -> None:
    """Outside a repository a revision is refused with what can be done instead."""
    done = run("compare", "HEAD", folder=tmp_path)
    refused(done, "No git repository can be read here", "BEFORE and AFTER")
    check = run("check", ".", "--since", "HEAD", folder=tmp_path)
    refused(check, "No git repository can be read here", "compare two folders")


def test_hostile_text_stays_text_in_every_format(repo: Repo, run: Run) -> None:
    """Names and values of a file arrive inert on the screen and in a comment."""
    hostile = "FT-\x1b[31m | <b>@all [x](http://x.invalid)\nHeld at A: 9"
    odd = "north/\u202eodd|<b>.yaml"
    repo.commit({odd: meter_text({"servise": hostile}, hostile)})
    for form in ("text", "json", "markdown"):
        done = run("compare", "HEAD~1", "HEAD", "--report", form)
        assert done.returncode == 1
        assert done.stdout.replace("\n", "").isprintable()
    assert "<b>" not in done.stdout
    lines = run("compare", "HEAD~1", "HEAD").stdout.splitlines()
    assert [line for line in lines if line.startswith("Held")] == lines[-1:]


def test_reports_can_go_to_files(repo: Repo, run: Run) -> None:
    """One run writes a comment and a report for software beside the text."""
    repo.commit({A: other_meter("FT-1", **RANGE)})
    files = ("--report", "markdown=out.md", "--report", "json=out.json")
    done = run("compare", "HEAD~1", "HEAD", *files, "--report", "text")
    assert done.returncode == 1
    comment = (repo.folder / "out.md").read_text("utf-8")
    assert comment.startswith("### Flow meter settings, HEAD\\~1 (")
    content = json.loads((repo.folder / "out.json").read_text("utf-8"))
    assert content["hold"] == {"at": "B", "held": True}
    assert done.stdout == run("compare", "HEAD~1", "HEAD").stdout


def test_two_runs_give_one_report(repo: Repo, run: Run) -> None:
    """The same two revisions give the same report to the byte, as of one day."""
    repo.commit({A: other_meter("FT-1", **RANGE)})
    arguments = (
        "compare",
        "HEAD~1",
        "HEAD",
        "--as-of",
        "2026-01-02",
        "--report",
        "json",
    )
    assert run(*arguments).stdout == run(*arguments).stdout


def test_a_hook_of_the_repository_is_never_run(
    repo: Repo, run: Run, tmp_path: Path
) -> None:
    """Reading revisions runs nothing that a repository brings along."""
    trap = tmp_path / "trap.sh"
    trap.write_text(f"#!/bin/sh\ntouch '{tmp_path}/caught'\n", "utf-8")
    trap.chmod(0o755)
    repo.git("config", "core.fsmonitor", str(trap))
    for hook in ("post-index-change", "post-checkout", "reference-transaction"):
        hooked = repo.folder / ".git" / "hooks" / hook
        hooked.parent.mkdir(exist_ok=True)
        os.link(trap, hooked)
    assert run("compare", "HEAD").returncode == 0
    assert run("check", ".", "--since", "HEAD").returncode == 0
    assert not (tmp_path / "caught").exists()


def test_a_workspace_above_the_temporary_folder_is_of_no_concern(
    repo: Repo, run: Run, tmp_path: Path
) -> None:
    """What lies around the place of temporary files never judges a revision."""
    repo.git("rm", "--quiet", "configlint.yaml")
    repo.commit()
    (tmp_path / "configlint.yaml").write_text("workspace: above\n", "utf-8")
    done = run("compare", "HEAD~1", "HEAD", "--report", "json")
    for meter in compared(done)["meters"]:
        moved = {each["what"]: each["after"] for each in meter["moves"]}
        assert moved["workspace"] == ""


# --- check since, and by whose rules ----------------------------------------

TIGHT = """
policy:
  velocity-at-span-in-band: {highest: {value: 2 m/s, reason: Sand}}
"""


def test_a_branch_is_checked_for_what_it_changes(repo: Repo, run: Run) -> None:
    """Since a branch left main, the changed files are told, and what is new in them."""
    repo.git("switch", "--quiet", "--create", "work")
    repo.commit({B: other_meter("FT-2", **WRONG, servise="water")})
    repo.git("switch", "--quiet", "main")
    repo.commit({C: other_meter("FT-3", **RANGE)})
    repo.git("switch", "--quiet", "work")
    done = run("check", ".", "--since", "main")
    assert done.returncode == 1
    assert "B  key-known, line" in done.stdout
    lines = [line for line in done.stdout.splitlines() if line.endswith(", new")]
    assert len(lines) == 1
    content = content_of(run("check", ".", "--since", "main", "--report", "json"))
    assert {each["file"] for each in content["findings"]} == {B}
    assert len(content["since"]["new"]) == 1
    assert content["since"]["commit"] == repo.git("rev-parse", "main~1")


def test_a_change_can_not_relax_what_judges_it(repo: Repo, run: Run) -> None:
    """By the rules of main, a change of policy and rules does not help the change."""
    repo.commit({"configlint.yaml": WORKSPACE + TIGHT})
    repo.git("switch", "--quiet", "--create", "work")
    repo.commit(
        {"configlint.yaml": WORKSPACE, "north/configlint.yaml": "workspace: x\n"}
    )
    rule = "velocity-at-span-in-band"
    plain = run("check", ".")
    assert rule not in plain.stdout
    by_main = run("check", ".", "--rules-from", "main")
    assert by_main.stdout.count(f"  {rule}, line") == 3
    assert "by policy (standard 10 m/s): Sand" in " ".join(by_main.stdout.split())
    assert "Judged by the rules of main (" in by_main.stdout
    both = compared(
        run("compare", "main", "work", "--rules-from", "main", "--report", "json")
    )
    assert both["findings"]["new"] == both["findings"]["gone"] == []
    assert {each["file"]: each["kind"] for each in both["judging"]["files"]} == {
        "configlint.yaml": "not judged by",
        "north/configlint.yaml": "not judged by",
    }
    assert (
        "north/configlint.yaml (not judged by) added"
        in run("compare", "main", "work", "--rules-from", "HEAD~1").stdout
    )
    assert both["rules_from"]["revision"] == "main"


def test_a_workspace_above_the_repository_is_refused(
    repo: Repo, run: Run, tmp_path: Path
) -> None:
    """A workspace file that no revision holds stops the comparison, with a reason."""
    repo.git("rm", "--quiet", "configlint.yaml")
    repo.commit()
    (tmp_path / "configlint.yaml").write_text("workspace: outer\n", "utf-8")
    refused(run("compare", "HEAD"), "lies outside the repository")
