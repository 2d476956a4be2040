"""What a value can be: a measured amount of some dimension, a text, a date, …

The meter's models declare a kind for every path, and the rule language checks
every formula against these kinds before any meter is read.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from configlint.units import NONE, Dimension, dimension_name

__all__ = ["UNREADABLE", "Input", "Kind", "Sort", "kind_name"]


class Sort(Enum):
    """The kinds of value that are not amounts."""

    TEXT = "a text"
    TRUTH = "true or false"
    DAY = "a date"
    SECTION = "a section"
    PATHS = "a list of places in the file"
    TEXTS = "a list of texts"


Kind = Dimension | Sort

UNREADABLE = float("nan")
"""The value of what a file writes but nobody can read.

It is missing like any other, but whether it is given stays undecided.
"""


@dataclass(frozen=True, slots=True)
class Input:
    """A value that rules may name: its dotted path, its kind and its meaning.

    `unit` is the unit in which a report shows an amount, `choices` the texts a
    value can take where the model closes the list.
    """

    path: str
    kind: Kind
    means: str
    unit: str = ""
    choices: tuple[str, ...] = ()


def kind_name(kind: Kind) -> str:
    """Name a kind in a message, for example "a velocity" or "a text"."""
    if isinstance(kind, Sort):
        return kind.value
    if kind == NONE:
        return "a plain number"
    name = dimension_name(kind)
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"
