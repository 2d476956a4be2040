"""Published figures of the current loop: burden, scaling, and currents of failure."""

from __future__ import annotations

from tests.evidence.published import Example, Status

__all__ = ["LOOPS"]

FORUM = "a public forum's answer on the resistance budget of a loop"
SCALING = "International Society of Automation, an article on scaling 4 to 20 mA"
BURDEN = "Ohm's law on a supply of 24 V, of which the transmitter needs 12 V"
OHM = "a practice question on loops of 4 to 20 mA with 250 ohm"
EXACT = "the figure is exact"
THREE_FIGURES = "whole ohms are given, cut off"


def loop(
    resistance: str, supply: str, failure: str = "21.5 mA", **others: str
) -> dict[str, str]:
    """Give the settings of a loop whose transmitter needs 12 V by its type sheet."""
    return {
        "type_sheet": "wall-mounted-a",
        "current_output.loop_resistance": resistance,
        "current_output.supply_voltage": supply,
        "current_output.failure_current": failure,
    } | others


def burden(
    shows: str,
    source: str,
    status: Status,
    meter: dict[str, str],
    quantity: str,
    figure: float,
    unit: str,
    within: float = 1e-9,
    because: str = EXACT,
    added: float = 0.0,
    ratio: float = 1.0,
) -> Example:
    """Make an example of a loop that its supply can't drive."""
    return Example(
        shows,
        source,
        status,
        meter,
        "loop-resistance-within-supply",
        quantity,
        figure,
        unit,
        within,
        because,
        added,
        ratio,
    )


def scaling(
    current: str,
    figure: float,
    source: str,
    status: Status,
    within: float = 1e-9,
    because: str = EXACT,
    shows: str = "",
) -> Example:
    """Make an example of what share of the span a current stands for, in percent."""
    return Example(
        shows=shows or f"{current} are {figure} % of the span",
        source=source,
        status=status,
        meter={"current_output.failure_current": current},
        rule="failure-current-outside-measuring-band",
        quantity="failure_current_on_scale",
        figure=figure,
        unit="%",
        within=within,
        because=because,
    )


AVAILABLE, END = "loop_resistance_available", "loop_current_available"

BURDENS = (
    # The forum leaves the transmitter's own voltage out: 24 V are left of 36 V.
    burden(
        "24 V drive 20 mA through 1200 ohm",
        FORUM,
        Status.WEAK,
        loop("1200 ohm", "36 V"),
        END,
        20,
        "mA",
    ),
    burden(
        "12 V drive 20 mA through 600 ohm",
        BURDEN,
        Status.COMPUTED,
        loop("600 ohm", "24 V"),
        END,
        20,
        "mA",
    ),
    *(
        burden(
            f"{supply} leave {figure} ohm at {failure}",
            BURDEN,
            Status.COMPUTED,
            loop("1 kohm", supply, failure),
            AVAILABLE,
            figure,
            "ohm",
            1e-3,
            THREE_FIGURES,
        )
        for supply, failure, figure in (
            ("24 V", "21.5 mA", 558),
            ("24 V", "22 mA", 545),
            ("21.6 V", "22 mA", 436),
        )
    ),
    *(
        burden(
            f"{volts} V across 250 ohm are {figure} mA",
            OHM,
            Status.READ,
            loop("250 ohm", f"{12 + volts} V"),
            END,
            figure,
            "mA",
        )
        for volts, figure in ((1, 4), (5, 20))
    ),
)

SCALINGS = (
    scaling("12 mA", 50, SCALING, Status.READ, shows="150 psig of 50 to 250 is 12 mA"),
    scaling(
        "12.86 mA",
        100 * (41 + 88) / (145 + 88),
        SCALING,
        Status.READ,
        2e-4,
        "the current is printed with two decimals",
        shows="41 degrees of -88 to 145 are 12.86 mA",
    ),
    scaling(
        "10.667 mA",
        100 * 125 / 300,
        "an automation forum's answer on scaling",
        Status.READ,
        6e-5,
        "the current is printed with three decimals",
        shows="125 inWG of 0 to 300 are 10.667 mA",
    ),
    scaling("10.4 mA", 40, "a training text on loops of 4 to 20 mA", Status.READ),
    scaling(
        "3.798 mA",
        -88.4 / 70,
        "a training article on totals from signals out of range: -88.4 of 0 to 7000",
        Status.READ,
        5e-4,
        "three figures are printed",
        shows="3.798 mA on a range of 0 to 7000 read -88.4",
    ),
    *(
        scaling(current, figure, "the bands of NAMUR NE 43, as shares", Status.COMPUTED)
        for current, figure in (
            ("3.6 mA", -2.5),
            ("3.8 mA", -1.25),
            ("20.5 mA", 103.125),
            ("21.0 mA", 106.25),
            ("22.0 mA", 112.5),
            ("22.5 mA", 115.625),
        )
    ),
    Example(
        shows="a card of 0 to 20 mA with 32 000 counts reads 6400 at 4 mA",
        source="a training article on a 0 to 60 MGD meter that read low",
        status=Status.READ,
        meter={
            "current_output.upper_range_value": "60 US_MGD",
            "receiver.analogue.lower_current": "0 mA",
            "receiver.analogue.upper_current": "20 mA",
        },
        rule="receiver-range-is-4-20",
        quantity="receiver_share_at_4_mA",
        figure=100 * 6400 / 32000,
        unit="%",
        within=1e-9,
        because=EXACT,
    ),
)

ERRORS = (
    burden(
        "receivers of 250 and 500 ohm leave 450 ohm at 24 V",
        FORUM + ": it forgets the transmitter's own voltage",
        Status.WEAK,
        loop("750 ohm", "24 V"),
        AVAILABLE,
        450,
        "ohm",
        1e-3,
        "192 ohm over, in whole ohms",
        added=-750,
        ratio=-192 / 450,
    ),
    burden(
        "a loop of 24 V and 12 V takes 600 ohm",
        "public calculators: 20 mA, which forgets the failure current of 21.5 mA",
        Status.PRACTICE,
        loop("600 ohm", "24 V"),
        AVAILABLE,
        600,
        "ohm",
        1e-9,
        EXACT,
        ratio=20 / 21.5,
    ),
)

LOOPS: tuple[Example, ...] = (*BURDENS, *SCALINGS, *ERRORS)
