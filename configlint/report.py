"""What a run found: the findings, and what was assessed of every meter."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from configlint.engine import (
    CONCEDED,
    CONFORMS,
    NONCONFORMING,
    NOT_ASSESSED,
    OUTCOMES,
    Outcome,
)
from configlint.findings import CATEGORIES, Finding, Subject
from configlint.rules import AnyRule, Edition
from configlint.workspace import LeftOut

__all__ = [
    "HOLDS",
    "Commit",
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


class Since(NamedTuple):
    """What a run over changed files alone is since, and what is new since then.

    `base` is the revision's last commit in common with the files as they are, `new`
    names findings by their fingerprints, `judged` counts the files that were judged,
    so that rules across meters see all of them.
    """

    base: Commit
    new: tuple[str, ...]
    judged: int


@dataclass(frozen=True, slots=True)
class Report:
    """A whole run: sorted findings, sorted meters, and what was read.

    `not_judged` counts meters that could not be read far enough to be judged;
    `run_date` is the day that dates were judged as of; `rules` are the rules that
    judged, each once, in alphabetical order of their ids. `since` is given for a run
    over changed files alone, `rules_from` where another revision's rules judged.
    """

    editions: tuple[Edition, ...]
    meters: tuple[MeterResult, ...]
    findings: tuple[Finding, ...]
    files: int
    left_out: tuple[LeftOut, ...] = ()
    not_judged: int = 0
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
    def worst_first(self) -> tuple[Finding, ...]:
        """The findings by category, in each those of the largest effect first.

        Those that are conceded come behind all others.
        """
        return tuple(sorted(self.findings, key=_urgency))

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


def _urgency(finding: Finding) -> tuple[bool, str, tuple[float, float]]:
    effect = finding.effect
    rank = NO_EFFECT if effect is None else effect.rank
    return not finding.is_open, finding.category, rank
