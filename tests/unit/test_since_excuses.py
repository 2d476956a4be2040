"""Laws of a check since a revision of a change that would excuse its own findings."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from configlint.outputs.json import write as write_json
from configlint.outputs.markdown import write as write_markdown
from configlint.outputs.text import write as write_text
from configlint.report import Report
from configlint.review.since import Options, check_since
from tests.comparisons import DAY, SITES, WORKSPACE, concession, other_meter
from tests.repositories import Repo

A, B = "north/a.yaml", "north/b.yaml"
WRONG = {"transmitter.calibration_factor": "1.1"}
WRONG_METER = other_meter("FT-1", **WRONG)
ENDS = ("(workspace file) changed", "(not judged by) added")
FACTOR = "calibration-factor-agrees"
VELOCITY = "velocity-at-span-in-band"
FAST = {
    "current_output.upper_range_value": "700 m3/h",
    "receiver.analogue.upper_scale": "700 m3/h",
}
POLICY = "policy:\n  velocity-at-span-in-band: {highest: {value: 20 m/s, reason: x}}\n"
RELAXED = {"configlint.yaml": WORKSPACE + POLICY}


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """Give a repository of a sound meter and a wrong one, on a branch of main."""
    made = Repo(tmp_path / "repo")
    made.commit({**SITES, A: other_meter("FT-1"), B: other_meter("FT-2", **WRONG)})
    made.git("switch", "--quiet", "--create", "work")
    monkeypatch.chdir(made.folder)
    return made


def since(*paths: str, trusted: bool = False, rules: str | None = None) -> Report:
    """Check some paths since main, all of them unless some are named."""
    options = Options(run_date=DAY, trusted=trusted)
    return check_since([Path(each) for each in paths or (".",)], "main", rules, options)


def excuses(report: Report) -> list[tuple[str, str]]:
    """Give the rule of each excused finding, and what excuses it."""
    assert report.since is not None
    rules = {each.fingerprint: each.rule for each in report.findings}
    return [(rules[each.fingerprint], each.by) for each in report.since.excuses]


def test_a_concession_of_the_change_does_not_count(repo: Repo) -> None:
    """A mistake that comes with its concession is told open, and holds."""
    repo.write({A: WRONG_METER, "concessions.yaml": concession("FT-1")})
    report = since()
    assert excuses(report) == [(FACTOR, "concession")]
    assert report.held("A")
    assert report.conceded == 0
    lines = write_text(report, "B").splitlines()
    head = "Conceded by this very change, not accepted yet (--trust-change): 1 finding"
    assert lines[0] == head
    assert "by invented engineer: Known" in " ".join(" ".join(lines[:4]).split())
    assert "Rules and policy changed by this change" in lines
    assert lines[-1].endswith("to close, of which 1 conceded by this very change.")


def test_a_concession_of_an_old_finding_is_told_of_an_unchanged_file(
    repo: Repo,
) -> None:
    """Who concedes what others left open has it told and held, though no file of a
    meter has changed."""
    repo.write({"concessions.yaml": concession("FT-2")})
    report = since()
    assert excuses(report) == [(FACTOR, "concession")]
    assert [each.subject.file for each in report.findings] == [B]
    assert report.held("B")
    assert report.new == frozenset()
    assert since(A).findings == ()


def test_a_policy_of_the_change_does_not_count(repo: Repo) -> None:
    """A limit relaxed in the change lets nothing pass that comes with it."""
    repo.write({A: other_meter("FT-1", **FAST), **RELAXED})
    report = since()
    assert (VELOCITY, "rules") in excuses(report)
    assert report.held("B")
    assert report.since is not None
    words, file = report.since.changes
    assert file.endswith(ENDS)
    limit = f"{VELOCITY}, highest at plant"
    assert words == f"{limit}: the standard, now 20 m/s (looser): x"
    assert "let pass by its own rules or policy" in write_text(report, "B")


def test_a_file_of_what_judges_that_is_deleted_is_a_change(repo: Repo) -> None:
    """Whoever deletes the policy that a meter breaks is held by it all the same."""
    repo.git("switch", "--quiet", "main")
    tight = POLICY.replace("20 m/s", "2 m/s")
    repo.commit({"north/site.yaml": SITES["north/site.yaml"] + tight})
    repo.git("switch", "--quiet", "--create", "later")
    (repo.folder / "north/site.yaml").unlink()
    repo.write({A: other_meter("FT-1", service="Another")})
    assert (VELOCITY, "rules") in excuses(since())


def test_what_is_trusted_counts_and_is_told(repo: Repo) -> None:
    """Once accepted, the excuses count, and the verdict says what was accepted."""
    changes = {A: other_meter("FT-1", **WRONG, **FAST), **RELAXED}
    repo.write({**changes, "concessions.yaml": concession("FT-1")})
    report = since(trusted=True)
    assert report.since is not None
    assert {each.by for each in report.since.excuses} == {"concession", "rules"}
    assert report.conceded == 1
    found = {each.rule for each in report.open_findings}
    assert found.isdisjoint({FACTOR, VELOCITY})
    text = write_text(report, "A")
    assert "Conceded by this very change, accepted by --trust-change: 1 finding" in text
    accepted = "Accepted by --trust-change: 1 conceded by this very change"
    assert accepted in text.splitlines()[-1]


def test_json_and_markdown_tell_it_first(repo: Repo) -> None:
    """The excuses and the changed rules are in the reports for software and review."""
    repo.write({A: WRONG_METER, "concessions.yaml": concession("FT-1")})
    report = since()
    content = json.loads(write_json(report, "B"))["since"]
    (excuse,) = content["excuses"]
    assert (excuse["by"], content["trusted"]) == ("concession", False)
    assert excuse["fingerprint"] in content["new"]
    words, _ = content["rules_and_policy"]
    assert words.startswith(f"Concession of {FACTOR} for FT-1, added. Conceded until")
    written = write_markdown(report, "B")
    verdict, excused = written.index("**Held at B"), written.index("Conceded by this")
    assert verdict < excused < written.index("Rules and policy changed by this change")


def test_by_the_rules_of_the_base_nothing_is_excused_and_all_is_told(
    repo: Repo,
) -> None:
    """With --rules-from, what the change does to rules and concessions is listed."""
    repo.write({A: WRONG_METER, "concessions.yaml": concession("FT-1")})
    report = since(rules="main")
    assert report.since is not None
    assert excuses(report) == []
    words, file = report.since.changes
    assert file.endswith(ENDS)
    assert words.startswith(f"Concession of {FACTOR} for FT-1, added.")
    assert report.held("A")
    repo.write({"concessions.yaml": "concessions: 1\n"})
    broken = since(rules="main")
    assert broken.since is not None
    assert broken.since.changes[0].startswith("Can't be taken: concessions.yaml:1:")
    assert broken.held("A")


def test_a_check_of_the_base_itself_tells_nothing(repo: Repo) -> None:
    """Without a change there is neither an excuse nor a changed rule."""
    report = since()
    assert report.since is not None
    assert (report.since.excuses, report.since.changes) == ((), ())
    assert write_text(report, "B").startswith("0 meters in 0 files\n")
