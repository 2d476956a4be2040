"""What a calculation sheet says at its head and its end, the same in every format.

The head is for who signs: which meter it is, how it stands, what is set, what comes of
it. The end lists the rules that were checked, so that the paper proves what it says.
The texts hold values from files as they stand; each format makes them inert.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from configlint.engine import CONFORMS, NOT_APPLICABLE
from configlint.outputs.text import counted
from configlint.sheets.identity import Identity
from configlint.sheets.phrases import AS_OF, lack_words, way
from configlint.sheets.standing import Gap, Standing
from configlint.sheets.uses import JUDGES, Use
from configlint.sheets.worksheet_values import Entry, Lack, Open, Sheet

__all__ = [
    "NONCONFORMING",
    "SIGNATURES",
    "ends",
    "heading",
    "key_figures",
    "outcome",
    "rules_checked",
    "title",
    "unreadable_words",
]

SIGNATURES = ("Prepared by", "Checked by", "Approved by")
"""Who signs a sheet, in their order."""

NOT_WRITTEN = "not written"


def title(sheet: Sheet) -> str:
    """Name a sheet by its meter."""
    return f"Calculation sheet of {sheet.subject.meter}"


NO_DAY = (
    f"no day. What depends on one was not judged here; {AS_OF}. (`check` takes the day "
    "on which it runs.)"
)


def heading(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Give which meter the sheet is of, and by what, each with its label.

    What a meter need not have is left out where it is not written; of what identifies
    it, that is said.
    """
    subject, known = sheet.subject, sheet.identity
    lines = (
        ("Tag", subject.meter),
        ("Service", sheet.service),
        ("Site", subject.site),
        ("Workspace", subject.workspace),
        ("Principle", known.principle),
        ("Type sheet", known.type_sheet or NOT_WRITTEN),
        ("Nominal size", known.nominal_size or NOT_WRITTEN),
        ("Sensor serial", known.sensor_serial or NOT_WRITTEN),
        ("Transmitter serial", known.transmitter_serial or NOT_WRITTEN),
        ("Calibration", _calibration(known)),
        ("Stamped factor", _factors(known)),
        ("Record", _record(known)),
        ("File", subject.file),
        ("File SHA-256", known.digest),
        ("Units", sheet.system),
        ("Dates as of", sheet.run_date.isoformat() if sheet.run_date else NO_DAY),
        *(
            ("Rule set", f"{each.name}, edition {each.edition}, digest {each.digest}")
            for each in sheet.editions
        ),
    )
    return ((label, text) for label, text in lines if text)


def _calibration(known: Identity) -> str:
    """Name the certificate of a meter and its day."""
    number = known.certificate or NOT_WRITTEN
    return f"certificate {number}, day {known.calibrated_on or NOT_WRITTEN}"


def _factors(known: Identity) -> str:
    """Give the figures that are stamped on a sensor; their units tell them apart."""
    return ", ".join(known.factors.values()) or NOT_WRITTEN


def _record(known: Identity) -> str:
    """Say who left a meter as it is, and who approved that."""
    by, day = known.as_left_by or NOT_WRITTEN, known.as_left_on or NOT_WRITTEN
    return (
        f"revision {known.revision or NOT_WRITTEN}; as left by {by}, on {day}; "
        f"approved by {known.approved_by or NOT_WRITTEN}"
    )


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


BY_DAY = ("run.date",)
"""What a rule lacks that is judged as of a day, and has all else."""


def _not_assessed(gaps: Iterable[Gap]) -> Iterator[tuple[str, str]]:
    """Name the rules that lack an input, those that lack the same together."""
    together: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for gap in gaps:
        together.setdefault((gap.category, gap.missing), []).append(gap.rule)
    for (category, missing), rules in together.items():
        lacks = ", ".join(lack_words(Lack(path, "")) for path in missing)
        said = f"{', '.join(rules)}. Missing: {lacks}."
        if missing == BY_DAY:
            said = f"{said} `check` judges this by the day on which it runs."
        yield f"Not assessed, {category}", said


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


# --- what is set, and what comes of it ----------------------------------------


def ends(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Give the settings that two devices hold, each with its name."""
    for each in sheet.ends:
        first, second = each.words
        yield each.what, f"{each.first} {first}; {each.second} {second}."


def key_figures(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Give the figures that sum the sheet up, each with its name."""
    for each in sheet.keys:
        if isinstance(each, Open):
            lacks = ", ".join(lack.path for lack in each.missing)
            why = f"; missing: {lacks}" if lacks else f": {each.why}"
            yield each.means, f"{each.symbol} is not computed{why}."
        else:
            yield each.means, f"{each.symbol} = {each.result}{_rules(each)}."


def _rules(entry: Entry) -> str:
    """Say what rules say of a key figure: those not met, else the nearest that is."""
    others = [
        use for use in entry.uses if use.outcome not in (CONFORMS, NOT_APPLICABLE)
    ]
    met = [use for use in entry.uses if use.role == JUDGES and use.outcome == CONFORMS]
    nearest = sorted(met, key=_nearness)[:1] if not others else []
    return "".join(f"; {_rule(use)}" for use in (*others, *nearest))


def _rule(use: Use) -> str:
    """Say what a rule says, with its nearest limit in numbers."""
    near = sorted(use.bounds, key=lambda bound: _room(bound.margin))[:1]
    numbers = "".join(f", {bound.numbers}" for bound in near)
    return f"{use.rule}: {use.outcome}{numbers}{way(near)}"


def _nearness(use: Use) -> float:
    return min((_room(each.margin) for each in use.bounds), default=math.inf)


def _room(margin: float | None) -> float:
    """Give a margin to sort by, with what has none behind all others."""
    return math.inf if margin is None else margin


# --- what was checked ------------------------------------------------------------


def rules_checked(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """List the rules that the meter conforms to, and count those not asked of it."""
    if sheet.standing is not None:
        met, rest = sheet.standing.met, sheet.standing.not_applicable
        yield f"Conforming, {len(met)}", f"{', '.join(met) or 'none'}."
        listed = "; the json report lists them" if rest else ""
        yield "Not applicable", f"{counted(len(rest), 'rule')}{listed}."


def unreadable_words(sheet: Sheet) -> str:
    """Name what is written and faulty, "" where nothing is."""
    if not sheet.unreadable:
        return ""
    paths = ", ".join(sheet.unreadable)
    return f"Written but not readable, and so taken as missing: {paths}. Run `check`."
