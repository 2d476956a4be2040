"""Laws of readings that go by others: a fault of one bears on those behind it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.builders import make_book
from tests.shares import effect, made_rule, nets, told, words

SCALE = "receiver.analogue.upper_scale"
FACTOR = "transmitter.calibration_factor"
SIZE = "transmitter.nominal_size"
WARNING = "Correcting one alone can make the reading worse."

LOSING = {
    "pulse_output.pulse_weight": "10 l",
    "pulse_output.maximum_frequency": "4 Hz",
    "pulse_output.pulse_width": "20 ms",
    "receiver.counter.pulse_weight": "12 l",
    "receiver.counter.maximum_frequency": "100 Hz",
    "process.flow.normal": "180 m3/h",
}


def test_lost_pulses_and_a_wrong_pulse_weight_have_one_net() -> None:
    """An output that loses 20 % and a counter that adds 20 % come to 0.8 times 1.2."""
    found = told(LOSING, without=("pulse_output",))
    faults = ("pulse-rate-within-output", "pulse-weight-agrees")
    assert set(found) == set(faults)
    for rule in faults:
        assert effect(found[rule]).is_share
        assert nets(found[rule]) == [("pulse-chain-gain-is-one", faults, -0.04)]
        assert "the receiver's total reads 20 % high at minimum flow" in words(
            found[rule]
        )
        assert effect(found[rule]).rank == effect(found[faults[0]]).rank
        assert WARNING in found[rule].remedy


def test_pulses_that_nobody_knows_to_be_lost_leave_the_others_counted() -> None:
    """Without the width of the pulses, what the output loses is in the net still."""
    lacking = ("pulse_output", "pulse_output.pulse_width")
    found = told(LOSING, without=lacking)
    (net,) = effect(found["pulse-weight-agrees"]).nets
    assert net.effect is not None
    assert net.effect.relative == pytest.approx(-0.04)


def test_the_slowest_of_the_pulses_decides() -> None:
    """The total goes by the width of the pulses where it allows the fewest."""
    found = told(
        {**LOSING, "pulse_output.pulse_width": "200 ms"}, without=("pulse_output",)
    )
    (net,) = effect(found["pulse-weight-agrees"]).nets
    assert net.effect is not None
    assert net.effect.relative == pytest.approx(0.5 * 1.2 - 1)
    assert len(net.counted) == 3


OVER = {"process.flow.normal": "210 m3/h", "process.flow.maximum": "250 m3/h"}


def test_a_current_at_its_end_bears_on_the_receiver() -> None:
    """No rule computes what a wrong scale comes to with it, and that is said."""
    found = told({**OVER, SCALE: "240 m3/h"})
    scale, end = found["receiver-scale-agrees"], found["maximum-flow-within-span"]
    assert words(end).startswith("Taken alone, the current's reading is right at")
    for one, other in ((scale, end), (end, scale)):
        assert effect(one).others == (other.rule,)
        assert words(one).endswith(
            f"What it comes to with {other.rule} is not known: no rule computes it."
        )
        assert WARNING in one.remedy


def test_what_a_single_net_leaves_out_is_said() -> None:
    """A chain that counts one fault does not tell that no other bears on it."""
    found = told({**OVER, FACTOR: "1.1000"})
    said = words(found["calibration-factor-agrees"])
    assert "No other fault" not in said
    assert said.endswith(
        "What it comes to with maximum-flow-within-span is not known: no rule "
        "computes it."
    )


COUNTING = {
    "sensor.nameplate.k_factor": "10 pulses/l",
    "transmitter.k_factor": "8 pulses/l",
    "pulse_output.pulse_weight": "0.1 l",
    "receiver.counter.pulse_weight": "0.08 l",
}


@pytest.mark.parametrize(("scaled", "is_share"), [("true", True), ("false", False)])
@pytest.mark.parametrize("principle", ["turbine", "vortex", "positive displacement"])
def test_pulses_of_the_sensor_do_not_go_by_the_meter(
    principle: str, scaled: str, is_share: bool
) -> None:
    """A wrong K-factor bears on a total by scaled pulses alone."""
    found = told(
        {**COUNTING, "principle": principle, "pulse_output.scaled": scaled},
        without=("pulse_output", SIZE, "sensor.nominal_size"),
    )
    weight = found["pulse-weight-agrees"]
    assert ("k-factor-agrees" in effect(weight).others) == is_share
    assert (effect(found["k-factor-agrees"]).others != ()) == is_share


def test_readings_that_nobody_declares_stand_by_themselves(tmp_path: Path) -> None:
    """Without declared readings faults bear on one another by the reading alone."""
    gain, damping = "transmitter.calibration_factor", "transmitter.damping"
    one = made_rule("gain-right", f"{gain} == 1", gain, f"{gain} - 1")
    two = made_rule("damping-right", f"{damping} < 1[s]", damping, f"{damping} / 1[s]")
    for of, others in (("The meter", ("damping-right",)), ("The total", ())):
        rules = f"ruleset: made\nedition: '1'\nrules:\n{one.replace('The meter', of)}"
        (tmp_path / of).mkdir()
        book = make_book(tmp_path / of, rules + two)
        found = told({FACTOR: "2", damping: "3 s"}, book=book)
        assert effect(found["gain-right"]).others == others
