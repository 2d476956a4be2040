"""How the values of a model become facts: each field by a step, planned once."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, NamedTuple

from pydantic.fields import FieldInfo

from configlint.fields import (
    NOT_USED,
    Day,
    Measured,
    Model,
    NotUsed,
    Number,
    Truth,
    UnitSpelling,
    is_list,
    is_mapping,
    may_be_unused,
    model_in,
    scalar_in,
)
from configlint.units import Quantity, unit_named

__all__ = ["SECONDS_PER_DAY", "Gathering", "Value", "gather"]

Value = float | str | bool | tuple[str, ...] | None

SECONDS_PER_DAY = 86_400.0
MASSES = ("mass flow", "mass")
VOLUMES = ("volume flow", "volume")


class _Step(NamedTuple):
    """What to do with a field: how to take its value, or None for a plain amount."""

    path: str
    take: Callable[[Gathering, _Step, Any], None] | None
    plan: Mapping[str, _Step]


@dataclass(slots=True)
class Gathering:
    """The facts of a meter while its fields are gone through.

    `spellings` are those of all its units; `units` are the ones that are values by
    themselves, by path. `converted` has still to be turned into volumes.
    """

    values: dict[str, Value]
    written: dict[str, Quantity | str] = field(default_factory=dict)
    spellings: set[str] = field(default_factory=set)
    units: dict[str, str] = field(default_factory=dict)
    masses: list[str] = field(default_factory=list)
    velocities: list[str] = field(default_factory=list)
    converted: list[tuple[str, Quantity]] = field(default_factory=list)


def gather(gathering: Gathering, model: Model, prefix: str = "") -> None:
    """Write the facts of a model over what was gathered, each path with a prefix."""
    _take_section(gathering, _plan(type(model), prefix), model)


def _take_section(
    gathering: Gathering, plan: Mapping[str, _Step], section: Model
) -> None:
    values, written = gathering.values, gathering.written
    note = gathering.spellings.add
    for name, value in section.__dict__.items():
        if value is None:
            continue
        step = plan[name]
        path, take, _ = step
        if take is not None:
            take(gathering, step, value)
            continue
        values[path] = value.si
        written[path] = value
        note(value.unit.spelling)


def _take_inner(gathering: Gathering, step: _Step, section: Model) -> None:
    _take_section(gathering, step.plan, section)


def _take_usable(gathering: Gathering, step: _Step, section: Model | NotUsed) -> None:
    gathering.values[step.path] = section != NOT_USED
    if isinstance(section, Model):
        _take_section(gathering, step.plan, section)
    else:
        gathering.written[step.path] = section


def _take_convertible(gathering: Gathering, step: _Step, amount: Quantity) -> None:
    """Take an amount that may be written as mass, velocity or ratio."""
    path, kind = step.path, amount.unit.kind
    gathering.written[path] = amount
    gathering.spellings.add(amount.unit.spelling)
    if kind in VOLUMES:
        gathering.values[path] = amount.si
        return
    gathering.converted.append((path, amount))
    if kind == "velocity":
        gathering.velocities.append(path)
    elif kind in MASSES:
        gathering.masses.append(path)


def _take_text(gathering: Gathering, step: _Step, text: str) -> None:
    gathering.values[step.path] = gathering.written[step.path] = text


def _take_unit(gathering: Gathering, step: _Step, spelling: str) -> None:
    _take_text(gathering, step, spelling)
    gathering.spellings.add(spelling)
    gathering.units[step.path] = spelling
    if unit_named(spelling).kind in MASSES:
        gathering.masses.append(step.path)


def _take_truth(gathering: Gathering, step: _Step, truth: bool) -> None:
    gathering.values[step.path] = truth
    gathering.written[step.path] = "true" if truth else "false"


def _take_day(gathering: Gathering, step: _Step, day: datetime.date) -> None:
    gathering.values[step.path] = day.toordinal() * SECONDS_PER_DAY
    gathering.written[step.path] = day.isoformat()


def _take_list(gathering: Gathering, step: _Step, amounts: Iterable[Quantity]) -> None:
    """Take amounts in a row as texts."""
    gathering.values[step.path] = tuple(each.text for each in amounts)


def _take_mapping(
    gathering: Gathering,
    step: _Step,
    mapping: Mapping[str, Quantity | str | bool | datetime.date | None],
) -> None:
    for name, value in mapping.items():
        inner = _Step(f"{step.path}.{name}", None, {})
        if isinstance(value, Quantity):
            gathering.values[inner.path] = value.si
            gathering.written[inner.path] = value
            gathering.spellings.add(value.unit.spelling)
        elif isinstance(value, bool):
            _take_truth(gathering, inner, value)
        elif isinstance(value, datetime.date):
            _take_day(gathering, inner, value)
        elif value is not None:
            _take_text(gathering, inner, value)


@cache
def _plan(model: type[Model], prefix: str) -> Mapping[str, _Step]:
    fields = model.model_fields.items()
    return {name: _step(given, prefix + name) for name, given in fields}


def _step(given: FieldInfo, path: str) -> _Step:
    section, mark = model_in(given.annotation), scalar_in(given)
    if section is not None:
        take = _take_usable if may_be_unused(given) else _take_inner
        return _Step(path, take, _plan(section, f"{path}."))
    if is_mapping(given):
        return _Step(path, _take_mapping, {})
    if is_list(given):
        return _Step(path, _take_list, {})
    if isinstance(mark, Measured) and len(mark.kinds) > 1:
        return _Step(path, _take_convertible, {})
    if isinstance(mark, Measured | Number):
        return _Step(path, None, {})
    takers = ((Truth, _take_truth), (Day, _take_day), (UnitSpelling, _take_unit))
    found = (taker for kind, taker in takers if isinstance(mark, kind))
    return _Step(path, next(found, _take_text), {})
