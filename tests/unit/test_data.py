"""Laws of finding the folders that come with the package."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.data import data_folder
from configlint.errors import ConfiglintError


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """Make the empty folder of an installed package."""
    folder = tmp_path / "configlint"
    folder.mkdir()
    return folder


def test_a_checkout_gives_the_folders_at_its_root(root: Path) -> None:
    """In this checkout both folders are the ones beside the package."""
    assert data_folder("rules") == root / "rules"
    assert data_folder("schemas") == root / "schemas"


def test_the_folder_inside_the_package_comes_first(package: Path) -> None:
    """A folder that the wheel carried wins over one that stands beside it."""
    (package / "data" / "rules").mkdir(parents=True)
    (package.parent / "rules").mkdir()
    (package.parent / "pyproject.toml").touch()
    assert data_folder("rules", package) == package / "data" / "rules"


def test_a_folder_beside_a_package_counts_in_a_checkout_only(package: Path) -> None:
    """A neighbour's folder is not taken for ours where no project file stands."""
    (package.parent / "rules").mkdir()
    with pytest.raises(ConfiglintError):
        data_folder("rules", package)
    (package.parent / "pyproject.toml").touch()
    assert data_folder("rules", package) == package.parent / "rules"


def test_a_missing_folder_is_named_with_its_place_and_remedy(package: Path) -> None:
    """Where neither folder is there, the message says which, where and what to do."""
    (package.parent / "pyproject.toml").touch()
    with pytest.raises(ConfiglintError) as caught:
        data_folder("schemas", package)
    message = str(caught.value)
    assert message.startswith(f"{package.as_posix()}/data/schemas:1:1: ")
    assert "lacks its folder 'schemas'" in message
    assert "Install configlint again" in message
