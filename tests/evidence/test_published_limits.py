"""The limits of the rules and the figures of the duties beside the published ones.

A meter that breaks a rule is checked under the standard limits, and the limit is read
from the finding. A rule or a duty whose basis is a publication must have its row here.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from configlint.findings import Amount
from configlint.rules import MeterRule, RuleBook, basis_words
from tests.evidence.meters import Examined, Settings, examine, write_workspace
from tests.evidence.published import Limit, Status, printed

FAILURE = "failure-current-outside-measuring-band"
FAULT_LIMITS = "receiver-fault-limits-outside-measuring-band"
FAILURE_BAND = "receiver-fault-limits-reach-failure-band"
CUT_OFF = "low-flow-cutoff-advised"
ADVISED = "totalizer-rollover-advised"
AT_SPAN, AT_NORMAL = "velocity-at-span-advised", "velocity-at-normal-flow"

NE_43 = "NAMUR NE 43"
NEW_MEXICO = "New Mexico State Engineer meter standards, item C"
OREGON = "Oregon Administrative Rules 690-507-0785 (1)(e)"
VIRGINIA = "Virginia 9VAC25-790-440"
ILLINOIS = "Illinois Adm. Code 35-370.470"
STRAIGHT = "New Mexico State Engineer meter standards, item G"
CALIBRATED = "New Mexico State Engineer meter standards, items A and D"
HAMPSHIRE = "New Hampshire Env-Wq 704.07"
UFC = "UFC 3-280-03"
GRIT = "an engineering reference table on the web"
TABLE = "Applied Process Design for Chemical and Petrochemical Plants, vol. 1"
DESIGN = "Chemical Process Engineering, Design and Economics, ch. 8"
PROVING = "A school of measurement's paper on the theory of pulse interpolation"


def limit(
    rule: str,
    name: str,
    source: str,
    figure: float,
    unit: str,
    status: Status = Status.READ,
) -> Limit:
    """Make the row of a rule's own limit, which is the published figure itself."""
    return Limit(
        rule=rule, name=name, source=source, status=status, figure=figure, unit=unit
    )


def advised(
    duty: str,
    end: str,
    source: str,
    figure: float,
    unit: str,
    status: Status = Status.READ,
) -> Limit:
    """Make the row of a duty's figure, which is the published figure itself."""
    return Limit(
        rule=AT_SPAN if "span" in end else AT_NORMAL,
        name=f"{end}_velocity_advised",
        source=source,
        status=status,
        figure=figure,
        unit=unit,
        duty=duty,
    )


LIMITS: tuple[Limit, ...] = (
    limit(FAILURE, "highest_low", NE_43, 3.6, "mA"),
    limit(FAILURE, "lowest_high", NE_43, 21.0, "mA"),
    limit(FAULT_LIMITS, "lower_end", NE_43, 3.8, "mA"),
    limit(FAULT_LIMITS, "upper_end", NE_43, 20.5, "mA"),
    limit(FAILURE_BAND, "highest_low", NE_43, 3.6, "mA"),
    limit(FAILURE_BAND, "lowest_high", NE_43, 21.0, "mA"),
    limit("receiver-range-is-4-20", "lower", "IEC 60381-1", 4, "mA", Status.MEMORY),
    limit("receiver-range-is-4-20", "upper", "IEC 60381-1", 20, "mA", Status.MEMORY),
    limit("totalizer-rollover", "shortest", NEW_MEXICO, 1, "year"),
    limit(ADVISED, "shortest", NEW_MEXICO, 1, "year"),
    limit(ADVISED, "advised", OREGON, 2, "year"),
    limit("upstream-straight", "bores_before", STRAIGHT, 10, ""),
    limit("downstream-straight", "bores_behind", STRAIGHT, 5, ""),
    Limit(
        rule="calibration-in-date",
        name="interval",
        source=CALIBRATED,
        status=Status.READ,
        figure=3,
        unit="year",
        within=1e-3,
        because="three years with their leap day, beside three of 365 d",
    ),
    limit("proving-pulses", "fewest", PROVING, 10_000, ""),
    advised("sewage force main", "lowest_normal", VIRGINIA, 2, "ft/s"),
    advised("sewage force main", "highest_normal", VIRGINIA, 8, "ft/s"),
    advised("sewage force main", "lowest_normal", ILLINOIS, 2, "ft/s"),
    advised("sewage force main", "lowest_span", HAMPSHIRE, 3, "ft/s"),
    advised("process water", "lowest_normal", TABLE, 3, "ft/s", Status.WEAK),
    advised("process water", "highest_normal", TABLE, 8, "ft/s", Status.WEAK),
    advised("brine with solids", "lowest_normal", TABLE, 6, "ft/s", Status.WEAK),
    advised("brine with solids", "highest_normal", TABLE, 15, "ft/s", Status.WEAK),
    advised("brine with solids", "lowest_span", TABLE, 6, "ft/s", Status.WEAK),
    advised("brine with solids", "highest_span", TABLE, 15, "ft/s", Status.WEAK),
    advised("wastewater with grit", "lowest_normal", GRIT, 3, "ft/s"),
    advised("wastewater with grit", "highest_normal", GRIT, 12, "ft/s"),
    advised("wastewater with grit", "highest_span", GRIT, 12, "ft/s"),
    advised("sludge", "lowest_normal", UFC, 0.9, "m/s"),
    advised("clean water", "highest_normal", DESIGN, 10, "ft/s"),
)

