"""Laws of advice on faults that hide one another, as a change takes it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.errors import RunError
from configlint.review.adjust import Adjustment, Asked, adjust
from configlint.review.adjust_requests import advised_changes, find_targets
from configlint.workspace import find_sources
from tests.adjusting import sound, works, write

DAY = date(2026, 1, 15)
FILE = "north/FT-1.yaml"
SCALE, SPAN = "receiver.analogue.upper_scale", "current_output.upper_range_value"
CHAIN = "chain-gain-is-one"


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Go to a workspace whose first meter has a wrong size and a wrong scale."""
    folder = works(tmp_path, monkeypatch)
    size = "\n  nominal_size: DN 150\n  calibration_factor"
    assert sound().count(size) == 1
    text = sound().replace(size, size.replace("150", "100"))
    write(folder, {FILE: text.replace("upper_scale: 250", "upper_scale: 240")})
    return folder


def tried(*settings: str, advice: tuple[str, ...] = ()) -> Adjustment:
    """Try a change of the meter's file."""
    return adjust([Path(FILE)], Asked(settings, advice), run_date=DAY)


def test_both_ways_are_told_with_every_change() -> None:
    """Where either end of a loop may be right, each set is told as it is asked for."""
    with pytest.raises(RunError) as caught:
        tried(advice=(CHAIN,))
    said = str(caught.value)
    size = "--set 'FT-1:transmitter.nominal_size=DN 150'"
    assert f"--set 'FT-1:{SCALE}=250 m3/h' {size} (if {SPAN} is right)" in said
    assert f"--set 'FT-1:{SPAN}=240 m3/h' {size} (if {SCALE} is right)" in said


def test_a_set_is_taken_by_any_of_its_findings(here: Path) -> None:
    """The net and its stages propose the same changes, so that all settle at once."""
    text = (
        (here / FILE).read_text("utf-8").replace("upper_scale: 240", "upper_scale: 250")
    )
    size = "\n  nominal_size: DN 100\n  calibration_factor: '1.0234'"
    assert text.count(size) == 1
    write(here, {FILE: text.replace(size, size.replace("1.0234", "2.30265"))})
    stages = ("size-agrees", "calibration-factor-agrees")
    for advice in ((CHAIN,), stages):
        adjustment = tried(advice=advice)
        gone = {each.rule for each in adjustment.gone}
        assert gone >= {CHAIN, *stages}
        assert not adjustment.new
        changes = {
            (each.change.path, each.change.value) for each in adjustment.adjusted
        }
        assert changes == {
            ("transmitter.nominal_size", "DN 150"),
            ("transmitter.calibration_factor", "1.0234"),
        }


@pytest.mark.parametrize("rule", ["size-agrees", CHAIN])
def test_it_is_said_why_no_value_is_proposed(rule: str) -> None:
    """Where no set can be found, the others are named that are to be set along."""
    report = check([Path(FILE)], run_date=DAY)
    bare = tuple(replace(each, advice=()) for each in report.findings)
    (source,) = find_sources([Path(FILE)]).files
    source = source._replace(data=Path(FILE).read_bytes())
    with pytest.raises(RunError) as caught:
        list(
            advised_changes(rule, find_targets(source), replace(report, findings=bare))
        )
    said = str(caught.value)
    assert f"The finding of {rule} proposes no value of its own for FT-1" in said
    assert "bears on one reading together with receiver-scale-agrees" in said
    assert "Set all of them together: --set 'FT-1:PATH=VALUE' --set" in said
