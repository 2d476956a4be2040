"""Laws of one side of a comparison: what is read of it, and what judges it."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.review.sides import Side, bytes_of, file_digest, judge
from tests.comparisons import SITES, WORKSPACE, compared, make_side, meter_text
from tests.workspaces import sentences, write

POLICY = """
policy:
  velocity-at-span-in-band: {highest: {value: 6 m/s, reason: Sand}}
"""


def test_what_can_not_be_read_has_no_content(tmp_path: Path) -> None:
    """A file that can't be read has no bytes and no digest, unlike an empty one."""
    write(tmp_path, {"empty.yaml": ""})
    assert (bytes_of(tmp_path), file_digest(tmp_path)) == (None, "")
    assert bytes_of(tmp_path / "empty.yaml") == b""
    assert file_digest(tmp_path / "empty.yaml") != ""


def test_a_faulty_folder_is_told_as_it_is(tmp_path: Path) -> None:
    """What is wrong with a workspace in a folder is told by the folder's own name."""
    side = make_side(tmp_path / "one", {"configlint.yaml": "workspace: ["})
    with pytest.raises(RunError) as error:
        judge(side)
    (said,) = sentences(error)
    assert said.startswith(f"{tmp_path}/one/configlint.yaml:1:12: ")


def test_a_side_without_meters_is_judged(tmp_path: Path) -> None:
    """A folder without a YAML file, or none at all, is a side with nothing in it."""
    (tmp_path / "empty" / ".hidden").mkdir(parents=True)
    write(tmp_path, {"empty/.hidden/a.yaml": "x", "empty/notes.txt": ""})
    for name in ("empty", "nowhere"):
        judged = judge(Side(name, tmp_path / name, tmp_path / name))
        assert (judged.sources, judged.report.findings) == ({}, ())


def test_a_side_knows_by_what_it_was_judged(tmp_path: Path) -> None:
    """The files that judge are named by what they are, with their workspaces."""
    own = {
        "configlint.yaml": WORKSPACE + POLICY,
        "north/site.yaml": SITES["north/site.yaml"] + POLICY,
        "north/a.yaml": meter_text(),
    }
    judged = judge(make_side(tmp_path / "one", own))
    assert {key: each.kind for key, each in judged.own.items()} == {
        "configlint.yaml": "workspace file",
        "north/site.yaml": "site file",
        "south/site.yaml": "site file",
    }
    (workspace,) = judged.workspaces
    (north, _) = workspace.sites
    for policy in (workspace.policy, north.policy):
        assert [(each.value, each.reason) for each in policy] == [("6 m/s", "Sand")]


def test_a_policy_that_stays_is_no_change(tmp_path: Path) -> None:
    """Limits that both sides have alike are not told, though others changed."""
    before = {"configlint.yaml": WORKSPACE + POLICY, "north/a.yaml": meter_text()}
    after = {**before, "north/site.yaml": SITES["north/site.yaml"] + POLICY}
    found = compared(tmp_path, before, after)
    assert [each.site for each in found.judging.differences.limits] == ["north"]
