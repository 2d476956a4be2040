"""Concessions granted for findings: what is to be conceded, and its entry in the file.

The whole workspace is checked, so that a finding is the one a report tells. The new
text of the file is read again before it is written: it must hold all that it held, and
what is granted now.
"""

from __future__ import annotations

import codecs
import difflib
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import NamedTuple

from configlint.bench import Bench
from configlint.check import check_sources
from configlint.conceding import Terms, why_not_in_force
from configlint.concessions import (
    FINGERPRINT,
    OF_CONCESSIONS,
    Concession,
    read_concessions,
)
from configlint.documents import BOUNDS
from configlint.errors import Fault, Place, RunError
from configlint.files import Rewrite, read_bounded, reported, rewrite, write_beside
from configlint.findings import Finding
from configlint.report import Report
from configlint.review.concession_text import Entry, put_entries
from configlint.review.scalar_text import is_one_line
from configlint.rules import AcrossRule, MeterRule
from configlint.scalars import shown
from configlint.settings import mark_of
from configlint.workspace import (
    CONCESSIONS_FILE,
    Source,
    Sources,
    find_sources,
    find_workspace,
)

__all__ = ["Grant", "Granted", "concede", "write_granted"]

GRANTABLE = "concession-grantable"
UNKNOWN = "finding-found"
_MOST_OFFERED = 3


class Grant(NamedTuple):
    """What is granted: why, by whom, from which day to which, both included.

    `bound` says that it holds only while the settings of a finding stay as they are.
    """

    reason: str
    granted_by: str
    granted_on: date
    expires_on: date | None = None
    bound: bool = False


class Granted(NamedTuple):
    """The file that is to hold new entries, and the lines that they are.

    `name` is that of reports, `file` what it leads to where it is a link. `before` is
    None where there is no file yet.
    """

    name: str
    file: Path
    before: bytes | None
    after: bytes
    lines: tuple[str, ...]


def concede(
    asked: Sequence[str],
    grant: Grant,
    paths: Sequence[Path] = (),
    workspace_file: Path | None = None,
    day: date | None = None,
) -> Granted:
    """Make the entries that concede some findings; nothing is written yet.

    A finding is asked for by its fingerprint or as TAG:RULE. Without `paths`, the
    workspace around the current folder is checked, as of a day or of today. Raises
    `RunError` where something can't be conceded.
    """
    day = day or date.today()
    sources = _sources(paths, workspace_file)
    report = check_sources(sources, run_date=day, advise=False)
    findings = _found(asked, report)
    source = _one_workspace(findings, sources)
    bench = Bench(source.workspace, day)
    entries = tuple(_Granting(bench, sources, grant).entries(findings))
    return _put(bench, entries, findings, day)


def write_granted(granted: Granted) -> None:
    """Write the file with its new entries, whole or not at all.

    Raises `RunError` and OSError as `files.rewrite` does.
    """
    if granted.before is None:
        write_beside(granted.file, granted.after.decode())
    else:
        rewrite([Rewrite(granted.file, granted.before, granted.after)])


def _sources(paths: Sequence[Path], workspace_file: Path | None) -> Sources:
    """Find all files of the workspaces that some paths lead into."""
    if not paths:
        file = workspace_file or find_workspace(Path.cwd())
        if file is None:
            problem = "There is no workspace file in this folder or above it."
            advice = "Change into a workspace, or name a path inside it with --in."
            raise RunError(Fault(UNKNOWN, Place("."), problem, advice))
        paths = (file.parent,)
    named = find_sources(paths, workspace_file)
    roots = sorted(each.root for each in named.workspaces if each.file is not None)
    around = find_sources(roots, workspace_file).files if roots else ()
    lone = [each for each in named.files if each.workspace.file is None]
    return Sources(tuple(sorted((*around, *lone), key=lambda each: each.file)), ())


