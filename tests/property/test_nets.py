"""Laws of nets on random meters: what stages come to, and when one hides another."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from configlint.findings import Finding
from tests.shares import told

STAGES = ("sensor", "size", "receiver")
SIZES = ("DN 100", "DN 125", "DN 150", "DN 200", "DN 250")
STAMPED = Decimal("1.2500")
SPAN = Decimal(200)
CHAIN = "chain-gain-is-one"
RULES = ("calibration-factor-agrees", "size-agrees", "receiver-scale-agrees")
WARNING = "Correcting one alone can make the reading worse."

# A factor that its rule refuses is one step off at least, which is 0.008 %; the chain
# lets pass what is below its own limit of 0.05 %.
FACTORS = st.integers(4000, 40_000).map(lambda each: Decimal(each) / 10_000)
SCALES = st.integers(50_000, 800_000).map(lambda each: Decimal(each) / 1000)


def chain_of(factor: Decimal, size: str, scale: Decimal) -> dict[str, str]:
    """Write the settings of a chain whose sensor is of DN 150, stamped 1.2500."""
    return {
        "sensor.nameplate.calibration_factor": str(STAMPED),
        "transmitter.calibration_factor": str(factor),
        "transmitter.nominal_size": size,
        "receiver.analogue.upper_scale": f"{scale} m3/h",
    }


def gains_of(factor: Decimal, size: str, scale: Decimal) -> tuple[float, ...]:
    """Compute each stage's gain by itself: a size's area goes with its square."""
    bores = Decimal(size.removeprefix("DN ")) / 150
    return float(factor / STAMPED), float(bores**2), float(scale / SPAN)


def error_of(findings: Mapping[str, Finding], rule: str) -> float:
    """Give the error that the finding of a rule tells."""
    effect = findings[rule].effect
    assert effect is not None
    return effect.relative


@settings(max_examples=40)
@given(factor=FACTORS, size=st.sampled_from(SIZES), scale=SCALES)
def test_the_stages_multiply_to_the_net(
    factor: Decimal, size: str, scale: Decimal
) -> None:
    """The net that every share names is the product of all gains, within rounding."""
    one, two, three = gains_of(factor, size, scale)
    net = one * two * three - 1
    findings = told(chain_of(factor, size, scale))
    shares = [each for each in RULES if each in findings]
    product = math.prod(1 + error_of(findings, rule) for rule in shares)
    # A scale off by no more than its limit of 0.01 % is no finding.
    assert product == pytest.approx(1 + net, rel=1.001e-4)
    if CHAIN in findings:
        assert error_of(findings, CHAIN) == pytest.approx(net, rel=1e-9, abs=1e-11)
    for rule in shares:
        effect = findings[rule].effect
        assert effect is not None
        assert effect.is_share == (len(shares) > 1)
        for told_net in effect.nets:
            assert told_net.rule == CHAIN
            assert told_net.counted == tuple(sorted(shares))
            assert told_net.effect is not None
            assert told_net.effect.relative == pytest.approx(net, rel=1e-9, abs=1e-11)
        assert len(effect.nets) == (len(shares) > 1)


@settings(max_examples=40)
@given(factor=FACTORS, size=st.sampled_from(SIZES), scale=SCALES)
def test_the_warning_stands_where_one_correction_makes_it_worse(
    factor: Decimal, size: str, scale: Decimal
) -> None:
    """It is given just where correcting some one stage alone enlarges the error.

    So it is wherever the net is smaller than the largest stage.
    """
    findings = told(chain_of(factor, size, scale))
    gains = [1 + error_of(findings, each) for each in RULES if each in findings]
    net = math.prod(gains)
    worse = any(abs(net / gain - 1) > abs(net - 1) + 1e-9 for gain in gains)
    hides = any(abs(gain - 1) > abs(net - 1) + 1e-9 for gain in gains)
    warned = {WARNING in findings[each].remedy for each in RULES if each in findings}
    assert warned == ({worse and len(gains) > 1} if gains else set())
    assert worse or not hides


@settings(max_examples=40)
@given(
    factor=FACTORS,
    size=st.sampled_from(SIZES),
    scale=SCALES,
    left=st.sampled_from(STAGES),
)
def test_without_the_other_stages_there_is_no_net(
    factor: Decimal, size: str, scale: Decimal, left: str
) -> None:
    """One stage that is left is told as it is, and of a sound chain nothing is."""
    findings = told(
        chain_of(
            factor if left == "sensor" else STAMPED,
            size if left == "size" else "DN 150",
            scale if left == "receiver" else SPAN,
        )
    )
    assert CHAIN not in findings
    for finding in findings.values():
        assert finding.effect is not None
        assert not finding.effect.is_share
        assert finding.effect.nets == ()
    assert told(chain_of(STAMPED, "DN 150", SPAN)) == {}


FLOWS = (10.0, 100.0, 200.0)
Stages = Mapping[str, Decimal]

RIGHT: Stages = {
    "transmitter.calibration_factor": Decimal(1),
    "receiver.analogue.lower_scale": Decimal(0),
    "receiver.analogue.upper_scale": SPAN,
    "receiver.analogue.lower_current": Decimal(4),
    "receiver.analogue.upper_current": Decimal(20),
}
CURRENTS = ("receiver.analogue.lower_current", "receiver.analogue.upper_current")
STAGE_UNITS = ("", " m3/h", " m3/h", " mA", " mA")
WRONG = (
    st.integers(2000, 20_000).map(lambda each: Decimal(each) / 10_000),
    st.integers(-300, 150).map(Decimal),
    st.integers(160, 900).map(Decimal),
    st.sampled_from([Decimal(0), Decimal(2), Decimal(6)]),
    st.sampled_from([Decimal(16), Decimal(18), Decimal(24)]),
)


@st.composite
def wrong_stages(draw: st.DrawFn, most: int = 3) -> dict[str, Decimal]:
    """Draw two stages or more of a current's chain that are wrong."""
    names = draw(
        st.lists(st.sampled_from(sorted(RIGHT)), min_size=2, max_size=most, unique=True)
    )
    drawn = dict(zip(RIGHT, WRONG, strict=True))
    return {name: draw(drawn[name]) for name in names}


