"""Laws of nets: what several faults of a meter come to together in a reading."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.effects import Net
from configlint.engine import NO_NUMBER
from configlint.nets import Nets
from tests.builders import make_book
from tests.shares import effect, made_rule, nets, standard_book, told, words

SCALE = "receiver.analogue.upper_scale"
ZERO = "receiver.analogue.lower_scale"
FACTOR = "transmitter.calibration_factor"
SIZE = "transmitter.nominal_size"
PULSES = {
    "pulse_output.pulse_weight": "10 l",
    "receiver.counter.pulse_weight": "10 l",
}
CHAIN = "chain-gain-is-one"
WARNING = "Correcting one alone can make the reading worse."


def test_the_stages_of_a_chain_are_read_off_its_formula() -> None:
    """A net counts each rule whose settings its formula reads, and no other net."""
    counts = {name: each.counts for name, each in Nets(standard_book()).rules.items()}
    sensor = {
        *("calibration-factor-agrees", "k-factor-agrees", "k-factor-not-inverted"),
        *("ultrasonic-wall-agrees", "size-agrees"),
    }
    assert counts[CHAIN] == {*sensor, "receiver-scale-agrees"}
    assert counts["pulse-chain-gain-is-one"] == {
        *sensor,
        *("pulse-rate-within-counter", "pulse-rate-within-output"),
        *("pulse-weight-agrees", "pulse-width-fits-rate"),
    }
    assert counts["receiver-zero-agrees"] == {"receiver-scale-agrees"}
    assert counts["calibration-factor-agrees"] == frozenset()


def test_no_value_is_proposed_for_a_stage_of_a_net() -> None:
    """Each stage of a net shares a setting with it, which withholds its advice."""
    rules = {rule.id: rule for rule in standard_book().meter_rules}
    chains = [each for each in rules.values() if each.is_net]
    assert [each.id for each in chains] == [CHAIN, "pulse-chain-gain-is-one"]
    counts = Nets(standard_book()).rules
    for chain in chains:
        for stage in counts[chain.id].counts:
            assert not set(chain.settings).isdisjoint(rules[stage].settings), stage


def test_a_fault_that_stands_alone_is_told_as_it_is() -> None:
    """Nothing is said of others where there are none, nor in what to do."""
    (alone,) = told({SCALE: "240 m3/h"}).values()
    assert words(alone).startswith("The receiver reads 20 % high: 20 m3/h too much")
    assert not effect(alone).is_share
    assert (effect(alone).others, effect(alone).nets) == ((), ())
    assert WARNING not in alone.remedy


def test_faults_that_cancel_are_told_as_shares_with_their_net() -> None:
    """Each is told as taken alone, then by their net, and all are to be corrected."""
    found = told({SCALE: "100 m3/h", FACTOR: "1.9600"})
    assert words(found["receiver-scale-agrees"]) == (
        "Taken alone, the receiver reads 50 % low: 50 m3/h too little at normal flow, "
        "438000 m3 in a year of 8760 h, as none are stated. Together with "
        "calibration-factor-agrees, the receiver reads 2 % low: 2 m3/h too little at "
        "normal flow, 17500 m3 in a year of 8760 h, as none are stated."
    )
    assert words(found["calibration-factor-agrees"]).startswith(
        "Taken alone, the meter reads 96 % high: 96 m3/h too much at normal flow, "
    )
    for rule in ("receiver-scale-agrees", "calibration-factor-agrees"):
        assert found[rule].remedy.endswith(
            " Correct all of these together: calibration-factor-agrees, "
            f"receiver-scale-agrees. {WARNING}"
        )
        assert effect(found[rule]).is_share
        assert effect(found[rule]).rank == effect(found[CHAIN]).rank


def test_a_net_names_what_it_counts() -> None:
    """The finding of the chain is no share, and says whose faults are in it."""
    chain = told({SCALE: "100 m3/h", FACTOR: "1.9600"})[CHAIN]
    assert words(chain).endswith(
        "Counted in it: calibration-factor-agrees, receiver-scale-agrees."
    )
    assert not effect(chain).is_share
    assert WARNING not in chain.remedy


def test_faults_that_cancel_altogether_are_said_to_read_right() -> None:
    """A net of nothing is told, so that no share passes for the error."""
    found = told({SCALE: "100 m3/h", FACTOR: "2.0000"})
    assert words(found[CHAIN]).startswith("The receiver reads right. Counted in it: ")
    share = words(found["receiver-scale-agrees"])
    assert share.endswith("calibration-factor-agrees, the receiver reads right.")


def test_faults_that_add_up_carry_no_warning() -> None:
    """Where all make the reading too high, each correction makes it better."""
    found = told({SCALE: "220 m3/h", FACTOR: "1.1000"})
    assert effect(found[CHAIN]).relative == 0.21
    assert not any(WARNING in each.remedy for each in found.values())


def test_a_net_that_is_not_known_names_what_it_lacks() -> None:
    """Where the chain can't be assessed, shares say so, with the missing input."""
    found = told({SCALE: "100 m3/h", FACTOR: "2.0000"}, without=(SIZE,))
    assert CHAIN not in found
    said = words(found["calibration-factor-agrees"])
    assert said.startswith("Taken alone, the meter reads 100 % high")
    assert said.endswith(
        " Together with receiver-scale-agrees, the net of the receiver is not known: "
        f"lacks {SIZE}."
    )
    assert WARNING in found["calibration-factor-agrees"].remedy


