"""Laws of the words of a sheet: short, true, and without a number twice."""

from __future__ import annotations

from configlint.findings import Subject
from configlint.sheets import phrases
from configlint.sheets.bounds import Bound
from configlint.sheets.uses import JUDGES, TELLS, Use
from configlint.sheets.worksheet_values import Lack, Open, Sheet

LOW = Bound("1 m ≤ l", "1 m", "≤", "3 m", True, "1 m", 2.0, "3.00 times", True, ())
HIGH = Bound("l ≤ 4 m", "3 m", "≤", "4 m", True, "4 m", 0.25, "25 % below", True, ())
OVER = HIGH._replace(right="2 m", sign=">", is_met=False, distance="50 % above")
USE = Use(
    "r", "B", "?", JUDGES, "conforms", "1 m ≤ l ≤ 4 m", True, 0.25, (LOW, HIGH), ()
)


def told(use: Use) -> str:
    """Give the note of one rule."""
    ((_, text),) = phrases.use_notes([use])
    return text


def test_of_limits_that_are_met_the_nearest_is_told() -> None:
    """One distance is told for a rule, that to the limit which comes first."""
    assert told(USE) == "r (category B): conforms. 1 m ≤ l ≤ 4 m, 25 % below."


def test_what_the_symbols_do_not_show_is_told_in_numbers() -> None:
    """Comparisons that share a side are one chain, and equal ones stand once."""
    low, high = LOW._replace(is_plain=False), HIGH._replace(is_plain=False)
    chained = USE._replace(bounds=(low, high))
    assert ": 1 m ≤ 3 m ≤ 4 m, 25 % below." in told(chained)
    twice = USE._replace(bounds=(low, low))
    assert ": 1 m ≤ 3 m, 3.00 times." in told(twice)
    apart = USE._replace(bounds=(low, high._replace(sign="≥")))
    assert ": 1 m ≤ 3 m, 3 m ≥ 4 m, 25 % below." in told(apart)


def test_of_limits_that_are_not_met_all_are_told() -> None:
    """What breaks a rule is told in numbers, with its way, and what is met is not."""
    broken = USE._replace(outcome="nonconforming", holds=False, bounds=(LOW, OVER))
    ((label, text),) = phrases.use_notes([broken])
    assert label == phrases.NOT_MET
    assert text.endswith("nonconforming. 1 m ≤ l ≤ 4 m: 3 m > 2 m, 50 % above.")


def test_a_rule_that_another_value_breaks_says_so() -> None:
    """A value that meets its part of a broken rule is not told as not met."""
    ((label, text),) = phrases.use_notes([USE._replace(outcome="nonconforming")])
    assert label == "Rule"
    assert "nonconforming, but not by this value. 1 m ≤ l ≤ 4 m" in text


def test_a_bound_without_a_way_is_told_without() -> None:
    """An equality has no distance, and a rule that asks for a truth no condition."""
    equal = LOW._replace(margin=None, distance="")
    assert told(USE._replace(bounds=(equal,))).endswith("1 m ≤ l ≤ 4 m.")
    assert told(USE._replace(condition="", bounds=())) == "r (category B): conforms."
    noted = USE._replace(condition="", bounds=(), notes=("Changed.",))
    assert told(noted) == "r (category B): conforms. Changed."


def test_rules_that_only_quote_stand_together_by_outcome() -> None:
    """Those of one outcome share its word; those that do not apply are not named."""
    quoting = [
        USE._replace(rule=name, role=TELLS, outcome=word)
        for name, word in (
            ("a", "conforms"),
            ("b", "nonconforming"),
            ("c", "conforms"),
            ("d", "not-applicable"),
        )
    ]
    assert list(phrases.use_notes(quoting)) == [
        ("Quoted by", "a, c (conforms); b (nonconforming)."),
    ]


def test_what_is_missing_is_named_and_explained() -> None:
    """A missing input stands with its path and meaning, the day with its option."""
    speed = Lack("site_data.speed", "Speed of the pump")
    gap = Open("t", "t", "Time", "V / Q", (speed,), (Lack("pipe[x].y", ""),), "", ())
    missing = "site_data.speed (speed of the pump); or instead pipe[x].y."
    assert list(phrases.open_notes(gap)) == [("Missing", missing)]
    factor = gap._replace(missing=(Lack("k", "K-factor"),), instead=())
    assert list(phrases.open_notes(factor)) == [("Missing", "k (K-factor).")]
    day = gap._replace(missing=(Lack("run.date", "Day"),), instead=())
    said = "the day to judge by; give it by --as-of DATE."
    assert list(phrases.open_notes(day)) == [("Missing", said)]
    none = gap._replace(missing=(), instead=(), why="1 m / 0 s divides by zero")
    assert list(phrases.open_notes(none)) == [
        ("No number", "1 m / 0 s divides by zero.")
    ]


def test_what_is_left_out_is_counted_in_one_sentence() -> None:
    """Only what there is gets counted, in the singular where it is one."""
    subject = Subject("", "", "FT-1", "a.yaml")
    bare = Sheet(subject, "", "", "", None, "SI", (), (), (), (), (), 0, 0, 0)
    assert phrases.left_out_words(bare) == "Left out: nothing."
    one = bare._replace(not_applicable=1, silent=1, unwanted=1)
    assert phrases.left_out_words(one) == (
        "Left out: 1 value that does not apply to this meter; 1 value that only serves "
        "to name the cause of a fault, and there is none; 1 value that can't be "
        "computed and that no rule needs for its answer."
    )
    two = bare._replace(not_applicable=2)
    assert phrases.left_out_words(two) == (
        "Left out: 2 values that do not apply to this meter."
    )
