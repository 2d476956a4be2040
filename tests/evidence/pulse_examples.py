"""Published pulse rates, pulse weights and registers that roll over."""

from __future__ import annotations

from tests.evidence.published import Example, Status

__all__ = ["PULSES"]

FAST = "a training article on fast pulses into a controller"
SCANS = "a training article on counting pulses by scans"
FACTORS = "a training article on pulse factors of turbine meters"
ENERGY = (
    "the notes of a public program that counts an energy meter's pulses, with cubic "
    "metres in the place of kilowatt-hours"
)
COUNTS = "a training article on a controller's high-speed counter"

# 45 pulses for a US fluid ounce, 3200 for a cubic metre and 100 for 3.8 l.
OUNCE, ENERGY_PULSE, HUNDREDTH = "0.0222222222222222 US_fl_oz", "0.3125 l", "0.038 l"

EXACT = "the figure is exact"


def outputs(flow: str, weight: str, **others: str) -> dict[str, str]:
    """Give the settings of a pulse output at a flow, its rate without bounds.

    A keyword names the setting of the output or of the counter; without one for the
    counter there is none.
    """
    counter = {name[8:]: each for name, each in others.items() if "counter_" in name}
    output = {name: each for name, each in others.items() if "counter_" not in name}
    settings = {
        "current_output.upper_range_value": flow,
        "pulse_output.pulse_weight": weight,
        "pulse_output.maximum_frequency": "100 kHz",
    }
    settings |= {f"pulse_output.{name}": each for name, each in output.items()}
    settings |= {f"receiver.counter.{name}": each for name, each in counter.items()}
    return settings if counter else {**settings, "receiver.counter": "not used"}


def rate(
    flow: str,
    weight: str,
    figure: float,
    source: str,
    status: Status,
    within: float = 1e-9,
    because: str = EXACT,
) -> Example:
    """Make an example whose figure is the pulse rate, in Hz."""
    return Example(
        shows=f"{flow} at {weight} a pulse make {figure} Hz",
        source=source,
        status=status,
        meter=outputs(flow, weight),
        rule="pulse-rate-margin",
        quantity="pulse_rate_at_span",
        figure=figure,
        unit="Hz",
        within=within,
        because=because,
    )


def raw_pulses(factor: str, weight: str) -> dict[str, str]:
    """Give the settings of a turbine meter that passes its rotor's pulses on."""
    return {
        "principle": "turbine",
        "sensor.nameplate.k_factor": factor,
        "transmitter.k_factor": factor,
        "pulse_output.scaled": "false",
        "pulse_output.pulse_weight": weight,
    }


def register(flow: str, digits: str, resolution: str) -> dict[str, str]:
    """Give the settings of a totalizer at a flow."""
    return {
        "current_output.upper_range_value": flow,
        "totalizer.digits": digits,
        "totalizer.resolution": resolution,
    }


RATES = (
    rate("4 US_gal/min", OUNCE, 384, FAST, Status.READ),
    rate("20 l/s", "0.1 l", 200, SCANS, Status.READ),
    rate("50 l/s", "1 l", 50, SCANS, Status.READ),
    rate("5 l/s", "10 l", 0.5, SCANS, Status.READ),
    rate("190 l/s", HUNDREDTH, 5000, FACTORS, Status.READ),
    # 4.8913 A at 230 V are 1124.999 W.
    rate(
        "1.124999 m3/h",
        ENERGY_PULSE,
        1,
        ENERGY,
        Status.WEAK,
        1e-5,
        "the current is printed with five figures",
    ),
    rate("84.823 m3/h", "0.1 l", 235.62, "3 m/s in 100 mm", Status.COMPUTED, 2e-5),
    rate("84.823 m3/h", "2 l", 11.78, "3 m/s in 100 mm", Status.COMPUTED, 2e-4),
    rate(
        "84.823 m3/h",
        "1.414 l",
        16.67,
        "3 m/s in 100 mm, at the rate of 30 ms and 30 ms",
        Status.COMPUTED,
        5e-4,
        "four figures are given",
    ),
)

SLOW = outputs("84.823 m3/h", "1 l", pulse_width="30 ms")
PULSES_LOST = outputs("4 US_gal/min", OUNCE, counter_maximum_frequency="200 Hz")

