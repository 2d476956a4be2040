"""Laws of what can't be granted: it is refused before anything is written."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.errors import RunError
from configlint.review import concede as module
from configlint.review.concede import concede, write_granted
from configlint.review.concession_text import Put
from tests.conceding import TODAY
from tests.granting import (
    GRANT,
    SMALL,
    Plant,
    finding,
    granted,
    meter,
    plant_in,
    refused,
    run,
)


@pytest.fixture
def plant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Plant:
    """Give a way to write a workspace, which the tests then stand in."""
    return plant_in(tmp_path, monkeypatch)


@pytest.mark.parametrize("rule", ["own-owner-known", "key-known"])
def test_what_rests_on_no_written_value_can_not_be_bound(
    plant: Plant, rule: str
) -> None:
    """A finding of what is absent, or not readable, has no value to be bound to."""
    plant({"north/a.yaml": meter("FT-1", more="servise: wash\n")})
    (said,) = refused(f"FT-1:{rule}", grant=GRANT._replace(bound=True))
    assert "rests on no value that the file holds. Leave out --bound" in said


def test_an_unknown_finding_is_refused_with_the_nearest(plant: Plant) -> None:
    """An unknown fingerprint, tag or rule is refused with the nearest there are."""
    mark = finding(run(plant()), "own-range-small").fingerprint
    (near,) = refused(f"{mark[:-1]}x")
    assert near.startswith(f"{mark[:-1]}x:1:1: There is no finding")
    assert f"Write {mark}" in near
    (far,) = refused("of-nothing")
    assert "`configlint check --report json` gives the fingerprints" in far
    (tag,) = refused("FT-3:own-range-small")
    assert "no finding of a meter 'FT-3'" in tag
    assert "FT-1" in tag
    (odd,) = refused("pump:own-range-small")
    assert "`configlint check` tells which meters have findings" in odd
    (rule,) = refused("FT-1:own-range-large")
    assert "has no finding of a rule 'own-range-large'. It has some of" in rule
    assert "own-range-small" in rule
    assert len(refused("one", "two", SMALL)) == 2


def test_a_conceded_finding_is_refused(plant: Plant) -> None:
    """A finding that is conceded already is refused, and nothing is written twice."""
    folder = plant()
    granted(SMALL)
    before = (folder / "concessions.yaml").read_bytes()
    (said,) = refused(SMALL)
    assert said.startswith("north/a.yaml:4:")
    assert "is conceded already, at concessions.yaml:4:5." in said
    assert (folder / "concessions.yaml").read_bytes() == before


def test_a_finding_of_a_concession_is_refused(plant: Plant) -> None:
    """A concession that has run out can't be conceded itself."""
    folder = plant()
    granted(SMALL)
    report = check([folder], run_date=date(2027, 6, 1))
    mark = finding(report, "concession-in-date", "").fingerprint
    with pytest.raises(RunError, match="is a fault of a concession"):
        concede([mark], GRANT, day=date(2027, 6, 1))


@pytest.mark.parametrize(
    ("text", "rule", "tag"),
    [
        ("meter: FT-9\nprinciple: none\n", "meter-identified", "FT-9"),
        ("meter: 'FT-9\n", "file-readable", ""),
    ],
)
def test_what_is_of_no_judged_meter_is_refused(
    plant: Plant, text: str, rule: str, tag: str
) -> None:
    """A fault that keeps a meter from being judged can't be conceded."""
    folder = plant({"north/c.yaml": text})
    mark = finding(run(folder), rule, tag).fingerprint
    (said,) = refused(mark)
    assert "of no meter that could be judged" in said


def test_findings_that_are_alike_are_refused(plant: Plant) -> None:
    """Of two meters with one tag neither can be named; both names are refused."""
    folder = plant({"north/b.yaml": meter("FT-1")})
    found = [e for e in run(folder).findings if e.rule == "own-range-small"]
    first, second = (each.fingerprint for each in found)
    assert second == f"{first}-2"
    for mark in (first, second):
        (said,) = refused(mark)
        assert "one of several findings that are alike" in said
    (said,) = refused(SMALL)
    assert "has 2 findings of the rule own-range-small. Write the fingerprint" in said


