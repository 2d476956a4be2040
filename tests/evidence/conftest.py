"""The one run over all published examples, which the tests here read."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.data import data_folder
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook
from tests.evidence.examples import TAGGED
from tests.evidence.meters import Examined, examine, write_workspace


@pytest.fixture(scope="session")
def example_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a workspace with a meter file for each example, its limits moved."""
    meters = [(tag, example.meter) for tag, example in TAGGED.items()]
    folder = tmp_path_factory.mktemp("examples")
    return write_workspace(folder, meters, moved=True)


@pytest.fixture(scope="session")
def examined(example_folder: Path) -> Examined:
    """Give what the tool found in the meter files of all examples."""
    return examine(example_folder)


@pytest.fixture(scope="session")
def book() -> RuleBook:
    """Give the standard rules as loaded."""
    return load_rule_book(data_folder("rules"))
