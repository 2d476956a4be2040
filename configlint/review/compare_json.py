"""A comparison as JSON, byte-identical for the same two sides.

The typed dictionaries here are its shape; its JSON Schema is generated from them.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint import __version__
from configlint.findings import Amount
from configlint.outputs.json import (
    CLOSED,
    AmountObject,
    Category,
    FindingObject,
    HoldObject,
    LeftOutObject,
    RevisionObject,
    RuleSetObject,
    finding_object,
    revision_object,
    to_text,
)
from configlint.outputs.json_excuse import ExcuseObject, excuse_objects
from configlint.review.changes import Consequence, MeterChange, Setting
from configlint.review.compare import Compared, Comparison
from configlint.review.judging_json import ChangeWord, JudgingObject, judging_object
from configlint.review.words import excuses_of

__all__ = ["FORMAT", "ComparisonObject", "comparison_object", "write"]

FORMAT: Literal["configlint-comparison/1"] = "configlint-comparison/1"


@with_config(CLOSED)
class SideObject(TypedDict):
    """One of the two things compared."""

    name: str
    """What it is called."""
    revision: RevisionObject | None
    """The revision; null for files as they are now."""
    rulesets: list[RuleSetObject]
    """The rule sets that judged it."""
    meters: int
    """How many meters were judged."""
    files: int
    """How many files were read."""


@with_config(CLOSED)
class MoveObject(TypedDict):
    """What a meter belonged to, and belongs to now."""

    what: Annotated[
        str, WithJsonSchema({"type": "string", "enum": ["file", "site", "workspace"]})
    ]
    """What of it is another."""
    before: str
    """Its name before; empty where there was none."""
    after: str
    """Its name now; empty where there is none."""


@with_config(CLOSED)
class ConsequenceObject(TypedDict):
    """A quantity that is another through the changed setting."""

    quantity: str
    """Name of the quantity."""
    means: str
    """What it is."""
    before: AmountObject | None
    """What it was; null where that can't be computed."""
    after: AmountObject | None
    """What it is now; null where that can't be computed."""
    because: list[str]
    """The changed settings that it is computed from."""


@with_config(CLOSED)
class StayedObject(TypedDict):
    """A setting that was not changed with the changed one."""

    setting: str
    """Path of the setting."""
    value: str
    """What it still is."""
    rule: str
    """Id of the rule that compares the two, and does not conform now."""


@with_config(CLOSED)
class SettingObject(TypedDict):
    """A setting that is written otherwise."""

    setting: str
    """Path of the setting."""
    before: str | None
    """What was written; null where nothing was."""
    after: str | None
    """What is written now; null where nothing is."""
    same_value: bool
    """Whether both are exactly one amount, in two spellings."""
    consequences: list[ConsequenceObject]
    """What follows from it, told under the first setting that it is due to."""
    not_changed_with_it: list[StayedObject]
    """What a rule compares with it, and was not changed."""


@with_config(CLOSED)
class ReadingObject(TypedDict):
    """What reads, and what it was and is off by."""

    of: str
    """What reads."""
    quantity: str
    """Name of the quantity that tells it."""
    before: float
    """Its error before, as a share of the flow; more than 0 where it reads high."""
    after: float
    """Its error now."""


@with_config(CLOSED)
class MeterChangeObject(TypedDict):
    """A meter that has changed, or that is on one side alone."""

    meter: str
    """Tag of the meter."""
    site: str
    """Name of its site, empty where it belongs to none."""
    file: str
    """Name of its file."""
    change: ChangeWord
    """What has become of it."""
    unreadable: bool
    """Whether the other side has its file, with something that can't be read."""
    moves: list[MoveObject]
    """What it belonged to before, where that is another."""
    settings: list[SettingObject]
    """The settings that are written otherwise."""
    readings: list[ReadingObject]
    """What the changed settings make of the meter's net reading."""
    revision_not_raised: str | None
    """The revision of its records that stayed though settings did not; null else."""


@with_config(CLOSED)
class AlteredObject(TypedDict):
    """A finding on both sides with other figures, or conceded on one of them."""

    before: FindingObject
    """What it was."""
    after: FindingObject
    """What it is now."""


@with_config(CLOSED)
class FindingsObject(TypedDict):
    """The findings of both sides."""

    new: list[FindingObject]
    """Those that were not there before."""
    gone: list[FindingObject]
    """Those that are no longer there."""
    altered: list[AlteredObject]
    """Those on both sides with other figures, or conceded on one of them."""
    unchanged: list[str]
    """Fingerprints of all others, as they are now."""


