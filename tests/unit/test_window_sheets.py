"""Laws of the sheets of windows: the same facts in every format, inert and bounded."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from configlint.choices import Choices, Option
from configlint.findings import Subject
from configlint.laying import lay_out
from configlint.rules import Edition
from configlint.schemas import schemas
from configlint.sheets import window_html, window_json, window_svg, window_text
from configlint.sheets.canvas import CHARACTER, Canvas
from configlint.sheets.window import WindowSheet, make_sheets, margins, nearest_first
from configlint.sheets.window_scale import Scale, scale_of
from configlint.sheets.window_words import choice_notes, span_lines, window_notes
from configlint.units import DIMENSIONLESS, Unit, parse_quantity, unit_named
from configlint.window import MOST_PREFERRED, Interval, Stated, Tied, Window

LITRE = unit_named("l")
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '<script>alert("x")</script>\x1b[31m&\n]]>'
SPAN = Interval(2.0, 30.0, "slow-rule", "fast-rule", True, True)


def make_window(
    present: str | None = "10 l",
    intervals: Iterable[Interval] = (SPAN,),
    unit: Unit = LITRE,
    tied: Tied | None = None,
    conflict: tuple[str, ...] = (),
    broken: tuple[str, ...] = (),
    preferred: tuple[str, ...] = ("5", "10", "20"),
    rules: tuple[str, ...] = ("slow-rule", "fast-rule"),
    figure_rules: tuple[str, ...] = (),
    not_assessed: tuple[str, ...] = (),
) -> Window:
    """Make the window of a pulse weight."""
    return Window(
        "pulse_output.pulse_weight",
        unit,
        None if present is None else parse_quantity(present),
        tuple(intervals),
        preferred,
        tied,
        conflict,
        broken,
        rules,
        figure_rules,
        not_assessed,
    )


def make_sheet(*solutions: Window | Choices | Stated, tag: str = "FT-1") -> WindowSheet:
    """Make the sheet of a meter."""
    means = {each.setting: f"What {each.setting} is" for each in solutions}
    subject = Subject("plant", "north", tag, "sites/north/FT-1.yaml")
    return WindowSheet(subject, (Edition("made", "1", "0123"),), means, solutions)


def told(window: Window) -> dict[str, str]:
    """Give what is said of a window, what has no label of its own being joined on."""
    found: dict[str, str] = {}
    label = ""
    for each, words in window_notes(window):
        label = each or label
        found[label] = f"{found[label]} | {words}" if label in found else words
    return found


def test_the_present_value_is_told_with_its_standing() -> None:
    """A reader sees whether the value there is permissible, and by which rule."""
    assert told(make_window())["Now"] == "10 l, permissible"
    broken = make_window(broken=("fast-rule", "other"))
    assert told(broken)["Now"] == "10 l, not permissible by fast-rule, other"
    assert told(make_window(present=None))["Now"] == "not written"


def test_each_end_is_told_with_its_rule_and_margin() -> None:
    """An end has the bound in the setting's unit, the rule, and how far off it is."""
    assert list(span_lines(make_window(), SPAN)) == [
        "from 2 l by slow-rule, margin 400 %",
        "to 30 l by fast-rule, margin 66.7 %",
    ]


def test_a_value_beyond_an_end_misses_it() -> None:
    """Only the end that is missed has a margin then."""
    low, high = make_window("1 l"), make_window("40 l")
    assert list(span_lines(low, SPAN)) == [
        "from 2 l by slow-rule, missed by 50 %",
        "to 30 l by fast-rule",
    ]
    lower, upper = margins(high, SPAN)
    assert lower is None
    assert upper == pytest.approx(-1 / 3)


def test_there_is_no_margin_without_something_to_measure() -> None:
    """Zero, no end, no present value and a temperature give no margin."""
    zero = Interval(0.0, None, "value-well-formed", "", True, False)
    assert margins(make_window(), zero) == (None, None)
    assert margins(make_window(present=None), SPAN) == (None, None)
    degrees = make_window("20 degC", unit=unit_named("degC"))
    assert margins(degrees, SPAN) == (None, None)
    assert list(span_lines(make_window(), zero)) == ["from 0 l by value-well-formed"]


