"""How a meter stands when its whole workspace is checked: what its sheet heads with.

A sheet computes from one meter alone. Rules across meters and concessions need the
others, so all files of the workspace are checked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path as FilePath
from typing import NamedTuple

from configlint.bench import Bench
from configlint.engine import CONFORMS, NOT_APPLICABLE, NOT_ASSESSED
from configlint.errors import Place
from configlint.findings import Finding
from configlint.judged import JudgedMeter, Laid
from configlint.report import LeftOpen, MeterResult
from configlint.workspace import Source, Workspace, find_sources

__all__ = ["Gap", "Held", "Standing", "standings"]


class Held(NamedTuple):
    """A finding of the meter: the rule, where, what is wrong, and who concedes it.

    `conceded` is "" for one that is still to be closed.
    """

    category: str
    rule: str
    line: int
    message: str
    conceded: str


class Gap(NamedTuple):
    """A rule that could not be assessed, and the paths of the inputs that it lacks."""

    category: str
    rule: str
    missing: tuple[str, ...]


class Standing(NamedTuple):
    """What a check says of a meter.

    `outcomes` counts its rules by outcome. `others` is how many meters it has been
    compared with, those of its workspace; `across` gives what the rules across them
    come to, by rule, without those that do not apply. `undated` are the rules that a
    concession may be of, which nobody can say without a day. `met` and `not_applicable`
    name the rules that it conforms to, and those that do not speak of it.
    """

    findings: tuple[Held, ...]
    gaps: tuple[Gap, ...]
    outcomes: Mapping[str, int]
    workspace: str
    others: int
    across: Mapping[str, str]
    undated: tuple[str, ...]
    met: tuple[str, ...]
    not_applicable: tuple[str, ...]

    @property
    def told(self) -> tuple[Mapping[str, str], frozenset[str]]:
        """What the rules across meters come to, and which rules are conceded."""
        return self.across, frozenset(e.rule for e in self.findings if e.conceded)


def standings(laid: Iterable[Laid], run_date: date | None = None) -> list[Standing]:
    """Tell how meters stand in a check of their workspaces, each in its place.

    Concessions hold as of `run_date`; without one none does. Meters of no workspace are
    compared with each other alone. Raises `RunError` where a workspace can't be taken.
    """
    meters = tuple(laid)
    found: dict[Workspace, _Checked] = {}
    for workspace in dict.fromkeys(each.source.workspace for each in meters):
        own = [each for each in meters if each.source.workspace == workspace]
        found[workspace] = _Checked(workspace, own, run_date)
    return [found[each.source.workspace].standing(each) for each in meters]


class _Checked:
    """A workspace that is checked, with the meters that are asked for."""

    def __init__(
        self, workspace: Workspace, meters: Iterable[Laid], run_date: date | None
    ) -> None:
        self.bench = Bench(workspace, run_date, advise=False)
        own = {each.source.path.resolve(): each.source for each in meters}
        around = {each.path.resolve(): each for each in _sources(workspace)}
        for source in {**around, **own}.values():
            self.bench.take(source)
        results, findings = self.bench.close()
        self.results = list(zip(self.bench.cards, results, strict=True))
        self.places = dict(self._places(own.values()))
        self.findings = findings
        self.categories = {rule.id: rule.category for rule in self.bench.book.all_rules}

    def standing(self, laid: Laid) -> Standing:
        """Give what the check says of one of the meters."""
        path, place = laid.source.path.resolve(), _place(laid)
        card, result = self.results[self.places[path, place]]
        not_applicable = _not_applicable(card)
        # Another meter of the same tag in the same file may have broken these.
        cleared = {*result.met, *not_applicable}
        findings = [
            each
            for each in self.findings
            if each.subject == card.subject and each.rule not in cleared
        ]
        return Standing(
            tuple(map(_held, sorted(findings, key=_urgency))),
            tuple(sorted(map(self.gap, result.left_open))),
            result.outcomes,
            self.bench.workspace.name,
            len(self.results) - 1,
            self.across(findings, result),
            tuple(self.undated(findings)),
            tuple(sorted(result.met)),
            not_applicable,
        )

    def _places(
        self, sources: Iterable[Source]
    ) -> Iterator[tuple[tuple[FilePath, Place], int]]:
        """Give where the result of each meter is, by its file and place in the file."""
        of_file: dict[FilePath, list[int]] = defaultdict(list)
        for number, (card, _) in enumerate(self.results):
            of_file[card.source.path.resolve()].append(number)
        for source in sources:
            path = source.path.resolve()
            meters = self.bench.lay_out(source)
            for laid, number in zip(meters, of_file[path], strict=True):
                yield (path, _place(laid)), number

    def across(
        self, findings: Iterable[Finding], result: MeterResult
    ) -> dict[str, str]:
        """Give what the rules across meters come to that apply, by rule."""
        words = {
            **dict.fromkeys(result.met, CONFORMS),
            **{each.rule: NOT_ASSESSED for each in result.left_open},
            **{each.rule: each.outcome for each in findings},
        }
        rules = self.bench.book.across_rules
        return {each.id: words[each.id] for each in rules if each.id in words}

    def gap(self, left: LeftOpen) -> Gap:
        """Tell a rule that is left open."""
        return Gap(self.categories[left.rule], left.rule, left.missing)

    def undated(self, findings: Iterable[Finding]) -> Iterable[str]:
        """Give the rules of findings that a concession is of, where no day is given."""
        if self.bench.run_date is not None:
            return
        for finding in findings:
            tag, site = finding.subject.meter, finding.subject.site
            if any(
                each.rule == finding.rule and each.covers(tag, site)
                for each in self.bench.concessions
            ):
                yield finding.rule


def _not_applicable(card: JudgedMeter) -> tuple[str, ...]:
    """Give the rules that do not speak of a meter, in order."""
    asked = (each.rule.id for each in card.outcomes if each.word == NOT_APPLICABLE)
    return tuple(sorted(asked))


def _place(laid: Laid) -> Place:
    return laid.entry.document.place(laid.entry.path)


def _sources(workspace: Workspace) -> Iterable[Source]:
    """Give the meter files of a workspace, none for a meter that belongs to none."""
    if workspace.file is None:
        return ()
    return find_sources([workspace.root], workspace.file).files


def _held(finding: Finding) -> Held:
    conceded = "" if finding.concession is None else finding.concession.words
    return Held(
        finding.category, finding.rule, finding.place.line, finding.message, conceded
    )


def _urgency(finding: Finding) -> tuple[bool, str, int, str]:
    return (not finding.is_open, finding.category, finding.place.line, finding.rule)
