"""Slips of unit, size and figure, told from the error of the reading they cause."""

from __future__ import annotations

from collections.abc import Mapping

from tests.evidence.published import Example, Status

__all__ = ["CAUSES", "SLIPS"]

DEFINED = "the units' definitions: Handbook 44, the Act of 1985, the foot of 1959"
SIX = "six figures are given"
EXACT = "the figure is exact"
ROUNDED = "the ratio is rounded"


def slip(
    shows: str,
    source: str,
    status: Status,
    meter: Mapping[str, str],
    quantity: str,
    figure: float,
    within: float,
    because: str,
    ratio: float = 1.0,
) -> Example:
    """Make an example of a reading over the flow there is, from the error shown."""
    rule = {
        "receiver_error_at_span": "receiver-scale-agrees",
        "counter_error": "pulse-weight-agrees",
        "calibration_factor_error": "calibration-factor-agrees",
    }[quantity]
    return Example(
        shows,
        source,
        status,
        meter,
        rule,
        quantity,
        figure,
        "",
        within,
        because,
        added=1.0,
        ratio=ratio,
    )


def scales(true: str, taken: str) -> dict[str, str]:
    """Give the settings of a range and of the scale that the receiver has for it."""
    return {
        "current_output.upper_range_value": true,
        "receiver.analogue.upper_scale": taken,
        "process.density": "1000 kg/m3",
    }


def weights(true: str, taken: str) -> dict[str, str]:
    """Give the settings of a pulse and of what the counter adds for it."""
    return {
        "pulse_output.pulse_weight": true,
        "receiver.counter.pulse_weight": taken,
        "process.density": "1000 kg/m3",
    }


# The unit of the meter, the unit the receiver takes the same number for, the ratio, and
# the cause that the finding ends with.
FLOW_SLIPS: tuple[tuple[str, str, float, str], ...] = (
    ("m3/h", "m3/min", 60, "minutes mixed up with hours (60)"),
    ("m3/min", "m3/h", 1 / 60, "minutes mixed up with hours (60)"),
    ("m3/h", "m3/s", 3600, "seconds mixed up with hours (3600)"),
    ("m3/d", "m3/h", 24, "hours mixed up with days (24)"),
    ("m3/d", "m3/min", 1440, "minutes mixed up with days (1440)"),
    ("m3/d", "m3/s", 86400, "seconds mixed up with days (86400)"),
    ("m3/h", "l/s", 3.6, "l/s mixed up with m3/h (3.6)"),
    ("l/min", "US_gal/min", 3.78541, "litres mixed up with US gallons (3.78541)"),
    (
        "US_gal/min",
        "imp_gal/min",
        1.20095,
        "imperial mixed up with US gallons (1.20095)",
    ),
    (
        "imp_gal/min",
        "US_gal/min",
        0.832674,
        "imperial mixed up with US gallons (1.20095)",
    ),
    ("US_gal/min", "m3/h", 4.40287, "US gal/min mixed up with m3/h (4.40287)"),
    ("m3/h", "US_gal/min", 0.227125, "US gal/min mixed up with m3/h (4.40287)"),
    ("US_gal/min", "ft3/s", 448.831, "ft3/s mixed up with US gal/min (448.831)"),
    ("US_gal/min", "US_MGD", 694.444, "US MGD mixed up with US gal/min (694.444)"),
    ("ft3/s", "US_MGD", 1.54723, "US MGD mixed up with ft3/s (1.54723)"),
)
VOLUME_SLIPS: tuple[tuple[str, str, float, str], ...] = (
    ("l", "imp_gal", 4.54609, "litres mixed up with imperial gallons (4.54609)"),
    ("US_gal", "ft3", 7.48052, "US gallons mixed up with cubic feet (7.48052)"),
    ("US_gal", "m3", 264.172, "US gallons mixed up with cubic metres (264.172)"),
    ("imp_gal", "m3", 219.969, "imperial gallons mixed up with cubic metres (219.969)"),
    ("ft3", "m3", 35.3147, "cubic feet mixed up with cubic metres (35.3147)"),
    ("oil_bbl", "m3", 6.28981, "oil barrels mixed up with cubic metres (6.28981)"),
    ("US_gal", "oil_bbl", 42, "oil barrels mixed up with US gallons (42)"),
    ("lb", "kg", 2.20462, "pounds mixed up with kilograms (2.20462)"),
    ("US_ton", "t", 1.10231, "short tons mixed up with tonnes (1.10231)"),
)

POINTS = (
    (10, "a decimal point, or a multiplier of 10 (10)"),
    (100, "a decimal point, or a multiplier of 100 (100)"),
    (1000, "litres mixed up with m3 (1000) or a multiplier of 1000 (1000)"),
)

FINGERPRINTS = (
    *(
        slip(
            f"{true} read as {taken} is {ratio:.6g} of the flow",
            DEFINED,
            Status.COMPUTED,
            scales(f"100 {true}", f"100 {taken}"),
            "receiver_error_at_span",
            ratio,
            3e-6,
            SIX,
        )
        for true, taken, ratio, _ in FLOW_SLIPS
    ),
    *(
        slip(
            f"{true} counted as {taken} is {ratio:.6g} of the volume",
            DEFINED,
            Status.COMPUTED,
            weights(f"10 {true}", f"10 {taken}"),
            "counter_error",
            ratio,
            3e-6,
            SIX,
        )
        for true, taken, ratio, _ in VOLUME_SLIPS
    ),
    *(
        slip(
            f"a pulse weight {times} times too large",
            "a decimal point that moved",
            Status.PRACTICE,
            weights("1 l", f"{times} l"),
            "counter_error",
            times,
            1e-9,
            EXACT,
        )
        for times, _ in POINTS
    ),
    slip(
        "a factor of 1.0000 left for one of 1.0234",
        "a calibration factor left as delivered",
        Status.PRACTICE,
        {
            "transmitter.calibration_factor": "1.0000",
            "sensor.nameplate.calibration_factor": "1.0234",
        },
        "calibration_factor_error",
        1 / 1.0234,
        1e-9,
        EXACT,
    ),
)

