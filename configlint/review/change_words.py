"""Sentences about what a change changes of the files that judge it."""

from __future__ import annotations

from collections.abc import Iterator

from configlint.concessions import Concession
from configlint.review.concession_changes import ConcessionChange
from configlint.review.differences import Differences
from configlint.review.limit_changes import LimitChange
from configlint.review.rule_changes import RuleChange

__all__ = ["change_sentences", "concession_words", "limit_words", "rule_words"]


def change_sentences(differences: Differences) -> Iterator[str]:
    """Say what has changed: concessions first, then what is looser, then the rest."""
    yield from map(concession_words, differences.concessions)
    rules = sorted(differences.rules, key=lambda each: not each.looser)
    yield from map(rule_words, rules)
    yield from map(limit_words, differences.limits)


def concession_words(change: ConcessionChange) -> str:
    """Say what has become of a concession, who grants it, until when, and why."""
    told = change.aim
    what = f"Concession {told.told}, {change.change}"
    if change.before is None or change.after is None:
        was = "It was c" if change.after is None else "C"
        return f"{what}. {was}{told.words[1:]}."
    parts = "; ".join(_parts(change.before, change.after))
    return f"{what}: {parts}. {told.words}."


def _parts(before: Concession, after: Concession) -> Iterator[str]:
    """Say which terms of a concession are others."""
    terms = (
        ("until", before.expires_on or "no day", after.expires_on or "no day"),
        ("from", before.granted_on, after.granted_on),
        ("granted by", before.granted_by, after.granted_by),
        ("reason", before.reason, after.reason),
        ("while", _bounds(before), _bounds(after)),
    )
    for name, one, other in terms:
        if one != other:
            yield f"{name} {one}, now {other}"


def _bounds(concession: Concession) -> str:
    bounds = (f"{each.path} is {each.text}" for each in concession.bounds)
    return " and ".join(bounds) or "anything"


def rule_words(change: RuleChange) -> str:
    """Say what has become of a rule or a quantity, part by part.

    >>> rule_words(RuleChange("plant", "rule", "own-damping", "removed", (), True))
    'Rule own-damping removed (looser)'
    """
    looser = " (looser)" if change.looser else ""
    details = f": {'; '.join(change.details)}" if change.details else ""
    what = change.what.capitalize()
    return f"{what} {change.name} {change.change}{looser}{details}"


def limit_words(limit: LimitChange) -> str:
    """Say how a policy's limit has changed, and which way where that is known."""
    where = limit.site or limit.workspace
    before, after = limit.before or "the standard", limit.after or "the standard"
    direction = f" ({limit.direction})" if limit.direction else ""
    reason = f": {limit.reason}" if limit.reason else ""
    said = f"{limit.rule}, {limit.limit} at {where}: {before}, now {after}"
    return f"{said}{direction}{reason}"
