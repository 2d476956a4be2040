"""Laws of the search: where outcomes change along the numbers of one amount."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from configlint.axes import axis_of, starts_of
from configlint.sweep import Reach, Run, sweep
from configlint.units import parse_quantity
from tests.free_meters import free_meter, rule, rule_book

DAMPING = "transmitter.damping"
SPAN = "current_output.upper_range_value"
LIMIT = 12.345678901


def runs_of(
    folder: Path,
    accept: str,
    path: str = DAMPING,
    written: dict[str, str] | None = None,
    reach: Reach | None = None,
) -> tuple[Run, ...]:
    """Cut the numbers of a setting into runs by one rule."""
    book = rule_book(folder, {"one": rule(accept)})
    free = free_meter(book, {DAMPING: "3 s", SPAN: "10 m3/h"} | (written or {}))
    axis = axis_of(free, path)
    starts = starts_of(free, axis)
    return sweep(axis, starts) if reach is None else sweep(axis, starts, reach)


def test_a_limit_is_found_exactly(tmp_path: Path) -> None:
    """A run ends with the limit itself, and right beside it the outcome is another."""
    met, broken = runs_of(tmp_path, f"{DAMPING} <= {LIMIT}[s]")
    assert (met.broken, broken.broken) == (0, 1)
    last, first = met.looks[-1], broken.looks[0]
    assert last.turn is not None
    assert last.number == pytest.approx(LIMIT, rel=1e-12)
    assert first.number == pytest.approx(LIMIT, rel=1e-8)
    assert broken.before == met.looks
    assert met.after == broken.looks


def test_a_limit_on_a_number_of_the_search_is_sharp(tmp_path: Path) -> None:
    """A limit that is looked at by chance is known for a limit all the same."""
    met, _ = runs_of(tmp_path, f"{DAMPING} <= 10[s]")
    sharp = [look.number for look in met.looks if look.turn is not None]
    assert sharp == [10.0]


def test_a_strict_limit_stands_beside_its_run(tmp_path: Path) -> None:
    """Where the limit itself is not permissible, it is the first look behind."""
    met, broken = runs_of(tmp_path, f"{DAMPING} < {LIMIT}[s]")
    assert met.looks[-1].turn is None
    assert broken.looks[0].turn is not None


def test_single_points_are_found(tmp_path: Path) -> None:
    """A rule that leaves one value leaves a run of just that value."""
    runs = runs_of(tmp_path, f"{DAMPING} == {LIMIT}[s]")
    (met,) = (run for run in runs if not run.broken)
    assert [look.number for look in met.looks] == [pytest.approx(LIMIT)]


def test_a_narrow_band_between_neighbours_is_found(tmp_path: Path) -> None:
    """A tolerance far finer than the search's own steps is found by its middle."""
    runs = runs_of(tmp_path, f"abs({DAMPING} - {LIMIT}[s]) <= 0.00001[s]")
    (met,) = (run for run in runs if not run.broken)
    ends = met.looks[0].number, met.looks[-1].number
    assert ends[0] == pytest.approx(LIMIT - 1e-5, rel=1e-12)
    assert ends[1] - ends[0] == pytest.approx(2e-5, rel=1e-6)


def test_every_step_between_neighbours_is_found(tmp_path: Path) -> None:
    """Bands around the whole numbers are told apart while they are."""
    number = f"({DAMPING} / 1[s])"
    accept = f"abs({number} - round({number})) <= 0.1 and {DAMPING} <= 20[s]"
    runs = runs_of(tmp_path, accept)
    met = [run for run in runs if not run.broken]
    assert len(met) == 21
    for whole, run in enumerate(met[1:-1], 1):
        assert run.looks[0].number == pytest.approx(whole - 0.1, rel=1e-9)
        assert run.looks[-1].number == pytest.approx(whole + 0.1, rel=1e-9)


def test_too_many_steps_are_left_alone(tmp_path: Path) -> None:
    """Where a step is but a thousandth of the way, the search does not follow it."""
    number = f"(1000000 * {DAMPING} / 1[s])"
    runs = runs_of(tmp_path, f"abs({number} - floor({number})) <= 0.5")
    assert len(runs) < 1500


def test_what_no_turn_explains_is_closed_in_on(tmp_path: Path) -> None:
    """An outcome that changes where nothing compared does is found by halving."""
    # The slope of a square root has no number below zero: there the rule is open.
    accept = f"sqrt({DAMPING} / 1[s] - {LIMIT}) < 0"
    met, broken = runs_of(tmp_path, accept)
    assert met.looks[-1].number == pytest.approx(LIMIT, rel=1e-12)
    assert broken.looks[0].number - met.looks[-1].number < 1e-13 * LIMIT


def test_numbers_below_zero_are_looked_at(tmp_path: Path) -> None:
    """An amount that may be negative is searched on both sides of zero."""
    runs = runs_of(tmp_path, f"abs({SPAN}) >= 7[m3/h]", SPAN)
    ends = [run.looks[-1].number for run in runs]
    assert ends[0] == pytest.approx(-7)
    assert runs[2].looks[0].number == pytest.approx(7)


