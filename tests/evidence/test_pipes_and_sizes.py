"""Bores of steel pipe and nominal sizes, run through the whole check.

The bores are those of ASME B36.10M as the library fluids carries them; it shares no
code with the tool. The correspondence of DN and NPS is that of ISO 6708 and ASME
B36.10M as a training text prints it.
"""

from __future__ import annotations

import importlib
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from configlint.rules import RuleBook
from tests.evidence.meters import Examined, examine, write_workspace
from tests.evidence.published import printed

# Loaded by name, since the library does not say the types of its values.
PIPING: Any = importlib.import_module("fluids.piping")

VELOCITY = ("velocity-at-span-in-band", "velocity_at_span")
FITS, AGREES = "bore-fits-nominal-size", "size-agrees"
SCHEDULES = ("10", "40", "STD", "80")

# DN and NPS as printed side by side in the training text (read).
PAIRS: dict[int, str] = (
    {6: "1/8", 8: "1/4", 10: "3/8", 15: "1/2", 20: "3/4", 25: "1", 32: "1 1/4"}
    | {40: "1 1/2", 50: "2", 65: "2 1/2", 80: "3", 100: "4", 150: "6", 200: "8"}
    | {250: "10", 300: "12", 350: "14", 400: "16", 450: "18", 500: "20", 550: "22"}
    | {600: "24", 650: "26", 700: "28", 750: "30", 800: "32", 900: "36"}
    | {1000: "40", 1100: "42", 1200: "48", 1400: "54", 1500: "60", 1600: "64"}
    | {1800: "72", 2000: "80", 2200: "88"}
)
FROM_MEMORY = {125: "5"}
# Two trade pages print these, against the training text (read).
WRONG_PAIRS = {700: "29", 1050: "42", 1300: "52"}

# The sizes of pipe that are tried, by their NPS.
PIPES: dict[int, float] = (
    {15: 0.5, 20: 0.75, 25: 1, 32: 1.25, 40: 1.5, 50: 2, 65: 2.5, 80: 3, 100: 4}
    | {125: 5, 150: 6, 200: 8, 250: 10, 300: 12, 350: 14, 400: 16, 450: 18}
    | {500: 20, 600: 24}
)

# Flow in m3/h at 1 m/s in schedule 40 (computed from the bores of ASME B36.10M).
FLOWS: dict[int, float] = {15: 0.702, 25: 2.007, 50: 7.787, 80: 17.167, 100: 29.567} | {
    150: 67.125,
    200: 116.217,
    250: 183.076,
    300: 259.892,
}


def bore(size: int, schedule: str) -> float:
    """Give the inside diameter of a steel pipe in metres, as fluids has it."""
    found, inside, _, _ = PIPING.nearest_pipe(NPS=PIPES[size], schedule=schedule)
    assert found == PIPES[size]
    return float(inside)


def pipe_tag(size: int, schedule: str) -> str:
    """Name the meter that has the bore of a pipe."""
    return f"FT-{size}-{schedule}"


def pipe_meters() -> dict[str, dict[str, str]]:
    """Make a meter of each pipe's bore, and one with the size alone, at 1 m/s."""
    pipes = {
        pipe_tag(size, schedule): {
            "sensor.nominal_size": f"DN {size}",
            "sensor.bore": f"{1000 * bore(size, schedule):.6g} mm",
            "current_output.upper_range_value": "1 m/s",
            "totalizer.digits": "6",
            "totalizer.resolution": "1 m3",
        }
        for size in PIPES
        for schedule in SCHEDULES
    }
    # What 1 m/s is in the true bore, for meters of which the size alone is known.
    nominal = {
        pipe_tag(size, "DN"): {
            "sensor.nominal_size": f"DN {size}",
            "current_output.upper_range_value": flow_text(size),
        }
        for size in PIPES
    }
    return pipes | nominal


def flow_text(size: int) -> str:
    """Write the flow that makes 1 m/s in schedule 40."""
    return f"{math.pi / 4 * bore(size, '40') ** 2:.12f} m3/s"


