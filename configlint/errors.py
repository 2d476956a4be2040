"""What a user can get wrong, as values: a place, a fault, and the run's errors.

A `Fault` is a value that is collected, so that nine mistakes in a file show
nine. An error is raised only where the run itself can't go on, and carries the
faults that stopped it. Sentences are made last, by `Fault.sentence`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

__all__ = ["ConfiglintError", "Fault", "Path", "Place", "RunError", "pointer"]

Path = tuple[str | int, ...]
"""Keys and list indices that lead from a document's root to a value."""


class Place(NamedTuple):
    """A place in a file: line and column count from 1, in code points.

    >>> str(Place("sites/north/FT-101.yaml", 12, 5))
    'sites/north/FT-101.yaml:12:5'
    """

    file: str
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


def pointer(path: Path) -> str:
    """Write a path as a JSON Pointer (RFC 6901).

    >>> pointer(("meters", 0, "a/b~c"))
    '/meters/0/a~1b~0c'
    """
    steps = (str(step).replace("~", "~0").replace("/", "~1") for step in path)
    return "".join(f"/{step}" for step in steps)


@dataclass(frozen=True, slots=True)
class Fault:
    """One mistake in a file, with where it is and what to do about it.

    `kind` is the id of the reading rule it breaks (see rules/reading.yaml),
    `problem` says what was written and what was expected, `advice` what to do.
    `elsewhere` is a second place that takes part: the anchor behind an alias,
    or the first of two equal keys.
    """

    kind: str
    place: Place
    problem: str
    advice: str
    path: Path = ()
    elsewhere: Place | None = None

    @property
    def message(self) -> str:
        """What is wrong, with the second place before the full stop."""
        if self.elsewhere is None:
            return self.problem
        whole = self.problem.removesuffix(".")
        return f"{whole} (see also {self.elsewhere}){self.problem[len(whole) :]}"

    @property
    def sentence(self) -> str:
        """The fault as one message: what is wrong, then what to do."""
        gap = "" if self.problem.endswith("\n") else " "
        return f"{self.message}{gap}{self.advice}"

    def __str__(self) -> str:
        return f"{self.place}: {self.sentence}"


class ConfiglintError(Exception):
    """The base of every error this package raises on purpose."""


class RunError(ConfiglintError):
    """The run itself can't be done; `faults` say why, each with its place."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__(*faults)
        self.faults = faults

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)
