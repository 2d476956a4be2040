"""A change of settings in meter files, tried before anything is written.

Each file's bytes are changed in place, the new bytes are proven to differ in what was
asked for alone, and are then judged, together with all the files around them, as if
they stood on disk. What becomes new and what is gone is told by fingerprint. A change
that brings a new finding of category A is held: it is shown and never written.
"""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain
from pathlib import Path as FilePath
from typing import NamedTuple

from configlint.documents import BOUNDS, Document, read_document
from configlint.errors import Fault, Path, Place, RunError, pointer
from configlint.files import Rewrite, read_bounded, reported, rewrite
from configlint.findings import CATEGORIES, Finding
from configlint.report import Report
from configlint.review.adjust_judging import Surroundings
from configlint.review.adjust_requests import (
    Change,
    advised_changes,
    find_targets,
    in_one,
    set_changes,
    text_at,
)
from configlint.review.splice import splice
from configlint.review.unchanged import hold_to
from configlint.rules import ReadingRule
from configlint.workspace import Source, Sources, find_sources

__all__ = ["Adjusted", "Adjustment", "Asked", "adjust", "write_adjustment"]


class Asked(NamedTuple):
    """What is asked for: values that are given, and rules whose advice is taken."""

    settings: Sequence[str] = ()
    advice: Sequence[str] = ()


class Adjusted(NamedTuple):
    """One value as it was changed: the place it has now, and what it overrides.

    `merged_from` is the place of a value that a merge key brought in until now.
    """

    change: Change
    place: Place
    merged_from: Place | None = None


class EditedFile(NamedTuple):
    """A file with its bytes before and after."""

    source: Source
    before: bytes
    after: bytes


@dataclass(frozen=True, slots=True)
class Adjustment:
    """A change with what it does: the findings that become new, go, or remain.

    `gone`, `new` and `remaining` are open findings of the changed files; the first two
    are of other files too, where a rule across meters finds something new there, or no
    longer. `leads` are the links that were named, each with the file it leads to.
    """

    adjusted: tuple[Adjusted, ...]
    files: tuple[EditedFile, ...]
    gone: tuple[Finding, ...]
    new: tuple[Finding, ...]
    remaining: tuple[Finding, ...]
    leads: tuple[tuple[str, str], ...] = ()

    @property
    def held(self) -> tuple[Finding, ...]:
        """The new findings that keep the change from being written."""
        return tuple(each for each in self.new if each.category == CATEGORIES[0])

    @property
    def changes_anything(self) -> bool:
        """Whether a file would hold other bytes than before."""
        return any(each.before != each.after for each in self.files)

    def counts(self, late: bool) -> dict[str, int]:
        """How many findings there are of each category, before or late: after."""
        findings = (*self.remaining, *(self.new if late else self.gone))
        counted = Counter(each.category for each in findings)
        return {category: counted[category] for category in CATEGORIES}


def adjust(
    files: Iterable[FilePath],
    asked: Asked,
    workspace_file: FilePath | None = None,
    run_date: date | None = None,
) -> Adjustment:
    """Try a change of settings in some files; nothing is written.

    Dates are judged as of `run_date`. Raises `RunError` where the change can't be made
    as it is asked for.
    """
    files = list(files)
    named = _named(files, workspace_file)
    targets = [target for source in named for target in find_targets(source)]
    given = [each for text in asked.settings for each in set_changes(text, targets)]
    surroundings = Surroundings(
        _with(_around(named, workspace_file), named), named, run_date
    )
    before = surroundings.report()
    advised = (advised_changes(text, targets, before) for text in asked.advice)
    changes = in_one(chain(given, *advised))
    edits = [_edit(source, changes) for source in named]
    edited = [each.source._replace(data=each.after) for each, _ in edits]
    after = surroundings.report(edited)
    _refuse_faulty(changes, after)
    gone, new, remaining = _compared(before, after, {each.file for each in named})
    return Adjustment(
        tuple(adjusted for _, each in edits for adjusted in each),
        tuple(each for each, _ in edits),
        gone,
        new,
        remaining,
        tuple(
            (reported(file), reported(_true(file)))
            for file in files
            if file.is_symlink()
        ),
    )


def write_adjustment(adjustment: Adjustment) -> bool:
    """Write the changed files, all or none, and tell whether they are written.

    They are not where the change is held. Raises `RunError` and OSError as
    `files.rewrite` does.
    """
    if adjustment.held:
        return False
    rewrite(
        [
            Rewrite(each.source.path, each.before, each.after)
            for each in adjustment.files
            if each.before != each.after
        ]
    )
    return True


