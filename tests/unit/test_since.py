"""Laws of a check since a revision: what has changed is told, and what it meets."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from configlint.check import check
from configlint.errors import RunError
from configlint.outputs.json import write as write_json
from configlint.outputs.text import write as write_text
from configlint.report import Report
from configlint.review.since import Options, check_by_rules_of, check_since
from tests.comparisons import (
    DAY,
    PLANT,
    SITES,
    WORKSPACE,
    WRONG,
    A,
    B,
    C,
    concession,
    other_meter,
)
from tests.repositories import Repo
from tests.workspaces import sentences

BROKEN = {"south/broken.yaml": "meter: ["}
TODAY = Options(run_date=DAY)
ALL = (Path(),)


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """Give a repository of a plant, on a branch that has left main."""
    made = Repo(tmp_path / "repo")
    made.commit({**PLANT, **BROKEN})
    made.git("switch", "--quiet", "--create", "work")
    monkeypatch.chdir(made.folder)
    return made


def told(report: Report) -> list[tuple[str, str, bool]]:
    """Give file, rule and whether it is new, of all findings above category C."""
    above = {each.fingerprint for each in report.findings if each.category != "C"}
    return [
        one
        for one, each in zip(told_all(report), report.findings, strict=True)
        if each.fingerprint in above
    ]


def told_all(report: Report) -> list[tuple[str, str, bool]]:
    """Give file, rule and whether it is new, of all findings."""
    return [
        (each.place.file, each.rule, each.fingerprint in report.new)
        for each in report.findings
    ]


def since(*paths: str, rules: str | None = None) -> Report:
    """Check some paths since main, all of them unless some are named."""
    return check_since([Path(path) for path in paths or (".",)], "main", rules, TODAY)


# --- what has changed -------------------------------------------------------


def test_nothing_is_told_where_nothing_has_changed(repo: Repo) -> None:
    """Without a change no file is judged, and what was wrong before is not told."""
    report = since()
    assert (report.findings, report.meters, report.files) == ((), (), 0)
    assert report.since is not None
    assert (report.since.judged, report.since.new) == (0, ())
    assert report.since.base.digest == repo.git("rev-parse", "main")


def test_the_findings_of_changed_files_are_told(repo: Repo) -> None:
    """Of a changed file all findings are told, and which of them are new."""
    repo.write({B: other_meter("FT-2", **WRONG, servise="water")})
    report = since()
    assert told(report) == [
        (B, "calibration-factor-agrees", False),
        (B, "key-known", True),
    ]
    assert [each.subject.meter for each in report.meters] == ["FT-2"]
    assert report.files == 1
    assert report.since is not None
    assert report.since.judged == 4


def test_what_main_has_gained_since_is_no_change(repo: Repo) -> None:
    """Files that only the other branch has changed are not told."""
    repo.commit({A: other_meter("FT-1", servise="water")})
    repo.git("switch", "--quiet", "main")
    repo.commit({C: other_meter("FT-3", servise="water")})
    repo.git("switch", "--quiet", "work")
    assert told(since()) == [(A, "key-known", True)]


def test_line_ends_are_no_change(repo: Repo) -> None:
    """A file that only has other line ends is not told."""
    (repo.folder / B).write_bytes(PLANT[B].replace("\n", "\r\n").encode())
    assert since().files == 0


def test_a_new_file_is_new_in_all(repo: Repo) -> None:
    """All findings of a file that was not there before are new."""
    repo.write({"south/d.yaml": other_meter("FT-4", **WRONG), "south/e.yaml": "- x\n"})
    assert told(since()) == [
        ("south/d.yaml", "calibration-factor-agrees", True),
        ("south/e.yaml", "meter-file-recognised", True),
    ]


def test_a_renamed_file_has_no_new_findings(repo: Repo) -> None:
    """A file that was moved to another site is told with its findings, none new."""
    repo.git("mv", B, "south/b.yaml")
    assert told(since()) == [("south/b.yaml", "calibration-factor-agrees", False)]


def test_a_meter_that_can_not_be_judged_is_counted(repo: Repo) -> None:
    """Of changed files, the meters that can't be read far enough are counted."""
    repo.write({A: "meter: FT-1\n", B: f"{other_meter('FT-2')}---\nmeter: FT-9\n"})
    report = since()
    told = [(each.place.file, each.tag) for each in report.not_judged]
    assert (told, len(report.meters)) == ([(A, "FT-1"), (B, "FT-9")], 1)


def test_a_file_that_goes_unreadable_is_told(repo: Repo) -> None:
    """A file that can't be opened has changed, whatever it holds."""
    (repo.folder / A).unlink()
    (repo.folder / A).mkdir()
    (repo.folder / "north/link.yaml").symlink_to("nowhere")
    assert since().files == 0
    left_out = [each.file for each in since().left_out]
    assert left_out == ["north/link.yaml"]


# --- what agrees with it across files ---------------------------------------


