"""A check of what has changed since a revision, and a check by a revision's rules.

All files of the workspaces concerned are judged, now and as they were, so that rules
across meters see what they would see otherwise. What is told is of the changed files:
their findings, and those across meters that they take part in. A rule or policy that
has changed concerns every file asked for, of which then what is new is told, and what
the change itself excuses.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

from configlint.check import check_sources
from configlint.errors import Fault, Place, RunError
from configlint.findings import Finding
from configlint.report import BY_CONCESSION, Commit, Excuse, Report, Since
from configlint.review.asking import name_in, open_revision, open_working_tree
from configlint.review.compare import find_followed, own_changes
from configlint.review.differences import Own, differences, read_own
from configlint.review.excuses import (
    Excused,
    excuses_of,
    find_excused,
    without_excuses,
)
from configlint.review.matching import is_reopened, match_findings, plain_value
from configlint.review.repository import Repository, around
from configlint.review.revisions import Scope
from configlint.review.sides import (
    Judged,
    Side,
    file_digest,
    judge,
    own_files,
)
from configlint.review.standards import standards_of
from configlint.review.words import judging_words
from configlint.rules import AcrossRule
from configlint.workspace import Source, Sources

__all__ = ["Options", "check_by_rules_of", "check_since"]


class Options(NamedTuple):
    """What a check is asked for besides its paths and revisions.

    `run_date` is the day that dates are judged as of, `advance` is told how many of
    how many files are done. `trusted` accepts what only the change's own rules or
    concessions excuse.
    """

    workspace_file: Path | None = None
    run_date: date | None = None
    advance: Callable[[int, int], None] = lambda done, total: None
    trusted: bool = False


PLAIN = Options()


def check_by_rules_of(
    paths: Iterable[Path], rules: str, options: Options = PLAIN
) -> Report:
    """Check meter files of the working tree by the rules of a revision.

    Its rule files, policies, site files, type sheets and concessions judge, and what
    the working tree has of these does not. Raises `RunError` where that can't be done.
    """
    repository = around()
    scope = _scope(repository, paths)
    judging = repository.commit(rules)
    workspace_file, run_date, advance, _ = options
    with open_working_tree(repository, scope, judging, workspace_file) as side:
        _refuse_absent(side)
        sources = side.find()
        with side.told_by_name():
            report = check_sources(sources, advance, run_date)
    return replace(report, rules_from=judging)


def check_since(
    paths: Iterable[Path],
    since: str,
    rules: str | None = None,
    options: Options = PLAIN,
) -> Report:
    """Check the files that have changed since HEAD and a revision were last one.

    `rules` names a revision whose rules judge both states. Raises `RunError` where
    that can't be done.
    """
    repository = around()
    scope = _scope(repository, paths)
    base = repository.fork(since)
    judging = None if rules is None else repository.commit(rules)
    with _opened(repository, base, judging, options) as (before, after):
        after = replace(after, names=scope.names)
        _refuse_absent(after)
        found = _Found(before, after)
        earlier, later = found.concerned()
        was = judge(before, options.run_date, earlier)
        now = judge(after, options.run_date, later, options.advance)
        own = Own(differences(standards_of(was), standards_of(now)))
        if judging is not None:
            own = read_own(_opened(repository, base, None, options))
        asked = _Asked(base, judging, own, options.trusted)
        return _told(was, now, found, asked)


@contextmanager
def _opened(
    repository: Repository, base: Commit, rules: Commit | None, options: Options
) -> Iterator[tuple[Side, Side]]:
    everything = Scope((".",))
    file = options.workspace_file
    with (
        open_revision(repository, base, everything, rules, file) as before,
        open_working_tree(repository, everything, rules, file) as after,
    ):
        yield before, after


def _scope(repository: Repository, paths: Iterable[Path]) -> Scope:
    return Scope(tuple(name_in(repository, path) for path in paths))


def _refuse_absent(side: Side) -> None:
    for name in side.names:
        if not side.has(name):
            problem = "There is no meter file here."
            advice = "Name a YAML file, or a folder that holds some."
            raise RunError(Fault("path-found", Place(side.name(name)), problem, advice))


class _Found:
    """The files asked for, those that have changed, and what is judged with them.

    A workspace is concerned where one of its files has changed, or one that judges it.
    """

    def __init__(self, before: Side, after: Side) -> None:
        self.asked = after.find()
        roots = [each.root for each in self.asked.workspaces if each.file is not None]
        names = tuple(dict.fromkeys((*after.names, *map(after.key, roots))))
        self.before, self.after = (
            _Around(replace(side, names=names)) for side in (before, after)
        )
        self.changed = frozenset(
            source.file
            for source in self.asked.files
            if _has_changed(before, after, source)
        )
        ones, others = self.before.own, self.after.own
        self.own = frozenset(map(after.name, others))
        changed = (
            key for key in {**ones, **others} if ones.get(key) != others.get(key)
        )
        self.own_changed = frozenset(map(after.name, changed))

    def concerned(self) -> tuple[Sources, Sources]:
        """Give the files of each side that are judged."""
        ones, others = self.before.judging, self.after.judging
        roots = {
            root
            for root in ones.keys() | others.keys()
            if ones.get(root) != others.get(root)
        }
        roots |= {
            self.after.root_of(source)
            for source in self.asked.files
            if source.file in self.changed
        }
        keys = self.before.keys_at(roots) | self.after.keys_at(roots)
        return self.before.chosen(keys), self.after.chosen(keys)


class _Around:
    """All files of the workspaces of some files, on one side."""

    def __init__(self, side: Side) -> None:
        self.side = side
        self.sources = side.find()
        self.judging = {
            side.key(each.root): {
                key: own.digest for key, own in own_files(side, (each,))
            }
            for each in self.sources.workspaces
            if each.file is not None
        }

    @property
    def own(self) -> dict[str, str]:
        """The digests of all files that judge, by their keys."""
        return {key: it for own in self.judging.values() for key, it in own.items()}

    def root_of(self, source: Source) -> str:
        """Name the root of a file's workspace, "" for a file that has none."""
        workspace = source.workspace
        return "" if workspace.file is None else self.side.key(workspace.root)

    def keys_at(self, roots: Collection[str]) -> frozenset[str]:
        """Name the files of some workspaces."""
        return frozenset(
            self.side.key(source.path)
            for source in self.sources.files
            if self.root_of(source) in roots
        )

    def chosen(self, keys: Collection[str]) -> Sources:
        """Give some of the files."""
        files = self.sources.files
        return Sources(
            tuple(each for each in files if self.side.key(each.path) in keys), ()
        )


