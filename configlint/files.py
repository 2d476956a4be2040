"""Files named as a user names them, read up to a bound, and written whole or not."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

__all__ = ["absolute", "read_bounded", "reported", "write_beside"]

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


def write_beside(file: Path, text: str) -> None:
    """Write a text file beside its place and rename it there.

    A reader sees the old file or the new one, never half of one; where writing
    fails the old one stays. Line ends are line feeds on every system. Raises
    OSError with the file's name.
    """
    try:
        handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(file)) from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        Path(beside).chmod(0o666 & ~_mask())
        Path(beside).replace(file)
    except BaseException:
        with suppress(OSError):
            Path(beside).unlink()
        raise


def _mask() -> int:
    """Give the process's file mode mask, which can only be read by setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
