"""What a calculation sheet says in words, the same in every format.

The texts hold values from files as they stand; each format makes them inert.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from configlint.engine import CONFORMS, NOT_APPLICABLE
from configlint.outputs.text import counted
from configlint.sheets.bounds import Bound
from configlint.sheets.uses import ASKS, FAR, JUDGES, TELLS, Use
from configlint.sheets.worksheet_values import BROKEN, Entry, Given, Lack, Open, Sheet

__all__ = [
    "AS_OF",
    "BRIEF",
    "FIGURES",
    "NOT_MET",
    "given_words",
    "lack_words",
    "left_out_words",
    "notes",
    "steps",
    "table_sources",
    "use_notes",
    "way",
    "written_words",
]

AS_OF = "give it by --as-of DATE"
"""How a day is given to judge by."""

BRIEF = (
    f"A value whose rules are all met by {FAR:.0%} of the limit or more, by the usual "
    "limits, and that serves no nearer one and no key figure, is told in short: its "
    "formula, its numbers, its result, and the rules that judge it. Its basis is in "
    "the json report."
).replace("%", " %")
"""Which quantities are told in short."""

FIGURES = (
    "A result has as many figures as the input with the fewest, but not less than "
    "three. It is carried on unrounded; where it stands in a later formula, it is "
    "shown with the figures that the result there needs."
)
"""How the sheet rounds."""


# --- inputs -----------------------------------------------------------------


def given_words(given: Given) -> str:
    """Say an input: what it is shown as, what its file writes, and where."""
    written = written_words(given)
    said = f", written {written}" if written else ""
    return f"{given.shown}{said} ({given.origin})"


def written_words(given: Given) -> str:
    """Give an input as its file writes it, "" where the sheet shows just that."""
    return given.written if given.written != given.shown else ""


# --- quantities -------------------------------------------------------------

Notes = Iterator[tuple[str, str]]


def steps(entry: Entry | Open) -> tuple[str, ...]:
    """Give the sides of a quantity's equation: formula, numbers and result.

    None is told twice, and of nothing in short no numbers.
    """
    if isinstance(entry, Open):
        return (entry.formula,)
    is_nothing = entry.is_brief and entry.amount is not None and not entry.amount.si
    numbers = "" if is_nothing else entry.numbers
    said = dict.fromkeys((entry.formula, numbers, entry.result))
    return tuple(filter(None, said))


def notes(entry: Entry | Open) -> Notes:
    """Give what belongs to a quantity beside its formula, each with its label."""
    if isinstance(entry, Open):
        yield from _open_notes(entry)
        yield from use_notes(entry.uses)
    elif entry.is_brief:
        yield from _tables(entry)
        yield from _met(entry.uses)
    else:
        yield from _entry_notes(entry)
        yield from use_notes(filter(_is_told, entry.uses))


def _is_told(use: Use) -> bool:
    """Whether a rule is worth telling; one that only quotes and is met is not."""
    return use.role == JUDGES or use.outcome != CONFORMS


def _met(uses: Iterable[Use]) -> Notes:
    """Name the rules that judge a value which meets them all by far."""
    rules = [
        f"{use.rule}{way(use.bounds)}"
        for use in uses
        if use.role == JUDGES and use.outcome != NOT_APPLICABLE
    ]
    if rules:
        yield "Met", f"{'; '.join(rules)}."


def _tables(entry: Entry) -> Notes:
    for table in dict.fromkeys(each.table for each in entry.looked):
        found = "; ".join(
            f"{each.words}, for {each.row}: {each.written}"
            for each in entry.looked
            if each.table == table
        )
        yield "Table", f"{found} (table {table})."


def table_sources(sheet: Sheet) -> Notes:
    """Give the sources of the figures that formulas take from tables, each once."""
    rows: dict[tuple[str, str], dict[str, None]] = {}
    for part in sheet.parts:
        for each in (looked for entry in part.entries for looked in entry.looked):
            rows.setdefault((each.table, each.source), {})[each.row] = None
    for (table, source), names in rows.items():
        yield f"Table {table}", f"{', '.join(names)}: {source.rstrip('.')}."


def _entry_notes(entry: Entry) -> Notes:
    for reason in entry.reasons:
        yield "Since", f"{reason}."
    yield from _tables(entry)
    if entry.assumed:
        yield "Assumed", entry.assumed
    yield "Basis", f"{entry.basis}."
    if entry.feeds:
        yield "Used for", f"{', '.join(entry.feeds)}."


def _open_notes(gap: Open) -> Notes:
    if gap.why:
        yield "No number", f"{gap.why}."
        return
    instead = ", ".join(map(lack_words, gap.instead))
    more = f"; or instead {instead}" if instead else ""
    yield "Missing", f"{', '.join(map(lack_words, gap.missing))}{more}."


def lack_words(lack: Lack) -> str:
    """Name an input that is missing, and say what it is."""
    if lack.path == "run.date":
        return f"the day to judge by; {AS_OF}"
    means = lack.means
    if means[1:2].islower():
        means = f"{means[0].lower()}{means[1:]}"
    return f"{lack.path} ({means})" if means else lack.path


NOT_MET = "Rule not met"
"""The label of a rule that a value does not meet."""


def use_notes(uses: Iterable[Use]) -> Notes:
    """Give what the rules do with a quantity that apply, each with its label."""
    asked = [use for use in uses if use.outcome != NOT_APPLICABLE]
    for use in asked:
        if use.role == JUDGES:
            is_broken = use.outcome in BROKEN and not use.holds
            yield NOT_MET if is_broken else "Rule", _judged(use)
    for label, role in (("Condition of", ASKS), ("Quoted by", TELLS)):
        others = [use for use in asked if use.role == role]
        if others:
            yield label, f"{_by_outcome(others)}."


def _by_outcome(uses: Iterable[Use]) -> str:
    """Name rules, those of one outcome together."""
    rules: dict[str, list[str]] = {}
    for use in uses:
        rules.setdefault(use.outcome, []).append(use.rule)
    return "; ".join(f"{', '.join(each)} ({word})" for word, each in rules.items())


def _judged(use: Use) -> str:
    """Say what a rule says of a quantity, and how far it is from what is asked."""
    asked = f" {use.condition}{_bounds(use.bounds)}." if use.condition else ""
    notes = "".join(f" {note.rstrip('.')}." for note in use.notes)
    outcome = use.outcome
    if outcome in BROKEN and use.holds:
        outcome = f"{outcome}, but not by this value"
    return f"{use.rule} (category {use.category}): {outcome}.{asked}{notes}"


def _bounds(bounds: Iterable[Bound]) -> str:
    """Say what decides in numbers, where the symbols do not, and how far off it is.

    Of limits that are all met, the nearest is told.
    """
    every = tuple(bounds)
    broken = tuple(bound for bound in every if not bound.is_met)
    told = broken or every
    is_plain = not broken and all(bound.is_plain for bound in told)
    numbers = "" if is_plain else f": {', '.join(_chained(told))}"
    return f"{numbers}{way(told)}"


def way(bounds: Iterable[Bound]) -> str:
    """Say how far off limits are, behind a comma; of those that are met, the nearest.

    Of limits of which one is not met, the ways to all that are not.
    """
    every = tuple(bounds)
    broken = [bound for bound in every if not bound.is_met]
    near = broken or sorted(every, key=_nearness)[:1]
    ways = dict.fromkeys(f", {bound.distance}" for bound in near if bound.distance)
    return "".join(ways)


def _nearness(bound: Bound) -> float:
    return math.inf if bound.margin is None else bound.margin


def _chained(bounds: Iterable[Bound]) -> list[str]:
    """Write comparisons in numbers, two that share a side as one chain."""
    said: list[str] = []
    before = None
    for bound in bounds:
        signs = {bound.sign, before.sign} if before else set()
        if before and signs <= {"<", "≤"} and before.right == bound.left:
            said[-1] += f" {bound.sign} {bound.right}"
        elif bound.numbers not in said:
            said.append(bound.numbers)
        before = bound
    return said


# --- notes on the whole sheet -------------------------------------------------


def left_out_words(sheet: Sheet) -> str:
    """Count what does not stand on the sheet."""
    counts = (
        (sheet.not_applicable, "that {} not apply to this meter"),
        (sheet.silent, "that only {} to name the cause of a fault, and there is none"),
        (sheet.unwanted, "that can't be computed and that no rule {} for its answer"),
    )
    verbs = (("does", "do"), ("serves", "serve"), ("needs", "needs"))
    said = [
        f"{counted(count, 'value')} {words.format(verb[count != 1])}"
        for (count, words), verb in zip(counts, verbs, strict=True)
        if count
    ]
    return f"Left out: {'; '.join(said) or 'nothing'}."
