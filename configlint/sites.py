"""The workspace of a configuration repository: its sites, folders and policy.

`configlint.yaml` at the root names the sites and their folders; `site.yaml` in a
site's folder tells of that site. Mistakes in either stop the run, since nothing
could be judged by them rightly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

from configlint.documents import Document, read_document
from configlint.errors import Fault, Place, RunError
from configlint.errors import Path as Steps
from configlint.fields import Model, validate
from configlint.files import absolute, reported, unreadable
from configlint.units import Quantity
from configlint.workspace_files import Changes, SiteFile, WorkspaceFile

__all__ = [
    "NO_WORKSPACE",
    "SITE_FILE",
    "WORKSPACE_FILE",
    "Change",
    "Policy",
    "Site",
    "Workspace",
    "find_workspace",
    "load_workspace",
    "read_own",
]

WORKSPACE_FILE = "configlint.yaml"
SITE_FILE = "site.yaml"
SOUND = "workspace-sound"

F = TypeVar("F", bound=Model)


@dataclass(frozen=True, slots=True)
class Change:
    """A limit that a policy changes: rule, limit, what is written, why, and where."""

    rule: str
    limit: str
    value: str
    reason: str
    place: Place


Policy = tuple[Change, ...]
"""The limits that a policy changes, in the order they are written."""


@dataclass(frozen=True, slots=True)
class Site:
    """A site: its absolute folder, and what its file says of it.

    `unit_convention` is the workspace's where the site has none of its own;
    `policy` holds the site's own changes, which go over those of the workspace.
    `file` is None where the folder holds no site file.
    """

    name: str
    folder: Path
    mains_frequency: Quantity | None = field(default=None, hash=False)
    unit_convention: str | None = field(default=None, hash=False)
    policy: Policy = field(default=(), hash=False)
    file: Path | None = field(default=None, hash=False)
    hours_per_year: Quantity | None = field(default=None, hash=False)

    @classmethod
    def of(
        cls,
        model: SiteFile,
        folder: Path = Path(),
        policy: Policy = (),
        file: Path | None = None,
    ) -> Site:
        """Make the site that a site file describes."""
        return cls(
            model.site,
            folder,
            model.mains_frequency,
            model.unit_convention,
            policy,
            file,
            model.hours_per_year,
        )


@dataclass(frozen=True, slots=True)
class Workspace:
    """A configuration repository: its absolute root, its sites and own folders.

    `file` is None for files that belong to no workspace.
    """

    name: str = ""
    root: Path = Path()
    file: Path | None = None
    sites: tuple[Site, ...] = field(default=(), hash=False)
    type_sheets: Path | None = field(default=None, hash=False)
    rules: Path | None = field(default=None, hash=False)
    policy: Policy = field(default=(), hash=False)
    unit_convention: str | None = field(default=None, hash=False)

    @property
    def rule_folders(self) -> tuple[Path, ...]:
        """The folder of its own rule files, if it has one."""
        return () if self.rules is None else (self.rules,)

    def site_of(self, file: Path) -> Site | None:
        """Find the site whose folder holds a file, the innermost of several."""
        path = absolute(file)
        around = [site for site in self.sites if path.is_relative_to(site.folder)]
        return max(around, key=lambda site: len(site.folder.parts), default=None)


NO_WORKSPACE = Workspace()
"""The workspace of files that belong to none."""


def find_workspace(path: Path, top: Path | None = None) -> Path | None:
    """Find the workspace file of the nearest folder around a file or folder.

    Above the folder `top`, which is absolute, none is looked for.
    """
    start = absolute(path)
    folders = (start, *start.parents)
    inside = (each for each in folders if top is None or each.is_relative_to(top))
    files = (folder / WORKSPACE_FILE for folder in inside)
    return next((file for file in files if _is(Path.is_file, file)), None)


def _is(kind: Callable[[Path], bool], path: Path) -> bool:
    """Whether a path is of a kind; one that no file could have is of none."""
    try:
        return kind(path)
    except OSError:
        return False


def read_own(
    model: type[F], data: bytes, name: str
) -> tuple[Document | None, F | None, tuple[Fault, ...]]:
    """Read the bytes of a workspace's own file, which is one document of one model.

    What can't be read is None, and the faults say why.
    """
    reading = read_document(data, name)
    if not reading.documents:
        return None, None, reading.faults
    first, *others = reading.documents
    problem = "A second document begins here, where the file has but one."
    advice = "Put all of it into one document."
    second = (Fault(SOUND, other.place(()), problem, advice) for other in others)
    value, faults = validate(model, first)
    return first, value, (*reading.faults, *second, *faults)


def load_workspace(file: Path) -> Workspace:
    """Read a workspace file and the site files that it leads to.

    Raises `RunError` with every fault of all of them.
    """
    loader = _Loader(absolute(file).parent)
    workspace = loader.workspace(file)
    if workspace is None or loader.faults:
        raise RunError(*loader.faults)
    return workspace


@dataclass(slots=True)
class _Loader:
    """Reads the files of one workspace and collects what is wrong with them."""

    root: Path
    faults: list[Fault] = field(default_factory=list)

    def workspace(self, file: Path) -> Workspace | None:
        document, model = self.read(WorkspaceFile, file)
        if document is None or model is None:
            return None
        return Workspace(
            model.workspace,
            self.root,
            absolute(file),
            tuple(self.sites(document, model)),
            self.folder(document, ("type_sheets",), model.type_sheets),
            self.folder(document, ("rules",), model.rules),
            _policy(document, model.policy),
            model.unit_convention,
        )

    def read(self, model: type[F], file: Path) -> tuple[Document | None, F | None]:
        """Read a file that holds one document of one model."""
        name = reported(file)
        try:
            data = file.read_bytes()
        except OSError as error:
            self.faults.append(unreadable(file, error))
            return None, None
        document, value, faults = read_own(model, data, name)
        self.faults += faults
        return document, value

    def folder(
        self, document: Document, path: Steps, written: str | None
    ) -> Path | None:
        """Find a folder of the workspace, or say what is wrong with its name."""
        if written is None:
            return None
        folder = absolute(self.root / written)
        inside = folder.resolve().is_relative_to(self.root.resolve())
        if not (inside and folder.is_relative_to(self.root)):
            problem = f"The folder {written!r} lies outside the workspace."
            advice = "Write a folder below the workspace file."
        elif not _is(Path.is_dir, folder):
            problem = f"The folder {written!r} does not exist."
            advice = f"Create {reported(folder)}, or correct its name."
        else:
            return folder
        self.faults.append(Fault(SOUND, document.place(path), problem, advice, path))
        return None

    def sites(self, document: Document, model: WorkspaceFile) -> Iterator[Site]:
        owners: dict[Path, str] = {}
        for name, entry in (model.sites or {}).items():
            path = ("sites", name, "folder")
            folder = self.folder(document, path, entry.folder)
            if folder is None:
                continue
            owner = owners.setdefault(folder, name)
            if owner == name:
                yield self.site(name, folder, model.unit_convention)
                continue
            problem = f"The folder {entry.folder!r} is that of the site {owner!r} too."
            advice = "Give each site a folder of its own."
            place = document.place(path)
            self.faults.append(Fault(SOUND, place, problem, advice, path))

    def site(self, name: str, folder: Path, convention: str | None) -> Site:
        """Read a site's own file, which it may do without."""
        file = folder / SITE_FILE
        plain = Site(name, folder, unit_convention=convention)
        if not file.exists():
            return plain
        document, model = self.read(SiteFile, file)
        if document is None or model is None:
            return plain
        if model.site != name:
            problem = f"The site is named {model.site!r} here."
            advice = f"Write {name}, as the workspace file does."
            place = document.place(("site",))
            self.faults.append(Fault(SOUND, place, problem, advice, ("site",)))
        site = Site.of(model, folder, _policy(document, model.policy), file)
        if site.unit_convention is None:
            return replace(site, unit_convention=convention)
        return site


def _policy(document: Document, changes: Changes | None) -> Policy:
    return tuple(
        Change(
            rule,
            limit,
            change.value,
            change.reason,
            document.place(("policy", rule, limit, "value")),
        )
        for rule, limits in (changes or {}).items()
        for limit, change in limits.items()
    )
