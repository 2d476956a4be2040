"""Proofs: the example meters inside the rules, run through the whole check.

`prove` first runs every proof as it stands, then every mutant of every rule:
a mutant that all proofs of its rule still agree with has survived, and the
mutation score is the share that has not.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from configlint.compiler import Values
from configlint.documents import Document, read_document
from configlint.effects import effect_of
from configlint.engine import Derived, Judge, Outcome, derive, derive_told
from configlint.facts import Facts, facts, sheet_facts
from configlint.fields import validate
from configlint.ledger import Ledger
from configlint.meters import read_meters
from configlint.mutants import across_mutants, meter_mutants
from configlint.rule_files import ProofMeterModel, ProofModel
from configlint.rules import AcrossRule, MeterRule, RuleBook
from configlint.templates import make_template, show_amount
from configlint.type_sheets import TypeSheet
from configlint.units import Quantity
from configlint.workspace import Site, SiteFile

__all__ = ["Case", "Verdict", "prove", "prove_rule"]


@dataclass(frozen=True, slots=True)
class Case:
    """One proof made ready: its meters' values, and the outcomes they must have."""

    title: str
    meters: tuple[Derived, ...]
    sites: tuple[str, ...]
    gives: tuple[str, ...]
    missing: tuple[str, ...]
    effect: Quantity | None = None


@dataclass(slots=True)
class Verdict:
    """What proving one rule came to."""

    rule: str
    proofs: int = 0
    mutants: int = 0
    failures: list[str] = field(default_factory=list)
    survivors: list[str] = field(default_factory=list)

    @property
    def proven(self) -> bool:
        """Whether every proof came out as said and no mutant survived."""
        return not self.failures and not self.survivors


def prove(book: RuleBook, wanted: Collection[str] = ()) -> Iterator[Verdict]:
    """Prove the rules of a book that judge meters, one after the other.

    `wanted` names the ones to prove; without it all are.
    """
    for rule in book.judged_rules:
        if not wanted or rule.id in wanted:
            yield prove_rule(book, rule)


def prove_rule(book: RuleBook, rule: MeterRule | AcrossRule) -> Verdict:
    """Run a rule's proofs, then its mutants against the same proofs."""
    verdict = Verdict(rule.id)
    cases = []
    for position, proof in enumerate(rule.proofs, start=1):
        title = f"proof {position}"
        try:
            cases.append(_case(book, title, proof))
        except _ProofError as faulty:
            verdict.failures.append(f"{title}: {faulty}")
    verdict.proofs = len(rule.proofs)
    verdict.failures += [
        said for case in cases if (said := _disagreement(book, rule, case))
    ]
    if verdict.failures:
        return verdict
    for said, mutant in _mutants(book, rule):
        verdict.mutants += 1
        if not any(_words(book, mutant, case) != case.gives for case in cases):
            verdict.survivors.append(said)
    return verdict


def _mutants(
    book: RuleBook, rule: MeterRule | AcrossRule
) -> Iterator[tuple[str, MeterRule | AcrossRule]]:
    if isinstance(rule, MeterRule):
        yield from meter_mutants(rule, book.scope)
    else:
        yield from across_mutants(rule, book.scope)


def _disagreement(book: RuleBook, rule: MeterRule | AcrossRule, case: Case) -> str:
    """Say how a proof came out other than it must, "" where it did not."""
    outcomes = _outcomes(book, rule, case)
    words = tuple(outcome.word for outcome in outcomes)
    if words != case.gives:
        missing = sorted({name for outcome in outcomes for name in outcome.missing})
        lacks = f" (missing {', '.join(missing)})" if missing else ""
        wanted = ", ".join(case.gives)
        seen = "; ".join(_seen(book, rule, meter) for meter in case.meters)
        given = f"gives {', '.join(words)}{lacks}, must give {wanted}"
        return f"{case.title}: {given}, with {seen}"
    named = {name for outcome in outcomes for name in outcome.missing}
    unnamed = set(case.missing) - named
    if unnamed:
        return f"{case.title}: does not name {', '.join(sorted(unnamed))} as missing"
    return _other_effect(rule, case)


def _seen(book: RuleBook, rule: MeterRule | AcrossRule, meter: Derived) -> str:
    """Say which values a meter's outcome rests on, as a finding would show them."""
    values = Values(meter.values, meter.written)
    slots = (f"{path} = {{{path}}}" for path in rule.reads if path in book.scope.names)
    return make_template(", ".join(slots), book.scope, book.units).fill(values, {})


def _other_effect(rule: MeterRule | AcrossRule, case: Case) -> str:
    """Say how an effect comes to another error than its proof says, "" if not."""
    if case.effect is None:
        return ""
    if not isinstance(rule, MeterRule) or rule.effect is None:
        return f"{case.title}: tells an effect, but the rule has none"
    effect = effect_of(rule.effect, case.meters[0], rule.limit_values)
    relative = effect.relative if effect else 0.0
    if abs(relative - case.effect.si) <= case.effect.step / 2:
        return ""
    comes = show_amount(relative, case.effect.unit.spelling)
    return f"{case.title}: the effect comes to {comes}, must be {case.effect.text}"


