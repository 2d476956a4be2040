"""Windows that are known by a closed formula, from publications where there is one.

Each says from where to where a setting may be, and which rules bound it. The figures
are worked out by the formula beside them, in the units of the meter file; those of a
publication hold as far as it prints them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from tests.evidence.published import Status

__all__ = ["WINDOWS", "Solved"]

GALLON = 0.003785411784
FOOT = 0.3048
BAND = "velocity-at-span-in-band"
SPAN = "current_output.upper_range_value"
WEIGHT = "pulse_output.pulse_weight"
RESISTANCE = "current_output.loop_resistance"


class Solved(NamedTuple):
    """A window with both ends, None for one that nothing bounds."""

    shows: str
    source: str
    status: Status
    meter: Mapping[str, str]
    setting: str
    low: float | None
    low_rule: str
    high: float | None
    high_rule: str
    within: float = 1e-9
    preferred: tuple[str, ...] = ()


def ranged(
    shows: str,
    source: str,
    status: Status,
    flow: float,
    velocity: float,
    bore: str,
    unit: str,
    within: float,
) -> Solved:
    """Solve for a range by a published velocity: a flow goes with its velocity.

    `velocity` is in m/s at the `flow`, which is in the unit. The band is 0.3 to
    10 m/s.
    """
    meter = {SPAN: f"{flow} {unit}", "sensor.bore": bore}
    low, high = (flow * limit / velocity for limit in (0.3, 10.0))
    return Solved(shows, source, status, meter, SPAN, low, BAND, high, BAND, within)


RANGES = (
    ranged(
        "10 US gallons a minute in pipe of 2 in have 0.956 ft/s",
        "Flow of Water Through Schedule 40 Steel Pipe, as reprinted in Applied Process "
        "Design for Chemical and Petrochemical Plants, vol. 1, Table 2-10",
        Status.READ,
        10,
        0.956 * FOOT,
        "2.067 in",
        "US_gal/min",
        1e-3,
    ),
    ranged(
        "25 US gallons a minute in pipe of 1 in have 9.28 ft/s",
        "Flow of Water Through Schedule 40 Steel Pipe, as reprinted in Applied Process "
        "Design for Chemical and Petrochemical Plants, vol. 1, Table 2-10",
        Status.READ,
        25,
        9.28 * FOOT,
        "1.049 in",
        "US_gal/min",
        1e-3,
    ),
    ranged(
        "1 US gallon a minute in 1 in has 0.4085 ft/s",
        "a fire service's formula, v = 0.4085 Q / d^2",
        Status.READ,
        1,
        0.4085 * FOOT,
        "1 in",
        "US_gal/min",
        1e-4,
    ),
    ranged(
        "0.10 l/s in 15.8 mm have 0.51 m/s",
        "an engineering reference table of water in schedule 40 pipe, 15.8 mm",
        Status.READ,
        0.10,
        0.51,
        "15.8 mm",
        "l/s",
        3e-3,
    ),
    ranged(
        "84.823 m3/h in 100 mm have 3 m/s",
        "Q = v pi d^2 / 4",
        Status.COMPUTED,
        3600 * 3 * math.pi / 4 * 0.01,
        3,
        "100 mm",
        "m3/h",
        1e-9,
    ),
)

FLOW = 3 * math.pi / 4 * 0.01  # 3 m/s in 100 mm, in m3/s.

PULSES = (
    Solved(
        "3 m/s in 100 mm need 1.414 l at pulses of 30 ms and gaps as long",
        "w = Q 2 t",
        Status.COMPUTED,
        {
            SPAN: f"{3600 * FLOW} m3/h",
            WEIGHT: "1 l",
            "pulse_output.pulse_width": "30 ms",
        },
        WEIGHT,
        1000 * FLOW * 2 * 0.030,
        "pulse-width-fits-rate",
        None,
        "",
        preferred=("2", "5", "10"),
    ),
    Solved(
        "190 l/s make 5000 Hz at 0.038 l a pulse, of which 80 % may be used",
        "a training article on pulse factors of turbine meters",
        Status.READ,
        {
            SPAN: "190 l/s",
            WEIGHT: "0.03 l",
            "pulse_output.maximum_frequency": "5 kHz",
            "receiver.counter": "not used",
        },
        WEIGHT,
        0.038 / 0.8,
        "pulse-rate-margin",
        None,
        "",
        preferred=("0.05", "0.1", "0.2"),
    ),
    Solved(
        "A pulse a minute at 3 m3/h stands for 50 l",
        "w = Q t",
        Status.COMPUTED,
        {
            SPAN: "36 m3/h",
            WEIGHT: "100 l",
            "pulse_output.maximum_frequency": "5 Hz",
            "receiver.counter": "not used",
            "process.flow.minimum": "3 m3/h",
        },
        WEIGHT,
        10 / 5 / 0.8,
        "pulse-rate-margin",
        3000 / 60,
        "pulse-resolution-at-minimum-flow",
        preferred=("5", "10", "20", "50"),
    ),
    Solved(
        "10 l a pulse and 20 pulses a second leave 20 ms on and off",
        "t = 1 / (2 f)",
        Status.COMPUTED,
        {
            SPAN: "720 m3/h",
            WEIGHT: "10 l",
            "pulse_output.pulse_width": "10 ms",
            "receiver.counter.minimum_pulse_width": "5 ms",
        },
        "pulse_output.pulse_width",
        5,
        "pulse-width-recognised",
        1000 / (2 * 20),
        "pulse-width-fits-rate",
        preferred=("5", "10", "20"),
    ),
)

WATCHED = {
    "current_output.failure_current": "21.5 mA",
    "receiver.analogue.fault_below": "3.6 mA",
    "receiver.analogue.fault_above": "21 mA",
}
OUTSIDE = "receiver-fault-limits-outside-measuring-band"
REACH = "receiver-fault-limits-reach-failure-band"

RECEIVERS = (
    Solved(
        "A receiver's lower fault limit lies between the failures and the flows",
        "NAMUR NE 43: a failure is 3.6 mA or less, a flow 3.8 mA or more",
        Status.READ,
        WATCHED,
        "receiver.analogue.fault_below",
        3.6,
        REACH,
        3.8,
        OUTSIDE,
        preferred=("3.6",),
    ),
    Solved(
        "A receiver's upper fault limit lies between the flows and the failures",
        "NAMUR NE 43: a flow is 20.5 mA or less, a failure 21.0 mA or more",
        Status.READ,
        WATCHED,
        "receiver.analogue.fault_above",
        20.5,
        OUTSIDE,
        21,
        REACH,
        preferred=("21",),
    ),
)

OTHERS = (
    Solved(
        "12 V drive 21.5 mA through 558 ohm",
        "Ohm's law on a supply of 24 V, of which the transmitter needs 12 V",
        Status.COMPUTED,
        {
            "type_sheet": "wall-mounted-a",
            RESISTANCE: "300 ohm",
            "current_output.supply_voltage": "24 V",
            "current_output.failure_current": "21.5 mA",
        },
        RESISTANCE,
        0,
        "value-well-formed",
        12 / 0.0215,
        "loop-resistance-within-supply",
    ),
    Solved(
        "Six digits last two years of 3 m/s in 100 mm from 1.486 m3 a step on",
        "r = Q t / 10^n, with the years of New Mexico State Engineer meter standards, "
        "item C, and Oregon Administrative Rules 690-507-0785",
        Status.COMPUTED,
        {
            SPAN: f"{3600 * FLOW} m3/h",
            "totalizer.digits": "6",
            "totalizer.resolution": "1 m3",
            "process.flow.minimum": "10 m3/h",
        },
        "totalizer.resolution",
        FLOW * 730 * 86400 / 1e6,
        "totalizer-rollover-advised",
        0.01 * 240,
        "totalizer-resolution",
    ),
    Solved(
        "An oil of 0.38 N s/m2 has a Reynolds number of 156 at 2.6 m/s in 25 mm",
        "New York City College of Technology, an open course on fluids",
        Status.READ,
        {
            "sensor.bore": "25 mm",
            "process.density": "910 kg/m3",
            "process.viscosity": "380 mPa.s",
            "process.flow.minimum": f"{3600 * 2.6 * math.pi / 4 * 0.025**2} m3/h",
        },
        "process.viscosity",
        0,
        "value-well-formed",
        380 * 156 / 2300,
        "flow-stays-turbulent",
        3e-3,
    ),
    Solved(
        "A cable takes 0.5 % of the signal where its capacitance has 9.97 times the "
        "electrode's resistance",
        "1 / sqrt(1 + (2 pi f R C l)^2) = 0.995",
        Status.COMPUTED,
        {
            "construction": "separate",
            "sensor.electrode_diameter": "10 mm",
            "process.conductivity": "5 uS/cm",
            "transmitter.excitation_frequency": "75 Hz",
            "wiring.signal_cable.length": "10 m",
            "wiring.signal_cable.capacitance": "100 pF/m",
        },
        "wiring.signal_cable.length",
        0,
        "value-well-formed",
        math.sqrt(1 / 0.995**2 - 1)
        / (2 * math.pi * 75 * (1 / (5e-4 * 0.010)) * 100e-12),
        "conductivity-suits-cable-length",
    ),
    Solved(
        "A bore of 200 mm in pipe of 250 mm reduces it, and 211 mm at most widens it",
        "d / D from 0.5 to 1.05, common practice",
        Status.COMPUTED,
        {"sensor.bore": "200 mm", "installation.pipe_bore": "200 mm"},
        "installation.pipe_bore",
        200 / 1.05,
        "pipe-reduction",
        200 / 0.5,
        "pipe-reduction",
    ),
)

WINDOWS = (*RANGES, *PULSES, *RECEIVERS, *OTHERS)
