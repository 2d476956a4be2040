"""Concessions: leave to use a meter that does not conform, by whom, why, until when.

`concessions.yaml` beside a workspace file holds them. A mistake in it stops the run,
since nobody could tell what is conceded; whether a concession holds on the day of a
run, and is of use, is another matter (see `conceding`).
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from configlint.compiler import offer_names
from configlint.concession_files import ConcessionModel, ConcessionsFile
from configlint.documents import BOUNDS, Document
from configlint.errors import Fault, Path, Place, RunError
from configlint.files import read_bounded, reported, unreadable
from configlint.policy import nearest
from configlint.rules import RuleBook
from configlint.scalars import Misread, Scalar, offer, read_text, shown
from configlint.settings import declared_marks, mark_of
from configlint.sites import SOUND, read_own
from configlint.units import Quantity, agrees, at_most
from configlint.workspace import CONCESSIONS_FILE, Workspace

__all__ = [
    "OF_CONCESSIONS",
    "Bound",
    "Concession",
    "Figure",
    "load_concessions",
    "matches",
    "read_concessions",
]

OF_CONCESSIONS = ("concession-in-date", "concession-used", "concession-narrow")
"""The rules about concessions themselves, which none can concede."""

FINGERPRINT = re.compile(r"[0-9a-f]{16}")
SIXTEEN_DIGITS = (
    "Write the 16 digits, 0 to 9 and a to f, that the json report gives. What stands "
    "behind a hyphen there only numbers findings that are alike."
)
RANGE = " to "

Figure = Quantity | str
"""A value as facts hold it written: an amount, or a text."""


class Bound(NamedTuple):
    """A value with which alone something is conceded, or the two ends of a range."""

    path: str
    text: str
    lowest: Figure
    highest: Figure

    def holds(self, written: Figure | None) -> bool:
        """Whether what a meter's file holds is the value, or inside the range.

        An amount in another unit has to agree to the digits written.

        >>> from configlint.units import parse_quantity
        >>> one = parse_quantity("1 l")
        >>> bound = Bound("pulse_output.pulse_weight", "1 l", one, one)
        >>> bound.holds(parse_quantity("0.001 m3")), bound.holds(None)
        (True, False)
        """
        low, high = self.lowest, self.highest
        if not isinstance(low, Quantity) or not isinstance(high, Quantity):
            return written == low
        if not isinstance(written, Quantity):
            return False
        if low is high:
            return agrees(written, low)
        is_of_kind = written.unit.dimension == low.unit.dimension
        inside = at_most(low.si, written.si) and at_most(written.si, high.si)
        return is_of_kind and inside


@dataclass(frozen=True, slots=True)
class Concession:
    """What is conceded of which meters, why, by whom, and until when.

    `meter` and `site` are patterns, "" for any; `fingerprint` is "" where any finding
    of the rule is meant. It holds from `granted_on` to `expires_on`, both included.
    `number` counts the entries of the file from 0.
    """

    rule: str
    meter: str
    site: str
    fingerprint: str
    bounds: tuple[Bound, ...]
    reason: str
    granted_by: str
    granted_on: datetime.date
    expires_on: datetime.date | None
    place: Place
    number: int

    @property
    def told(self) -> str:
        """What it concedes, for messages: "of pulses-counted for FT-1 at north"."""
        site = f" at {self.site}" if self.site else ""
        whom = f" for {self.meter}" if self.meter else ""
        one = f" for {self.fingerprint}" if self.fingerprint and not whom else ""
        return f"of {self.rule}{whom or one}{site}"

    @property
    def words(self) -> str:
        """What a finding says of it: until when, by whom, and why."""
        last = self.expires_on
        until = "" if last is None else f" until {last.isoformat()}"
        return f"Conceded{until} by {self.granted_by}: {self.reason}"

    @property
    def is_of_any(self) -> bool:
        """Whether nothing narrows down the meters that it is of."""
        named = (self.meter.strip("*"), self.site.strip("*"), self.fingerprint)
        return not any(named)

    def covers(self, meter: str, site: str) -> bool:
        """Whether a meter of a site, "" for none, is one that it is of."""
        in_site = not self.site or matches(self.site, site)
        return in_site and (not self.meter or matches(self.meter, meter))

    def lapse(self, written: Mapping[str, Figure]) -> str:
        """Say which value is no longer the one it is bound to, "" where all are.

        `written` is what the meter's file holds, by path.
        """
        for bound in self.bounds:
            found = written.get(bound.path)
            if not bound.holds(found):
                now = "not written" if found is None else str(found)
                return f"{bound.path} is {now}, and was {bound.text} when conceded"
        return ""


def matches(pattern: str, text: str) -> bool:
    """Whether a text is of a pattern, in which * stands for any characters.

    >>> matches("FT-21*", "FT-2104"), matches("*-A", "FT-21"), matches("a*a", "a")
    (True, False, False)
    """
    first, *rest = pattern.split("*")
    if not rest:
        return text == first
    last = rest.pop()
    at, end = len(first), len(text) - len(last)
    if end < at or not (text.startswith(first) and text.endswith(last)):
        return False
    # The first place for each part leaves the most room for those behind it.
    for part in rest:
        found = text.find(part, at, end)
        if found < 0:
            return False
        at = found + len(part)
    return True


def load_concessions(workspace: Workspace, book: RuleBook) -> tuple[Concession, ...]:
    """Read the concessions of a workspace, none where it has no file of them.

    Raises `RunError` with every fault of the file.
    """
    if workspace.file is None:
        return ()
    file = workspace.root / CONCESSIONS_FILE
    try:
        data = read_bounded(file, BOUNDS.bytes)
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise RunError(unreadable(file, error)) from error
    return read_concessions(data, reported(file), workspace, book)


def read_concessions(
    data: bytes, name: str, workspace: Workspace, book: RuleBook
) -> tuple[Concession, ...]:
    """Read the bytes of a file of concessions.

    Raises `RunError` with every fault: what can't be read, an unknown rule, site or
    value, days that can't be.
    """
    document, model, faults = read_own(ConcessionsFile, data, name)
    if document is None:
        raise RunError(*faults)
    if document.value is None and len(faults) == 1:
        # Of a file of comments alone, the one fault is that nothing stands there.
        return ()
    if model is None or faults:
        raise RunError(*faults)
    reader = _Reader(document, workspace, book)
    read = [
        (number, entry, list(reader.bounds(number, entry)))
        for number, entry in enumerate(model.concessions or ())
    ]
    for number, entry, _ in read:
        reader.look_at(number, entry)
    if reader.faults:
        raise RunError(*sorted(reader.faults, key=lambda fault: fault.place))
    return tuple(
        _concession(document, number, entry, bounds) for number, entry, bounds in read
    )


def _concession(
    document: Document, number: int, model: ConcessionModel, bounds: list[Bound]
) -> Concession:
    return Concession(
        model.rule,
        model.meter or "",
        model.site or "",
        model.fingerprint or "",
        tuple(bounds),
        model.reason,
        model.granted_by,
        model.granted_on,
        model.expires_on,
        document.place(("concessions", number)),
        number,
    )


class _Reader:
    """Looks at the entries of a file, and collects what is wrong with them."""

    def __init__(
        self, document: Document, workspace: Workspace, book: RuleBook
    ) -> None:
        self.document = document
        self.sites = [site.name for site in workspace.sites]
        self.rules = [rule.id for rule in book.all_rules]
        self.own = book.site_data
        self.faults: list[Fault] = []

    def refuse(self, number: int, below: Path, problem: str, advice: str) -> None:
        path: Path = ("concessions", number, *below)
        place = self.document.place(path)
        self.faults.append(Fault(SOUND, place, problem, advice, path))

    def look_at(self, number: int, model: ConcessionModel) -> None:
        """Note what an entry names that there is not, and days that can't be."""
        rule, pattern = model.rule, model.site
        first, last = model.granted_on, model.expires_on
        if rule not in self.rules:
            problem = f"There is no rule {shown(rule)}."
            self.refuse(number, ("rule",), problem, nearest(rule, self.rules))
        elif rule in OF_CONCESSIONS:
            problem = f"The rule {rule} is about concessions and can't be conceded."
            self.refuse(number, ("rule",), problem, "Mend the concession it finds.")
        if pattern and not any(matches(pattern, name) for name in self.sites):
            problem = f"The workspace has no site {shown(pattern)}."
            advice = offer(pattern, self.sites) if self.sites else "Leave it out."
            self.refuse(number, ("site",), problem, advice)
        if last is not None and last < first:
            problem = f"It expires on {last}, before it is granted on {first}."
            self.refuse(number, ("expires_on",), problem, "Correct the wrong day.")
        if model.fingerprint and not FINGERPRINT.fullmatch(model.fingerprint):
            problem = f"{shown(model.fingerprint)} is no fingerprint of one finding."
            self.refuse(number, ("fingerprint",), problem, SIXTEEN_DIGITS)

    def bounds(self, number: int, model: ConcessionModel) -> Iterator[Bound]:
        """Read the values that an entry is bound to, as far as they can be read."""
        for path, text in model.bounds.items():
            mark = mark_of(path, self.own)
            if mark is None:
                own = (f"site_data.{name}" for name in self.own.marks)
                problem = f"A meter's file has no value {shown(path)}."
                advice = offer_names(path, (*declared_marks(), *own))
                self.refuse(number, ("while", path), problem, advice)
                continue
            read = _read_bound(mark, path, text)
            if isinstance(read, Bound):
                yield read
            else:
                problem = f"{path}: {read.problem}"
                self.refuse(number, ("while", path), problem, read.advice)


def _read_bound(mark: Scalar, path: str, text: str) -> Bound | Misread:
    value = read_text(mark, text)
    if not isinstance(value, Misread):
        figure = _figure(value)
        return Bound(path, text, figure, figure)
    ends = [read_text(mark, each) for each in text.split(RANGE)]
    if len(ends) != 2:
        return value
    for each in ends:
        if isinstance(each, Misread):
            return each
    low, high = ends
    if not (isinstance(low, Quantity) and isinstance(high, Quantity)):
        return value
    if low.unit.dimension != high.unit.dimension or low.si >= high.si:
        problem = f"{shown(text)} is no range from a lower to a higher amount."
        return Misread(value.rule, problem, "Write it as in 1 l to 10 l.")
    return Bound(path, text, low, high)


def _figure(value: Quantity | str | bool | datetime.date) -> Figure:
    """Give a value that was read in the form in which facts hold it written."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return value.isoformat() if isinstance(value, datetime.date) else value
