"""Laws of granting: which findings can be conceded, and what is written for them.

Whatever can't be conceded is refused before anything is written; what is written is
conceded from then on, and nothing else is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.data import data_folder
from configlint.errors import RunError
from configlint.findings import Finding
from configlint.report import Report
from configlint.review import concede as module
from configlint.review.concede import Grant, Granted, concede, write_granted
from configlint.review.concession_text import Put
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook

TODAY = date(2026, 6, 1)
LAST = date(2026, 12, 31)
GRANT = Grant("It is old", "A. Nobody", TODAY, LAST)

OWN = """\
ruleset: own
edition: "7"
rules:
  own-range-small:
    category: A
    asks: Is the range small?
    limits: {highest: 50 m3/h}
    accept: current_output.upper_range_value <= highest
    finding: "{current_output.upper_range_value} is above {highest}."
    remedy: Make it smaller.
    settings: [pulse_output, transmitter.damping, current_output.upper_range_value]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-service-short:
    category: C
    asks: Is the service in a word?
    accept: service != 'wash water'
    finding: It is '{service}'.
    remedy: Shorten it.
    settings: [records.revision]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-services-differ:
    category: B
    asks: Is every service that of one meter?
    across: {scope: site, same: [service]}
    finding: "{others} has this service too."
    remedy: Correct it.
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-owner-known:
    category: C
    asks: Does the file say who left it so?
    accept: given(records.as_left_by)
    finding: Nobody is named.
    remedy: Name them.
    settings: [records.as_left_by]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
WORKSPACE = "workspace: {}\nsites: {{north: {{folder: north}}}}\n"
SMALL = "FT-1:own-range-small"

Plant = Callable[..., Path]


def meter(tag: str, span: str = "100 m3/h", more: str = "") -> str:
    """Write a meter whose range is too large for the workspace's rules."""
    return (
        f"meter: {tag}\nprinciple: electromagnetic\nservice: wash water\n"
        f"current_output: {{upper_range_value: {span}}}\n{more}"
    )


FILES = {
    "configlint.yaml": WORKSPACE.format("works"),
    "north/site.yaml": "site: north\n",
    "north/a.yaml": meter("FT-1"),
    "north/b.yaml": meter("FT-2"),
}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> RuleBook:
    """Give the standard rules and some more, loaded once for all runs."""
    folder = tmp_path_factory.mktemp("rules")
    (folder / "own.yaml").write_text(OWN, "utf-8")
    return load_rule_book(data_folder("rules"), folder)


@pytest.fixture
def plant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, book: RuleBook) -> Plant:
    """Give a way to write a workspace, which the tests then stand in."""
    monkeypatch.setattr("configlint.bench.load_rule_book", lambda *folders: book)
    monkeypatch.chdir(tmp_path)

    def write_files(files: Mapping[str, str] | None = None) -> Path:
        for name, text in {**FILES, **(files or {})}.items():
            file = tmp_path / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, "utf-8")
        return tmp_path

    return write_files


def granted(*asked: str, grant: Grant = GRANT, day: date | None = TODAY) -> Granted:
    """Concede some findings of the workspace around, and write it."""
    made = concede(asked, grant, day=day)
    write_granted(made)
    return made


def refused(*asked: str, grant: Grant = GRANT) -> list[str]:
    """Give the sentences by which findings are refused."""
    with pytest.raises(RunError) as caught:
        concede(asked, grant, day=TODAY)
    return str(caught.value).splitlines()


def run(folder: Path) -> Report:
    """Check the workspace."""
    return check([folder], run_date=TODAY)


def finding(report: Report, rule: str, tag: str = "FT-1") -> Finding:
    """Give the one finding of a meter by a rule."""
    (found,) = [
        each
        for each in report.findings
        if (each.rule, each.subject.meter) == (rule, tag)
    ]
    return found


# --- what is written --------------------------------------------------------


def test_a_finding_is_conceded_by_its_fingerprint_or_its_name(plant: Plant) -> None:
    """Either way the same entry is written, and it alone is conceded then."""
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
    """Each that is asked for gets an entry, in the order asked; twice is once."""
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
    """Without a day the run is of today."""
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


# --- with the values as they are --------------------------------------------


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


@pytest.mark.parametrize("rule", ["own-owner-known", "key-known"])
def test_what_rests_on_no_written_value_can_not_be_bound(
    plant: Plant, rule: str
) -> None:
    """A finding of what is absent, or not readable, has no value to be bound to."""
    plant({"north/a.yaml": meter("FT-1", more="servise: wash\n")})
    (said,) = refused(f"FT-1:{rule}", grant=GRANT._replace(bound=True))
    assert "rests on no value that the file holds. Leave out --bound" in said


# --- what is refused --------------------------------------------------------


def test_an_unknown_finding_is_refused_with_the_nearest(plant: Plant) -> None:
    """What there is not is told, with what is near, for a mark, a tag and a rule."""
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
    """What is conceded already is, and nothing is written a second time."""
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
    """One without an end, with one too far off, or with one gone by, is not written."""
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
