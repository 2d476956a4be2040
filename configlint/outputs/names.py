"""Files named as a code host knows them: from the root of their repository.

A run may be started in any folder of a repository, and its reports name files from
there. A host looks for them from the root, which is the nearest folder above that
holds `.git`; without one it is the folder in which the run was started.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

from configlint.files import absolute

__all__ = ["Root", "find_root"]

MOST_KEPT = 1024


class Root(NamedTuple):
    """The root of a repository, from which a code host names its files."""

    folder: Path

    def name(self, file: str) -> str | None:
        """Name a file from the root, with slashes; None for one that lies outside.

        >>> Root(Path.cwd()).name("sites/../FT-1.yaml")
        'FT-1.yaml'
        """
        return _name(self.folder, Path.cwd(), file)

    def told(self, file: str) -> str:
        """Name a file from the root, or one that lies outside as the run names it.

        >>> Root(Path.cwd()).told("../FT-1.yaml")
        '../FT-1.yaml'
        """
        return self.name(file) or file

    def uri(self, file: str) -> str:
        """Give a file's URI (RFC 3986): a relative one, or a whole one for outside.

        >>> Root(Path.cwd()).uri("north works/FT:1.yaml")
        'north%20works/FT%3A1.yaml'
        """
        inside = self.name(file)
        if inside is not None:
            return quote(_bytes(inside))
        whole = quote(_bytes(absolute(Path(file)).as_posix()), safe="/:")
        return f"file:///{whole.lstrip('/')}"


def find_root() -> Root:
    """Find the root of the repository in which the run was started."""
    here = Path.cwd()
    folders = (folder for folder in (here, *here.parents) if (folder / ".git").exists())
    return Root(next(folders, here))


@lru_cache(MOST_KEPT)
def _name(root: Path, here: Path, file: str) -> str | None:
    path = absolute(here / file)
    return path.relative_to(root).as_posix() if path.is_relative_to(root) else None


def _bytes(name: str) -> bytes:
    """Give the bytes of a name, those that are no text among them too."""
    try:
        return name.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        return name.encode("utf-8", "surrogatepass")