def test_a_point_is_held_by_its_rules() -> None:
    """A single value is told once, with the rules on either side of it."""
    point = Interval(5.0, 5.0, "one", "two", True, True)
    assert list(span_lines(make_window(), point)) == ["held by one and two"]
    same = point._replace(end_rule="one")
    assert list(span_lines(make_window(), same)) == ["held by one"]


def test_rules_in_conflict_are_named() -> None:
    """An empty window says which rules can't be met at once, or which never is."""
    two = make_window(intervals=(), conflict=("low", "high"), preferred=())
    assert told(two)["Permissible"] == "nothing. No value meets low and high at once."
    one = make_window(intervals=(), conflict=("never",), preferred=())
    assert told(one)["Permissible"] == "nothing. No value meets never."


def test_a_setting_that_no_rule_looks_at_is_free() -> None:
    """Where no rule is asked, that is said instead of a window."""
    words = told(make_window(rules=()))["Permissible"]
    assert words == "any value: no rule that speaks of this meter looks at it"


def test_what_must_agree_is_told_with_the_others() -> None:
    """The window together with others is told apart, and so are its values."""
    wide = Interval(1.0, 100.0, "low", "high", True, True)
    tied = Tied(("agree",), ("receiver.counter.pulse_weight",), (wide,), ("50",))
    found = told(make_window(tied=tied, not_assessed=("open",)))
    assert found["Together"].startswith(
        "with receiver.counter.pulse_weight, for agree: | 1 to 100 l | from 1 l by low"
    )
    assert found["Preferred"] == "5, 10, 20 l | 50 l, together"
    assert found["Not assessed"] == "open"
    nothing = tied._replace(intervals=(), preferred=())
    assert told(make_window(tied=nothing))["Together"].endswith("for agree: | nothing")


def test_rules_on_figures_are_told() -> None:
    """A reader learns that figures matter, and whether a preferred one will do."""
    found = told(make_window(figure_rules=("round",)))
    assert found["Figures"] == "round looks at them too; the preferred values meet it"
    none = told(make_window(figure_rules=("round",), preferred=()))
    assert none["Preferred"] == "none that meets the rule on figures as well"
    assert "Preferred" not in told(make_window(preferred=()))


def test_long_lists_are_cut_around_the_present_value() -> None:
    """Of many preferred values and spans the nearest are told, and the rest counted."""
    many = tuple(str(each) for each in range(1, 21))
    words = told(make_window(preferred=many))["Preferred"]
    assert words == "6, 7, 8, 9, 10, 11, 12, 13 l and 12 more"
    absent = told(make_window(present=None, preferred=many))["Preferred"]
    assert absent == "1, 2, 3, 4, 5, 6, 7, 8 l and 12 more"
    all_found = tuple(str(each) for each in range(1, MOST_PREFERRED + 1))
    words = told(make_window(preferred=all_found))["Preferred"]
    assert words == "9, 10, 11 l and others farther off"
    spans = [Interval(n, n + 0.1, "a", "b", True, True) for n in range(1, 21)]
    found = told(make_window(intervals=spans, preferred=()))["Permissible"]
    assert "8 to 8.1 l" in found
    assert found.endswith("and 15 other spans farther off, in the json report")
    found = told(make_window(intervals=spans, preferred=("9", "10")))["Permissible"]
    assert found.startswith("10 to 10.1 l | from 10 l by a")
    assert found.endswith("and 19 other spans farther off, in the json report")


def test_spans_are_sorted_by_how_far_they_are() -> None:
    """The span around the value comes first, then by the distance of the nearer end."""
    near = Interval(11.0, 12.0, "", "", True, True)
    far = Interval(None, 3.0, "", "", False, True)
    anything = Interval(None, None, "", "", False, False)
    assert nearest_first(make_window(), [far, near, SPAN]) == [SPAN, near, far]
    assert nearest_first(make_window(present=None), [far, near]) == [far, near]
    assert nearest_first(make_window(), [anything, near])[0] == anything


CHOICES = Choices(
    "transmitter.flow_direction",
    "both",
    (Option("forward", ()), Option("reverse", ("a",)), Option("both", ("a", "b"))),
    (),
    ("a", "b"),
    ("c",),
)


