"""What has changed, gathered under the meter that it is told of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from typing import NamedTuple

from configlint.findings import Finding, Subject
from configlint.review.changes import MeterChange
from configlint.review.matching import Follow, Kept, Matched, plain_value
from configlint.review.sides import Judged

__all__ = ["Group", "Homes", "altered_findings", "make_groups"]


class Group(NamedTuple):
    """What has changed of one meter, or of a file without one.

    `altered` are findings on both sides that rest on other figures now, that are
    conceded now, or no longer.
    """

    subject: Subject
    change: MeterChange | None
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]
    altered: tuple[Kept, ...]


class Homes(NamedTuple):
    """Where a thing of the earlier side is told: at what it is now, if it still is."""

    before: Judged
    after: Judged
    follow: Follow

    def of(self, subject: Subject) -> Subject:
        """Give the subject under which something of the earlier side is told."""
        own = (subject.workspace, subject.site, subject.meter)
        workspace, site, meter = self.follow.meters.get(own, own)
        key = self.before.keys.get(subject.file, "")
        source = self.after.sources.get(self.follow.files.get(key, key))
        file = subject.file if source is None else source.file
        return Subject(workspace, site, meter, file)


def make_groups(
    meters: Iterable[MeterChange],
    matched: Matched,
    homes: Homes,
    excused: Collection[str] = (),
) -> tuple[Group, ...]:
    """Gather what is to be told under one heading, sorted by workspace, site, tag.

    `excused` are fingerprints that are told as other than before in any case.
    """
    changes: dict[Subject, MeterChange] = {}
    new: dict[Subject, list[Finding]] = defaultdict(list)
    gone: dict[Subject, list[Finding]] = defaultdict(list)
    altered: dict[Subject, list[Kept]] = defaultdict(list)
    for change in meters:
        earlier = change.kind == "removed"
        changes[_key(homes.of(change.subject) if earlier else change.subject)] = change
    for finding in matched.new:
        new[_key(finding.subject)].append(finding)
    for finding in matched.gone:
        gone[_key(homes.of(finding.subject))].append(finding)
    for kept in altered_findings(matched.kept, excused):
        altered[_key(kept[1].subject)].append(kept)
    return tuple(
        Group(
            subject,
            changes.get(subject),
            tuple(new[subject]),
            tuple(gone[subject]),
            tuple(altered[subject]),
        )
        for subject in sorted({*changes, *new, *gone, *altered})
    )


def _key(subject: Subject) -> Subject:
    """A file without a meter is known by its name alone."""
    return subject._replace(home="")


def altered_findings(
    kept: Iterable[Kept], excused: Collection[str] = ()
) -> tuple[Kept, ...]:
    """Give the findings that rest on other figures now, or are conceded or not.

    `excused` are fingerprints of some that are given in any case.
    """
    return tuple(
        (one, other)
        for one, other in kept
        if _figures(one) != _figures(other) or other.fingerprint in excused
    )


def _figures(finding: Finding) -> tuple[str, bool, dict[str, str]]:
    """What a finding rests on; its sentence may name files and lines as well."""
    amounts = {**finding.values, **finding.limits}
    figures = {name: plain_value(each) for name, each in amounts.items()}
    return finding.category, finding.is_open, figures
