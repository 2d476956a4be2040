"""Laws of windows on random limits: exact, whole, and true to the rules themselves."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from configlint.conflicts import smallest_conflict
from configlint.rules import RuleBook
from configlint.units import TOLERANCE
from configlint.variation import Free
from configlint.window import Interval, Window, settings_of, solution_of
from tests.free_meters import broken_by, free_meter, rule, rule_book, standard_book

DAMPING = "transmitter.damping"
SPAN = "current_output.upper_range_value"
FACTOR = "transmitter.calibration_factor"
PLATE = "sensor.nameplate.calibration_factor"
EXACT = 2 * TOLERANCE

Drawn = tuple[str, float, float]
"""A rule by its kind and two limits, in seconds."""

Piece = tuple[float, float]
"""Numbers from one end to another."""

FORMS = {
    "at least": f"{DAMPING} >= one",
    "at most": f"{DAMPING} <= one",
    "above": f"{DAMPING} > one",
    "below": f"{DAMPING} < one",
    "outside": f"{DAMPING} <= one or {DAMPING} >= two",
    "around": f"abs({DAMPING} - one) <= 0.001 * one",
    "inverse": f"1 / ({DAMPING} + 1[s]) <= 1 / (one + 1[s])",
    "square": f"({DAMPING} / one) ** 2 <= 1",
    "clear": f"abs({DAMPING} / one - 1) > 0.1",
}
SECONDS = st.floats(1e-2, 1e4).map(lambda each: float(f"{each:.6g}"))
LIMITS = st.lists(SECONDS, min_size=1, max_size=5)


@cache
def book_of(kinds: tuple[str, ...]) -> RuleBook:
    """Load a book of rules, each of one kind, whose limits a test changes."""
    rules = {
        f"rule-{place}": rule(FORMS[kind], limits=dict.fromkeys(limits_of(kind), "1 s"))
        for place, kind in enumerate(kinds)
    }
    return rule_book(Path(tempfile.mkdtemp()), rules, {DAMPING: {}})


def limits_of(kind: str) -> tuple[str, ...]:
    """Name the limits of a kind of rule."""
    return ("one", "two") if kind == "outside" else ("one",)


def free_by(drawn: list[Drawn]) -> Free:
    """Make a meter under some rules, each with its own limits."""
    changed = {
        f"rule-{place}": dict(zip(limits_of(each[0]), limits(*each), strict=False))
        for place, each in enumerate(drawn)
    }
    book = book_of(tuple(kind for kind, _, _ in drawn))
    return free_meter(book, {DAMPING: "3 s"}, changed)


def limits(kind: str, one: float, two: float) -> Piece:
    """Put two limits in order where a kind of rule has both."""
    return (min(one, two), max(one, two)) if kind == "outside" else (one, two)


def allowed(kind: str, one: float, two: float) -> list[Piece]:
    """Give the numbers that a rule allows, by its formula solved with a pencil."""
    low, high = min(one, two), max(one, two)
    pieces = {
        "at least": [(one, math.inf)],
        "at most": [(0.0, one)],
        "above": [(one, math.inf)],
        "below": [(0.0, one)],
        "outside": [(0.0, low), (high, math.inf)],
        "around": [(0.999 * one, 1.001 * one)],
        "inverse": [(one, math.inf)],
        "square": [(0.0, one)],
        "clear": [(0.0, 0.9 * one), (1.1 * one, math.inf)],
    }
    return pieces[kind]


def intersect(first: Iterable[Piece], second: Iterable[Piece]) -> list[Piece]:
    """Give what two sets of pieces have in common."""
    pieces = ((max(a, c), min(b, d)) for a, b in first for c, d in second)
    return [(low, high) for low, high in sorted(pieces) if low < high]


OTHER_KINDS = ("outside", "around", "inverse", "square", "clear")
KINDS = st.lists(
    st.tuples(
        st.sampled_from(
            ["at least", "at most", "above", "below", *OTHER_KINDS],
        ),
        SECONDS,
        SECONDS,
    ),
    min_size=1,
    max_size=4,
)


def solve(drawn: list[Drawn]) -> tuple[Window, list[Piece]]:
    """Solve for the damping under some rules, and give what they allow."""
    expected = [(0.0, math.inf)]
    for each in drawn:
        expected = intersect(expected, allowed(*each))
    window = solution_of(free_by(drawn), DAMPING)
    assert isinstance(window, Window)
    return window, expected


def is_clear(drawn: Iterable[Drawn]) -> bool:
    """Whether no two limits lie so close that the tolerance decides between them."""
    ends = sorted(
        end
        for kind, one, two in drawn
        for piece in allowed(kind, one, two)
        for end in piece
        if 0 < end < math.inf
    )
    return all(later / earlier - 1 > 1e-7 for earlier, later in pairwise(ends))


@settings(max_examples=150)
@given(KINDS)
def test_a_window_is_what_the_formulas_allow(
    drawn: list[Drawn],
) -> None:
    """Every piece of the set is found, and its ends are exact to a relative 1e-9."""
    assume(is_clear(drawn))
    window, expected = solve(drawn)
    assert len(window.intervals) == len(expected)
    for interval, (low, high) in zip(window.intervals, expected, strict=True):
        assert interval.start is not None
        assert interval.start == pytest.approx(low, rel=EXACT)
        if math.isinf(high):
            assert interval.end is None
        else:
            assert interval.end == pytest.approx(high, rel=EXACT)


def broken_at(drawn: list[Drawn], number: float) -> set[str]:
    """Name the rules that a damping in seconds breaks, as the engine has it."""
    return broken_by(free_by(drawn), {DAMPING: f"{number:.15g} s"})


@settings(max_examples=60)
@given(KINDS, st.floats(0.001, 0.999))
def test_inside_is_met_and_outside_is_not(drawn: list[Drawn], share: float) -> None:
    """Any value inside meets every rule, one right beyond an end breaks its rule."""
    window, _ = solve(drawn)
    for interval in window.intervals:
        assert interval.start is not None
        end = 2 * interval.start + 1 if interval.end is None else interval.end
        inside = interval.start + share * (end - interval.start)
        if interval.holds(inside):
            assert not broken_at(drawn, inside)
        for number, rule_id, outwards in (
            (interval.start, interval.start_rule, -1e-6),
            (interval.end, interval.end_rule, 1e-6),
        ):
            if rule_id.startswith("rule-") and number:
                assert rule_id in broken_at(drawn, number * (1 + outwards))


@settings(max_examples=60)
@given(KINDS)
def test_an_empty_window_names_a_smallest_conflict(
    drawn: list[Drawn],
) -> None:
    """The rules named have no value in common, and without any of them there is one."""
    window, _ = solve(drawn)
    assume(not window.intervals)
    chosen = [int(each.removeprefix("rule-")) for each in window.conflict]
    together = [drawn[place] for place in chosen]
    assert not solve(together)[0].intervals
    for left_out in range(len(together)):
        rest = [each for place, each in enumerate(together) if place != left_out]
        assert not rest or solve(rest)[0].intervals


SETS = st.lists(st.sets(st.sampled_from("abcdef"), min_size=1), min_size=1, max_size=8)


@given(SETS)
def test_a_smallest_conflict_meets_every_set_and_no_smaller_one_does(
    broken: list[set[str]],
) -> None:
    """It has a rule of every set, and of as many rules none has fewer."""
    conflict = smallest_conflict(broken, "abcdef")
    assert all(not each.isdisjoint(conflict) for each in broken)
    fewer = 1 << 6
    for mask in range(fewer):
        chosen = {name for place, name in enumerate("abcdef") if mask >> place & 1}
        if len(chosen) < len(conflict):
            assert any(each.isdisjoint(chosen) for each in broken)


FIGURES = st.decimals(min_value="0.2", max_value="5", places=4).map(str)


@settings(max_examples=40)
@given(FIGURES)
def test_a_figure_that_must_agree_is_found_to_the_digit(figure: str) -> None:
    """The only figure that agrees with another of the same unit is that figure."""
    free = free_meter(agreement(), {FACTOR: "7", PLATE: figure})
    window = solution_of(free, FACTOR)
    assert isinstance(window, Window)
    (interval,) = window.intervals
    assert interval.start == interval.end == float(figure)


@cache
def agreement() -> RuleBook:
    """Load a rule by which two figures agree."""
    rules = {"agree": rule(f"agrees({FACTOR}, {PLATE})")}
    return rule_book(Path(tempfile.mkdtemp()), rules, {FACTOR: {}})


@settings(max_examples=40)
@given(st.integers(1, 40), st.integers(1, 6))
def test_bands_around_whole_fractions_are_all_found(lines: int, bands: int) -> None:
    """A rule that rounds a ratio leaves a band around each whole one."""
    tolerance = Fraction(1, 100)
    window = banded(lines + bands)
    found = [(each.start, each.end) for each in window.intervals]
    for number in range(lines, lines + bands + 1):
        low, high = (
            float(50 * each / number) for each in (1 - tolerance, 1 + tolerance)
        )
        near = [each for each in found if each[0] == pytest.approx(low, rel=EXACT)]
        assert [end for _, end in near] == [pytest.approx(high, rel=EXACT)]


@cache
def banded(most: int) -> Window:
    """Solve for a frequency that must be a whole fraction of 50 Hz, within 1 %."""
    path = "transmitter.excitation_frequency"
    ratio = f"(50[Hz] / {path})"
    accept = f"abs({ratio} - round({ratio})) <= 0.01 * {ratio} and {ratio} <= {most}.5"
    book = rule_book(Path(tempfile.mkdtemp()), {"beat": rule(accept)}, {path: {}})
    window = solution_of(free_meter(book, {path: "6.25 Hz"}), path)
    assert isinstance(window, Window)
    return window


METERS: Mapping[str, st.SearchStrategy[str]] = {
    "sensor.bore": st.floats(20, 900).map(lambda each: f"{each:.4g} mm"),
    "sensor.nominal_size": st.sampled_from(["DN 100", "DN 200"]),
    SPAN: st.floats(0.5, 9).map(lambda each: f"{each:.3g} m/s"),
    "current_output.lower_range_value": st.just("0 m3/h"),
    "receiver.analogue.upper_scale": st.floats(1, 900).map(lambda v: f"{v:.3g} l/s"),
    "process.flow.maximum": st.floats(1, 3000).map(lambda each: f"{each:.3g} m3/h"),
    "process.flow.minimum": st.floats(0.1, 300).map(lambda each: f"{each:.3g} t/h"),
    "process.density": st.just("1000 kg/m3"),
    "process.duty": st.sampled_from(["clean water", "sludge"]),
    "pulse_output.pulse_weight": st.floats(0.1, 900).map(lambda each: f"{each:.3g} l"),
    "pulse_output.pulse_width": st.floats(1, 900).map(lambda each: f"{each:.3g} ms"),
    "transmitter.low_flow_cutoff": st.floats(0.01, 9).map(lambda each: f"{each:.2g} %"),
    DAMPING: st.floats(0.01, 90).map(lambda each: f"{each:.3g} s"),
}


@cache
def standard() -> RuleBook:
    """Load the standard rules once."""
    return standard_book()


@settings(max_examples=6)
@given(st.fixed_dictionaries({}, optional=dict(METERS)), st.data())
def test_windows_of_random_meters_are_true_to_the_standard_rules(
    written: dict[str, str], data: Any
) -> None:
    """Inside a window the rules it names are met, right outside its rule is broken."""
    free = free_meter(standard(), written)
    for path in settings_of(free):
        window = solution_of(free, path)
        if not isinstance(window, Window):
            continue
        by_amount = set(window.rules) - set(window.figure_rules)
        for interval in data.draw(st.permutations(window.intervals))[:3]:
            check_interval(free, window, interval, by_amount)


def check_interval(
    free: Free, window: Window, interval: Interval, by_amount: set[str]
) -> None:
    """Ask the engine in the middle of an interval, and right beyond its ends."""
    start, end = interval.start, interval.end
    unit = window.unit.spelling

    def broken(number: float) -> set[str]:
        text = f"{number:.15g} {unit}".rstrip()
        return broken_by(free, {window.setting: text}) & by_amount

    if start is not None and end is not None:
        assert not broken((start + end) / 2)
    for number, rule_id, side in (
        (start, interval.start_rule, -1e-6),
        (end, interval.end_rule, 1e-6),
    ):
        if number and rule_id in by_amount:
            assert rule_id in broken(number + side * abs(number))
