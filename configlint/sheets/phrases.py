"""What a calculation sheet says in words, the same in every format.

The texts hold values from files as they stand; each format makes them inert.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from configlint.engine import CONFORMS, NOT_APPLICABLE
from configlint.outputs.text import counted
from configlint.sheets.bounds import Bound
from configlint.sheets.standing import Gap, Standing
from configlint.sheets.uses import ASKS, JUDGES, TELLS, Use
from configlint.sheets.worksheet_values import BROKEN, Entry, Given, Lack, Open, Sheet

__all__ = [
    "FIGURES",
    "NONCONFORMING",
    "NOT_MET",
    "SIGNATURES",
    "entry_notes",
    "given_words",
    "heading",
    "left_out_words",
    "open_notes",
    "outcome",
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
    )
    return ((label, text) for label, text in lines if text)


# --- what the check says ----------------------------------------------------


NONCONFORMING = "Nonconforming"
"""The label of what is still to be closed, before the category."""


def outcome(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Give what a check says of the meter, worst first, each with its label."""
    standing = sheet.standing
    if standing is None:
        yield "Rules", "No check of the meter was made for this sheet."
        return
    held = [each for each in standing.findings if not each.conceded]
    if not held:
        yield NONCONFORMING, "No rule."
    for each in standing.findings:
        label = "Conceded" if each.conceded else NONCONFORMING
        said = f"{each.rule}, line {each.line}: {each.message}"
        if each.conceded:
            said = f"{said} {each.conceded.rstrip('.')}."
        yield f"{label}, {each.category}", said
    yield from _open_concessions(standing)
    yield from _not_assessed(standing.gaps)
    for label, word in (("Conforming", CONFORMS), ("Not applicable", NOT_APPLICABLE)):
        yield label, f"{counted(standing.outcomes[word], 'rule')}."
    yield "Other meters", _compared(standing)


def _open_concessions(standing: Standing) -> Iterator[tuple[str, str]]:
    if standing.undated:
        rules = ", ".join(standing.undated)
        yield "Concessions", f"Whether {rules} is conceded depends on the day: {AS_OF}."


AS_OF = "give it by --as-of DATE"


def _not_assessed(gaps: Iterable[Gap]) -> Iterator[tuple[str, str]]:
    """Name the rules that lack an input, those that lack the same together."""
    together: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for gap in gaps:
        together.setdefault((gap.category, gap.missing), []).append(gap.rule)
    for (category, missing), rules in together.items():
        lacks = ", ".join(_lack(Lack(path, "")) for path in missing)
        yield f"Not assessed, {category}", f"{', '.join(rules)}. Missing: {lacks}."


def _compared(standing: Standing) -> str:
    """Say with which meters the rules across meters have compared this one."""
    if standing.workspace:
        others = counted(standing.others, "other meter")
        return f"Compared with {others} of the workspace {standing.workspace}."
    if standing.others:
        others = counted(standing.others, "other meter")
        return f"Compared with {others} on these sheets; it is in no workspace."
    return (
        "Compared with none: the meter is in no workspace. Whether a tag, a serial "
        "number or an address is used twice is not known."
    )


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
    if gap.why:
        yield "No number", f"{gap.why}."
        return
    instead = ", ".join(map(_lack, gap.instead))
    more = f"; or instead {instead}" if instead else ""
    yield "Missing", f"{', '.join(map(_lack, gap.missing))}{more}."


def _lack(lack: Lack) -> str:
    """Name an input that is missing, and say what it is."""
    if lack.path == "run.date":
        return f"the day to judge by; {AS_OF}"
    means = lack.means
    if means[1:2].islower():
        means = f"{means[0].lower()}{means[1:]}"
    return f"{lack.path} ({means})" if means else lack.path


NOT_MET = "Rule not met"
"""The label of a rule that a value does not meet."""


def use_notes(uses: Iterable[Use]) -> Iterator[tuple[str, str]]:
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
    near = broken or sorted(told, key=_nearness)[:1]
    ways = dict.fromkeys(f", {bound.distance}" for bound in near if bound.distance)
    return f"{numbers}{''.join(ways)}"


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


def unreadable_words(sheet: Sheet) -> str:
    """Name what is written and faulty, "" where nothing is."""
    if not sheet.unreadable:
        return ""
    paths = ", ".join(sheet.unreadable)
    return f"Written but not readable, and so taken as missing: {paths}. Run `check`."
