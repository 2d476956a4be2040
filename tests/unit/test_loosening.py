"""Laws of which way a limit lets more pass, as the proofs of its rule tell."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from configlint.data import data_folder
from configlint.review.loosening import LOOSER, TIGHTER, direction_of
from configlint.rule_book import load_rule_book
from configlint.rules import AnyRule, MeterRule, RuleBook

UNTOLD = {
    # Equal to a limit, or of a limit in figures or of zero: no share of it tells.
    ("range-ends-round-in-their-unit", "significant_digits"),
    ("receiver-range-is-4-20", "lower"),
    ("receiver-range-is-4-20", "upper"),
    ("low-flow-cutoff-not-zero", "lowest"),
}


@pytest.fixture(scope="module")
def book() -> RuleBook:
    """Give the standard rules."""
    return load_rule_book(data_folder("rules"))


def rule_of(book: RuleBook, name: str) -> AnyRule:
    """Find a rule by its id."""
    (found,) = (rule for rule in book.all_rules if rule.id == name)
    return found


def test_nearly_every_standard_limit_is_told(book: RuleBook) -> None:
    """The proofs of the standard rules tell the direction of all limits but a few."""
    untold = {
        (rule.id, name)
        for rule in book.meter_rules
        for name, limit in rule.limits.items()
        if not direction_of(book, rule, name, limit.value, 2 * limit.value + 1)
    }
    assert untold <= UNTOLD


@pytest.mark.parametrize(
    ("rule", "limit", "higher"),
    [
        ("velocity-at-span-in-band", "highest", LOOSER),
        ("velocity-at-span-in-band", "lowest", TIGHTER),
        ("k-factor-not-inverted", "tolerance", TIGHTER),
        ("proving-pulses", "fewest", TIGHTER),
        ("concession-narrow", "most_meters", LOOSER),
    ],
)
def test_there_and_back_are_opposite(
    book: RuleBook, rule: str, limit: str, higher: str
) -> None:
    """A limit that is looser one way is tighter back; one that stays is neither."""
    found = rule_of(book, rule)
    lower = TIGHTER if higher == LOOSER else LOOSER
    assert direction_of(book, found, limit, 1.0, 2.0) == higher
    assert direction_of(book, found, limit, 2.0, 1.0) == lower
    assert direction_of(book, found, limit, 2.0, 2.0) == ""


BELOW_ZERO = """\
ruleset: own
edition: "1"
rules:
  own-damping:
    category: B
    asks: Is the damping short?
    limits: {highest: -1 s}
    accept: transmitter.damping - 5[s] <= highest
    finding: The damping is {transmitter.damping}.
    remedy: Shorten it.
    settings: [transmitter.damping]
    basis: {practice: Common}
    proof:
      - {with: {transmitter.damping: 4 s}, gives: conforms}
      - {with: {transmitter.damping: 4.005 s}, gives: nonconforming}
"""


def test_a_limit_below_zero_is_read_by_its_value(tmp_path: Path) -> None:
    """Of a limit below zero the one nearer to zero is the higher."""
    (tmp_path / "own.yaml").write_text(BELOW_ZERO, "utf-8")
    own = load_rule_book(data_folder("rules"), tmp_path)
    found = rule_of(own, "own-damping")
    assert direction_of(own, found, "highest", -1.0, -0.5) == LOOSER
    assert direction_of(own, found, "highest", -1.0, -2.0) == TIGHTER


def test_rules_across_meters_have_no_limits(book: RuleBook) -> None:
    """A rule across meters tells no direction, whatever is asked of it."""
    across = book.across_rules[0]
    assert direction_of(book, across, "any", 1.0, 2.0) == ""


def test_proofs_that_can_not_be_read_are_passed_over(book: RuleBook) -> None:
    """A proof whose meter can't be made tells nothing, and stops nothing."""
    found = rule_of(book, "velocity-at-span-in-band")
    assert isinstance(found, MeterRule)
    odd = found.proofs[0].model_copy(update={"without": ("sensor.no_such",)})
    whole = replace(found, proofs=(odd, *found.proofs))
    assert direction_of(book, whole, "highest", 10.0, 12.0) == LOOSER
    bare = replace(found, proofs=(odd,))
    assert direction_of(book, bare, "highest", 10.0, 12.0) == ""
