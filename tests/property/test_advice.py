"""Laws of advice on random meters: a proposed value does what it is proposed for."""

from __future__ import annotations

from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from configlint.advice import Adviser
from configlint.choices import value_of
from configlint.rules import RuleBook
from configlint.window import settings_of
from tests.free_meters import free_meter, standard_book


@cache
def standard() -> RuleBook:
    """Load the standard rules once."""
    return standard_book()


def amount(low: float, high: float, *units: str) -> st.SearchStrategy[str]:
    """Draw an amount of three digits in one of some units."""
    steps = st.integers(int(low * 1000), int(high * 1000))
    numbers = steps.map(lambda each: f"{each / 1000:.3g}")
    return st.tuples(numbers, st.sampled_from(units)).map(" ".join)


METERS = {
    "sensor.bore": amount(20, 900, "mm"),
    "sensor.nominal_size": st.sampled_from(["DN 100", "DN 200", "NPS 4"]),
    "sensor.nameplate.calibration_factor": st.sampled_from(["1.0250", "0.9876"]),
    "transmitter.nominal_size": st.sampled_from(["DN 100", "DN 150"]),
    "transmitter.calibration_factor": st.sampled_from(["1.025", "10.25", "1"]),
    "transmitter.damping": amount(0.1, 90, "s"),
    "transmitter.excitation_frequency": amount(1, 20, "Hz"),
    "transmitter.low_flow_cutoff": amount(0.01, 90, "%", "m3/h"),
    "transmitter.flow_direction": st.sampled_from(["forward", "both"]),
    "current_output.lower_range_value": amount(-100, 100, "m3/h"),
    "current_output.upper_range_value": amount(0.5, 900, "m3/h", "l/s"),
    "current_output.failure_current": amount(1, 25, "mA"),
    "receiver.analogue.lower_scale": st.just("0 m3/h"),
    "receiver.analogue.upper_scale": amount(1, 900, "m3/h", "US_gal/min"),
    "receiver.analogue.fault_below": amount(2, 5, "mA"),
    "receiver.analogue.fault_above": amount(19, 23, "mA"),
    "receiver.counter.pulse_weight": amount(0.1, 900, "l", "US_gal"),
    "receiver.counter.digits": st.sampled_from(["4", "8"]),
    "receiver.use": st.sampled_from(["control", "batching"]),
    "pulse_output.pulse_weight": amount(0.1, 900, "l"),
    "pulse_output.pulse_width": amount(1, 900, "ms"),
    "pulse_output.maximum_frequency": amount(1, 900, "Hz"),
    "totalizer.resolution": amount(0.001, 100, "m3"),
    "totalizer.digits": st.sampled_from(["4", "8"]),
    "process.flow.minimum": amount(0.1, 90, "m3/h"),
    "process.flow.maximum": amount(90, 900, "m3/h"),
    "process.duty": st.just("clean water"),
}


@settings(max_examples=20)
@given(st.fixed_dictionaries({}, optional=METERS))
def test_advice_settles_its_finding_and_breaks_nothing_else(
    written: dict[str, str],
) -> None:
    """With the changes made the rule is met, and no rule is broken that was not."""
    free = free_meter(standard(), written)
    before = {rule.id for rule in free.broken_with({})}
    adviser = Adviser(free, before)
    settable = set(settings_of(free))
    for rule in free.broken_with({}):
        for advice in adviser.advise(rule):
            changes = dict(advice.changes)
            assert 1 <= len(changes) <= 3
            assert settable.issuperset(changes)
            assert all(free.book.settings[path].adjustable for path in changes)
            values = {
                path: value_of(free, path, text) for path, text in changes.items()
            }
            after = {each.id for each in free.broken_with(values)}
            assert after <= before - {rule.id}
