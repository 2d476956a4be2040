"""Published velocities: what a flow is in a bore, in the units of the publication."""

from __future__ import annotations

from tests.evidence.published import Example, Status

__all__ = ["VELOCITIES"]

RULE = "velocity-at-span-in-band"

TEXTBOOK = (
    "Flow of Water Through Schedule 40 Steel Pipe, as reprinted in Applied Process "
    "Design for Chemical and Petrochemical Plants, vol. 1, Table 2-10"
)
LATERALS = "an engineering reference table of cooling water in lateral pipes"
MAINS = "an engineering reference table of cooling water in main pipes"
SI_TABLE = "an engineering reference table of water in schedule 40 pipe, 15.8 mm"

# Bores of schedule 40 in inches, as the classical inch table has them (from memory;
# they agree with ASME B36.10M in millimetres within 0.36 %).
INCHES: dict[str, str] = {
    "NPS 1/8": "0.269",
    "NPS 1/4": "0.364",
    "NPS 3/8": "0.493",
    "NPS 1/2": "0.622",
    "NPS 3/4": "0.824",
    "NPS 1": "1.049",
    "NPS 1 1/4": "1.380",
    "NPS 1 1/2": "1.610",
    "NPS 2": "2.067",
    "NPS 2 1/2": "2.469",
    "NPS 3": "3.068",
    "NPS 3 1/2": "3.548",
    "NPS 4": "4.026",
    "NPS 6": "6.065",
    "NPS 8": "7.981",
    "NPS 10": "10.020",
    "NPS 12": "11.938",
    "NPS 24": "22.626",
}

# US gal/min, the first size, and the velocities in ft/s of that size and the next.
TEXTBOOK_ROWS: tuple[tuple[str, str, str], ...] = (
    ("1", "NPS 1/8", "5.65 3.08 1.68 1.06 0.602 0.371"),
    ("2", "NPS 1/2", "2.11 1.20 0.743 0.429"),
    ("5", "NPS 1/2", "5.28 3.01 1.86 1.073 0.788"),
    ("10", "NPS 1/2", "10.56 6.02 3.71 2.15 1.58 0.956 0.670"),
    ("20", "NPS 3/4", "12.03 7.43 4.29 3.16 1.91 1.34 0.868"),
    ("25", "NPS 1", "9.28 5.37 3.94 2.39 1.68 1.09 0.812"),
)


def velocity(
    flow: str,
    bore: str,
    figure: float,
    unit: str,
    source: str,
    status: Status,
    within: float,
    because: str,
    *,
    ratio: float = 1.0,
    density: str = "",
) -> Example:
    """Make an example whose figure is the velocity at the upper range value."""
    meter = {"current_output.upper_range_value": flow, "sensor.bore": bore}
    return Example(
        shows=f"{flow} in {bore} make {figure} {unit}",
        source=source,
        status=status,
        meter=meter | ({"process.density": density} if density else {}),
        rule=RULE,
        quantity="velocity_at_span",
        figure=figure,
        unit=unit,
        within=within,
        because=because,
        ratio=ratio,
    )


def last_place(figure: str) -> float:
    """Give what one in the last place of a printed figure is worth."""
    return 10.0 ** -len(figure.partition(".")[2])


def textbook() -> tuple[Example, ...]:
    """Give every printed velocity of the handbook table."""
    sizes = list(INCHES)
    return tuple(
        velocity(
            f"{flow} US_gal/min",
            f"{INCHES[size]} in",
            float(figure),
            "ft/s",
            TEXTBOOK,
            Status.CONSISTENT,
            min(last_place(figure) / float(figure), 5e-3),
            "one in the last place that is printed, and 0.5 % at most",
        )
        for flow, first, figures in TEXTBOOK_ROWS
        for size, figure in zip(
            sizes[sizes.index(first) :], figures.split(), strict=False
        )
    )


def in_pipe(
    size: str,
    flow: str,
    figure: float,
    source: str,
    status: Status,
    within: float,
    because: str,
    ratio: float = 1.0,
) -> Example:
    """Make an example of a flow in schedule 40 pipe, in the units of the US."""
    bore = f"{INCHES[size]} in"
    return velocity(
        f"{flow} US_gal/min",
        bore,
        figure,
        "ft/s",
        source,
        status,
        within,
        because,
        ratio=ratio,
    )


TWO_FIGURES = "two figures are printed, and the bore is that of the inch table"

