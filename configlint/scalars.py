"""What a scalar's text can be: an amount, a number, a size, a choice, a date, …

Each class here marks a model's field, as in `Annotated[Quantity,
Measured("length")]`. It turns the text of the document into a value, says what is
wrong with a text that does not fit, and describes itself for a JSON Schema. The
error's type is the id of the reading rule that the text breaks.
"""

from __future__ import annotations

import datetime
import difflib
import re
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, NamedTuple

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

__all__ = [
    "RIGHT_KIND",
    "WELL_FORMED",
    "Choice",
    "Day",
    "Misread",
    "Scalar",
    "Size",
    "Text",
    "Truth",
    "offer",
    "read_text",
    "shown",
    "text_error",
]

WELL_FORMED = "value-well-formed"
RIGHT_KIND = "unit-of-right-kind"


def shown(text: str) -> str:
    """Quote a text for a message, shortened, with control characters escaped.

    >>> shown("off")
    "'off'"
    """
    return repr(text if len(text) <= 60 else f"{text[:59]}…")


ALMOST = 0.75
"""How like one another two spellings of one choice are, of 1."""

ONE_OF_THEM = "Write the one that is meant."


def offer(word: str, known: Iterable[str], count: int = 1) -> str:
    """Advise the known words nearest to a wrong one, or else all of them.

    >>> offer("foward", ("forward", "reverse"))
    'Write forward, if that is meant.'
    """
    known = tuple(known)
    near = difflib.get_close_matches(word.lower(), known, count, 0.6)
    if near:
        return f"Write {' or '.join(near)}, if that is meant."
    return f"Write {'one of: ' if len(known) > 1 else ''}{', '.join(known)}."


def text_error(kind: str, problem: str, advice: str) -> PydanticCustomError:
    """Make the error that `read` raises: the rule broken, what is wrong, what to do."""
    return PydanticCustomError(kind, "{problem}", _context(problem, advice))


def _context(problem: str, advice: str) -> dict[str, Any]:
    return {"problem": problem, "advice": advice}


@dataclass(frozen=True, slots=True)
class Scalar(ABC):
    """The base of all marks: `read` gives the value of a text or raises."""

    @property
    @abstractmethod
    def expected(self) -> str:
        """What a person should write, for messages: "a length such as 80 mm"."""

    @abstractmethod
    def read(self, text: str) -> Any:
        """Give the value of a text, or raise PydanticCustomError."""

    @abstractmethod
    def json_schema(self) -> JsonSchemaValue:
        """Describe the text for an editor (JSON Schema, draft 2020-12)."""

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Read text only: the check that it is one stays outside Python."""
        text = core_schema.custom_error_schema(
            core_schema.str_schema(strict=True),
            custom_error_type=WELL_FORMED,
            custom_error_message="{problem}",
            custom_error_context=_context("", f"Write {self.expected}."),
        )
        return core_schema.no_info_after_validator_function(_reader(self), text)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Give the description instead of what pydantic would derive."""
        expected = self.expected
        return {
            "description": f"{expected[:1].upper()}{expected[1:]}.",
            **self.json_schema(),
        }


@cache
def _reader(scalar: Scalar) -> Callable[[str], Any]:
    # The same few texts come back in meter after meter; errors are not kept.
    return lru_cache(maxsize=8192)(scalar.read)


class Misread(NamedTuple):
    """Why a text can't be read: the reading rule it breaks, the problem, the advice."""

    rule: str
    problem: str
    advice: str


def read_text(mark: Scalar, text: str) -> Any:
    """Give the value of a text that no model's field holds, or a `Misread`.

    >>> read_text(Day(), "2026-03-31")
    datetime.date(2026, 3, 31)
    >>> read_text(Truth(), "yes").problem
    "'yes' is neither true nor false."
    """
    try:
        return mark.read(text)
    except PydanticCustomError as error:
        context = error.context or {}
        return Misread(error.type, context["problem"], context["advice"])


@dataclass(frozen=True, slots=True)
class Text(Scalar):
    """A text with something in it."""

    @property
    def expected(self) -> str:
        """A text."""
        return "a text"

    def read(self, text: str) -> str:
        """Give the text without the blanks around it."""
        stripped = text.strip()
        if not stripped:
            raise text_error(WELL_FORMED, "The text is blank.", "Write it, or nothing.")
        return stripped

    def json_schema(self) -> JsonSchemaValue:
        """A text, or a number that is meant as one, such as a serial number."""
        return {"type": ["string", "number", "boolean"], "pattern": r"\S"}