def test_choices_are_told_with_what_else_would_break() -> None:
    """The permissible values are named, and the rules that the others break."""
    assert list(choice_notes(CHOICES)) == [
        ("Now", "both, not permissible by a, b"),
        ("Permissible", "forward"),
        ("Else broken", "a, b"),
        ("Not assessed", "c"),
    ]


def example(root: Path) -> tuple[WindowSheet, ...]:
    """Solve for all settings of the commented meter of the example plant."""
    file = root / "examples" / "water" / "sites" / "north" / "FT-1201.yaml"
    return make_sheets(lay_out(str(file)))


@pytest.fixture(scope="module")
def sheets(root: Path) -> tuple[WindowSheet, ...]:
    """Give the sheet of a whole meter."""
    return example(root)


def test_the_text_fits_80_columns_and_names_every_setting(
    sheets: tuple[WindowSheet, ...],
) -> None:
    """Every setting is told, solved for or not, in lines that a terminal holds."""
    text = window_text.write(sheets)
    assert max(map(len, text.splitlines())) <= 80
    for each in sheets[0].solutions:
        assert each.setting in text
    assert "For a person to state" in text


def test_the_json_report_fits_its_schema(sheets: tuple[WindowSheet, ...]) -> None:
    """What other software reads is what the schema in the repository says."""
    content = json.loads(window_json.write(sheets))
    Draft202012Validator(dict(schemas())["windows"]).validate(content)
    (meter,) = content["meters"]
    assert meter["meter"] == "FT-1201"
    span = next(
        each
        for each in meter["amounts"]
        if each["setting"] == "current_output.upper_range_value"
    )
    assert span["present"] == {"value": 700, "unit": "m3/h"}
    assert span["together"]["intervals"][0]["from"] == 600
    assert span["together"]["intervals"][0]["from_rule"] == "maximum-flow-within-span"
    assert {each["where"] for each in meter["to_state"]} >= {
        "In the device's data sheet"
    }


def test_a_report_is_the_same_every_time(root: Path) -> None:
    """The same files give the same bytes in every format."""
    writers = (window_text, window_json, window_html, window_svg)
    first, second = ([each.write(example(root)) for each in writers] for _ in range(2))
    assert first == second


ABSENT = make_window(present=None, intervals=(), conflict=("a",), preferred=())


def test_what_is_missing_is_null_in_json() -> None:
    """A value that is not written, and a window without others, are null."""
    content = json.loads(window_json.write([make_sheet(ABSENT, CHOICES)]))
    (amount,) = content["meters"][0]["amounts"]
    assert (amount["present"], amount["together"]) == (None, None)
    assert amount["conflict"] == ["a"]


def texts_of(svg: str) -> list[ElementTree.Element]:
    """Give the texts of a drawing, which must be well-formed."""
    return list(ElementTree.fromstring(svg.encode()).iter(f"{SVG}text"))


def test_the_drawing_is_described_in_words(sheets: tuple[WindowSheet, ...]) -> None:
    """A drawing has a title, and a description of every window in it."""
    tree = ElementTree.fromstring(window_svg.write(sheets).encode())
    told = tree.findtext(f"{SVG}desc") or ""
    assert "FT-1201" in (tree.findtext(f"{SVG}title") or "")
    assert tree.get("role") == "img"
    assert all(window.setting in told for window in sheets[0].windows)
    assert "to 1017 m3/h by velocity-at-span-advised" in told


def test_each_limit_is_named_and_the_present_value_flagged(
    sheets: tuple[WindowSheet, ...],
) -> None:
    """The rules stand as lines of text, and the present value as a flag with words."""
    words = [each.text or "" for each in texts_of(window_svg.write(sheets))]
    assert "now 700 m3/h" in words
    assert any("maximum-flow-within-span" in each for each in words)
    assert any(each == "current_output.upper_range_value" for each in words)


def test_no_text_lies_over_another_or_runs_over_an_edge(
    sheets: tuple[WindowSheet, ...],
) -> None:
    """Texts on one line keep apart, and all lie inside the drawing."""
    lines: dict[str, list[tuple[float, float]]] = {}
    for each in texts_of(window_svg.write(sheets)):
        width = len(each.text or "") * CHARACTER
        x = float(each.get("x") or 0)
        start = x - width / 2 if each.get("text-anchor") == "middle" else x
        assert start >= 0
        assert start + width <= 900
        lines.setdefault(each.get("y") or "", []).append((start, start + width))
    for spans in lines.values():
        ordered = sorted(spans)
        for (_, end), (start, _) in pairwise(ordered):
            assert end <= start + 1