def _has_changed(before: Side, after: Side, source: Source) -> bool:
    """Whether a file was not there, held something else, or can't be read now."""
    earlier = before.folder / after.key(source.path)
    digest = file_digest(source.path)
    return not digest or not earlier.is_file() or file_digest(earlier) != digest


class _Asked(NamedTuple):
    """The revision that changes are told since, and the one whose rules judge.

    `own` is how the sides' own rules differ, `trusted` whether their excuses count.
    """

    base: Commit
    rules: Commit | None
    own: Own
    trusted: bool


def _told(was: Judged, now: Judged, found: _Found, asked: _Asked) -> Report:
    """Keep of a report what is of changed files, or across meters with one of them.

    What the change itself excuses is told as it stands without that, unless trusted.
    """
    excused = find_excused(was, now)
    strict = without_excuses(now, excused)
    new, kept = _new_and_kept(was, strict, found, excused)
    excuses = tuple(_excuses(excused, kept))
    if asked.trusted:
        strict = now
        new, kept = _new_and_kept(was, now, found, excused)
    report = strict.report
    files = found.changed | {each.subject.file for each in kept}
    since = Since(
        asked.base,
        tuple(each.fingerprint for each in kept if each.fingerprint in new),
        report.files,
        excuses,
        asked.trusted,
        tuple(judging_words(asked.own, own_changes(was, now))),
    )
    return replace(
        report,
        meters=tuple(each for each in report.meters if each.subject.file in files),
        findings=kept,
        files=sum(each.file in files for each in now.sources.values()),
        left_out=found.asked.left_out,
        not_judged=tuple(
            each for each in report.not_judged if each.place.file in files
        ),
        since=since,
        rules_from=asked.rules,
    )


def _excuses(excused: Iterable[Excused], kept: Iterable[Finding]) -> Iterator[Excuse]:
    """Say by what a change excuses the findings that are told."""
    told = {each.fingerprint for each in kept}
    for each in excused:
        if each.finding.fingerprint in told:
            yield from excuses_of(each)


def _new_and_kept(
    was: Judged, now: Judged, found: _Found, excused: Sequence[Excused]
) -> tuple[frozenset[str], tuple[Finding, ...]]:
    """Say which findings are new, and which are told; one that is conceded is."""
    matched = match_findings(was, now, find_followed(was, now))
    reopened = (each[1] for each in matched.kept if is_reopened(each))
    new = frozenset(each.fingerprint for each in (*matched.new, *reopened))
    conceded = {
        each.finding.fingerprint for each in excused if BY_CONCESSION in each.by
    }
    return new, tuple(_kept(now.report, found, new | conceded))


def _kept(report: Report, found: _Found, fresh: Collection[str]) -> Iterator[Finding]:
    """Give what is of changed files or fresh, and who is in conflict with those.

    Files that judge have findings too: of concessions that are of no use, for one.
    """
    across = {each.id: each for each in report.rules if isinstance(each, AcrossRule)}
    asked = {source.file for source in found.asked.files} | found.own
    changed = found.changed | found.own_changed
    own = [
        each
        for each in report.findings
        if each.subject.file in changed
        or (each.fingerprint in fresh and each.subject.file in asked)
    ]
    told = {each.fingerprint for each in own}
    shared = {_shared(each, across[each.rule]) for each in own if each.rule in across}
    for finding in report.findings:
        rule = across.get(finding.rule)
        if finding.fingerprint in told or (rule and _shared(finding, rule) in shared):
            yield finding


def _shared(finding: Finding, rule: AcrossRule) -> tuple[str, ...]:
    """Say what the meters that a finding across meters is about have in common."""
    subject = finding.subject
    where = subject.site if rule.scope == "site" else ""
    values = (plain_value(finding.values.get(path)) for path in rule.same)
    return (rule.id, subject.workspace, where, *values)
