"""`configlint rules`: list the rules, show one, name the values, prove them all."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from configlint.data import data_folder
from configlint.kinds import kind_name
from configlint.operators import OPERATORS
from configlint.outputs.rule_list import RULE_LISTS, paragraph
from configlint.parser import FUNCTIONS
from configlint.proofs import Verdict, prove
from configlint.rule_book import load_rule_book
from configlint.rules import (
    AcrossRule,
    AnyRule,
    MeterRule,
    ReadingRule,
    RuleBook,
    basis_words,
)

__all__ = ["rules_app"]

READ_WHILE = "told while the files are read"

rules_app = typer.Typer(
    help="List, show and prove the rules.", no_args_is_help=True, rich_markup_mode=None
)

OwnRules = Annotated[
    Path | None,
    typer.Option(
        "--rules",
        metavar="FOLDER",
        help="Take the rule files of this folder as well as the standard ones.",
        exists=True,
        file_okay=False,
    ),
]


@rules_app.callback()
def _overview() -> None:
    """List, show and prove the rules."""


def _book(folder: Path | None) -> RuleBook:
    own = [] if folder is None else [folder]
    return load_rule_book(data_folder("rules"), *own)


@rules_app.command("list")
def list_rules(
    report: Annotated[
        str, typer.Option(metavar="FORMAT", help=f"{', '.join(RULE_LISTS)}.")
    ] = "text",
    rules: OwnRules = None,
) -> None:
    """List every rule with its category and the question it asks."""
    if report not in RULE_LISTS:
        raise typer.BadParameter(
            f"{report!r} is no report of this command. "
            f"Write {' or '.join(RULE_LISTS)}.",
            param_hint="--report",
        )
    sys.stdout.write(RULE_LISTS[report](_book(rules)))


@rules_app.command("show")
def show_rule(
    rule_id: Annotated[str, typer.Argument(metavar="ID", help="The rule's id.")],
    rules: OwnRules = None,
) -> None:
    """Show one rule: its question, formulas, limits, basis, texts and proofs."""
    book = _book(rules)
    found = {rule.id: rule for rule in book.all_rules}.get(rule_id)
    if found is None:
        raise typer.BadParameter(_no_such_rule(rule_id), param_hint="ID")
    for title, words in _rule_parts(found):
        _say(f"{title}: {words}" if title else words)


def _no_such_rule(rule_id: str) -> str:
    return (
        f"there is no rule {rule_id!r} that can be shown or proven so. "
        "`configlint rules list` shows them all; for rules of your own, name their "
        "folder with --rules."
    )


def _rule_parts(rule: AnyRule) -> Iterator[tuple[str, str]]:
    yield "", f"{rule.id} (category {rule.category}, rule set {rule.ruleset})"
    yield "Asks", rule.asks
    if isinstance(rule, ReadingRule):
        yield "Accept", READ_WHILE
        yield from _limits(rule)
        yield "Remedy", rule.remedy
    else:
        yield "Applies", rule.applies.text if rule.applies else "to every meter"
        yield from _condition(rule)
        yield "Finding", rule.finding.text
        yield "Remedy", rule.remedy.text
        yield "Settings", ", ".join(rule.settings) or "none a person would change"
    yield "Basis", basis_words(rule.basis)
    if not isinstance(rule, ReadingRule):
        yield "Proofs", str(len(rule.proofs))
        yield "Written at", str(rule.place)


def _condition(rule: MeterRule | AcrossRule) -> Iterator[tuple[str, str]]:
    if isinstance(rule, MeterRule):
        yield "Accept", rule.accept.text
        yield from _limits(rule)
    else:
        others = f"agree in {rule.agree}" if rule.agree else "are not allowed"
        same = " and ".join(rule.same)
        scope = "one site" if rule.scope == "site" else "all sites"
        yield "Accept", f"meters of {scope} with the same {same} {others}"


def _limits(rule: MeterRule | ReadingRule) -> Iterator[tuple[str, str]]:
    for name, limit in rule.limits.items():
        yield f"Limit {name}", limit.text


@rules_app.command("names")
def list_names(rules: OwnRules = None) -> None:
    """List what formulas may name: inputs, quantities, tables and functions."""
    book = _book(rules)
    inputs, quantities = book.inputs, book.quantity_of
    for name, kind in sorted(book.scope.names.items()):
        given = inputs.get(name) or quantities[name]
        _say(f"{name}: {given.means} ({kind_name(kind)})")
    for table in book.scope.tables.values():
        for name, column in table.columns.items():
            _say(f"{table.name}[…].{name}: {column.means}")
    for symbol, operator in OPERATORS.items():
        meaning = (operator.evaluate.__doc__ or "").partition("\n")[0]
        if symbol in FUNCTIONS:
            _say(f"{symbol}(…): {meaning}")


@rules_app.command("prove")
def prove_rules(
    rule_ids: Annotated[
        list[str] | None,
        typer.Argument(metavar="[ID]...", help="The rules to prove; without any, all."),
    ] = None,
    rules: OwnRules = None,
) -> None:
    """Run the rules' proofs, then change the rules to see that proofs notice."""
    book = _book(rules)
    ids = {rule.id for rule in book.judged_rules}
    for rule_id in rule_ids or ():
        if rule_id not in ids:
            raise typer.BadParameter(_no_such_rule(rule_id), param_hint="ID")
    places = {rule.id: rule.place for rule in book.judged_rules}
    places |= {quantity.name: quantity.place for quantity in book.quantities}
    verdicts = []
    for verdict in prove(book, rule_ids or ()):
        verdicts.append(verdict)
        where = f"{verdict.name} ({places[verdict.name]})"
        for said in verdict.failures:
            _say(f"{where}: {said}")
        for said in verdict.survivors:
            _say(f"{where}: no proof notices this change: {said}")
    _say(_score(verdicts))
    raise typer.Exit(0 if all(verdict.proven for verdict in verdicts) else 1)


def _score(verdicts: list[Verdict]) -> str:
    proofs = sum(verdict.proofs for verdict in verdicts)
    failed = sum(len(verdict.failures) for verdict in verdicts)
    mutants = sum(verdict.mutants for verdict in verdicts)
    noticed = mutants - sum(len(verdict.survivors) for verdict in verdicts)
    share = f"{100 * noticed / mutants:.4g} %" if mutants else "none tried"
    rules = sum(verdict.proofs > 0 for verdict in verdicts)
    rest = len(verdicts) - rules
    also = f" and {rest} quantities" if rest else ""
    return (
        f"{rules} rules{also}, {proofs} proofs, {failed} of them failed. "
        f"Mutation score {share}: {noticed} of {mutants} changes noticed."
    )


def _say(words: str) -> None:
    """Print paragraphs at 80 columns."""
    for line in words.splitlines() or [""]:
        sys.stdout.write(paragraph(line))
