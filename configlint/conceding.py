"""Concessions held against the findings of a run: which are conceded, and by what.

A concession that is not in force, that concedes nothing, or that is of too many meters
is a fault of its own, told by the rules `concession-in-date`, `concession-used` and
`concession-narrow`. One that is not in force concedes nothing.
"""

from __future__ import annotations

import math
from calendar import isleap
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import NamedTuple

from configlint.concessions import Concession, Figure
from configlint.engine import CONCEDED, NOT_ASSESSED, Outcome
from configlint.errors import Fault
from configlint.findings import CATEGORIES, Finding, Subject, fault_finding
from configlint.gathering import SECONDS_PER_DAY
from configlint.policy import Changes
from configlint.rules import Limit, ReadingRule, RuleBook

__all__ = [
    "Conceded",
    "Conceding",
    "Terms",
    "Unsound",
    "conceded_finding",
    "unsound_finding",
    "why_not_in_force",
]

IN_DATE = "concession-in-date"
USED = "concession-used"
NARROW = "concession-narrow"
LONGEST = "longest_of_"


class Terms(NamedTuple):
    """What limits concessions: the longest by category, and the most meters."""

    longest: Mapping[str, Limit]
    most_meters: Limit
    categories: Mapping[str, str]

    @classmethod
    def of(cls, book: RuleBook, changes: Changes) -> Terms:
        """Take the limits of a rule book, as a workspace's policy changes them."""
        in_date = _limits(book, changes, IN_DATE)
        narrow = _limits(book, changes, NARROW)
        longest = {
            category: in_date[f"{LONGEST}{category}"]
            for category in CATEGORIES
            if f"{LONGEST}{category}" in in_date
        }
        categories = {rule.id: rule.category for rule in book.all_rules}
        return cls(longest, narrow["most_meters"], categories)


def _limits(book: RuleBook, changes: Changes, rule: str) -> dict[str, Limit]:
    own = {name: each.limit for name, each in changes.get(rule, {}).items()}
    return {**book.reading_rules[rule].limits, **own}


class Conceded(NamedTuple):
    """A finding that is conceded, by its number in the run, and by what.

    `card` is the number of the meter whose outcome it is, None for a fault that was
    met while reading.
    """

    finding: int
    card: int | None
    concession: Concession


class Unsound(NamedTuple):
    """What is wrong with a concession."""

    fault: Fault
    concession: Concession


class _Candidate(NamedTuple):
    """A finding and the concessions in force that it may be conceded by."""

    finding: int
    card: int | None
    uses: tuple[_Use, ...]


@dataclass(slots=True)
class _Use:
    """What becomes of a concession in a run.

    `refusal` says why it is not in force; `lapse` which value is no longer the one it
    is bound to; `alike` counts the findings that its fingerprint does not tell apart.
    """

    concession: Concession
    refusal: Fault | None
    found: bool = False
    lapse: str = ""
    alike: int = 0


class Conceding:
    """The concessions of a workspace in one run, as of a day.

    Without a day none is in force.
    """

    def __init__(
        self, concessions: Iterable[Concession], terms: Terms, day: date | None
    ) -> None:
        self.terms = terms
        self.day = day
        self.uses = [
            _Use(each, why_not_in_force(each, terms, day) if day else None)
            for each in concessions
        ]
        self.by_rule: dict[str, list[_Use]] = defaultdict(list)
        for use in self.uses:
            if day is not None and use.refusal is None:
                self.by_rule[use.concession.rule].append(use)
        self.candidates: list[_Candidate] = []

    def concerns(self, rule: str) -> bool:
        """Whether a concession in force is of a rule."""
        return rule in self.by_rule

    def consider(
        self,
        finding: Finding,
        number: int,
        card: int | None,
        written: Mapping[str, Figure],
    ) -> None:
        """Note which concessions a meter's finding may be conceded by.

        `written` is what the meter's file holds, by path.
        """
        uses = []
        for use in self.by_rule.get(finding.rule, ()):
            if not _is_of(use.concession, finding):
                continue
            lapse = use.concession.lapse(written)
            if lapse:
                use.lapse = use.lapse or f"for {finding.subject.meter}, {lapse}"
            else:
                use.found = True
                uses.append(use)
        if uses:
            self.candidates.append(_Candidate(number, card, tuple(uses)))

    def settle(self, findings: Sequence[Finding]) -> Iterator[Conceded]:
        """Give the findings that are conceded, each by the first concession of it.

        A fingerprint that two findings have names none of them.
        """
        counts = Counter(each.fingerprint for each in findings) if self.uses else {}
        for candidate in self.candidates:
            alike = counts[findings[candidate.finding].fingerprint]
            for use in candidate.uses:
                if use.concession.fingerprint and alike > 1:
                    use.alike = alike
                else:
                    number, card = candidate.finding, candidate.card
                    yield Conceded(number, card, use.concession)
                    break

    def faults(
        self,
        judged: Sequence[tuple[Subject, Sequence[Outcome]]],
        is_whole: Callable[[], bool],
    ) -> Iterator[Unsound]:
        """Say what is wrong with concessions, once all findings are settled.

        `judged` are the meters of the run with their outcomes; `is_whole` tells
        whether they are all those of the workspace.
        """
        by_tag: dict[str, list[tuple[Subject, Sequence[Outcome]]]] = defaultdict(list)
        asked_once = cache(is_whole)
        for each in judged:
            by_tag[each[0].meter].append(each)
        for use in self.uses:
            one = use.concession
            near = judged if "*" in one.meter or not one.meter else by_tag[one.meter]
            own = [each for each in near if one.covers(each[0].meter, each[0].site)]
            yield from self._faults(use, own, asked_once)

    def _faults(
        self,
        use: _Use,
        own: Sequence[tuple[Subject, Sequence[Outcome]]],
        is_whole: Callable[[], bool],
    ) -> Iterator[Unsound]:
        one = use.concession
        if use.refusal is not None:
            yield Unsound(use.refusal, one)
        if self.day is None or use.refusal is not None:
            return
        most = self.terms.most_meters
        if not one.fingerprint and len(own) > most.value:
            problem = f"The concession {one.told} is of {len(own)} meters, more than "
            fault = _fault(NARROW, one, f"{problem}{most.text}.", NAME_THEM)
            yield Unsound(fault, one)
        if use.alike:
            problem = (
                f"The concession {one.told} names the fingerprint {one.fingerprint}, "
                f"which {use.alike} findings have, so that none of them is conceded."
            )
            yield Unsound(_fault(USED, one, problem, TELL_APART), one)
        elif not use.found and _is_settled(one, own, is_whole):
            why = use.lapse or "no meter that it is of breaks the rule"
            problem = f"The concession {one.told} concedes nothing: {why}."
            advice = LOOK_AGAIN if use.lapse else DELETE
            yield Unsound(_fault(USED, one, problem, advice), one)