LOOP = {
    "type_sheet": "wall-mounted-a",
    "current_output.supply_voltage": "24 V",
    "current_output.failure_current": "21.5 mA",
}
REGISTER = {
    "current_output.upper_range_value": "84.82 m3/h",
    "totalizer.digits": "6",
    "totalizer.resolution": "1 m3",
}
PULSES = {
    "current_output.upper_range_value": "84.82 m3/h",
    "pulse_output.pulse_weight": "1 l",
    "pulse_output.pulse_width": "30 ms",
    "receiver.counter.digits": "3",
    "receiver.counter.maximum_frequency": "20 Hz",
}
RECEIVER = {
    "current_output.failure_current": "12 mA",
    "receiver.analogue.fault_below": "4 mA",
    "receiver.analogue.fault_above": "20 mA",
    "receiver.analogue.lower_current": "0 mA",
    "receiver.analogue.upper_current": "20 mA",
}
DELIVERED = {
    "type_sheet": "wall-mounted-a",
    "construction": "separate",
    "sensor.bore": "152.4 mm",
    "transmitter.excitation_current": "0.2 A",
    "transmitter.nominal_size": "NPS 6",
    "current_output.upper_range_value": "2500 US_gal/min",
}
# A meter that breaks every rule with a published limit, but for those that advise.
BROKEN: Settings = {
    **PULSES,
    **RECEIVER,
    "sensor.bore": "10 m",
    "totalizer.digits": "3",
    "totalizer.resolution": "1 l",
    "receiver.use": "custody transfer",
    "process.proving_volume": "1 m3",
    "installation.upstream_straight": "1 m",
    "installation.downstream_straight": "1 m",
    "sensor.calibration.date": "2019-02-03",
}
# A receiver that recognises its meter's failure, and would not every other's.
NARROW: Settings = {
    "current_output.failure_current": "22 mA",
    "receiver.analogue.fault_below": "3.2 mA",
    "receiver.analogue.fault_above": "21.5 mA",
}
# A meter that breaks the rules that advise, which are silent beyond the limits: 491 d
# to a rollover, and 9.2 m/s at the upper range value. The duty is each row's own.
ADVISABLE: Settings = {
    **REGISTER,
    "sensor.bore": "57 mm",
    "process.flow.normal": "1 l/h",
}


def breaking(row: Limit) -> Settings:
    """Give a meter that breaks the rule of a row's limit."""
    if row.duty:
        return {**ADVISABLE, "process.duty": row.duty}
    if row.rule == FAILURE_BAND:
        return NARROW
    return ADVISABLE if row.rule == ADVISED else BROKEN


def force_main(velocity: str) -> dict[str, str]:
    """Give the settings of a force main at a velocity at normal flow."""
    return {
        "sensor.bore": "100 mm",
        "process.flow.normal": velocity,
        "process.duty": "sewage force main",
    }


