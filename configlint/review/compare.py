"""Two states of the same files compared: settings, what follows, findings, and rules.

Both sides are judged, each by its own rules unless others are asked for. A meter is
followed to another file, site or tag, and so are its findings, so that what is told as
new is new.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from configlint.findings import CATEGORIES, Finding
from configlint.report import BY_CONCESSION, BY_RULES, Commit
from configlint.review.changes import (
    MeterChange,
    Move,
    Reviewer,
    stale_revision,
)
from configlint.review.differences import NOTHING_OWN, Own, differences
from configlint.review.excuses import Excused, find_excused, without_excuses
from configlint.review.groups import Group, Homes, altered_findings, make_groups
from configlint.review.matching import Follow, Matched, is_reopened, match_findings
from configlint.review.pairing import Card, Pairs, pair_cards
from configlint.review.sides import Judged
from configlint.review.standards import standards_of
from configlint.rules import Edition
from configlint.workspace import LeftOut

__all__ = [
    "Compared",
    "Comparison",
    "OwnChange",
    "Trial",
    "changed_keys",
    "compare",
    "find_followed",
    "own_changes",
]


class Compared(NamedTuple):
    """A side as reports name it, and what judged it."""

    told: str
    commit: Commit | None
    editions: tuple[Edition, ...]
    meters: int
    files: int


class OwnChange(NamedTuple):
    """A file by which a workspace judges: `change` is added, removed or changed."""

    file: str
    kind: str
    change: str


class Trial(NamedTuple):
    """A finding that the change excuses by itself, and whether it is new.

    `counts` says that it counts as if it were not excused: one that is conceded, or
    that the change brings, unless what excuses it is accepted.
    """

    excused: Excused
    is_new: bool
    counts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All that has changed between two sides.

    `groups` tell the same as `meters` and the findings, meter by meter. `kept` are the
    findings on both sides, each as it was and as it is; `rules` is the revision whose
    rules judged both, where not each was judged by its own. `trials` are the findings
    that the change excuses by its own rules or concessions, `trusted` says that these
    are accepted. `passed` are the fingerprints of those gone that only the change's own
    rules let pass. `judging` is how the sides' own rules differ, whichever judged.
    """

    before: Compared
    after: Compared
    meters: tuple[MeterChange, ...]
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]
    kept: tuple[tuple[Finding, Finding], ...]
    groups: tuple[Group, ...] = ()
    own: tuple[OwnChange, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    rules: Commit | None = None
    trials: tuple[Trial, ...] = ()
    passed: frozenset[str] = frozenset()
    trusted: bool = False
    judging: Own = NOTHING_OWN

    @property
    def changes_nothing(self) -> bool:
        """Whether a reviewer has nothing to look at."""
        told = (
            self.meters,
            self.new,
            self.gone,
            self.own,
            any(self.judging.differences),
        )
        return not any(told) and not self.altered

    @property
    def excuses(self) -> dict[str, tuple[str, ...]]:
        """By fingerprint, what the change excuses findings by, those that count."""
        return {
            each.excused.finding.fingerprint: each.excused.by
            for each in self.trials
            if each.counts
        }

    @property
    def altered(self) -> tuple[tuple[Finding, Finding], ...]:
        """The findings on both sides with other figures, or conceded on one of them."""
        return altered_findings(self.kept, self.excuses)

    @property
    def new_by_category(self) -> dict[str, int]:
        """How many findings there are to close of each category that there were not."""
        counts = Counter(each.category for each in self.to_close)
        return {category: counts[category] for category in CATEGORIES}

    @property
    def to_close(self) -> tuple[Finding, ...]:
        """The findings to be closed that did not have to be before.

        They are the new ones that are not conceded, those no longer conceded, and
        those that only this change concedes.
        """
        excuses = self.excuses
        reopened = (
            each[1]
            for each in self.kept
            if is_reopened(each) or each[1].fingerprint in excuses
        )
        return (*(each for each in self.new if each.is_open), *reopened)

    def held(self, hold_at: str) -> bool:
        """Whether one to close is of the hold's category or a more urgent one.

        `hold_at` is A, B, C or never.
        """
        if hold_at == "never":
            return False
        return any(each.category <= hold_at for each in self.to_close)


def compare(
    before: Judged, after: Judged, trusted: bool = False, own: Own | None = None
) -> Comparison:
    """Compare two judged sides, whose files can still be read.

    What only the later side's own rules or concessions excuse counts, unless they are
    `trusted`. `own` is how what judges the sides differs, where they were judged by
    something else.
    """
    pairs = _pairs(before, after)
    follow = _follow(before, after, pairs)
    excused = find_excused(before, after)
    matched, trials, passed = _matched(before, after, follow, excused, trusted)
    meters = tuple(sorted(_meters(before, after, pairs, follow), key=_owner))
    counted = {each.excused.finding.fingerprint for each in trials if each.counts}
    if own is None:
        own = Own(differences(standards_of(before), standards_of(after)))
    return Comparison(
        before=_compared(before),
        after=_compared(after),
        meters=meters,
        new=matched.new,
        gone=matched.gone,
        kept=matched.kept,
        groups=make_groups(meters, matched, Homes(before, after, follow), counted),
        own=tuple(own_changes(before, after)),
        left_out=_left_out(before, after),
        rules=after.side.rules,
        trials=trials,
        passed=passed,
        trusted=trusted,
        judging=own,
    )


def _matched(
    before: Judged,
    after: Judged,
    follow: Follow,
    excused: tuple[Excused, ...],
    trusted: bool,
) -> tuple[Matched, tuple[Trial, ...], frozenset[str]]:
    """Match the findings, as they stand without what the change excuses them by.

    The last are the fingerprints of those that only the change's own rules let pass.
    """
    plain = match_findings(before, without_excuses(after, excused), follow)
    new = {each.fingerprint for each in plain.new}
    trials = tuple(_trial(each, new, trusted) for each in excused)
    let_pass = {
        each.excused.finding.fingerprint
        for each in trials
        if BY_RULES in each.excused.by and not each.is_new
    }
    passed = frozenset(
        one.fingerprint for one, other in plain.kept if other.fingerprint in let_pass
    )
    if trusted:
        return match_findings(before, after, follow), trials, passed
    return plain.without(let_pass), trials, passed


def _trial(excused: Excused, new: Collection[str], trusted: bool) -> Trial:
    is_new = excused.finding.fingerprint in new
    counts = is_new or BY_CONCESSION in excused.by
    return Trial(excused, is_new, counts and not trusted)


def changed_keys(before: Judged, after: Judged) -> frozenset[str]:
    """Name the files that hold something else, or belong to something else."""
    same = {
        key
        for key in before.sources.keys() & after.sources.keys()
        if before.digests[key] == after.digests[key]
        and _belonging(before, key) == _belonging(after, key)
    }
    return frozenset(before.sources.keys() | after.sources.keys()) - same


def _belonging(judged: Judged, key: str) -> tuple[str, str]:
    source = judged.sources[key]
    return source.workspace.name, source.site.name if source.site else ""


def find_followed(before: Judged, after: Judged) -> Follow:
    """Tell which meters and files of one side are elsewhere on the other."""
    return _follow(before, after, _pairs(before, after))


def _pairs(before: Judged, after: Judged) -> Pairs:
    """Pair the meters of the files that have changed; all others are what they were."""
    keys = changed_keys(before, after)
    ones, others = (
        [Card(placed) for placed in judged.lay_out(keys)] for judged in (before, after)
    )
    return pair_cards(ones, others)


def _follow(before: Judged, after: Judged, pairs: Pairs) -> Follow:
    meters = {
        one.identity: other.identity
        for one, other in pairs.both
        if one.identity != other.identity
    }
    files = {
        one.placed.key: other.placed.key
        for one, other in pairs.both
        if one.placed.key != other.placed.key
    }
    return Follow(meters, {**dict(_renamed(before, after)), **files})


def _renamed(before: Judged, after: Judged) -> Iterator[tuple[str, str]]:
    """Find files that are the only ones of their content on sides where they are alone.

    They may hold nothing that can be read.
    """
    gone = _alone(before.digests, after.digests)
    come = _alone(after.digests, before.digests)
    for digest, key in gone.items():
        if digest in come:
            yield key, come[digest]


def _alone(digests: Mapping[str, str], others: Mapping[str, str]) -> dict[str, str]:
    """Give the files that only one side has, by their content, where that is theirs."""
    keys = [key for key in digests if key not in others]
    counts = Counter(digests[key] for key in keys)
    return {digests[key]: key for key in keys if counts[digests[key]] == 1}


def _meters(
    before: Judged, after: Judged, pairs: Pairs, follow: Follow
) -> Iterator[MeterChange]:
    reviewers: dict[int, Reviewer] = {}
    for one, other in pairs.both:
        book = other.laid.book
        reviewer = reviewers.setdefault(id(book), Reviewer(book))
        moves = tuple(_moves(one, other))
        settings, readings = reviewer.review(one, other)
        if moves or settings:
            stale = stale_revision(one, other, settings)
            subject = other.laid.subject
            yield MeterChange(
                subject, "changed", moves, settings, False, readings, stale
            )
    back = {later: earlier for earlier, later in follow.files.items()}
    for card in pairs.before:
        key = follow.files.get(card.placed.key, card.placed.key)
        unread = _is_unread(card, after, key)
        yield MeterChange(card.laid.subject, "removed", unread=unread)
    for card in pairs.after:
        key = back.get(card.placed.key, card.placed.key)
        unread = _is_unread(card, before, key)
        yield MeterChange(card.laid.subject, "added", unread=unread)


def _is_unread(card: Card, other: Judged, key: str) -> bool:
    """Whether a meter's file is on the other side, with a fault that may hide it."""
    source = other.sources.get(key)
    if source is None:
        return False
    return any(
        each.rule in other.reading_rules
        and each.subject.file == source.file
        and each.subject.meter in ("", card.laid.subject.meter)
        for each in other.report.findings
    )


def _moves(one: Card, other: Card) -> Iterator[Move]:
    first, second = one.laid.subject, other.laid.subject
    if one.placed.key != other.placed.key:
        yield Move("file", first.file, second.file)
    if first.site != second.site:
        yield Move("site", first.site, second.site)
    if first.workspace != second.workspace:
        yield Move("workspace", first.workspace, second.workspace)


def _owner(change: MeterChange) -> tuple[str, str, str, str, str]:
    subject = change.subject
    return (
        subject.workspace,
        subject.site,
        subject.meter,
        subject.file,
        change.kind,
    )


def own_changes(before: Judged, after: Judged) -> Iterator[OwnChange]:
    """Say which of the files that judge have come, gone or changed."""
    for key in sorted(before.own.keys() | after.own.keys()):
        one, other = before.own.get(key), after.own.get(key)
        if one is None or other is None:
            word = "added" if one is None else "removed"
        else:
            word = "" if one.digest == other.digest else "changed"
        own = other or one
        if own is not None and word:
            yield OwnChange(own.name, own.kind, word)


def _left_out(before: Judged, after: Judged) -> tuple[LeftOut, ...]:
    both = {*before.report.left_out, *after.report.left_out}
    return tuple(sorted(both))


def _compared(judged: Judged) -> Compared:
    report, side = judged.report, judged.side
    meters = len(report.meters)
    return Compared(side.told, side.commit, report.editions, meters, report.files)