def test_a_net_is_told_where_its_own_rule_is_met() -> None:
    """Faults below the chain's limit have a net all the same."""
    found = told({SCALE: "200.05 m3/h", FACTOR: "1.1000"})
    assert CHAIN not in found
    stages = ("calibration-factor-agrees", "receiver-scale-agrees")
    for rule in stages:
        assert nets(found[rule]) == [(CHAIN, stages, 0.100275)]


def test_a_stage_that_a_policy_allows_is_in_the_net() -> None:
    """The chain tells more than its one finding that is left, and that is said."""
    allowed = {"receiver-scale-agrees": {"tolerance": 1.0}}
    found = told({SCALE: "220 m3/h", FACTOR: "1.1000"}, limits=allowed)
    share = found["calibration-factor-agrees"]
    assert effect(share).others == ()
    assert effect(share).is_share
    assert f" By {CHAIN}, the receiver reads 21 % high: " in words(share)


def test_one_fault_can_be_in_two_readings() -> None:
    """A wrong size cancels in the receiver's flow, and is in its total in full."""
    found = told(
        {SCALE: "450 m3/h", SIZE: "DN 100", **PULSES}, without=("pulse_output",)
    )
    said = words(found["size-agrees"])
    assert said.startswith("Taken alone, the meter reads 0.444 of the flow: ")
    assert " Together with receiver-scale-agrees, the receiver reads right." in said
    assert said.endswith(
        " No other fault bears on the receiver's total, which reads 0.444 of the flow "
        "as well."
    )
    total = effect(found["size-agrees"]).nets[1].effect
    assert total is not None
    assert effect(found["size-agrees"]).rank == total.rank


def test_the_pulses_have_a_net_of_their_own() -> None:
    """What the receiver adds up is told by the chain of the pulses."""
    changed = {**PULSES, SIZE: "DN 100", "receiver.counter.pulse_weight": "22.5 l"}
    found = told(changed, without=("pulse_output",))
    assert set(found) == {
        *("pulse-chain-gain-is-one", "pulse-weight-agrees", "size-agrees")
    }
    assert "the receiver's total reads right." in words(found["pulse-weight-agrees"])


def test_an_output_that_nobody_states_is_in_no_net() -> None:
    """It is named as missing only where no other net is known."""
    both = {FACTOR: "1.1000", SIZE: "DN 100"}
    found = told(both, without=("pulse_output",))
    assert [rule for rule, *_ in nets(found["size-agrees"])] == [CHAIN]
    found = told(both, without=("pulse_output", SCALE))
    assert [each[::2] for each in nets(found["size-agrees"])] == [
        (CHAIN, None),
        ("pulse-chain-gain-is-one", None),
    ]
    assert "the net of the receiver's total is not known: lacks pulse_output" in words(
        found["size-agrees"]
    )


def test_what_no_rule_counts_is_said_to_be_left_out() -> None:
    """A fault of the reading that the chain does not hold is named beside the net."""
    currents = {
        "transmitter.excitation_current": "0.2 A",
        "sensor.nameplate.excitation_current": "0.1 A",
    }
    found = told({SCALE: "220 m3/h", FACTOR: "1.1000", **currents})
    rest = "What it comes to with excitation-current-agrees is not known: no rule"
    assert rest in words(found[CHAIN])
    assert rest in words(found["calibration-factor-agrees"])
    assert ", but without excitation-current-agrees, the receiver reads 21 %" in words(
        found["calibration-factor-agrees"]
    )
    assert effect(found["excitation-current-agrees"]).nets == ()
    assert "with calibration-factor-agrees, receiver-scale-agrees is not" in words(
        found["excitation-current-agrees"]
    )


def test_an_effect_that_counts_another_fault_is_no_share() -> None:
    """Both ends of a scale are told in one figure, and the first stands for both."""
    found = told({SCALE: "220 m3/h", ZERO: "20 m3/h"})
    scale, zero = found["receiver-scale-agrees"], found["receiver-zero-agrees"]
    assert words(scale).startswith("The receiver reads 3 times the flow at minimum")
    assert words(scale).endswith(" Counted in it: receiver-zero-agrees.")
    assert words(zero).endswith(" Counted in it: receiver-scale-agrees.")
    assert effect(scale).nets == ()
    assert [rule for rule, *_ in nets(zero)] == ["receiver-scale-agrees"]


