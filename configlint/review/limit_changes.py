"""Which limits of policies a change sets, drops or moves, and which way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from configlint.policy import changed_limits
from configlint.review.loosening import direction_of
from configlint.review.standards import Standard, name_of
from configlint.rules import AcrossRule

__all__ = ["LimitChange", "limit_changes"]

PolicyKey = tuple[str, str, str]
"""Site, rule and limit; no site for what holds for all of them."""


class LimitChange(NamedTuple):
    """A limit of a policy on each side, "" where no policy names it, and the reason.

    Without a site it is that of a whole workspace. `direction` is looser or tighter,
    "" where it is neither, or where the rule's proofs do not tell.
    """

    workspace: str
    site: str
    rule: str
    limit: str
    before: str
    after: str
    reason: str
    direction: str = ""


class _PolicyLimit(NamedTuple):
    """A limit as a policy has it, in SI, and why."""

    text: str
    value: float
    reason: str


def limit_changes(
    one: Standard | None, other: Standard | None
) -> Iterator[LimitChange]:
    """Say which limits the policies of a workspace and its sites set otherwise."""
    before, after = _policy_limits(one), _policy_limits(other)
    for key in sorted(before.keys() | after.keys()):
        earlier, later = before.get(key), after.get(key)
        if (earlier and earlier[::2]) == (later and later[::2]):
            continue
        texts = (earlier.text if earlier else "", later.text if later else "")
        reason = later.reason if later else ""
        direction = _direction(key, (one, other), (before, after))
        yield LimitChange(name_of(one, other), *key, *texts, reason, direction)


def _policy_limits(standard: Standard | None) -> dict[PolicyKey, _PolicyLimit]:
    """Give the limits of a workspace's policies, each of the policy that names it."""
    if standard is None:
        return {}
    workspace, book = standard.workspace, standard.book
    policies = [("", changed_limits(book, workspace.policy))]
    policies += [
        (site.name, changed_limits(book, (), site.policy)) for site in workspace.sites
    ]
    return {
        (site, rule, name): _PolicyLimit(
            changed.limit.text, changed.limit.value, changed.reason
        )
        for site, changes in policies
        for rule, limits in changes.items()
        for name, changed in limits.items()
    }


def _direction(
    key: PolicyKey,
    standards: tuple[Standard | None, Standard | None],
    limits: tuple[Mapping[PolicyKey, _PolicyLimit], ...],
) -> str:
    """Say which way the limit moves that judges, whoever sets it on either side."""
    _, rule_id, name = key
    book = next(each.book for each in reversed(standards) if each)
    rule = next((each for each in book.all_rules if each.id == rule_id), None)
    if rule is None or isinstance(rule, AcrossRule) or name not in rule.limits:
        return ""
    standard = rule.limits[name].value
    one, other = (_value(key, each, standard) for each in limits)
    return direction_of(book, rule, name, one, other)


def _value(
    key: PolicyKey, limits: Mapping[PolicyKey, _PolicyLimit], standard: float
) -> float:
    """Give the limit of a site: its own, else the workspace's, else the standard."""
    own = limits.get(key) or limits.get(("", *key[1:]))
    return own.value if own else standard
