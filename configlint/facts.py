"""What rules know of a meter: every declared path with its value in SI.

A meter's facts are a copy of a template with what the meter gives written over it.
"""

from __future__ import annotations

import datetime
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Protocol, cast

from configlint.gathering import SECONDS_PER_DAY, Gathering, Value, gather
from configlint.inputs import RUN_DATE, declared_inputs, missing_value
from configlint.kinds import UNREADABLE, Input, Sort
from configlint.meters import Meter
from configlint.type_sheets import TypeSheet
from configlint.units import Quantity, unit_named

__all__ = [
    "NEEDED",
    "Facts",
    "SheetFacts",
    "SiteFacts",
    "facts",
    "mark_unreadable",
    "put",
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
    `converted` holds what is written as mass, velocity or ratio and judged as volume.
    `own` are the inputs of the site's own that the rules declare.
    """

    values: dict[str, Value]
    written: dict[str, Quantity | str]
    causes: dict[str, str] = field(default_factory=dict)
    unreadable: set[str] = field(default_factory=set)
    converted: dict[str, Quantity] = field(default_factory=dict)
    own: Mapping[str, Input] = field(default_factory=dict)

    def copy(self) -> Facts:
        """Give facts of their own with the same values, to be written over."""
        return Facts(
            self.values.copy(),
            self.written.copy(),
            self.causes,
            self.unreadable.copy(),
            self.converted.copy(),
            self.own,
        )


@cache
def _template() -> dict[str, Value]:
    """The facts of a meter that says nothing."""
    return {path: missing_value(each.kind) for path, each in declared_inputs().items()}


NOTHING_OWN: Mapping[str, Input] = MappingProxyType({})


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
    own: Mapping[str, Input] = NOTHING_OWN,
) -> Facts:
    """Give the facts of a meter, of its site and of its device's type.

    A velocity becomes a flow by the sensor's bore, a mass by the density of the
    fluid, a ratio by the upper range value. `own` are the inputs of the site's own
    that rules declare, by path; each is then there, be it only as missing.
    """
    gathering = Gathering(_template().copy())
    for path, each in own.items():
        gathering.values[path] = missing_value(each.kind)
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
    converted = dict(gathering.converted)
    found = Facts(gathering.values, gathering.written, converted=converted, own=own)
    if converted:
        _convert(found)
    return found


_TRUTHS = {True: "true", False: "false"}


def put(found: Facts, path: str, value: Quantity | str | bool) -> None:
    """Write another value over a meter's facts, as if its file held it.

    What is written as mass, velocity or ratio is converted again by the values that
    now stand. What the facts say of the notation stays as it was.

    >>> from configlint.units import parse_quantity
    >>> found = Facts({}, {}, converted={"a": parse_quantity("1 m/s")})
    >>> put(found, "sensor.bore", parse_quantity("2 m"))
    >>> found.values["a"] == math.pi
    True
    """
    found.unreadable.discard(path)
    found.converted.pop(path, None)
    if isinstance(value, Quantity):
        found.values[path], found.written[path] = value.si, value
        if value.unit.dimension != _known_to(found)[path].kind:
            found.converted[path] = value
    else:
        found.values[path] = value
        found.written[path] = _TRUTHS[value] if isinstance(value, bool) else value
    if found.converted:
        _convert(found)


def mark_unreadable(found: Facts, paths: Iterable[str]) -> None:
    """Mark values that are written but faulty: whether they are given is open.

    A path that leads to a section marks all that would stand in it. Of a truth,
    and of whether a section is used, nothing can be said, as if it were missing.
    """
    for path in paths:
        for name, each in _known_to(found).items():
            inside = name == path or name.startswith(f"{path}.")
            if inside and name not in found.written:
                found.unreadable.add(name)
                either_or = each.kind in (Sort.TRUTH, Sort.SECTION)
                found.values[name] = None if either_or else UNREADABLE


def _known_to(found: Facts) -> Mapping[str, Input]:
    """The inputs that a meter's facts hold, given or not."""
    return {**declared_inputs(), **found.own} if found.own else declared_inputs()


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
    units, systems, opened = _notation(frozenset(gathering.spellings), convention)
    values["notation.units"] = units
    values["notation.unit_systems"] = systems
    values["notation.mass_values"] = tuple(gathering.masses)
    values["notation.velocity_values"] = tuple(gathering.velocities)
    values["notation.foreign_values"] = _foreign(gathering, systems, convention)
    for name, thing in (("open_gallons", "gallon"), ("open_barrels", "barrel")):
        those = opened.get(thing)
        paths = _paths_in(gathering, those) if those else ()
        values[f"notation.{name}"] = paths


def _paths_in(gathering: Gathering, spellings: frozenset[str]) -> tuple[str, ...]:
    """Give the paths of the values in certain units, and of those units themselves."""
    spelled = _spelled(gathering).items()
    return tuple(path for path, each in spelled if each in spellings)


def _spelled(gathering: Gathering) -> dict[str, str]:
    """The unit of every value that has one or is one, by path."""
    return gathering.units | {
        path: each.unit.spelling
        for path, each in gathering.written.items()
        if isinstance(each, Quantity)
    }


def _foreign(
    gathering: Gathering, systems: tuple[str, ...], convention: str | None
) -> tuple[str, ...]:
    """Give the paths of the values in other systems than the one that is kept to.

    That is the site's; where it keeps to none, the one that most values are in.
    """
    if len(systems) < 2 and convention in (None, *systems):
        return ()
    units = {
        path: unit_named(spelling)
        for path, spelling in _spelled(gathering).items()
        if spelling
    }
    used = Counter(name for unit in units.values() for name in unit.systems)
    kept = convention or max(systems, key=lambda system: used[system])
    return tuple(path for path, unit in units.items() if kept not in unit.systems)


@lru_cache(maxsize=1024)
def _notation(
    spellings: frozenset[str], convention: str | None
) -> tuple[tuple[str, ...], tuple[str, ...], Mapping[str, frozenset[str]]]:
    """The units and systems in use, and those that leave a gallon or barrel open.

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
    named = tuple(sorted(unit.spelling for unit in units))
    return named, tuple(sorted(systems)), opened


def _convert(found: Facts) -> None:
    """Turn amounts into volumes and volume flows; note what is missing for it."""
    values = found.values
    causes: dict[str, str] = {}
    # A cut-off that is a ratio comes last, since the range may need turning first.
    for path, amount in sorted(found.converted.items(), key=_is_ratio):
        needed = NEEDED[amount.unit.kind]
        value = _volume(amount, cast(float, values.get(needed, math.nan)))
        if math.isnan(value):
            causes[path] = causes.get(needed, needed)
        values[path] = value
    found.causes = causes


NEEDED: Mapping[str, str] = {
    "velocity": BORE,
    "mass flow": DENSITY,
    "mass": DENSITY,
    "ratio": UPPER_RANGE_VALUE,
}
"""What an amount that is no volume is converted by, by its kind of unit."""


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
