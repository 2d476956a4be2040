"""Laws of judging one meter: five outcomes, missing inputs, fallbacks and margins."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from configlint.compiler import Values, make_formula
from configlint.engine import (
    CONCEDED,
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    NOT_ASSESSED,
    OUTCOMES,
    Judge,
    Outcome,
    derive,
    derive_told,
    margin,
)
from configlint.facts import mark_unreadable
from configlint.rules import RuleBook
from tests.builders import VELOCITY, make_book, make_derived, make_facts, make_scope
from tests.free_meters import rule, rule_book

QUANTITIES = """\
ruleset: made
edition: "1"
quantities:
  bore:
    means: Inside diameter
    symbol: d
    formula: sensor.bore
    unit: mm
    fallback: {formula: "sizes[sensor.nominal_size].bore", note: By the size.}
    basis: {practice: Geometry}
  speed:
    means: Velocity at the upper range value
    symbol: v
    formula: current_output.upper_range_value / (pi/4 * bore**2)
    unit: m/s
    basis: {practice: Continuity}
  word:
    means: The size in a word
    symbol: w
    formula: sizes[sensor.nominal_size].word
    basis: {practice: Common}
"""
RULE = """\
rules:
  made-rule:
    category: B
    asks: Is it right?
    finding: It is wrong.
    remedy: Correct it.
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""

URV = "current_output.upper_range_value"
WIDE = {URV: "1000 m3/h", "sensor.bore": "100 mm"}
RIGHT = {URV: "100 m3/h", "sensor.bore": "100 mm"}


def book_of(folder: Path, accept: str, applies: str = "", limits: str = "") -> RuleBook:
    """Make a book of one rule."""
    lines = [f"    accept: {accept}", f"    limits: {{{limits}}}"]
    if applies:
        lines.append(f"    applies: {applies}")
    return make_book(folder, QUANTITIES + RULE + "\n".join(lines) + "\n")


def judged(
    book: RuleBook,
    meter: Mapping[str, str],
    changed: Mapping[str, Mapping[str, float]] | None = None,
) -> Outcome:
    """Judge a meter by a book of one rule."""
    (outcome,) = Judge(book, changed).judge(make_derived(book, meter))
    assert outcome.rule is book.meter_rules[0]
    return outcome


def test_there_are_five_outcomes() -> None:
    """The words of outcomes are these five; a judge gives all but the last."""
    words = ("conforms", "nonconforming", "not-assessed", "not-applicable", "conceded")
    assert words == OUTCOMES
    assert OUTCOMES[4] == CONCEDED


@pytest.mark.parametrize(
    ("meter", "word", "missing"),
    [
        (RIGHT, CONFORMS, ()),
        (WIDE, NONCONFORMING, ()),
        ({"sensor.bore": "100 mm"}, NOT_ASSESSED, (URV,)),
        ({URV: "100 m3/h"}, NOT_ASSESSED, ("sensor.bore",)),
        ({}, NOT_ASSESSED, (URV, "sensor.bore")),
        ({"construction": "integral"}, NOT_APPLICABLE, ()),
        ({"construction": "integral", **WIDE}, NOT_APPLICABLE, ()),
    ],
)
def test_a_meter_gets_one_outcome_of_a_rule(
    tmp_path: Path, meter: dict[str, str], word: str, missing: tuple[str, ...]
) -> None:
    """A rule conforms, does not, can't be assessed and says why, or is not asked."""
    book = book_of(
        tmp_path, "speed <= highest", "construction != 'integral'", "highest: 10 m/s"
    )
    written = {"construction": "separate", **meter}
    outcome = judged(book, written)
    assert (outcome.word, outcome.missing) == (word, missing)


