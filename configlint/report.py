"""What a run found: the findings, and what was assessed of every meter."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from configlint.effects import Effect
from configlint.engine import (
    CONCEDED,
    CONFORMS,
    NONCONFORMING,
    NOT_ASSESSED,
    OUTCOMES,
    Outcome,
)
from configlint.findings import CATEGORIES, Finding, Subject
from configlint.meters import UnreadMeter
from configlint.rules import AnyRule, Edition, ReadingRule
from configlint.workspace import LeftOut

__all__ = [
    "BY_CATEGORY",
    "BY_CONCESSION",
    "BY_RULES",
    "EXCUSES",
    "HOLDS",
    "Commit",
    "Cost",
    "Excuse",
    "ExcuseWords",
    "LeftOpen",
    "MeterResult",
    "Report",
    "Since",
    "meter_result",
]


HOLDS = (*CATEGORIES, "never")
"""What a run can be held at: a category and all more urgent ones, or nothing."""


class LeftOpen(NamedTuple):
    """A rule that could not be assessed, and the inputs it lacks."""

    rule: str
    missing: tuple[str, ...]


class MeterResult(NamedTuple):
    """One meter's outcomes, counted by word, and the rules left open.

    `met` holds the ids of the rules it conforms to, in the order they were asked.
    """

    subject: Subject
    outcomes: dict[str, int]
    left_open: tuple[LeftOpen, ...]
    met: tuple[str, ...] = ()


def meter_result(
    subject: Subject, outcomes: Iterable[Outcome], conceded: Container[str] = ()
) -> MeterResult:
    """Count a meter's outcomes; note which rules were left open and which are met.

    `conceded` are the ids of rules that it is conceded not to conform to.
    """
    counts = dict.fromkeys(OUTCOMES, 0)
    left_open = []
    met = []
    for outcome in outcomes:
        word = outcome.word
        if word == NONCONFORMING and outcome.rule.id in conceded:
            word = CONCEDED
        counts[word] += 1
        if word == CONFORMS:
            met.append(outcome.rule.id)
        elif word == NOT_ASSESSED:
            left_open.append(LeftOpen(outcome.rule.id, outcome.missing))
    return MeterResult(subject, counts, tuple(sorted(left_open)), tuple(met))


class Cost(NamedTuple):
    """What a meter's reading is off by, and an open finding that this comes from."""

    finding: Finding
    effect: Effect


class Commit(NamedTuple):
    """A revision as a user names it, and the digest of its commit."""

    revision: str
    digest: str

    @property
    def told(self) -> str:
        """The name for reports, with as much of the digest as tells it apart.

        >>> Commit("main", "0123456789abcdef0123456789abcdef01234567").told
        'main (0123456789)'
        """
        return f"{self.revision} ({self.digest[:10]})"


BY_CONCESSION = "concession"
BY_RULES = "rules"
BY_CATEGORY = "category"


class ExcuseWords(NamedTuple):
    """What is said of an excuse: at the head, in a count, at a finding and in it."""

    heading: str
    counted: str
    mark: str
    note: str


EXCUSES: Mapping[str, ExcuseWords] = {
    BY_CONCESSION: ExcuseWords(
        "Conceded by this very change",
        "conceded by this very change",
        "conceded by this very change",
        "Conceded by this very change, which does not count before it is accepted.",
    ),
    BY_RULES: ExcuseWords(
        "Let pass by the rules, policy or type sheets of this very change",
        "let pass by its own rules or policy",
        "let pass by the change's own rules",
        "Found by the rules from before this change. Those that it brings, its policy "
        "or its type sheets let it pass, which does not count before it is accepted.",
    ),
    BY_CATEGORY: ExcuseWords(
        "Made less urgent by the rules of this very change",
        "made less urgent by its own rules",
        "made less urgent by the change",
        "Of the category from before this change, which makes it less urgent. That "
        "does not count before it is accepted.",
    ),
}
"""By what a change can excuse a finding, in the order in which it is told."""


class Excuse(NamedTuple):
    """What a change excuses a finding by, one of `EXCUSES`.

    `told` says which finding it is, and who has conceded it. A finding has as many
    as there are ways in which the change excuses it.
    """

    fingerprint: str
    by: str
    told: str


