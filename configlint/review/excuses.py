"""What a change lets pass by what it changes of the files that judge it.

A change can bring a concession, a limit or a rule of its own, and so excuse the finding
that it brings too. So the files of the later side are judged once more, by the rules,
policies, type sheets and concessions of the earlier one. Whatever is found then and not
otherwise is excused by the change itself, and does not count as excused.

What a site file tells of the plant counts as it is now, and so does a site or a type
sheet that the change adds: it is new to the earlier side, and relaxes nothing there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from configlint.bench import Bench
from configlint.check import check_sources
from configlint.engine import (
    CONCEDED,
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    NOT_ASSESSED,
)
from configlint.findings import Finding, Subject, in_order
from configlint.report import (
    BY_CATEGORY,
    BY_CONCESSION,
    BY_RULES,
    EXCUSES,
    Excuse,
    MeterResult,
    Report,
)
from configlint.review.sides import Judged, is_there
from configlint.rules import ReadingRule
from configlint.workspace import (
    NO_WORKSPACE,
    Site,
    Source,
    Sources,
    Workspace,
    find_workspace,
    load_workspace,
)

__all__ = [
    "Excused",
    "excuses_of",
    "find_excused",
    "without_excuses",
]


class Excused(NamedTuple):
    """A finding as it stands without what excuses it, and what that is.

    `by` names the ways: `rules`, which stands for policy and type sheets as well, or
    else `concession`, `category` where it is made less urgent, or both. `as_judged` is
    the finding by the change's own rules, None where they find none.
    """

    finding: Finding
    by: tuple[str, ...]
    as_judged: Finding | None = None


def find_excused(before: Judged, after: Judged) -> tuple[Excused, ...]:
    """Find what the later side excuses by its own rules, policies and concessions.

    Raises `RunError` where a workspace of the earlier side can't be taken.
    """
    digests = [
        {key: own.digest for key, own in judged.own.items()}
        for judged in (before, after)
    ]
    if after.side.put_aside is not None or digests[0] == digests[1]:
        return ()
    strict = _judged_as_before(before, after)
    return tuple(_excused(strict, after))


def without_excuses(after: Judged, excused: Sequence[Excused]) -> Judged:
    """Give the later side with some findings as they stand without their excuses."""
    if not excused:
        return after
    return replace(after, report=_without(after.report, excused))


def excuses_of(excused: Excused) -> Iterator[Excuse]:
    """Say which finding a change excuses, once for each way in which it does."""
    finding = excused.finding
    subject = finding.subject
    owner = ", ".join(part for part in (subject.meter, subject.site) if part)
    told = f"{finding.category}  {owner}, {finding.rule}"
    judged = excused.as_judged
    for by in excused.by:
        words = ""
        if by == BY_CONCESSION and judged and judged.concession:
            words = f". {judged.concession.words}"
        yield Excuse(finding.fingerprint, by, f"{told}{words}")


# --- judging as before ------------------------------------------------------


def _judged_as_before(before: Judged, after: Judged) -> Report:
    """Judge the files of the later side by what judges the earlier one."""
    day = after.report.run_date
    with before.side.told_by_name():
        earlier = _Earlier(before)
        sources = earlier.taken(after)
        benches = {each: Bench(each, day, advise=False) for each in sources.workspaces}
        for bench in benches.values():
            # A type sheet that the change adds is not one that it relaxes.
            for own in after.benches.values():
                for name, sheet in own.type_sheets.items():
                    bench.type_sheets.setdefault(name, sheet)
        return check_sources(sources, run_date=day, benches=benches)


@dataclass(slots=True)
class _Earlier:
    """The workspaces of the earlier side, to which files of the later one belong."""

    before: Judged
    workspaces: dict[Path | None, Workspace] = field(default_factory=dict)

    def taken(self, after: Judged) -> Sources:
        """Give the later side's files as files of the earlier workspaces."""
        files = {key: self._file(key) for key in after.sources}
        sites: dict[Path | None, dict[str, Site]] = {}
        for key, source in after.sources.items():
            workspace = self._workspace(files[key])
            known = sites.setdefault(
                files[key], {site.name: site for site in workspace.sites}
            )
            site = self._site(workspace, key, source.site)
            if site is not None:
                known[site.name] = site
        spaces = {
            file: replace(self._workspace(file), sites=tuple(known.values()))
            for file, known in sites.items()
        }
        sources = []
        for key, source in after.sources.items():
            site = self._site(self._workspace(files[key]), key, source.site)
            own = sites[files[key]][site.name] if site else None
            workspace = spaces[files[key]]
            sources.append(source._replace(workspace=workspace, site=own))
        return Sources(tuple(sources), ())

    def _file(self, key: str) -> Path | None:
        """Find the workspace file that a file of a key has on the earlier side."""
        side = self.before.side
        if side.workspace_file is not None:
            there = is_there(side.workspace_file, Path.is_file)
            return side.workspace_file if there else None
        top = side.folder if side.private else None
        return find_workspace(side.folder / key, top)

    def _workspace(self, file: Path | None) -> Workspace:
        if file not in self.workspaces:
            known = NO_WORKSPACE if file is None else load_workspace(file)
            self.workspaces[file] = known
        return self.workspaces[file]

    def _site(self, workspace: Workspace, key: str, later: Site | None) -> Site | None:
        """Give a site with its policy from before, and what it tells of the plant now.

        One that there was not has no policy.
        """
        earlier = workspace.site_of(self.before.side.folder / key)
        if later is None:
            return earlier
        if earlier is None:
            named = (each for each in workspace.sites if each.name == later.name)
            earlier = next(named, replace(later, policy=()))
        return replace(later, name=earlier.name, policy=earlier.policy)


