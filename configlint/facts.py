"""What rules know of a meter: every declared path with its value in SI.

The paths, kinds and meanings are read off the models, so that there is no second
list to keep. A meter's facts are a copy of a template with what the meter gives
written over it.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Protocol, cast

from configlint.fields import (
    Choice,
    Day,
    Measured,
    Model,
    Number,
    Scalar,
    Truth,
    is_mapping,
    may_be_unused,
    model_in,
    scalar_in,
)
from configlint.gathering import SECONDS_PER_DAY, Gathering, Value, gather
from configlint.kinds import UNREADABLE, Input, Kind, Sort
from configlint.meters import PRINCIPLES, Meter
from configlint.type_sheets import TypeSheet
from configlint.units import NONE, Quantity, dimension_named, unit_named

__all__ = [
    "Facts",
    "SheetFacts",
    "SiteFacts",
    "declared_inputs",
    "facts",
    "mark_unreadable",
    "sheet_facts",
]

BORE = "sensor.bore"
DENSITY = "process.density"
UPPER_RANGE_VALUE = "current_output.upper_range_value"


class SiteFacts(Protocol):
    """What rules may know of the site that a meter belongs to."""

    @property
    def name(self) -> str:
        """The site's name."""

    @property
    def mains_frequency(self) -> Quantity | None:
        """The frequency of its mains."""

    @property
    def unit_convention(self) -> str | None:
        """The system of units it keeps to: SI, US or imperial."""

    @property
    def hours_per_year(self) -> Quantity | None:
        """How many hours of a year its flows run."""


@dataclass(slots=True)
class Facts:
    """The inputs of a meter by path.

    `values` holds every declared path: SI amounts, days in seconds since the day
    before 1 January of year 1, texts, truths, and for a section that may be not
    used whether it is; a missing amount or day is NaN, any other missing value None.
    `written` holds what the file says of the given ones. `causes` names, for an
    amount that is written but can't be turned into a volume or volume flow, the path
    that would be needed. `unreadable` names what is written and faulty.
    """

    values: dict[str, Value]
    written: dict[str, Quantity | str]
    causes: dict[str, str] = field(default_factory=dict)
    unreadable: set[str] = field(default_factory=set)


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
    Input("notation.unit_systems", Sort.TEXTS, "Systems of units that are used"),
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
        elif mark is not None and not is_mapping(given):
            choices = mark.choices if isinstance(mark, Choice) else ()
            yield Input(path, _kind_of(mark), means, _unit_of(mark), choices)


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


@cache
def _template() -> dict[str, Value]:
    """The facts of a meter that says nothing."""
    values: dict[str, Value] = {}
    for path, each in declared_inputs().items():
        if each.kind in (Sort.PATHS, Sort.TEXTS):
            values[path] = ()
        elif isinstance(each.kind, Sort) and each.kind is not Sort.DAY:
            values[path] = None
        else:
            values[path] = math.nan
    return values


@dataclass(frozen=True, slots=True)
class SheetFacts:
    """The facts of a type sheet, gathered once for all the meters of the type."""

    values: Mapping[str, Value]
    written: Mapping[str, Quantity | str]
    converted: tuple[tuple[str, Quantity], ...]


def sheet_facts(type_sheet: TypeSheet) -> SheetFacts:
    """Give the facts of a type sheet.

    What it is written in says nothing of how a meter is written, so its units
    are not noted.
    """
    gathering = Gathering({})
    gather(gathering, type_sheet, "type_sheet.")
    return SheetFacts(gathering.values, gathering.written, tuple(gathering.converted))


def facts(
    meter: Meter,
    site: SiteFacts | None = None,
    sheet: SheetFacts | None = None,
    run_date: datetime.date | None = None,
) -> Facts:
    """Give the facts of a meter, of its site and of its device's type.

    A velocity becomes a flow by the sensor's bore, a mass by the density of the
    fluid, a ratio by the upper range value.
    """
    gathering = Gathering(_template().copy())
    gather(gathering, meter)
    _note(gathering, site)
    if sheet is not None:
        gathering.values |= sheet.values
        gathering.written |= sheet.written
        gathering.converted += sheet.converted
    if site is not None:
        _take_site(gathering, site)
    if run_date is not None:
        gathering.values[RUN_DATE] = run_date.toordinal() * SECONDS_PER_DAY
        gathering.written[RUN_DATE] = run_date.isoformat()
    causes = _convert(gathering) if gathering.converted else {}
    return Facts(gathering.values, gathering.written, causes)


