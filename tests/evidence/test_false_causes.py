"""Causes that a ratio fits by chance, and where the same ratio would be believed.

Which causes an instrument engineer would believe of a meter is common practice: none in
units that nobody uses there, none of a fluid that is another, none of a current between
pulses. All is told through the real rules, from the settings of a meter.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from configlint.check import check
from configlint.rules import RuleBook
from tests.builders import make_derived

URV, SCALE = "current_output.upper_range_value", "receiver.analogue.upper_scale"
WEIGHT, COUNTED = "pulse_output.pulse_weight", "receiver.counter.pulse_weight"
STAMPED, SET = "sensor.nameplate.k_factor", "transmitter.k_factor"
WATER = {"process.fluid": "drinking water"}
VORTEX = {"principle": "vortex"}
BY_MASS = {"totalizer.unit": "kg"}
DN_150 = {"sensor.nominal_size": "DN 150"}


def told(book: RuleBook, quantity: str, changes: dict[str, str]) -> str:
    """Give what is told of the slip in a meter with some settings."""
    return str(make_derived(book, changes).values[quantity])


def flows(true: str, taken: str, more: dict[str, str] | None = None) -> dict[str, str]:
    """Give the settings of a range, and of the scale that the receiver has for it."""
    return {URV: true, SCALE: taken, **(more or {})}


# What an engineer would not believe: the settings, and what may be said instead.
FALSE: tuple[tuple[str, str, dict[str, str], str], ...] = (
    (
        "1.214 in a plant of water is no acid, since nothing is written as mass",
        "receiver_slip",
        flows("100 m3/h", "121.4 m3/h", WATER),
        "",
    ),
    (
        "a total in kilograms makes no acid of drinking water",
        "receiver_slip",
        flows("100 m3/h", "122 m3/h", {**WATER, **BY_MASS}),
        "",
    ),
    (
        "an acid of known density is not one of 30 %",
        "receiver_slip",
        flows(
            "100 kg/h",
            "109 l/h",
            {"process.fluid": "nitric acid", "process.density": "1.12 kg/l"},
        ),
        "",
    ),
    (
        "an acid of 1 % weighs what water weighs",
        "receiver_slip",
        flows(
            "100 m3/h",
            "122 m3/h",
            {"process.fluid": "nitric acid, 1 %", **BY_MASS},
        ),
        "",
    ),
    (
        "300 for 250 m3/h is no gallon",
        "receiver_slip",
        flows("250 m3/h", "300 m3/h", WATER),
        "",
    ),
    (
        "300 for 250 US gal/min is no imperial gallon where none is used",
        "receiver_slip",
        flows("250 US_gal/min", "300 US_gal/min", WATER),
        "",
    ),
    (
        "400 for 300 m3/h is no barrel",
        "receiver_slip",
        flows("300 m3/h", "400 m3/h", WATER),
        "",
    ),
    (
        "420 l for 10 l is no barrel",
        "pulse_weight_slip",
        {WEIGHT: "10 l", COUNTED: "420 l"},
        "",
    ),
    (
        "440 for 100 m3/h is two round figures, and no US gal/min",
        "receiver_slip",
        flows("100 m3/h", "440 m3/h", WATER),
        "",
    ),
    (
        "900 for 250 US gal/min is no l/s where no SI unit is used",
        "receiver_slip",
        flows("250 US_gal/min", "900 US_gal/min", WATER),
        "",
    ),
    (
        "a pulse is no current",
        "pulse_weight_slip",
        {WEIGHT: "10 l", COUNTED: "12.5 l", **WATER},
        "",
    ),
    (
        "a pulse has no bore, and no area",
        "pulse_weight_slip",
        {WEIGHT: "10 l", COUNTED: "10.55 l", **DN_150},
        "",
    ),
    (
        "a pulse weight is no flow, so that it is not in gal/min",
        "pulse_weight_slip",
        {WEIGHT: "1 US_gal", COUNTED: "4.403 US_gal"},
        "",
    ),
    (
        "a K-factor is no current",
        "k_factor_slip",
        {**VORTEX, STAMPED: "1000 pulses/l", SET: "1250 pulses/l"},
        "",
    ),
    (
        "a K-factor has no area of a circle",
        "k_factor_slip",
        {**VORTEX, STAMPED: "1000 pulses/l", SET: "1273 pulses/l"},
        "",
    ),
    (
        "a range of four times the flow is too long, and no current",
        "range_slip",
        {URV: "400 m3/h", "process.flow.maximum": "100 m3/h"},
        "",
    ),
    (
        "a receiver known to take 4 mA for zero does not start at 0 mA",
        "receiver_slip",
        flows("100 m3/h", "125 m3/h", {"receiver.analogue.lower_current": "4 mA"}),
        "the permanent flow mixed up with the overload flow (1.25)",
    ),
    (
        "sewage has no overload flow",
        "receiver_slip",
        flows("100 m3/h", "125 m3/h", {"process.fluid": "sewage"}),
        "0 to 20 mA mixed up with 4 to 20 mA (1.25)",
    ),
    (
        "1.055 is the bore of DN 150 alone",
        "receiver_slip",
        flows("100 m3/h", "105.5 m3/h", {"sensor.nominal_size": "DN 80"}),
        "",
    ),
    (
        "a bore that is known has its own ratio",
        "receiver_slip",
        flows("100 m3/h", "105.5 m3/h", {**DN_150, "sensor.bore": "150 mm"}),
        "",
    ),
    (
        "1000 US gallons are no litres",
        "pulse_weight_slip",
        {WEIGHT: "1 US_gal", COUNTED: "1000 US_gal"},
        "a multiplier of 1000 (1000)",
    ),
    (
        "16 is no current twice over",
        "receiver_slip",
        flows("90 m3/h", "1440 m3/h", WATER),
        "",
    ),
    (
        "14.33 is no gallon twice over in a plant of litres",
        "pulse_weight_slip",
        {WEIGHT: "1 l", COUNTED: "14.33 l"},
        "",
    ),
    (
        "a thousand million is no point moved",
        "pulse_weight_slip",
        {WEIGHT: "1 ml", COUNTED: "100000 m3"},
        "",
    ),
)


@pytest.mark.parametrize(
    ("quantity", "changes", "cause"),
    [pytest.param(*rest, id=name.replace("/", " per ")) for name, *rest in FALSE],
)
def test_what_nobody_would_believe_is_not_told(
    book: RuleBook, quantity: str, changes: dict[str, str], cause: str
) -> None:
    """A ratio that fits a slip by chance alone names nothing that can't be meant."""
    said = f"Possible cause: {cause}." if cause else ""
    assert told(book, quantity, changes) == said


