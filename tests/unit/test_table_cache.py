"""Laws of the cache: what is kept is found again, and damage is never used."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from configlint.table_cache import cache_folder, keep_table, kept_table

KEY = "0123456789abcdef" * 4
TABLE = {"units": [["m³", [1, 3], ""]], "count": 1}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give an empty cache folder to the test alone."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    return tmp_path / "configlint"


def kept_file(folder: Path) -> Path:
    """Give the one file of the cache folder."""
    (file,) = folder.iterdir()
    return file


def test_a_kept_table_is_found_again(folder: Path) -> None:
    """A table is found under its name and key, in one plain text file."""
    assert kept_table("units", KEY) is None
    keep_table("units", KEY, TABLE)
    assert kept_table("units", KEY) == TABLE
    assert json.loads(kept_file(folder).read_text("ascii"))["key"] == KEY


def test_another_name_or_key_finds_nothing(folder: Path) -> None:
    """A table is not found under another name, nor under a key that begins alike."""
    keep_table("units", KEY, TABLE)
    assert kept_table("rules", KEY) is None
    assert kept_table("units", KEY[::-1]) is None
    assert kept_table("units", KEY[:-1] + "0") is None


@pytest.mark.parametrize(
    "damage",
    [
        b"",
        b"not JSON",
        b"\xff\xfe",
        b"[]",
        b"5",
        b"{}",
        b'{"key": "0", "digest": "0", "table": 5}',
        b"[" * 100_000,
    ],
)
def test_a_damaged_file_is_not_used(folder: Path, damage: bytes) -> None:
    """A file that is no cache file counts as absent, and is replaced."""
    keep_table("units", KEY, TABLE)
    kept_file(folder).write_bytes(damage)
    assert kept_table("units", KEY) is None
    keep_table("units", KEY, TABLE)
    assert kept_table("units", KEY) == TABLE


def test_a_changed_figure_is_not_used(folder: Path) -> None:
    """A file in which one digit of the table changed counts as absent."""
    keep_table("units", KEY, TABLE)
    file = kept_file(folder)
    file.write_text(file.read_text("ascii").replace("[1, 3]", "[1, 4]"), "ascii")
    assert kept_table("units", KEY) is None


def test_a_folder_that_cannot_be_is_no_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where no folder can be made, nothing is kept and nothing is raised."""
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    monkeypatch.setenv("LOCALAPPDATA", str(blocked))
    keep_table("units", KEY, TABLE)
    assert kept_table("units", KEY) is None
    assert blocked.read_text("utf-8") == "in the way"


def test_a_failed_rename_leaves_nothing_behind(folder: Path) -> None:
    """When the file can't be put in its place, the one beside it is removed."""
    keep_table("units", KEY, TABLE)
    place = kept_file(folder)
    place.unlink()
    place.mkdir()
    keep_table("units", KEY, TABLE)
    assert list(folder.iterdir()) == [place]


def test_the_folder_is_the_platform_s(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows has its own variable for the cache's parent, other systems have XDG's."""
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "local"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    monkeypatch.setattr(sys, "platform", "win32")
    assert cache_folder() == tmp_path / "local" / "configlint"
    monkeypatch.setattr(sys, "platform", "linux")
    assert cache_folder() == tmp_path / "xdg" / "configlint"


def test_a_relative_folder_is_ignored(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A relative path in the variable counts for nothing, and the home is used."""
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    for value in ("relative/path", ""):
        monkeypatch.setenv("XDG_CACHE_HOME", value)
        monkeypatch.setenv("LOCALAPPDATA", value)
        assert cache_folder() == tmp_path / ".cache" / "configlint"


def test_without_a_home_nothing_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no home is known, or only a relative one, there is no cache."""
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    monkeypatch.setattr(Path, "home", lambda: Path("relative"))
    assert cache_folder() is None

    def homeless() -> Path:
        message = "no home"
        raise RuntimeError(message)

    monkeypatch.setattr(Path, "home", homeless)
    assert cache_folder() is None
    keep_table("units", KEY, TABLE)
    assert kept_table("units", KEY) is None
