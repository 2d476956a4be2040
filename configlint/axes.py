"""Which settings of a meter can be varied, in which unit, and from where to search."""

from __future__ import annotations

import math
from collections.abc import Iterator

from configlint.amounts import Count, Measured, Number
from configlint.candidates import domain_of, written
from configlint.conventions import convention_of, counterpart
from configlint.facts import Facts, put
from configlint.kinds import Sort
from configlint.rule_files import BasisModel
from configlint.rules import Preferred, RuleBook, Setting
from configlint.scalars import Scalar
from configlint.settings import SITE_DATA, paths_of
from configlint.sweep import Axis, Follower
from configlint.units import DIMENSIONLESS, Quantity, Unit, from_si, unit_named
from configlint.variation import Fixed, Free

__all__ = [
    "amount_at",
    "axis_of",
    "is_amount",
    "is_in_use",
    "number_of",
    "offered_texts",
    "setting_of",
    "starts_of",
]

OFFERS = "type_sheet.offers."
"""Where the lists of what a type offers stand among the facts of a meter."""

UNSAID = BasisModel(practice="No rule file says where it is set")


def setting_of(book: RuleBook, path: str) -> Setting:
    """Give what is declared of a setting; an undeclared one is a person's to state."""
    undeclared = Setting(path, "", False, "", Preferred(), UNSAID)
    return book.settings.get(path, undeclared)


def is_amount(mark: Scalar | None) -> bool:
    """Whether what a text can be is an amount that goes without steps.

    >>> is_amount(Measured("length")), is_amount(Count(1, most=20))
    (True, False)
    """
    return isinstance(mark, Measured | Number) and not isinstance(mark, Count)


def is_in_use(book: RuleBook, found: Facts, path: str) -> bool:
    """Whether a meter has a value: its principle knows it, its sections are in use."""
    steps = path.split(".")
    above = (".".join(steps[:length]) for length in range(1, len(steps)))
    inputs = book.inputs
    known = steps[0] == SITE_DATA or path in paths_of(str(found.values["principle"]))
    return known and all(
        found.values[section] is True
        for section in above
        if section in inputs and inputs[section].kind is Sort.SECTION
    )


def amount_at(found: Facts, path: str) -> Quantity | None:
    """Give the amount that a meter's file states for a setting, in the file's unit.

    >>> amount_at(Facts({}, {"sensor.bore": written(80.0, unit_named("mm"))}), "meter")
    >>> bore = written(80.0, unit_named("mm"))
    >>> amount_at(Facts({}, {"sensor.bore": bore}), "sensor.bore").text
    '80 mm'
    """
    written = found.written.get(path)
    return written if isinstance(written, Quantity) else None


def offered_texts(found: Facts, path: str) -> tuple[str, ...]:
    """Give the amounts that the device's type offers for a setting, as it lists them.

    There are none where the type sheet has no list of them.

    >>> listed = {"type_sheet.offers.transmitter.damping": ("1 s", "3 s")}
    >>> offered_texts(Facts(listed, {}), "transmitter.damping")
    ('1 s', '3 s')
    """
    texts = found.values.get(OFFERS + path)
    return texts if isinstance(texts, tuple) else ()


def axis_of(
    free: Free, path: str, along: tuple[str, ...] = (), fixed: Fixed | None = None
) -> Axis:
    """Give the numbers of an amount, in the unit that the file uses or would use.

    Those `along` are then the same amount; others are fixed at values of their own.
    """
    unit = _unit_of(free, path)
    return Axis(
        variation=free.vary([path, *along], fixed),
        path=path,
        unit=unit,
        factor=_factor(free, path, unit),
        domain=domain_of(free.mark(path), unit),
        along=tuple(_follower(free, other) for other in along),
    )


def _follower(free: Free, path: str) -> Follower:
    unit = _unit_of(free, path)
    return Follower(path, unit, _factor(free, path, unit))


def _unit_of(free: Free, path: str) -> Unit:
    present = amount_at(free.facts, path)
    if present is not None:
        return present.unit
    spelling = free.book.inputs[path].unit
    if not spelling:
        return DIMENSIONLESS
    other = counterpart(spelling, convention_of(free.facts.values))
    return unit_named(other or spelling)


def _factor(free: Free, path: str, unit: Unit) -> float:
    """The SI amount that rules compute with for one of a setting's unit.

    A setting may be written as another kind of amount and be converted, such as a
    range as a velocity, by what else the file states.
    """
    facts = free.facts.copy()
    put(facts, path, written(1.0, unit))
    value = facts.values[path]
    if isinstance(value, float) and math.isfinite(value) and value:
        return value
    return float(unit.factor)


def starts_of(free: Free, axis: Axis) -> Iterator[float]:
    """Give numbers to search around: other amounts of the kind, and limits of rules.

    They stand in front of the setting's unit. Constants in formulas count as limits.
    The present number comes first, where there is one.

    >>> from configlint.data import data_folder
    >>> from configlint.dependence import Dependence
    >>> from configlint.engine import Judge
    >>> from configlint.facts import facts
    >>> from configlint.meters import Meter
    >>> from configlint.rule_book import load_rule_book
    >>> book = load_rule_book(data_folder("rules"))
    >>> bare = facts(Meter(meter="FT-1", principle="electromagnetic"))
    >>> free = Free(Dependence(book), Judge(book), bare).derived()
    >>> 5.0 in starts_of(free, axis_of(free, "transmitter.damping"))
    True
    """
    present = amount_at(free.facts, axis.path)
    if present is not None:
        yield float(present.number)
    inputs = free.book.inputs
    kind = inputs[axis.path].kind
    for path, given in inputs.items():
        if given.kind == kind:
            yield from number_of(axis, free.facts.values.get(path))
    for rule in axis.variation.rules:
        for name, value in axis.variation.limits[rule.id].items():
            if rule.limits[name].kind == kind:
                yield from number_of(axis, value)
    for constant in axis.variation.sway.constants:
        unit = unit_named(constant.unit) if constant.unit else DIMENSIONLESS
        if unit.dimension == kind:
            yield from number_of(axis, constant.value)


def number_of(axis: Axis, value: object) -> Iterator[float]:
    """Give an SI amount of the setting's kind as a number of its unit, if it is one.

    >>> domain = domain_of(Measured("length"), unit_named("mm"))
    >>> axis = Axis(None, "sensor.bore", unit_named("mm"), 0.001, domain)
    >>> list(number_of(axis, 0.08)), list(number_of(axis, "a text"))
    ([80.0], [])
    """
    if isinstance(value, float) and value == value:
        unit = axis.unit
        number = from_si(value, unit) if unit.offset else value / axis.factor
        yield float(f"{number:.12g}")