def _words(book: RuleBook, rule: MeterRule | AcrossRule, case: Case) -> tuple[str, ...]:
    return tuple(outcome.word for outcome in _outcomes(book, rule, case))


def _outcomes(
    book: RuleBook, rule: MeterRule | AcrossRule, case: Case
) -> tuple[Outcome, ...]:
    if isinstance(rule, MeterRule):
        judge = Judge(replace(book, meter_rules=(rule,)))
        return tuple(judge.judge(meter)[0] for meter in case.meters)
    ledger = Ledger(replace(book, across_rules=(rule,)))
    for number, (meter, site) in enumerate(zip(case.meters, case.sites, strict=True)):
        ledger.enter(number, site, meter)
    settled = ledger.settle()
    return tuple(settled[number][0] for number in range(len(case.meters)))


# --- the meters of a proof ------------------------------------------------


PROOF_DATE = "2026-01-01"
"""The day that proofs judge dates as of, unless one says `run.date`."""


class _ProofError(Exception):
    """A proof's meter that can't be read."""


def _case(book: RuleBook, title: str, proof: ProofModel) -> Case:
    parts: tuple[ProofMeterModel | ProofModel, ...] = proof.meters or (proof,)
    # What only a finding tells, an effect for one, is derived where it is asked for.
    how = derive if proof.effect is None else derive_told
    made = [_meter(book, part, how) for part in parts]
    return Case(
        title,
        tuple(derived for derived, _ in made),
        tuple(site for _, site in made),
        tuple(part.gives or "" for part in parts),
        proof.missing,
        proof.effect,
    )


def _meter(
    book: RuleBook,
    proof: ProofMeterModel | ProofModel,
    how: Callable[[RuleBook, Facts], Derived],
) -> tuple[Derived, str]:
    raw = _changed(book, proof)
    entries, faults = read_meters(_document(raw["meter"]))
    site_file, wrong = validate(SiteFile, _document({"site": "proof", **raw["site"]}))
    faults += wrong
    sheet, named = None, raw["meter"].get("type_sheet")
    if raw["type_sheet"] and named:
        document = _document({**raw["type_sheet"], "type_sheet": named})
        sheet, wrong = validate(TypeSheet, document)
        faults += wrong
    if faults or site_file is None:
        raise _ProofError(" ".join(fault.sentence for fault in faults))
    site = Site.of(site_file)
    of_type = None if sheet is None else sheet_facts(sheet)
    known = facts(entries[0].meter, site, of_type, _day(raw["run"]))
    return how(book, known), site.name


def _day(run: Mapping[str, str]) -> date | None:
    """The day that a proof judges dates as of; taken out, there is none."""
    if "date" not in run:
        return None
    try:
        return date.fromisoformat(run["date"])
    except ValueError as error:
        raise _ProofError(f"run.date: {error}") from None


def _document(value: Mapping[str, Any]) -> Document:
    (document,) = read_document(b"{}", "proof").documents
    return replace(document, value=value)


def _changed(
    book: RuleBook, proof: ProofMeterModel | ProofModel
) -> dict[str, dict[str, Any]]:
    sound = book.sound_meters[proof.base]
    raw: dict[str, Any] = {
        "meter": copy.deepcopy(dict(sound.meter)),
        "site": copy.deepcopy(dict(sound.site)),
        "type_sheet": copy.deepcopy(dict(sound.type_sheet)),
        "run": {"date": PROOF_DATE},
    }
    for path in proof.without:
        _take_out(*_target(raw, path))
    for path, text in proof.written.items():
        _put(*_target(raw, path), text)
    return raw


def _target(raw: dict[str, Any], path: str) -> tuple[dict[str, Any], list[str]]:
    """Find the part of the proof that a path leads into, and its steps there."""
    first, *others = path.split(".")
    if path == "site.name":
        return raw["site"], ["site"]
    if others and first in ("site", "type_sheet", "run"):
        return raw[first], others
    return raw["meter"], [first, *others]


def _take_out(part: dict[str, Any], steps: list[str]) -> None:
    *way, last = steps
    holder: Any = part
    for step in way:
        holder = holder.get(step) if isinstance(holder, dict) else None
    if not isinstance(holder, dict) or last not in holder:
        raise _ProofError(f"{'.'.join(steps)} is not in the sound meter")
    del holder[last]


def _put(part: dict[str, Any], steps: list[str], text: str) -> None:
    *way, last = steps
    for step in way:
        inner = part.get(step)
        if not isinstance(inner, dict):
            inner = part[step] = {}
        part = inner
    part[last] = text
