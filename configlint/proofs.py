"""Proofs: the example meters inside the rules, run through the whole check.

`prove` first runs every proof as it stands, then every mutant of every rule, and of
every quantity that a rule's outcome or effect rests on: a mutant that all proofs still
agree with has survived, and the mutation score is the share that has not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace

from configlint.cases import Case, ProofError, make_case
from configlint.compiler import Values
from configlint.effects import effect_of
from configlint.engine import Derived, Judge, Outcome
from configlint.ledger import Ledger
from configlint.mutants import across_mutants, meter_mutants, quantity_mutants
from configlint.operators import is_missing
from configlint.rules import AcrossRule, DerivedQuantity, MeterRule, RuleBook
from configlint.templates import make_template, show_amount

__all__ = ["Verdict", "prove"]

JudgedRule = MeterRule | AcrossRule
Cases = Mapping[str, tuple[Case, ...]]
"""The proofs of rules, made ready, by the rule's id."""


@dataclass(slots=True)
class Verdict:
    """What proving one rule, or one quantity, came to."""

    name: str
    proofs: int = 0
    mutants: int = 0
    failures: list[str] = field(default_factory=list)
    survivors: list[str] = field(default_factory=list)

    @property
    def proven(self) -> bool:
        """Whether every proof came out as said and no mutant survived."""
        return not self.failures and not self.survivors


def prove(book: RuleBook, wanted: Collection[str] = ()) -> Iterator[Verdict]:
    """Prove the rules of a book that judge meters, then what they are computed from.

    `wanted` names the rules to prove; without it all are. A quantity is proven by the
    proofs of all rules that rest on it.
    """
    cases: dict[str, tuple[Case, ...]] = {}
    for rule in book.judged_rules:
        verdict, cases[rule.id] = _run(book, rule)
        if not wanted or rule.id in wanted:
            if verdict.proven:
                _try_mutants(book, rule, cases[rule.id], verdict)
            yield verdict
    for quantity in book.quantities:
        rules = [
            each for each in book.judged_rules if quantity.name in _rests(book, each)
        ]
        if rules and (not wanted or any(rule.id in wanted for rule in rules)):
            yield _prove_quantity(book, quantity, rules, cases)


def _run(book: RuleBook, rule: JudgedRule) -> tuple[Verdict, tuple[Case, ...]]:
    """Run a rule's proofs as they stand."""
    verdict = Verdict(rule.id, len(rule.proofs))
    cases = []
    for position, proof in enumerate(rule.proofs, start=1):
        title = f"proof {position}"
        try:
            cases.append(make_case(book, title, proof))
        except ProofError as faulty:
            verdict.failures.append(f"{title}: {faulty}")
    verdict.failures += [
        said for case in cases if (said := _disagreement(book, rule, case))
    ]
    return verdict, tuple(cases)


def _try_mutants(
    book: RuleBook, rule: JudgedRule, cases: tuple[Case, ...], verdict: Verdict
) -> None:
    """Ask of every change of a rule whether one of its proofs notices it."""
    for said, mutant in _mutants(book, rule):
        verdict.mutants += 1
        if not any(_words(book, mutant, case) != case.gives for case in cases):
            verdict.survivors.append(said)


def _rests(book: RuleBook, rule: JudgedRule) -> frozenset[str]:
    """The values that a rule's outcome and effect depend on."""
    return frozenset((*book.needed_by(rule), *book.below(rule.effect_reads)))


def _prove_quantity(
    book: RuleBook, quantity: DerivedQuantity, rules: list[JudgedRule], cases: Cases
) -> Verdict:
    """Ask of every change of a quantity whether a proof of some rule notices it."""
    verdict = Verdict(quantity.name)
    later = [
        each
        for each in book.quantities
        if each is not quantity and quantity.name in book.below([each.name])
    ]
    for said, mutant in quantity_mutants(quantity, book.scope):
        verdict.mutants += 1
        changed = (
            (rule, case, _rederived(case, (mutant, *later)))
            for rule in rules
            for case in cases[rule.id]
        )
        if not any(_notices(book, *each) for each in changed):
            verdict.survivors.append(said)
    return verdict


def _notices(book: RuleBook, rule: JudgedRule, case: Case, changed: Case) -> bool:
    """Whether a proof comes out otherwise with a quantity changed."""
    if _words(book, rule, changed) != case.gives:
        return True
    return bool(_other_effect(rule, changed))


def _rederived(case: Case, quantities: tuple[DerivedQuantity, ...]) -> Case:
    """Compute some quantities of a proof's meters anew."""
    return replace(case, meters=tuple(_anew(each, quantities) for each in case.meters))


def _anew(meter: Derived, quantities: tuple[DerivedQuantity, ...]) -> Derived:
    values, written = dict(meter.values), meter.written
    for quantity in quantities:
        if quantity.name in values:
            value = quantity.formula.function(values, written, {})
            if quantity.fallback is not None and is_missing(value):
                value = quantity.fallback.function(values, written, {})
            values[quantity.name] = value
    return Derived(values, written, meter.causes)


def _mutants(book: RuleBook, rule: JudgedRule) -> Iterator[tuple[str, JudgedRule]]:
    if isinstance(rule, MeterRule):
        yield from meter_mutants(rule, book.scope)
    else:
        yield from across_mutants(rule, book.scope)


def _disagreement(book: RuleBook, rule: JudgedRule, case: Case) -> str:
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


def _seen(book: RuleBook, rule: JudgedRule, meter: Derived) -> str:
    """Say which values a meter's outcome rests on, as a finding would show them."""
    values = Values(meter.values, meter.written)
    slots = (f"{path} = {{{path}}}" for path in rule.reads if path in book.scope.names)
    return make_template(", ".join(slots), book.scope, book.units).fill(values, {})


def _other_effect(rule: JudgedRule, case: Case) -> str:
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


def _words(book: RuleBook, rule: JudgedRule, case: Case) -> tuple[str, ...]:
    return tuple(outcome.word for outcome in _outcomes(book, rule, case))


def _outcomes(book: RuleBook, rule: JudgedRule, case: Case) -> tuple[Outcome, ...]:
    if isinstance(rule, MeterRule):
        judge = Judge(replace(book, meter_rules=(rule,)))
        return tuple(judge.judge(meter)[0] for meter in case.meters)
    ledger = Ledger(replace(book, across_rules=(rule,)))
    for number, (meter, site) in enumerate(zip(case.meters, case.sites, strict=True)):
        ledger.enter(number, site, meter)
    settled = ledger.settle()
    return tuple(settled[number][0] for number in range(len(case.meters)))
