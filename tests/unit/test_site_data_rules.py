"""Laws of rules about the site's own data: they judge by it as by any other value."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.effects import Amount
from configlint.engine import (
    CONFORMS,
    NONCONFORMING,
    NOT_ASSESSED,
    Judge,
    Outcome,
    derive_told,
)
from configlint.findings import Subject, locate, outcome_finding
from configlint.ledger import Ledger
from configlint.proofs import prove
from configlint.rules import RuleBook
from tests.builders import make_book
from tests.site_data import DECLARED, METER, RULE, known_of, read


def book_of(folder: Path, accept: str, finding: str = "It is not.") -> RuleBook:
    """Make a book of the declarations and one rule."""
    rule = RULE.replace("{ACCEPT}", accept).replace("{FINDING}", finding)
    return make_book(folder, DECLARED + rule)


def judged(folder: Path, accept: str, text: str = METER) -> Outcome:
    """Judge a meter by one rule."""
    book = book_of(folder, accept)
    (outcome,) = Judge(book).judge(derive_told(book, known_of(book, text)))
    return outcome


def test_a_rule_judges_by_it(tmp_path: Path) -> None:
    """A rule conforms or not by a value of the site's own, as by any other."""
    assert judged(tmp_path, "site_data.pump_capacity <= 240[m3/h]").word == CONFORMS
    assert judged(tmp_path, "site_data.pump_capacity < 240[m3/h]").word == NONCONFORMING
    assert judged(tmp_path, 'site_data.asset_number == "4711"').word == CONFORMS
    assert judged(tmp_path, "site_data.metered").word == CONFORMS
    outcome = judged(tmp_path, "site_data.leak_share <= 4[%]")
    assert outcome.word == NONCONFORMING
    assert outcome.margin == pytest.approx(-0.25)


def test_a_rule_that_lacks_it_is_not_assessed(tmp_path: Path) -> None:
    """A missing value is named by its path, and whether it is given is decided."""
    outcome = judged(tmp_path, "site_data.well_level > 1[m]")
    assert (outcome.word, outcome.missing) == (NOT_ASSESSED, ("site_data.well_level",))
    assert judged(tmp_path, "given(site_data.well_level)").word == NONCONFORMING


def test_whether_a_faulty_value_is_given_is_open(tmp_path: Path) -> None:
    """Of what nobody can read it is not said that it is absent."""
    text = METER.replace("240 m3/h", "240 mm").replace("true", "yes")
    outcome = judged(tmp_path, "given(site_data.pump_capacity)", text)
    assert outcome.word == NOT_ASSESSED
    assert outcome.missing == ("site_data.pump_capacity",)
    outcome = judged(tmp_path, "site_data.metered", text)
    assert (outcome.word, outcome.missing) == (NOT_ASSESSED, ("site_data.metered",))


def test_a_finding_points_at_it_and_shows_it(tmp_path: Path) -> None:
    """The finding stands at the value, and lists it as the file writes it."""
    finding = "The pump {site_data.asset_number} of {site_data.put_in_on} leaks."
    book = book_of(tmp_path, "site_data.pump_capacity < 1[m3/h]", finding)
    entry, _ = read(book)
    derived = derive_told(book, known_of(book))
    (outcome,) = Judge(book).judge(derived)
    located = locate(outcome.rule, derived, entry.document, entry.path)
    assert (located.place.line, located.pointer) == (4, "/site_data/pump_capacity")
    subject = Subject("plant", "north", "FT-1", "made.yaml")
    made = outcome_finding(outcome, subject, derived, located, book, {})
    assert made.message == "The pump 4711 of 2026-01-02 leaks."
    assert made.values["site_data.pump_capacity"] == Amount(240.0, "m3/h")
    assert made.values["site_data.asset_number"] == "4711"
    assert made.values["site_data.put_in_on"] == "2026-01-02"


def test_a_finding_of_a_missing_value_points_at_its_section(tmp_path: Path) -> None:
    """Where a rule asks for a value that is absent, its section is the place."""
    book = book_of(tmp_path, "given(site_data.well_level)")
    entry, _ = read(book)
    (rule,) = book.meter_rules
    derived = derive_told(book, known_of(book))
    located = locate(rule, derived, entry.document, entry.path)
    assert (located.place.line, located.pointer) == (3, "/site_data/well_level")


def test_a_quantity_is_computed_from_it(tmp_path: Path) -> None:
    """A quantity may name a value of the site's own, and shows it in its findings."""
    quantity = """\
quantities:
  leak:
    means: What leaks
    symbol: q
    formula: site_data.leak_share * site_data.pump_capacity
    unit: m3/h
    basis: {practice: Share}
"""
    rule = RULE.replace("{ACCEPT}", "leak < 1[m3/h]").replace("{FINDING}", "{leak}")
    book = make_book(tmp_path, DECLARED + quantity + rule)
    derived = derive_told(book, known_of(book))
    assert derived.values["leak"] == pytest.approx(12 / 3600)
    assert set(book.shown["made-rule"]) == {
        "leak",
        "site_data.leak_share",
        "site_data.pump_capacity",
    }


def test_meters_are_compared_by_it(tmp_path: Path) -> None:
    """A rule across meters may hold values of the site's own against each other."""
    across = "across: {scope: site, same: [site_data.asset_number]}"
    rule = RULE.replace("accept: '{ACCEPT}'", across).replace("{FINDING}", "{others}")
    book = make_book(tmp_path, DECLARED + rule)
    ledger = Ledger(book)
    for number, asset in enumerate(("4711", "4711", "4712")):
        text = METER.replace("4711", asset)
        ledger.enter(number, "north", derive_told(book, known_of(book, text)))
    settled = ledger.settle()
    words = [settled[number][0].word for number in range(3)]
    assert words == [NONCONFORMING, NONCONFORMING, CONFORMS]


PROVEN = """\
rules:
  pump-small:
    category: C
    asks: Is the pump small?
    applies: site_data.metered
    limits: {largest: 100 m3/h}
    accept: site_data.pump_capacity <= largest
    finding: "{site_data.pump_capacity}"
    remedy: Change it.
    basis: {practice: Common}
    proof:
      - with: {site_data.metered: "true", site_data.pump_capacity: 100 m3/h}
        gives: conforms
      - with: {site_data.metered: "true", site_data.pump_capacity: 28 l/s}
        gives: nonconforming
      - with: {site_data.metered: "false", site_data.pump_capacity: 1 m3/h}
        gives: not-applicable
      - with: {site_data.metered: "true"}
        gives: not-assessed
        missing: [site_data.pump_capacity]
"""


def test_proofs_give_values_of_the_sites_own(tmp_path: Path) -> None:
    """A proof writes them by their path, and pins the rule by them."""
    book = make_book(tmp_path, DECLARED + PROVEN)
    (verdict,) = prove(book)
    assert (verdict.failures, verdict.survivors) == ([], [])
    assert verdict.mutants > 0


def test_a_proof_with_a_faulty_value_is_told(tmp_path: Path) -> None:
    """A proof whose value does not fit its declaration fails, with the reason."""
    book = make_book(tmp_path, DECLARED + PROVEN.replace("28 l/s", "28 mm"))
    (verdict,) = prove(book)
    assert len(verdict.failures) == 1
    assert verdict.failures[0].startswith(
        "proof 2: site_data.pump_capacity: '28 mm' is a length"
    )
