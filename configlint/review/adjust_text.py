"""A change shown to a person: what changes, the difference, and what it does."""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterator, Sequence
from itertools import groupby

from configlint.effects import effect_words
from configlint.findings import Finding
from configlint.outputs.text import WIDTH, counted, inert, shortened
from configlint.review.adjust import Adjusted, Adjustment, EditedFile
from configlint.review.adjust_cautions import CAUTIONS, notes_on

__all__ = ["difference", "write_text"]

LONGEST = 200
"""How much of a value its heading shows; the difference below shows all of it."""

NO_END = "\\ No newline at end of file\n"


def write_text(adjustment: Adjustment, written: bool) -> str:
    """Write a change for a screen of 80 columns; the lines of a file may be longer."""
    lines = [
        *_changed_lines(adjustment),
        *_difference_lines(adjustment.files),
        *_finding_lines(adjustment),
        *_wrapped(CAUTIONS, ""),
        "",
        *_wrapped(_verdict(adjustment, written), ""),
    ]
    return "".join(f"{line}\n" for line in lines)


def difference(edited: EditedFile) -> str:
    """Give a file's change as a unified diff, with the line ends of the file.

    The name in its head is made inert, so that none can look like a line of it.
    """
    name = inert(edited.source.file)
    before, after = (
        data.decode("utf-8").removeprefix("\ufeff").splitlines(keepends=True)
        for data in (edited.before, edited.after)
    )
    lines = difflib.unified_diff(before, after, name, f"{name} (changed)")
    return "".join(map(_ended, lines))


def _ended(line: str) -> str:
    """End a line of a diff with a line feed, and say so where the file's has no end."""
    if line.endswith("\n"):
        return line
    return f"{line[:-1]}\n" if line.endswith("\r") else f"{line}\n{NO_END}"


def _changed_lines(adjustment: Adjustment) -> Iterator[str]:
    for link, target in adjustment.leads:
        yield from _wrapped(f"{link} is a link: the file it leads to is {target}.", "")
    for owner, group in groupby(adjustment.adjusted, key=_owner):
        yield from _wrapped(owner, "")
        for adjusted in group:
            yield from _wrapped(_change(adjusted), "  ")
            for note in _notes(adjusted):
                yield from _wrapped(note, "     ")
        yield ""


def _owner(adjusted: Adjusted) -> str:
    target = adjusted.change.target
    site = target.source.site.name if target.source.site else ""
    parts = (target.tag, site, target.source.workspace.name)
    return f"{', '.join(part for part in parts if part)}, in {target.source.file}"


def _change(adjusted: Adjusted) -> str:
    change = adjusted.change
    said = f"{change.path}, line {adjusted.place.line}: "
    value = shortened(change.value, LONGEST)
    if change.before == change.value:
        return f"{said}already {value}"
    if change.before is None:
        return f"{said}{value}, where nothing was written"
    return f"{said}{value} instead of {shortened(change.before, LONGEST)}"


def _notes(adjusted: Adjusted) -> Iterator[str]:
    if adjusted.change.rule:
        yield f"Proposed by the finding of {adjusted.change.rule}."
    if adjusted.merged_from is not None:
        place = adjusted.merged_from
        yield (
            f"It overrides what the merge key << brings in from line {place.line}, "
            "for this meter alone."
        )
    meter = adjusted.change.target.entry.meter
    yield from notes_on(meter, adjusted.change.path)


def _difference_lines(files: Sequence[EditedFile]) -> Iterator[str]:
    for edited in files:
        found = difference(edited)
        if found:
            yield from (
                inert(line.rstrip("\r")) for line in found.rstrip("\n").split("\n")
            )
            yield ""


def _finding_lines(adjustment: Adjustment) -> Iterator[str]:
    for name, late in (("before", False), ("after", True)):
        counts = adjustment.counts(late)
        said = ", ".join(f"{count} of {each}" for each, count in counts.items())
        yield f"Findings {name + ':':<8}{said}"
    yield from _listed("Gone", adjustment.gone)
    yield from _listed("New", adjustment.new)
    yield from _listed("Remaining", adjustment.remaining, brief=True)
    yield ""


def _listed(
    heading: str, findings: Sequence[Finding], brief: bool = False
) -> Iterator[str]:
    yield f"{heading}:" if findings else f"{heading}: none"
    for finding in findings:
        owner = finding.subject.meter or finding.place.file
        where = f"{owner}, line {finding.place.line}"
        yield from _wrapped(f"{finding.category}  {finding.rule}, {where}", "  ")
        if not brief:
            yield from _wrapped(finding.message, "     ")
        if finding.effect is not None:
            yield from _wrapped(f"Effect: {effect_words(finding.effect)}", "     ")


def _verdict(adjustment: Adjustment, written: bool) -> str:
    if not adjustment.changes_anything:
        return "There is nothing to change: the files hold these values already."
    if adjustment.held:
        count = counted(len(adjustment.held), "new finding")
        return f"Held: the change brings {count} of category A. Nothing was written."
    names = [each.source.file for each in adjustment.files if each.before != each.after]
    if written:
        return f"Written: {', '.join(names)}."
    return "Nothing was written yet: --write writes the change."


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        inert(text),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=f"{indent}",
        break_long_words=False,
        break_on_hyphens=False,
    )