def straight(side: str, length: str) -> dict[str, str]:
    """Give the settings of a sensor with straight pipe on one side of it."""
    return {"sensor.bore": "100 mm", f"installation.{side}_straight": length}


def cut_off(share: str) -> dict[str, str]:
    """Give the settings of a low-flow cut-off that is a share of the range."""
    return {
        "transmitter.low_flow_cutoff": share,
        "current_output.upper_range_value": "100 m3/h",
        "process.flow.minimum": "45 m3/h",
    }


def watched(below: str, above: str) -> dict[str, str]:
    """Give the settings of a receiver that sees faults beyond two currents."""
    limits = {
        "receiver.analogue.fault_below": below,
        "receiver.analogue.fault_above": above,
    }
    return {"current_output.failure_current": "21.5 mA", **limits}


# What a meter is, the rule, and whether it conforms under the standard limits.
VERDICTS: dict[str, tuple[Settings, str, bool]] = {
    "3.6 mA may signal a fault": (
        {"current_output.failure_current": "3.6 mA"},
        FAILURE,
        True,
    ),
    "21.0 mA may signal a fault": (
        {"current_output.failure_current": "21.0 mA"},
        FAILURE,
        True,
    ),
    "3.7 mA may not": ({"current_output.failure_current": "3.7 mA"}, FAILURE, False),
    "20.9 mA may not": ({"current_output.failure_current": "20.9 mA"}, FAILURE, False),
    "a receiver may take less than 3.6 and more than 21.0 mA for a fault": (
        watched("3.6 mA", "21.0 mA"),
        FAILURE_BAND,
        True,
    ),
    "less than 3.5 mA is too narrow": (
        watched("3.5 mA", "21.0 mA"),
        FAILURE_BAND,
        False,
    ),
    "more than 21.1 mA is too": (watched("3.6 mA", "21.1 mA"), FAILURE_BAND, False),
    "a cut-off of 0.5 % of the range is usual (common practice)": (
        cut_off("0.5 %"),
        CUT_OFF,
        True,
    ),
    "so is one of 2 % (common practice)": (cut_off("2 %"), CUT_OFF, True),
    "one of 20 % is not (common practice)": (cut_off("20 %"), CUT_OFF, False),
    "491 d are more than a year": (REGISTER, "totalizer-rollover", True),
    "491 d are less than two years": (REGISTER, ADVISED, False),
    "49.1 d are less than a year": (
        {**REGISTER, "totalizer.digits": "8", "totalizer.resolution": "1 l"},
        "totalizer-rollover",
        False,
    ),
    "1 l at 3 m/s in DN 100 is too fast for 30 ms": (
        PULSES,
        "pulse-width-fits-rate",
        False,
    ),
    "2 l at 3 m/s in DN 100 is not": (
        {**PULSES, "pulse_output.pulse_weight": "2 l"},
        "pulse-width-fits-rate",
        True,
    ),
    "23.56 Hz are too fast for 20 Hz": (PULSES, "pulse-rate-within-counter", False),
    "a forum's loop of 750 ohm is over its supply": (
        {**LOOP, "current_output.loop_resistance": "750 ohm"},
        "loop-resistance-within-supply",
        False,
    ),
    "558 ohm are within it": (
        {**LOOP, "current_output.loop_resistance": "558 ohm"},
        "loop-resistance-within-supply",
        True,
    ),
    "settings as delivered are found": (
        DELIVERED,
        "delivered-settings-replaced",
        False,
    ),
    "their 8.65 m/s alone would pass": (DELIVERED, "velocity-at-span-in-band", True),
    "10 bores before are enough": (
        straight("upstream", "1 m"),
        "upstream-straight",
        True,
    ),
    "9.99 are not": (straight("upstream", "0.999 m"), "upstream-straight", False),
    "5 bores behind are enough": (
        straight("downstream", "0.5 m"),
        "downstream-straight",
        True,
    ),
    "4.99 are not": (straight("downstream", "0.499 m"), "downstream-straight", False),
    "a calibration may be three years old to the day": (
        {"sensor.calibration.date": "2023-05-04"},
        "calibration-in-date",
        True,
    ),
    "a day more is too much": (
        {"sensor.calibration.date": "2023-05-03"},
        "calibration-in-date",
        False,
    ),
    "2 ft/s clean a force main": (force_main("2 ft/s"), AT_NORMAL, True),
    "1.99 ft/s do not": (force_main("1.99 ft/s"), AT_NORMAL, False),
    "8 ft/s suit a force main": (force_main("8 ft/s"), AT_NORMAL, True),
    "8.01 ft/s do not": (force_main("8.01 ft/s"), AT_NORMAL, False),
    "6 ft/s are typical of process water": (
        {**force_main("6 ft/s"), "process.duty": "process water"},
        AT_NORMAL,
        True,
    ),
}

