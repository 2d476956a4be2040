"""Published worked examples, step by step: what a calculation sheet must show of them.

Each step is a quantity with its figure. A figure that the publication itself prints
carries the publication's mark; one that lies between, and that nobody has printed, is
marked as computed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tests.evidence.loop_examples import FORUM, OHM, SCALING, loop
from tests.evidence.published import Status
from tests.evidence.pulse_examples import (
    COUNTS,
    ENERGY,
    ENERGY_PULSE,
    FACTORS,
    FAST,
    HUNDREDTH,
    OUNCE,
    SCANS,
    outputs,
    raw_pulses,
    register,
)
from tests.evidence.velocity_examples import LATERALS, SI_TABLE, TEXTBOOK

__all__ = ["CALCULATIONS", "Calculation", "Step"]

EXACT = 1e-9
READ, COMPUTED = Status.READ, Status.COMPUTED


@dataclass(frozen=True, slots=True)
class Step:
    """A quantity of a worked example: its figure, and what the sheet prints for it.

    `unit` has the signs of print. The sheet's value meets the figure within the
    relative tolerance `within`.
    """

    quantity: str
    figure: float
    unit: str
    within: float
    said: str
    status: Status


@dataclass(frozen=True, slots=True)
class Calculation:
    """A worked example: its source, the settings of a meter, and its steps."""

    shows: str
    source: str
    meter: Mapping[str, str]
    steps: tuple[Step, ...]

    @property
    def name(self) -> str:
        """What the tests of the example are called."""
        return self.shows.replace("/", " per ")


def velocity(
    shows: str, source: str, flow: str, bore: str, *steps: Step, **others: str
) -> Calculation:
    """Make the example of a velocity from flow and bore."""
    meter = {"current_output.upper_range_value": flow, "sensor.bore": bore}
    process = {f"process.{name}": text for name, text in others.items()}
    return Calculation(shows, source, meter | process, steps)


VELOCITIES = (
    velocity(
        "10 US_gal/min in NPS 2 of schedule 40",
        TEXTBOOK,
        "10 US_gal/min",
        "2.067 in",
        # 0.02330 ft2 stands beside this pipe in tables of schedule 40.
        Step("bore_area", 0.02330, "ft²", 3e-4, "0.02330 ft²", Status.MEMORY),
        Step("velocity_at_span", 0.956, "ft/s", 1e-3, "0.956 ft/s", Status.CONSISTENT),
    ),
    velocity(
        "20 US_gal/min in NPS 3/4 of schedule 40",
        TEXTBOOK,
        "20 US_gal/min",
        "0.824 in",
        Step("bore_area", 0.00371, "ft²", 2e-3, "0.533 in²", Status.MEMORY),
        Step("velocity_at_span", 12.03, "ft/s", 5e-4, "12.0 ft/s", Status.CONSISTENT),
    ),
    velocity(
        "500 US_gal/min in NPS 6 of schedule 40",
        LATERALS,
        "500 US_gal/min",
        "6.065 in",
        Step("bore_area", 0.2006, "ft²", 5e-4, "0.2006 ft²", Status.MEMORY),
        Step("velocity_at_span", 5.6, "ft/s", 1.5e-2, "5.55 ft/s", READ),
    ),
    velocity(
        "15 kg/s of water in a bore of 100 mm",
        "Essential University Physics, ch. 15, problem 36, a published solution",
        "15 kg/s",
        "100 mm",
        Step("highest_flow", 0.015, "m³/s", EXACT, "54.0 m³/h", COMPUTED),
        Step("bore_area", 7.853982e-3, "m²", 1e-6, "7850 mm²", COMPUTED),
        Step("velocity_at_span", 1.91, "m/s", 1e-3, "1.91 m/s", READ),
        density="1000 kg/m3",
    ),
    velocity(
        "0.10 l/s in a bore of 15.8 mm",
        SI_TABLE,
        "0.10 l/s",
        "15.8 mm",
        Step("velocity_at_span", 0.51, "m/s", 3e-3, "0.510 m/s", READ),
    ),
    velocity(
        "1 m3/s in a bore of 1 m",
        "operator training, A = 0.785 d^2",
        "1 m3/s",
        "1 m",
        Step("bore_area", 0.785, "m²", 6e-4, "0.785 m²", READ),
        Step("velocity_at_span", 1 / 0.785, "m/s", 6e-4, "1.27 m/s", READ),
    ),
    velocity(
        "4 ft/s through 0.7 ft2",
        "Utah State University Extension, a text on flow measurement",
        "4 ft/s",
        "0.94406974388 ft",
        Step("bore_area", 0.7, "ft²", 1e-8, "0.70000000000 ft²", READ),
        Step("highest_flow", 2.8, "ft³/s", 1e-8, "1260 US_gal/min", READ),
        Step("velocity_at_span", 4, "ft/s", EXACT, "4.00 ft/s", READ),
    ),
)


def reynolds(
    shows: str, source: str, settings: str, figure: float, within: float, said: str
) -> Calculation:
    """Make the example of a Reynolds number from flow, bore, density, viscosity."""
    flow, bore, density, viscosity = settings.split(", ")
    meter = {
        "process.flow.minimum": flow,
        "sensor.bore": bore,
        "process.density": density,
        "process.viscosity": viscosity,
    }
    speed = float(flow.partition(" ")[0])
    return Calculation(
        shows,
        source,
        meter,
        (
            Step(
                "velocity_at_minimum_flow",
                speed,
                "m/s",
                EXACT,
                f"{speed:.2f} m/s",
                READ,
            ),
            Step("reynolds_at_minimum_flow", figure, "", within, said, READ),
        ),
    )


REYNOLDS = (
    reynolds(
        "the Reynolds number of an oil of 0.38 N s/m2",
        "New York City College of Technology, an open course on fluids",
        "2.6 m/s, 25 mm, 910 kg/m3, 0.38 Pa.s",
        156,
        3e-3,
        "156",
    ),
    reynolds(
        "the Reynolds number of air in a duct of 0.25 m",
        "the documentation of the library fluids, of its function Reynolds",
        "2.5 m/s, 0.25 m, 1.1613 kg/m3, 1.9e-5 Pa.s",
        38200.65789473684,
        1e-12,
        "38200",
    ),
)

RATES = (
    Calculation(
        "45 pulses a fluid ounce at 4 US_gal/min",
        FAST,
        outputs("4 US_gal/min", OUNCE, counter_maximum_frequency="200 Hz"),
        (
            Step("highest_flow", 4, "US_gal/min", EXACT, "4 US_gal/min", READ),
            Step("pulse_rate_at_span", 384, "Hz", EXACT, "384 Hz", READ),
            Step("pulse_share_lost_in_counter", 48, "%", 2e-3, "47.9 %", READ),
        ),
    ),
    *(
        Calculation(
            f"{flow} at {weight} a pulse",
            SCANS,
            outputs(flow, weight),
            (Step("pulse_rate_at_span", figure, "Hz", EXACT, said, READ),),
        )
        for flow, weight, figure, said in (
            ("20 l/s", "0.1 l", 200, "200 Hz"),
            ("50 l/s", "1 l", 50, "50.0 Hz"),
            ("5 l/s", "10 l", 0.5, "0.500 Hz"),
        )
    ),
    Calculation(
        "190 l/s in pulses of a hundredth of 3.8 l",
        FACTORS,
        outputs("190 l/s", HUNDREDTH),
        (Step("pulse_rate_at_span", 5000, "Hz", EXACT, "5000 Hz", READ),),
    ),
    Calculation(
        "the K-factor of 100 pulses for 3.8 l",
        FACTORS,
        raw_pulses("26 pulses/l", HUNDREDTH),
        (
            Step("k_factor_of_weight", 26.32, "pulses/l", 2e-4, "26.3 pulses/l", READ),
            Step("volume_by_pulse_weight", 38000, "l", EXACT, "38000 l", COMPUTED),
        ),
    ),
    Calculation(
        "6.13 pulses a second from a meter of 3200 a unit",
        ENERGY,
        outputs("1 m3/h", ENERGY_PULSE) | {"process.flow.minimum": "1.915625 l/s"},
        (
            Step(
                "pulse_period_at_minimum_flow", 163, "ms", 1e-3, "0.1631 s", Status.WEAK
            ),
        ),
    ),
)

REGISTERS = (
    Calculation(
        "8 digits at 10 000 counts a minute",
        COUNTS,
        outputs("10000 l/min", "1 l", counter_digits="8"),
        (
            Step("pulse_rate_at_span", 166.6667, "Hz", 1e-6, "167 Hz", COMPUTED),
            Step("counter_rollover_time", 6.9, "d", 1e-2, "6.94 d", READ),
        ),
    ),
    Calculation(
        "6 digits of a cubic metre at 84.82 m3/h",
        "3 m/s in 100 mm",
        register("84.82 m3/h", "6", "1 m3"),
        (
            Step("totalizer_capacity", 1e6, "m³", EXACT, "1000000 m³", COMPUTED),
            Step("totalizer_rollover_time", 491, "d", 1e-3, "491 d", COMPUTED),
        ),
    ),
)


def scaled(
    shows: str, source: str, current: str, share: float, said: str
) -> Calculation:
    """Make the example of what share of the span a current stands for."""
    return Calculation(
        shows,
        source,
        {"current_output.failure_current": current},
        (Step("failure_current_on_scale", share, "%", 2e-4, said, READ),),
    )


LOOPS = (
    scaled("150 psig of 50 to 250 psig is 12 mA", SCALING, "12 mA", 50, "50.0 %"),
    scaled(
        "41 degrees of -88 to 145 are 12.86 mA",
        SCALING,
        "12.86 mA",
        100 * (41 + 88) / (145 + 88),
        "55.38 %",
    ),
    scaled(
        "125 inWG of 0 to 300 are 10.667 mA",
        "an automation forum's answer on scaling",
        "10.667 mA",
        100 * 125 / 300,
        "41.669 %",
    ),
    scaled(
        "40 % of the span are 10.4 mA",
        "a training text on loops of 4 to 20 mA",
        "10.4 mA",
        40,
        "40.0 %",
    ),
    Calculation(
        "a card of 0 to 20 mA with 32 000 counts reads 6400 at 4 mA",
        "a training article on a 0 to 60 MGD meter that read low",
        {
            "current_output.upper_range_value": "60 US_MGD",
            "receiver.analogue.lower_current": "0 mA",
            "receiver.analogue.upper_current": "20 mA",
        },
        (
            Step(
                "receiver_share_at_4_mA", 100 * 6400 / 32000, "%", EXACT, "20.0 %", READ
            ),
        ),
    ),
    *(
        Calculation(
            f"{volts} V across 250 ohm",
            OHM,
            loop("250 ohm", f"{12 + volts} V"),
            (Step("loop_current_available", figure, "mA", EXACT, said, READ),),
        )
        for volts, figure, said in ((1, 4, "4.00 mA"), (5, 20, "20.0 mA"))
    ),
    Calculation(
        "24 V over the meter's need drive 20 mA through 1200 ohm",
        FORUM,
        loop("1200 ohm", "36 V"),
        (Step("loop_current_available", 20, "mA", EXACT, "20.0 mA", Status.WEAK),),
    ),
    Calculation(
        "24 V leave 558 ohm at 21.5 mA",
        "Ohm's law on a supply of 24 V, of which the transmitter needs 12 V",
        loop("500 ohm", "24 V"),
        (
            Step("highest_loop_current", 21.5, "mA", EXACT, "21.5 mA", COMPUTED),
            Step("loop_resistance_available", 558, "Ω", 1e-3, "558 Ω", COMPUTED),
        ),
    ),
)

CALCULATIONS: tuple[Calculation, ...] = (
    *VELOCITIES,
    *REYNOLDS,
    *RATES,
    *REGISTERS,
    *LOOPS,
)
