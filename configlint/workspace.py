"""The meter files that a command's paths lead to, each with its workspace and site.

What a workspace and a site are stands in `sites`, what their files look like in
`workspace_files`; all of it is offered here.
"""

from __future__ import annotations

import os
import posixpath
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from configlint.errors import Fault, Place, RunError
from configlint.files import absolute, reported
from configlint.sites import (
    NO_WORKSPACE,
    SITE_FILE,
    WORKSPACE_FILE,
    Change,
    Policy,
    Site,
    Workspace,
    find_workspace,
    load_workspace,
)
from configlint.workspace_files import SiteFile, WorkspaceFile

__all__ = [
    "CONCESSIONS_FILE",
    "NO_WORKSPACE",
    "SITE_FILE",
    "WORKSPACE_FILE",
    "Change",
    "LeftOut",
    "Policy",
    "Site",
    "SiteFile",
    "Source",
    "Sources",
    "Workspace",
    "WorkspaceFile",
    "find_sources",
    "find_workspace",
    "load_workspace",
]

CONCESSIONS_FILE = "concessions.yaml"
OWN_FILES = (WORKSPACE_FILE, SITE_FILE, CONCESSIONS_FILE)
ENDINGS = (".yaml", ".yml")


class Source(NamedTuple):
    """A meter file: its name in reports, its path, its workspace and its site.

    `data` is what the file is to hold, where that is not what the path holds now.
    """

    file: str
    path: Path
    workspace: Workspace
    site: Site | None
    data: bytes | None = None

    def beside_workspace(self, name: str) -> str:
        """Say what reports call a file beside the workspace file, as they call this.

        >>> root = Path("/plant")
        >>> workspace = Workspace("plant", root, root / WORKSPACE_FILE)
        >>> file = Source("north/a.yaml", root / "sites/north/a.yaml", workspace, None)
        >>> file.beside_workspace("concessions.yaml")
        '../concessions.yaml'
        """
        folder, root = absolute(self.path.parent), self.workspace.root
        if not folder.is_relative_to(root):
            return reported(root / name)
        up = [".."] * len(folder.relative_to(root).parts)
        return posixpath.normpath(posixpath.join(self.file, "..", *up, name))


class LeftOut(NamedTuple):
    """A file or folder that is not read, and why, as the end of a sentence."""

    file: str
    reason: str


