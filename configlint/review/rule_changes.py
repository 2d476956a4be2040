"""Which rules and quantities of a workspace's own a change adds, removes or changes.

What certainly lets more pass is told as looser: a rule that is removed or made less
urgent, or a limit that by the rule's own proofs is looser.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple, TypeVar

from configlint.data import data_folder
from configlint.review.loosening import LOOSER, direction_of
from configlint.review.standards import Standard, name_of
from configlint.rule_book import load_rule_book
from configlint.rules import (
    AcrossRule,
    AnyRule,
    DerivedQuantity,
    Limit,
    MeterRule,
    ReadingRule,
    RuleBook,
)

__all__ = ["RuleChange", "rule_changes"]

T = TypeVar("T")

ADDED, REMOVED, CHANGED = "added", "removed", "changed"


class RuleChange(NamedTuple):
    """A rule, or a quantity, of a workspace's own that is another.

    `details` says in words what is another, `looser` whether it certainly lets more
    pass than before.
    """

    workspace: str
    what: str
    name: str
    change: str
    details: tuple[str, ...] = ()
    looser: bool = False


def rule_changes(one: Standard | None, other: Standard | None) -> Iterator[RuleChange]:
    """Compare the rules and quantities of two books, those of a workspace's own."""
    standard = load_rule_book(data_folder("rules"))
    before, after = (each.book if each else standard for each in (one, other))
    if before is after:
        return
    name = name_of(one, other)
    same = {*before.editions} & {*after.editions}
    alike = {edition.name for edition in same}
    rules = [
        {rule.id: rule for rule in book.all_rules if rule.ruleset not in alike}
        for book in (before, after)
    ]
    for key, pair in _paired(*rules):
        yield from _rule_change(name, key, *pair, (before, after))
    quantities = [book.quantity_of for book in (before, after)]
    for key, (earlier, later) in _paired(*quantities):
        details = _quantity_details(earlier, later)
        change = _word(earlier, later)
        if change != CHANGED or details:
            yield RuleChange(name, "quantity", key, change, details)


def _paired(
    before: Mapping[str, T], after: Mapping[str, T]
) -> Iterator[tuple[str, tuple[T | None, T | None]]]:
    for key in sorted(before.keys() | after.keys()):
        yield key, (before.get(key), after.get(key))


def _word(before: object, after: object) -> str:
    if before is None:
        return ADDED
    return REMOVED if after is None else CHANGED


def _rule_change(
    workspace: str,
    name: str,
    before: AnyRule | None,
    after: AnyRule | None,
    books: tuple[RuleBook, RuleBook],
) -> Iterator[RuleChange]:
    if before is None or after is None:
        word = _word(before, after)
        rule = before or after
        told = (f"category {rule.category}",) if rule else ()
        yield RuleChange(workspace, "rule", name, word, told, word == REMOVED)
        return
    details = []
    looser = after.category > before.category
    if before.category != after.category:
        urgency = "less" if looser else "more"
        said = f"category {before.category}, now {after.category}"
        details.append(f"{said}: {urgency} urgent")
    for limit, (one, other) in _paired(_limits(before), _limits(after)):
        direction = ""
        if one and other and one.kind == other.kind:
            direction = direction_of(books[1], after, limit, one.value, other.value)
            looser |= direction == LOOSER
        details += _limit_details(limit, one, other, direction)
    details += _wording(before, after)
    if details:
        yield RuleChange(workspace, "rule", name, CHANGED, tuple(details), looser)


def _limits(rule: AnyRule) -> Mapping[str, Limit]:
    return {} if isinstance(rule, AcrossRule) else rule.limits


def _limit_details(
    name: str, before: Limit | None, after: Limit | None, direction: str
) -> Iterator[str]:
    one, other = (each.text if each else "none" for each in (before, after))
    if one != other:
        said = f"limit {name} {one}, now {other}"
        yield f"{said}: {direction}" if direction else said


def _wording(before: AnyRule, after: AnyRule) -> Iterator[str]:
    """Say which formulas and texts of a rule are others."""
    ones, others = _texts(before), _texts(after)
    for part in {**ones, **others}:
        one, other = ones.get(part, ""), others.get(part, "")
        if one == other:
            continue
        if part in FORMULAS:
            yield f"{part}: {one or 'none'}, now {other or 'none'}"
        else:
            yield f"another {part}"


FORMULAS = ("accept", "applies", "across", "effect")
"""The parts of a rule that judge, which are told as they are written."""


def _texts(rule: AnyRule) -> dict[str, str]:
    texts = {"question": rule.asks, "basis": repr(rule.basis)}
    if isinstance(rule, ReadingRule):
        return {**texts, "remedy": rule.remedy}
    applies = rule.applies.text if rule.applies else ""
    effect = rule.effect
    texts |= {
        "applies": _flat(applies),
        "effect": f"{effect.of}: {_flat(effect.formula.text)}" if effect else "",
        "finding": rule.finding.text,
        "remedy": rule.remedy.text,
        "settings": ", ".join(rule.settings),
        "proof": repr(rule.proofs),
    }
    if isinstance(rule, MeterRule):
        return {"accept": _flat(rule.accept.text), **texts}
    shared = f"same {', '.join(rule.same)}"
    agreed = f", agree {rule.agree}" if rule.agree else ""
    return {"across": f"{rule.scope}, {shared}{agreed}", **texts}


def _flat(text: str) -> str:
    return " ".join(text.split())


def _quantity_details(
    before: DerivedQuantity | None, after: DerivedQuantity | None
) -> tuple[str, ...]:
    if before is None or after is None:
        return ()
    parts = {
        "formula": (_flat(before.formula.text), _flat(after.formula.text)),
        "fallback": tuple(
            _flat(each.fallback.text) if each.fallback else "none"
            for each in (before, after)
        ),
        "unit": (before.unit or "none", after.unit or "none"),
    }
    return tuple(
        f"{part}: {one}, now {other}"
        for part, (one, other) in parts.items()
        if one != other
    )