def test_a_concession_that_would_not_be_in_force_is_refused(plant: Plant) -> None:
    """A concession whose end is missing, too far off or gone by is not written."""
    folder = plant()
    for last, words in (
        (None, "has no end"),
        (date(2027, 6, 2), "for 366 days"),
        (date(2026, 5, 31), "ran out on 2026-05-31"),
    ):
        first = date(2026, 5, 1) if last and last < TODAY else TODAY
        grant = GRANT._replace(granted_on=first, expires_on=last)
        (said,) = refused(SMALL, grant=grant)
        assert words in said
        assert said.endswith("Give a last day within that by --expires-on.")
    assert not (folder / "concessions.yaml").exists()
    granted("FT-1:own-service-short", grant=GRANT._replace(expires_on=None))
    assert run(folder).conceded == 1


@pytest.mark.parametrize("part", ["reason", "granted_by"])
def test_a_text_of_several_lines_is_refused(plant: Plant, part: str) -> None:
    """A reason and a name are one line of plain text each."""
    plant()
    grants = {
        "reason": GRANT._replace(reason="a\nb"),
        "granted_by": GRANT._replace(granted_by="a\nb"),
    }
    (said,) = refused(SMALL, grant=grants[part])
    assert said.startswith("north/a.yaml:4:")
    assert "'a\\nb' is not one line of plain text" in said


def test_a_file_of_no_workspace_is_refused(plant: Plant, tmp_path: Path) -> None:
    """Where no workspace file is, there is no place for a concession."""
    folder = plant()
    (folder / "configlint.yaml").unlink()
    (said,) = refused(SMALL)
    assert said.startswith(".:1:1: There is no workspace file")
    with pytest.raises(RunError, match="in no workspace, so there is no place"):
        concede([SMALL], GRANT, [tmp_path / "north"], day=TODAY)


def test_findings_of_two_workspaces_are_refused(plant: Plant) -> None:
    """Each workspace has its own file, and one call writes one file."""
    folder = plant(
        {
            "other/configlint.yaml": "workspace: other\n",
            "other/c.yaml": meter("FT-5"),
        }
    )
    asked = (SMALL, "FT-5:own-range-small")
    with pytest.raises(RunError, match="of another workspace than the first"):
        concede(asked, GRANT, [folder], day=TODAY)
    made = concede(asked[1:], GRANT, [folder], day=TODAY)
    assert made.file == (folder / "other" / "concessions.yaml").resolve()


def test_a_list_in_brackets_is_left_as_it_is(plant: Plant) -> None:
    """A file that can't be added to is told, and keeps its bytes."""
    folder = plant()
    granted(SMALL)
    file = folder / "concessions.yaml"
    lines = file.read_text("utf-8").split("concessions:\n")[1]
    entry = ", ".join(line.strip(" -") for line in lines.splitlines())
    file.write_text(f"concessions: [{{{entry}}}]\n", "utf-8")
    before = file.read_bytes()
    (said,) = refused("FT-2:own-range-small")
    assert said.startswith("concessions.yaml:1:1: ")
    assert file.read_bytes() == before


def test_an_edit_that_is_not_proven_is_refused(
    plant: Plant, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Text that does not hold what was granted, and only that, is not written."""
    folder = plant()
    monkeypatch.setattr(module, "put_entries", lambda *_: Put("concessions:\n", ()))
    (said,) = refused(SMALL)
    assert "can't be proven" in said
    assert not (folder / "concessions.yaml").exists()


def test_a_file_that_changes_meanwhile_is_not_written(plant: Plant) -> None:
    """What somebody else has written since it was read is kept."""
    folder = plant({"concessions.yaml": "concessions: []\n"})
    made = concede([SMALL], GRANT, day=TODAY)
    (folder / "concessions.yaml").write_text("# Mine\n", "utf-8")
    with pytest.raises(RunError, match="has changed since it was read"):
        write_granted(made)
    assert (folder / "concessions.yaml").read_text("utf-8") == "# Mine\n"
