"""Laws of the report: outcomes and findings counted, and what is missing ranked."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.effects import Amount, Net
from configlint.engine import NOT_ASSESSED, OUTCOMES, Outcome
from configlint.errors import Place
from configlint.findings import Finding, Subject
from configlint.report import LeftOpen, MeterResult, Report, meter_result
from configlint.rules import MeterRule
from tests.builders import EFFECT, make_book
from tests.reports import CONCESSION

RULES = """\
ruleset: made
edition: "1"
rules:
"""
RULE = """\
  {}:
    category: B
    asks: Is it right?
    accept: given(meter)
    finding: It is wrong.
    remedy: Correct it.
    basis: {{practice: Common}}
    proof: [{{gives: conforms}}, {{gives: nonconforming}}]
"""


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> tuple[MeterRule, ...]:
    """Give three rules."""
    folder: Path = tmp_path_factory.mktemp("rules")
    text = RULES + "".join(RULE.format(name) for name in ("c", "a", "b"))
    return make_book(folder, text).meter_rules


def subject(meter: str) -> Subject:
    """Make the subject of a meter."""
    return Subject("plant", "north", meter, f"{meter}.yaml")


def finding(category: str) -> Finding:
    """Make a finding of a category."""
    return Finding(
        fingerprint="0",
        subject=subject("FT-1"),
        place=Place("FT-1.yaml"),
        pointer="",
        rule="a",
        category=category,
        outcome="nonconforming",
        message="It is wrong.",
        values={},
        limits={},
        margin=None,
        assumptions=(),
        remedy="Correct it.",
        basis="Common",
    )


def report(meters: tuple[MeterResult, ...], *categories: str) -> Report:
    """Make a report of meters, with findings of some categories."""
    return Report((), meters, tuple(map(finding, categories)), 1)


def test_a_meter_is_counted_under_every_word(rules: tuple[MeterRule, ...]) -> None:
    """Each outcome is counted once, and every word is there, at zero too."""
    words = ("conforms", "not-assessed", "conforms")
    outcomes = [Outcome(*pair) for pair in zip(rules, words, strict=True)]
    result = meter_result(subject("FT-1"), outcomes)
    assert list(result.outcomes) == list(OUTCOMES)
    assert result.outcomes["conforms"] == 2
    assert sum(result.outcomes.values()) == len(rules)


def test_rules_left_open_are_listed_by_their_ids(rules: tuple[MeterRule, ...]) -> None:
    """What could not be assessed is listed in order, with what it lacks."""
    outcomes = [Outcome(rule, NOT_ASSESSED, ("x", "y")) for rule in rules]
    left_open = meter_result(subject("FT-1"), outcomes).left_open
    assert left_open == tuple(LeftOpen(name, ("x", "y")) for name in "abc")


def test_a_report_adds_its_meters_up(rules: tuple[MeterRule, ...]) -> None:
    """The outcomes of a run are those of all its meters."""
    one = meter_result(subject("FT-1"), [Outcome(rules[0], "conforms")])
    two = meter_result(subject("FT-2"), [Outcome(rules[0], NOT_ASSESSED, ("x",))])
    assert report((one, two, one)).by_outcome == {
        "conforms": 2,
        "nonconforming": 0,
        "not-assessed": 1,
        "not-applicable": 0,
        "conceded": 0,
    }


def test_findings_are_counted_by_category() -> None:
    """Every category is counted, at zero too, in the order of their urgency."""
    counts = report((), "C", "A", "C").by_category
    assert list(counts.items()) == [("A", 1), ("B", 0), ("C", 2)]


def test_the_input_that_leaves_most_open_comes_first(
    rules: tuple[MeterRule, ...],
) -> None:
    """Missing inputs are ranked by the outcomes they leave open, then by name."""
    first, second, third = rules
    one = meter_result(
        subject("FT-1"),
        [
            Outcome(first, NOT_ASSESSED, ("bore", "serial")),
            Outcome(second, NOT_ASSESSED, ("serial",)),
            Outcome(third, "conforms"),
        ],
    )
    two = meter_result(
        subject("FT-2"), [Outcome(first, NOT_ASSESSED, ("lining", "serial"))]
    )
    assert report((one, two)).missing == (
        ("serial", 2, 3),
        ("bore", 1, 1),
        ("lining", 1, 1),
    )


def test_a_report_tells_its_day_and_what_was_not_judged(tmp_path: Path) -> None:
    """A meter that can't be read is counted apart, and the run's day is kept."""
    texts = {
        "judged": "meter: FT-1\nprinciple: electromagnetic\n",
        "faulty": "meter: FT-2\nprinciple: none\n",
        "torn": "meter: FT-3\n---\nmeter: FT-4\n",
    }
    for name, text in texts.items():
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    day = date(2026, 5, 4)
    made = check([tmp_path], run_date=day)
    assert [each.subject.meter for each in made.meters] == ["FT-1"]
    told = [
        (each.place.file[len(str(tmp_path)) + 1 :], each.place.line, each.tag)
        for each in made.not_judged
    ]
    assert told == [
        ("faulty.yaml", 2, "FT-2"),
        ("torn.yaml", 1, "FT-3"),
        ("torn.yaml", 3, "FT-4"),
    ]
    assert made.run_date == day
    assert (report(()).not_judged, report(()).run_date) == ((), None)


@pytest.mark.parametrize(
    ("categories", "held_at"),
    [("", ""), ("C", "C"), ("B", "BC"), ("A", "ABC"), ("CB", "BC"), ("CA", "ABC")],
)
def test_a_run_is_held_by_its_most_urgent_finding(
    categories: str, held_at: str
) -> None:
    """A run is held at a category when a finding is of it or of a more urgent one."""
    made = report((), *categories)
    assert "".join(hold for hold in "ABC" if made.held(hold)) == held_at
    assert not made.held("never")


def test_findings_rank_by_category_and_then_by_effect() -> None:
    """A category comes before any effect; in it what costs most comes first."""
    dear = replace(finding("B"), effect=EFFECT)
    cheap = replace(finding("B"), effect=EFFECT._replace(per_year=None))
    made = Report((), (), (finding("B"), cheap, finding("A"), dear), 1)
    assert made.worst_first == (finding("A"), dear, cheap, finding("B"))


def share(rule: str, relative: float, *nets: Net) -> Finding:
    """Make a finding whose effect is a share of some nets, of a unit and a size."""
    figures = EFFECT._replace(relative=relative, per_year=Amount(1e6 * relative, "m3"))
    return replace(finding("A"), rule=rule, effect=figures._replace(nets=nets))


def net(rule: str, relative: float, *counted: str) -> Net:
    """Make a net of some faults in the receiver's reading."""
    effect = share(rule, relative).effect
    return Net("The receiver", rule, counted, (), effect)


