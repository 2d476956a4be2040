"""What judges the files of a side: the rules, policy and concessions of a workspace."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from configlint.concessions import Concession, load_concessions
from configlint.data import data_folder
from configlint.review.sides import Judged, Side
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook
from configlint.workspace import Workspace

__all__ = ["Standard", "Standards", "name_of", "read_standards", "standards_of"]


class Standard(NamedTuple):
    """What judges the files of one workspace."""

    workspace: Workspace
    book: RuleBook
    concessions: tuple[Concession, ...]


Standards = Mapping[str, Standard]
"""What judges on one side, by the key of the workspace's root."""


def name_of(one: Standard | None, other: Standard | None) -> str:
    """Name a workspace as the later side does, if it has it."""
    known = other or one
    return known.workspace.name if known else ""


def standards_of(judged: Judged) -> dict[str, Standard]:
    """Give what judges a side that was judged."""
    return _standards(judged.side, judged.workspaces)


def read_standards(side: Side) -> dict[str, Standard]:
    """Read what judges a side, without judging it.

    Raises `RunError` where it can't be taken.
    """
    found = side.workspaces(side.find())
    with side.told_by_name():
        return _standards(side, found)


def _standards(side: Side, workspaces: Iterable[Workspace]) -> dict[str, Standard]:
    standards = {}
    for workspace in workspaces:
        if workspace.file is not None:
            book = load_rule_book(data_folder("rules"), *workspace.rule_folders)
            conceded = load_concessions(workspace, book)
            key = side.key(workspace.root)
            standards[key] = Standard(workspace, book, conceded)
    return standards