def test_a_conflict_is_told_of_both_meters(repo: Repo) -> None:
    """A number that a changed file gives twice is told of the unchanged meter too."""
    repo.write({A: other_meter("FT-1", **{"sensor.serial": "S-FT-3"})})
    rule = "sensor-serial-unique"
    assert [each for each in told(since()) if each[1] == rule] == [
        (A, rule, True),
        (C, rule, True),
    ]


def test_paths_keep_the_report_but_not_the_conflict(repo: Repo) -> None:
    """For one path its changed files are told, and whom they meet elsewhere."""
    repo.write(
        {
            A: other_meter("FT-1", **{"sensor.serial": "S-FT-3"}),
            B: other_meter("FT-2", servise="water"),
        }
    )
    rule = "sensor-serial-unique"
    assert {each for each in told(since(A)) if "serial" in each[1]} == {
        (A, rule, True),
        (C, rule, True),
    }
    assert told(since(B)) == [(B, "key-known", True)]
    assert told(since(C)) == []


def test_an_old_conflict_is_told_with_a_changed_file(repo: Repo) -> None:
    """Of a conflict that was there before, both sides are told and none is new."""
    twice = {"sensor.serial": "S-FT-3"}
    repo.git("switch", "--quiet", "main")
    repo.commit({A: other_meter("FT-1", **twice)})
    repo.git("switch", "--quiet", "--create", "later")
    repo.write({A: other_meter("FT-1", **twice, service="Another")})
    rule = "sensor-serial-unique"
    assert [each for each in told(since()) if each[1] == rule] == [
        (A, rule, False),
        (C, rule, False),
    ]


def test_other_conflicts_are_not_told(repo: Repo) -> None:
    """A conflict that no changed file takes part in is not told."""
    repo.git("switch", "--quiet", "main")
    repo.commit({A: other_meter("FT-1", **{"sensor.serial": "S-FT-3"})})
    repo.git("switch", "--quiet", "--create", "later")
    repo.write({B: other_meter("FT-2")})
    assert told(since()) == []


AGREE = """\
ruleset: own
edition: "1"
rules:
  own-bore-once:
    category: B
    asks: Is each bore used once?
    across: {scope: %s, same: [sensor.bore, process.hours_per_year]}
    finding: "{others} too."
    remedy: Correct it.
    basis: {practice: Common}
    proof:
      - {meters: [{gives: conforms}]}
      - {meters: [{gives: nonconforming}, {gives: nonconforming}]}
"""


@pytest.mark.parametrize(
    ("scope", "files"), [("all sites", [A, B, C]), ("site", [A, B])]
)
def test_a_shared_amount_is_one_however_it_is_written(
    repo: Repo, scope: str, files: list[str]
) -> None:
    """Meters that share an amount in two units, or at one site, are in one conflict."""
    repo.git("switch", "--quiet", "main")
    repo.commit(
        {
            "configlint.yaml": f"{WORKSPACE}rules: rules\n",
            "rules/own.yaml": AGREE % scope,
            B: other_meter("FT-2", **{"sensor.bore": "0.15 m"}),
        }
    )
    repo.git("switch", "--quiet", "--create", "later")
    repo.write({A: other_meter("FT-1", service="Another")})
    expected = [(file, "own-bore-once", False) for file in files]
    assert told(since()) == expected


# --- what judges ------------------------------------------------------------

TIGHT = """
policy:
  velocity-at-span-in-band: {highest: {value: 2 m/s, reason: Sand}}
"""


def test_a_changed_policy_tells_what_is_new_by_it(repo: Repo) -> None:
    """Where a policy has changed, new findings of unchanged files are told as well."""
    repo.write({"north/site.yaml": SITES["north/site.yaml"] + TIGHT})
    rule = "velocity-at-span-in-band"
    assert told(since()) == [(A, rule, True), (B, rule, True)]
    assert told(since(C)) == []


def test_a_new_workspace_is_judged_against_none(repo: Repo) -> None:
    """Where the workspace file itself is new, what it brings is judged and told."""
    repo.git("rm", "--quiet", "-r", "configlint.yaml", "north/site.yaml", "south")
    repo.commit()
    repo.git("branch", "--force", "main")
    repo.write({"configlint.yaml": WORKSPACE + TIGHT, "south/c.yaml": PLANT[C]})
    rules = {each for each in told(since()) if each[1] == "velocity-at-span-in-band"}
    assert rules == {(file, "velocity-at-span-in-band", True) for file in (A, B, C)}


def test_rules_of_a_revision_judge_the_working_tree(repo: Repo) -> None:
    """A change that relaxes the policy is judged by the policy it would relax."""
    repo.git("switch", "--quiet", "main")
    repo.commit({"configlint.yaml": WORKSPACE + TIGHT})
    repo.git("switch", "--quiet", "--create", "relaxing")
    repo.write(
        {"configlint.yaml": WORKSPACE, "south/configlint.yaml": "workspace: x\n"}
    )
    (repo.folder / B).unlink()
    rule = "velocity-at-span-in-band"
    report = check_by_rules_of([Path("north"), Path("south")], "main", TODAY)
    assert [each for each in told(report) if each[1] == rule] == [
        (A, rule, False),
        (C, rule, False),
    ]
    assert report.rules_from is not None
    assert report.rules_from.digest == repo.git("rev-parse", "main")
    assert {each.subject.site for each in report.meters} == {"north", "south"}