# --- what is excused --------------------------------------------------------

Key = tuple[str, str, str, str]


def _excused(strict: Report, after: Judged) -> Iterator[Excused]:
    """Find what stands by the earlier rules, and does not so by the later ones.

    What is of no meter is told of a file, which no rule of a workspace is asked of.
    """
    reading = {each.id for each in strict.rules if isinstance(each, ReadingRule)}
    found: dict[Key, list[Finding]] = defaultdict(list)
    for finding in after.report.findings:
        found[_key(finding, reading)].append(finding)
    subjects = {source.file: source for source in after.sources.values()}
    for finding in strict.findings:
        if not (finding.is_open and finding.subject.meter):
            continue
        own = found[_key(finding, reading)]
        judged = own.pop(0) if own else None
        if judged is None:
            source = subjects[finding.subject.file]
            told = replace(finding, subject=_subject(finding.subject, source))
            yield Excused(_noted(told, (BY_RULES,)), (BY_RULES,))
        elif by := tuple(_ways(finding, judged)):
            words = judged.concession.words if judged.concession else ""
            # A concession may hide that the change makes the finding less urgent too.
            category = min(finding.category, judged.category)
            told = replace(
                judged, concession=None, outcome=NONCONFORMING, category=category
            )
            yield Excused(_noted(told, by, words), by, judged)


def _ways(strict: Finding, judged: Finding) -> Iterator[str]:
    """Say in which ways a change excuses a finding that its own rules find as well."""
    if judged.concession is not None:
        yield BY_CONCESSION
    if judged.category > strict.category:
        yield BY_CATEGORY


def _key(finding: Finding, reading: Collection[str]) -> Key:
    """Say what a finding is, whatever its workspace and site are called."""
    pointer = finding.pointer if finding.rule in reading else ""
    return finding.subject.file, finding.subject.meter, finding.rule, pointer


def _subject(subject: Subject, source: Source) -> Subject:
    """Name a finding's workspace and site as the later side does."""
    site = source.site.name if source.site else ""
    return subject._replace(workspace=source.workspace.name, site=site)


def _noted(finding: Finding, by: Iterable[str], words: str = "") -> Finding:
    """Say in a finding what excuses it; `words` are those of its concession."""
    notes = (
        f"{EXCUSES[way].note} {words if way == BY_CONCESSION else ''}".rstrip()
        for way in by
    )
    return replace(finding, assumptions=(*notes, *finding.assumptions))


# --- the report without excuses ---------------------------------------------


def _without(report: Report, excused: Sequence[Excused]) -> Report:
    told = {
        each.as_judged.fingerprint: each.finding
        for each in excused
        if each.as_judged is not None
    }
    kept = [told.get(each.fingerprint, each) for each in report.findings]
    added = [each.finding for each in excused if each.as_judged is None]
    waiting: dict[Subject, list[Excused]] = defaultdict(list)
    for each in excused:
        waiting[each.finding.subject].append(each)
    known = {each.id: isinstance(each, ReadingRule) for each in report.rules}
    return replace(
        report,
        findings=in_order([*kept, *added]),
        meters=tuple(
            _recounted(each, waiting.pop(each.subject, ()), known)
            for each in report.meters
        ),
    )


def _recounted(
    result: MeterResult, excused: Iterable[Excused], known: Mapping[str, bool]
) -> MeterResult:
    """Count what is excused as nonconforming; reading rules have no outcome.

    `known` says of every rule of the later side whether reading enforces it.
    """
    for each in excused:
        rule = each.finding.rule
        word = _counted_as(result, each, known)
        outcomes = dict(result.outcomes)
        if known.get(rule) or not word or (word in outcomes and not outcomes[word]):
            continue
        if word in outcomes:
            outcomes[word] -= 1
        outcomes[NONCONFORMING] += 1
        result = result._replace(
            outcomes=outcomes,
            left_open=tuple(one for one in result.left_open if one.rule != rule),
            met=tuple(name for name in result.met if name != rule),
        )
    return result


def _counted_as(
    result: MeterResult, excused: Excused, known: Mapping[str, bool]
) -> str:
    """Say as which outcome the later side counts it, "" where that stays.

    A rule that the later side does not have is counted as none.
    """
    rule = excused.finding.rule
    if BY_RULES not in excused.by:
        return CONCEDED if BY_CONCESSION in excused.by else ""
    if rule not in known:
        return "no outcome"
    if rule in result.met:
        return CONFORMS
    is_open = any(each.rule == rule for each in result.left_open)
    return NOT_ASSESSED if is_open else NOT_APPLICABLE