def size_meters() -> dict[str, dict[str, str]]:
    """Make a meter of each pair of sizes, and of each DN with the next one's NPS."""
    pairs = PAIRS | FROM_MEMORY
    sizes = sorted(pairs)
    wrong = {f"FT-{size}-W": (size, nps) for size, nps in WRONG_PAIRS.items()}
    next_sizes = {
        f"FT-{size}-N": (size, pairs[following]) for size, following in pairwise(sizes)
    }
    printed_pairs = {f"FT-{size}-P": (size, nps) for size, nps in pairs.items()}
    return {
        tag: {
            "sensor.nominal_size": f"DN {size}",
            "transmitter.nominal_size": f"NPS {nps}",
        }
        for tag, (size, nps) in (printed_pairs | next_sizes | wrong).items()
    }


@pytest.fixture(scope="module")
def pipes(tmp_path_factory: pytest.TempPathFactory) -> Examined:
    """Give what the tool found in the meters of all pipes and pairs of sizes."""
    meters = pipe_meters() | size_meters()
    folder = tmp_path_factory.mktemp("pipes")
    return examine(write_workspace(folder, meters.items(), moved=True))


def flow_at(pipes: Examined, size: int, schedule: str) -> float:
    """Give the flow in m3/h that the tool finds for 1 m/s in a pipe."""
    tag = pipe_tag(size, schedule)
    return printed(pipes.amount(tag, "totalizer-rollover", "highest_flow"), "m3/h")


def test_every_pipe_and_pair_is_read_without_fault(
    pipes: Examined, book: RuleBook
) -> None:
    """No bore and no size is lost in reading, so none is left open for that."""
    found = {each.rule for each in pipes.report.findings}
    assert found.isdisjoint(book.reading_rules)


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_a_velocity_is_the_flow_of_the_pipe(pipes: Examined, schedule: str) -> None:
    """A range of 1 m/s is the flow through the circle of the pipe's bore."""
    for size in PIPES:
        area = math.pi / 4 * bore(size, schedule) ** 2
        assert flow_at(pipes, size, schedule) == pytest.approx(3600 * area, rel=1e-9)


@pytest.mark.parametrize(("size", "flow"), FLOWS.items())
def test_flows_of_schedule_40_are_met(pipes: Examined, size: int, flow: float) -> None:
    """The flow at 1 m/s in schedule 40 is the tabulated one, to its three decimals."""
    assert flow_at(pipes, size, "40") == pytest.approx(flow, abs=5.01e-4)


def nominal_error(pipes: Examined, size: int) -> float:
    """Give the relative error of a velocity computed with the nominal size."""
    tag = pipe_tag(size, "DN")
    return printed(pipes.amount(tag, *VELOCITY), "m/s") - 1


def test_the_error_of_a_nominal_size_is_the_published_one(pipes: Examined) -> None:
    """DN taken as bore is off by -5.1 % at DN 80 and by +13.6 % at DN 25.

    Source: computed from ASME B36.10M, schedule 40, for the sizes of `FLOWS`.
    """
    errors = {size: nominal_error(pipes, size) for size in FLOWS}
    assert min(errors, key=errors.__getitem__) == 80
    assert max(errors, key=errors.__getitem__) == 25
    assert errors[80] == pytest.approx(-0.051, abs=5e-4)
    assert errors[25] == pytest.approx(0.136, abs=5e-4)


def test_the_rule_states_the_error_of_a_nominal_size(pipes: Examined) -> None:
    """What `nominal-size-not-used-as-bore` says of DN 15 to DN 600 holds for each."""
    errors = [nominal_error(pipes, size) for size in PIPES]
    stated = f"{100 * min(errors):.0f} to +{100 * max(errors):.0f} %"
    for size in PIPES:
        finding = pipes.findings[pipe_tag(size, "DN"), "nominal-size-not-used-as-bore"]
        assert stated in finding.message
        velocity = pipes.findings[pipe_tag(size, "DN"), VELOCITY[0]]
        assert any("nominal size" in note for note in velocity.assumptions)


def test_the_bore_of_every_pipe_fits_its_size(pipes: Examined) -> None:
    """No bore of steel pipe in the common schedules is taken for a wrong one."""
    for size in PIPES:
        for schedule in SCHEDULES:
            assert pipes.conforms(pipe_tag(size, schedule), FITS), (size, schedule)


