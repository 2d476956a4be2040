"""Laws of the lists of rules, and of the one that is kept beside the rules."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from configlint.data import data_folder
from configlint.outputs.rule_list import RULE_LISTS
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook

RULES = Path(__file__).parents[2] / "rules"


@pytest.fixture(scope="module")
def book() -> RuleBook:
    """Load the standard rules."""
    return load_rule_book(data_folder("rules"))


def test_the_table_beside_the_rules_is_current(book: RuleBook) -> None:
    """rules/README.md is what `rules list --report markdown` writes today."""
    kept = (RULES / "README.md").read_text(encoding="utf-8")
    assert kept == RULE_LISTS["markdown"](book)


@pytest.mark.parametrize("form", sorted(RULE_LISTS))
def test_every_list_names_every_rule(book: RuleBook, form: str) -> None:
    """No form of the list leaves a rule out."""
    text = RULE_LISTS[form](book)
    assert [rule.id for rule in book.all_rules if rule.id not in text] == []


def test_every_row_of_the_table_has_five_cells(book: RuleBook) -> None:
    """No text of a rule breaks the table."""
    rows = [line for line in RULE_LISTS["markdown"](book).splitlines() if "|" in line]
    assert {row.replace("\\|", "").count("|") for row in rows} == {6}


def test_the_json_list_has_limits_and_proofs(book: RuleBook) -> None:
    """What a rule holds by its limits and proofs stands in the JSON list."""
    listed = {each["id"]: each for each in json.loads(RULE_LISTS["json"](book))}
    band = listed["velocity-at-span-in-band"]
    assert band["limits"]["lowest"] == "0.3 m/s"
    assert band["proofs"] > 1
    assert "limits" not in listed["tag-unique"]
    assert "proofs" not in listed["file-readable"]
