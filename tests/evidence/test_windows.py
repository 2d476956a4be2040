"""Windows known by a closed formula, against those that the solver finds by the rules.

The solver knows no formula but those of the rules: it asks the compiled rules. What is
compared here was solved for the setting with a pencil.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from configlint.laying import lay_out
from configlint.sheets.window import make_sheets
from configlint.window import Window
from tests.evidence.meters import RUN_DATE, write_workspace
from tests.evidence.test_pipes_and_sizes import FLOWS, PIPES, bore
from tests.evidence.window_examples import SPAN, WEIGHT, WINDOWS, Solved


def window_of(folder: Path, meter: Mapping[str, str], setting: str) -> Window:
    """Write a meter's file, and solve for one of its settings by the tool's own way."""
    write_workspace(folder, [("FT-1", meter)], moved=False)
    laid = lay_out(str(folder / "FT-1.yaml"), run_date=RUN_DATE)
    ((window,),) = (each.windows for each in make_sheets(laid, [setting]))
    return window


@pytest.mark.parametrize("solved", WINDOWS, ids=lambda each: each.shows)
def test_a_window_is_what_a_formula_gives(tmp_path: Path, solved: Solved) -> None:
    """Both ends are those of the formula, and the rules are those that stand there."""
    window = window_of(tmp_path, solved.meter, solved.setting)
    (interval,) = window.intervals
    ends = ((interval.start, solved.low), (interval.end, solved.high))
    for found, formula in ends:
        assert (found is None) is (formula is None)
        assert found == formula or found == pytest.approx(formula, rel=solved.within)
    assert (interval.start_rule, interval.end_rule) == (
        solved.low_rule,
        solved.high_rule,
    )
    assert window.preferred[: len(solved.preferred)] == solved.preferred


@pytest.mark.parametrize("size", sorted(FLOWS))
def test_the_range_of_a_size_goes_by_its_bore(tmp_path: Path, size: int) -> None:
    """In schedule 40 a range may be 0.3 to 10 times the flow at 1 m/s.

    The bores are those of ASME B36.10M as the library fluids has them, the flows
    were computed from these.
    """
    assert size in PIPES
    diameter = 1000 * bore(size, "40")
    meter = {SPAN: f"{FLOWS[size]} m3/h", "sensor.bore": f"{diameter} mm"}
    (interval,) = window_of(tmp_path, meter, SPAN).intervals
    assert interval.start == pytest.approx(0.3 * FLOWS[size], rel=1e-3)
    assert interval.end == pytest.approx(10 * FLOWS[size], rel=1e-3)


def test_bits_are_those_that_tell_a_small_flow(tmp_path: Path) -> None:
    """A count is at most 0.5 % of the lowest flow: 2000 counts need 11 bits.

    Computed: 100 m3/h in counts of 0.05 m3/h.
    """
    meter = {
        SPAN: "100 m3/h",
        "receiver.analogue.lower_scale": "0 m3/h",
        "receiver.analogue.upper_scale": "100 m3/h",
        "receiver.analogue.bits": "8",
        "process.flow.minimum": "10 m3/h",
    }
    write_workspace(tmp_path, [("FT-1", meter)], moved=False)
    laid = lay_out(str(tmp_path / "FT-1.yaml"), run_date=RUN_DATE)
    ((choices,),) = (
        each.choices for each in make_sheets(laid, ["receiver.analogue.bits"])
    )
    assert choices.permissible[0] == "11"
    assert len(choices.permissible) == 64 - 10


def test_pulses_too_fast_and_too_coarse_are_in_conflict(tmp_path: Path) -> None:
    """A slow output and a low flow may leave no pulse weight at all.

    Computed: 36 m3/h in 1 Hz need 10 l and more, and 0.3 m3/h in a minute are 5 l.
    """
    meter = {
        SPAN: "36 m3/h",
        WEIGHT: "10 l",
        "pulse_output.maximum_frequency": "1 Hz",
        "process.flow.minimum": "0.3 m3/h",
    }
    window = window_of(tmp_path, meter, WEIGHT)
    assert window.intervals == ()
    assert set(window.conflict) == {
        "pulse-rate-within-output",
        "pulse-resolution-at-minimum-flow",
    }


def test_a_range_and_its_receiver_are_ranged_together(tmp_path: Path) -> None:
    """Changed along, the receiver's scale leaves the range what the velocities do.

    Computed: 0.3 and 10 m/s in 100 mm.
    """
    scale = "receiver.analogue.upper_scale"
    meter = {SPAN: "80 m3/h", scale: "80 m3/h", "sensor.bore": "100 mm"}
    tied = window_of(tmp_path, meter, SPAN).tied
    assert tied is not None
    assert tied.others == (scale,)
    (interval,) = tied.intervals
    assert interval.start == pytest.approx(8.4823001647, rel=1e-9)
    assert interval.end == pytest.approx(282.74333882, rel=1e-9)
