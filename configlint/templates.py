"""Finding texts with values filled in: `{path}`, `{path [unit]}`, `{path [unit] .2f}`.

Without a unit an input is shown as the file writes it and a quantity in the unit
it declares; a limit is always shown as the rule or the policy writes it. A figure in an
SI unit is shown to a US site in its own units too. A part in
double square brackets is left out where one of its values is not there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from configlint.compiler import Scope, Values, offer_names
from configlint.conventions import convention_of, counterpart
from configlint.errors import ConfiglintError
from configlint.kinds import Kind, Sort, kind_name
from configlint.operators import is_missing
from configlint.units import (
    Quantity,
    QuantityError,
    dimension_name,
    from_si,
    parse_quantity,
    unit_named,
)

__all__ = [
    "LISTED",
    "Slot",
    "Template",
    "TemplateError",
    "listed",
    "make_template",
    "show_amount",
]

LISTED = 3
"""How many names of a longer list a text gives before it counts the rest."""

SLOT = re.compile(
    r"\{\s*(?P<path>[A-Za-z_][\w.]*)\s*"
    r"(?:\[(?P<unit>[^\]{}]*)\])?\s*"
    r"(?P<form>\+?\.\d{1,2}[fg])?\s*\}"
)
OPTIONAL = re.compile(r"\[\[(.*?)\]\]", re.DOTALL)
FOUR_FIGURES = ".4g"
THREE_FIGURES = ".3g"
NOT_WRITTEN = "(not written)"


class TemplateError(ConfiglintError):
    """A finding text that names what is not there or shows it in a wrong unit."""

    def __init__(self, slot: str, problem: str, advice: str) -> None:
        super().__init__(slot, problem, advice)
        self.slot = slot
        self.problem = problem
        self.advice = advice


@dataclass(frozen=True, slots=True)
class Slot:
    """One value to fill in: its path, the unit to show it in, the number form."""

    path: str
    unit: str
    form: str
    as_written: bool


Parts = tuple[str | Slot, ...]
"""Constant texts and slots by turns."""


@dataclass(frozen=True, slots=True)
class Template:
    """A text in passages: every other one is left out where a value of it is not there.

    The first passage always stands; it may be empty.
    """

    text: str
    passages: tuple[Parts, ...]

    @property
    def paths(self) -> tuple[str, ...]:
        """The values that the text shows, each once, in order."""
        parts = (part for passage in self.passages for part in passage)
        paths = (part.path for part in parts if isinstance(part, Slot))
        return tuple(dict.fromkeys(paths))

    def fill(self, values: Values, limit_texts: Mapping[str, str]) -> str:
        """Write the text with the values in; one at its end may be empty."""
        system = convention_of(values.values)
        return "".join(
            part if isinstance(part, str) else _show(part, values, limit_texts, system)
            for number, passage in enumerate(self.passages)
            if number % 2 == 0 or _is_whole(passage, values, limit_texts)
            for part in passage
        ).rstrip()


def _is_whole(parts: Parts, values: Values, limit_texts: Mapping[str, str]) -> bool:
    """Whether every value that some parts show is there."""
    paths = (part.path for part in parts if isinstance(part, Slot))
    return not any(
        path not in limit_texts and is_missing(values.values.get(path))
        for path in paths
    )


def make_template(text: str, scope: Scope, units: Mapping[str, str]) -> Template:
    """Read a finding text and check each slot against the scope.

    `units` gives the unit a value is shown in where the slot names none.
    Raises `TemplateError`.

    >>> make_template("The tag is {meter}.", Scope({"meter": Sort.TEXT}), {}).paths
    ('meter',)
    """
    passages = OPTIONAL.split(text)
    for passage in passages:
        if "[[" in passage or "]]" in passage:
            raise TemplateError(
                passage,
                "a double square bracket stands alone",
                "Put a part that may be left out in [[ and ]].",
            )
    return Template(text, tuple(_parts(each, scope, units) for each in passages))


def _parts(text: str, scope: Scope, units: Mapping[str, str]) -> Parts:
    parts: list[str | Slot] = []
    end = 0
    for match in SLOT.finditer(text):
        parts += [text[end : match.start()], _slot(match, scope, units)]
        end = match.end()
    parts.append(text[end:])
    for part in parts:
        if isinstance(part, str) and ("{" in part or "}" in part):
            raise TemplateError(
                part,
                "a brace does not belong to a slot",
                "Write {name}, {name [unit]} or {name [unit] .2f}.",
            )
    return tuple(part for part in parts if part != "")


def _slot(match: re.Match[str], scope: Scope, units: Mapping[str, str]) -> Slot:
    path, unit, form = match["path"], match["unit"], match["form"] or ""
    plain = unit is None and not form
    if path in scope.limits and not plain:
        raise TemplateError(
            match[0],
            "a limit is shown as it is written",
            f"Write {{{path}}}, without a unit or form.",
        )
    kind = scope.limits.get(path) or scope.names.get(path)
    if kind is None:
        raise TemplateError(
            match[0],
            f"there is no value {path!r}",
            offer_names(path, [*scope.limits, *scope.names]),
        )
    if unit is not None:
        _check_unit(match[0], unit, kind)
    if form and isinstance(kind, Sort):
        raise TemplateError(
            match[0],
            f"a form of number stands behind {kind_name(kind)}",
            f"Write {{{path}}}.",
        )
    shown_in = units.get(path, "") if unit is None else unit.strip()
    return Slot(path, shown_in, form, as_written=plain)


def _check_unit(slot: str, unit: str, kind: Kind) -> None:
    try:
        dimension = unit_named(unit.strip()).dimension
    except QuantityError as error:
        problem = error.problem.rstrip(".")
        raise TemplateError(slot, problem, error.advice) from None
    if dimension != kind:
        raise TemplateError(
            slot,
            f"{unit} is a unit of {dimension_name(dimension)}, "
            f"but the value is {kind_name(kind)}",
            "Show the value in a unit of its own kind.",
        )


def _show(
    slot: Slot, values: Values, limit_texts: Mapping[str, str], system: str
) -> str:
    if slot.path in limit_texts:
        return _limit(limit_texts[slot.path], system)
    value = values.values.get(slot.path)
    written = values.written.get(slot.path)
    if written is not None and slot.as_written:
        return written.text if isinstance(written, Quantity) else str(written)
    if isinstance(value, tuple):
        return listed(value)
    if is_missing(value):
        return NOT_WRITTEN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        shown = show_amount(value, slot.unit, slot.form)
        form = slot.form if slot.form.endswith("g") else THREE_FIGURES
        return f"{shown}{_also(value, slot.unit, system, form)}"
    return str(value)


def _limit(text: str, system: str) -> str:
    """Show a limit as it is written, and in the units of the meter's people too."""
    limit = parse_quantity(text)
    return f"{text}{_also(limit.si, limit.unit.spelling, system, THREE_FIGURES)}"