def test_a_search_nearby_only_glances_below_zero(tmp_path: Path) -> None:
    """Where nothing is negative, a short search has few looks below zero."""
    near = Reach(decades=1, mirrored=False)
    accept = f"{SPAN} >= 7[m3/h]"
    looks = [
        look
        for run in runs_of(tmp_path, accept, SPAN, reach=near)
        for look in run.looks
    ]
    assert sum(look.number < 0 for look in looks) == 2
    negative = {"current_output.lower_range_value": "-5 m3/h"}
    looks = [
        look
        for run in runs_of(tmp_path / "b", accept, SPAN, negative, near)
        for look in run.looks
    ]
    assert sum(look.number < 0 for look in looks) > 20


def test_a_glance_below_zero_finds_a_change_there(tmp_path: Path) -> None:
    """Between two looks that lie far apart a change is closed in on by their ratio."""
    near = Reach(decades=1, mirrored=False)
    # Below the limit the square root is no number, so that the rule is open.
    accept = f"sqrt({SPAN} / 1[m3/h] + 5) < 0"
    runs = runs_of(tmp_path, accept, SPAN, reach=near)
    assert runs[0].looks[-1].number == pytest.approx(-5, rel=1e-9)


def test_zero_is_looked_at_but_not_closed_in_on(tmp_path: Path) -> None:
    """A rule that only zero breaks has a run of zero alone."""
    none, met = runs_of(tmp_path, f"{DAMPING} > 0[s]")
    assert [look.number for look in none.looks] == [0.0]
    assert met.looks[0].number > 0


def test_the_search_reaches_over_many_decades(tmp_path: Path) -> None:
    """No limit is missed within five decades of an amount of the kind."""
    for power in (-4, 4):
        limit = 3 * 10.0**power
        met, _ = runs_of(tmp_path / str(power), f"{DAMPING} <= {limit:f}[s]")
        assert met.looks[-1].number == pytest.approx(limit, rel=1e-9)


def test_temperatures_are_compared_from_absolute_zero(tmp_path: Path) -> None:
    """A limit in degrees is found although the tolerance goes by the kelvin."""
    path = "process.temperature.maximum"
    met, _ = runs_of(tmp_path, f"{path} <= 60[degC]", path, {path: "20 degC"})
    assert met.looks[-1].number == pytest.approx(60, abs=1e-9)
    assert met.looks[-1].turn is not None


def test_a_missing_amount_turns_nowhere(tmp_path: Path) -> None:
    """A rule that lacks an input is met everywhere, since it rules nothing out."""
    number = f"round({DAMPING} / process.batch_volume * 1[m3] / 1[s])"
    (run,) = runs_of(tmp_path, f"{number} > 3")
    assert run.broken == 0


def test_amounts_that_are_not_finite_turn_nowhere(tmp_path: Path) -> None:
    """A number that overflows has no steps, and no end of the search is thrown off."""
    power = f"ten_to({DAMPING} / 1[s] * 1000)"
    runs = runs_of(tmp_path, f"floor({power}) >= 0 or {DAMPING} < 1[s]")
    assert runs


def test_what_follows_is_the_same_amount(tmp_path: Path) -> None:
    """An amount that is changed along has the same value in a unit of its own."""
    scale = "receiver.analogue.upper_scale"
    book = rule_book(tmp_path, {"agree": rule(f"{scale} == {SPAN}")})
    free = free_meter(book, {SPAN: "36 m3/h", scale: "1 l/s"})
    axis = axis_of(free, SPAN, (scale,))
    assert [run.broken for run in sweep(axis, [36.0])] == [0]
    axis.put(parse_quantity("72 m3/h"))
    written = axis.variation.facts.written[scale]
    assert getattr(written, "text", "") == "20 l/s"


def test_nothing_follows_an_amount_that_is_not_known(tmp_path: Path) -> None:
    """Without the density that a mass needs, what would follow stays as it is."""
    scale = "receiver.analogue.upper_scale"
    book = rule_book(tmp_path, {"agree": rule(f"{scale} == {SPAN}")})
    free = free_meter(book, {SPAN: "36 t/h", scale: "1 l/s"})
    axis = axis_of(free, SPAN, (scale,))
    axis.put(parse_quantity("72 t/h"))
    assert not math.isfinite(float(str(axis.variation.facts.values[SPAN])))
    assert getattr(axis.variation.facts.written[scale], "text", "") == "1 l/s"


def test_a_limit_near_zero_is_found_from_afar(tmp_path: Path) -> None:
    """A short search finds a limit that lies decades nearer to zero than it looks."""
    reach = Reach(decades=1, per_decade=4, mirrored=False)
    other = "receiver.analogue.damping"
    accept = f"{DAMPING} >= 0.001 * {other}"
    zero, met = runs_of(tmp_path, accept, written={other: "2 s"}, reach=reach)
    assert (zero.broken, met.broken) == (1, 0)
    assert met.looks[0].number == pytest.approx(0.002, rel=1e-9)
