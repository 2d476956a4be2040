"""Laws of nets on random chains: the gains of the stages multiply to the net told."""

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
