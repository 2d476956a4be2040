"""Finds the folders of text files that travel with the package.

In a checkout `rules/` and `schemas/` stand beside the package, where engineers
look for them; the wheel carries the same folders inside it.
"""

from __future__ import annotations

import pathlib
from typing import Literal

from configlint.errors import Fault, Place, RunError

__all__ = ["data_folder"]

PACKAGE = pathlib.Path(__file__).resolve().parent


def data_folder(
    name: Literal["rules", "schemas"], package: pathlib.Path = PACKAGE
) -> pathlib.Path:
    """Find one of the folders that come with configlint.

    `package` is the folder of the package itself. Raises `RunError` when the
    installation carries no such folder.

    >>> data_folder("rules").name
    'rules'
    """
    inside, beside = package / "data" / name, package.parent / name
    if inside.is_dir():
        return inside
    # Beside an installed package stand other packages, whose folders are not ours.
    if beside.is_dir() and (package.parent / "pyproject.toml").is_file():
        return beside
    raise RunError(
        Fault(
            kind="file-readable",
            place=Place(inside.as_posix()),
            problem=f"This installation of configlint lacks its folder '{name}'.",
            advice="Install configlint again, from a wheel or from a whole checkout.",
        )
    )
