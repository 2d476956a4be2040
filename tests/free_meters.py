"""Meters with free settings for tests, under rules that a test writes briefly."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from configlint.dependence import Dependence
from configlint.engine import Judge
from configlint.rules import RuleBook
from configlint.units import parse_quantity
from configlint.variation import Free
from tests.builders import make_book, make_facts, standard_book

__all__ = ["broken_by", "free_meter", "rule", "rule_book", "standard_book"]

BASIS = {"practice": "Invented"}
PROOF = [{"gives": "conforms"}, {"gives": "nonconforming"}]


def rule(accept: str, **parts: Any) -> dict[str, Any]:
    """Give a rule with a condition to be met, and whatever else is said of it."""
    return {
        "category": "B",
        "asks": "Is it met?",
        "accept": accept,
        "finding": "It is not met.",
        "remedy": "Change it.",
        "basis": BASIS,
        "proof": PROOF,
        **parts,
    }


def rule_book(
    folder: Path,
    rules: Mapping[str, Mapping[str, Any]],
    settings: Mapping[str, Mapping[str, Any]] | None = None,
    quantities: Mapping[str, str] | None = None,
    **others: Any,
) -> RuleBook:
    """Load rules, the formulas of plain quantities, and what is said of settings.

    A setting is adjustable unless it is said not to be.
    """
    content = {
        "ruleset": "made",
        "edition": "1",
        "rules": dict(rules),
        "quantities": {
            name: {"means": name, "symbol": name, "formula": formula, "basis": BASIS}
            for name, formula in (quantities or {}).items()
        },
        "settings": {
            path: {"adjustable": "true", "where": "Menu", "basis": BASIS, **said}
            for path, said in (settings or {}).items()
        },
        **others,
    }
    return make_book(folder, yaml.safe_dump(content, sort_keys=False))


def free_meter(
    book: RuleBook,
    written: Mapping[str, str] | None = None,
    changed: Mapping[str, Mapping[str, float]] | None = None,
) -> Free:
    """Make a bare meter, with the values written at some paths, that can be varied.

    `changed` are limits in SI that a policy sets, by rule and name.
    """
    facts = make_facts(written)
    return Free(Dependence(book), Judge(book, changed), facts).derived()


def broken_by(free: Free, values: Mapping[str, str]) -> set[str]:
    """Ask all rules of the meter with some amounts changed; name those not met."""
    amounts = {path: parse_quantity(text) for path, text in values.items()}
    return {rule.id for rule in free.broken_with(amounts)}
