"""Laws of granting: what is written for a finding, which alone is conceded then."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from configlint.review.concede import concede, write_granted
from tests.conceding import TODAY
from tests.granting import (
    GRANT,
    LAST,
    SMALL,
    Plant,
    finding,
    granted,
    meter,
    plant_in,
    run,
)


@pytest.fixture
def plant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Plant:
    """Give a way to write a workspace, which the tests then stand in."""
    return plant_in(tmp_path, monkeypatch)


def test_a_finding_is_conceded_by_its_fingerprint_or_its_name(plant: Plant) -> None:
    """Named either way, a finding gets the same entry, and it alone is conceded."""
    folder = plant()
    before = run(folder)
    mark = finding(before, "own-range-small").fingerprint
    by_name, by_mark = (concede([each], GRANT, day=TODAY) for each in (SMALL, mark))
    assert by_name == by_mark
    assert by_name.lines == (
        "  - rule: own-range-small",
        "    meter: FT-1",
        "    site: north",
        f'    fingerprint: "{mark}"',
        "    reason: It is old",
        "    granted_by: A. Nobody",
        "    granted_on: 2026-06-01",
        "    expires_on: 2026-12-31",
    )
    assert not (folder / "concessions.yaml").exists()
    write_granted(by_name)
    text = (folder / "concessions.yaml").read_text("utf-8")
    assert text.endswith("".join(f"{line}\n" for line in by_name.lines))
    after = run(folder)
    assert [each.fingerprint for each in after.findings if not each.is_open] == [mark]
    assert len(after.findings) == len(before.findings)


def test_several_findings_are_conceded_at_once(plant: Plant) -> None:
    """Each finding asked for, even twice, gets one entry, in the order asked."""
    folder = plant()
    rules = ("own-services-differ", "own-range-small", "own-service-short")
    asked = [f"FT-1:{rule}" for rule in rules]
    made = granted(*asked, asked[0])
    named = [line.partition("rule: ")[2] for line in made.lines if "rule:" in line]
    assert named == list(rules)
    assert run(folder).conceded == 3


def test_the_rest_of_the_file_stays(plant: Plant) -> None:
    """Comments, a byte order mark, line ends and other entries stay byte for byte."""
    folder = plant()
    granted("FT-2:own-range-small")
    file = folder / "concessions.yaml"
    text = file.read_text("utf-8").replace("\n", "  # why\r\n") + "\r\n# The end\r\n"
    before = b"\xef\xbb\xbf" + text.encode()
    file.write_bytes(before)
    file.chmod(0o640)
    made = granted(SMALL)
    after = file.read_bytes()
    new = "".join(f"{line}\r\n" for line in made.lines).encode()
    assert after.replace(new, b"") == before
    assert after.endswith(b"\r\n\r\n# The end\r\n")
    assert file.stat().st_mode & 0o777 == 0o640
    assert run(folder).conceded == 2


def test_a_finding_without_a_site_is_conceded(plant: Plant) -> None:
    """Where the workspace names no sites, the entry has none."""
    folder = plant({"configlint.yaml": "workspace: works\n"})
    made = granted(SMALL)
    assert not [line for line in made.lines if "site:" in line]
    assert run(folder).conceded == 1


def test_it_is_judged_and_granted_as_of_today(plant: Plant) -> None:
    """Without a stated day, findings are judged and granted as of today."""
    plant()
    today = date.today()
    made = granted(
        SMALL, grant=GRANT._replace(granted_on=today, expires_on=today), day=None
    )
    assert f"    granted_on: {today}" in made.lines


def test_what_begins_later_can_be_granted_now(plant: Plant) -> None:
    """A first day that is to come is written; until then nothing is conceded."""
    folder = plant()
    granted(SMALL, grant=GRANT._replace(granted_on=LAST))
    report = run(folder)
    assert report.conceded == 0
    assert finding(report, "concession-in-date", "").place.line > 1


def test_a_link_to_the_file_stays_a_link(plant: Plant) -> None:
    """The file that a link leads to is written, in its own place."""
    folder = plant({"shared/real.txt": "concessions: []\n"})
    link = folder / "concessions.yaml"
    link.symlink_to(folder / "shared" / "real.txt")
    granted(SMALL)
    assert link.is_symlink()
    assert "own-range-small" in (folder / "shared" / "real.txt").read_text("utf-8")


def test_paths_lead_into_their_whole_workspace(
    plant: Plant, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Named by one of its files, or by its own file, all of a workspace is checked."""
    folder = plant()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    asked = ["FT-1:own-services-differ"]
    one = concede(asked, GRANT, [folder / "north" / "b.yaml"], day=TODAY)
    other = concede(asked, GRANT, (), folder / "configlint.yaml", TODAY)
    assert one == other


@pytest.mark.parametrize(
    ("rule", "bounds"),
    [
        ("own-range-small", ["current_output.upper_range_value: 100 m3/h"]),
        ("own-service-short", ["service: wash water"]),
        ("own-services-differ", ["service: wash water"]),
    ],
)
def test_a_bound_concession_holds_the_settings(
    plant: Plant, rule: str, bounds: list[str]
) -> None:
    """The settings that are written are bound, else what the rule reads."""
    folder = plant()
    made = granted(f"FT-1:{rule}", grant=GRANT._replace(bound=True))
    at = made.lines.index("    while:")
    assert [line.strip() for line in made.lines[at + 1 : -4]] == bounds
    assert finding(run(folder), rule).outcome == "conceded"
    plant({"north/a.yaml": meter("FT-1", "101 m3/h").replace("wash water", "wash")})
    report = run(folder)
    assert report.conceded == 0
    assert [each.rule for each in report.findings if "oncession" in each.message] == [
        "concession-used"
    ]
