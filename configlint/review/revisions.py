"""The files of a revision, written out beneath a private folder for as long as needed.

What judges a file of the working tree then judges one of a revision as well: with the
rules, policy and type sheets of that revision, or with those of another one. Only
regular files are written: what judges first, then the meter files that are asked for.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import NamedTuple, Protocol

from configlint.documents import BOUNDS
from configlint.errors import Fault, Place, RunError
from configlint.files import absolute, read_bounded, reported
from configlint.report import Commit
from configlint.review.repository import Blob, Repository
from configlint.sites import read_own
from configlint.workspace import (
    CONCESSIONS_FILE,
    SITE_FILE,
    WORKSPACE_FILE,
    LeftOut,
    load_workspace,
)
from configlint.workspace_files import WorkspaceFile

__all__ = ["Scope", "Tree", "content_digest", "fits", "written_out"]

OWN_NAMES = (WORKSPACE_FILE, SITE_FILE, CONCESSIONS_FILE)
ENDINGS = (".yaml", ".yml")
DEVICES = frozenset(
    (
        "con",
        "prn",
        "aux",
        "nul",
        *(f"{p}{n}" for p in ("com", "lpt") for n in range(10)),
    )
)
ODD_ON_WINDOWS = frozenset('<>:"|?*\\')


class Scope(NamedTuple):
    """The files and folders asked for, as the repository names them; "." is all."""

    names: tuple[str, ...]

    def holds(self, path: str) -> bool:
        """Whether a file is one of those asked for, or lies below one.

        >>> Scope(("sites/north",)).holds("sites/north/FT-1.yaml")
        True
        """
        return any(
            name == "." or path == name or path.startswith(f"{name}/")
            for name in self.names
        )


class Tree(NamedTuple):
    """Files beneath a folder, named there as in their repository.

    `left_out` are those that were not written, and `put_aside`, by name, the digests
    of what would judge the meters by the names alone, whether or not it does.
    """

    folder: Path
    left_out: tuple[LeftOut, ...]
    put_aside: Mapping[str, str]


class _Supply(Protocol):
    """Where files come from: a revision, or the working tree."""

    def blobs(self) -> Iterable[Blob]:
        """Name all files, with why one is not to be read."""

    def contents(self, blobs: list[Blob]) -> Iterator[bytes]:
        """Read some files."""


@contextmanager
def written_out(
    repository: Repository,
    meters: Commit | None,
    rules: Commit,
    scope: Scope,
) -> Iterator[Tree]:
    """Write out the meter files of one revision with what judges of another.

    `meters` is None for the meter files of the working tree. The folder is removed
    when the context ends, however it ends. Raises `RunError` for a revision that
    can't be read whole.
    """
    # Its name hides the folder from a walk through the files around it.
    with tempfile.TemporaryDirectory(prefix=".configlint-") as made:
        judging = _Committed(repository, rules)
        supply: _Supply = judging
        if meters is None:
            supply = _Standing(repository.root, scope)
        elif meters.digest != rules.digest:
            supply = _Committed(repository, meters)
        yield _write_out(Path(made), supply, judging, scope)


def content_digest(data: bytes) -> str:
    """Give a digest of a file's content that does not tell line ends apart.

    >>> content_digest(b"a\\r\\n") == content_digest(b"a\\n")
    True
    """
    return hashlib.sha256(data.replace(b"\r\n", b"\n")).hexdigest()


def fits(path: str, windows: bool = os.name == "nt") -> bool:
    """Whether a file's name in a repository names a file below a folder here.

    >>> fits("sites/FT-1.yaml"), fits("sites/../../FT-1.yaml"), fits("/FT-1.yaml")
    (True, False, False)
    """
    parts = path.split("/")
    if any(part in ("", ".", "..") for part in parts):
        return False
    return not windows or all(map(_fits_windows, parts))


def _fits_windows(part: str) -> bool:
    device = part.partition(".")[0].rstrip().lower() in DEVICES
    return not device and ODD_ON_WINDOWS.isdisjoint(part) and part[-1] not in ". "


def _write_out(folder: Path, meters: _Supply, rules: _Committed, scope: Scope) -> Tree:
    writer = _Writer(folder)
    judging = list(rules.blobs())
    writer.make_folders(judging)
    told = rules.commit.told
    writer.write(rules, _refuse_links(told, filter(_is_own, judging)))
    for blob in judging:
        if blob.path.rpartition("/")[2] == WORKSPACE_FILE:
            _make_named(folder / blob.path)
    own = Scope(tuple(_own_folders(folder, judging)))
    within = [each for each in judging if own.holds(each.path) and _is_yaml(each)]
    writer.write(rules, _refuse_links(told, within))
    others = judging if meters is rules else list(meters.blobs())
    aside = [each for each in others if _is_own(each) or own.holds(each.path)]
    taken = {each.path for each in aside}
    asked = [each for each in others if _asked(each, scope) and each.path not in taken]
    writer.write(meters, asked)
    put_aside = dict(_digests(meters, aside))
    return Tree(folder, tuple(sorted(writer.left_out)), put_aside)


def _digests(supply: _Supply, blobs: list[Blob]) -> Iterator[tuple[str, str]]:
    readable = [each for each in blobs if _is_yaml(each) and not each.reason]
    for blob, data in zip(readable, supply.contents(readable), strict=True):
        yield blob.path, content_digest(data)


def _is_own(blob: Blob) -> bool:
    return blob.path.rpartition("/")[2] in OWN_NAMES


def _is_yaml(blob: Blob) -> bool:
    return blob.path.lower().endswith(ENDINGS)


def _asked(blob: Blob, scope: Scope) -> bool:
    """Whether a file may be a meter file, or may lead to some."""
    if blob.path in scope.names or (_is_yaml(blob) and scope.holds(blob.path)):
        return True
    leads_on = bool(blob.reason) and not PurePosixPath(blob.path).suffix
    return leads_on and scope.holds(blob.path)


def _refuse_links(told: str, blobs: Iterable[Blob]) -> list[Blob]:
    """Give files that judge, or raise `RunError` where one is no regular file."""
    found = list(blobs)
    faults = [
        Fault(
            "file-readable",
            Place(each.path),
            f"Of {told} this can't be judged by: {each.reason}.",
            "Make it a file of its own in the repository.",
        )
        for each in found
        if each.reason
    ]
    if faults:
        raise RunError(*faults)
    return found


def _make_named(file: Path) -> None:
    """Make the folders that a workspace file names: git keeps none that is empty.

    One that lies outside, or whose name is a file's, is told when it is to judge.
    """
    data = file.read_bytes() if file.is_file() else b""
    _, model, _ = read_own(WorkspaceFile, data, reported(file))
    if model is None:
        return
    sites = (each.folder for each in (model.sites or {}).values())
    for name in (model.type_sheets, model.rules, *sites):
        path = absolute(file.parent / name) if name else file.parent
        if path.is_relative_to(file.parent):
            with suppress(OSError, ValueError):
                path.mkdir(parents=True, exist_ok=True)


def _own_folders(folder: Path, blobs: Iterable[Blob]) -> Iterator[str]:
    """Name the folders in which the workspaces keep their rules and type sheets.

    A faulty workspace is told when something is to be judged by it.
    """
    for blob in blobs:
        if blob.path.rpartition("/")[2] != WORKSPACE_FILE:
            continue
        try:
            workspace = load_workspace(folder / blob.path)
        except RunError:
            continue
        for own in (workspace.rules, workspace.type_sheets):
            if own is not None:
                yield own.relative_to(folder).as_posix()


@dataclass(slots=True)
class _Writer:
    """Writes files beneath a folder, and notes which it could not write."""

    folder: Path
    left_out: list[LeftOut] = field(default_factory=list)

    def make_folders(self, blobs: Iterable[Blob]) -> None:
        """Make the folders of a revision, which workspaces name even if empty."""
        folders = {each.path.rpartition("/")[0] for each in blobs if fits(each.path)}
        for name in sorted(folders):
            (self.folder / name).mkdir(parents=True, exist_ok=True)

    def write(self, supply: _Supply, blobs: Iterable[Blob]) -> None:
        """Write some files; of those that can't be, note why."""
        readable = []
        for blob in blobs:
            reason = blob.reason
            if not fits(blob.path):
                reason = "its name names no file below a folder on this system"
            if reason:
                self.left_out.append(LeftOut(blob.path, reason))
            else:
                readable.append(blob)
        for blob, data in zip(readable, supply.contents(readable), strict=True):
            self.write_one(blob.path, data)

    def write_one(self, name: str, data: bytes) -> None:
        file = self.folder / name
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            with file.open("xb") as stream:
                stream.write(data)
        except (FileExistsError, NotADirectoryError):
            # Names that differ by case alone are one name on some systems.
            reason = "another file has its name on this system"
            self.left_out.append(LeftOut(name, reason))


