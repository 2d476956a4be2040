"""What all tests share: the checkout's root and a plain environment for programs."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# The same examples on every run, and no deadline, so that a slow machine and a fast
# one give the same verdict.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def root() -> Path:
    """Give the root folder of the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def environment(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Give programs the checkout, UTF-8, plain text 80 wide and a cache of their own.

    Colours, the terminal's width and the user's own cache would otherwise change
    what a program prints from one machine to the next.
    """
    cache = str(tmp_path_factory.mktemp("cache"))
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in {"FORCE_COLOR", "CLICOLOR_FORCE", "PYTHONPATH"}
    }
    plain = {"NO_COLOR": "1", "TERM": "dumb", "COLUMNS": "80"}
    own = {"PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": cache, "LOCALAPPDATA": cache}
    return {**kept, **plain, **own, "PYTHONUTF8": "1"}
