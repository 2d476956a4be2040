"""Figures of vortex, turbine, Coriolis and ultrasonic meters, and of K-factors.

What is from memory is a figure that any table of the subject prints; what is common
practice is how the trade computes. The rest follows from definitions.
"""

from __future__ import annotations

from collections.abc import Mapping

from tests.evidence.published import Example, Status

__all__ = ["PRINCIPLES"]

DEFINED = "the units' definitions: Handbook 44, the Act of 1985, the foot of 1959"
FACTORS = "a training article on pulse factors of turbine meters, and its inverse"
ROTOR = "the rate of a turbine's pulses, K-factor times gallons a minute over 60"
STROUHAL = "the Strouhal number of 0.2 of a round bar, in texts on fluid mechanics"
WATER = "water of 20 degC, 998.2 kg/m3 and 1.002 mPa.s, in tables of water"
PIPES = "ASME B36.10M: NPS 8 is 219.1 mm outside, 7.04 or 8.18 mm thick"
ZERO = "the share that a wrong zero has in the error, zero over flow"
AIR = "a liquid with a share of gas is lighter by that share"

EXACT = "the figure is exact"
SIX = "six figures are given"
FOUR = "four figures are given"


def principle(
    name: str,
    shows: str,
    source: str,
    status: Status,
    meter: Mapping[str, str],
    rule: str,
    quantity: str,
    figure: float,
    unit: str = "",
    within: float = 1e-9,
    because: str = EXACT,
    added: float = 0.0,
) -> Example:
    """Make an example of a meter of the principle that is named."""
    return Example(
        shows,
        source,
        status,
        {"principle": name, **meter},
        rule,
        quantity,
        figure,
        unit,
        within,
        because,
        added,
    )


def factors(stamped: str, set_to: str) -> dict[str, str]:
    """Give the K-factor on a sensor, and the one that its transmitter holds."""
    return {
        "sensor.nameplate.k_factor": stamped,
        "transmitter.k_factor": set_to,
    }


# The unit on the plate, the unit of the transmitter for the same figure, and the
# reading over the flow: the volume of a unit over that of the other.
FACTOR_SLIPS: tuple[tuple[str, str, str, float], ...] = (
    ("vortex", "US_gal", "l", 0.264172),
    ("vortex", "l", "US_gal", 3.78541),
    ("turbine", "US_gal", "imp_gal", 1.20095),
    ("positive displacement", "ft3", "US_gal", 0.133681),
    ("vortex", "m3", "ft3", 0.0283168),
)

K_FACTORS = (
    *(
        principle(
            name,
            f"pulses a {plate} set as pulses a {menu} read {ratio:.6g} of the flow",
            DEFINED,
            Status.COMPUTED,
            factors(f"12.07 pulses/{plate}", f"12.07 pulses/{menu}"),
            "k-factor-agrees",
            "k_factor_error",
            ratio,
            within=4e-6,
            because=SIX,
            added=1.0,
        )
        for name, plate, menu, ratio in FACTOR_SLIPS
    ),
    principle(
        "turbine",
        "26.32 pulses a litre set as the litres of a pulse read 692.7 of the flow",
        FACTORS,
        Status.COMPUTED,
        factors("26.32 pulses/l", "0.037994 pulses/l"),
        "k-factor-not-inverted",
        "k_factor_error",
        26.32**2,
        within=2e-5,
        because="the inverse has five figures",
        added=1.0,
    ),
)

# 905.4 pulses a gallon, and the gallons of one of them.
ROTOR_PULSE = "0.00110448420587586 US_gal"
# A bar of 12 mm in 3 m/s sheds 0.2 * 3 / 0.012 = 50 vortices a second.
# In a bore of 50 mm each stands for pi/4 * 50 mm * 50 mm * 12 mm / 0.2.
VORTEX_PULSE = "0.117809724509617 l"