def test_bars_are_told_apart_without_colour() -> None:
    """A bar with others changed along is hatched, and one that goes on has an arrow."""
    tied = Tied(("agree",), ("other",), (SPAN,), ())
    wide = Interval(None, None, "", "", False, False)
    svg = window_svg.write([make_sheet(make_window(intervals=(wide,), tied=tied))])
    assert 'fill="url(#windows-hatch)"' in svg
    assert len(re.findall("<polygon", svg)) == 3
    bare = window_svg.write([make_sheet(make_window(present=None))])
    assert "<polygon" not in bare


def test_a_page_holds_each_drawing_once_with_names_of_its_own() -> None:
    """No two parts of a page have one name, and nothing is fetched from elsewhere."""
    page = window_html.write([make_sheet(make_window(), CHOICES), make_sheet(ABSENT)])
    names = re.findall(r' id="([^"]+)"', page)
    assert len(names) == len(set(names)) == 6
    links = re.findall(r'(?:src|href|url)\s*=\s*"([^"]*)"', page)
    assert links == []
    assert page.count("http") == page.count('xmlns="http://www.w3.org/2000/svg"')


def test_a_page_without_amounts_or_choices_is_whole() -> None:
    """What a meter has none of is left out."""
    stated = Stated("sensor.serial", "S-1", "On the plate")
    page = window_html.write([make_sheet(stated)])
    assert "For a person to state" in page
    assert "<h2>Amounts</h2>" not in page
    assert "<h2>Choices</h2>" not in page
    assert "<h2>For a person" not in window_html.write([make_sheet(make_window())])
    assert "There is no amount to draw" in window_svg.write([make_sheet(stated)])


def hostile() -> WindowSheet:
    """Make a sheet whose every text tries to be markup."""
    stated = Stated("sensor.serial", HOSTILE, HOSTILE)
    choice = Choices("x", HOSTILE, (Option(HOSTILE, (HOSTILE,)),), (HOSTILE,), (), ())
    sheet = make_sheet(make_window(), choice, stated, tag=HOSTILE)
    subject = Subject(HOSTILE, HOSTILE, HOSTILE, HOSTILE)
    return WindowSheet(subject, sheet.editions, sheet.means, sheet.solutions)


def test_texts_from_files_are_inert_everywhere() -> None:
    """No text from a file becomes markup, an escape or a line of its own."""
    sheet = hostile()
    page, svg = window_html.write([sheet]), window_svg.write([sheet])
    for text in (page, svg):
        assert "<script" not in text
        assert "\x1b" not in text
    ElementTree.fromstring(svg.encode())
    text = window_text.write([sheet, make_sheet(CHOICES)])
    assert "\x1b" not in text
    assert not any(line.startswith("]]>") for line in text.splitlines())
    assert json.loads(window_json.write([sheet]))["meters"][0]["meter"] == HOSTILE


def test_a_long_word_is_broken_at_the_edge() -> None:
    """Nothing is so long that it runs out of the drawing."""
    sheet = make_sheet(make_window(), tag="F" * 500)
    long = max(len(each.text or "") for each in texts_of(window_svg.write([sheet])))
    assert long * CHARACTER <= 852
    canvas = Canvas({}, 0.0, 100.0, 0.0)
    canvas.flag(90.0, 0.0, "now 123456789012345 m3/h")
    assert canvas.elements[0].endswith(">now 12345678…</text>")


@pytest.mark.parametrize(
    ("intervals", "logarithmic"),
    [
        ((SPAN,), True),
        ((Interval(0.0, 30.0, "", "", True, True),), True),
        ((Interval(-7.0, 30.0, "", "", True, True),), False),
    ],
)
def test_a_scale_is_logarithmic_where_it_can_be(
    intervals: tuple[Interval, ...], logarithmic: bool
) -> None:
    """Only numbers below zero, or nothing but zero, need a linear scale."""
    assert scale_of(make_window(intervals=intervals)).logarithmic is logarithmic
    zero = Interval(0.0, 0.0, "", "", True, True)
    assert not scale_of(make_window("0 l", intervals=(zero,))).logarithmic