def test_the_shares_of_the_rule_are_those_of_pipes(book: RuleBook) -> None:
    """`bore-fits-nominal-size` rests on bores of 0.90 to 1.15 of the nominal size."""
    (rule,) = (each for each in book.meter_rules if each.id == FITS)
    shares = [
        1000 * bore(size, schedule) / size
        for size in PIPES
        for schedule in ("10", "40", "80")
    ]
    assert "between 0.90 and 1.15 of it from DN 15 to DN 600" in str(rule.basis)
    assert 0.90 <= min(shares) < 0.91
    assert 1.14 < max(shares) <= 1.15


@pytest.mark.parametrize(
    ("true", "wrong", "ratio", "within"),
    [
        ("154.08 mm", "146.36 mm", 1.108, 4e-4),
        ("154.08 mm", "150 mm", 1.055, 3e-4),
        ("6 in", "6 mm", 645.16, 1e-9),
        ("100 mm", "80 mm", 1.5625, 1e-9),
        ("150 mm", "100 mm", 2.25, 1e-9),
    ],
    ids=["schedule 80 for 40", "nominal for true", "mm for in", "80/100", "100/150"],
)
def test_a_wrong_bore_is_off_by_its_square(
    tmp_path: Path, true: str, wrong: str, ratio: float, within: float
) -> None:
    """A velocity in a wrong bore differs by the squared ratio (computed)."""
    meters = {
        tag: {"sensor.bore": size, "current_output.upper_range_value": "10 m3/h"}
        for tag, size in (("FT-1", true), ("FT-2", wrong))
    }
    found = examine(write_workspace(tmp_path, meters.items(), moved=True))
    right, other = (found.amount(tag, *VELOCITY).value for tag in meters)
    assert other / right == pytest.approx(ratio, rel=within)


@pytest.mark.parametrize(
    ("size", "wrong", "cause"),
    [
        ("DN 300", "11.8 mm", "As inches"),
        ("DN 15", "0.62 mm", "As inches"),
        ("DN 300", "303.18 in", "As millimetres"),
        ("DN 300", "100 mm", ""),
    ],
)
def test_a_bore_off_by_the_inch_is_told_so(
    tmp_path: Path, size: str, wrong: str, cause: str
) -> None:
    """A bore that fits its size once 25.4 is made up for has that as possible cause."""
    meter = {"sensor.nominal_size": size, "sensor.bore": wrong}
    found = examine(write_workspace(tmp_path, [("FT-1", meter)], moved=False))
    message = found.findings["FT-1", FITS].message
    assert ("slip of unit" in message) == bool(cause)
    assert cause in message
    assert message.endswith(".")


@pytest.mark.parametrize(("size", "nps"), (PAIRS | FROM_MEMORY).items())
def test_corresponding_sizes_are_one(pipes: Examined, size: int, nps: str) -> None:
    """A DN and the NPS printed beside it are one size, and the next NPS is another."""
    assert pipes.conforms(f"FT-{size}-P", AGREES), nps
    if size < max(PAIRS):
        ratio = pipes.amount(f"FT-{size}-N", AGREES, "size_flow_ratio").value
        following = min(each for each in PAIRS | FROM_MEMORY if each > size)
        assert ratio == pytest.approx((following / size) ** 2, rel=1e-9)


@pytest.mark.parametrize(("size", "nps"), WRONG_PAIRS.items())
def test_wrong_tables_are_not_followed(pipes: Examined, size: int, nps: str) -> None:
    """A pair that only trade pages print is not taken for one size."""
    assert not pipes.conforms(f"FT-{size}-W", AGREES), nps


def test_every_size_of_the_table_is_compared(book: RuleBook) -> None:
    """The tool's table has the printed sizes and DN 125, and marks that one."""
    sources = book.scope.tables["nominal_sizes"].sources
    assert set(sources) == {f"DN {size}" for size in PAIRS | FROM_MEMORY}
    remembered = {size for size, source in sources.items() if "from memory" in source}
    assert remembered == {f"DN {size}" for size in FROM_MEMORY}
