"""The rules themselves as a list: text for a screen, JSON, a Markdown table."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from configlint.outputs.json import to_text
from configlint.outputs.text import WIDTH, inert
from configlint.rules import (
    AcrossRule,
    AnyRule,
    MeterRule,
    ReadingRule,
    RuleBook,
    basis_words,
)

__all__ = ["RULE_LISTS", "paragraph"]


def write_text(book: RuleBook) -> str:
    """Write each rule's category, id and question."""
    lines = (
        f"{paragraph(f'{rule.category}  {rule.id}')}{paragraph(rule.asks, '   ')}"
        for rule in book.all_rules
    )
    return "".join(lines)


def write_json(book: RuleBook) -> str:
    """Write the rules as a JSON list."""
    return to_text([_rule_object(rule) for rule in book.all_rules])


def _rule_object(rule: AnyRule) -> dict[str, Any]:
    content: dict[str, Any] = {
        "id": rule.id,
        "ruleset": rule.ruleset,
        "category": rule.category,
        "asks": rule.asks,
        "basis": basis_words(rule.basis),
    }
    if isinstance(rule, MeterRule):
        content["accept"] = rule.accept.text
    if not isinstance(rule, AcrossRule):
        content["limits"] = {name: limit.text for name, limit in rule.limits.items()}
    if not isinstance(rule, ReadingRule):
        content["applies"] = rule.applies.text if rule.applies else ""
        content["settings"] = list(rule.settings)
        content["proofs"] = len(rule.proofs)
    return content


MARKDOWN_HEAD = """\
# The rules

Written by `configlint rules list --report markdown`; a test holds it current. The
basis ends with how far it was verified: checked in the source, following by
arithmetic, common practice, or from memory. All limits are starting points that a
site's policy can change with a reason; the maker's data, the site's standards, local
codes and licensed practice take precedence.

| rule | category | question | limits | basis |
| --- | --- | --- | --- | --- |
"""


def write_markdown(book: RuleBook) -> str:
    """Write the rules as a Markdown table: id, category, question, limits, basis."""
    rows = (" | ".join(map(_cell, _row(rule))) for rule in book.all_rules)
    return MARKDOWN_HEAD + "".join(f"| {row} |\n" for row in rows)


def _row(rule: AnyRule) -> Iterator[str]:
    yield rule.id
    yield rule.category
    yield rule.asks
    limits = {} if isinstance(rule, AcrossRule) else rule.limits
    yield ", ".join(f"{name} {limit.text}" for name, limit in limits.items())
    yield basis_words(rule.basis)


def _cell(text: str) -> str:
    """Make a text inert in a cell: no line ends, bars, tags or code marks."""
    plain = " ".join(inert(text).split())
    for sign in "\\|`*_<>[]":
        plain = plain.replace(sign, f"\\{sign}")
    return plain


RULE_LISTS: Mapping[str, Callable[[RuleBook], str]] = {
    "text": write_text,
    "json": write_json,
    "markdown": write_markdown,
}


def paragraph(words: str, indent: str = "") -> str:
    """Write a paragraph at 80 columns, with its later lines indented.

    >>> paragraph("A question of some rule.", "   ")
    '   A question of some rule.\\n'
    """
    filled = textwrap.fill(
        inert(words),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent or "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    return f"{filled}\n"
