"""Plain scalars that YAML 1.1 software reads as something else.

A file is read by its YAML 1.2 core meaning here. Other software that a site runs
over the same file may still follow YAML 1.1, where `on` is a truth value, `010`
is eight and `12:30` is 750. The 1.1 reading is that of PyYAML's resolver, the most
widespread such reader; the 1.2 reading follows the core schema (YAML 1.2.2,
section 10.3.2).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

__all__ = ["ODD_STARTS", "read_otherwise"]

_Reading = bool | int | float | str
_Reader = tuple[re.Pattern[str], Callable[[str], _Reading]]

# The one addition to PyYAML's words: y and n, which it leaves alone although the
# truth type of YAML 1.1 lists them and other 1.1 software takes them so.
_TRUE = frozenset(("y", "Y", "yes", "Yes", "YES", "on", "On", "ON"))
_FALSE = frozenset(("n", "N", "no", "No", "NO", "off", "Off", "OFF"))
ODD_STARTS = frozenset("0123456789+-.yYnNoO")
"""What every scalar begins with whose two readings differ; cheap to ask first."""
_LONGEST = 100
# The usual number, for which nothing more need be tried.
_ALIKE = re.compile(r"[-+]?(?:0|[1-9][0-9]*)(?:\.[0-9]*)?")


def _whole(text: str) -> int:
    """Read a whole number of YAML 1.1: prefixes, underscores and base sixty."""
    bare = text.replace("_", "")
    sign = -1 if bare[0] == "-" else 1
    bare = bare.lstrip("+-")
    if ":" in bare:
        return sign * sum(int(part) * weight for part, weight in _base_sixty(bare))
    if len(bare) > 1 and bare[0] == "0" and bare[1] not in "bx":
        return sign * int(bare, 8)
    return sign * int(bare, 0)


def _base_sixty(text: str) -> list[tuple[str, int]]:
    """Split minutes and seconds into parts with their weights, the smallest first."""
    return [(part, 60**power) for power, part in enumerate(reversed(text.split(":")))]


def _fraction(text: str) -> float:
    """Read a number with a point of YAML 1.1: underscores and base sixty."""
    bare = text.replace("_", "")
    sign = -1.0 if bare[0] == "-" else 1.0
    value = 0.0
    # One by one, since sum() rounds in another way from Python 3.12 on.
    for part, weight in _base_sixty(bare.lstrip("+-")):
        value += float(part) * weight
    return sign * value


_BY_1_1: tuple[_Reader, ...] = (
    (
        re.compile(
            r"[-+]?(?:0b_*[01][01_]*|0x_*[0-9a-fA-F][0-9a-fA-F_]*|0[0-7_]+|0"
            r"|[1-9][0-9_]*(?::[0-5]?[0-9])*)"
        ),
        _whole,
    ),
    (
        re.compile(
            r"[-+]?[0-9][0-9_]*\.[0-9_]*(?:[eE][-+][0-9]+)?"
            r"|\.[0-9][0-9_]*(?:[eE][-+][0-9]+)?"
            r"|[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+\.[0-9_]*"
        ),
        _fraction,
    ),
)
_BY_1_2: tuple[_Reader, ...] = (
    (re.compile(r"[-+]?[0-9]+"), int),
    (re.compile(r"0o[0-7]+"), lambda text: int(text, 0)),
    (re.compile(r"0x[0-9a-fA-F]+"), lambda text: int(text, 0)),
    (re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?"), float),
)


def _read(text: str, readers: tuple[_Reader, ...]) -> _Reading:
    for pattern, reader in readers:
        if pattern.fullmatch(text):
            return reader(text)
    return text


@lru_cache(maxsize=4096)
def read_otherwise(text: str) -> str | None:
    """Tell what YAML 1.1 software reads for a plain scalar, where it differs.

    None where both readings agree. A date reads the same, as do `true`, `~` and
    `.inf`. A text over 100 characters is no figure, and is not looked at.

    >>> [read_otherwise(text) for text in ("yes", "010", "12:30", "1_000")]
    ['true', '8', '750', '1000']
    >>> read_otherwise("1e-6")
    'the text "1e-6"'
    >>> [read_otherwise(text) for text in ("0.1550", "2026-04-02", "FT-101", "7")]
    [None, None, None, None]
    """
    if text[:1] not in ODD_STARTS or len(text) > _LONGEST or _ALIKE.fullmatch(text):
        return None
    if text in _TRUE:
        return "true"
    if text in _FALSE:
        return "false"
    other = _read(text, _BY_1_1)
    if other == _read(text, _BY_1_2):
        return None
    return f'the text "{text}"' if isinstance(other, str) else str(other)