def _found(asked: Sequence[str], report: Report) -> tuple[Finding, ...]:
    """Find what is asked for, each once, and refuse what can't be conceded."""
    faults: list[Fault] = []
    found: dict[str, Finding] = {}
    for text in asked:
        one = _find(text, report)
        if isinstance(one, Finding):
            found[one.fingerprint] = one
        else:
            faults.append(one)
    for finding in found.values():
        faults += _why_not(finding, report)
    if faults:
        raise RunError(*faults)
    return tuple(found.values())


def _find(text: str, report: Report) -> Finding | Fault:
    tag, colon, rule = text.rpartition(":")
    if not colon:
        known = {each.fingerprint: each for each in report.findings}
        if text in known:
            return known[text]
        problem = "There is no finding of this fingerprint in the workspace."
        otherwise = "`configlint check --report json` gives the fingerprints."
        return Fault(UNKNOWN, Place(text), problem, _nearest(text, known, otherwise))
    own = [each for each in report.findings if each.subject.meter == tag]
    found = [each for each in own if each.rule == rule]
    if len(found) == 1:
        return found[0]
    if found:
        problem = f"{tag} has {len(found)} findings of the rule {rule}."
        prints = ", ".join(each.fingerprint for each in found)
        advice = f"Write the fingerprint of the one that is meant: {prints}."
        return Fault(UNKNOWN, Place(text), problem, advice)
    if own:
        problem = f"{shown(tag)} has no finding of a rule {shown(rule)}."
        advice = f"It has some of {', '.join(dict.fromkeys(e.rule for e in own))}."
        return Fault(UNKNOWN, Place(text), problem, advice)
    problem = f"There is no finding of a meter {shown(tag)} in the workspace."
    tags = {each.subject.meter for each in report.findings} - {""}
    otherwise = "`configlint check` tells which meters have findings."
    return Fault(UNKNOWN, Place(text), problem, _nearest(tag, tags, otherwise))


def _nearest(word: str, known: Iterable[str], otherwise: str) -> str:
    near = difflib.get_close_matches(word, sorted(known), _MOST_OFFERED, 0.6)
    return f"Write {' or '.join(near)}, if that is meant." if near else otherwise


def _why_not(finding: Finding, report: Report) -> Iterator[Fault]:
    """Say why a finding can't be conceded, if so."""
    mark, concession = finding.fingerprint, finding.concession
    numbered = any(each.fingerprint.startswith(f"{mark}-") for each in report.findings)
    if concession is not None:
        problem = f"{mark} is conceded already, at {concession.place}."
        yield _refusal(finding, problem, "Change that entry, or delete it first.")
    elif finding.rule in OF_CONCESSIONS:
        problem = f"{mark} is a fault of a concession, which can't be conceded."
        yield _refusal(finding, problem, finding.remedy)
    elif all(each.subject != finding.subject for each in report.meters):
        problem = (
            f"{mark} is of no meter that could be judged, so it can't be conceded."
        )
        yield _refusal(finding, problem, finding.remedy)
    elif numbered or not FINGERPRINT.fullmatch(mark):
        problem = f"{mark} is one of several findings that are alike."
        advice = "Give each meter a tag of its own, and each value one place, first."
        yield _refusal(finding, problem, advice)


def _refusal(finding: Finding, problem: str, advice: str) -> Fault:
    return Fault(GRANTABLE, finding.place, problem, advice)


def _one_workspace(findings: Sequence[Finding], sources: Sources) -> Source:
    """Give a source of the one workspace that all findings are of."""
    by_file = {each.file: each for each in sources.files}
    own = [by_file[each.subject.file] for each in findings]
    for finding, source in zip(findings, own, strict=True):
        if source.workspace.file is None:
            problem = "The file is in no workspace, so there is no place to concede."
            advice = "Put a configlint.yaml at the root of the meters' repository."
            raise RunError(_refusal(finding, problem, advice))
        if source.workspace != own[0].workspace:
            problem = f"{finding.fingerprint} is of another workspace than the first."
            advice = "Concede the findings of one workspace at a time."
            raise RunError(_refusal(finding, problem, advice))
    return own[0]