@dataclass(frozen=True, slots=True)
class Sources:
    """The files to read and those left out, each in the order of their names."""

    files: tuple[Source, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def workspaces(self) -> tuple[Workspace, ...]:
        """The workspaces of the files, each once."""
        return tuple(dict.fromkeys(source.workspace for source in self.files))


def find_sources(
    paths: Iterable[Path], workspace_file: Path | None = None, top: Path | None = None
) -> Sources:
    """Find the meter files that some paths lead to, each once.

    A folder stands for all YAML files below it but those in hidden folders and
    those of a workspace's own. `workspace_file` is taken for all files instead of
    the nearest one around each, which does not lie above the folder `top`. Raises
    `RunError` for a path that does not exist, a folder without YAML files, and a
    faulty workspace file.
    """
    finder = _Finder(workspace_file, top)
    for path in paths:
        finder.take(path)
    if finder.faults:
        raise RunError(*finder.faults)
    files = sorted(finder.files.values(), key=lambda source: source.file)
    # A file may be left out of a folder and yet be named itself.
    read = {source.file for source in files}
    left_out = sorted(each for each in finder.left_out if each.file not in read)
    return Sources(tuple(files), tuple(left_out))


@dataclass(slots=True)
class _Finder:
    """Goes through paths and sorts what it finds."""

    workspace_file: Path | None
    top: Path | None
    files: dict[str, Source] = field(default_factory=dict)
    left_out: set[LeftOut] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)
    workspaces: dict[Path, Workspace | None] = field(default_factory=dict)
    folders: dict[Path, _Around] = field(default_factory=dict)

    def take(self, path: Path) -> None:
        """Take a path that a user has named."""
        try:
            mode = path.stat().st_mode
        except FileNotFoundError:
            self.refuse(path, "There is no such file or folder.")
        except OSError as error:
            self.refuse(path, f"This can't be opened: {error.strerror}.")
        else:
            self.take_what_is_there(path, mode)

    def take_what_is_there(self, path: Path, mode: int) -> None:
        if stat.S_ISDIR(mode):
            before = len(self.left_out)
            found = list(self.walk(path))
            if not found and len(self.left_out) == before:
                self.refuse(path, "The folder holds no YAML file.")
            for file in found:
                self.sort(file)
        elif stat.S_ISREG(mode):
            self.sort(path, named=True)
        else:
            self.refuse(path, "This is neither a file nor a folder.")

    def refuse(self, path: Path, problem: str) -> None:
        advice = "Name a YAML file, or a folder that holds some."
        place = Place(reported(path))
        self.faults.append(Fault("path-found", place, problem, advice))

    def leave(self, path: Path, reason: str) -> None:
        self.left_out.add(LeftOut(reported(path), reason))

    def walk(self, folder: Path) -> Iterator[Path]:
        """Find the YAML files below a folder, without following links out of it."""
        inside = folder.resolve()
        waiting = [str(folder)]
        while waiting:
            for entry in self.entries(waiting.pop()):
                is_folder = _is_folder(entry)
                if is_folder and entry.name.startswith("."):
                    continue
                if not is_folder and not entry.name.lower().endswith(ENDINGS):
                    continue
                if entry.is_symlink() and not self.check_link(Path(entry.path), inside):
                    continue
                if is_folder:
                    waiting.append(entry.path)
                elif entry.is_file():
                    yield Path(entry.path)
                else:
                    self.leave(Path(entry.path), "it is no regular file")

    def entries(self, folder: str) -> list[os.DirEntry[str]]:
        try:
            with os.scandir(folder) as entries:
                return list(entries)
        except OSError as error:
            self.unopened(error)
            return []

    def unopened(self, error: OSError) -> None:
        self.leave(Path(error.filename), f"it can't be opened: {error.strerror}")

    def check_link(self, path: Path, inside: Path) -> bool:
        """Whether a link leads to a file inside; one that does not is left out."""
        target = _target(path)
        if target is None:
            self.leave(path, "it is a link that leads nowhere")
        elif not target.is_relative_to(inside):
            self.leave(path, "it is a link that leads out of the given folder")
        elif target.is_dir():
            # What it leads to is found under its own name, unless that is hidden.
            if any(part.startswith(".") for part in target.relative_to(inside).parts):
                self.leave(path, "it is a link that leads into a hidden folder")
        else:
            return True
        return False

    def sort(self, path: Path, named: bool = False) -> None:
        """Put a file where it belongs: to be read, left out, or of no concern."""
        around = self.around(path.parent)
        if around.workspace is None:
            return
        reason = _reason(path.name, around, named)
        if reason is None:
            name = around.prefix + path.name
            source = Source(name, path, around.workspace, around.site)
            true = around.true + path.name
            if path.is_symlink():
                true = str(path.resolve())
            known = self.files.get(true)
            # Of a file and the links to it, the file's own name is reported.
            if known is None or known.path.is_symlink():
                self.files[true] = source
        elif reason:
            self.leave(path, reason)

    def around(self, folder: Path) -> _Around:
        """What the files of a folder have in common, found once."""
        if folder not in self.folders:
            file = self.workspace_file or find_workspace(folder, self.top)
            workspace = NO_WORKSPACE if file is None else self.workspace(file)
            site = None if workspace is None else workspace.site_of(folder)
            own = "" if workspace is None else _own_folder(absolute(folder), workspace)
            name = reported(folder)
            self.folders[folder] = _Around(
                str(folder.resolve() / "_")[:-1],
                "" if name == "." else f"{name.rstrip('/')}/",
                workspace,
                site,
                absolute(folder),
                own,
            )
        return self.folders[folder]

    def workspace(self, file: Path) -> Workspace | None:
        """Read a workspace file once; None where it can't be taken."""
        if file not in self.workspaces:
            self.workspaces[file] = None
            try:
                self.workspaces[file] = load_workspace(file)
            except RunError as error:
                self.faults += error.faults
        return self.workspaces[file]


def _is_folder(entry: os.DirEntry[str]) -> bool:
    """Whether an entry is a folder or leads to one; one that leads round is none."""
    try:
        return entry.is_dir()
    except OSError:
        return False


def _target(link: Path) -> Path | None:
    """What a link leads to in the end; a link that leads to itself has no end."""
    try:
        return link.resolve(strict=True)
    except (OSError, RuntimeError):
        return None


class _Around(NamedTuple):
    """What the files of a folder have in common.

    `true` is the folder's path with all links followed, `prefix` what stands
    before a file's name in reports, `own` what the workspace keeps in it.
    """

    true: str
    prefix: str
    workspace: Workspace | None
    site: Site | None
    folder: Path
    own: str


def _own_folder(folder: Path, workspace: Workspace) -> str:
    kept = ((workspace.rules, "rules"), (workspace.type_sheets, "type sheets"))
    within = (
        kind for own, kind in kept if own is not None and folder.is_relative_to(own)
    )
    return next(within, "")


def _reason(name: str, around: _Around, named: bool) -> str | None:
    """Why a file is no meter file: None if it is one, "" where all know why."""
    site = around.site
    if name == SITE_FILE and not named:
        served = site is not None and site.folder == around.folder
        return "" if served else "its folder is not that of a site in a workspace file"
    if name in OWN_FILES:
        return "it holds no meters by its name" if named else ""
    if around.own:
        reason = f"it lies in the workspace's folder of {around.own}"
        return reason if named else ""
    if around.workspace and around.workspace.sites and site is None and not named:
        return "it lies in no site's folder"
    return None
