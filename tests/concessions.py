"""Entries of a file of concessions, as tests write, read and refuse them."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.concessions import Concession, read_concessions
from configlint.errors import RunError
from configlint.sites import Site, Workspace
from tests.builders import standard_book
from tests.workspaces import sentences

__all__ = ["ENTRY", "WORKSPACE", "entry", "read", "refused"]

ENTRY = {
    "rule": "velocity-at-span-in-band",
    "meter": "FT-1",
    "reason": "The pump runs slowly until the plant is extended",
    "granted_by": "A. Nobody",
    "granted_on": "2026-01-31",
    "expires_on": "2026-07-31",
}
SITES = (Site("North", Path("north")), Site("South", Path("south")))
WORKSPACE = Workspace("works", Path(), Path("configlint.yaml"), SITES)


def entry(**changed: str | None) -> str:
    """Write one entry, changed in some keys; a key of None is left out."""
    keys = {**ENTRY, **changed}
    lines = [f"{key}: {text}" for key, text in keys.items() if text is not None]
    return "  - " + "\n    ".join(lines) + "\n"


def read(*entries: str, workspace: Workspace = WORKSPACE) -> tuple[Concession, ...]:
    """Read a file of some entries."""
    data = f"concessions:\n{''.join(entries)}".encode()
    return read_concessions(data, "concessions.yaml", workspace, standard_book())


def refused(*entries: str, workspace: Workspace = WORKSPACE) -> list[str]:
    """Give the sentences by which a file of some entries is refused."""
    with pytest.raises(RunError) as error:
        read(*entries, workspace=workspace)
    return sentences(error)