# What an engineer would believe of the same ratios elsewhere.
BELIEVED: tuple[tuple[str, dict[str, str], str], ...] = (
    (
        "receiver_slip",
        flows("90 l/h", "110 l/h", {**BY_MASS, "process.fluid": "sulphuric acid"}),
        "kilograms mixed up with litres of an acid of 30 % (1.22)",
    ),
    (
        "receiver_slip",
        flows("600 kg/h", "600 l/h", {"process.density": "1.42 kg/l"}),
        "kilograms mixed up with litres of the fluid (1.42)",
    ),
    (
        "receiver_slip",
        flows("600 lb/h", "600 US_gal/h", {"process.density": "1.25 kg/l"}),
        "pounds mixed up with US gallons of the fluid (10.4318)",
    ),
    (
        "receiver_slip",
        flows("100 gal/min", "120.1 gal/min"),
        "imperial mixed up with US gallons (1.20095)",
    ),
    (
        "receiver_slip",
        flows("300 oil_bbl/d", "400 oil_bbl/d"),
        "barrels of 42 mixed up with 31.5 US gallons (1.33333)",
    ),
    (
        "receiver_slip",
        flows("100 m3/h", "440 m3/h", {"totalizer.unit": "US_gal"}),
        "US gal/min mixed up with m3/h (4.40287)",
    ),
    (
        "pulse_weight_slip",
        {WEIGHT: "1 l", COUNTED: "14.33 l", "totalizer.unit": "US_gal"},
        "twice over: litres mixed up with US gallons (14.3293)",
    ),
    (
        "receiver_slip",
        flows("100 m3/h", "125 m3/h", WATER),
        "0 to 20 mA mixed up with 4 to 20 mA (1.25) or "
        "the permanent flow mixed up with the overload flow (1.25)",
    ),
    (
        "receiver_slip",
        flows("100 m3/h", "105.5 m3/h", DN_150),
        "a nominal size taken for the bore of steel pipe (1.055)",
    ),
    (
        "receiver_slip",
        flows("100 m3/h", "108 m3/h", {**DN_150, "sensor.bore": "156 mm"}),
        "the nominal size taken for the bore (1.0816)",
    ),
    (
        "receiver_slip",
        flows("450 m3/h", "650 m3/h", {**DN_150, "transmitter.nominal_size": "DN 125"}),
        "scaled to make up for the size that is set in the transmitter (1.44)",
    ),
    (
        "pulse_weight_slip",
        {
            WEIGHT: "10 l",
            COUNTED: "10.35 l",
            "sensor.nameplate.calibration_factor": "1.0347",
            "transmitter.calibration_factor": "1.0347",
        },
        "the calibration factor applied in the receiver once more (1.0347)",
    ),
    (
        "receiver_slip",
        flows("600 kg/h", "600 l/h", {"process.density": "998.2 kg/m3"}),
        "the same figure, entered in another unit",
    ),
    (
        "pulse_weight_slip",
        {WEIGHT: "5 US_qt", COUNTED: "5 l"},
        "the same figure, entered in another unit",
    ),
    (
        "k_factor_slip",
        {**VORTEX, STAMPED: "40.28 pulses/l", SET: "40.28 pulses/ft3"},
        "the same figure, entered in another unit",
    ),
    (
        "excitation_current_slip",
        {
            "sensor.nameplate.excitation_current": "0.1850 A",
            "transmitter.excitation_current": "0.1850 mA",
        },
        "the same figure, entered in another unit",
    ),
)


