"""The shape of what changes of the files that judge, in the JSON of a comparison."""

from __future__ import annotations

from typing import Annotated

from pydantic import WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint.concessions import Concession
from configlint.outputs.json import CLOSED
from configlint.review.compare import Comparison
from configlint.review.concession_changes import ConcessionChange
from configlint.review.limit_changes import LimitChange
from configlint.review.rule_changes import RuleChange

__all__ = ["ChangeWord", "JudgingObject", "judging_object"]

ChangeWord = Annotated[
    str, WithJsonSchema({"type": "string", "enum": ["added", "removed", "changed"]})
]
ConcessionWord = Annotated[
    str,
    WithJsonSchema(
        {"type": "string", "enum": ["added", "removed", "changed", "extended"]}
    ),
]
RulePart = Annotated[
    str, WithJsonSchema({"type": "string", "enum": ["rule", "quantity"]})
]
Direction = Annotated[
    str, WithJsonSchema({"type": "string", "enum": ["looser", "tighter", ""]})
]


@with_config(CLOSED)
class OwnFileObject(TypedDict):
    """A file by which a workspace judges."""

    file: str
    """Name of the file."""
    kind: str
    """What it is."""
    change: ChangeWord
    """What has become of it."""


@with_config(CLOSED)
class TermsObject(TypedDict):
    """On which terms something is conceded."""

    reason: str
    """Why the meter may be used as it is."""
    granted_by: str
    """Who has granted it."""
    granted_on: str
    """First day on which it holds."""
    expires_on: str | None
    """Last day on which it holds; null where it has no end."""
    bounds: dict[str, str]
    """Values, by path, with which alone it is conceded (`while` in the file)."""


@with_config(CLOSED)
class ConcessionChangeObject(TypedDict):
    """A concession that is another."""

    workspace: str
    """Name of the workspace."""
    change: ConcessionWord
    """What has become of it; extended where its last day is a later one."""
    rule: str
    """Id of the rule."""
    meter: str
    """Tag of the meter, with * for any characters; empty for any."""
    site: str
    """Name of the site, with * for any characters; empty for any."""
    fingerprint: str
    """Fingerprint of the one finding that is meant; empty for any of the rule."""
    before: TermsObject | None
    """Its terms before; null where it is added."""
    after: TermsObject | None
    """Its terms now; null where it is removed."""


@with_config(CLOSED)
class RuleChangeObject(TypedDict):
    """A rule of a workspace's own, or a quantity, that is another."""

    workspace: str
    """Name of the workspace."""
    what: RulePart
    """What it is."""
    name: str
    """Id of the rule, or name of the quantity."""
    change: ChangeWord
    """What has become of it."""
    details: list[str]
    """What is another about it, in words."""
    looser: bool
    """Whether it certainly lets more pass than before."""


@with_config(CLOSED)
class LimitObject(TypedDict):
    """A limit of a policy that is another, or has another reason."""

    workspace: str
    """Name of the workspace."""
    site: str
    """Name of the site; empty for a limit of the whole workspace."""
    rule: str
    """Id of the rule."""
    limit: str
    """Name of the limit."""
    before: str | None
    """The limit before; null where the policy did not name it."""
    after: str | None
    """The limit now; null where the policy does not name it."""
    reason: str
    """Why, as it is written now."""
    direction: Direction
    """Whether it lets more pass than before; empty where the rule does not tell."""


@with_config(CLOSED)
class JudgingObject(TypedDict):
    """What has changed of the files that judge, whether or not they judged here."""

    files: list[OwnFileObject]
    """The files."""
    concessions: list[ConcessionChangeObject]
    """The concessions."""
    rules: list[RuleChangeObject]
    """The rules and quantities of the workspaces' own."""
    limits: list[LimitObject]
    """The limits of policies."""
    not_taken: list[str]
    """Why the sides' own rules can't be taken and so not be compared, if so."""


def judging_object(comparison: Comparison) -> JudgingObject:
    """Give what has changed of the files that judge as plain dicts and lists."""
    differences, untaken = comparison.judging
    return {
        "files": [
            {"file": own.file, "kind": own.kind, "change": own.change}
            for own in comparison.own
        ],
        "concessions": [_concession(each) for each in differences.concessions],
        "rules": [_rule(each) for each in differences.rules],
        "limits": [_limit(each) for each in differences.limits],
        "not_taken": list(untaken),
    }


def _concession(change: ConcessionChange) -> ConcessionChangeObject:
    aim = change.aim
    return {
        "workspace": change.workspace,
        "change": change.change,
        "rule": aim.rule,
        "meter": aim.meter,
        "site": aim.site,
        "fingerprint": aim.fingerprint,
        "before": _terms(change.before),
        "after": _terms(change.after),
    }


def _terms(concession: Concession | None) -> TermsObject | None:
    if concession is None:
        return None
    last = concession.expires_on
    return {
        "reason": concession.reason,
        "granted_by": concession.granted_by,
        "granted_on": concession.granted_on.isoformat(),
        "expires_on": None if last is None else last.isoformat(),
        "bounds": {bound.path: bound.text for bound in concession.bounds},
    }


def _rule(change: RuleChange) -> RuleChangeObject:
    return {
        "workspace": change.workspace,
        "what": change.what,
        "name": change.name,
        "change": change.change,
        "details": list(change.details),
        "looser": change.looser,
    }


def _limit(limit: LimitChange) -> LimitObject:
    return {
        "workspace": limit.workspace,
        "site": limit.site,
        "rule": limit.rule,
        "limit": limit.limit,
        "before": limit.before or None,
        "after": limit.after or None,
        "reason": limit.reason,
        "direction": limit.direction,
    }
