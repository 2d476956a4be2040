"""What a fault costs: the error of a reading, in percent, in flow and over a year.

A rule's `effect` is a formula for a relative error, more than 0 where the reading
is high, or for a share of the flow that is lost. One that names `flow` depends on
the flow and is asked at the minimum, the normal and the maximum flow; over a year
the normal flow counts.

Where several faults of a meter bear on one reading, each effect is a share: it is told
as taken alone, and beside it the net, which is what they come to together, where a rule
knows it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from configlint.engine import Derived
from configlint.operators import is_missing
from configlint.printed import print_plainly
from configlint.rules import FLOW, EffectFormula
from configlint.units import Quantity, Unit, equal, from_si, unit_named

__all__ = [
    "FLOWS",
    "MEASURES",
    "SMALLEST",
    "Amount",
    "AtFlow",
    "Effect",
    "Net",
    "effect_of",
    "effect_words",
    "rounded",
]

FLOWS = ("minimum", "normal", "maximum")
"""The flows of a process at which an effect is asked."""

HOURS_PER_YEAR = 8760.0
"""Hours of a year of 365 days, taken where nobody says how long flow runs."""

HOURS = ("process.hours_per_year", "site.hours_per_year")
LOST = "lost share"
MEASURES = ("reading error", LOST)
"""What an effect can be."""
DENSITY = "process.density"
WATER = 1000.0
"""Density of cold water in kg/m3, rounded (common practice)."""

SMALLEST = 1e-12
"""A relative error below this is arithmetic, not flow."""

HALF = 0.5
NAN = float("nan")


class Amount(NamedTuple):
    """A number with its unit, "" for a plain number."""

    value: float
    unit: str


class AtFlow(NamedTuple):
    """An error at one flow: which flow it is, the flow, the error of the reading.

    `relative` is the error over the flow, more than 0 where the reading is high.
    """

    name: str
    flow: Amount
    relative: float
    error: Amount


class Effect(NamedTuple):
    """What a fault does to a reading.

    `of` names what reads wrong, `measure` is `reading error` or `lost share`.
    `relative` is the error at normal flow, or the largest where there is none then,
    and `told_at` says at which flow, "" where it is the same at all of them.
    `per_year` is what is read too much, or less than 0 too little, in a year of
    `hours`; `hours_assumed` says that nobody has stated them. `density` in kg/m3 is the
    fluid's: by it a mass is compared with the volumes of other meters.

    The rest names rules by their ids: `others` are those whose faults bear on the same
    reading; `counts` are those whose faults these figures count as well. `nets` are
    those it is part of.
    """

    of: str
    measure: str
    relative: float
    told_at: str
    at: tuple[AtFlow, ...]
    per_year: Amount | None
    hours: float
    hours_assumed: bool
    others: tuple[str, ...] = ()
    counts: tuple[str, ...] = ()
    nets: tuple[Net, ...] = ()
    density: float = WATER

    @property
    def is_share(self) -> bool:
        """Whether it is told as taken alone, since the reading has other faults too."""
        return bool(self.others or self.nets) and not self.counts

    @property
    def known_nets(self) -> tuple[Effect, ...]:
        """What the reading comes to with the meter's other faults, as far as known."""
        nets = (net.effect for net in self.nets)
        return tuple(effect for effect in nets if effect is not None)

    @property
    def rank(self) -> tuple[float, float]:
        """A key that sorts the largest effect first: by the year, then by percent.

        What is part of a known net ranks by the net, by the largest if of several.
        """
        return min((net.rank for net in self.known_nets), default=self._own_rank)

    @property
    def _own_rank(self) -> tuple[float, float]:
        volume = 0.0 if self.per_year is None else self._volume(self.per_year)
        return (-abs(volume), -abs(self.relative))

    def _volume(self, amount: Amount) -> float:
        """An amount of the fluid in m3, whether it is told as a volume or as a mass."""
        unit = unit_named(amount.unit)
        content = float(amount.value * unit.factor)
        return content / self.density if unit.kind == "mass" else content


class Net(NamedTuple):
    """What several faults of a meter come to together in a reading.

    The effect of `rule` counts the faults of the rules in `counted`. Those in
    `left_out` bear on the reading too, and no rule says what it comes to with them.
    `effect` is None where it is not known, and then `missing` names the inputs that it
    lacks.
    """

    of: str
    rule: str
    counted: tuple[str, ...]
    left_out: tuple[str, ...]
    effect: Effect | None
    missing: tuple[str, ...] = ()