def test_effects_that_count_one_another_carry_the_warning() -> None:
    """Both tell one error of one side, and it grows if the zero alone is corrected."""
    span = {"current_output.upper_range_value": "700 m3/h", SCALE: "900 m3/h"}
    flow = {"process.flow.normal": "450 m3/h", "process.flow.maximum": "600 m3/h"}
    both = told({**span, **flow, ZERO: "-200 m3/h"})
    assert set(both) == {"receiver-scale-agrees", "receiver-zero-agrees"}
    for finding in both.values():
        assert effect(finding).relative == pytest.approx(0.127, abs=1e-4)
        assert finding.remedy.endswith(
            " Correct all of these together: receiver-scale-agrees, "
            f"receiver-zero-agrees. {WARNING}"
        )
    (scale,) = told({**span, **flow}).values()
    assert effect(scale).relative == pytest.approx(0.2857, abs=1e-4)
    assert WARNING not in scale.remedy


def test_sides_are_told_apart_at_every_flow() -> None:
    """What adds up at normal flow can hide at another, and that carries the warning."""
    found = told(
        {
            "receiver.analogue.lower_current": "6 mA",
            "receiver.analogue.upper_current": "18 mA",
            FACTOR: "0.9000",
            "process.flow.normal": "50 m3/h",
        }
    )
    assert len(found) == 2
    assert all(effect(each).relative < 0 for each in found.values())
    assert {WARNING in each.remedy for each in found.values()} == {True}


def test_a_reading_that_runs_backwards_hides_another_low_one() -> None:
    """What else makes it smaller makes its error smaller, so that both are one job."""
    found = told(
        {
            ZERO: "-100 m3/h",
            FACTOR: "0.5000",
            "process.flow.normal": "10 m3/h",
            "process.flow.maximum": "20 m3/h",
        }
    )
    assert set(found) == {"calibration-factor-agrees", "receiver-zero-agrees"}
    for finding in found.values():
        assert finding.effect is not None
        assert all(each.relative < 0 for each in finding.effect.at)
        assert WARNING in finding.remedy


def test_a_stage_of_a_loop_is_told_with_what_counts_it() -> None:
    """A rule that is met by itself tells a net as well where it counts others."""
    found = told({SCALE: "220 m3/h", "receiver.analogue.lower_current": "0 mA"})
    scale, loop = found["receiver-scale-agrees"], found["receiver-range-is-4-20"]
    assert effect(loop).counts == ("receiver-scale-agrees",)
    assert effect(loop).nets == ()
    assert nets(scale) == [
        (
            "receiver-range-is-4-20",
            ("receiver-range-is-4-20", "receiver-scale-agrees"),
            0.32,
        )
    ]


def test_faults_at_flows_apart_are_told_as_they_are() -> None:
    """What is lost at the lowest flow has no part in what is lost at the highest."""
    cutoff = {"transmitter.low_flow_cutoff": "20 m3/h"}
    found = told({**cutoff, "process.flow.maximum": "250 m3/h"})
    assert len(found) == 2
    assert not any(effect(each).is_share for each in found.values())


@pytest.mark.parametrize(
    ("changes", "without", "stage"),
    [
        (
            {
                "principle": "vortex",
                "sensor.nameplate.k_factor": "1 pulses/l",
                "transmitter.k_factor": "0.5 pulses/l",
            },
            (SIZE, FACTOR, "sensor.nameplate.calibration_factor"),
            "k-factor-agrees",
        ),
        (
            {"principle": "coriolis", FACTOR: "2.0000"},
            (SIZE,),
            "calibration-factor-agrees",
        ),
    ],
)
def test_every_principle_has_its_chain(
    changes: dict[str, str], without: tuple[str, ...], stage: str
) -> None:
    """A receiver bent to a wrong factor is seen of meters without a size too."""
    found = told({**changes, SCALE: "100 m3/h"}, without)
    assert words(found[stage]).endswith(
        " Together with receiver-scale-agrees, the receiver reads right."
    )


def test_a_net_that_gives_no_number_is_not_known(tmp_path: Path) -> None:
    """A rule that is met, and whose effect can't be computed, tells no net."""
    gain, damping = "transmitter.calibration_factor", "transmitter.damping"
    rules = "".join(
        (
            "ruleset: made\nedition: '1'\nrules:\n",
            made_rule("gain-right", f"{gain} == 1", gain, f"{gain} - 1"),
            made_rule(
                "damping-right", f"{damping} < 1[s]", damping, f"{damping} / 1[s]"
            ),
            made_rule(
                "both-right",
                "given(meter)",
                gain,
                f"{gain} * {damping} / 1[s] * sensor.bore / 1[m]",
                "true",
            ),
        )
    )
    found = told({FACTOR: "2", damping: "3 s"}, book=make_book(tmp_path, rules))
    assert set(found) == {"gain-right", "damping-right"}
    counted = ("damping-right", "gain-right")
    net = Net("The meter", "both-right", counted, (), None, (NO_NUMBER,))
    assert effect(found["gain-right"]).nets == (net,)
    assert f"is not known: lacks {NO_NUMBER}." in words(found["gain-right"])