def test_a_scale_of_nothing_is_a_scale_all_the_same() -> None:
    """Where there is no number to show, the scale is that around zero."""
    scale = scale_of(ABSENT)
    assert scale.left < 0 < scale.right


def test_a_scale_shows_preferred_values_where_nothing_is_permissible() -> None:
    """Without a window the present value stands on a scale of its own."""
    window = make_window(intervals=(), conflict=("a",), preferred=("5",))
    scale = scale_of(window)
    assert scale.left < 5 < 10 < scale.right


def test_a_scale_has_marks_that_fit() -> None:
    """A short scale tells every figure, a long one the decades alone."""
    short = [tick.label for tick in Scale(2.0, 12.0, True).ticks()]
    assert short == ["2", "3", "4", "5", "6", "7", "8", "9", "10"]
    middle = [tick.label for tick in Scale(1.0, 100.0, True).ticks() if tick.label]
    assert middle == ["1", "2", "5", "10", "20", "50", "100"]
    long = [tick.label for tick in Scale(0.1, 1e5, True).ticks() if tick.label]
    assert long == ["0.1", "1", "10", "100", "1000", "10000", "100000"]
    linear = [tick.label for tick in Scale(-7.0, 12.0, False).ticks()]
    assert linear == ["-5", "0", "5", "10"]


@given(st.floats(1e-9, 1e9), st.floats(1.01, 1e9), st.floats(1e-12, 1e15))
def test_every_number_stands_on_a_scale(
    left: float, ratio: float, number: float
) -> None:
    """A number is drawn inside the scale, and a larger one never left of it."""
    scale = Scale(left, left * ratio, True)
    assert 0 <= scale.at(number, 0.0) <= scale.at(2 * number, 0.0) <= 1
    assert scale.at(0.0, 1.0) == 0
    assert scale.at(None, 1.0) == 1


def test_only_what_can_be_seen_is_drawn() -> None:
    """An interval beyond either end of a scale is left out."""
    scale = Scale(1.0, 100.0, True)
    ends = [(0.1, 0.5), (0.1, None), (None, 50.0), (200.0, 300.0), (None, None)]
    seen = [scale.holds(Interval(a, b, "", "", True, True)) for a, b in ends]
    assert seen == [False, True, True, False, True]


def test_a_plain_number_is_drawn_without_a_unit() -> None:
    """Behind a plain number no unit stands, and that is said."""
    window = make_window("1.02", unit=DIMENSIONLESS, intervals=(SPAN,), preferred=())
    words = [each.text for each in texts_of(window_svg.write([make_sheet(window)]))]
    assert "What pulse_output.pulse_weight is, a plain number" in words


def test_named_settings_and_parts_are_solved_for(root: Path) -> None:
    """A part stands for what rules would change in it; what is named is solved for."""
    file = root / "examples" / "water" / "sites" / "north" / "FT-1201.yaml"
    laid = lay_out(str(file))
    names = ["pulse_output", "sensor.bore", "transmitter.k_factor", "receiver.bus.name"]
    (sheet,) = make_sheets(laid, names)
    assert [each.setting for each in sheet.solutions] == [
        "pulse_output.pulse_weight",
        "pulse_output.pulse_width",
        "pulse_output.maximum_frequency",
        "sensor.bore",
        "transmitter.k_factor",
        "receiver.bus.name",
    ]
    assert isinstance(sheet.solutions[2], Stated)
    assert isinstance(sheet.solutions[3], Window)
    unused = "The meter has none, or its part is not in use"
    assert sheet.solutions[4] == Stated("transmitter.k_factor", "", unused)
    assert sheet.solutions[5] == Stated("receiver.bus.name", "", unused)


def test_what_a_type_offers_is_told_as_a_list(sheets: tuple[WindowSheet, ...]) -> None:
    """Of the frequencies that a type sheet lists, those that suit the mains remain."""
    (choices,) = (
        each for each in sheets[0].choices if "excitation_frequency" in each.setting
    )
    assert dict(choice_notes(choices)) == {
        "Now": "6.25 Hz, permissible",
        "Permissible": "6.25 Hz, 12.5 Hz, 25 Hz",
        "Else broken": "excitation-suits-mains",
    }