def _also(value: float, unit: str, system: str, form: str) -> str:
    other = counterpart(unit, system)
    return f" ({show_amount(value, other, form)})" if other else ""


def listed(names: Sequence[str], more: int = 0) -> str:
    """Name the first few of a list, and how many more there are.

    A list that is one longer is named whole, since "and 1 more" saves nothing.
    `more` counts those of the list that `names` leaves out.

    >>> listed("abcd"), listed("abcd", more=8)
    ('a, b, c, d', 'a, b, c and 9 more')
    """
    if not more and len(names) <= LISTED + 1:
        return ", ".join(names)
    first = names[:LISTED]
    return f"{', '.join(first)} and {len(names) - len(first) + more} more"


def show_amount(value: float, unit: str, form: str = "") -> str:
    """Write an SI amount in a unit, to four figures unless a form says otherwise.

    >>> show_amount(0.0277777777, "m3/h", ".1f")
    '100.0 m3/h'
    """
    number = from_si(value, unit_named(unit)) if unit else value
    shown = format(number, form or FOUR_FIGURES)
    if "e" in shown and 1e-6 < abs(number) < 1e15:
        shown = f"{number:.0f}" if abs(number) > 1 else f"{Decimal(shown):f}"
    return f"{shown} {unit}".rstrip()
