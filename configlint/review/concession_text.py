"""Entries put into a file of concessions, with every other character left as it is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from configlint.errors import Fault, Place, RunError
from configlint.review.layout import Group, Leaf, Row, Written, read_layout
from configlint.review.scalar_text import DOUBLE, quote_of, scalar_text

__all__ = ["Entry", "Put", "entry_lines", "put_entries"]

HEAD = """\
# Concessions: what does not conform and may be used all the same, by whom, why and
# until when. `configlint concede` adds to them, `configlint check` tells each one.
"""
LIST = "concessions"
USUAL_COLUMN = 2
UNWRITABLE = "concession-writable"

_BREAK = re.compile("\r\n|\r|\n")


class Entry(NamedTuple):
    """One concession as it is written; `bounds` are paths and the values there."""

    rule: str
    meter: str
    site: str
    fingerprint: str
    bounds: tuple[tuple[str, str], ...]
    reason: str
    granted_by: str
    granted_on: date
    expires_on: date | None


def entry_lines(entry: Entry, spare: str = DOUBLE) -> Iterator[str]:
    """Write an entry as lines of a list; `spare` is the quote where one is needed.

    >>> day = date(2026, 3, 31)
    >>> one = Entry("a-rule", "FT-1", "", "0" * 16, (), "As built", "Jo", day, None)
    >>> print("\\n".join(entry_lines(one)))
    - rule: a-rule
      meter: FT-1
      fingerprint: "0000000000000000"
      reason: As built
      granted_by: Jo
      granted_on: 2026-03-31
    """
    yield f"- rule: {scalar_text(entry.rule, '', spare)}"
    yield f"  meter: {scalar_text(entry.meter, '', spare)}"
    if entry.site:
        yield f"  site: {scalar_text(entry.site, '', spare)}"
    # All digits without quotes would be a number to other software.
    yield f"  fingerprint: {scalar_text(entry.fingerprint, spare)}"
    if entry.bounds:
        yield "  while:"
    for path, value in entry.bounds:
        yield f"    {scalar_text(path, '', spare)}: {scalar_text(value, '', spare)}"
    yield f"  reason: {scalar_text(entry.reason, '', spare)}"
    yield f"  granted_by: {scalar_text(entry.granted_by, '', spare)}"
    yield f"  granted_on: {entry.granted_on.isoformat()}"
    if entry.expires_on is not None:
        yield f"  expires_on: {entry.expires_on.isoformat()}"


class Put(NamedTuple):
    """A text with entries put into it, and the lines that they are, without breaks."""

    text: str
    lines: tuple[str, ...]


def put_entries(text: str, name: str, entries: Iterable[Entry]) -> Put:
    """Put entries behind the last one of a file's text, "" for a file that is not yet.

    Raises `RunError` where the list is written so that this can't be done.
    """
    text = text or HEAD
    roots = read_layout(text, name)
    spare, usual = quote_of(roots), _BREAK.search(text)
    ending = usual[0] if usual else "\n"
    spot = _spot(text, roots, name, ending)
    blank = " " * spot.column
    made = (line for entry in entries for line in entry_lines(entry, spare))
    lines = tuple(f"{blank}{line}" for line in made)
    whole = "".join(f"{line}{ending}" for line in lines)
    return Put(f"{spot.before}{whole}{spot.after}", lines)


class _Spot(NamedTuple):
    """Where entries go: the text before them, that behind, and the column of a dash."""

    before: str
    after: str
    column: int


def _spot(text: str, roots: Sequence[Written], name: str, ending: str) -> _Spot:
    root = roots[0] if roots else Leaf(0, 0, "")
    if isinstance(root, Leaf) and not root.text:
        before, after = _behind_line(text, len(text), ending)
        return _Spot(f"{before}{LIST}:{ending}", after, USUAL_COLUMN)
    listed = _listed(root)
    match listed:
        case Row(flow=False):
            # The line begins with blanks up to the dash of the first entry.
            dash = text.rindex("-", 0, listed.items[0].start)
            column = len(_BREAK.split(text[:dash])[-1])
        case Leaf(text="", style=""):
            column = USUAL_COLUMN
        case Row() if not text[listed.start : listed.end].strip("[] "):
            column = USUAL_COLUMN
            before, at = text[: listed.start].rstrip(" "), listed.end
            text, listed = f"{before}{text[at:]}", Leaf(len(before), len(before), "")
        case _:
            problem = "The list of concessions is not written as lines with a dash."
            advice = "Write it so first, each entry in lines of its own."
            raise RunError(Fault(UNWRITABLE, Place(name), problem, advice))
    return _Spot(*_behind_line(text, listed.end, ending), column)


def _listed(root: Written) -> Written | None:
    """Give what is written as the list, in lines of its own and not in brackets."""
    if not isinstance(root, Group) or root.flow:
        return None
    keyed = (value for key, value in root.entries if _is_key(key))
    return next(keyed, None)


def _is_key(node: Written) -> bool:
    return isinstance(node, Leaf) and node.text == LIST


def _behind_line(text: str, at: int, ending: str) -> tuple[str, str]:
    """Part a text behind the line of an index, which gets its end where it has none."""
    if not text[:at] or text[:at].endswith(("\n", "\r")):
        return text[:at], text[at:]
    found = _BREAK.search(text, at)
    if found is None:
        return f"{text}{ending}", ""
    return text[: found.end()], text[found.end() :]