@pytest.mark.parametrize(
    ("accept", "applies", "meter", "word", "missing"),
    [
        # What the known parts settle is decided, whatever else is missing.
        ("sensor.bore > 1[m] and speed > 1[m/s]", "", RIGHT, NONCONFORMING, ()),
        (
            "sensor.bore > 1[m] and process.density > 1[kg/m3]",
            "",
            RIGHT,
            NONCONFORMING,
            (),
        ),
        ("sensor.bore < 1[m] or process.density > 1[kg/m3]", "", RIGHT, CONFORMS, ()),
        (
            "sensor.bore < 1[m] and process.density > 1[kg/m3]",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        (
            "sensor.bore > 1[m] or not process.density > 1[kg/m3]",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        # An undecided question of whether the rule is asked leaves it open, ...
        (
            "sensor.bore > 1[m]",
            "process.density > 1[kg/m3]",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        (
            "sensor.bore < 1[m]",
            "process.density > 1[kg/m3]",
            RIGHT,
            NOT_ASSESSED,
            ("process.density",),
        ),
        # ... and both undecided name what both lack.
        (
            "speed > 1[m/s]",
            "process.density > 1[kg/m3]",
            {"sensor.bore": "1 m"},
            NOT_ASSESSED,
            (URV, "process.density"),
        ),
        (
            "sensor.bore < 1[m]",
            "sensor.bore > 1[m] and process.density > 1[kg/m3]",
            RIGHT,
            NOT_APPLICABLE,
            (),
        ),
        # A section that the file does not speak of is undecided, one not used is not.
        ("used(pulse_output)", "", {}, NOT_ASSESSED, ("pulse_output",)),
        (
            "used(pulse_output)",
            "",
            {"pulse_output": "not used"},
            NONCONFORMING,
            (),
        ),
        ("not used(pulse_output)", "", {"pulse_output": "not used"}, CONFORMS, ()),
        ("given(sensor.bore)", "", {}, NONCONFORMING, ()),
        (
            "not given(sensor.serial) and process.density > 1[kg/m3]",
            "",
            {},
            NOT_ASSESSED,
            ("process.density",),
        ),
        (
            "agrees(sensor.nominal_size, transmitter.nominal_size)",
            "",
            {"sensor.nominal_size": "DN 100"},
            NOT_ASSESSED,
            ("transmitter.nominal_size",),
        ),
        # Of a condition, only the part that it chooses is missed, ...
        (
            "(sensor.bore if given(sensor.serial) else installation.pipe_bore) > 1[m]",
            "",
            {},
            NOT_ASSESSED,
            ("installation.pipe_bore",),
        ),
        (
            "(sensor.bore if given(meter) else installation.pipe_bore) > 1[m]",
            "",
            {},
            NOT_ASSESSED,
            ("sensor.bore",),
        ),
        # ... and both where the condition itself is undecided.
        (
            "(sensor.bore if used(totalizer) else sensor.bore) > 1[m]",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("totalizer",),
        ),
        # A look-up misses its key, or the value of the row that the key names.
        ("word == 'small'", "", {}, NOT_ASSESSED, ("sensor.nominal_size",)),
        (
            "word == 'small'",
            "",
            {"sensor.nominal_size": "DN 300"},
            NOT_ASSESSED,
            ("sizes[DN 300].word",),
        ),
        ("word == 'small'", "", {"sensor.nominal_size": "DN 100"}, CONFORMS, ()),
        ("word == 'small'", "", {"sensor.nominal_size": "DN 200"}, NONCONFORMING, ()),
        # A fallback stands in; when it misses something too, the value itself is named.
        ("bore > 1[m]", "", {"sensor.nominal_size": "DN 100"}, NONCONFORMING, ()),
        (
            "bore > 1[m]",
            "",
            {"sensor.nominal_size": "DN 200"},
            NOT_ASSESSED,
            ("sensor.bore",),
        ),
        # What has all inputs and yet no value says so.
        (
            "1[m] / (sensor.bore - sensor.bore) > 1",
            "",
            RIGHT,
            NOT_ASSESSED,
            ("a value that can't be computed",),
        ),
        ("matches(meter, 'FT-[0-9]+') and pi > 3", "", {}, CONFORMS, ()),
    ],
)
def test_what_is_missing_leaves_open_only_what_it_decides(
    tmp_path: Path,
    accept: str,
    applies: str,
    meter: dict[str, str],
    word: str,
    missing: tuple[str, ...],
) -> None:
    """A rule is left open only where a missing input matters, and names that input."""
    outcome = judged(
        book_of(tmp_path, f'"{accept}"', f'"{applies}"' if applies else ""), meter
    )
    assert (outcome.word, outcome.missing) == (word, missing)


def test_a_value_that_can_not_be_converted_names_what_that_needs(
    tmp_path: Path,
) -> None:
    """A range written as a velocity needs the bore, and that is what is missing."""
    book = book_of(tmp_path, f"{URV} > 1[m3/h]")
    assert judged(book, {URV: "3 m/s"}).missing == ("sensor.bore",)
    assert judged(book, {URV: "3 m/s", "sensor.bore": "100 mm"}).word == CONFORMS


def test_a_fallback_is_told_where_it_was_taken(tmp_path: Path) -> None:
    """What a quantity assumes is noted when its own formula lacks an input only."""
    book = book_of(tmp_path, "bore > 1[m]")
    own = derive(book, make_facts(RIGHT))
    assert own.assumed == {}
    size = derive(book, make_facts({"sensor.nominal_size": "DN 100"}))
    assert size.assumed == {"bore": "By the size."}
    assert size.values["bore"] == pytest.approx(0.1)
    assert derive(book, make_facts({})).assumed == {}


def test_what_only_findings_show_is_computed_for_them(tmp_path: Path) -> None:
    """A quantity that no outcome depends on is left until a finding is made."""
    book = book_of(tmp_path, "given(meter)")
    assert "bore" not in derive(book, make_facts(RIGHT)).values
    assert derive_told(book, make_facts(RIGHT)).values["bore"] > 0


def test_nothing_stands_in_for_what_is_unreadable(tmp_path: Path) -> None:
    """A value that is written but unreadable is not taken for one that is absent."""
    book = book_of(tmp_path, "bore > 1[m]")
    known = make_facts({"sensor.nominal_size": "DN 100"})
    mark_unreadable(known, ["sensor.bore"])
    derived = derive(book, known)
    assert derived.assumed == {}
    (outcome,) = Judge(book).judge(derived)
    assert (outcome.word, outcome.missing) == (NOT_ASSESSED, ("sensor.bore",))


def test_a_policy_changes_a_limit(tmp_path: Path) -> None:
    """A changed limit judges in place of the standard one, in `applies` too."""
    book = book_of(
        tmp_path,
        "sensor.bore <= highest",
        "sensor.bore > lowest",
        "highest: 50 mm, lowest: 1 mm",
    )
    assert judged(book, RIGHT).word == NONCONFORMING
    assert judged(book, RIGHT, {"made-rule": {"highest": 0.2}}).word == CONFORMS
    assert judged(book, RIGHT, {"made-rule": {"lowest": 0.2}}).word == NOT_APPLICABLE
    assert judged(book, RIGHT, {"other": {"highest": 0.2}}).word == NONCONFORMING


def test_rules_of_one_condition_are_judged_each_by_its_own_limits(
    tmp_path: Path,
) -> None:
    """A condition that two rules share is the same for both, but not its limits."""
    shared = "    applies: sensor.bore > 1[m]\n    accept: given(meter)\n"
    own = (
        "    applies: sensor.bore > a\n    accept: given(meter)\n    limits: {a: %s}\n"
    )
    parts = {"a": shared, "b": shared, "c": own % "1 mm", "d": own % "200 mm"}
    rule = RULE.removeprefix("rules:\n")
    rules = [rule.replace("made", name) + part for name, part in parts.items()]
    book = make_book(tmp_path, f"{QUANTITIES}rules:\n{''.join(rules)}")
    words = [o.word for o in Judge(book).judge(make_derived(book, RIGHT))]
    assert words == [NOT_APPLICABLE, NOT_APPLICABLE, CONFORMS, NOT_APPLICABLE]


def test_a_nonconforming_outcome_tells_how_far_it_is_off(tmp_path: Path) -> None:
    """The margin is the distance to the limit as a share of it, negative outside."""
    book = book_of(tmp_path, "sensor.bore <= highest", limits="highest: 80 mm")
    outcome = judged(book, RIGHT)
    assert outcome.margin == pytest.approx(-0.25)
    assert judged(book, {"sensor.bore": "70 mm"}).margin is None


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("v <= lowest", -0.5),
        ("v < lowest", -0.5),
        ("v >= lowest", 0.5),
        ("lowest >= v", -0.5),
        ("lowest < v", 0.5),
        ("lowest <= v <= 4[m/s]", 0.25),
        ("lowest <= v <= 2 * lowest", 0.25),
        ("2 * lowest >= v", 0.25),
        ("4[m/s] >= v", 0.25),
        ("d / 2[s] >= v", -59 / 60),
        ("sizes[tag].bore / 1[s] >= v", None),
        ("v < lowest or v < 4[m/s]", 0.25),
        ("not v < lowest", 0.5),
        ("not flag", None),
        ("v == lowest", -0.5),
        ("v != lowest", None),
        ("v > 0[m/s]", None),
        ("v < w", None),
        ("w < lowest", None),
        ("v < d / 2[s]", -59.0),
        ("n < pi", 1 - 3.0 / 3.141592653589793),
        ("tag == 'FT-1'", None),
        ("flag", None),
        ("flag and given(tag)", None),
        ("flag and v < 4[m/s]", 0.25),
        ("v < lowest if flag else flag", None),
    ],
)
def test_a_margin_is_that_of_the_limit_that_decides(
    text: str, share: float | None
) -> None:
    """Of limits joined by `and` the nearest counts, by `or` the farthest."""
    scope = make_scope({"lowest": VELOCITY})
    values = {
        "v": 3.0,
        "w": float("nan"),
        "d": 0.1,
        "n": 3.0,
        "tag": "FT-1",
        "flag": True,
    }
    seen = Values(values, {}, {"lowest": 2.0})
    found = margin(make_formula(text, scope).tree, scope, seen)
    assert found is None if share is None else found == pytest.approx(share)


def test_what_is_not_met_is_what_is_judged_nonconforming(tmp_path: Path) -> None:
    """The quick question and the whole judgement name the same rules."""
    rules = {
        "broken": rule("sensor.bore > 1[m]"),
        "met": rule("sensor.bore > 1[mm]"),
        "open": rule("transmitter.damping > 1[s]"),
        "elsewhere": rule("sensor.bore > 1[m]", applies="principle == 'vortex'"),
    }
    book = rule_book(tmp_path, rules)
    derived, judge = make_derived(book, {"sensor.bore": "100 mm"}), Judge(book)
    wrong = [
        each.rule.id for each in judge.judge(derived) if each.word == NONCONFORMING
    ]
    assert [each.id for each in judge.not_met(derived)] == wrong == ["broken"]