def effect_of(
    effect: EffectFormula,
    derived: Derived,
    limits: Mapping[str, float],
    is_net: bool = False,
) -> Effect | None:
    """Compute what a fault costs a meter; None where no reading is wrong by it.

    `limits` are the rule's limits in SI, as they judged. Errors are shares of the
    flow, from -1 (nothing is read) upwards. A net of nothing is an effect: by it faults
    cancel.

    >>> from configlint.data import data_folder
    >>> from configlint.rule_book import load_rule_book
    >>> rules = load_rule_book(data_folder("rules")).meter_rules
    >>> (rule,) = (each for each in rules if each.id == "size-agrees")
    >>> values = {"size_flow_ratio": 2.25}
    >>> effect_words(effect_of(rule.effect, Derived(values, {}, {}), {}))
    'The meter reads 2.25 times the flow.'
    """
    asked = FLOWS if effect.depends_on_flow else ("normal",)
    at = tuple(
        each
        for name in asked
        if (each := _at(effect, name, derived, limits)) is not None
    )
    relative, told_at = _told(effect, at, derived, limits)
    errors = (relative, *(each.relative for each in at))
    is_nothing = all(abs(each) <= SMALLEST for each in errors)
    if is_missing(relative) or (is_nothing and not is_net):
        return None
    hours, assumed = _hours(derived)
    years = (_per_year(each, hours) for each in at if each.name == "normal")
    year = next(years, None)
    told = Effect(
        effect.of, effect.measure, relative, told_at, at, year, hours, assumed
    )
    return told._replace(density=_density(derived))


def _told(
    effect: EffectFormula,
    at: tuple[AtFlow, ...],
    derived: Derived,
    limits: Mapping[str, float],
) -> tuple[float, str]:
    """Choose the error that stands for the effect, and the flow it is told at.

    Where no flow is known, that is the error that the formula gives without one.
    """
    if not effect.depends_on_flow or not at:
        return rounded(_relative(effect, derived, {FLOW: NAN, **limits})), ""
    if all(equal(each.relative, at[0].relative) for each in at):
        return at[0].relative, ""
    wrong = [each for each in at if abs(each.relative) > SMALLEST]
    normal = (each for each in wrong if each.name == "normal")
    largest = max(wrong, key=lambda each: abs(each.relative), default=None)
    chosen = next(normal, largest)
    return (chosen.relative, chosen.name) if chosen else (0.0, "")


def _relative(
    effect: EffectFormula, derived: Derived, limits: Mapping[str, float]
) -> float:
    """The relative error of the reading; a lost share is missing from it."""
    value = effect.formula.function(derived.values, derived.written, limits)
    return -float(value) if effect.measure == LOST else float(value)


def _at(
    effect: EffectFormula, name: str, derived: Derived, limits: Mapping[str, float]
) -> AtFlow | None:
    flow = derived.values.get(f"process.flow.{name}")
    if not isinstance(flow, float) or is_missing(flow):
        return None
    relative = _relative(effect, derived, {**limits, FLOW: flow})
    if is_missing(relative):
        return None
    shown = _shown(derived.written.get(f"process.flow.{name}"), flow)
    error = Amount(rounded(shown.value * relative), shown.unit)
    return AtFlow(name, shown, rounded(relative), error)


def _shown(written: object, flow: float) -> Amount:
    """Show a flow as the file writes it, one written as a velocity as a flow."""
    if isinstance(written, Quantity) and written.unit.kind != "velocity":
        return Amount(float(written.number), written.unit.spelling)
    return Amount(rounded(from_si(flow, unit_named("m3/h"))), "m3/h")


def _density(derived: Derived) -> float:
    density = derived.values.get(DENSITY)
    if not isinstance(density, float) or is_missing(density) or density <= 0:
        return WATER
    return density


def _hours(derived: Derived) -> tuple[float, bool]:
    for path in HOURS:
        hours = derived.values.get(path)
        if isinstance(hours, float) and not is_missing(hours):
            return hours, False
    return HOURS_PER_YEAR, True


def _per_year(at: AtFlow, hours: float) -> Amount:
    unit = unit_named(at.error.unit)
    whole = _unit_of_a_year(unit)
    amount = float(at.error.value * unit.factor * 3600 / whole.factor) * hours
    return Amount(rounded(amount), whole.spelling)


def _unit_of_a_year(flow: Unit) -> Unit:
    """The unit in which a year's flow is told, of the system of the flow's own."""
    return unit_named(YEARLY[flow.kind].get(flow.system, YEARLY[flow.kind]["SI"]))


YEARLY: Mapping[str, Mapping[str, str]] = {
    "volume flow": {"SI": "m3", "US": "US_gal", "imperial": "imp_gal"},
    "mass flow": {"SI": "t", "US": "lb", "imperial": "lb"},
}