def mark_unreadable(found: Facts, paths: Iterable[str]) -> None:
    """Mark values that are written but faulty: whether they are given is open.

    A path that leads to a section marks all that would stand in it. Of a truth,
    and of whether a section is used, nothing can be said, as if it were missing.
    """
    for path in paths:
        for name, each in declared_inputs().items():
            inside = name == path or name.startswith(f"{path}.")
            if inside and name not in found.written:
                found.unreadable.add(name)
                either_or = each.kind in (Sort.TRUTH, Sort.SECTION)
                found.values[name] = None if either_or else UNREADABLE


def _take_site(gathering: Gathering, site: SiteFacts) -> None:
    values, written = gathering.values, gathering.written
    values["site.name"] = written["site.name"] = site.name
    if site.mains_frequency is not None:
        values["site.mains_frequency"] = site.mains_frequency.si
        written["site.mains_frequency"] = site.mains_frequency
    if site.unit_convention is not None:
        values["site.unit_convention"] = site.unit_convention
        written["site.unit_convention"] = site.unit_convention
    if site.hours_per_year is not None:
        values["site.hours_per_year"] = site.hours_per_year.si
        written["site.hours_per_year"] = site.hours_per_year


def _note(gathering: Gathering, site: SiteFacts | None) -> None:
    values = gathering.values
    convention = site.unit_convention if site is not None else None
    systems, opened = _notation(frozenset(gathering.spellings), convention)
    values["notation.unit_systems"] = systems
    values["notation.mass_values"] = tuple(gathering.masses)
    values["notation.velocity_values"] = tuple(gathering.velocities)
    for name, thing in (("open_gallons", "gallon"), ("open_barrels", "barrel")):
        those = opened.get(thing)
        paths = _paths_in(gathering, those) if those else ()
        values[f"notation.{name}"] = paths


def _paths_in(gathering: Gathering, spellings: frozenset[str]) -> tuple[str, ...]:
    """Give the paths of the values in certain units, and of those units themselves."""
    spelled = gathering.units | {
        path: each.unit.spelling
        for path, each in gathering.written.items()
        if isinstance(each, Quantity)
    }
    return tuple(path for path, each in spelled.items() if each in spellings)


@lru_cache(maxsize=1024)
def _notation(
    spellings: frozenset[str], convention: str | None
) -> tuple[tuple[str, ...], Mapping[str, frozenset[str]]]:
    """The systems in use, and the spellings that leave a gallon or barrel open.

    An inch is taken as of the system that is used anyway.
    """
    units = [unit_named(spelling) for spelling in spellings if spelling]
    systems = {unit.system for unit in units if not unit.shared} - {"any"}
    if any(unit.shared for unit in units) and systems.isdisjoint(("US", "imperial")):
        systems.add("imperial" if convention == "imperial" else "US")
    opened: dict[str, frozenset[str]] = {}
    for unit in units:
        thing = unit.open.partition(" ")[0]
        if thing:
            opened[thing] = opened.get(thing, frozenset()) | {unit.spelling}
    return tuple(sorted(systems)), opened


def _convert(gathering: Gathering) -> dict[str, str]:
    """Turn amounts into volumes and volume flows; name what is missing for it."""
    values = gathering.values
    causes: dict[str, str] = {}
    # A cut-off that is a ratio comes last, since the range may need turning first.
    for path, amount in sorted(gathering.converted, key=_is_ratio):
        needed = _NEEDED[amount.unit.kind]
        value = _volume(amount, cast(float, values[needed]))
        if math.isnan(value):
            causes[path] = causes.get(needed, needed)
        values[path] = value
    return causes


_NEEDED = {
    "velocity": BORE,
    "mass flow": DENSITY,
    "mass": DENSITY,
    "ratio": UPPER_RANGE_VALUE,
}


def _is_ratio(converted: tuple[str, Quantity]) -> bool:
    return converted[1].unit.kind == "ratio"


def _volume(amount: Quantity, needed: float) -> float:
    """Turn an amount into m3 or m3/s by a bore in m, a density in kg/m3, a flow."""
    kind = amount.unit.kind
    if amount.si == 0:
        return 0.0  # Nothing is nothing, whatever the bore or the density.
    if kind == "velocity":
        return amount.si * math.pi / 4 * needed * needed
    return amount.si * needed if kind == "ratio" else amount.si / needed
