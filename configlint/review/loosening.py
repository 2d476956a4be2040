"""Which way a limit lets more pass: read off the rule's own proofs.

A rule's proofs stand on both sides of each of its limits. So the rule is asked of the
meters of its proofs with the limit at several values: where fewer of them are found
wrong as it rises, a higher limit is a looser one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from configlint.cases import Case, ProofError, make_case
from configlint.engine import NONCONFORMING, Judge
from configlint.rules import AnyRule, Limit, MeterRule, ReadingRule, RuleBook

__all__ = ["LOOSER", "TIGHTER", "direction_of"]

LOOSER = "looser"
TIGHTER = "tighter"
FACTORS = (1e-3, 0.5, 0.99, 1.0, 1.01, 2.0, 1e3)
"""The values of a limit that are tried, as shares of the standard one."""


def direction_of(
    book: RuleBook, rule: AnyRule, name: str, before: float, after: float
) -> str:
    """Say whether a change of a limit, in SI, is looser or tighter; "" for neither.

    It is "" too where the proofs do not tell.

    >>> from configlint.data import data_folder
    >>> from configlint.rule_book import load_rule_book
    >>> book = load_rule_book(data_folder("rules"))
    >>> rules = {rule.id: rule for rule in book.all_rules}
    >>> velocity = rules["velocity-at-span-in-band"]
    >>> direction_of(book, velocity, "highest", 10.0, 12.0)
    'looser'
    >>> direction_of(book, velocity, "lowest", 0.3, 0.5)
    'tighter'
    """
    if before == after:
        return ""
    looser_when_higher = _looser_when_higher(book, rule, name)
    if looser_when_higher is None:
        return ""
    return LOOSER if (after > before) is looser_when_higher else TIGHTER


def _looser_when_higher(book: RuleBook, rule: AnyRule, name: str) -> bool | None:
    if isinstance(rule, ReadingRule):
        # Those that reading enforces are all of how long or how many there may be.
        return True
    if not isinstance(rule, MeterRule):
        return None
    cases = list(_cases(book, rule))
    values = [rule.limits[name].value * factor for factor in FACTORS]
    counts = [_count_wrong(book, rule, name, value, cases) for value in values]
    steps = {later - earlier for earlier, later in pairwise(counts)} - {0}
    if not steps or (min(steps) < 0 < max(steps)):
        return None
    # A negative limit falls as its share rises.
    return (max(steps) < 0) is (rule.limits[name].value > 0)


def _cases(book: RuleBook, rule: MeterRule) -> Iterator[Case]:
    """Make the meters of a rule's proofs, as far as they can be read."""
    for proof in rule.proofs:
        try:
            yield make_case(book, rule.id, proof)
        except ProofError:
            continue


def _count_wrong(
    book: RuleBook, rule: MeterRule, name: str, value: float, cases: list[Case]
) -> int:
    """Count the meters of some proofs that are found wrong with a limit at a value."""
    limit: Limit = replace(rule.limits[name], value=value)
    moved = replace(rule, limits={**rule.limits, name: limit})
    judge = Judge(replace(book, meter_rules=(moved,)))
    words = (judge.judge(meter)[0].word for case in cases for meter in case.meters)
    return sum(word == NONCONFORMING for word in words)
