"""One workspace's rules at work: files go in one by one, findings come out.

A bench keeps of a meter only its outcome counts, its findings, and the few
values that rules across meters compare, so that it stays small over many
thousand files.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path as FilePath
from typing import NamedTuple

from configlint.advice import Adviser
from configlint.conceding import (
    Conceding,
    Terms,
    conceded_finding,
    unsound_finding,
)
from configlint.concessions import Figure, load_concessions
from configlint.data import data_folder
from configlint.dependence import Dependence
from configlint.documents import BOUNDS, Document, read_document
from configlint.engine import (
    NONCONFORMING,
    Derived,
    Judge,
    Outcome,
    derive,
    derive_told,
)
from configlint.errors import Fault, Path, Place, pointer
from configlint.facts import Facts, facts, mark_unreadable, sheet_facts
from configlint.files import absolute, read_bounded
from configlint.findings import (
    Finding,
    Located,
    Subject,
    fault_finding,
    locate,
    outcome_finding,
)
from configlint.ledger import Ledger
from configlint.meters import MeterEntry, count_meters, read_meters, tag_around
from configlint.policy import Changes, changed_limits
from configlint.report import MeterResult, meter_result
from configlint.rule_book import load_rule_book
from configlint.rules import AcrossRule, Edition, Limit, MeterRule, RuleBook
from configlint.scalars import offer
from configlint.shelf import type_sheets_in
from configlint.templates import listed
from configlint.variation import Free
from configlint.workspace import (
    CONCESSIONS_FILE,
    Site,
    Source,
    Workspace,
    find_sources,
)

__all__ = ["Bench", "Laid"]

_Entries = Mapping[tuple[int, Path], MeterEntry]
"""The meters of a file, each under its document's number and its path there."""


class _Card(NamedTuple):
    """What is kept of a meter until the rules across meters are settled.

    Its values are not kept: where such a rule finds something, which is rare,
    the file is read once more to say what and where.
    """

    subject: Subject
    outcomes: list[Outcome]
    source: Source
    document: int
    path: Path


class Laid(NamedTuple):
    """A meter laid out on the bench, with the rules that hold for it.

    `changes` are the limits that its site's policy changes; `facts` are made anew
    by `Bench.facts_of` for a meter of other values.
    """

    subject: Subject
    source: Source
    entry: MeterEntry
    book: RuleBook
    judge: Judge
    changes: Changes
    facts: Facts


class _SiteRules(NamedTuple):
    """The rules as they hold at one site, with the limits its policy changes."""

    judge: Judge
    changes: Changes


