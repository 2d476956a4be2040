"""One side of a comparison: where its files are read, what they are called, what
was found in them.

The two sides lie in different folders, one of them often a private one. A file is known
on both by its key, the path below its side's folder, and is reported by the name that a
user would type for it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

from configlint.bench import Bench, Laid
from configlint.check import check_sources, make_benches
from configlint.documents import BOUNDS
from configlint.errors import Fault, Place, RunError
from configlint.files import absolute, read_bounded, reported
from configlint.report import Commit, Report
from configlint.review.revisions import ENDINGS, content_digest
from configlint.rules import ReadingRule
from configlint.workspace import (
    CONCESSIONS_FILE,
    LeftOut,
    Source,
    Sources,
    Workspace,
    find_sources,
    find_workspace,
    load_workspace,
)

__all__ = [
    "Judged",
    "OwnFile",
    "Placed",
    "Side",
    "bytes_of",
    "file_digest",
    "is_there",
    "judge",
    "own_files",
]

Advance = Callable[[int, int], None]


class OwnFile(NamedTuple):
    """A file by which a workspace judges: its name, what it is, and its digest."""

    name: str
    kind: str
    digest: str


class Placed(NamedTuple):
    """A meter with the key of its file and its number in it."""

    key: str
    number: int
    laid: Laid


@dataclass(frozen=True, slots=True)
class Side:
    """Files to be judged: those `names` stand for below an absolute `folder`.

    `base` is what a user calls the folder, `told` what reports call the side, `commit`
    its revision. `left_out` are files that were not written out, `put_aside` the
    digests of what would judge, where other rules do. `private` says that the files
    were written out, `versioned` that they are those of a repository; `rules` is the
    revision whose rules judge them, where that is another one.
    """

    told: str
    folder: Path
    base: Path
    names: tuple[str, ...] = (".",)
    commit: Commit | None = None
    workspace_file: Path | None = None
    left_out: tuple[LeftOut, ...] = ()
    put_aside: Mapping[str, str] | None = None
    private: bool = False
    versioned: bool = False
    rules: Commit | None = None

    def key(self, path: Path) -> str:
        """Give what a file is known by on both sides."""
        full = absolute(path)
        below = full.is_relative_to(self.folder)
        return (full.relative_to(self.folder) if below else full).as_posix()

    def name(self, key: str) -> str:
        """Give what a user would call a file."""
        path = self.base / key
        if path.is_absolute():
            return reported(path)
        return Path(os.path.relpath(path)).as_posix()

    def paths(self) -> list[Path]:
        """Give what is to be read, as far as this side has it."""
        return [self.folder / name for name in self.names if self.has(name)]

    def has(self, name: str) -> bool:
        """Whether the side has a file, or a folder with a YAML file below it."""
        path = self.folder / name
        return is_there(path, Path.is_file) or _holds_yaml(path)

    def find(self) -> Sources:
        """Find the meter files of the side; it may have none at all.

        Raises `RunError` for a workspace that can't be taken.
        """
        paths = self.paths()
        if not paths:
            return Sources((), self._named(self.left_out))
        top = self.folder if self.private else None
        with self.told_by_name():
            found = find_sources(paths, self.workspace_file, top)
        if self.versioned:
            self.refuse_outer(found.workspaces)
        files = (
            each._replace(file=self.name(self.key(each.path))) for each in found.files
        )
        keyed = (
            LeftOut(self.key(Path(each.file)), each.reason) for each in found.left_out
        )
        left_out = self._named((*self.left_out, *keyed))
        return Sources(tuple(sorted(files, key=lambda each: each.file)), left_out)

    def workspaces(self, sources: Sources) -> tuple[Workspace, ...]:
        """Give the workspaces of the files; of no file, those around the paths."""
        if sources.files:
            return sources.workspaces
        top = self.folder if self.private else None
        near = (self.folder / name for name in self.names if self.has(name))
        files = (self.workspace_file or find_workspace(path, top) for path in near)
        with self.told_by_name():
            return tuple(load_workspace(file) for file in dict.fromkeys(files) if file)

    def refuse_outer(self, workspaces: Collection[Workspace]) -> None:
        """Raise `RunError` for a workspace of which no revision holds the file."""
        for each in workspaces:
            if each.file is not None and not each.file.is_relative_to(self.folder):
                problem = "This workspace file lies outside the repository."
                advice = "Keep it in the repository, or compare two folders instead."
                place = Place(reported(each.file))
                raise RunError(Fault("path-found", place, problem, advice))

    def _named(self, left_out: Collection[LeftOut]) -> tuple[LeftOut, ...]:
        named = (LeftOut(self.name(each.file), each.reason) for each in left_out)
        return tuple(sorted(named))

    @contextmanager
    def told_by_name(self) -> Iterator[None]:
        """Let what stops a run name files as a user does, and the side they are of."""
        try:
            yield
        except RunError as error:
            if not self.private:
                raise
            raise RunError(*map(self._renamed, error.faults)) from error

    def _renamed(self, fault: Fault) -> Fault:
        folder = f"{reported(self.folder)}/"
        place = self._renamed_place(fault.place)
        elsewhere = fault.elsewhere and self._renamed_place(fault.elsewhere)
        return replace(
            fault,
            place=place,
            elsewhere=elsewhere,
            problem=f"At {self.told}: {fault.problem.replace(folder, '')}",
            advice=fault.advice.replace(folder, ""),
        )

    def _renamed_place(self, place: Place) -> Place:
        return place._replace(file=self.name(self.key(Path(place.file))))


@dataclass(frozen=True, slots=True)
class Judged:
    """A side with all that was found in it.

    `sources` and `digests` are its meter files and their contents, by key; `own` are
    the files it was judged by, and `workspaces` those that these belong to.
    """

    side: Side
    sources: Mapping[str, Source]
    digests: Mapping[str, str]
    report: Report
    own: Mapping[str, OwnFile]
    workspaces: tuple[Workspace, ...]
    benches: Mapping[Workspace, Bench]

    @property
    def keys(self) -> dict[str, str]:
        """The keys of the meter files by the names in reports."""
        return {source.file: key for key, source in self.sources.items()}

    @property
    def reading_rules(self) -> frozenset[str]:
        """The ids of the rules that reading the files enforces."""
        rules = self.report.rules
        return frozenset(each.id for each in rules if isinstance(each, ReadingRule))

    def lay_out(self, keys: Collection[str]) -> list[Placed]:
        """Lay out the meters of some files, those that the side has."""
        return [
            Placed(key, number, laid)
            for key, source in self.sources.items()
            if key in keys
            for number, laid in enumerate(
                self.benches[source.workspace].lay_out(source)
            )
        ]


def judge(
    side: Side,
    run_date: date | None = None,
    sources: Sources | None = None,
    advance: Advance = lambda done, total: None,
) -> Judged:
    """Judge the files of a side, all of them unless some are given.

    Raises `RunError` where a workspace or its rules can't be taken.
    """
    found = side.find() if sources is None else sources
    with side.told_by_name():
        benches = make_benches(found, run_date)
        report = check_sources(found, advance, run_date, benches)
    spaces = side.workspaces(found)
    own = dict(own_files(side, spaces))
    if side.put_aside is not None:
        own = {
            key: OwnFile(side.name(key), "not judged by", digest)
            for key, digest in side.put_aside.items()
        }
    return Judged(
        side,
        {side.key(each.path): each for each in found.files},
        {side.key(each.path): file_digest(each.path) for each in found.files},
        report,
        own,
        spaces,
        benches,
    )


def is_there(path: Path, kind: Callable[[Path], bool] = Path.exists) -> bool:
    """Whether there is a file or folder, of a kind; not what no file could be."""
    try:
        return kind(path)
    except OSError:
        return False


def file_digest(path: Path) -> str:
    """Give the digest of a file's content, "" where it can't be read."""
    data = bytes_of(path)
    return "" if data is None else content_digest(data)


def bytes_of(path: Path) -> bytes | None:
    """Read a file, or as much as shows that it is too long; None if that fails."""
    try:
        return read_bounded(path, BOUNDS.bytes)
    except OSError:
        return None


def own_files(
    side: Side, workspaces: Collection[Workspace]
) -> Iterator[tuple[str, OwnFile]]:
    """Name the files that judge the files of some workspaces, by their keys."""
    for workspace in workspaces:
        for kind, path in _judging(workspace):
            key = side.key(path)
            yield key, OwnFile(side.name(key), kind, file_digest(path))


def _judging(workspace: Workspace) -> Iterator[tuple[str, Path]]:
    if workspace.file is None:
        return
    yield "workspace file", workspace.file
    for site in workspace.sites:
        if site.file is not None:
            yield "site file", site.file
    concessions = workspace.root / CONCESSIONS_FILE
    if concessions.is_file():
        yield "concessions", concessions
    folders = (("rules", workspace.rules), ("type sheet", workspace.type_sheets))
    for kind, folder in folders:
        for path in sorted(folder.rglob("*.yaml")) if folder else ():
            yield kind, path


def _holds_yaml(folder: Path) -> bool:
    """Whether a path is a folder with a YAML file below it, not in a hidden one."""
    for _, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        if any(name.lower().endswith(ENDINGS) for name in names):
            return True
    return False
