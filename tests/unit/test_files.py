"""Laws of files: named as a user does, read up to a bound, written whole or not."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from configlint.files import absolute, read_bounded, reported, write_beside


def test_a_file_is_written_with_line_feeds_in_utf_8(tmp_path: Path) -> None:
    """The file holds the text as UTF-8, with line feeds on every system."""
    file = tmp_path / "a.txt"
    write_beside(file, "größe\n1 µS/cm\n")
    assert file.read_bytes() == "größe\n1 µS/cm\n".encode()


def test_a_file_takes_the_place_of_an_older_one(tmp_path: Path) -> None:
    """The new text stands alone, and nothing is left beside it."""
    file = tmp_path / "a.txt"
    file.write_text("a much longer text", "utf-8")
    write_beside(file, "new")
    assert file.read_text("utf-8") == "new"
    assert list(tmp_path.iterdir()) == [file]


def test_a_file_may_be_read_as_the_system_says(tmp_path: Path) -> None:
    """A written file has the mode that the process gives to new files."""
    plain, written = tmp_path / "plain", tmp_path / "written"
    plain.write_text("", "utf-8")
    write_beside(written, "")
    assert stat.S_IMODE(written.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)


@pytest.mark.parametrize("text", ["new \ud800", "new"])
def test_an_older_file_stays_when_writing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    """Where a text can't be written or put in place, nothing has changed."""
    file = tmp_path / "a.txt"
    file.write_text("old", "utf-8")
    if text == "new":

        def refuse(self: Path, target: Path) -> Path:
            raise PermissionError(13, "Permission denied", str(target))

        monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises((UnicodeEncodeError, PermissionError)):
        write_beside(file, text)
    assert file.read_text("utf-8") == "old"
    assert list(tmp_path.iterdir()) == [file]


def test_a_folder_that_is_not_there_is_told_with_the_files_name(tmp_path: Path) -> None:
    """The error names the file that was meant, not the one written beside it."""
    file = tmp_path / "nowhere" / "a.txt"
    with pytest.raises(FileNotFoundError) as caught:
        write_beside(file, "new")
    assert caught.value.filename == str(file)
    assert os.strerror(caught.value.errno or 0) == caught.value.strerror


@pytest.mark.parametrize("size", [0, 1, 65_535, 65_536, 65_537, 200_000])
def test_a_file_is_read_whole_or_to_one_byte_beyond_the_bound(
    tmp_path: Path, size: int
) -> None:
    """Up to the bound all bytes are read in order, beyond it one more than it."""
    file = tmp_path / "a.yaml"
    data = bytes(each % 251 for each in range(size))
    file.write_bytes(data)
    assert read_bounded(file, 200_000) == read_bounded(file, size) == data
    assert read_bounded(file, 65_536) == data[:65_537]
    assert read_bounded(file, 10) == data[:11]


def test_a_file_that_is_not_there_can_not_be_read(tmp_path: Path) -> None:
    """The error of the system is left to the caller, who knows what the file is for."""
    with pytest.raises(FileNotFoundError):
        read_bounded(tmp_path / "nowhere.yaml", 10)


def test_files_are_named_from_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file below the current folder is named from there, another one as given."""
    monkeypatch.chdir(tmp_path)
    assert reported(tmp_path / "a" / "b.yaml") == "a/b.yaml"
    assert reported(Path("./a/../b.yaml")) == "b.yaml"
    assert reported(Path("../b.yaml")) == "../b.yaml"
    assert (
        reported(tmp_path.parent / "b.yaml") == (tmp_path.parent / "b.yaml").as_posix()
    )


def test_links_are_named_as_they_are_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A path is completed without following a link, and its dots are resolved."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real")
    assert absolute(Path("link/./a/../b.yaml")) == tmp_path / "link" / "b.yaml"
    assert reported(Path("link/b.yaml")) == "link/b.yaml"