CANCELLED = net("chain", 0.004, "scale", "size")


def test_a_share_ranks_by_its_net() -> None:
    """What another fault cancels does not lead, and the net goes before its shares."""
    scale, size = share("scale", 0.56, CANCELLED), share("size", -0.36, CANCELLED)
    chain, other = share("chain", 0.004), share("other", 0.05)
    made = Report((), (), (scale, size, chain, other), 1)
    assert [each.rule for each in made.worst_first] == [
        *("other", "chain", "scale", "size")
    ]


def test_a_share_of_several_nets_ranks_by_the_largest() -> None:
    """What cancels in one reading and not in another is as bad as in the other."""
    size = share("size", -0.36, CANCELLED, net("pulses", -0.36, "size"))
    made = Report((), (), (share("other", 0.05), size), 1)
    assert [each.rule for each in made.worst_first] == ["size", "other"]


def test_a_share_of_no_known_net_ranks_as_it_is() -> None:
    """Where the net is not known, what a fault costs taken alone is all there is."""
    unknown = CANCELLED._replace(effect=None, missing=("transmitter.nominal_size",))
    made = Report((), (), (share("other", 0.05), share("scale", 0.56, unknown)), 1)
    assert [each.rule for each in made.worst_first] == ["scale", "other"]
    assert [each.finding.rule for each in made.costs] == ["scale", "other"]


def test_a_net_costs_once() -> None:
    """Neither a net with its shares nor a net of two shares is counted twice."""
    scale, size = share("scale", 0.56, CANCELLED), share("size", -0.36, CANCELLED)
    chain = share("chain", 0.004)
    chain = replace(chain, effect=EFFECT._replace(counts=("scale", "size")))
    for findings in ((scale, size), (scale, chain, size), (chain,)):
        (cost,) = Report((), (), findings, 1).costs
        assert cost.finding == (chain if chain in findings else scale)
    other = replace(scale, subject=subject("FT-2"))
    assert len(Report((), (), (scale, size, other), 1).costs) == 2


def test_each_reading_costs_for_itself() -> None:
    """A fault that is in two readings costs in both."""
    total = net("pulses", -0.36, "size")._replace(of="The receiver's total")
    assert total.effect is not None
    total = total._replace(effect=total.effect._replace(of=total.of))
    made = Report((), (), (share("size", -0.36, CANCELLED, total),), 1)
    assert [each.effect.of for each in made.costs] == [
        *("The receiver's total", "The receiver")
    ]


def test_what_is_conceded_or_costs_nothing_is_no_cost() -> None:
    """Costs are those of findings that are to be closed."""
    conceded = replace(share("scale", 0.56), concession=CONCESSION)
    assert Report((), (), (conceded, finding("A")), 1).costs == ()


def test_what_is_conceded_is_apart(rules: tuple[MeterRule, ...]) -> None:
    """It holds no run, is of no category, ranks last, and is counted as its outcome."""
    conceded = replace(finding("A"), concession=CONCESSION)
    made = Report((), (), (conceded, finding("C")), 1)
    assert not made.held("A")
    assert made.held("C")
    assert made.by_category == {"A": 0, "B": 0, "C": 1}
    assert (made.conceded, made.open_findings) == (1, (finding("C"),))
    assert made.worst_first == (finding("C"), conceded)
    words = ("nonconforming", "nonconforming", "conforms")
    outcomes = [Outcome(*pair) for pair in zip(rules, words, strict=True)]
    result = meter_result(subject("FT-1"), outcomes, {rules[0].id, rules[2].id})
    told = {word: count for word, count in result.outcomes.items() if count}
    assert told == {"conforms": 1, "nonconforming": 1, "conceded": 1}
    assert result.met == (rules[2].id,)
