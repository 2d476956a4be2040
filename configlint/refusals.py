"""The sentences about values that are refused although the file can be read.

Nobody can trust such a value, so it counts as not written. Words in braces are
filled in where the value is met.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = [
    "ALIASES_TOO_MANY",
    "ALIAS_IN_ITSELF",
    "ALIAS_UNKNOWN",
    "BYTES_TOO_MANY",
    "FAULTS_TOO_MANY",
    "KEY_NO_SCALAR",
    "KEY_REPEATED",
    "MERGE_NO_SECTION",
    "TOO_DEEP",
    "TYPE_MARK",
    "VALUES_TOO_MANY",
    "Refusal",
    "shorten",
]


class Refusal(NamedTuple):
    """What is wrong, what to do about it, and the reading rule it breaks."""

    problem: str
    advice: str
    kind: str = "file-readable"


KEY_REPEATED = Refusal(
    "The key '{key}' is written again in the same section, so neither value counts.",
    "Keep the one that is meant and delete the other.",
    "key-written-once",
)
KEY_NO_SCALAR = Refusal(
    "A section or a list stands where a key is expected; its value counts as not"
    " written.",
    "Write a single word before the colon.",
)
TYPE_MARK = Refusal(
    "The type mark '{mark}' stands before a value, which counts as not written.",
    "Delete the mark: what a value is follows from its key.",
    "type-mark-absent",
)
TOO_DEEP = Refusal(
    "This is level {levels} of nesting, and at most {most} are read; the value counts"
    " as not written.",
    "Write the file with fewer levels.",
)
ALIAS_UNKNOWN = Refusal(
    "The alias *{name} has no anchor above it, and counts as not written.",
    "Write &{name} before the value that is meant, or write the value here.",
)
ALIAS_IN_ITSELF = Refusal(
    "The alias *{name} stands inside the value it names, and counts as not written.",
    "Write the value itself.",
)
ALIASES_TOO_MANY = Refusal(
    "With *{name} written out the file has more than {most} values; the alias counts"
    " as not written.",
    "Use fewer aliases of values that hold aliases themselves.",
)
MERGE_NO_SECTION = Refusal(
    "The merge key << brings in what is no section, and counts as not written.",
    "Write an alias of a section behind it, as in '<<: *name'.",
)
BYTES_TOO_MANY = Refusal(
    "The file has more than {most} bytes, the most that are read.",
    "Split it into several files.",
)
VALUES_TOO_MANY = Refusal(
    "The file has more than {most} values; reading ends here.",
    "Split it into several files.",
)
FAULTS_TOO_MANY = Refusal(
    "The file has more than {most} faults; reading ends here.",
    "Mend the faults above first.",
)


def shorten(text: str) -> str:
    """Shorten a text of the file to what a message can hold.

    >>> shorten("FT-2104")
    'FT-2104'
    >>> len(shorten("x" * 1000))
    60
    """
    return text if len(text) <= 60 else text[:57] + "..."