LIMIT_TAGS = {f"FT-{number}": each for number, each in enumerate(LIMITS, start=1)}
VERDICT_TAGS = {
    f"FT-{number}": name for number, name in enumerate(VERDICTS, start=len(LIMITS) + 1)
}


@pytest.fixture(scope="module")
def standard(tmp_path_factory: pytest.TempPathFactory) -> Examined:
    """Give what the tool found under the standard limits."""
    meters = {tag: breaking(row) for tag, row in LIMIT_TAGS.items()}
    verdicts = {tag: VERDICTS[name][0] for tag, name in VERDICT_TAGS.items()}
    folder: Path = tmp_path_factory.mktemp("limits")
    every = (meters | verdicts).items()
    return examine(write_workspace(folder, every, moved=False))


@pytest.mark.parametrize(
    "tag", [pytest.param(tag, id=each.label) for tag, each in LIMIT_TAGS.items()]
)
def test_a_limit_is_the_published_one(standard: Examined, tag: str) -> None:
    """A limit that a finding states is the figure of the publication it rests on."""
    row = LIMIT_TAGS[tag]
    finding = standard.findings[tag, row.rule]
    amount = finding.values[row.name] if row.duty else finding.limits[row.name]
    assert isinstance(amount, Amount)
    expected = pytest.approx(row.figure, rel=row.within)
    assert printed(amount, row.unit) == expected, f"{row.source}; {row.because}"


@pytest.mark.parametrize(
    "tag", [pytest.param(tag, id=name) for tag, name in VERDICT_TAGS.items()]
)
def test_a_published_verdict_is_given(standard: Examined, tag: str) -> None:
    """A meter just on the right side of a published limit conforms, none beyond it."""
    _, rule, conforms = VERDICTS[VERDICT_TAGS[tag]]
    assert standard.conforms(tag, rule) == conforms
    assert ((tag, rule) in standard.findings) != conforms


def rests_on_a_publication(rule: MeterRule) -> bool:
    """Whether a rule's limits come from a standard or something published."""
    return bool(rule.basis.standard or rule.basis.published)


def test_every_published_limit_is_compared(book: RuleBook) -> None:
    """A rule with limits whose basis is a publication has a row in `LIMITS` for each.

    The row names the very source that the rule's basis names, and its status.
    """
    limited = {
        (rule.id, name): rule.basis
        for rule in book.meter_rules
        if rests_on_a_publication(rule)
        for name in rule.limits
    }
    compared = {(row.rule, row.name): row for row in LIMITS if not row.duty}
    assert set(compared) == set(limited), "add or remove rows of LIMITS"
    for key, row in compared.items():
        assert row.source in basis_words(limited[key])
        assert row.status == limited[key].status


def test_every_published_duty_is_compared(book: RuleBook) -> None:
    """A duty whose figures were read in a publication has a row in `LIMITS`."""
    sources = book.scope.tables["duties"].sources
    read = {duty for duty, source in sources.items() if "(read" in source}
    rows = [row for row in LIMITS if row.duty]
    assert {row.duty for row in rows} == read, "add or remove rows of LIMITS"
    for row in rows:
        assert row.source in sources[row.duty]


def test_the_limits_are_counted() -> None:
    """The number of limits under each mark is the one that may be quoted."""
    marks = Counter(row.status for row in LIMITS)
    assert marks == {Status.READ: 22, Status.WEAK: 6, Status.MEMORY: 2}
    assert len({row.label for row in LIMITS}) == len(LIMITS)