class _Granting:
    """Makes the entries of findings of one workspace."""

    def __init__(self, bench: Bench, sources: Sources, grant: Grant) -> None:
        self.bench = bench
        self.sources = {each.file: each for each in sources.files}
        self.grant = grant
        self.rules = {rule.id: rule for rule in bench.book.all_rules}

    def entries(self, findings: Iterable[Finding]) -> Iterator[Entry]:
        grant = self.grant
        for finding in findings:
            bounds = self.bounds(finding) if grant.bound else ()
            entry = Entry(
                finding.rule,
                finding.subject.meter,
                finding.subject.site,
                finding.fingerprint,
                bounds,
                grant.reason.strip(),
                grant.granted_by.strip(),
                grant.granted_on,
                grant.expires_on,
            )
            texts = (entry.meter, entry.site, entry.reason, entry.granted_by)
            odd = [each for each in texts if each and not is_one_line(each)]
            if odd:
                problem = f"{shown(odd[0])} is not one line of plain text."
                advice = "Write it without breaks, tabs and the like."
                raise RunError(_refusal(finding, problem, advice))
            yield entry

    def bounds(self, finding: Finding) -> tuple[tuple[str, str], ...]:
        """Give the settings of a finding that its meter's file holds, as written."""
        rule = self.rules[finding.rule]
        source = self.sources[finding.subject.file]
        laid = self.bench.lay_out(source)
        same = (each for each in laid if each.subject == finding.subject)
        written = next(same).facts.written
        if isinstance(rule, MeterRule | AcrossRule):
            for paths in (rule.settings, rule.reads):
                own = [each for each in paths if self.is_setting(each)]
                found = tuple((p, str(written[p])) for p in own if p in written)
                if found:
                    return found
        problem = f"{finding.fingerprint} rests on no value that the file holds."
        advice = "Leave out --bound, or have the value written first."
        raise RunError(_refusal(finding, problem, advice))

    def is_setting(self, path: str) -> bool:
        """Whether a path is one of a value that a meter's file can hold."""
        return mark_of(path, self.bench.book.site_data) is not None


def _put(
    bench: Bench, entries: tuple[Entry, ...], findings: Sequence[Finding], day: date
) -> Granted:
    """Put entries into the workspace's file, and prove that they alone were put."""
    file = (bench.workspace.root / CONCESSIONS_FILE).resolve()
    name = reported(bench.workspace.root / CONCESSIONS_FILE)
    old = read_bounded(file, BOUNDS.bytes) if file.exists() else None
    data = old or b""
    mark = codecs.BOM_UTF8 if data.startswith(codecs.BOM_UTF8) else b""
    put = put_entries(data.removeprefix(mark).decode(), name, entries)
    new = mark + put.text.encode()
    before = _read(data, name, bench) if data else ()
    after = _read(new, name, bench)
    added = after[len(before) :]
    if after[: len(before)] != before or [*map(_entry, added)] != [*entries]:
        problem = "The entry can't be proven to be all that the file would gain."
        advice = "Write it by hand."
        raise RunError(Fault(GRANTABLE, Place(name), problem, advice))
    for concession, finding in zip(added, findings, strict=True):
        _refuse_too_long(concession, finding, bench.conceding.terms, day)
    return Granted(name, file, old, new, put.lines)


def _read(data: bytes, name: str, bench: Bench) -> tuple[Concession, ...]:
    return read_concessions(data, name, bench.workspace, bench.book)


def _entry(concession: Concession) -> Entry:
    """Give a concession as the entry that it is read from."""
    return Entry(
        concession.rule,
        concession.meter,
        concession.site,
        concession.fingerprint,
        tuple((each.path, each.text) for each in concession.bounds),
        concession.reason,
        concession.granted_by,
        concession.granted_on,
        concession.expires_on,
    )


def _refuse_too_long(
    concession: Concession, finding: Finding, terms: Terms, day: date
) -> None:
    """Refuse what would not be in force, on its first day or on that of the run."""
    fault = why_not_in_force(concession, terms, max(day, concession.granted_on))
    if fault is not None:
        advice = "Give a last day within that by --expires-on."
        raise RunError(_refusal(finding, fault.problem, advice))
