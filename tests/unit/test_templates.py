"""Laws of finding texts: what a slot shows, and which slots are refused."""

from __future__ import annotations

import math
from typing import Any

import pytest

from configlint.compiler import Values
from configlint.templates import TemplateError, listed, make_template, show_amount
from configlint.units import parse_quantity
from tests.builders import VELOCITY, make_scope

UNITS = {"v": "m/s", "d": "mm", "n": ""}
VALUES: dict[str, Any] = {
    "v": 3.0,
    "w": math.nan,
    "d": 0.1,
    "n": 12.345678,
    "tag": "FT-1",
    "duty": "water",
    "flag": True,
    "other_flag": False,
    "places": ("a", "b"),
    "day": 86_400.0,
}
WRITTEN = {"d": parse_quantity("10.0 cm"), "tag": "FT-1", "day": "0001-01-02"}


def fill(text: str) -> str:
    """Fill a text in."""
    template = make_template(text, make_scope({"lowest": VELOCITY}), UNITS)
    return template.fill(Values(VALUES, WRITTEN), {"lowest": "0.30 m/s"})


@pytest.mark.parametrize(
    ("text", "filled"),
    [
        ("plain", "plain"),
        ("", ""),
        ("{d}", "10.0 cm"),
        ("{d [mm]}", "100 mm"),
        ("{d [mm] .2f}", "100.00 mm"),
        ("{ d [ mm ] .2f }", "100.00 mm"),
        ("{d .1f}", "100.0 mm"),
        ("{v}", "3 m/s"),
        ("{v [ft/s] .3f}", "9.843 ft/s"),
        ("{n}", "12.35"),
        ("{n [%] +.1f}", "+1234.6 %"),
        ("{n .3g}", "12.3"),
        ("{lowest}", "0.30 m/s"),
        ("{tag}: {duty}.", "FT-1: water."),
        ("{day}", "0001-01-02"),
        ("{flag} {other_flag}", "yes no"),
        ("{places}", "a, b"),
        ("{w}", "(not written)"),
        ("{pipe.bore}", "(not written)"),
        ("Is[[ {d}]].", "Is 10.0 cm."),
        ("Is[[ {d} of {w}]].", "Is."),
        ("Is[[ {lowest}]].", "Is 0.30 m/s."),
        ("[[{w} ]]Is[[ {tag}]][[ {pipe.bore}]].", "Is FT-1."),
        ("[[always]] so", "always so"),
    ],
)
def test_a_slot_shows_its_value(text: str, filled: str) -> None:
    """A slot shows what is written, or the amount in the unit and form it names."""
    assert fill(text) == filled


@pytest.mark.parametrize(
    ("text", "filled"),
    [
        ("{v}", "3 m/s (9.84 ft/s)"),
        ("{d}", "10.0 cm"),
        ("{d [mm] .2f}", "100.00 mm (3.94 in)"),
        ("{d [mm] .5g}", "100 mm (3.937 in)"),
        ("{lowest}", "0.30 m/s (0.984 ft/s)"),
        ("{n [%] .1f} {tag}", "1234.6 % FT-1"),
    ],
)
def test_a_us_site_is_told_its_own_units_too(text: str, filled: str) -> None:
    """A figure that is not as written is told in SI and in the units of the site."""
    template = make_template(text, make_scope({"lowest": VELOCITY}), UNITS)
    values = Values({**VALUES, "site.unit_convention": "US"}, WRITTEN)
    assert template.fill(values, {"lowest": "0.30 m/s"}) == filled


def test_an_empty_text_at_the_end_leaves_no_space() -> None:
    """A finding whose last slot has nothing to say ends with its last sentence."""
    template = make_template("{tag} is off. {duty}", make_scope(), UNITS)
    silent = Values({**VALUES, "duty": ""}, WRITTEN)
    assert template.fill(silent, {}) == "FT-1 is off."


