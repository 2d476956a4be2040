"""Laws of files: named as a user does, read up to a bound, written whole or not."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.files import (
    Rewrite,
    absolute,
    read_bounded,
    reported,
    rewrite,
    write_beside,
)


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


# --- rewriting ------------------------------------------------------------------


def two_files(folder: Path) -> tuple[Path, Path]:
    """Write two files that hold their own names."""
    files = folder / "a.yaml", folder / "b.yaml"
    for file in files:
        file.write_bytes(file.name.encode())
    return files


def to_new(*files: Path) -> list[Rewrite]:
    """Ask for files to be given new bytes, as they hold their own names."""
    return [Rewrite(file, file.name.encode(), b"new\r\n") for file in files]


def test_files_are_rewritten_byte_for_byte_and_keep_their_modes(tmp_path: Path) -> None:
    """Each holds the bytes it was given, with its mode, and nothing is left beside."""
    first, second = two_files(tmp_path)
    first.chmod(0o600)
    second.chmod(0o664)
    rewrite(to_new(first, second))
    assert first.read_bytes() == second.read_bytes() == b"new\r\n"
    modes = [stat.S_IMODE(file.stat().st_mode) for file in (first, second)]
    assert modes == [0o600, 0o664]
    assert sorted(tmp_path.iterdir()) == [first, second]


@pytest.mark.parametrize("now", [b"b.yaml and more", b"", b"b.yamm"])
def test_a_file_that_has_changed_stops_all(tmp_path: Path, now: bytes) -> None:
    """Where one file holds other bytes than were read, none is rewritten."""
    first, second = two_files(tmp_path)
    second.write_bytes(now)
    with pytest.raises(RunError, match=r"b\.yaml:1:1: The file has changed since"):
        rewrite(to_new(first, second))
    assert (first.read_bytes(), second.read_bytes()) == (b"a.yaml", now)
    assert sorted(tmp_path.iterdir()) == [first, second]


def test_a_file_that_is_read_only_stops_all(tmp_path: Path) -> None:
    """A file that nobody may write is left, although its folder is open to writing."""
    first, second = two_files(tmp_path)
    second.chmod(0o444)
    with pytest.raises(RunError, match=r"b\.yaml:1:1: The file is read-only"):
        rewrite(to_new(first, second))
    assert (first.read_bytes(), second.read_bytes()) == (b"a.yaml", b"b.yaml")
    assert sorted(tmp_path.iterdir()) == [first, second]


def test_a_file_that_is_gone_stops_all(tmp_path: Path) -> None:
    """Where a file is no longer there, the error names it and nothing is written."""
    first, second = two_files(tmp_path)
    second.unlink()
    with pytest.raises(FileNotFoundError) as caught:
        rewrite(to_new(first, second))
    assert caught.value.filename == str(second)
    assert first.read_bytes() == b"a.yaml"


@pytest.mark.parametrize("error", [PermissionError(13, "No", "b"), KeyboardInterrupt()])
def test_what_is_rewritten_is_put_back_when_another_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    """A file that is replaced before another one can't be is given its bytes again."""
    first, second = two_files(tmp_path)
    first.chmod(0o640)
    replace = Path.replace

    def refuse(self: Path, target: Path) -> Path:
        if target == second:
            raise error
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(type(error)):
        rewrite(to_new(first, second))
    assert (first.read_bytes(), second.read_bytes()) == (b"a.yaml", b"b.yaml")
    assert stat.S_IMODE(first.stat().st_mode) == 0o640
    assert sorted(tmp_path.iterdir()) == [first, second]


def test_a_file_is_looked_at_once_more_before_it_is_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A change of the second file while the first is replaced is seen, and kept."""
    first, second = two_files(tmp_path)
    replace = Path.replace

    def meddle(self: Path, target: Path) -> Path:
        second.write_bytes(b"mine")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", meddle)
    with pytest.raises(RunError, match="has changed since it was read"):
        rewrite(to_new(first, second))
    assert (first.read_bytes(), second.read_bytes()) == (b"a.yaml", b"mine")