@with_config(CLOSED)
class ComparisonObject(TypedDict):
    """Two states of the same files compared."""

    format: Literal["configlint-comparison/1"]
    """The report's format and its version."""
    version: str
    """Version of configlint."""
    before: SideObject
    """The earlier side."""
    after: SideObject
    """The later side."""
    rules_from: RevisionObject | None
    """The revision whose rules judged both; null where each was judged by its own."""
    hold: HoldObject
    """Whether a new finding holds the comparison."""
    new_by_category: dict[Category, int]
    """How many there are to close of each category that did not have to be before."""
    meters: list[MeterChangeObject]
    """The meters that have changed, by workspace, site and tag."""
    findings: FindingsObject
    """Which findings are new, which are gone, and which are on both sides."""
    judging: JudgingObject
    """What has changed of rules, policies, sites, type sheets and concessions."""
    excuses: list[ExcuseObject]
    """The findings that the change would excuse by itself, by its own concessions,
    rules or policy."""
    trusted: bool
    """Whether it was asked for to accept these excuses; else they do not count."""
    left_out: list[LeftOutObject]
    """The files that were not read."""


def write(comparison: Comparison, hold_at: str) -> str:
    """Write the comparison as one JSON object, ending in a line feed."""
    return to_text(comparison_object(comparison, hold_at))


def comparison_object(comparison: Comparison, hold_at: str) -> ComparisonObject:
    """Give the comparison as plain dicts and lists, in the order of its schema."""
    rules = comparison.rules
    return {
        "format": FORMAT,
        "version": __version__,
        "before": _side(comparison.before),
        "after": _side(comparison.after),
        "rules_from": None if rules is None else revision_object(rules),
        "hold": {"at": hold_at, "held": comparison.held(hold_at)},
        "new_by_category": comparison.new_by_category,
        "meters": [_meter(each) for each in comparison.meters],
        "findings": _findings(comparison),
        "judging": judging_object(comparison),
        "excuses": excuse_objects(excuses_of(comparison)),
        "trusted": comparison.trusted,
        "left_out": [
            {"file": each.file, "reason": each.reason} for each in comparison.left_out
        ],
    }


def _side(side: Compared) -> SideObject:
    return {
        "name": side.told,
        "revision": None if side.commit is None else revision_object(side.commit),
        "rulesets": [
            {"name": each.name, "edition": each.edition, "digest": each.digest}
            for each in side.editions
        ],
        "meters": side.meters,
        "files": side.files,
    }


def _meter(change: MeterChange) -> MeterChangeObject:
    return {
        "meter": change.subject.meter,
        "site": change.subject.site,
        "file": change.subject.file,
        "change": change.kind,
        "unreadable": change.unread,
        "moves": [
            {"what": move.what, "before": move.before, "after": move.after}
            for move in change.moves
        ],
        "settings": [_setting(setting) for setting in change.settings],
        "readings": [
            {
                "of": each.of,
                "quantity": each.quantity,
                "before": each.before,
                "after": each.after,
            }
            for each in change.readings
        ],
        "revision_not_raised": change.revision or None,
    }


def _setting(setting: Setting) -> SettingObject:
    return {
        "setting": setting.path,
        "before": setting.before or None,
        "after": setting.after or None,
        "same_value": setting.same_value,
        "consequences": [_consequence(each) for each in setting.consequences],
        "not_changed_with_it": [
            {"setting": each.path, "value": each.value, "rule": each.rule}
            for each in setting.stayed
        ],
    }


def _consequence(consequence: Consequence) -> ConsequenceObject:
    return {
        "quantity": consequence.quantity,
        "means": consequence.means,
        "before": _amount(consequence.before),
        "after": _amount(consequence.after),
        "because": list(consequence.because),
    }


def _amount(amount: Amount | None) -> AmountObject | None:
    return None if amount is None else {"value": amount.value, "unit": amount.unit}


def _findings(comparison: Comparison) -> FindingsObject:
    altered = {other.fingerprint for _, other in comparison.altered}
    kept = (other.fingerprint for _, other in comparison.kept)
    return {
        "new": [finding_object(each) for each in comparison.new],
        "gone": [finding_object(each) for each in comparison.gone],
        "altered": [
            {"before": finding_object(one), "after": finding_object(other)}
            for one, other in comparison.altered
        ],
        "unchanged": [each for each in kept if each not in altered],
    }
