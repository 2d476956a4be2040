"""What rules are once they are loaded: checked, ordered and compiled values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any

from configlint.compiler import Formula, Scope
from configlint.errors import Place
from configlint.fields import Scalar
from configlint.formula import asked_for, names
from configlint.inputs import declared_inputs
from configlint.kinds import Input, Kind
from configlint.rule_files import BasisModel, ProofModel
from configlint.templates import Template
from configlint.type_sheets import TypeSheet
from configlint.units import Quantity

__all__ = [
    "FLOW",
    "AcrossRule",
    "AnyRule",
    "DerivedQuantity",
    "Edition",
    "EffectFormula",
    "FedReading",
    "Limit",
    "MeterRule",
    "Preferred",
    "ReadingRule",
    "RuleBook",
    "Setting",
    "SiteData",
    "SoundMeter",
    "basis_words",
]


@dataclass(frozen=True, slots=True)
class Limit:
    """A named number of a rule: its SI amount, as written, and its kind."""

    name: str
    value: float
    text: str
    unit: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class DerivedQuantity:
    """A derived value with its formula, and what stands in where inputs miss."""

    name: str
    means: str
    symbol: str
    unit: str
    formula: Formula
    fallback: Formula | None
    note: str
    basis: BasisModel
    place: Place


@dataclass(frozen=True, slots=True)
class EffectFormula:
    """What a fault does to a reading: what reads wrong, and a formula of how much.

    `measure` is `reading error` or `lost share`; the formula gives a plain number,
    and may name the `flow` that it is asked at.
    """

    of: str
    measure: str
    formula: Formula

    @property
    def depends_on_flow(self) -> bool:
        """Whether the formula names the flow that it is asked at."""
        return FLOW in names(self.formula.tree)


FLOW = "flow"
"""The name under which an effect's formula is given the flow it is asked at."""


@dataclass(frozen=True, slots=True)
class FedReading:
    """A reading that effects are of, and the readings that it goes by.

    `applies` says of which meters it goes by them, None that it does of all.
    """

    name: str
    fed_by: tuple[str, ...] = ()
    applies: Formula | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRule:
    """A rule that reading the files enforces by itself."""

    id: str
    ruleset: str
    category: str
    asks: str
    basis: BasisModel
    remedy: str
    limits: Mapping[str, Limit] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class _JudgedRule:
    id: str
    ruleset: str
    category: str
    asks: str
    basis: BasisModel
    applies: Formula | None
    finding: Template
    remedy: Template
    settings: tuple[str, ...]
    proofs: tuple[ProofModel, ...]
    place: Place
    effect: EffectFormula | None = None
    is_net: bool = False
    proposes_values: bool = True

    @property
    def effect_reads(self) -> tuple[str, ...]:
        """The values that the formula of the effect names."""
        return () if self.effect is None else tuple(names(self.effect.formula.tree))


@dataclass(frozen=True, kw_only=True)
class MeterRule(_JudgedRule):
    """A rule about one meter: a truth that must hold, with named limits."""

    accept: Formula
    limits: Mapping[str, Limit] = field(default_factory=dict)

    @cached_property
    def reads(self) -> tuple[str, ...]:
        """The values that the condition names, in the order it names them."""
        return tuple(dict.fromkeys(names(self.accept.tree)))

    @cached_property
    def needs(self) -> tuple[str, ...]:
        """The values that the condition asks to be given."""
        return tuple(asked_for(self.accept.tree))

    @property
    def limit_values(self) -> dict[str, float]:
        """The standard limits in SI."""
        return {name: limit.value for name, limit in self.limits.items()}

    @property
    def limit_kinds(self) -> dict[str, Kind]:
        """The kind of each limit."""
        return {name: limit.kind for name, limit in self.limits.items()}


@dataclass(frozen=True, kw_only=True)
class AcrossRule(_JudgedRule):
    """A rule about meters that share a value, over a site or a whole run."""

    scope: str
    same: tuple[str, ...]
    agree: str

    needs = ()

    @property
    def reads(self) -> tuple[str, ...]:
        """The values that are compared over the meters."""
        return (*self.same, self.agree) if self.agree else self.same


AnyRule = MeterRule | AcrossRule | ReadingRule


@dataclass(frozen=True, slots=True)
class Preferred:
    """Which values of a setting are preferred; without any part, none are.

    `figures`, from 1 up to 10, are repeated by every decade of the unit that a file
    uses. `table` names the table whose rows are the values of a text.
    """

    figures: tuple[Decimal, ...] = ()
    amounts: tuple[Quantity, ...] = ()
    table: str = ""


@dataclass(frozen=True, slots=True)
class Setting:
    """A value of a meter's file that rules name among the ones a person would change.

    One that is not `adjustable` is read off a plate or the plant, so that nobody
    can choose it. With `only_preferred` no other amounts can be set.
    """

    path: str
    ruleset: str
    adjustable: bool
    where: str
    preferred: Preferred
    basis: BasisModel
    only_preferred: bool = False

    @property
    def prefers_amounts(self) -> bool:
        """Whether some of the amounts that it may be are preferred."""
        return bool(self.preferred.figures or self.preferred.amounts)