@pytest.mark.parametrize(("quantity", "changes", "cause"), BELIEVED)
def test_what_the_meter_speaks_for_is_told(
    book: RuleBook, quantity: str, changes: dict[str, str], cause: str
) -> None:
    """The same ratios are told where units, fluid or size of a meter speak for them."""
    assert told(book, quantity, changes) == f"Possible cause: {cause}."


def test_what_no_unit_speaks_for_is_told_as_less_likely(book: RuleBook) -> None:
    """A ratio that fits to four figures is told, though no such unit is used."""
    found = told(book, "receiver_slip", flows("100 m3/h", "440.3 m3/h", WATER))
    assert found == (
        "It would also be the ratio of US gal/min mixed up with m3/h (4.40287), "
        "but the file shows no such unit."
    )


# A K-factor as it is written, in a bore of 76 mm that has one of 2.874 pulses/l.
SCALED: tuple[tuple[str, str], ...] = (
    ("2.874 pulses/l", ""),
    ("28.74 pulses/l", "With its decimal point one place to the left it would fit"),
    ("0.2874 pulses/l", "With its decimal point one place to the right it would fit"),
    ("10.88 pulses/l", "Per US gallon its figure would fit"),
    ("2.874 pulses/US_gal", "Per litre its figure would fit"),
    ("0.7593 pulses/l", ""),
    ("5.2 pulses/l", ""),
)


@pytest.mark.parametrize(("stamped", "said"), SCALED)
def test_what_a_k_factor_would_fit_by_is_told(
    book: RuleBook, stamped: str, said: str
) -> None:
    """A K-factor that another place or unit brings to the bore is told so."""
    found = told(
        book,
        "k_factor_scale_slip",
        {**VORTEX, STAMPED: stamped, "sensor.bore": "76 mm"},
    )
    assert found.partition(":")[0] == said


# Every cause that the example plant is told, each judged to be the one that its
# invented story makes: a new one is to be judged before it is written here.
JUDGED = {
    "FIT-5104 receiver-scale-agrees": "imperial mixed up with US gallons (1.20095)",
    "FIT-5105 pulse-weight-agrees": "litres mixed up with US gallons (3.78541)",
    "FIT-5106 receiver-scale-agrees": "US gal/min mixed up with m3/h (4.40287)",
    "FIT-5202 excitation-current-agrees": "the same figure, entered in another unit",
    "FIT-5302 k-factor-agrees": "litres mixed up with US gallons (3.78541)",
    "FIT-1204 receiver-scale-agrees": "minutes mixed up with hours (60)",
    "FIT-1431 receiver-scale-agrees": (
        "kilograms mixed up with litres of the fluid (1.42)"
    ),
    "FQI-2104 pulse-weight-agrees": "a decimal point, or a multiplier of 10 (10)",
    "FQI-2114 pulse-weight-agrees": (
        "scaled to make up for the size that is set in the transmitter (1.5625)"
    ),
    "FT-1203 receiver-scale-agrees": "l/s mixed up with m3/h (3.6)",
    "FT-1205 calibration-factor-agrees": "a factor of 1 left as delivered",
    "FT-1225 range-ends-round-in-their-unit": (
        "a round figure in US_gal/min, converted and rounded"
    ),
    "FT-2203 calibration-factor-agrees": "two digits exchanged",
    "FT-2204 calibration-factor-agrees": "the decimal point moved",
    "FT-2213 receiver-scale-agrees": (
        "scaled to make up for the size that is set in the transmitter (1.5625)"
    ),
    "FT-3207 calibration-factor-agrees": "a factor of 1 left as delivered",
}


def test_every_cause_told_of_the_example_plant_is_judged(root: Path) -> None:
    """The plant's findings name the causes that were judged, none as less likely."""
    told: dict[str, str] = {}
    for finding in check([root / "examples"]).findings:
        cause = re.search(r"Possible cause: (.*)\.$", finding.message)
        if cause:
            told[f"{finding.subject.meter} {finding.rule}"] = cause[1]
        assert "It would also be" not in finding.message
    assert told == JUDGED
