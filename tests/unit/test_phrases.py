"""Laws of the words of a sheet: short, true, and without a number twice."""

from __future__ import annotations

from configlint.findings import Subject
from configlint.sheets import phrases
from configlint.sheets.uses import ASKS, TELLS, Use
from configlint.sheets.worksheet_values import Lack, Open, Part, Sheet
from tests.sheet_values import ENTRY, HIGH, IDENTITY, LOOKED, LOW, OVER, USE


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
    assert list(phrases.notes(gap)) == [("Missing", missing)]
    factor = gap._replace(missing=(Lack("k", "K-factor"),), instead=())
    assert list(phrases.notes(factor)) == [("Missing", "k (K-factor).")]
    day = gap._replace(missing=(Lack("run.date", "Day"),), instead=())
    said = "the day to judge by; give it by --as-of DATE."
    assert list(phrases.notes(day)) == [("Missing", said)]
    none = gap._replace(missing=(), instead=(), why="1 m / 0 s divides by zero")
    assert list(phrases.notes(none)) == [("No number", "1 m / 0 s divides by zero.")]


def test_what_is_left_out_is_counted_in_one_sentence() -> None:
    """Only what there is gets counted, in the singular where it is one."""
    subject = Subject("", "", "FT-1", "a.yaml")
    bare = Sheet(subject, IDENTITY, "", None, "SI", (), (), (), (), (), 0, 0, 0)
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


def test_what_is_told_in_short_has_no_basis_and_no_numbers_of_nothing() -> None:
    """A value far from its limits has its formula, its result, and who judges it."""
    brief = ENTRY._replace(is_brief=True)
    table = ("Table", "bore of DN, for DN 50: 50 mm (table sizes).")
    assert phrases.steps(brief) == ("a − b", "0 %")
    assert list(phrases.notes(brief)) == [table, ("Met", "r, 25 % below.")]
    assert list(phrases.notes(brief._replace(uses=(), looked=()))) == []
    assert phrases.steps(ENTRY) == ("a − b", "3 m − 3 m", "0 %")
    labels = [label for label, _ in phrases.notes(ENTRY)]
    assert labels == ["Since", "Table", "Basis", "Used for", "Rule"]


def test_no_step_of_an_equation_stands_twice() -> None:
    """A formula that is a number is not told again as its numbers or its result."""
    one = ENTRY._replace(formula="1", numbers="", result="1")
    assert phrases.steps(one) == ("1",)


def test_a_rule_that_quotes_a_value_is_told_where_it_is_not_met() -> None:
    """Who quotes a value is of interest for a finding, and not where all is well."""
    quoting = USE._replace(rule="q", role=ASKS, outcome="nonconforming")
    told = dict(phrases.notes(ENTRY._replace(uses=(quoting,))))
    assert told["Condition of"] == "q (nonconforming)."


def test_the_source_of_a_table_s_row_stands_once() -> None:
    """However many figures are from one source, it is told once, with its rows."""
    other = LOOKED._replace(row="DN 80")
    entry = ENTRY._replace(looked=(LOOKED, LOOKED, other))
    subject = Subject("", "", "FT-1", "a.yaml")
    part = Part("Sensor", (entry, entry))
    sheet = Sheet(subject, IDENTITY, "", None, "SI", (), (), (part,), (), (), 0, 0, 0)
    assert list(phrases.table_sources(sheet)) == [
        ("Table sizes", "DN 50, DN 80: A table (read)."),
    ]


def test_a_value_is_far_from_its_limits_by_all_of_its_rules() -> None:
    """Near, broken, assumed, or judged by a changed limit: it is told at length."""
    assert ENTRY.is_far
    assert ENTRY._replace(uses=(USE._replace(outcome="not-applicable"),)).is_far
    for use in (
        USE._replace(bounds=(LOW, HIGH._replace(margin=0.19))),
        USE._replace(outcome="nonconforming"),
        USE._replace(outcome="not-assessed", bounds=()),
        USE._replace(notes=("Changed.",)),
    ):
        assert not ENTRY._replace(uses=(use,)).is_far
    assert USE._replace(bounds=(HIGH._replace(margin=None),)).is_far
    assert not ENTRY._replace(assumed="The length is not written.").is_far
