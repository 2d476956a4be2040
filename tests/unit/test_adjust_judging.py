"""Laws of the files around a change: read once, and judged only where it can matter."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.judged import JudgedFile
from configlint.review.adjust_judging import Surroundings
from configlint.workspace import Source, find_sources
from tests.adjusting import mistyped, sound, works, write

DAY = date(2026, 1, 31)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a workspace of two sites with a sound meter each, as the current folder."""
    return works(tmp_path, monkeypatch)


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, bool]]:
    """Note which files are judged in full, and whether with advice."""
    noted: list[tuple[str, bool]] = []
    judge = Bench.judge

    def note(bench: Bench, source: Source, advise: bool) -> JudgedFile:
        noted.append((Path(source.file).name, advise))
        return judge(bench, source, advise)

    monkeypatch.setattr(Bench, "judge", note)
    return noted


def surroundings(name: str = "FT-1.yaml") -> tuple[Surroundings, Source]:
    """Look at the files around one of them."""
    sources = find_sources([Path()])
    (named,) = (each for each in sources.files if Path(each.file).name == name)
    named = named._replace(data=named.path.read_bytes())
    return Surroundings(sources, [named], DAY), named


def test_a_file_that_has_to_do_with_nothing_is_not_judged(
    here: Path, judged: list[tuple[str, bool]]
) -> None:
    """What is wrong in it stays so, and is not told."""
    write(here, {"south/FT-2.yaml": mistyped().replace("FT-1", "FT-2")})
    around, named = surroundings()
    assert around.report().findings == ()
    around.report([named])
    assert judged == [("FT-1.yaml", True)] * 2


def test_a_file_that_shares_a_tag_is_judged_with_advice(
    here: Path, judged: list[tuple[str, bool]]
) -> None:
    """Equal findings are numbered over both, so the other one's must be known."""
    write(here, {"south/FT-2.yaml": mistyped()})
    around, _ = surroundings()
    found = [each for each in around.report().findings if each.advice]
    assert [each.place.file for each in found] == ["south/FT-2.yaml"]
    assert ("FT-2.yaml", True) in judged


@pytest.mark.parametrize(
    "text", ["meter: [FT-2\n", "meter: FT-2\nprincipal: vortex\n", "\x00", "servise: x"]
)
def test_a_faulty_file_is_judged(
    here: Path, judged: list[tuple[str, bool]], text: str
) -> None:
    """Its faults may be like those of the changed file."""
    write(here, {"south/FT-2.yaml": text})
    around, _ = surroundings()
    assert {each.place.file for each in around.report().findings} == {"south/FT-2.yaml"}
    assert judged[1:] == [("FT-2.yaml", False)]


def test_a_file_that_is_gone_meanwhile_is_told(here: Path) -> None:
    """Nothing of it can be read, and the run goes on."""
    sources = find_sources([Path()])
    named, other = sources.files
    other.path.unlink()
    around = Surroundings(sources, [named], DAY)
    assert [each.rule for each in around.report().findings] == ["file-readable"]


def test_with_concessions_all_files_are_judged(
    here: Path, judged: list[tuple[str, bool]]
) -> None:
    """Whether one is of use hangs on every meter that it may be of."""
    concession = (
        "concessions:\n- rule: calibration-factor-agrees\n  meter: FT-2\n"
        "  reason: The plate is read again\n  granted_by: Iris Invented\n"
        "  granted_on: 2026-01-01\n  expires_on: 2026-03-01\n"
    )
    write(here, {"concessions.yaml": concession})
    around, _ = surroundings()
    assert [each.rule for each in around.report().findings] == ["concession-used"]
    assert judged == [("FT-1.yaml", True), ("FT-2.yaml", False)]


def test_rules_across_meters_see_every_file(here: Path) -> None:
    """A serial that a change gives twice is told at both ends, as often as asked."""
    around, named = surroundings()
    text = sound().replace("serial: T-FT-1", "serial: T-FT-2")
    changed = named._replace(data=text.encode())
    for _ in range(2):
        found = around.report([changed]).findings
        assert {each.rule for each in found} == {"transmitter-serial-unique"}
        assert len(found) == 2
        assert around.report().findings == ()
