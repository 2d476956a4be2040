"""The rules as SARIF describes them: the question, the remedy and the basis of each."""

from __future__ import annotations

from typing import Any

from configlint.outputs.markdown import plain
from configlint.outputs.sarif_bounds import bounded, message
from configlint.rules import AnyRule, MeterRule, ReadingRule, basis_words
from configlint.templates import Slot

__all__ = ["LEVELS", "remedy_words", "rule_descriptor"]

LEVELS = {"A": "error", "B": "warning", "C": "note"}
"""The standard's word for each category."""

PROBLEMS = {"A": "error", "B": "warning", "C": "recommendation"}
CLOSE_BY = {
    "A": "It is of category A: close a finding before the meter goes into service.",
    "B": "It is of category B: close a finding before acceptance.",
    "C": "It is of category C: close a finding when convenient.",
}


def rule_descriptor(rule: AnyRule) -> dict[str, Any]:
    """Describe a rule as a `reportingDescriptor` of SARIF 2.1.0."""
    basis = basis_words(rule.basis)
    help_parts = {
        "Asks": rule.asks,
        "To do": remedy_words(rule),
        "Basis": basis,
    }
    return {
        "id": rule.id,
        "shortDescription": message(rule.asks),
        "fullDescription": message(rule.asks, CLOSE_BY[rule.category]),
        "help": {
            **message(*(f"{name}: {each}" for name, each in help_parts.items())),
            "markdown": "\n\n".join(
                f"**{name}:** {plain(each)}" for name, each in help_parts.items()
            ),
        },
        "defaultConfiguration": {"level": LEVELS[rule.category]},
        "properties": {
            "category": rule.category,
            "ruleset": rule.ruleset,
            "basis": bounded(basis),
            # The name under which a code host looks for it (its documentation).
            "problem.severity": PROBLEMS[rule.category],
        },
    }


def remedy_words(rule: AnyRule) -> str:
    """Say what to do about a finding, limits as the rule has them, values by name."""
    if isinstance(rule, ReadingRule):
        return rule.remedy
    limits = rule.limits if isinstance(rule, MeterRule) else {}
    texts = {name: limit.text for name, limit in limits.items()}
    return "".join(
        texts.get(part.path, part.path) if isinstance(part, Slot) else part
        for passage in rule.remedy.passages
        for part in passage
    )
