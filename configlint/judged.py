"""What one file comes to by itself, before the rules across meters are settled.

It is a value: a bench can enter it as often as it likes, so that a file that stays as
it is need be read but once for two runs that differ in another one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path as FilePath
from typing import NamedTuple

from configlint.concessions import Figure
from configlint.documents import BOUNDS
from configlint.engine import Judge, Outcome
from configlint.errors import Fault, Path, Place
from configlint.facts import Facts
from configlint.files import absolute, read_bounded
from configlint.findings import Finding, Subject
from configlint.ledger import Line
from configlint.meters import MeterEntry, UnreadMeter
from configlint.policy import Changes
from configlint.rules import RuleBook
from configlint.scalars import offer
from configlint.workspace import Source

__all__ = [
    "Found",
    "JudgedFile",
    "JudgedMeter",
    "Laid",
    "entry_around",
    "home_of",
    "read_source",
    "root_of",
    "unknown_sheet",
    "unreadable",
]


class Found(NamedTuple):
    """A finding of a file.

    `meter` counts the judged meters of the file from 0; it is None for a fault that was
    met while reading. `written` is what the meter's file holds, by path; it is None
    where nothing could concede the finding.
    """

    finding: Finding
    meter: int | None = None
    written: Mapping[str, Figure] | None = None


class JudgedMeter(NamedTuple):
    """What is kept of a meter until the rules across meters are settled.

    Its values are not kept: where such a rule finds something, which is rare, the file
    is read once more to say what and where.
    """

    subject: Subject
    outcomes: list[Outcome]
    source: Source
    document: int
    path: Path
    line: Line


class JudgedFile(NamedTuple):
    """A file with its meters and findings, and the meters that it left unjudged."""

    source: Source
    meters: tuple[JudgedMeter, ...] = ()
    found: tuple[Found, ...] = ()
    not_judged: tuple[UnreadMeter, ...] = ()


class Laid(NamedTuple):
    """A meter laid out on the bench, with the rules that hold for it.

    `changes` are the limits that its site's policy changes; `facts` are made anew
    by `Bench.facts_of` for a meter of other values.
    """

    subject: Subject
    source: Source
    entry: MeterEntry
    book: RuleBook
    judge: Judge
    changes: Changes
    facts: Facts


def home_of(file: FilePath, root: FilePath) -> str:
    """Name a file from its workspace, the same wherever a run is started."""
    path = absolute(file)
    return path.relative_to(root).as_posix() if path.is_relative_to(root) else file.name


def root_of(path: Path) -> Path:
    """Give the path of the meter that a path leads into, where it is one of a list.

    >>> root_of(("meters", 1, "sensor")), root_of(("sensor", "bore"))
    (('meters', 1), ())
    """
    return path[:2] if path[:1] == ("meters",) else ()


def entry_around(fault: Fault, at_path: Mapping[Path, MeterEntry]) -> MeterEntry | None:
    """Give the meter that a fault lies in, where that meter could be read."""
    paths = (fault.path[:length] for length in range(len(fault.path) + 1))
    return next((at_path[path] for path in paths if path in at_path), None)


def unreadable(source: Source, error: OSError) -> Fault:
    """Make the fault of a file that can't be read."""
    problem = f"The file can't be read: {error.strerror}."
    advice = "Make it readable, or name another file."
    return Fault("file-readable", Place(source.file), problem, advice)


def unknown_sheet(entry: MeterEntry, known: Iterable[str]) -> Fault:
    """Make the fault of a meter whose type sheet is none of those that are known."""
    path = (*entry.path, "type_sheet")
    return Fault(
        "type-sheet-known",
        entry.document.place(path),
        f"There is no type sheet {entry.meter.type_sheet!r}.",
        offer(entry.meter.type_sheet or "", known),
        path,
    )


def read_source(source: Source) -> bytes:
    """Read a file, or as much of it as shows that it is too long to be read."""
    if source.data is not None:
        return source.data
    return read_bounded(source.path, BOUNDS.bytes)
