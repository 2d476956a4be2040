"""Laws of policy: limits are changed by name, in kind, with a reason, or refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import Fault, Place, RunError
from configlint.policy import ChangedLimit, changed_limits
from configlint.rules import RuleBook
from configlint.sites import Change, Policy
from configlint.units import dimension_named, parse_quantity
from tests.builders import SOUND_RULES, make_book

PLACE = Place("site.yaml", 4, 9)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> RuleBook:
    """Give a book with one rule that has the limits `lowest` and `highest`."""
    folder: Path = tmp_path_factory.mktemp("rules")
    return make_book(folder, SOUND_RULES)


def change(
    value: str = "5 m/s",
    limit: str = "highest",
    rule: str = "speed-in-band",
    reason: str = "Sand in the water wears the lining",
) -> Change:
    """Make a change of a limit."""
    return Change(rule, limit, value, reason, PLACE)


def refused(book: RuleBook, *policies: Policy) -> tuple[Fault, ...]:
    """Give the faults by which policies are refused."""
    with pytest.raises(RunError) as caught:
        changed_limits(book, *policies)
    for fault in caught.value.faults:
        assert (fault.kind, fault.place) == ("policy-sound", PLACE)
    return caught.value.faults


def test_a_changed_limit_holds_in_si_and_as_written(book: RuleBook) -> None:
    """The limit keeps its text and unit, and judges by its SI amount."""
    changed = changed_limits(book, (change("18 km/h"),))["speed-in-band"]["highest"]
    assert isinstance(changed, ChangedLimit)
    limit = changed.limit
    assert (limit.name, limit.text, limit.unit) == ("highest", "18 km/h", "km/h")
    assert limit.value == parse_quantity("18 km/h").si
    assert limit.kind == dimension_named("velocity")


def test_the_note_names_limit_standard_and_reason(book: RuleBook) -> None:
    """What a finding says of a changed limit is its value, the standard, and why."""
    changed = changed_limits(book, (change(),))["speed-in-band"]["highest"]
    assert changed.standard.text == "10 m/s"
    assert changed.note == (
        "The limit highest is 5 m/s by policy (standard 10 m/s): "
        "Sand in the water wears the lining"
    )


def test_no_policy_changes_nothing(book: RuleBook) -> None:
    """Without a policy, and with empty ones, no limit is changed."""
    assert changed_limits(book) == {}
    assert changed_limits(book, (), ()) == {}


def test_a_later_policy_goes_over_an_earlier_one(book: RuleBook) -> None:
    """Of two changes of one limit the later holds; other limits keep theirs."""
    workspace = (change("5 m/s"), change("0.5 m/s", "lowest"))
    site = (change("4 m/s", reason="Slurry"),)
    changes = changed_limits(book, workspace, site)["speed-in-band"]
    assert {name: each.limit.text for name, each in changes.items()} == {
        "highest": "4 m/s",
        "lowest": "0.5 m/s",
    }
    assert "Slurry" in changes["highest"].note


@pytest.mark.parametrize(
    ("wrong", "problem", "advice"),
    [
        (
            change(rule="sped-in-band"),
            "There is no rule 'sped-in-band' with limits.",
            "The nearest known are speed-in-band.",
        ),
        (
            change(rule="serial-unique"),
            "There is no rule 'serial-unique' with limits.",
            "`configlint rules list`",
        ),
        (
            change(limit="higest"),
            "The rule speed-in-band has no limit 'higest'.",
            "The nearest known are highest, lowest.",
        ),
        (
            change(limit="zzz"),
            "The rule speed-in-band has no limit 'zzz'.",
            "`configlint rules show ID`",
        ),
        (
            change("5 m"),
            "The limit highest is a velocity, '5 m' is a length.",
            "Write it like the standard one, 10 m/s.",
        ),
        (
            change("5"),
            "The limit highest is a velocity, '5' is a plain number.",
            "Write it like the standard one, 10 m/s.",
        ),
        (change("5 metres/s"), "metres/s", "Write "),
        (change("fast"), "'fast'", "Write"),
    ],
)
def test_what_does_not_fit_is_refused(
    book: RuleBook, wrong: Change, problem: str, advice: str
) -> None:
    """Unknown names, wrong kinds and no amounts are refused with what would do."""
    (fault,) = refused(book, (wrong,))
    assert problem in fault.problem
    assert advice in fault.advice


def test_every_fault_of_all_policies_is_told(book: RuleBook) -> None:
    """Faults are collected over the policies, and a sound change hides none."""
    first = (change("fast"), change(rule="sped"))
    faults = refused(book, first, (change(), change(limit="high")))
    assert len(faults) == 3


@pytest.fixture(scope="module")
def reading_book(tmp_path_factory: pytest.TempPathFactory) -> RuleBook:
    """Give a book with a reading rule that has a limit, and one that has none."""
    limited = SOUND_RULES.replace(
        "    remedy: Make it readable.\n",
        "    remedy: Make it readable.\n    limits: {longest: 1 year}\n",
    )
    return make_book(tmp_path_factory.mktemp("reading"), limited)


def test_the_limit_of_a_reading_rule_is_the_workspaces(reading_book: RuleBook) -> None:
    """The workspace's policy changes it; a site's is refused, since it has no say."""
    own = (change("30 d", "longest", "file-readable"),)
    changed = changed_limits(reading_book, own, ())["file-readable"]["longest"]
    assert changed.limit.text == "30 d"
    (fault,) = refused(reading_book, (), own)
    assert (
        fault.problem == "The limits of file-readable are those of a whole workspace."
    )
    assert "workspace file" in fault.advice


def test_a_reading_rule_without_limits_has_none_to_change(book: RuleBook) -> None:
    """It is told like a rule that there is not."""
    (fault,) = refused(book, (change("30 d", "longest", "file-readable"),))
    assert fault.problem == "There is no rule 'file-readable' with limits."
