"""Outcomes and faults to findings: records with place, numbers and remedy.

A finding says which meter, where in which file, by which rule and on what
basis, what was found, and what to do. Its fingerprint stays the same when lines
move, keys are reordered or the file is renamed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from configlint.compiler import Values
from configlint.concessions import Concession
from configlint.documents import Document
from configlint.effects import Amount, Effect, effect_of, rounded
from configlint.engine import NONCONFORMING, Derived, Outcome
from configlint.errors import Fault, Path, Place, pointer
from configlint.inputs import declared_inputs
from configlint.operators import is_missing
from configlint.proposals import Advice
from configlint.rules import (
    AcrossRule,
    Limit,
    MeterRule,
    ReadingRule,
    RuleBook,
    basis_words,
)
from configlint.units import Quantity, from_si, unit_named

__all__ = [
    "CATEGORIES",
    "Amount",
    "Finding",
    "Located",
    "Subject",
    "fault_finding",
    "in_order",
    "locate",
    "outcome_finding",
]

CATEGORIES = ("A", "B", "C")


class Subject(NamedTuple):
    """What a finding is about: a meter of a site, or a file without one.

    `file` is the name in reports, as seen from where the run was started. `home` is
    the file as seen from its workspace, given where there is no meter.
    """

    workspace: str
    site: str
    meter: str
    file: str
    home: str = ""


class Located(NamedTuple):
    """Where a finding stands: its place, and the JSON Pointer of the value."""

    place: Place
    pointer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One nonconformity, as every output shows it."""

    fingerprint: str
    subject: Subject
    place: Place
    pointer: str
    rule: str
    category: str
    outcome: str
    message: str
    values: Mapping[str, Amount | str | bool]
    limits: Mapping[str, Amount]
    margin: float | None
    assumptions: tuple[str, ...]
    remedy: str
    basis: str
    effect: Effect | None = None
    concession: Concession | None = None
    advice: tuple[Advice, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether it is still to be closed; one that is conceded is not."""
        return self.concession is None


def outcome_finding(
    outcome: Outcome,
    subject: Subject,
    derived: Derived,
    located: Located,
    book: RuleBook,
    limits: Mapping[str, Limit],
    notes: tuple[str, ...] = (),
    advice: tuple[Advice, ...] = (),
) -> Finding:
    """Make the finding of a nonconforming outcome.

    `limits` are the limits that judged, the rule's own or a site's; `notes` say
    what else the finding rests on, `advice` which values would settle it.
    """
    rule = outcome.rule
    seen = Values(derived.values, derived.written)
    texts = {name: limit.text for name, limit in limits.items()}
    used = book.shown[rule.id]
    return Finding(
        fingerprint=_fingerprint(subject, rule.id, ""),
        subject=subject,
        place=located.place,
        pointer=located.pointer,
        rule=rule.id,
        category=rule.category,
        outcome=NONCONFORMING,
        message=rule.finding.fill(seen, texts),
        values=dict(_shown(used, derived, book)),
        limits={name: _limit_amount(limit) for name, limit in limits.items()},
        margin=None if outcome.margin is None else rounded(outcome.margin),
        assumptions=notes
        + tuple(note for name, note in derived.assumed.items() if name in used),
        remedy=rule.remedy.fill(seen, texts),
        basis=basis_words(rule.basis),
        effect=_effect(rule, derived, limits),
        advice=advice,
    )


def _effect(
    rule: MeterRule | AcrossRule, derived: Derived, limits: Mapping[str, Limit]
) -> Effect | None:
    if rule.effect is None:
        return None
    amounts = {name: limit.value for name, limit in limits.items()}
    return effect_of(rule.effect, derived, amounts, rule.is_net)


def fault_finding(
    fault: Fault,
    subject: Subject,
    rules: Mapping[str, ReadingRule],
    prefix: Path = (),
    mark: str = "",
) -> Finding:
    """Make the finding of a fault met while a file was read.

    `prefix` leads to the meter in its file; the fingerprint leaves it out, and all
    positions in lists, so that meters of one file can change places. A fault of no
    meter is known by its file instead, and by a `mark` of what it is about, if any.
    """
    rule = rules[fault.kind]
    keys = (step for step in fault.path[len(prefix) :] if isinstance(step, str))
    key = pointer(tuple(keys))
    if not subject.meter:
        key = f"{subject.home or subject.file} {key}{mark}"
    return Finding(
        fingerprint=_fingerprint(subject, rule.id, key),
        subject=subject,
        place=fault.place,
        pointer=pointer(fault.path),
        rule=rule.id,
        category=rule.category,
        outcome=NONCONFORMING,
        message=fault.message,
        values={},
        limits={},
        margin=None,
        assumptions=(),
        remedy=fault.advice,
        basis=basis_words(rule.basis),
    )


def locate(
    rule: MeterRule | AcrossRule, derived: Derived, document: Document, prefix: Path
) -> Located:
    """Find the place a finding points at.

    That is a value that the rule asks to be given and is not; else the first
    among those the rule counts as faulty or its text lists, those a person would
    change and those it reads, that the file holds. For a value that is not written
    the place is the section in which it would stand. `prefix` leads to the meter in
    its document.
    """
    told = (*rule.reads, *rule.finding.paths)
    listed = [
        path
        for value in (derived.values.get(name) for name in told)
        if isinstance(value, tuple)
        for path in value
    ]
    absent = [path for path in rule.needs if path not in derived.written]
    candidates = [*listed, *rule.settings, *rule.reads]
    written = [path for path in candidates if path in derived.written]
    chosen = next(filter(_in_file, [*absent, *written, *candidates]), "")
    path = (*prefix, *chosen.split(".")) if chosen else prefix
    if document.holds(path):
        return Located(document.place(path), pointer(path))
    return Located(_section_place(document, path), pointer(path))


def _section_place(document: Document, path: Path) -> Place:
    """Find the key of the innermost section in which a value would stand."""
    above = (path[:length] for length in range(len(path) - 1, 0, -1))
    section = next((each for each in above if document.holds(each)), ())
    return document.key_place(section)


def _in_file(path: str) -> bool:
    """Whether a meter's own file would hold the value."""
    elsewhere = path.startswith(("site.", "type_sheet.", "notation.", "run."))
    is_own = path.startswith("site_data.")
    return is_own or (path in declared_inputs() and not elsewhere)


def _shown(
    paths: Iterable[str], derived: Derived, book: RuleBook
) -> Iterator[tuple[str, Amount | str | bool]]:
    for path in paths:
        value = derived.values.get(path)
        if value is None or is_missing(value) or isinstance(value, tuple):
            continue
        written = derived.written.get(path)
        if isinstance(written, Quantity):
            yield path, Amount(float(written.number), written.unit.spelling)
        elif not isinstance(value, float):
            yield path, value
        elif isinstance(written, str):
            # A day is computed with as an amount of time, and read as a date.
            yield path, written
        else:
            yield path, _amount(value, book.units.get(path, ""))


def _amount(value: float, unit: str) -> Amount:
    return Amount(rounded(from_si(value, unit_named(unit)) if unit else value), unit)


def _limit_amount(limit: Limit) -> Amount:
    return _amount(limit.value, limit.unit)


def _fingerprint(subject: Subject, rule: str, key: str) -> str:
    parts = (subject.workspace, subject.site, subject.meter, rule, key)
    # The name of a file may hold bytes that are no text.
    content = "\0".join(parts).encode("utf-8", "surrogatepass")
    return hashlib.sha256(content).hexdigest()[:16]


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort findings by file, line and rule, and number equal fingerprints.

    Two findings get one fingerprint where two meters have one tag; the second
    and later ones are told apart by their order.
    """
    ordered = sorted(findings, key=_rank)
    seen: dict[str, int] = {}
    told_apart = []
    for finding in ordered:
        count = seen[finding.fingerprint] = seen.get(finding.fingerprint, 0) + 1
        if count > 1:
            finding = replace(finding, fingerprint=f"{finding.fingerprint}-{count}")
        told_apart.append(finding)
    return tuple(told_apart)


def _rank(finding: Finding) -> tuple[str, int, str, int, Subject, str, str]:
    file, line, column = finding.place
    subject, pointed, message = finding.subject, finding.pointer, finding.message
    return (file, line, finding.rule, column, subject, pointed, message)
