"""Laws of faults that hide one another: they are corrected together or not at all."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from configlint.advice import Adviser
from configlint.proposals import Advice, advice_words
from configlint.rules import RuleBook
from configlint.stages import groups_of
from configlint.window import Window, solution_of
from tests.free_meters import free_meter, rule, rule_book, standard_book

SPAN = "current_output.upper_range_value"
SCALE = "receiver.analogue.upper_scale"
LOWER = "current_output.lower_range_value"
ZERO = "receiver.analogue.lower_scale"
SIZE = "transmitter.nominal_size"
FACTOR = "transmitter.calibration_factor"
CHAIN, PULSES = "chain-gain-is-one", "pulse-chain-gain-is-one"
PROOF = {"proof": [{"gives": "conforms"}, {"gives": "nonconforming", "effect": "20 %"}]}
GALLONS = {
    "sensor.nominal_size": "NPS 10",
    SIZE: "NPS 8",
    FACTOR: "1.0417",
    "sensor.nameplate.calibration_factor": "1.0417",
    LOWER: "0 US_gal/min",
    SPAN: "2000 US_gal/min",
    ZERO: "0 US_gal/min",
    SCALE: "2000 imp_gal/min",
}


@cache
def standard() -> RuleBook:
    """Load the standard rules once."""
    return standard_book()


def advise(written: dict[str, str], book: RuleBook) -> dict[str, tuple[Advice, ...]]:
    """Ask for advice on all that a meter does not meet, by the rules."""
    free = free_meter(book, written)
    broken = free.broken_with({})
    adviser = Adviser(free, {each.id for each in broken})
    return {each.id: adviser.advise(each) for each in broken}


def sets(advice: tuple[Advice, ...]) -> list[dict[str, str]]:
    """Give the changes of each way."""
    return [dict(each.changes) for each in advice]


def test_every_stage_is_corrected_by_its_own_counterpart() -> None:
    """A set holds the size of the plate, and one end of the loop as the other's."""
    advice = advise(GALLONS, standard())[CHAIN]
    assert sets(advice) == [
        {SCALE: "2000 US_gal/min", SIZE: "NPS 10"},
        {SPAN: "2000 imp_gal/min", SIZE: "NPS 10"},
    ]
    assert [each.if_right for each in advice] == [SPAN, SCALE]
    assert advice_words(advice) == (
        f"if {SPAN} is right, {SCALE} 2000 US_gal/min together with {SIZE} NPS 10; "
        f"if {SCALE} is right, {SPAN} 2000 imp_gal/min together with {SIZE} NPS 10."
    )


def test_a_stage_points_to_its_net() -> None:
    """A stage has the changes of its net, and says that they are the net's."""
    advice = advise(GALLONS, standard())
    for stage in ("size-agrees", "receiver-scale-agrees"):
        assert sets(advice[stage]) == sets(advice[CHAIN])
        words = advice_words(advice[stage])
        assert words == f"with {CHAIN}, which sets all of these together."


def test_plates_leave_one_way() -> None:
    """Where every stage is read off a plate, there is one set."""
    written = {**GALLONS, SCALE: GALLONS[SPAN], FACTOR: "1.6277"}
    (advice,) = advise(written, standard())[CHAIN]
    assert dict(advice.changes) == {FACTOR: "1.0417", SIZE: "NPS 10"}
    assert not advice.if_right


def test_a_set_meets_the_net_and_all_its_stages() -> None:
    """With a set made, nothing of the group is broken, nor anything anew."""
    free = free_meter(standard(), GALLONS)
    before = {each.id for each in free.broken_with({})}
    (group,) = groups_of(standard(), before)
    joint = Adviser(free, before).joint
    assert joint.advise("damping-suits-duty") == ()
    for advice in joint.advise(CHAIN):
        for values in ({}, {"transmitter.damping": "1 s"}):
            meter = free_meter(
                standard(), {**GALLONS, **values, **dict(advice.changes)}
            )
            after = {each.id for each in meter.broken_with({})}
            assert after <= before - group.members


def test_nets_that_share_a_stage_are_settled_at_once() -> None:
    """Correcting one net must not uncover a fault that hid in the other."""
    written = {
        **GALLONS,
        "pulse_output.pulse_weight": "10 l",
        "receiver.counter.pulse_weight": "16 l",
    }
    advice = advise(written, standard())
    assert sets(advice[CHAIN]) == sets(advice[PULSES])
    assert [len(each) for each in sets(advice[CHAIN])] == [3, 3]
    assert advice[CHAIN][0].if_right == f"{SPAN} and pulse_output.pulse_weight"


