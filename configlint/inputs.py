"""Every path that rules may name, with the kind and the meaning of its value.

The paths, kinds and meanings are read off the models, so that there is no second
list to keep.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType

from configlint.fields import (
    Choice,
    Day,
    Measured,
    Model,
    Number,
    Scalar,
    Truth,
    is_list,
    is_mapping,
    may_be_unused,
    model_in,
    scalar_in,
)
from configlint.gathering import Value
from configlint.kinds import Input, Kind, Sort
from configlint.meters import PRINCIPLES
from configlint.type_sheets import TypeSheet
from configlint.units import NONE, dimension_named

__all__ = ["RUN_DATE", "declared_inputs", "input_of", "missing_value"]

SITE_INPUTS = (
    Input("site.name", Sort.TEXT, "Name of the site"),
    Input(
        "site.mains_frequency",
        dimension_named("frequency"),
        "Frequency of the site's mains",
        "Hz",
    ),
    Input(
        "site.unit_convention",
        Sort.TEXT,
        "System of units that the site keeps to",
        choices=("SI", "US", "imperial"),
    ),
    Input("site.hours_per_year", NONE, "Hours of flow in a year at the site"),
)

RUN_DATE = "run.date"
RUN_INPUTS = (Input(RUN_DATE, Sort.DAY, "Day as of which the run judges dates"),)

NOTATION_INPUTS = (
    Input(
        "notation.open_gallons",
        Sort.PATHS,
        "Values in gallons of which kind is not said",
    ),
    Input(
        "notation.open_barrels",
        Sort.PATHS,
        "Values in barrels of which kind is not said",
    ),
    Input("notation.mass_values", Sort.PATHS, "Flows and totals written as mass"),
    Input("notation.velocity_values", Sort.PATHS, "Flows written as velocity"),
    Input(
        "notation.foreign_values",
        Sort.PATHS,
        "Values in another system of units than the site's, or than most of them",
    ),
    Input("notation.unit_systems", Sort.TEXTS, "Systems of units that are used"),
    Input("notation.units", Sort.TEXTS, "Units that are written"),
)


@cache
def declared_inputs() -> Mapping[str, Input]:
    """Every path that a formula may name, by the path, with kind and meaning.

    >>> declared_inputs()["sensor.bore"].means
    'Inside diameter of the sensor'
    """
    found: dict[str, Input] = {}
    for model in PRINCIPLES.values():
        found |= {each.path: each for each in _inputs(model, "")}
    found |= {each.path: each for each in _inputs(TypeSheet, "type_sheet.")}
    found |= {each.path: each for each in (*SITE_INPUTS, *RUN_INPUTS, *NOTATION_INPUTS)}
    return MappingProxyType(found)


def _inputs(model: type[Model], prefix: str) -> Iterator[Input]:
    for name, given in model.model_fields.items():
        path, means = prefix + name, given.title or name
        section, mark = model_in(given.annotation), scalar_in(given)
        if section is not None:
            if may_be_unused(given):
                yield Input(path, Sort.SECTION, means)
            yield from _inputs(section, f"{path}.")
        elif is_list(given):
            yield Input(path, Sort.TEXTS, means)
        elif mark is not None and not is_mapping(given):
            yield input_of(path, mark, means)


def input_of(path: str, mark: Scalar, means: str) -> Input:
    """Give the input that a mark reads at a path.

    >>> input_of("site_data.stock", Measured("volume", unit="l"), "Stock").unit
    'l'
    """
    choices = mark.choices if isinstance(mark, Choice) else ()
    return Input(path, _kind_of(mark), means, _unit_of(mark), choices)


def _kind_of(mark: Scalar) -> Kind:
    """The kind of what a mark reads; of several kinds, the first is declared."""
    if isinstance(mark, Measured):
        return dimension_named(mark.kinds[0])
    if isinstance(mark, Number):
        return NONE
    if isinstance(mark, Truth):
        return Sort.TRUTH
    return Sort.DAY if isinstance(mark, Day) else Sort.TEXT


def _unit_of(mark: Scalar) -> str:
    return mark.unit if isinstance(mark, Measured) else ""


def missing_value(kind: Kind) -> Value:
    """What stands for a value that is not given."""
    if kind in (Sort.PATHS, Sort.TEXTS):
        return ()
    if isinstance(kind, Sort) and kind is not Sort.DAY:
        return None
    return math.nan