class Since(NamedTuple):
    """What a run over changed files alone is since, and what is new since then.

    `base` is the revision's last commit in common with the files as they are, `new`
    names findings by their fingerprints, `judged` counts the files that were judged,
    so that rules across meters see all of them. `excuses` are of findings that the
    change would excuse by itself, `trusted` says that this is accepted; `changes` are
    those of rules, policy and concessions, a sentence each.
    """

    base: Commit
    new: tuple[str, ...]
    judged: int
    excuses: tuple[Excuse, ...] = ()
    trusted: bool = False
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """A whole run: sorted findings, sorted meters, and what was read.

    `not_judged` are the meters that could not be read far enough to be judged;
    `run_date` is the day that dates were judged as of; `rules` are the rules that
    judged, each once, in alphabetical order of their ids. `since` is given for a run
    over changed files alone, `rules_from` where another revision's rules judged.
    """

    editions: tuple[Edition, ...]
    meters: tuple[MeterResult, ...]
    findings: tuple[Finding, ...]
    files: int
    left_out: tuple[LeftOut, ...] = ()
    not_judged: tuple[UnreadMeter, ...] = ()
    run_date: date | None = None
    rules: tuple[AnyRule, ...] = field(default=(), compare=False)
    since: Since | None = None
    rules_from: Commit | None = None

    @property
    def new(self) -> frozenset[str]:
        """The fingerprints of what is new since a revision that was named."""
        return frozenset(self.since.new if self.since else ())

    @property
    def by_category(self) -> dict[str, int]:
        """How many findings there are of each category, without the conceded ones."""
        counts = Counter(finding.category for finding in self.open_findings)
        return {category: counts[category] for category in CATEGORIES}

    @property
    def open_findings(self) -> tuple[Finding, ...]:
        """The findings still to be closed, which are all but the conceded ones."""
        return tuple(finding for finding in self.findings if finding.is_open)

    @property
    def conceded(self) -> int:
        """How many findings are conceded."""
        return len(self.findings) - len(self.open_findings)

    @property
    def about_files(self) -> tuple[Finding, ...]:
        """The findings of rules about files, which reading enforces by itself."""
        names = {each.id for each in self.rules if isinstance(each, ReadingRule)}
        return tuple(each for each in self.findings if each.rule in names)

    @property
    def worst_first(self) -> tuple[Finding, ...]:
        """The findings by category, in each those of the largest effect first.

        An effect that is a share of a known net ranks by the net, behind the finding
        that tells it. Those that are conceded come behind all others.
        """
        return tuple(sorted(self.findings, key=_urgency))

    @property
    def costs(self) -> tuple[Cost, ...]:
        """What the open findings cost, by category, then the largest first.

        Where faults of a meter add up or cancel, their net stands for them as far as it
        is known: no fault is counted twice in one reading. A net comes from the finding
        that tells it, else from the worst of its shares.
        """
        costs = []
        counted: dict[tuple[Subject, str], set[str]] = {}
        for cost, faults in _costs(sorted(self.worst_first, key=_is_part)):
            known = counted.setdefault((cost.finding.subject, cost.effect.of), set())
            if known.isdisjoint(faults):
                known.update(faults)
                costs.append(cost)
        return tuple(sorted(costs, key=lambda cost: (cost[0].category, cost[1].rank)))

    @property
    def by_outcome(self) -> dict[str, int]:
        """How many outcomes there are of each word over all meters."""
        totals = dict.fromkeys(OUTCOMES, 0)
        for meter in self.meters:
            for word, count in meter.outcomes.items():
                totals[word] += count
        return totals

    @property
    def missing(self) -> tuple[tuple[str, int, int], ...]:
        """Each missing input with the meters and outcomes it leaves open.

        The input that leaves the most outcomes open comes first.
        """
        outcomes: Counter[str] = Counter()
        meters: dict[str, set[Subject]] = {}
        for meter in self.meters:
            for left_open in meter.left_open:
                for name in left_open.missing:
                    outcomes[name] += 1
                    meters.setdefault(name, set()).add(meter.subject)
        ranked = sorted(outcomes.items(), key=lambda item: (-item[1], item[0]))
        return tuple((name, len(meters[name]), count) for name, count in ranked)

    def held(self, hold_at: str) -> bool:
        """Whether an open finding is of the hold's category or a more urgent one.

        `hold_at` is A, B, C or never.
        """
        if hold_at == "never":
            return False
        return any(finding.category <= hold_at for finding in self.open_findings)


NO_EFFECT = (0.0, 0.0)


def _urgency(finding: Finding) -> tuple[bool, str, tuple[float, float], bool]:
    effect = finding.effect
    rank = NO_EFFECT if effect is None else effect.rank
    return not finding.is_open, finding.category, rank, _is_part(finding)


def _is_part(finding: Finding) -> bool:
    """Whether a finding's effect is a share of a net that is known."""
    return finding.effect is not None and bool(finding.effect.known_nets)


def _costs(findings: Iterable[Finding]) -> Iterator[tuple[Cost, tuple[str, ...]]]:
    """Give each open finding's cost, or its known nets, with what these count."""
    for finding in findings:
        effect = finding.effect
        if effect is None or not finding.is_open:
            continue
        if not _is_part(finding):
            yield Cost(finding, effect), (finding.rule, *effect.counts)
        for net in effect.nets:
            if net.effect is not None:
                yield Cost(finding, net.effect), net.counted