def effect_words(effect: Effect) -> str:
    """Say an effect in figures that a person acts on, and what others add to it.

    >>> at = AtFlow("normal", Amount(140.0, "m3/h"), 0.2, Amount(28.0, "m3/h"))
    >>> high = Effect("It", "reading error", 0.2, "", (at,), None, 8760.0, False)
    >>> effect_words(high)
    'It reads 20 % high: 28 m3/h too much at normal flow.'
    >>> effect_words(high._replace(others=("size-agrees",))).partition(".")[0]
    'Taken alone, it reads 20 % high: 28 m3/h too much at normal flow'
    """
    own = _figures_words(effect)
    if effect.is_share:
        own = f"Taken alone, {_within(own)}"
    return " ".join([own, *_words_together(effect)])


def _within(words: str) -> str:
    """Write words as they stand within a sentence; a name keeps its capital."""
    first, space, rest = words.partition(" ")
    return f"{first.lower() if first in OPENINGS else first}{space}{rest}"


OPENINGS = ("A", "It", "The")


def _figures_words(effect: Effect) -> str:
    if effect.told_at:
        said = "; ".join(_said_at(effect, each) for each in effect.at)
        return f"{effect.of} {said}.{_year(effect, ' At normal flow that is ', '.')}"
    if abs(effect.relative) <= SMALLEST:
        return f"{effect.of} reads right."
    said = f"{effect.of} {_said(effect.measure, effect.relative)}"
    normal = (each for each in effect.at if each.name == "normal")
    said += "".join(f": {_size(each.error)} at normal flow" for each in normal)
    return f"{said}{_year(effect, ', ', '')}."


def _words_together(effect: Effect) -> Iterator[str]:
    """Say what the figures count, each net, and what no rule computes."""
    if effect.counts:
        yield f"Counted in it: {', '.join(effect.counts)}."
    for net in effect.nets:
        yield from _net_words(effect, net)
    counted = {*effect.counts, *(rule for net in effect.nets for rule in net.counted)}
    rest = ", ".join(rule for rule in effect.others if rule not in counted)
    if rest:
        yield f"What it comes to with {rest} is not known: no rule computes it."


def _net_words(effect: Effect, net: Net) -> Iterator[str]:
    """Say a net, by the rules that are counted in it beside the effect's own."""
    others = [rule for rule in net.counted if rule in effect.others]
    together = f"Together with {', '.join(others)}" if others else f"By {net.rule}"
    if net.left_out:
        together += f", but without {', '.join(net.left_out)}"
    if net.effect is None:
        lacks = f"lacks {', '.join(net.missing)}"
        yield f"{together}, the net of {_within(net.of)} is not known: {lacks}."
    elif (
        equal(net.effect.relative, effect.relative) and not others and not net.left_out
    ):
        same = _said(net.effect.measure, net.effect.relative)
        yield f"No other fault bears on {_within(net.of)}, which {same} as well."
    elif not others or not set(others) <= set(effect.counts):
        yield f"{together}, {_within(_figures_words(net.effect))}"


def _year(effect: Effect, before: str, after: str) -> str:
    """Say what a year comes to, where it comes to anything."""
    year = effect.per_year
    if year is None or abs(year.value) <= SMALLEST:
        return ""
    hours = f"{effect.hours:g} h"
    hours += ", as none are stated" if effect.hours_assumed else " of flow"
    amount = f"{print_plainly(abs(year.value))} {year.unit}"
    return f"{before}{amount} in a year of {hours}{after}"


def _said_at(effect: Effect, at: AtFlow) -> str:
    if abs(at.relative) <= SMALLEST:
        return f"is right at {at.name} flow"
    return f"{_said(effect.measure, at.relative)} at {at.name} flow, {_size(at.error)}"


def _said(measure: str, relative: float) -> str:
    if measure == LOST:
        return f"loses {print_plainly(-100 * relative)} % of the flow"
    if relative < -1 - SMALLEST:
        return f"reads backwards, by {print_plainly(-1 - relative)} of the flow"
    if relative < -1 + SMALLEST:
        return "reads nothing"
    if relative > 1 or relative < -HALF:
        times = "times" if relative > 1 else "of"
        return f"reads {print_plainly(1 + relative)} {times} the flow"
    side = "high" if relative > 0 else "low"
    return f"reads {print_plainly(abs(100 * relative))} % {side}"


def _size(amount: Amount) -> str:
    side = "much" if amount.value > 0 else "little"
    return f"{print_plainly(abs(amount.value))} {amount.unit} too {side}"


def rounded(value: float) -> float:
    """Round a number of any unit to 12 significant digits.

    Below that is arithmetic, not flow, and platforms differ in their last bits.

    >>> rounded(0.1 + 0.2)
    0.3
    """
    return float(f"{value:.12g}")
