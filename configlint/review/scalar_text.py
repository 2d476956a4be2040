"""How a value is written into a file so that every reader reads it back as given."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from configlint.plain_scalars import read_otherwise
from configlint.review.layout import Leaf, Written, walk
from configlint.source_text import odd_characters
from configlint.usual_lines import NULLS

__all__ = ["is_one_line", "quote_of", "scalar_text"]

SINGLE, DOUBLE = "'", '"'

# No sign that begins something else, no colon or number sign where it would end the
# value, no blank at either end; inside brackets none of these and no colon at all.
_PLAIN = re.compile(
    r"""
    (?: [^-?:,\[\]{}\#&*!|>'"%@`\s] | -(?=[^\s:\#-]) )
    (?: [^\s:\#] | :(?=\S) | (?<=\S)\# | [ ](?=[^\s\#]) )*
    """,
    re.VERBOSE,
)
_PLAIN_IN_BRACKETS = re.compile(r"[^,\[\]{}:]*")
# Plain scalars to which a reader gives a meaning of their own.
_SIGNS = frozenset(("=", "<<", "---", "..."))


def is_one_line(value: str) -> bool:
    r"""Tell whether a value is something that one line of a file can hold.

    >>> [is_one_line(each) for each in ("250 m3/h", "", "a\nb", "a\tb", "\x1b")]
    [True, False, False, False, False]
    """
    breaks = any(sign in value for sign in "\t\r\n")
    return bool(value) and not breaks and not odd_characters(value, "")


def quote_of(roots: Iterable[Written]) -> str:
    """Tell which quote a file uses, the double one where it shows none."""
    used = Counter(node.style for node in walk(roots) if isinstance(node, Leaf))
    return SINGLE if used[SINGLE] > used[DOUBLE] else DOUBLE


def scalar_text(
    value: str, quote: str = "", spare: str = DOUBLE, flow: bool = False
) -> str:
    """Write a value in a quote, or without one if it means the same to all readers.

    Where it does not, `spare` is the quote that is taken; `flow` says that the value
    stands inside brackets.

    >>> [scalar_text(each) for each in ("250 m3/h", "yes", "0010", "null", "a: b")]
    ['250 m3/h', '"yes"', '"0010"', '"null"', '"a: b"']
    >>> print(scalar_text("Anna's", quote="'"))
    'Anna''s'
    """
    if not quote and _is_plain(value, flow):
        return value
    if (quote or spare) == SINGLE:
        return "'{}'".format(value.replace("'", "''"))
    return '"{}"'.format(value.replace("\\", "\\\\").replace('"', '\\"'))


def _is_plain(value: str, flow: bool) -> bool:
    if value in NULLS or value in _SIGNS or read_otherwise(value) is not None:
        return False
    if flow and not _PLAIN_IN_BRACKETS.fullmatch(value):
        return False
    return _PLAIN.fullmatch(value) is not None