RATES = (
    principle(
        "turbine",
        "905.4 pulses a gallon at 40 gallons a minute come at 603.6 Hz",
        ROTOR,
        Status.PRACTICE,
        {
            "current_output.upper_range_value": "40 US_gal/min",
            "pulse_output.pulse_weight": ROTOR_PULSE,
            "pulse_output.maximum_frequency": "1 kHz",
            "receiver.counter": "not used",
        },
        "pulse-rate-margin",
        "pulse_rate_at_span",
        603.6,
        "Hz",
    ),
    principle(
        "vortex",
        "a bar of 12 mm in 3 m/s sheds 50 vortices a second",
        STROUHAL,
        Status.MEMORY,
        {
            "sensor.bore": "50 mm",
            "current_output.upper_range_value": "3 m/s",
            "pulse_output.pulse_weight": VORTEX_PULSE,
            "pulse_output.maximum_frequency": "1 kHz",
            "receiver.counter": "not used",
        },
        "pulse-rate-margin",
        "pulse_rate_at_span",
        50,
        "Hz",
    ),
)

SHED = (
    principle(
        "vortex",
        "a bar of 12 mm in a bore of 50 mm sheds 0.2 * 50 / 12 vortices a bore",
        STROUHAL,
        Status.MEMORY,
        {
            "sensor.bore": "50 mm",
            # One over the volume of `VORTEX_PULSE`.
            "sensor.nameplate.k_factor": "8.488263631567769 pulses/l",
        },
        "k-factor-fits-bore",
        "pulses_per_bore_length",
        0.2 * 50 / 12,
    ),
)

REYNOLDS = tuple(
    principle(
        "vortex",
        f"water at {velocity} in {bore} has a Reynolds number of {figure}",
        WATER,
        Status.MEMORY,
        {
            "sensor.bore": bore,
            "process.flow.minimum": velocity,
            "process.density": "998.2 kg/m3",
            "process.viscosity": "1.002 mPa.s",
        },
        "vortex-flow-stays-linear",
        "reynolds_at_minimum_flow",
        figure,
        within=2e-4,
        because=FOUR,
    )
    for velocity, bore, figure in (
        ("1 m/s", "25 mm", 24_910),
        ("0.5 m/s", "100 mm", 49_810),
    )
)

CORIOLIS = (
    principle(
        "coriolis",
        "1 t/h of water of 20 degC read as 1 m3/h is 0.9982 of the flow",
        WATER,
        Status.MEMORY,
        {
            "current_output.upper_range_value": "1 t/h",
            "receiver.analogue.upper_scale": "1 m3/h",
            "process.density": "998.2 kg/m3",
        },
        "receiver-scale-agrees",
        "receiver_error_at_span",
        0.9982,
        added=1.0,
    ),
    principle(
        "coriolis",
        "100 lb/min of water of 20 degC are 12.00 US_gal/min",
        WATER,
        Status.MEMORY,
        {
            "current_output.upper_range_value": "100 lb/min",
            "process.density": "998.2 kg/m3",
            "totalizer.digits": "6",
            "totalizer.resolution": "1 lb",
        },
        "totalizer-rollover",
        "highest_flow",
        12.00,
        "US_gal/min",
        within=5e-4,
        because=FOUR,
    ),
    principle(
        "coriolis",
        "a zero of 3 kg/h is 0.3 % of 1000 kg/h",
        ZERO,
        Status.PRACTICE,
        {
            "transmitter.flow_at_standstill": "3 kg/h",
            "process.flow.minimum": "1000 kg/h",
            "process.density": "998.2 kg/m3",
        },
        "coriolis-zero-small",
        "standstill_share",
        0.3,
        "%",
    ),
    principle(
        "coriolis",
        "a liquid with 5 % of air measures 5 % too light",
        AIR,
        Status.PRACTICE,
        {
            "transmitter.measured_density": "948.29 kg/m3",
            "process.density": "998.2 kg/m3",
        },
        "coriolis-density-agrees",
        "density_error",
        -5,
        "%",
    ),
)

ULTRASONIC = (
    principle(
        "ultrasonic",
        "a wall of schedule 40 set for one of 30 reads 2.21 % low",
        PIPES,
        Status.COMPUTED,
        {
            "sensor.mounting": "clamp-on",
            "sensor.bore": "205.02 mm",
            "sensor.pipe_wall_thickness": "7.04 mm",
            "transmitter.pipe_wall_thickness": "8.18 mm",
        },
        "ultrasonic-wall-agrees",
        "wall_flow_error",
        100 * ((202.74 / 205.02) ** 2 - 1),
        "%",
        within=6e-3,
        because="ours is the first term of the ratio of two areas",
    ),
)

PRINCIPLES: tuple[Example, ...] = (
    *K_FACTORS,
    *RATES,
    *SHED,
    *REYNOLDS,
    *CORIOLIS,
    *ULTRASONIC,
)