def test_what_is_not_on_record_withholds_the_set() -> None:
    """Nothing is copied into a record that must be read, not even with others."""
    written = {**GALLONS, SCALE: GALLONS[SPAN], FACTOR: "1.6277"}
    free = free_meter(standard(), written)
    broken = {each.id for each in free.broken_with({})}
    joint = Adviser(free, {*broken, "calibration-factor-present"}).joint
    assert joint.advise(CHAIN) == ()


def net_book(folder: Path, **others: str) -> RuleBook:
    """Load a net of the two ends of a range, and rules that forbid some values."""
    effect = {
        "of": "The meter",
        "reading_error": f"{SCALE} / {SPAN} - {ZERO} / {LOWER}",
    }

    def stage(path: str, other: str) -> dict[str, object]:
        own = {"of": "The meter", "reading_error": f"{path} / {other} - 1"}
        return rule(f"{path} == {other}", settings=[path, other], effect=own, **PROOF)

    rules = {
        "high": stage(SCALE, SPAN),
        "low": stage(ZERO, LOWER),
        "net": rule(
            f"{SCALE} == {SPAN} or {ZERO} == {LOWER}",
            settings=[SCALE, ZERO],
            effect=effect,
            proposes_values=False,
            net=True,
            **PROOF,
        ),
    }
    forbidden = {name: rule(accept) for name, accept in others.items()}
    paths = (SPAN, SCALE, LOWER, ZERO)
    return rule_book(folder, {**rules, **forbidden}, {path: {} for path in paths})


ENDS = {SPAN: "9 l/s", SCALE: "8 l/s", LOWER: "2 l/s", ZERO: "1 l/s"}


def test_a_set_that_breaks_another_rule_is_not_proposed(tmp_path: Path) -> None:
    """Of several sets those are left that break nothing, with what rules out others."""
    book = net_book(tmp_path, most=f"{SCALE} <= 8[l/s]", least=f"{LOWER} >= 2[l/s]")
    (advice,) = advise(ENDS, book)["net"]
    assert dict(advice.changes) == {SPAN: "8 l/s", ZERO: "2 l/s"}
    assert advice.unless == ("least", "most")


def test_a_stage_without_a_counterpart_has_no_set(tmp_path: Path) -> None:
    """Where one stage could be any of many values, none is proposed for the group."""
    own = {"of": "The meter", "reading_error": f"{LOWER} / {SPAN}"}
    few = rule(f"{LOWER} <= 1[l/s]", settings=[LOWER], effect=own, **PROOF)
    net = rule(
        f"{LOWER} <= 1[l/s]", effect=own, proposes_values=False, net=True, **PROOF
    )
    net["settings"] = [LOWER]
    book = rule_book(tmp_path, {"few": few, "net": net}, {LOWER: {}})
    assert advise(ENDS, book) == {"few": (), "net": ()}


def test_no_set_may_be_left(tmp_path: Path) -> None:
    """Where every set would break another rule, nothing is proposed."""
    book = net_book(tmp_path, most=f"{SCALE} <= 8[l/s]", least=f"{SPAN} >= 9[l/s]")
    assert advise(ENDS, book)["net"] == ()


def test_a_net_does_not_bound_a_stage_while_others_are_wrong() -> None:
    """A factor as it is stamped is permissible, whatever else is wrong."""
    window = solution_of(free_meter(standard(), GALLONS), FACTOR)
    assert isinstance(window, Window)
    assert not window.broken
    assert [(each.start, each.end) for each in window.intervals] == [(1.0417, 1.0417)]
    left_out = {each.rule: each.faults for each in window.not_counted}
    assert left_out[CHAIN] == ("receiver-scale-agrees", "size-agrees")


def test_a_net_counts_where_no_other_fault_stands() -> None:
    """Without another fault nothing is left out of a window."""
    sound = {**GALLONS, SIZE: "NPS 10", SCALE: GALLONS[SPAN]}
    window = solution_of(free_meter(standard(), sound), FACTOR)
    assert isinstance(window, Window)
    assert window.not_counted == ()
    assert CHAIN in window.rules
