"""Which findings of two sides are one: by fingerprint, or of a meter that has moved.

A fingerprint holds the workspace, the site and the tag, and for a fault of no meter the
file. Where one of these has changed, the findings follow the meter or the file.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from configlint.effects import rounded
from configlint.findings import Amount, Finding
from configlint.review.sides import Judged
from configlint.units import DIMENSIONLESS, unit_named

__all__ = [
    "Follow",
    "Kept",
    "Matched",
    "is_reopened",
    "match_findings",
    "plain_value",
]

Identity = tuple[str, ...]


class Follow(NamedTuple):
    """What things of the earlier side are on the later one, where that has changed.

    `meters` leads from workspace, site and tag to the same of the later side, `files`
    from key to key.
    """

    meters: Mapping[tuple[str, str, str], tuple[str, str, str]]
    files: Mapping[str, str]


Kept = tuple[Finding, Finding]
"""A finding as it was and as it is."""


class Matched(NamedTuple):
    """The findings that are new, those that are gone, and those on both sides."""

    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]
    kept: tuple[Kept, ...]

    def without(self, excused: Collection[str]) -> Matched:
        """Take those on both sides for gone that only an excuse takes away.

        `excused` are their fingerprints on the later side. The rules that a change
        brings may be the right ones, so what was there before holds nothing.
        """
        gone = [one for one, other in self.kept if other.fingerprint in excused]
        kept = [each for each in self.kept if each[1].fingerprint not in excused]
        return Matched(self.new, (*self.gone, *gone), tuple(kept))


def is_reopened(kept: Kept) -> bool:
    """Whether a finding was conceded, and is to be closed now."""
    one, other = kept
    return other.is_open and not one.is_open


def match_findings(before: Judged, after: Judged, follow: Follow) -> Matched:
    """Tell which findings of the later side are new, and which are gone."""
    earlier = {each.fingerprint: each for each in before.report.findings}
    later = {each.fingerprint: each for each in after.report.findings}
    kept = [(earlier[key], each) for key, each in later.items() if key in earlier]
    gone = [each for key, each in earlier.items() if key not in later]
    waiting: dict[Identity, list[Finding]] = defaultdict(list)
    for each, identity in zip(gone, _identities(gone, before, follow), strict=True):
        waiting[identity].append(each)
    new = []
    come = [each for key, each in later.items() if key not in earlier]
    nothing = Follow({}, {})
    for each, identity in zip(come, _identities(come, after, nothing), strict=True):
        if waiting[identity]:
            kept.append((waiting[identity].pop(0), each))
        else:
            new.append(each)
    followed = {one.fingerprint for one, _ in kept}
    lost = (each for each in gone if each.fingerprint not in followed)
    return Matched(tuple(new), tuple(lost), tuple(kept))


def _identities(
    findings: Iterable[Finding], judged: Judged, follow: Follow
) -> Iterator[Identity]:
    """Say what each finding is of, on the later side, and by which rule."""
    reading, keys = judged.reading_rules, judged.keys
    for finding in findings:
        subject = finding.subject
        own = (subject.workspace, subject.site, subject.meter)
        owner: Identity = follow.meters.get(own, own)
        if not subject.meter:
            key = keys.get(subject.file, subject.file)
            owner = (follow.files.get(key, key),)
        steps = _steps(finding.pointer) if finding.rule in reading else ""
        yield (*owner, finding.rule, steps)


def plain_value(value: Amount | str | bool | None) -> str:
    """Write a value of a finding as one text for all spellings of an amount.

    >>> plain_value(Amount(0.15, "m")) == plain_value(Amount(150.0, "mm"))
    True
    """
    if not isinstance(value, Amount):
        return str(value)
    unit = unit_named(value.unit) if value.unit else DIMENSIONLESS
    return str(rounded(value.value * float(unit.factor) + float(unit.offset)))


def _steps(pointer: str) -> str:
    """Give the keys of a pointer without what numbers the meters of a file.

    >>> _steps("/meters/3/sensor/bore"), _steps("/sensor/bore")
    ('/sensor/bore', '/sensor/bore')
    """
    steps = pointer.split("/")
    rest = steps[3:] if steps[1:2] == ["meters"] else steps[1:]
    return "".join(f"/{step}" for step in rest if not step.isdigit())