def _true(file: FilePath) -> FilePath:
    """Give what a link leads to, as a file is renamed in its own place, not a link's.

    A link that leads to itself is left to be told as one.
    """
    try:
        return file.resolve(strict=True) if file.is_symlink() else file
    except (OSError, RuntimeError):
        return file


def _named(files: Sequence[FilePath], workspace_file: FilePath | None) -> list[Source]:
    """Read the files that are named, each once."""
    for file in files:
        if file.is_dir():
            problem = "This is a folder, and a change needs a file."
            fault = Fault(
                "path-found", Place(reported(file)), problem, "Name the file."
            )
            raise RunError(fault)
    sources = find_sources(map(_true, files), workspace_file)
    for left_out in sources.left_out:
        place, advice = Place(left_out.file), "Name a meter file."
        problem = f"This can't be changed here, since {left_out.reason}."
        raise RunError(Fault("path-found", place, problem, advice))
    return [each._replace(data=_bytes_of(each)) for each in sources.files]


def _bytes_of(source: Source) -> bytes:
    return read_bounded(source.path, BOUNDS.bytes)


def _around(named: Sequence[Source], workspace_file: FilePath | None) -> list[Source]:
    """Find all the files of the workspaces that the named ones belong to."""
    roots = {each.workspace.root for each in named if each.workspace.file is not None}
    return list(find_sources(sorted(roots), workspace_file).files) if roots else []


def _with(around: Iterable[Source], chosen: Sequence[Source]) -> Sources:
    """Put files in the place of those around that lie at the same path."""
    own = {each.path.resolve() for each in chosen}
    others = (each for each in around if each.path.resolve() not in own)
    files = sorted((*others, *chosen), key=lambda each: each.file)
    return Sources(tuple(files), ())


def _edit(
    source: Source, changes: Iterable[Change]
) -> tuple[EditedFile, list[Adjusted]]:
    """Make the changes of one file in its bytes, and prove that they are all."""
    own = [each for each in changes if each.target.source is source]
    data = source.data or b""
    mark = codecs.BOM_UTF8 if data.startswith(codecs.BOM_UTF8) else b""
    before = data.removeprefix(mark).decode("utf-8")
    after = before
    merged: dict[Path, Place | None] = {}
    # What is taken over from a value that is set here has then changed already.
    for change in sorted(own, key=_is_taken_over):
        documents = _read(after, source)
        number, steps = change.target.document, change.steps
        if text_at(documents[number], steps) == change.value:
            continue
        spliced = splice(after, documents, number, steps, change.value)
        after, merged[number, *steps] = spliced.text, spliced.merged_from
    documents = _read(after, source)
    wanted = {(each.target.document, *each.steps): each.value for each in own}
    hold_to(before, after, source.file, wanted)
    adjusted = []
    for each in own:
        path = (each.target.document, *each.steps)
        place = documents[each.target.document].place(each.steps)
        adjusted.append(Adjusted(each, place, merged.get(path)))
    return EditedFile(source, data, mark + after.encode("utf-8")), adjusted


def _read(text: str, source: Source) -> tuple[Document, ...]:
    return read_document(text.encode("utf-8"), source.file).documents


def _is_taken_over(change: Change) -> bool:
    return change.target.entry.document.source_place(change.steps) is not None


def _refuse_faulty(changes: Iterable[Change], after: Report) -> None:
    """Refuse values that can't be read as what they are to be, where they now stand."""
    reading = {each.id for each in after.rules if isinstance(each, ReadingRule)}
    wanted = {(each.target.source.file, pointer(each.steps)) for each in changes}
    faults = [
        Fault(each.rule, each.place, each.message, each.remedy)
        for each in after.findings
        if each.rule in reading and (each.place.file, each.pointer) in wanted
    ]
    if faults:
        raise RunError(*faults)


def _compared(
    before: Report, after: Report, files: set[str]
) -> tuple[tuple[Finding, ...], tuple[Finding, ...], tuple[Finding, ...]]:
    """Tell the findings that are gone, that are new, and that remain in some files."""
    old = {each.fingerprint: each for each in before.open_findings}
    now = {each.fingerprint: each for each in after.open_findings}
    gone = tuple(each for key, each in old.items() if key not in now)
    new = tuple(each for key, each in now.items() if key not in old)
    remaining = tuple(
        each for key, each in now.items() if key in old and each.place.file in files
    )
    return gone, new, remaining