@dataclass(frozen=True, slots=True)
class SiteData:
    """The values of the site's own that rule files declare.

    `marks` say by its name what the text of each can be, `inputs` by its path what
    rules know of it.
    """

    marks: Mapping[str, Scalar] = field(default_factory=dict)
    inputs: Mapping[str, Input] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Edition:
    """Which rule set judged: its name, edition and a digest of its files."""

    name: str
    edition: str
    digest: str


@dataclass(frozen=True, slots=True)
class SoundMeter:
    """A complete sound meter that proofs start from, as raw values."""

    name: str
    meter: Mapping[str, Any]
    site: Mapping[str, Any]
    type_sheet: Mapping[str, Any]


@dataclass(frozen=True)
class RuleBook:
    """Everything rules are judged by, in the order it is computed.

    `symbols` are those of quantities and inputs in print, by path; `settings` are
    the values that a person would change, as far as rule files declare them.
    """

    editions: tuple[Edition, ...]
    scope: Scope
    units: Mapping[str, str]
    quantities: tuple[DerivedQuantity, ...]
    meter_rules: tuple[MeterRule, ...]
    across_rules: tuple[AcrossRule, ...]
    reading_rules: Mapping[str, ReadingRule]
    type_sheets: Mapping[str, TypeSheet]
    sound_meters: Mapping[str, SoundMeter]
    symbols: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, Setting] = field(default_factory=dict)
    site_data: SiteData = field(default_factory=SiteData)
    readings: Mapping[str, FedReading] = field(default_factory=dict)

    @cached_property
    def inputs(self) -> dict[str, Input]:
        """All inputs that rules may name, by path, the site's own behind the others."""
        return {**declared_inputs(), **self.site_data.inputs}

    @cached_property
    def quantity_of(self) -> dict[str, DerivedQuantity]:
        """The derived quantities by name."""
        return {quantity.name: quantity for quantity in self.quantities}

    @property
    def judged_rules(self) -> tuple[MeterRule | AcrossRule, ...]:
        """The rules that judge meters, one by one or across."""
        return (*self.meter_rules, *self.across_rules)

    @cached_property
    def judging(self) -> tuple[DerivedQuantity, ...]:
        """The quantities that some rule's outcome depends on, in their order."""
        return self._computed_for(self.judged_rules)

    @cached_property
    def comparing(self) -> tuple[DerivedQuantity, ...]:
        """The quantities that outcomes of rules across meters depend on, in order."""
        return self._computed_for(self.across_rules)

    def _computed_for(
        self, rules: Iterable[MeterRule | AcrossRule]
    ) -> tuple[DerivedQuantity, ...]:
        needed = {path for rule in rules for path in self.needed_by(rule)}
        return tuple(each for each in self.quantities if each.name in needed)

    def needed_by(self, rule: MeterRule | AcrossRule) -> tuple[str, ...]:
        """The inputs and quantities that a rule's outcome depends on."""
        applies = () if rule.applies is None else names(rule.applies.tree)
        return self.below([*applies, *rule.reads])

    @cached_property
    def shown(self) -> dict[str, tuple[str, ...]]:
        """By rule, the inputs and quantities that its findings list with values.

        These are the ones the rule itself names and those its text shows, and
        below them whatever the named quantities are computed from.
        """
        judged: Iterable[MeterRule | AcrossRule] = (
            *self.meter_rules,
            *self.across_rules,
        )
        return {
            rule.id: self.below([*rule.reads, *rule.finding.paths, *rule.effect_reads])
            for rule in judged
        }

    def below(self, paths: Iterable[str]) -> tuple[str, ...]:
        """Give some values and all that the quantities among them are computed from.

        Paths that no rule can name are left out; each is given once.
        """
        waiting = list(paths)
        found: dict[str, None] = {}
        while waiting:
            path = waiting.pop(0)
            if path in found or path not in self.scope.names:
                continue
            found[path] = None
            quantity = self.quantity_of.get(path)
            if quantity is not None:
                waiting += names(quantity.formula.tree)
                if quantity.fallback is not None:
                    waiting += names(quantity.fallback.tree)
        return tuple(found)

    @property
    def all_rules(self) -> tuple[AnyRule, ...]:
        """Every rule, in alphabetical order of their ids."""
        rules: tuple[AnyRule, ...] = (
            *self.meter_rules,
            *self.across_rules,
            *self.reading_rules.values(),
        )
        return tuple(sorted(rules, key=lambda rule: rule.id))


STATUS_WORDS = {"read": "checked in the source", "computed": "follows by arithmetic"}
"""What a reader is told of how far a basis was verified; other marks say it."""


def basis_words(basis: BasisModel) -> str:
    """Write a basis in one line, with the mark of how far it was verified.

    >>> basis_words(BasisModel(standard="ISO 6708", edition="1995", status="read"))
    'ISO 6708:1995 (checked in the source)'
    """
    standard = ":".join(part for part in (basis.standard, basis.edition) if part)
    clause = f"clause {basis.clause}" if basis.clause else ""
    said = [standard, clause, basis.published, basis.practice]
    status = basis.status or ("common practice" if basis.practice else "")
    words = ", ".join(part for part in said if part)
    return f"{words} ({STATUS_WORDS.get(status, status)})" if status else words