NAME_THEM = "Name the meters, one entry each."
TELL_APART = "Give each meter a tag of its own, and concede anew what remains."
LOOK_AGAIN = (
    "Correct the meter, or look at it again and have the concession granted anew."
)
DELETE = (
    "Delete it. If it is meant for a fault that keeps a meter from being judged: that "
    "can't be conceded."
)


def _is_of(concession: Concession, finding: Finding) -> bool:
    subject = finding.subject
    is_one = concession.fingerprint in ("", finding.fingerprint)
    return is_one and concession.covers(subject.meter, subject.site)


def _is_settled(
    concession: Concession,
    own: Sequence[tuple[Subject, Sequence[Outcome]]],
    is_whole: Callable[[], bool],
) -> bool:
    """Whether the run has seen all that a concession may be of, and judged it."""
    is_open = any(
        outcome.word == NOT_ASSESSED and outcome.rule.id == concession.rule
        for _, outcomes in own
        for outcome in outcomes
    )
    is_named = bool(concession.meter) and "*" not in concession.meter
    return not is_open and ((is_named and bool(own)) or is_whole())


def why_not_in_force(concession: Concession, terms: Terms, day: date) -> Fault | None:
    """Say why a concession concedes nothing on a day; None where it is in force."""
    told = f"The concession {concession.told}"
    first, last = concession.granted_on, concession.expires_on
    if concession.is_of_any:
        problem = f"{told} names neither a meter nor a site, so it concedes nothing."
        advice = "Name the meter, or write what holds for all of them as a policy."
        return _fault(NARROW, concession, problem, advice)
    if last is not None and day > last:
        problem = f"{told} ran out on {last}."
        advice = "Delete it once the finding is closed, or have it granted anew."
        return _fault(IN_DATE, concession, problem, advice)
    if day < first:
        problem = f"{told} begins on {first}, and this run is as of {day}."
        return _fault(IN_DATE, concession, problem, "Wait for it, or correct the day.")
    return _why_too_long(concession, terms)


def _why_too_long(concession: Concession, terms: Terms) -> Fault | None:
    category = terms.categories[concession.rule]
    most = terms.longest.get(category)
    first, last = concession.granted_on, concession.expires_on
    if most is None:
        return None
    told = f"The concession {concession.told}"
    term = f"a rule of category {category} is conceded for {most.text} at most"
    if last is None:
        problem = f"{told} has no end, so it concedes nothing: {term}."
        advice = "Write expires_on, the last day on which it holds."
        return _fault(IN_DATE, concession, problem, advice)
    if _days(first, last) > math.floor(most.value / SECONDS_PER_DAY):
        problem = (
            f"{told} is for {(last - first).days} days, so it concedes nothing: {term}."
        )
        advice = "Let it end earlier, and have it granted anew then if need be."
        return _fault(IN_DATE, concession, problem, advice)
    return None


def _days(first: date, last: date) -> int:
    """Count the days from one to another, leap days aside: a year is one of 365.

    >>> _days(date(2027, 3, 1), date(2028, 3, 1))
    365
    """
    leaps = sum(
        isleap(year) and first < date(year, 2, 29) <= last
        for year in range(first.year, last.year + 1)
    )
    return (last - first).days - leaps


def _fault(kind: str, concession: Concession, problem: str, advice: str) -> Fault:
    path = ("concessions", concession.number)
    return Fault(kind, concession.place, problem, advice, path)


def conceded_finding(finding: Finding, concession: Concession, file: str) -> Finding:
    """Give a finding as it is conceded; `file` is the name of the entry's file."""
    place = concession.place._replace(file=file)
    own = replace(concession, place=place)
    return replace(finding, outcome=CONCEDED, concession=own)


def unsound_finding(
    unsound: Unsound,
    subject: Subject,
    rules: Mapping[str, ReadingRule],
    changes: Changes,
) -> Finding:
    """Make the finding of what is wrong with a concession.

    It is known by what the concession is of, so that entries can change places.
    """
    fault, concession = unsound
    placed = replace(fault, place=fault.place._replace(file=subject.file))
    mark = f" {concession.told} {concession.fingerprint}"
    found = fault_finding(placed, subject, rules, mark=mark)
    changed = changes.get(fault.kind, {}).values()
    return replace(found, assumptions=tuple(each.note for each in changed))