def test_rules_of_a_revision_judge_both_states(repo: Repo) -> None:
    """With rules of a revision, no finding is new that only a changed rule makes."""
    repo.write({"configlint.yaml": WORKSPACE + TIGHT, A: other_meter("FT-1", a="b")})
    assert told(since(rules="main")) == [(A, "key-known", True)]
    rule = "velocity-at-span-in-band"
    assert (A, rule, True) in told(since())


def test_a_file_alone_is_judged_by_the_rules_of_a_revision(repo: Repo) -> None:
    """For one file its workspace at the revision counts, with its sites."""
    report = check_by_rules_of([Path(B)], "main", TODAY)
    assert told(report) == [(B, "calibration-factor-agrees", False)]
    assert [each.subject.site for each in report.meters] == ["north"]


def test_fingerprints_are_those_of_a_plain_check(repo: Repo) -> None:
    """By the rules of what is checked out, all findings are those of a plain check."""
    plain = check([Path()], run_date=DAY)
    found = check_by_rules_of(ALL, "HEAD", TODAY)
    assert found.findings == plain.findings
    assert found.meters == plain.meters


# --- concessions ------------------------------------------------------------


def test_what_is_no_longer_conceded_is_new(repo: Repo) -> None:
    """A finding of an unchanged file whose concession goes is told as new."""
    repo.git("switch", "--quiet", "main")
    repo.commit({"concessions.yaml": concession("FT-2")})
    repo.git("switch", "--quiet", "--create", "later")
    (repo.folder / "concessions.yaml").unlink()
    report = since()
    assert told(report) == [(B, "calibration-factor-agrees", True)]
    assert report.held("A")
    assert told(since(rules="main")) == []


def test_a_concession_that_a_change_leaves_over_is_told(repo: Repo) -> None:
    """Where a meter is mended, the finding of its concession's file is told."""
    repo.git("switch", "--quiet", "main")
    repo.commit({"concessions.yaml": concession("FT-2")})
    repo.git("switch", "--quiet", "--create", "later")
    repo.write({B: other_meter("FT-2")})
    used = ("concessions.yaml", "concession-used", True)
    assert used in told_all(since())
    assert used in told_all(since(rules="main"))


def test_findings_of_a_changed_file_of_concessions_are_told(repo: Repo) -> None:
    """A new concession that concedes nothing is told, and names the file as typed."""
    repo.write({"concessions.yaml": concession("FT-1")})
    found = ("concessions.yaml", "concession-used", True)
    assert found in told_all(since())


# --- what can't be done, and what is said -----------------------------------


@pytest.mark.parametrize(
    ("path", "revision", "words"),
    [
        ("nowhere.yaml", "main", "nowhere.yaml:1:1: There is no meter file here."),
        ("/etc", "main", "This lies outside the repository"),
        (".", "mian", "There is no revision 'mian'"),
    ],
)
def test_what_can_not_be_done_is_refused(
    repo: Repo, path: str, revision: str, words: str
) -> None:
    """A path or a revision that is not there is told, in both kinds of check."""
    with pytest.raises(RunError) as error:
        check_since([Path(path)], revision, None, TODAY)
    assert words in "\n".join(sentences(error))
    with pytest.raises(RunError) as error:
        check_by_rules_of([Path(path)], revision, TODAY)
    assert words in "\n".join(sentences(error))


def test_the_reports_say_since_when_and_by_whose_rules(repo: Repo) -> None:
    """Text and JSON name the revisions, and mark what is new."""
    repo.write({B: other_meter("FT-2", **WRONG, servise="water")})
    report = since(rules="main")
    digest = repo.git("rev-parse", "main")
    text = write_text(report, "B")
    assert f"Judged by the rules of main ({digest[:10]})\n" in text
    said = " ".join(text.split())
    assert (
        f"Reported is what has changed since main ({digest[:10]}), of 4 files judged; "
        "new since then: 1 finding" in said
    )
    assert text.count(", new\n") == 1
    content = json.loads(write_json(report, "B"))
    (new,) = content["since"].pop("new")
    told_revision = {"revision": "main", "commit": digest}
    since_then = {**told_revision, "excuses": [], "trusted": False}
    assert content["since"] == {**since_then, "rules_and_policy": []}
    assert content["rules_from"] == told_revision
    (finding,) = (each for each in content["findings"] if each["fingerprint"] == new)
    assert finding["rule"] == "key-known"


def test_a_plain_report_says_nothing_of_revisions(repo: Repo) -> None:
    """A check that names no revision has nothing of one in its reports."""
    content = json.loads(write_json(check([Path()], run_date=DAY), "B"))
    assert content.keys().isdisjoint({"since", "rules_from"})