PUBLISHED = (
    velocity(
        "15 kg/s",
        "100 mm",
        1.91,
        "m/s",
        "Essential University Physics, ch. 15, problem 36, a published solution",
        Status.READ,
        1e-3,
        "three figures are printed",
        density="1000 kg/m3",
    ),
    *(
        velocity(flow, "15.8 mm", figure, unit, SI_TABLE, Status.READ, within, because)
        for flow, figure, unit, within, because in (
            ("0.10 l/s", 0.51, "m/s", 3e-3, "two figures are printed"),
            ("0.10 l/s", 1.67, "ft/s", 3e-3, "converted from the rounded 0.51 m/s"),
            ("0.12 l/s", 0.61, "m/s", 4e-3, "two figures are printed"),
        )
    ),
    *(
        in_pipe(size, flow, figure, LATERALS, Status.READ, 1.5e-2, TWO_FIGURES)
        for size, flow, figure in (
            ("NPS 3", "100", 4.3),
            ("NPS 4", "200", 5.1),
            ("NPS 6", "500", 5.6),
            ("NPS 8", "900", 5.8),
            ("NPS 10", "1500", 6.1),
            ("NPS 12", "2400", 6.8),
        )
    ),
    *(
        in_pipe(size, flow, figure, TEXTBOOK, Status.MEMORY, 1e-3, "three figures")
        for size, flow, figure in (
            ("NPS 4", "100", 2.52),
            ("NPS 6", "500", 5.55),
            ("NPS 8", "1000", 6.41),
            ("NPS 12", "2000", 5.73),
        )
    ),
    velocity(
        "1 US_gal/min",
        "1 in",
        0.4085,
        "ft/s",
        "a fire service's formula, v = 0.4085 Q / d^2",
        Status.READ,
        1e-4,
        "four figures are printed",
    ),
    velocity(
        "1 m3/s",
        "1 m",
        1 / 0.785,
        "m/s",
        "operator training, A = 0.785 d^2",
        Status.READ,
        6e-4,
        "pi/4 is printed with three figures",
    ),
    Example(
        shows="4 ft/s through 0.7 ft2 make 2.8 ft3/s",
        source="Utah State University Extension, a text on flow measurement",
        status=Status.READ,
        # The bore of 0.7 ft2 is sqrt(4 * 0.7 / pi) ft.
        meter={
            "current_output.upper_range_value": "4 ft/s",
            "sensor.bore": "0.94406974388 ft",
            "totalizer.digits": "6",
            "totalizer.resolution": "1 m3",
        },
        rule="totalizer-rollover",
        quantity="highest_flow",
        figure=2.8,
        unit="ft3/s",
        within=1e-8,
        because="exact, but for the digits of the bore",
    ),
)

UNPUBLISHED = (
    velocity(
        "2500 US_gal/min",
        "152.4 mm",
        8.65,
        "m/s",
        "a range as delivered, in a bore of 6 in",
        Status.PRACTICE,
        1e-3,
        "about 8.65 m/s is said",
    ),
    *(
        velocity(flow, bore, figure, "m/s", source, Status.COMPUTED, 1e-9, "exact")
        for flow, bore, figure, source in (
            ("1 m3/h", "1 mm", 353.6776513153, "1e6 / (900 pi)"),
            ("1 l/s", "1 mm", 1273.2395447352, "4000 / pi"),
            ("1 l/min", "1 mm", 21.2206590789, "200 / (3 pi)"),
        )
    ),
    velocity(
        "84.823 m3/h",
        "100 mm",
        3.0,
        "m/s",
        "3 m/s in a nominal bore of 100 mm",
        Status.COMPUTED,
        1e-5,
        "the flow has five figures",
    ),
)

ERRORS = (
    velocity(
        "50 US_gal/min",
        "4 in",
        1.275,
        "ft/min",
        "a published how-to text: it says feet per minute for feet per second",
        Status.READ,
        2e-3,
        "it uses 0.408 for 0.4085",
        ratio=60,
    ),
    velocity(
        "23 kg/s",
        "10 cm",
        2.3,
        "m/s",
        "a published homework answer: pi/4 is left out of the area",
        Status.READ,
        1e-6,
        "the answer is exact but for the slip",
        ratio=1.27323954,
        density="1000 kg/m3",
    ),
    Example(
        shows="4 ft/s through 0.7 ft2 make 1260 cfs",
        source="Utah State University Extension: gal/min are labelled as cfs",
        status=Status.READ,
        meter={
            "current_output.upper_range_value": "4 ft/s",
            "sensor.bore": "11.3288369266 in",
            "totalizer.digits": "6",
            "totalizer.resolution": "1 m3",
        },
        rule="totalizer-rollover",
        quantity="highest_flow",
        figure=1260,
        unit="ft3/s",
        within=3e-3,
        because="the number is rounded from 1256.73 gal/min",
        ratio=1 / 448.831169,
    ),
    in_pipe(
        "NPS 12",
        "1800",
        4.5,
        MAINS + ": it does not fit schedule 40",
        Status.READ,
        1e-2,
        "two figures are printed",
        ratio=5.16 / 4.5,
    ),
    in_pipe(
        "NPS 24",
        "11000",
        7.8,
        MAINS + ": it does not fit schedule 40",
        Status.READ,
        1e-2,
        "two figures are printed",
        ratio=8.77 / 7.8,
    ),
)

VELOCITIES: tuple[Example, ...] = (*textbook(), *PUBLISHED, *UNPUBLISHED, *ERRORS)
