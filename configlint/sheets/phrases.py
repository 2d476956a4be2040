"""What a calculation sheet says in words, the same in every format.

The texts hold values from files as they stand; each format makes them inert.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from configlint.engine import NOT_APPLICABLE
from configlint.outputs.text import counted
from configlint.printed import FEWEST_FIGURES, MINUS, print_number
from configlint.sheets.uses import ASKS, JUDGES, TELLS, Bound, Use
from configlint.sheets.worksheet import Entry, Given, Open, Sheet

__all__ = [
    "FIGURES",
    "SIGNATURES",
    "entry_notes",
    "given_words",
    "heading",
    "left_out_words",
    "open_notes",
    "title",
    "unreadable_words",
    "use_notes",
    "written_words",
]

SIGNATURES = ("Prepared by", "Checked by", "Approved by")
"""Who signs a sheet, in their order."""

FIGURES = (
    "A result has as many figures as the input with the fewest, but not less than "
    "three. It is carried on unrounded; where it stands in a later formula, it is "
    "shown with the figures that the result there needs."
)
"""How the sheet rounds."""


def title(sheet: Sheet) -> str:
    """Name a sheet by its meter."""
    return f"Calculation sheet of {sheet.subject.meter}"


NONE_BROKEN = "no rule about this meter alone"


def heading(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Give what the sheet is of and by, each with its label; what is not known not."""
    subject = sheet.subject
    lines = (
        ("Service", sheet.service),
        ("Principle", sheet.principle),
        ("Site", subject.site),
        ("Workspace", subject.workspace),
        ("File", subject.file),
        ("Record revision", sheet.revision),
        ("Units", sheet.system),
        ("Dates as of", sheet.run_date.isoformat() if sheet.run_date else ""),
        *(
            ("Rule set", f"{each.name}, edition {each.edition}, digest {each.digest}")
            for each in sheet.editions
        ),
        ("Nonconforming", ", ".join(sheet.nonconforming) or NONE_BROKEN),
    )
    return ((label, text) for label, text in lines if text)


def given_words(given: Given) -> str:
    """Say an input: what it is shown as, what its file writes, and where."""
    written = written_words(given)
    said = f", written {written}" if written else ""
    return f"{given.shown}{said} ({given.origin})"


def written_words(given: Given) -> str:
    """Give an input as its file writes it, "" where the sheet shows just that."""
    return given.written if given.written != given.shown else ""


def entry_notes(entry: Entry) -> Iterator[tuple[str, str]]:
    """Give what belongs to a quantity beside its formula, each with its label."""
    for reason in entry.reasons:
        yield "Since", f"{reason}."
    for table, source in dict.fromkeys((e.table, e.source) for e in entry.looked):
        found = "; ".join(
            f"{each.words}, for {each.row}: {each.written}"
            for each in entry.looked
            if (each.table, each.source) == (table, source)
        )
        yield "Table", f"{found} (table {table}). Source: {source.rstrip('.')}."
    if entry.assumed:
        yield "Assumed", entry.assumed
    yield "Basis", f"{entry.basis}."
    if entry.feeds:
        yield "Used for", f"{', '.join(entry.feeds)}."


def open_notes(gap: Open) -> Iterator[tuple[str, str]]:
    """Give what belongs to a quantity that can't be computed, each with its label."""
    if not gap.missing:
        yield "Missing", "Nothing, but these values give no number."
        return
    instead = f", or instead {', '.join(gap.instead)}" if gap.instead else ""
    yield "Missing", f"{', '.join(gap.missing)}{instead}."


def use_notes(uses: Iterable[Use]) -> Iterator[tuple[str, str]]:
    """Give what the rules do with a quantity, each with its label."""
    asked = [use for use in uses if use.outcome != NOT_APPLICABLE]
    for use in asked:
        if use.role == JUDGES:
            yield "Rule", _judged(use)
    for label, role in (("Condition of", ASKS), ("Shown by findings of", TELLS)):
        others = [f"{use.rule} ({use.outcome})" for use in asked if use.role == role]
        if others:
            yield label, f"{', '.join(others)}."
    rest = [use.rule for use in uses if use.outcome == NOT_APPLICABLE]
    if rest:
        yield "Not applicable", f"{', '.join(rest)}."


def _judged(use: Use) -> str:
    """Say what a rule says of a quantity, and how far inside its limits it is."""
    bounds = "".join(f" {_bound(bound)}." for bound in use.bounds)
    notes = "".join(f" {note.rstrip('.')}." for note in use.notes)
    return f"{use.rule} (category {use.category}): {use.outcome}.{bounds}{notes}"


def _bound(bound: Bound) -> str:
    condition = bound.condition
    if bound.limit not in condition:
        condition = f"{condition} = {bound.limit}"
    if bound.margin is None:
        return f"{condition}{'' if bound.is_met else ', not met'}"
    if bound.is_met:
        return f"{condition}, margin {_percent(bound.margin)}"
    return f"{condition}, not met by {_percent(abs(bound.margin))}"


def _percent(share: float) -> str:
    shown = print_number(100 * share, FEWEST_FIGURES)
    return f"{shown.replace(MINUS, '')} %"


def left_out_words(sheet: Sheet) -> str:
    """Count what does not stand on the sheet."""
    silent = counted(sheet.silent, "text")
    return (
        f"Left out: {counted(sheet.not_applicable, 'value')} that a rule computes and "
        f"that do not apply to this meter, and {silent} that only name the cause of a "
        "fault and have none to name."
    )


def unreadable_words(sheet: Sheet) -> str:
    """Name what is written and faulty, "" where nothing is."""
    if not sheet.unreadable:
        return ""
    paths = ", ".join(sheet.unreadable)
    return f"Written but not readable, and so taken as missing: {paths}. Run `check`."
