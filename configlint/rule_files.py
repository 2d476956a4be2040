"""The shape of a rule file: quantities, rules with their proofs, reading rules."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from configlint.fields import (
    Choice,
    Count,
    Measured,
    Model,
    Text,
    Truth,
    UnitSpelling,
)
from configlint.units import Quantity

__all__ = [
    "AcrossModel",
    "BasisModel",
    "EffectModel",
    "FallbackModel",
    "PreferredModel",
    "ProofMeterModel",
    "ProofModel",
    "QuantityModel",
    "ReadingChainModel",
    "ReadingModel",
    "RuleFile",
    "RuleModel",
    "SettingModel",
    "SiteDataModel",
]

Words = Annotated[str, Text()]
Category = Annotated[str, Choice("A", "B", "C")]
OutcomeWord = Annotated[
    str, Choice("conforms", "nonconforming", "not-assessed", "not-applicable")
]
Effect = Annotated[Quantity, Measured("ratio")]
Status = Annotated[
    str, Choice("read", "computed", "common practice", "site practice", "from memory")
]


class BasisModel(Model):
    """Why a rule or quantity holds: a standard's clause, a publication, practice."""

    practice: Words | None = Field(None, title="The practice, in a sentence")
    standard: Words | None = Field(None, title="The standard's designation")
    clause: Words | None = Field(None, title="The clause, where it was read")
    edition: Words | None = Field(None, title="The edition of the standard")
    published: Words | None = Field(None, title="A law, handbook or paper")
    status: Status | None = Field(None, title="How far the basis was verified")


class FallbackModel(Model):
    """Another formula for a quantity whose own inputs are missing."""

    formula: Words = Field(title="The formula taken instead")
    note: Words = Field(title="What is assumed then, told with every finding")


class QuantityModel(Model):
    """A derived value: its meaning, symbol, formula and unit."""

    means: Words = Field(title="What the quantity is")
    symbol: Words = Field(title="Its symbol in print")
    formula: Words = Field(title="How it is computed")
    unit: Annotated[str, UnitSpelling()] | None = Field(
        None, title="The unit a report shows it in; none for a plain number"
    )
    fallback: FallbackModel | None = Field(None, title="Used where inputs are missing")
    basis: BasisModel = Field(title="Why the formula holds")


class AcrossModel(Model):
    """What meters that share a value must have in common, and over which meters.

    Without `agree` no two meters may share the value at all.
    """

    scope: Annotated[str, Choice("site", "all sites")] = Field(title="Meters compared")
    same: tuple[Words, ...] = Field(
        title="The values that bring meters together, all of them the same",
        min_length=1,
    )
    agree: Words | None = Field(None, title="The value they must then share too")


class ProofMeterModel(Model):
    """One meter of a proof, as differences from a sound one."""

    written: dict[str, str] = Field(
        default_factory=dict, alias="with", title="Values changed or added, by path"
    )
    without: tuple[Words, ...] = Field((), title="Paths taken out")
    base: Words = Field("separate", title="The sound meter it starts from")
    gives: OutcomeWord = Field(title="The outcome the rule must have")


class ProofModel(Model):
    """One proof: a meter, or for a rule across meters a list of them."""

    written: dict[str, str] = Field(
        default_factory=dict, alias="with", title="Values changed or added, by path"
    )
    without: tuple[Words, ...] = Field((), title="Paths taken out")
    base: Words = Field("separate", title="The sound meter it starts from")
    gives: OutcomeWord | None = Field(None, title="The outcome the rule must have")
    missing: tuple[Words, ...] = Field((), title="Inputs the outcome must name")
    effect: Effect | None = Field(
        None,
        title="Error of the reading that it must come to, at normal flow",
        examples=["20.0 %", "-0.41 %"],
    )
    meters: tuple[ProofMeterModel, ...] = Field((), title="Meters of one run")
    shows: Words | None = Field(None, title="Source of an outside case, or a reason")


class EffectModel(Model):
    """What a fault does to a reading, told with the finding in percent and flow.

    A formula gives a plain number, and may name `flow`: it is then asked at the
    minimum, the normal and the maximum flow of the process.
    """

    of: Words = Field(title="What reads wrong", examples=["The receiver"])
    reading_error: Words | None = Field(
        None, title="Formula: error of the reading over the flow, high is positive"
    )
    lost_share: Words | None = Field(
        None, title="Formula: share of the flow that is lost, from 0 to 1"
    )


