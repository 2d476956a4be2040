"""One workspace's rules at work: files go in one by one, findings come out.

A bench keeps of a meter its outcomes, its findings, and the few values that rules
across meters compare, but not its file, so that it stays small over many thousand
files.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import replace
from datetime import date
from typing import NamedTuple

from configlint.advice import Adviser
from configlint.conceding import (
    Conceding,
    Terms,
    conceded_finding,
    unsound_finding,
)
from configlint.concessions import load_concessions
from configlint.data import data_folder
from configlint.dependence import Dependence
from configlint.documents import Document, read_document
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
from configlint.findings import (
    Finding,
    Located,
    Subject,
    fault_finding,
    locate,
    outcome_finding,
)
from configlint.judged import (
    Found,
    JudgedFile,
    JudgedMeter,
    Laid,
    entry_around,
    home_of,
    read_source,
    root_of,
    unknown_sheet,
    unreadable,
)
from configlint.ledger import NO_LINE, Ledger
from configlint.meters import (
    MeterEntry,
    UnreadMeter,
    read_meters,
    tag_around,
    unread_meters,
)
from configlint.nets import Nets
from configlint.policy import Changes, changed_limits
from configlint.report import MeterResult, meter_result
from configlint.rule_book import load_rule_book
from configlint.rules import AcrossRule, Edition, Limit, MeterRule
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
        self.nets = Nets(self.book)
        self.concessions = load_concessions(workspace, self.book)
        self._clear()

    def _clear(self) -> None:
        """Take all files off the bench."""
        terms = Terms.of(self.book, self.site_rules[None].changes)
        self.conceding = Conceding(self.concessions, terms, self.run_date)
        self.ledger = Ledger(self.book)
        self.cards: list[JudgedMeter] = []
        self.findings: list[Finding] = []
        self.not_judged: list[UnreadMeter] = []
        self.taken: list[Source] = []
        self.read_again: tuple[Source | None, _Entries] = (None, {})

    def emptied(self) -> Bench:
        """Give another bench of the same rules, with no file on it."""
        other = copy(self)
        other._clear()
        return other

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
        self.enter(self.judge(source, self.advise))

    def enter(self, judged: JudgedFile) -> None:
        """Put a file on the bench that is judged; files are entered in their order."""
        first = len(self.cards)
        self.taken.append(judged.source)
        self.not_judged += judged.not_judged
        for finding, meter, written in judged.found:
            if written is not None:
                card = None if meter is None else first + meter
                number = len(self.findings)
                self.conceding.consider(finding, number, card, written)
            self.findings.append(finding)
        for number, each in enumerate(judged.meters, start=first):
            self.ledger.put(number, each.line)
            self.cards.append(each._replace(outcomes=[*each.outcomes], line=NO_LINE))

    def judge(self, source: Source, advise: bool) -> JudgedFile:
        """Read one file and give what it comes to; the bench stays as it is."""
        try:
            data = read_source(source)
        except OSError as error:
            unread = self._told(unreadable(source, error), source)
            return JudgedFile(source, found=(unread,))
        reading = read_document(data, source.file)
        inside = {fault for each in reading.documents for fault in each.faults}
        outside = (fault for fault in reading.faults if fault not in inside)
        found = [self._told(fault, source) for fault in outside]
        meters: list[JudgedMeter] = []
        not_judged: list[UnreadMeter] = []
        for number, document in enumerate(reading.documents):
            entries, faults = read_meters(document, self.book.site_data.marks)
            found += self._faults_in(source, document, entries, faults)
            paths = {entry.path for entry in entries}
            told = (*document.faults, *faults)
            not_judged += unread_meters(document, paths, told)
            for entry in entries:
                place = (number, len(meters))
                meter, own = self._judge_meter(source, entry, place, advise)
                meters.append(meter)
                found += own
        return JudgedFile(source, tuple(meters), tuple(found), tuple(not_judged))

    def _faults_in(
        self,
        source: Source,
        document: Document,
        entries: Sequence[MeterEntry],
        faults: Iterable[Fault],
    ) -> Iterator[Found]:
        at_path = {entry.path: entry for entry in entries}
        for fault in (*document.faults, *faults):
            entry = entry_around(fault, at_path)
            prefix = entry.path if entry else root_of(fault.path)
            tag = entry.meter.meter if entry else tag_around(document, fault.path)
            yield self._told(fault, source, tag, prefix, entry)

    def _judge_meter(
        self, source: Source, entry: MeterEntry, place: tuple[int, int], advise: bool
    ) -> tuple[JudgedMeter, list[Found]]:
        """Judge a meter of a document, both by their numbers in the file."""
        document, number = place
        subject = self.subject(source, entry.meter.meter)
        found = []
        named = entry.meter.type_sheet
        if named and named not in self.type_sheets:
            fault = unknown_sheet(entry, self.type_sheets)
            found.append(self._told(fault, source, subject.meter, entry.path, entry))
        site_rules = self.site_rules[source.site]
        known = self.facts_of(source, entry)
        derived = derive(self.book, known)
        outcomes = site_rules.judge.judge(derived)
        wrong = [outcome for outcome in outcomes if outcome.word == NONCONFORMING]
        if wrong:
            told = derive_told(self.book, known)
            free = Free(self.dependence, site_rules.judge, known)
            broken = (outcome.rule.id for outcome in wrong)
            adviser = Adviser(free, broken) if advise else None
            changes, limits = site_rules.changes, site_rules.judge.limits
            findings = [
                self._found(outcome, subject, told, entry, changes, adviser)
                for outcome in wrong
            ]
            for finding in self.nets.told(findings, outcomes, told, limits):
                found.append(Found(finding, number, told.written))
        line = self.ledger.line(subject.site, derived)
        meter = JudgedMeter(subject, outcomes, source, document, entry.path, line)
        return meter, found

    def lay_out(self, source: Source) -> Iterator[Laid]:
        """Read one file and give each meter of it that can be judged, unjudged.

        What can't be read is told by `take`; here it is passed over.
        """
        rules = self.site_rules[source.site]
        for entry in self._entries(source).values():
            subject = self.subject(source, entry.meter.meter)
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

    def _found(
        self,
        outcome: Outcome,
        subject: Subject,
        derived: Derived,
        entry: MeterEntry,
        changes: Changes,
        adviser: Adviser | None,
    ) -> Finding:
        rule = outcome.rule
        changed = changes.get(rule.id, {})
        standard = rule.limits if isinstance(rule, MeterRule) else {}
        own = {name: each.limit for name, each in changed.items()}
        limits: Mapping[str, Limit] = {**standard, **own}
        notes = tuple(each.note for each in changed.values())
        located = locate(rule, derived, entry.document, entry.path)
        advice = () if adviser is None else adviser.advise(rule)
        return outcome_finding(
            outcome, subject, derived, located, self.book, limits, notes, advice
        )

    def close(self) -> tuple[list[MeterResult], list[Finding]]:
        """Settle the rules across meters; give every meter's result and finding."""
        settled = self.ledger.settle()
        for number, card in enumerate(self.cards):
            card.outcomes.extend(settled[number])
            for outcome in settled[number]:
                if outcome.word == NONCONFORMING:
                    finding, derived = self._found_across(outcome, card)
                    place = len(self.findings)
                    self.conceding.consider(finding, place, number, derived.written)
                    self.findings.append(finding)
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

    def _found_across(
        self, outcome: Outcome, card: JudgedMeter
    ) -> tuple[Finding, Derived]:
        subjects = [self.cards[number].subject for number in outcome.others]
        others = [f"{each.meter} in {each.file}" for each in subjects]
        derived, located = self._look_again(card, outcome.rule)
        named = listed(others, outcome.more)
        told = replace(derived, values={**derived.values, "others": named})
        found = outcome_finding(outcome, card.subject, told, located, self.book, {})
        return found, derived

    def _look_again(
        self, card: JudgedMeter, rule: MeterRule | AcrossRule
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
            documents = read_document(read_source(source), source.file).documents
        except OSError:
            return {}
        return {
            (number, entry.path): entry
            for number, document in enumerate(documents)
            for entry in read_meters(document, self.book.site_data.marks)[0]
        }

    def _told(
        self,
        fault: Fault,
        source: Source,
        tag: str = "",
        prefix: Path = (),
        entry: MeterEntry | None = None,
    ) -> Found:
        """Tell a fault; one of an entry that is judged all the same may be conceded."""
        subject = self.subject(source, tag)
        finding = fault_finding(fault, subject, self.book.reading_rules, prefix)
        if entry and self.conceding.concerns(fault.kind):
            return Found(finding, None, self.facts_of(source, entry).written)
        return Found(finding)

    def subject(self, source: Source, tag: str) -> Subject:
        """Say what a finding on a meter of a file is about; without a tag, the file."""
        site = source.site.name if source.site else ""
        home = "" if tag else home_of(source.path, self.workspace.root)
        return Subject(self.workspace.name, site, tag, source.file, home)