class Bench:
    """The rules of one workspace, ready for its files.

    Raises `RunError` when a rule file, type sheet or policy of the workspace
    can't be taken. Dates are judged as of `run_date`; without one, rules that
    need it are not assessed. With `advise`, findings propose values that would do,
    each of which takes some milliseconds to find.
    """

    def __init__(
        self, workspace: Workspace, run_date: date | None = None, advise: bool = True
    ) -> None:
        self.workspace = workspace
        self.run_date = run_date
        self.advise = advise
        self.book = load_rule_book(data_folder("rules"), *workspace.rule_folders)
        sheets = {**self.book.type_sheets, **type_sheets_in(workspace.type_sheets)}
        self.type_sheets = {name: sheet_facts(each) for name, each in sheets.items()}
        self.site_rules = {
            site: self._site_rules(site) for site in (None, *workspace.sites)
        }
        self.dependence = Dependence(self.book)
        self.ledger = Ledger(self.book)
        conceded = load_concessions(workspace, self.book)
        terms = Terms.of(self.book, self.site_rules[None].changes)
        self.conceding = Conceding(conceded, terms, run_date)
        self.cards: list[_Card] = []
        self.findings: list[Finding] = []
        self.not_judged = 0
        self.taken: list[Source] = []
        self.read_again: tuple[Source | None, _Entries] = (None, {})

    @property
    def editions(self) -> tuple[Edition, ...]:
        """The rule sets that judge here."""
        return self.book.editions

    def _site_rules(self, site: Site | None) -> _SiteRules:
        own = site.policy if site else ()
        changes = changed_limits(self.book, self.workspace.policy, own)
        values = {
            rule: {name: changed.limit.value for name, changed in limits.items()}
            for rule, limits in changes.items()
        }
        return _SiteRules(Judge(self.book, values), changes)

    def take(self, source: Source) -> None:
        """Read one file and judge every meter in it."""
        self.taken.append(source)
        try:
            data = _read(source)
        except OSError as error:
            problem = f"The file can't be read: {error.strerror}."
            advice = "Make it readable, or name another file."
            fault = Fault("file-readable", Place(source.file), problem, advice)
            self._tell(fault, self._subject(source, ""))
            return
        reading = read_document(data, source.file)
        inside = {fault for each in reading.documents for fault in each.faults}
        for fault in reading.faults:
            if fault not in inside:
                self._tell(fault, self._subject(source, ""))
        for number, document in enumerate(reading.documents):
            self._take_document(source, document, number)

    def _take_document(self, source: Source, document: Document, number: int) -> None:
        entries, faults = read_meters(document, self.book.site_data.marks)
        at_path = {entry.path: entry for entry in entries}
        for fault in (*document.faults, *faults):
            entry = _entry_around(fault, at_path)
            prefix = entry.path if entry else _root_of(fault.path)
            tag = entry.meter.meter if entry else tag_around(document, fault.path)
            self._tell(fault, self._subject(source, tag), prefix, source, entry)
        self.not_judged += count_meters(document) - len(entries)
        for entry in entries:
            self._take_meter(source, entry, number)

    def _take_meter(self, source: Source, entry: MeterEntry, number: int) -> None:
        subject = self._subject(source, entry.meter.meter)
        named = entry.meter.type_sheet
        if named and named not in self.type_sheets:
            fault = _unknown_sheet(entry, self.type_sheets)
            self._tell(fault, subject, entry.path, source, entry)
        site_rules = self.site_rules[source.site]
        known = self.facts_of(source, entry)
        derived = derive(self.book, known)
        outcomes = site_rules.judge.judge(derived)
        wrong = [outcome for outcome in outcomes if outcome.word == NONCONFORMING]
        if wrong:
            told = derive_told(self.book, known)
            adviser = self._adviser(site_rules.judge, known, wrong)
            for outcome in wrong:
                self._find(outcome, subject, told, entry, site_rules.changes, adviser)
        self.ledger.enter(len(self.cards), subject.site, derived)
        self.cards.append(_Card(subject, outcomes, source, number, entry.path))

    def _adviser(
        self, judge: Judge, known: Facts, wrong: list[Outcome]
    ) -> Adviser | None:
        """Make what proposes values for a meter's findings, where that is wanted."""
        if not self.advise:
            return None
        free = Free(self.dependence, judge, known)
        return Adviser(free, (outcome.rule.id for outcome in wrong))

    def lay_out(self, source: Source) -> Iterator[Laid]:
        """Read one file and give each meter of it that can be judged, unjudged.

        What can't be read is told by `take`; here it is passed over.
        """
        rules = self.site_rules[source.site]
        for entry in self._entries(source).values():
            subject = self._subject(source, entry.meter.meter)
            known = self.facts_of(source, entry)
            yield Laid(
                subject, source, entry, self.book, rules.judge, rules.changes, known
            )

    def facts_of(self, source: Source, entry: MeterEntry) -> Facts:
        """Give the facts of a meter of a file: its own, its site's, its type's."""
        sheet = self.type_sheets.get(entry.meter.type_sheet or "")
        own = self.book.site_data.inputs
        known = facts(entry.meter, source.site, sheet, self.run_date, own)
        mark_unreadable(known, entry.unreadable)
        return known

    def _find(
        self,
        outcome: Outcome,
        subject: Subject,
        derived: Derived,
        entry: MeterEntry,
        changes: Changes,
        adviser: Adviser | None,
    ) -> None:
        rule = outcome.rule
        changed = changes.get(rule.id, {})
        standard = rule.limits if isinstance(rule, MeterRule) else {}
        own = {name: each.limit for name, each in changed.items()}
        limits: Mapping[str, Limit] = {**standard, **own}
        notes = tuple(each.note for each in changed.values())
        located = locate(rule, derived, entry.document, entry.path)
        advice = () if adviser is None else adviser.advise(rule)
        finding = outcome_finding(
            outcome, subject, derived, located, self.book, limits, notes, advice
        )
        self._keep(finding, len(self.cards), derived.written)

    def _keep(
        self, finding: Finding, card: int | None, written: Mapping[str, Figure]
    ) -> None:
        """Keep a meter's finding, and see whether it may be conceded."""
        self.conceding.consider(finding, len(self.findings), card, written)
        self.findings.append(finding)

    def close(self) -> tuple[list[MeterResult], list[Finding]]:
        """Settle the rules across meters; give every meter's result and finding."""
        settled = self.ledger.settle()
        for number, card in enumerate(self.cards):
            card.outcomes.extend(settled[number])
            for outcome in settled[number]:
                if outcome.word == NONCONFORMING:
                    finding, derived = self._found_across(outcome, card)
                    self._keep(finding, number, derived.written)
        conceded = self._concede()
        results = [
            meter_result(card.subject, card.outcomes, conceded.get(number, ()))
            for number, card in enumerate(self.cards)
        ]
        return results, self.findings

    def _concede(self) -> dict[int, set[str]]:
        """Mark what is conceded, and tell what is wrong with the concessions.

        Gives the rules that are conceded by the number of the meter.
        """
        conceded: dict[int, set[str]] = {}
        if not (self.conceding.uses and self.taken):
            return conceded
        file = self.taken[0].beside_workspace(CONCESSIONS_FILE)
        for number, card, concession in self.conceding.settle(self.findings):
            finding = self.findings[number]
            self.findings[number] = conceded_finding(finding, concession, file)
            if card is not None:
                conceded.setdefault(card, set()).add(finding.rule)
        judged = [(card.subject, card.outcomes) for card in self.cards]
        subject = Subject(self.workspace.name, "", "", file, CONCESSIONS_FILE)
        rules, changes = self.book.reading_rules, self.site_rules[None].changes
        self.findings += [
            unsound_finding(each, subject, rules, changes)
            for each in self.conceding.faults(judged, self._is_whole)
        ]
        return conceded

    def _is_whole(self) -> bool:
        """Whether the run has read every meter of the workspace."""
        if self.not_judged or not all(each.subject.meter for each in self.findings):
            return False
        there = find_sources([self.workspace.root], self.workspace.file).files
        taken = {each.path.resolve() for each in self.taken}
        return all(each.path.resolve() in taken for each in there)

    def _found_across(self, outcome: Outcome, card: _Card) -> tuple[Finding, Derived]:
        subjects = [self.cards[number].subject for number in outcome.others]
        others = [f"{each.meter} in {each.file}" for each in subjects]
        derived, located = self._look_again(card, outcome.rule)
        named = listed(others, outcome.more)
        told = replace(derived, values={**derived.values, "others": named})
        found = outcome_finding(outcome, card.subject, told, located, self.book, {})
        return found, derived

    def _look_again(
        self, card: _Card, rule: MeterRule | AcrossRule
    ) -> tuple[Derived, Located]:
        """Read a meter once more, for its values and the place of the finding."""
        source = card.source
        if self.read_again[0] is not source:
            self.read_again = (source, self._entries(source))
        entry = self.read_again[1].get((card.document, card.path))
        if entry is None:
            # The file has changed under the run: only its name still holds.
            gone = Located(Place(source.file), pointer(card.path))
            return Derived({}, {}, {}), gone
        derived = derive_told(self.book, self.facts_of(source, entry))
        return derived, locate(rule, derived, entry.document, card.path)

    def _entries(self, source: Source) -> _Entries:
        """Read the meters of a file, each under its document's number and its path."""
        try:
            documents = read_document(_read(source), source.file).documents
        except OSError:
            return {}
        return {
            (number, entry.path): entry
            for number, document in enumerate(documents)
            for entry in read_meters(document, self.book.site_data.marks)[0]
        }

    def _tell(
        self,
        fault: Fault,
        subject: Subject,
        prefix: Path = (),
        source: Source | None = None,
        entry: MeterEntry | None = None,
    ) -> None:
        """Tell a fault; one of an entry that is judged all the same may be conceded."""
        finding = fault_finding(fault, subject, self.book.reading_rules, prefix)
        if source and entry and self.conceding.concerns(fault.kind):
            self._keep(finding, None, self.facts_of(source, entry).written)
        else:
            self.findings.append(finding)

    def _subject(self, source: Source, tag: str) -> Subject:
        site = source.site.name if source.site else ""
        home = "" if tag else _home(source.path, self.workspace.root)
        return Subject(self.workspace.name, site, tag, source.file, home)


def _root_of(path: Path) -> Path:
    """The path of the meter that a path leads into, where it is one of a list."""
    return path[:2] if path[:1] == ("meters",) else ()


def _home(file: FilePath, root: FilePath) -> str:
    """Name a file from its workspace, the same wherever a run is started."""
    path = absolute(file)
    return path.relative_to(root).as_posix() if path.is_relative_to(root) else file.name


def _read(source: Source) -> bytes:
    """Read a file, or as much of it as shows that it is too long to be read."""
    if source.data is not None:
        return source.data
    return read_bounded(source.path, BOUNDS.bytes)


def _entry_around(
    fault: Fault, at_path: Mapping[Path, MeterEntry]
) -> MeterEntry | None:
    """The meter that a fault lies in, where that meter could be read."""
    paths = (fault.path[:length] for length in range(len(fault.path) + 1))
    return next((at_path[path] for path in paths if path in at_path), None)


def _unknown_sheet(entry: MeterEntry, known: Iterable[str]) -> Fault:
    path = (*entry.path, "type_sheet")
    return Fault(
        "type-sheet-known",
        entry.document.place(path),
        f"There is no type sheet {entry.meter.type_sheet!r}.",
        offer(entry.meter.type_sheet or "", known),
        path,
    )