@pytest.mark.parametrize(
    ("text", "slot", "problem", "advice"),
    [
        ("{vv}", "{vv}", "there is no value 'vv'", "nearest known are v."),
        ("{pipe.bor}", "{pipe.bor}", "there is no value 'pipe.bor'", "pipe.bore"),
        ("{v [mm]}", "{v [mm]}", "mm is a unit of length, but", "its own kind"),
        ("{v [m/z]}", "{v [m/z]}", "'m/z' is no known spelling", "m/s"),
        ("{v []}", "{v []}", "'' is no known spelling", "Write"),
        ("{tag [mm]}", "{tag [mm]}", "mm is a unit of length, but", "its own kind"),
        ("{tag .2f}", "{tag .2f}", "a form of number stands behind a text", "{tag}"),
        ("{lowest [m/s]}", "{lowest [m/s]}", "a limit is shown as", "{lowest}"),
        ("{lowest .1f}", "{lowest .1f}", "a limit is shown as", "{lowest}"),
        ("a {v", "a {v", "a brace does not belong to a slot", "{name [unit] .2f}"),
        ("{v} }", " }", "a brace does not belong to a slot", "{name}"),
        ("{v:.2f}", "{v:.2f}", "a brace does not belong to a slot", "{name}"),
        ("{v.__class__}", "{v.__class__}", "there is no value", "rules names"),
        ("{v .123f}", "{v .123f}", "a brace does not belong to a slot", "{name}"),
        ("a [[{v} b", "a [[{v} b", "a double square bracket stands alone", "[["),
        ("a]] {v}", "a]] {v}", "a double square bracket stands alone", "]]"),
    ],
)
def test_a_wrong_slot_is_refused(
    text: str, slot: str, problem: str, advice: str
) -> None:
    """A slot that names no value, or shows one wrongly, is refused with advice."""
    with pytest.raises(TemplateError) as caught:
        make_template(text, make_scope({"lowest": VELOCITY}), UNITS)
    assert caught.value.slot == slot
    assert caught.value.problem.startswith(problem)
    assert advice in caught.value.advice


def test_a_text_knows_the_values_it_shows() -> None:
    """The paths of a text are those of its slots, each once, in order."""
    template = make_template("{v} {d [mm]} {v .2f}", make_scope(), UNITS)
    assert template.paths == ("v", "d")


@pytest.mark.parametrize(
    ("value", "unit", "form", "shown"),
    [
        (0.1, "mm", "", "100 mm"),
        (12345.678, "", "", "12346"),
        (9999.6, "", "", "10000"),
        (1234.56, "", "", "1235"),
        (0.000012345, "", "", "0.00001234"),
        (1.5e-5, "", "", "0.000015"),
        (-1.5e-5, "", "", "-0.000015"),
        (2e-6, "", "", "0.000002"),
        (3e-7, "", "", "3e-07"),
        (4e15, "", "", "4e+15"),
        (0.0, "m", "", "0 m"),
        (1e5, "", ".2g", "100000"),
        (373.15, "degC", ".1f", "100.0 degC"),
        (0.0123, "%", ".2f", "1.23 %"),
    ],
)
def test_an_amount_is_shown_to_four_figures(
    value: float, unit: str, form: str, shown: str
) -> None:
    """An amount has four figures and no power of ten where digits are as short."""
    assert show_amount(value, unit, form) == shown


@pytest.mark.parametrize(
    ("names", "more", "shown"),
    [
        ("", 0, ""),
        ("a", 0, "a"),
        ("abc", 0, "a, b, c"),
        ("abcd", 0, "a, b, c, d"),
        ("abcde", 0, "a, b, c and 2 more"),
        ("abcd", 1, "a, b, c and 2 more"),
        ("abc", 2, "a, b, c and 2 more"),
        ("ab", 3, "a, b and 3 more"),
        ("abcdefghij", 2, "a, b, c and 9 more"),
    ],
)
def test_a_long_list_is_counted_once(names: str, more: int, shown: str) -> None:
    """Four are named whole; of more, three are, and all the rest are counted."""
    assert listed(names, more) == shown
    if not more:
        template = make_template("{places}.", make_scope(), UNITS)
        filled = template.fill(Values({"places": tuple(names)}, {}), {})
        assert filled == f"{shown}."
