"""Bounds of a SARIF file: a code host refuses a larger one whole, or cuts it unsaid.

A host takes 10 MB as packed by gzip, and of a run 25 000 rules and 25 000 results, of
which it keeps the 5 000 most severe; a description of a rule has 1 024 characters
(GitHub's documentation). What is written here is within all of these.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from typing import Any

from configlint.outputs.json_text import to_line
from configlint.outputs.text import inert, shortened

__all__ = [
    "LONGEST",
    "MOST_PACKED",
    "MOST_RESULTS",
    "MOST_RULES",
    "bounded",
    "fitting",
    "message",
]

MOST_RESULTS = 5_000
MOST_RULES = 25_000

MOST_PACKED = 9_000_000
"""Bytes of the results and rules, packed; the rest of a file is much less than 1 MB."""

LONGEST = 1_000
"""Characters of a text, with some room for what a host counts otherwise."""


def message(*words: str) -> dict[str, str]:
    """Make a `message` of some paragraphs, in which a reader fills in nothing.

    The standard takes braces for places to fill in, and a text in brackets before one
    in parentheses for a link (SARIF 2.1.0, 3.11.5 and 3.11.6, from memory). The longest
    paragraphs are cut where the whole would be too long.

    >>> message("FT-{0} [x](https://x)")
    {'text': 'FT-{{0}} [x] (https://x)'}
    """
    shown = [_unfilled(each) for each in words]
    most = _share(map(len, shown), LONGEST - len(shown) + 1)
    return {"text": shortened("\n".join(_cut(each, most) for each in shown), LONGEST)}


def _unfilled(text: str) -> str:
    """Write a text without places to fill in and links, as far as it may be needed."""
    shown = inert(shortened(text, LONGEST))
    return shown.replace("{", "{{").replace("}", "}}").replace("](", "] (")


def _share(lengths: Iterable[int], room: int) -> int:
    """Find how long each of some texts may be, so that all of them fit into a room."""
    ordered = sorted(lengths)
    for number, length in enumerate(ordered):
        share = room // (len(ordered) - number)
        if length > share:
            return share
        room -= length
    return LONGEST


def _cut(text: str, most: int) -> str:
    """Cut a text, but between no two braces that stand for one."""
    if len(text) <= most:
        return text
    return f"{text[: max(most - 1, 0)].rstrip('{}')}…"


def bounded(content: Any) -> Any:
    """Cut every text in some content that is too long, and say so by its last sign.

    >>> bounded({"tag": "x" * 2000, "line": 3})["tag"][-2:]
    'x…'
    """
    if isinstance(content, str):
        return shortened(content, LONGEST)
    if isinstance(content, dict):
        return {name: bounded(each) for name, each in content.items()}
    if isinstance(content, list):
        return [bounded(each) for each in content]
    return content


def fitting(head: object, entries: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Give the first of some entries, as many as fit into a file beside a head.

    The bytes are counted as they come out of a fast packer, which are more than a host
    counts.
    """
    packer = zlib.compressobj(zlib.Z_BEST_SPEED)
    packed = len(packer.compress(to_line(head).encode()))
    kept = []
    for entry in entries:
        packed += len(packer.compress(to_line(entry).encode()))
        if packed > MOST_PACKED:
            break
        kept.append(entry)
    return kept
