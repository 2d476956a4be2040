"""Files named as a user names them, read up to a bound, and written whole or not."""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from configlint.errors import Fault, Place, RunError

__all__ = [
    "Rewrite",
    "absolute",
    "read_bounded",
    "reported",
    "rewrite",
    "unreadable",
    "write_beside",
]

_PART = 65_536


def reported(path: Path) -> str:
    """Name a file from the current folder when it is below it, with slashes.

    >>> reported(Path.cwd() / "sites" / "FT-1.yaml")
    'sites/FT-1.yaml'
    """
    full = absolute(path)
    here = Path.cwd()
    below = full.is_relative_to(here)
    return (full.relative_to(here) if below else path).as_posix()


def absolute(path: Path) -> Path:
    """Complete a path, without following links: reports keep a user's own names."""
    return Path(os.path.normpath(path.absolute()))


def read_bounded(file: Path, most: int) -> bytes:
    """Read a file, or one byte more than `most` of a longer one.

    Raises OSError where it can't be read.
    """
    # Part by part, since a read sets aside all the memory that it is allowed.
    with file.open("rb", buffering=0) as stream:
        data = part = stream.read(min(_PART, most + 1))
        while part and len(data) <= most:
            part = stream.read(min(_PART, most + 1 - len(data)))
            data += part
    return data


def unreadable(file: Path, error: OSError) -> Fault:
    """Give the fault of a file that a run needs and that can't be read.

    >>> unreadable(Path("rules/own.yaml"), OSError(13, "Permission denied")).problem
    "The file can't be read: Permission denied."
    """
    problem = f"The file can't be read: {error.strerror}."
    place, advice = Place(reported(file)), "Make it a readable file."
    return Fault("file-readable", place, problem, advice)


def write_beside(file: Path, text: str) -> None:
    """Write a text file beside its place and rename it there.

    A reader sees the old file or the new one, never half of one; where writing
    fails the old one stays. Line ends are line feeds on every system. Raises
    OSError with the file's name.
    """
    beside = _beside(file)
    try:
        with beside.open("w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        beside.chmod(0o666 & ~_mask())
        beside.replace(file)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise


class Rewrite(NamedTuple):
    """A file with the bytes that were read of it and those that it is to hold."""

    file: Path
    before: bytes
    after: bytes


def rewrite(rewrites: Sequence[Rewrite]) -> None:
    """Give files new bytes, all of them or none, each as it was read and no other.

    Each is written beside its place and renamed there, and keeps its mode. Raises
    `RunError` for a file that is read-only or holds other bytes by now, and OSError
    where one can't be written; then all of them hold what they held.
    """
    beside: list[Path] = []
    done: list[Rewrite] = []
    try:
        for each in rewrites:
            mode = _mode_of_writable(each.file)
            beside.append(_beside(each.file))
            beside[-1].write_bytes(each.after)
            beside[-1].chmod(mode)
        for each in rewrites:
            _refuse_if_changed(each)
        for made, each in zip(beside, rewrites, strict=True):
            _refuse_if_changed(each)
            made.replace(each.file)
            done.append(each)
    except BaseException:
        for each in done:
            rewrite([Rewrite(each.file, each.after, each.before)])
        raise
    finally:
        for made in beside:
            with suppress(OSError):
                made.unlink()


def _mode_of_writable(file: Path) -> int:
    """Give a file's mode; one that nobody may write, although its folder is open."""
    mode = stat.S_IMODE(file.stat().st_mode)
    if mode & 0o222 and os.access(file, os.W_OK):
        return mode
    problem = "The file is read-only, so nothing was written."
    raise _refusal(file, problem, "Make it writable, if that is meant.")


def _refuse_if_changed(rewrite: Rewrite) -> None:
    if read_bounded(rewrite.file, len(rewrite.before)) != rewrite.before:
        problem = "The file has changed since it was read, so nothing was written."
        raise _refusal(rewrite.file, problem, "Look at it, and try again.")


def _refusal(file: Path, problem: str, advice: str) -> RunError:
    return RunError(Fault("file-writable", Place(reported(file)), problem, advice))


def _beside(file: Path) -> Path:
    """Make an empty file beside another, or raise OSError with that one's name."""
    try:
        handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(file)) from None
    os.close(handle)
    return Path(beside)


def _mask() -> int:
    """Give the process's file mode mask, which can only be read by setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
