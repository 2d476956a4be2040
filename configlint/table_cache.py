"""Keeps computed tables in the user's cache folder, as plain text under a key.

A table is anything JSON can hold. It is kept with the key it was computed for and
a digest of its text, so that a table of other sources, or a damaged one, is never
used. A cache that can't be read or written is no fault: what it holds can be
computed again.
"""

from __future__ import annotations

import json
import os
import sys
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

__all__ = ["cache_folder", "keep_table", "kept_table"]


def cache_folder() -> Path | None:
    """The user's folder for what can be computed again; None where there is no home.

    `LOCALAPPDATA` (on Windows) or `XDG_CACHE_HOME` names its parent; a relative
    path there is ignored, as the XDG Base Directory Specification asks.
    """
    variable = "LOCALAPPDATA" if sys.platform == "win32" else "XDG_CACHE_HOME"
    parent = Path(os.environ.get(variable, ""))
    try:
        parent = parent if parent.is_absolute() else Path.home() / ".cache"
    except RuntimeError:
        return None
    return parent / "configlint" if parent.is_absolute() else None


def kept_table(name: str, key: str) -> object | None:
    """Read the table kept under a name and key; None where there is no sound one.

    `name` is a word for file names, `key` a hexadecimal digest of all that the
    table was computed from.
    """
    try:
        content = json.loads(_file(name, key).read_bytes())
        text = content["table"]
        if content["key"] == key and content["digest"] == _digest(text):
            table: object = json.loads(text)
            return table
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return None
    return None


def keep_table(name: str, key: str, table: object) -> None:
    """Keep a table for the next run, if the cache folder can be written.

    The file is written beside its place and renamed, so that no reader sees half.
    """
    text = json.dumps(table)
    content = {"key": key, "digest": _digest(text), "table": text}
    with suppress(OSError):
        file = _file(name, key)
        beside = file.with_suffix(f".{os.getpid()}")
        file.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(json.dumps(content), encoding="utf-8")
        try:
            beside.replace(file)
        finally:
            beside.unlink(missing_ok=True)


def _file(name: str, key: str) -> Path:
    folder = cache_folder()
    if folder is None:
        raise FileNotFoundError(name)
    return folder / f"{name}-{key[:32]}.json"


def _digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()