def errors_read(stages: Stages) -> list[float]:
    """Compute what the receiver reads wrong at each flow, from the loop's current."""
    gain, zero, scale, low, high = (float({**RIGHT, **stages}[each]) for each in RIGHT)
    currents = (4 + 16 * gain * flow / float(SPAN) for flow in FLOWS)
    read = (zero + (scale - zero) * (each - low) / (high - low) for each in currents)
    return [each / flow - 1 for each, flow in zip(read, FLOWS, strict=True)]


def written(stages: Stages) -> dict[str, str]:
    """Write stages as a meter's file has them."""
    units = dict(zip(RIGHT, STAGE_UNITS, strict=True))
    texts = {
        name: f"{value:.4f}" if name.endswith("factor") else f"{value}{units[name]}"
        for name, value in stages.items()
    }
    return {"sensor.nameplate.calibration_factor": "1.0000", **texts}


@settings(max_examples=60)
@given(stages=wrong_stages())
def test_no_stage_makes_it_worse_without_the_warning(
    stages: dict[str, Decimal],
) -> None:
    """Where one correction enlarges the error at a flow, every finding of it warns.

    So it is of stages that no chain counts too: the zero, and the loop's currents.
    """
    before = errors_read(stages)
    found = told(written(stages))
    for name in stages:
        # The two currents are one finding, and are set in one go.
        corrected = CURRENTS if name in CURRENTS else (name,)
        after = errors_read({**stages, **{each: RIGHT[each] for each in corrected}})
        if any(
            abs(new) > abs(old) + 1e-9 for old, new in zip(before, after, strict=True)
        ):
            assert found
            for finding in found.values():
                if finding.rule != CHAIN:
                    assert WARNING in finding.remedy, (name, finding.rule)


@settings(max_examples=40)
@given(
    limits=st.tuples(*[st.sampled_from(["2 Hz", "4 Hz", "20 Hz"])] * 2),
    width=st.sampled_from(["20 ms", "200 ms"]),
    weight=st.integers(5, 20),
    factor=st.integers(50, 200).map(lambda each: Decimal(each) / 100),
)
def test_the_pulses_come_to_what_the_slowest_passes_on(
    limits: tuple[str, str], width: str, weight: int, factor: Decimal
) -> None:
    """Every net of a total is the pulses there are, or pass, by what each adds."""
    changes = {
        "sensor.nameplate.calibration_factor": "1.0000",
        "transmitter.calibration_factor": f"{factor:.4f}",
        "pulse_output.pulse_weight": "10 l",
        "pulse_output.pulse_width": width,
        "pulse_output.maximum_frequency": limits[0],
        "receiver.counter.maximum_frequency": limits[1],
        "receiver.counter.pulse_weight": f"{weight} l",
    }
    found = told(changes, without=("pulse_output", "receiver.analogue.upper_scale"))
    rates = [float(each.removesuffix(" Hz")) for each in limits]
    rates.append({"20 ms": 25.0, "200 ms": 2.5}[width])
    pulses = min(float(factor) * 100 / 36, *rates)
    error = pulses * 36 * weight / 10 / 100 - 1
    for finding in found.values():
        assert finding.effect is not None
        for net in finding.effect.nets:
            if net.of == "The receiver's total":
                assert net.effect is not None
                (at,) = [each for each in net.effect.at if each.name == "normal"]
                assert at.relative == pytest.approx(error, rel=1e-9, abs=1e-11)
