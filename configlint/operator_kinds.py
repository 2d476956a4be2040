"""Which kinds of value each operator of the rule language takes and gives.

A rule here gets the kinds of the operands, gives the kind of the result, and
raises `KindError` where they do not go together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from configlint.errors import ConfiglintError
from configlint.kinds import Kind, Sort, kind_name
from configlint.units import NONE, Dimension, dimension_named

__all__ = [
    "KindError",
    "kind_of_agreement",
    "kind_of_choice",
    "kind_of_difference",
    "kind_of_equality",
    "kind_of_figure",
    "kind_of_number",
    "kind_of_one_amount",
    "kind_of_order",
    "kind_of_product",
    "kind_of_question",
    "kind_of_quotient",
    "kind_of_root",
    "kind_of_slip",
    "kind_of_sum",
    "kind_of_truths",
    "kind_of_unit",
    "power_kind",
    "takes",
]

DAYS_APART = dimension_named("time")


class KindError(ConfiglintError):
    """Operands of kinds that do not go together."""

    def __init__(self, problem: str, advice: str) -> None:
        super().__init__(problem, advice)
        self.problem = problem
        self.advice = advice


def _amounts(kinds: Sequence[Kind]) -> list[Dimension]:
    for kind in kinds:
        if not isinstance(kind, Dimension):
            raise KindError(
                f"this takes amounts, not {kind_name(kind)}",
                "Use a value that has a number and a unit.",
            )
    return [kind for kind in kinds if isinstance(kind, Dimension)]


def _alike(kinds: Sequence[Kind]) -> Kind:
    first, *others = kinds
    for other in others:
        if other != first:
            raise KindError(
                f"{kind_name(first)} and {kind_name(other)} do not go together",
                "Both sides must be of one kind.",
            )
    return first


def kind_of_one_amount(kinds: Sequence[Kind]) -> Kind:
    """Amounts of one kind give that kind."""
    _amounts(kinds)
    return _alike(kinds)


def kind_of_sum(kinds: Sequence[Kind]) -> Kind:
    """A sum is of amounts of one kind."""
    return kind_of_one_amount(kinds)


def kind_of_difference(kinds: Sequence[Kind]) -> Kind:
    """A difference of dates is a time, of amounts an amount of their kind."""
    if list(kinds) == [Sort.DAY, Sort.DAY]:
        return DAYS_APART
    return kind_of_one_amount(kinds)


def kind_of_product(kinds: Sequence[Kind]) -> Kind:
    """A product has the dimensions multiplied."""
    left, right = _amounts(kinds)
    return left * right


def kind_of_quotient(kinds: Sequence[Kind]) -> Kind:
    """A quotient has the dimensions divided."""
    left, right = _amounts(kinds)
    return left / right


def power_kind(base: Kind, exponent: Fraction) -> Kind:
    """Give the kind of `base ** exponent` for a constant exponent.

    Raises `KindError` when the base is no amount.

    >>> power_kind(dimension_named("area"), Fraction(1, 2)) == dimension_named("length")
    True
    """
    (dimension,) = _amounts([base])
    return dimension**exponent


def kind_of_root(kinds: Sequence[Kind]) -> Kind:
    """A square root halves the dimension."""
    return power_kind(kinds[0], Fraction(1, 2))


def kind_of_number(kinds: Sequence[Kind]) -> Kind:
    """Plain numbers give a plain number."""
    for kind in _amounts(kinds):
        if kind != NONE:
            raise KindError(
                f"this takes a plain number, not {kind_name(kind)}",
                "Divide by an amount of the same kind first.",
            )
    return NONE


def kind_of_order(kinds: Sequence[Kind]) -> Kind:
    """Amounts or dates of one kind can be ordered."""
    if _alike(kinds) is not Sort.DAY:
        _amounts(kinds)
    return Sort.TRUTH


def kind_of_equality(kinds: Sequence[Kind]) -> Kind:
    """Values of one kind can be equal, but for sections and lists."""
    kind = _alike(kinds)
    if kind in (Sort.SECTION, Sort.PATHS, Sort.TEXTS):
        raise KindError(
            f"{kind_name(kind)} can't be compared",
            "Ask `used(…)` of a section, `count(…)` of a list.",
        )
    return Sort.TRUTH


def takes(*expected: Kind, gives: Kind) -> Callable[[Sequence[Kind]], Kind]:
    """Make the rule of an operator that takes just these kinds."""

    def rule(kinds: Sequence[Kind]) -> Kind:
        for kind, wanted in zip(kinds, expected, strict=True):
            if kind != wanted:
                raise KindError(
                    f"this takes {kind_name(wanted)}, not {kind_name(kind)}",
                    "See the table of functions in the guide for rule authors.",
                )
        return gives

    return rule


def kind_of_truths(kinds: Sequence[Kind]) -> Kind:
    """Truths give a truth."""
    return takes(*[Sort.TRUTH] * len(kinds), gives=Sort.TRUTH)(kinds)


def kind_of_choice(kinds: Sequence[Kind]) -> Kind:
    """A choice has a truth, and two values of one kind."""
    condition, chosen, other = kinds
    kind_of_truths([condition])
    return _alike([chosen, other])


def kind_of_question(kinds: Sequence[Kind]) -> Kind:
    """Of any value it can be asked whether it is there."""
    return Sort.TRUTH


def kind_of_agreement(kinds: Sequence[Kind]) -> Kind:
    """Two figures, or two texts, can agree."""
    if _alike(kinds) is not Sort.TEXT:
        _amounts(kinds)
    return Sort.TRUTH


def kind_of_figure(kinds: Sequence[Kind]) -> Kind:
    """An amount's figure is a plain number."""
    _amounts(kinds)
    return NONE


def kind_of_unit(kinds: Sequence[Kind]) -> Kind:
    """An amount's unit is a text."""
    _amounts(kinds)
    return Sort.TEXT


def kind_of_slip(kinds: Sequence[Kind]) -> Kind:
    """Between two figures, or two texts, a slip is a text."""
    kind_of_agreement(kinds)
    return Sort.TEXT