@dataclass(frozen=True, slots=True)
class Choice(Scalar):
    """One text of a closed list."""

    choices: tuple[str, ...]

    def __init__(self, *choices: str) -> None:
        object.__setattr__(self, "choices", choices)

    @property
    def expected(self) -> str:
        """The list."""
        return f"{'one of: ' if len(self.choices) > 1 else ''}{', '.join(self.choices)}"

    def read(self, text: str) -> str:
        """Give the text if the list holds it."""
        if text not in self.choices:
            problem = f"{shown(text)} is not {self.expected}."
            raise text_error(WELL_FORMED, problem, self._advice(text))
        return text

    def _advice(self, text: str) -> str:
        """Offer what is spelt almost so; "both ends" is no spelling of "one end"."""
        near = difflib.get_close_matches(text.lower(), self.choices, 1, ALMOST)
        is_plain = bool(near) or len(self.choices) == 1
        return offer(text, near or self.choices) if is_plain else ONE_OF_THEM

    def json_schema(self) -> JsonSchemaValue:
        """The list."""
        return {"type": "string", "enum": list(self.choices)}


TRUTHS = {"true": True, "false": False}
TRUE_WORDS = {"yes": "true", "on": "true", "no": "false", "off": "false"}


@dataclass(frozen=True, slots=True)
class Truth(Scalar):
    """`true` or `false`, and no other word for them."""

    @property
    def expected(self) -> str:
        """The two words."""
        return "true or false"

    def read(self, text: str) -> bool:
        """Give the truth of a text."""
        if text not in TRUTHS:
            meant = TRUE_WORDS.get(text.lower(), text.lower())
            problem = f"{shown(text)} is neither true nor false."
            raise text_error(WELL_FORMED, problem, offer(meant, TRUTHS))
        return TRUTHS[text]

    def json_schema(self) -> JsonSchemaValue:
        """A truth value; written in quotes it is the same."""
        return {"type": ["boolean", "string"], "enum": [True, False, "true", "false"]}


@dataclass(frozen=True, slots=True)
class Day(Scalar):
    """A calendar day in the form of ISO 8601, such as 2026-03-31."""

    @property
    def expected(self) -> str:
        """The form with an example."""
        return "a date such as 2026-03-31"

    def read(self, text: str) -> datetime.date:
        """Give the day of a text."""
        problem = f"{shown(text)} is not written as a date."
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            try:
                return datetime.date.fromisoformat(text)
            except ValueError:
                problem = f"{shown(text)} is a day that no calendar has."
        raise text_error(
            WELL_FORMED, problem, "Write year-month-day, such as 2026-03-31."
        )

    def json_schema(self) -> JsonSchemaValue:
        """The form with an example."""
        pattern = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
        return {"type": "string", "pattern": pattern, "examples": ["2026-03-31"]}


DN = re.compile(r"DN ?([1-9][0-9]{0,3})|([1-9][0-9]{0,3}) mm")
NPS = re.compile(
    r"(?:NPS ?)?(?:([1-9][0-9]?)(?:[ -]([1357]/[248]))?|([1357]/[248]))( in)?"
)


@dataclass(frozen=True, slots=True)
class Size(Scalar):
    """A nominal size, DN (ISO 6708) or NPS (ASME B36.10), in one spelling.

    `DN150` and `150 mm` are the same as `DN 150`, `6 in` is the same as `NPS 6`.
    """

    @property
    def expected(self) -> str:
        """The two forms."""
        return "a nominal size such as DN 150 or NPS 6"

    def read(self, text: str) -> str:
        """Give the size of a text, spelled "DN 150" or "NPS 1 1/2"."""
        if match := DN.fullmatch(text):
            return f"DN {match[1] or match[2]}"
        match = NPS.fullmatch(text)
        if match is None or not (text.startswith("NPS") or match[4]):
            problem = f"{shown(text)} is not a nominal size."
            raise text_error(WELL_FORMED, problem, "Write it as DN 150 or NPS 6.")
        return " ".join(part for part in ("NPS", *match.group(1, 2, 3)) if part)

    def json_schema(self) -> JsonSchemaValue:
        """The two forms."""
        pattern = r"^(DN ?[0-9]+|[0-9]+ mm|(NPS ?)?[0-9][0-9 /-]*( in)?)$"
        examples = ["DN 150", "NPS 6", "NPS 1 1/2"]
        return {"type": "string", "pattern": pattern, "examples": examples}