SIZES = tuple(
    Example(
        shows=f"a sensor of {sensor} set up as {transmitter} reads {ratio} of the flow",
        source="the squared ratio of the nominal sizes",
        status=Status.COMPUTED,
        meter={
            "sensor.nominal_size": sensor,
            "transmitter.nominal_size": transmitter,
        },
        rule="size-agrees",
        quantity="size_flow_ratio",
        figure=ratio,
        unit="",
        within=1e-9,
        because=EXACT,
    )
    for sensor, transmitter, ratio in (
        ("DN 80", "DN 100", 1.5625),
        ("DN 100", "DN 150", 2.25),
        ("NPS 4", "NPS 3", 0.64),
    )
)


def fuel(
    shows: str, density: str, figure: float, status: Status, ratio: float = 1.0
) -> Example:
    """Make an example of the fuel to be added for 22 300 kg with 7682 l on board."""
    meter = {
        "current_output.upper_range_value": "22300 kg/h",
        "process.density": density,
        "totalizer.digits": "6",
        "totalizer.resolution": "1 m3",
    }
    return Example(
        shows=shows,
        source="the published account of an aircraft refuelled by pounds a litre",
        status=status,
        meter=meter,
        rule="totalizer-rollover",
        quantity="highest_flow",
        figure=figure,
        unit="l/h",
        within=3e-4,
        because="the litres are cut off, the density has three figures",
        added=-7682,
        ratio=ratio,
    )


FUELS = (
    fuel("1.77 kg/l: 4916 l are added", "1.77 kg/l", 4916, Status.READ),
    fuel("0.803 kg/l: 20 088.9 l are wanted", "0.803 kg/l", 20088.9, Status.COMPUTED),
)

# Published errors: the figure that is printed takes the place of the receiver's, and
# the ratio says how far it is from ours, which is 1 for two ends that agree.
ERRORS = (
    fuel(
        "0.803 kg/l: 4916 l are enough",
        "0.803 kg/l",
        4916,
        Status.READ,
        ratio=20088.9 / 4916,
    ),
    slip(
        "0.763 for 0.748 thousand gallons in a hundred cubic feet",
        "a mathematics column on a water bill",
        Status.READ,
        weights("1 HCF", "0.763 US_kgal"),
        "counter_error",
        1,
        1e-3,
        ROUNDED,
        ratio=1.020,
    ),
    slip(
        "405 gal/min to a cubic foot a second",
        "New Mexico State University Extension: digits exchanged in 448.8, or 450",
        Status.READ,
        scales("1 ft3/s", "405 US_gal/min"),
        "receiver_error_at_span",
        1,
        1e-3,
        ROUNDED,
        ratio=0.902,
    ),
    slip(
        "0.2831 m3 to a cubic foot",
        "a published conversion table: the decimal point has moved",
        Status.READ,
        weights("1 ft3", "0.2831 m3"),
        "counter_error",
        1,
        1e-3,
        ROUNDED,
        ratio=10,
    ),
    slip(
        "1 cfs is 694.44 MGD",
        "a published conversion table: the gal/min of 1 MGD are given",
        Status.READ,
        scales("1 ft3/s", "694.44 US_MGD"),
        "receiver_error_at_span",
        1,
        1e-3,
        "about 1074 is given",
        ratio=1074,
    ),
    slip(
        "10 ft3/min are 28 l/min",
        "40 CFR 63 subpart BB, table 5: ten times low",
        Status.READ,
        scales("10 ft3/min", "28 l/min"),
        "receiver_error_at_span",
        1,
        1e-3,
        ROUNDED,
        ratio=0.0989,
    ),
    slip(
        "a barrel of 31.5 gallons for one of oil",
        "NIST Handbook 44, Appendix C: the barrel of other liquids",
        Status.READ,
        weights("1 oil_bbl", "31.5 US_gal"),
        "counter_error",
        1,
        1e-9,
        EXACT,
        ratio=0.75,
    ),
    slip(
        "a pulse of 0.0001 for one of 0.001",
        "a public forum on energy meters: a slip that a reader noticed",
        Status.READ,
        weights("0.001 m3", "0.0001 m3"),
        "counter_error",
        1,
        1e-9,
        EXACT,
        ratio=0.1,
    ),
)

SLIPS: tuple[Example, ...] = (*FINGERPRINTS, *SIZES, *FUELS, *ERRORS)

TOLD = (
    *(cause for *_, cause in FLOW_SLIPS),
    *(cause for *_, cause in VOLUME_SLIPS),
    *(cause for _, cause in POINTS),
    "a factor of 1 left as delivered",
)
POINT = POINTS[0][1]
CAUSES: dict[str, str] = {
    **{each.name: cause for each, cause in zip(FINGERPRINTS, TOLD, strict=True)},
    # Nothing was mixed up between the two figures of these.
    **{each.name: "" for each in (*SIZES, *FUELS, ERRORS[0])},
    # These leave no ratio by itself: an error of 2 % in a factor, one that came with
    # exchanged digits, a figure for another question, and one rounded to two digits.
    **{each.name: "" for each in (*ERRORS[1:3], *ERRORS[4:6])},
    ERRORS[3].name: POINT,
    ERRORS[6].name: "barrels of 42 mixed up with 31.5 US gallons (1.33333)",
    ERRORS[7].name: POINT,
}
"""The cause that the finding of each example names, "" for none, by its name."""
