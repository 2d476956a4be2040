"""What a user asks to compare: files, folders or revisions, read off the arguments.

Nothing is guessed: a text that could be a file and a revision is refused, and so is
one that is neither. The sides are open, with the files of revisions written out, for as
long as their context lasts.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import NamedTuple

from configlint.errors import Fault, Place, RunError
from configlint.files import absolute, reported
from configlint.report import Commit
from configlint.review.repository import Repository, around
from configlint.review.revisions import Scope, written_out
from configlint.review.sides import Side, is_there

__all__ = [
    "WORKING_TREE",
    "Asked",
    "name_in",
    "open_revision",
    "open_sides",
    "open_working_tree",
    "read_arguments",
]

WORKING_TREE = "the working tree"
USAGE = (
    "Write BEFORE and AFTER, each a file, a folder or a revision; or a range such as "
    "main..HEAD; or one revision to compare with the files as they are now."
)


class Asked(NamedTuple):
    """Two things to compare: a revision, a path, or None for the working tree.

    `paths` are the files and folders to which the comparison keeps; without any it is
    of everything.
    """

    before: Commit | Path
    after: Commit | Path | None
    paths: tuple[Path, ...] = ()
    repository: Repository | None = None


def read_arguments(arguments: Sequence[str]) -> Asked:
    """Read what is to be compared.

    Raises `RunError` for what is neither there nor a revision, or could be either.
    """
    first, *rest = arguments
    if ".." in first and ".." not in Path(first).parts and not is_there(Path(first)):
        return _range(first, rest)
    reader = _Reader()
    before = reader.read(first)
    if isinstance(before, Path):
        if not rest:
            raise _refusal(first, "There is nothing to compare this with.", USAGE)
        after = reader.read(rest[0])
        return Asked(before, after, tuple(map(Path, rest[1:])), reader.repository)
    second = reader.find(rest[0]) if rest else None
    if isinstance(second, Commit):
        return Asked(before, second, tuple(map(Path, rest[1:])), reader.repository)
    return Asked(before, None, tuple(map(Path, rest)), reader.repository)


def _range(text: str, rest: Sequence[str]) -> Asked:
    """Read BEFORE..AFTER; between three points it is what AFTER has changed since both.

    An end that is not written is HEAD.
    """
    repository = around()
    forked = "..." in text
    before, _, after = text.partition("..." if forked else "..")
    one, other = (repository.commit(end or "HEAD") for end in (before, after))
    if forked:
        one = repository.common(one, other)
    return Asked(one, other, tuple(map(Path, rest)), repository)


class _Reader:
    """Reads arguments one by one; a repository is looked for when it is needed."""

    def __init__(self) -> None:
        self.repository: Repository | None = None
        self.lack: RunError | None = None

    def read(self, text: str) -> Commit | Path:
        """Read a file, a folder or a revision, or raise `RunError`."""
        found = self.find(text)
        if found is not None:
            return found
        if self.repository is not None:
            return self.repository.commit(text)
        lacking = self.lack.faults if self.lack else ()
        said = "".join(f" {each.problem}" for each in lacking)
        raise _refusal(text, f"There is no such file or folder.{said}", USAGE)

    def find(self, text: str) -> Commit | Path | None:
        """Read a file, a folder or a revision; None where a text is none of these."""
        there = is_there(Path(text))
        if there and text.startswith("-"):
            return Path(text)
        commit = self._commit(text)
        if there and commit is not None:
            problem = f"{text!r} is a file or folder here, and a revision as well."
            advice = (
                f"Write ./{text} for the one, and for the other its whole name, such "
                f"as refs/heads/{text}."
            )
            raise _refusal(text, problem, advice)
        return Path(text) if there else commit

    def _commit(self, text: str) -> Commit | None:
        if self.repository is None and self.lack is None:
            try:
                self.repository = around()
            except RunError as error:
                self.lack = error
        return self.repository.find(text) if self.repository else None


def name_in(repository: Repository, path: Path) -> str:
    """Name a path as the repository does, or raise `RunError` for one outside it."""
    for full in (absolute(path), path.resolve()):
        if full.is_relative_to(repository.root):
            return full.relative_to(repository.root).as_posix()
    problem = f"This lies outside the repository at {reported(repository.root)!r}."
    raise _refusal(reported(path), problem, "Name a path inside of it.")


@contextmanager
def open_sides(
    asked: Asked, rules: str | None = None, workspace_file: Path | None = None
) -> Iterator[tuple[Side, Side]]:
    """Give the two sides, for as long as the context lasts.

    `rules` names a revision whose rules are to judge both. Raises `RunError` where a
    side can't be read.
    """
    repository = asked.repository
    both = asked[:2]
    if repository is None or all(isinstance(each, Path) for each in both):
        if rules is not None:
            problem = "Rules of a revision judge revisions, or the working tree."
            raise _refusal(
                rules, problem, "Compare revisions, or leave the option out."
            )
        yield _open_paths(asked, workspace_file)
        return
    paths = [each for each in both if isinstance(each, Path)]
    scope = Scope(
        tuple(name_in(repository, each) for each in (*paths, *asked.paths)) or (".",)
    )
    judging = None if rules is None else repository.commit(rules)
    with ExitStack() as stack:
        one, other = (
            stack.enter_context(
                open_revision(repository, each, scope, judging, workspace_file)
                if isinstance(each, Commit)
                else open_working_tree(repository, scope, judging, workspace_file)
            )
            for each in both
        )
        _refuse_absent(scope, one, other)
        yield one, other


def _open_paths(asked: Asked, workspace_file: Path | None) -> tuple[Side, Side]:
    """Give two sides of which each is a file, or a folder with what is below it."""
    names = tuple(path.as_posix() for path in asked.paths) or (".",)
    one, other = (
        Side(reported(path), absolute(path), path, names, None, workspace_file)
        for path in asked[:2]
        if isinstance(path, Path)
    )
    for path in asked.paths:
        if path.is_absolute() or ".." in path.parts:
            problem = "A path behind two folders is looked for below each of them."
            raise _refusal(str(path), problem, "Write it as seen from the folders.")
    _refuse_absent(Scope(names), one, other)
    return one, other


def _refuse_absent(scope: Scope, *sides: Side) -> None:
    for name in scope.names if scope.names != (".",) else ():
        if not any(side.has(name) for side in sides):
            told = " nor in ".join(side.told for side in sides)
            problem = f"There is no YAML file here, neither in {told}."
            advice = "Correct the path; or the revision, if one is meant."
            raise _refusal(sides[0].name(name), problem, advice)


@contextmanager
def open_revision(
    repository: Repository,
    commit: Commit,
    scope: Scope,
    rules: Commit | None = None,
    workspace_file: Path | None = None,
) -> Iterator[Side]:
    """Give the files of a revision as a side, judged by its own rules or other ones."""
    with written_out(repository, commit, rules or commit, scope) as tree:
        yield Side(
            commit.told,
            tree.folder,
            _base(repository),
            scope.names,
            commit,
            _inside(repository, tree.folder, workspace_file),
            tree.left_out,
            None if rules is None else tree.put_aside,
            private=True,
            versioned=True,
            rules=rules,
        )


@contextmanager
def open_working_tree(
    repository: Repository,
    scope: Scope,
    rules: Commit | None = None,
    workspace_file: Path | None = None,
) -> Iterator[Side]:
    """Give the files of the working tree as a side."""
    if repository.bare:
        problem = "This repository has no working tree."
        raise _refusal(".", problem, "Name two revisions, such as main~1..main.")
    base = _base(repository)
    if rules is None:
        yield Side(
            WORKING_TREE,
            repository.root,
            base,
            scope.names,
            None,
            workspace_file,
            versioned=True,
        )
        return
    with written_out(repository, None, rules, scope) as tree:
        yield Side(
            WORKING_TREE,
            tree.folder,
            base,
            scope.names,
            None,
            _inside(repository, tree.folder, workspace_file),
            tree.left_out,
            tree.put_aside,
            private=True,
            versioned=True,
            rules=rules,
        )


def _base(repository: Repository) -> Path:
    """The root of a repository as a user here would write it."""
    return Path(os.path.relpath(repository.root))


def _inside(
    repository: Repository, folder: Path, workspace_file: Path | None
) -> Path | None:
    """Where a workspace file that is named lies among the files of a revision."""
    if workspace_file is None:
        return None
    return folder / name_in(repository, workspace_file)


def _refusal(name: str, problem: str, advice: str) -> RunError:
    return RunError(Fault("path-found", Place(name), problem, advice))