class RuleModel(Model):
    """One acceptance question with limits, basis, finding text, remedy, proofs."""

    category: Category = Field(title="Punch-list category of a finding")
    asks: Words = Field(title="The question the rule asks of a meter")
    applies: Words | None = Field(None, title="Formula: which meters it is asked of")
    limits: dict[str, str] = Field(default_factory=dict, title="Named limits")
    accept: Words | None = Field(None, title="Formula that must hold")
    across: AcrossModel | None = Field(None, title="Comparison across meters")
    finding: Words = Field(title="What is said when it does not hold")
    remedy: Words = Field(title="What to do about it")
    settings: tuple[Words, ...] = Field((), title="Paths a person would change")
    effect: EffectModel | None = Field(None, title="What the fault costs")
    net: Annotated[bool, Truth()] = Field(
        False,
        title="Whether the effect is a net of the faults of other rules",
        description="Where it says true, the rule has no fault of its own: its effect "
        "is what those faults come to together, asked also where the rule is met.",
    )
    proposes_values: Annotated[bool, Truth()] = Field(
        True,
        title="Whether values are proposed for findings",
        description="Where it says false, none is proposed for a finding of the rule, "
        "nor for one of a rule that shares a setting with it; but of a rule with an "
        "effect all stages are proposed to be corrected together.",
    )
    basis: BasisModel = Field(title="Why the rule holds")
    proof: tuple[ProofModel, ...] = Field(title="Meters that must come out as said")


class PreferredModel(Model):
    """Which of the values that a setting may take are preferred: one of the keys."""

    figures: tuple[Words, ...] = Field(
        (), title="Figures that every decade of its unit repeats", examples=[[1, 2, 5]]
    )
    digits: Annotated[Quantity, Count(1, most=3)] | None = Field(
        None, title="Most digits that a round figure has"
    )
    amounts: tuple[Words, ...] = Field((), title="The preferred amounts themselves")
    table: Words | None = Field(None, title="Table whose rows name the values")


class SettingModel(Model):
    """A value of a meter's file that rules name among the ones a person would change.

    Only an adjustable one is given a value in a finding's advice.
    """

    adjustable: Annotated[bool, Truth()] = Field(
        title="It is chosen and entered, not read off a plate or the plant"
    )
    where: Words = Field(title="Where it is set, or where a person reads it")
    preferred: PreferredModel | None = Field(
        None, title="Which of the permissible values are preferred"
    )
    only_preferred: Annotated[bool, Truth()] = Field(
        False,
        title="Whether no others can be set",
        description="Where it says true, advice proposes none but preferred amounts.",
    )
    basis: BasisModel = Field(title="Why these are preferred, or who states it")


class SiteDataModel(Model):
    """A value of the site's own, which meter files hold under `site_data`.

    It is an amount of the unit's kind, or without a unit what `kind` says.
    """

    means: Words = Field(title="What the value is")
    unit: Annotated[str, UnitSpelling()] | None = Field(
        None,
        title="The unit a report shows it in",
        description="Meter files may use every other unit of its kind.",
        examples=["m3/h", "mm", "%"],
    )
    kind: Annotated[str, Choice("text", "number", "truth", "date")] | None = Field(
        None, title="What it is without a unit; a text where nothing is said"
    )


class ReadingChainModel(Model):
    """What reads wrong by a fault, and which readings it goes by.

    A fault of a reading bears on every reading that is fed by it.
    """

    fed_by: tuple[Words, ...] = Field((), title="The readings that it goes by")
    applies: Words | None = Field(
        None, title="Formula: of which meters it goes by them; of all without one"
    )


class ReadingModel(Model):
    """A rule that reading the files enforces by itself, before any formula."""

    category: Category = Field(title="Punch-list category of a finding")
    asks: Words = Field(title="The question it asks of a file")
    limits: dict[str, str] = Field(default_factory=dict, title="Named limits")
    remedy: Words = Field(title="What to do about a finding")
    basis: BasisModel = Field(title="Why the rule holds")


class RuleFile(Model):
    """A file of a rule set. Files of one rule set share its name and edition."""

    ruleset: Words = Field(title="The rule set's name")
    edition: Words = Field(title="The rule set's edition")
    symbols: dict[str, Words] = Field(
        default_factory=dict, title="Symbols of inputs in print, by path"
    )
    site_data: dict[str, SiteDataModel] = Field(
        default_factory=dict, title="Values of the site's own that rules name"
    )
    quantities: dict[str, QuantityModel] = Field(default_factory=dict)
    readings: dict[str, ReadingChainModel] = Field(
        default_factory=dict, title="What an effect can be of, by name"
    )
    rules: dict[str, RuleModel] = Field(default_factory=dict)
    settings: dict[str, SettingModel] = Field(
        default_factory=dict, title="Settings that rules name, by path"
    )
    reading: dict[str, ReadingModel] = Field(default_factory=dict)