OTHERS = (
    Example(
        "384 Hz into an input of 200 Hz lose about 48 %",
        FAST,
        Status.READ,
        PULSES_LOST,
        "pulse-rate-within-counter",
        "pulse_share_lost_in_counter",
        48,
        "%",
        2e-3,
        "about 48 % is printed",
    ),
    Example(
        "6.13 pulses a second are 163 ms apart",
        ENERGY,
        Status.WEAK,
        outputs("1 m3/h", ENERGY_PULSE) | {"process.flow.minimum": "1.915625 l/s"},
        "pulse-resolution-at-minimum-flow",
        "pulse_period_at_minimum_flow",
        163,
        "ms",
        1e-3,
        "three figures are printed",
    ),
    Example(
        "30 ms on and 30 ms off allow 16.67 Hz",
        "the pulse and pause of an S0 output, DIN 43864",
        Status.MEMORY,
        SLOW,
        "pulse-width-fits-rate",
        "pulse_rate_of_width",
        16.67,
        "Hz",
        3e-4,
        "four figures are given",
    ),
    Example(
        "8 digits at 10 000 counts a minute last 6.9 d",
        COUNTS,
        Status.READ,
        outputs("10000 l/min", "1 l", counter_digits="8"),
        "counter-rollover",
        "counter_rollover_time",
        6.9,
        "d",
        1e-2,
        "the printed days are cut off after one decimal",
    ),
    Example(
        "8 digits at 10 000 counts a minute last 9999 min",
        COUNTS,
        Status.READ,
        outputs("10000 l/min", "1 l", counter_digits="8"),
        "counter-rollover",
        "counter_rollover_time",
        9999,
        "min",
        2e-4,
        "the printed minutes are cut off",
    ),
    Example(
        "100 pulses for 3.8 l are 26.32 pulses a litre",
        FACTORS,
        Status.READ,
        raw_pulses("26 pulses/l", HUNDREDTH),
        "k-factor-and-pulse-weight-agree",
        "k_factor_of_weight",
        26.32,
        "pulses/l",
        2e-4,
        "four figures are printed",
    ),
    *(
        Example(
            f"{flow} fill {digits} digits of {resolution} in {figure} {unit}",
            "3 m/s in 100 mm",
            Status.COMPUTED,
            register(flow, digits, resolution),
            "totalizer-rollover",
            "totalizer_rollover_time",
            figure,
            unit,
            1e-3,
            "three figures are given",
        )
        for flow, digits, resolution, figure, unit in (
            ("84.82 m3/h", "6", "1 m3", 491, "d"),
            ("84.82 m3/h", "6", "1 m3", 11790, "h"),
            ("84.82 m3/h", "8", "1 l", 49.1, "d"),
        )
    ),
    # 9 999 m3 at a permanent flow of 6.3 m3/h: a register of 4 digits.
    Example(
        "4 digits of cubic metres hold 1587 h of 6.3 m3/h",
        "the range of indication of water meters, ISO 4064-1",
        Status.MEMORY,
        register("6.3 m3/h", "4", "1 m3"),
        "totalizer-rollover",
        "totalizer_rollover_time",
        1587,
        "h",
        3e-4,
        "9999 m3 are taken for 10 000",
    ),
)

ERRORS = (
    Example(
        "1 000 000 pulses of 26.32 a litre are 37 981.65 l",
        FACTORS + ": a slip of arithmetic",
        Status.READ,
        raw_pulses("26.32 pulses/l", "1 l"),
        "k-factor-and-pulse-weight-agree",
        "volume_by_k_factor",
        37981.65,
        "l",
        1e-6,
        "the printed figure has seven digits",
        ratio=37993.92 / 37981.65,
    ),
    Example(
        "1 000 000 pulses at 100 for 3.8 l are 37 981.65 l",
        FACTORS + ": a slip of arithmetic, on a rounded factor",
        Status.READ,
        raw_pulses("26 pulses/l", HUNDREDTH),
        "k-factor-and-pulse-weight-agree",
        "volume_by_pulse_weight",
        37981.65,
        "l",
        1e-6,
        "the printed figure has seven digits",
        ratio=38000.00 / 37981.65,
    ),
)

PULSES: tuple[Example, ...] = (*RATES, *OTHERS, *ERRORS)
