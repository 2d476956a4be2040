"""Laws of judging one meter: five outcomes, the limits of a policy, quick questions."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.engine import (
    CONCEDED,
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    NOT_ASSESSED,
    OUTCOMES,
    Judge,
    derive,
    derive_told,
)
from tests.builders import make_book, make_derived, make_facts
from tests.free_meters import rule, rule_book
from tests.judging import QUANTITIES, RIGHT, RULE, URV, WIDE, book_of, judged


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


def test_what_only_findings_show_is_computed_for_them(tmp_path: Path) -> None:
    """A quantity that no outcome depends on is left until a finding is made."""
    book = book_of(tmp_path, "given(meter)")
    assert "bore" not in derive(book, make_facts(RIGHT)).values
    assert derive_told(book, make_facts(RIGHT)).values["bore"] > 0


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
