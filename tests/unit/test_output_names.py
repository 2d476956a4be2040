"""Laws of the names of files as a code host knows them."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.outputs.names import Root, find_root


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    """Give a repository with a folder of a site in it."""
    (tmp_path / "plant" / ".git").mkdir(parents=True)
    (tmp_path / "plant" / "sites" / "north").mkdir(parents=True)
    return tmp_path / "plant"


@pytest.mark.parametrize(
    ("folder", "file", "name"),
    [
        (".", "sites/north/FT-1.yaml", "sites/north/FT-1.yaml"),
        ("sites", "north/FT-1.yaml", "sites/north/FT-1.yaml"),
        ("sites/north", "FT-1.yaml", "sites/north/FT-1.yaml"),
        ("sites/north", "../south/FT-1.yaml", "sites/south/FT-1.yaml"),
        ("sites", "./north/../FT-1.yaml", "sites/FT-1.yaml"),
        ("sites", "../../FT-1.yaml", None),
        (".", "/elsewhere/FT-1.yaml", None),
    ],
)
def test_a_file_is_named_from_the_root_of_its_repository(
    plant: Path,
    monkeypatch: pytest.MonkeyPatch,
    folder: str,
    file: str,
    name: str | None,
) -> None:
    """Wherever a run is started, a file has one name, and none outside."""
    monkeypatch.chdir(plant / folder)
    root = find_root()
    assert root == Root(plant)
    assert root.name(file) == name
    assert root.told(file) == (file if name is None else name)


def test_a_file_of_a_whole_path_is_named_from_the_root(
    plant: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that is given by its whole path has the same name as by a short one."""
    monkeypatch.chdir(plant)
    assert find_root().name(str(plant / "sites" / "FT-1.yaml")) == "sites/FT-1.yaml"


def test_a_work_tree_whose_mark_is_a_file_is_a_repository(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A further work tree of a repository has a file where others have a folder."""
    (tmp_path / "tree" / "sites").mkdir(parents=True)
    (tmp_path / "tree" / ".git").write_text("gitdir: elsewhere\n", "utf-8")
    monkeypatch.chdir(tmp_path / "tree" / "sites")
    assert find_root().name("FT-1.yaml") == "sites/FT-1.yaml"


def test_without_a_repository_the_root_is_where_the_run_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Names stay as they are told where no folder above is a repository."""
    monkeypatch.chdir(tmp_path)
    assert find_root() == Root(tmp_path)


def test_names_follow_the_folder_of_the_run(
    plant: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was found from one folder is not kept for a run in another."""
    monkeypatch.chdir(plant / "sites")
    assert find_root().name("FT-1.yaml") == "sites/FT-1.yaml"
    monkeypatch.chdir(plant)
    assert find_root().name("FT-1.yaml") == "FT-1.yaml"


def test_a_uri_is_relative_inside_and_whole_outside(
    plant: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A URI leads to a file outside too, since it does not start at the root then."""
    monkeypatch.chdir(plant)
    root = find_root()
    assert root.uri("sites/FT 1.yaml") == "sites/FT%201.yaml"
    outside = plant.parent / "else where" / "FT 1.yaml"
    assert root.uri(str(outside)) == outside.as_uri()
    assert root.uri("../else where/FT 1.yaml") == outside.as_uri()