class _Committed(NamedTuple):
    """The files of a revision."""

    repository: Repository
    commit: Commit

    def blobs(self) -> Iterable[Blob]:
        return self.repository.blobs(self.commit)

    def contents(self, blobs: list[Blob]) -> Iterator[bytes]:
        return self.repository.contents(each.digest for each in blobs)


class _Standing(NamedTuple):
    """The files of the working tree, as far as they are asked for."""

    root: Path
    scope: Scope

    def blobs(self) -> Iterable[Blob]:
        found: dict[str, Blob] = {}
        for name in self.scope.names:
            path = self.root / name
            below = self.below(path) if path.is_dir() else ()
            found |= {each.path: each for each in below}
            if path.is_file():
                found[name] = Blob(name, "")
        return found.values()

    def below(self, folder: Path) -> Iterator[Blob]:
        """Walk through a folder as a check does, but follow no link."""
        for here, folders, files in os.walk(folder):
            folders[:] = [name for name in folders if not name.startswith(".")]
            for name in (*folders, *files):
                path = Path(here, name)
                if path.is_symlink():
                    reason = "it is a link, and is not followed here"
                elif name in folders or path.is_file():
                    reason = ""
                else:
                    reason = "it is no regular file"
                if reason or name in files:
                    yield Blob(path.relative_to(self.root).as_posix(), "", reason)

    def contents(self, blobs: list[Blob]) -> Iterator[bytes]:
        for blob in blobs:
            yield read_bounded(self.root / blob.path, BOUNDS.bytes)
