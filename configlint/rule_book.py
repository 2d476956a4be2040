"""Rule files to a rule book, or a refusal that names every fault in them.

The order is fixed: tables and type sheets, then quantities in an order in which
none needs a later one, then rules. Faults are collected over all files, each
with its file and line, and a mark under the fault of a formula.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path as FilePath
from typing import Any

from configlint.compiler import Formula, Scope, make_formula
from configlint.documents import Document
from configlint.errors import Path
from configlint.facts import declared_inputs
from configlint.formula import FormulaError, Name, Node, children, parse_formula
from configlint.kinds import Kind, Sort, kind_name
from configlint.rule_files import QuantityModel, RuleModel
from configlint.rules import (
    AcrossRule,
    DerivedQuantity,
    Limit,
    MeterRule,
    ReadingRule,
    RuleBook,
)
from configlint.shelf import Shelf
from configlint.templates import Template, TemplateError, make_template
from configlint.units import NONE, QuantityError, parse_quantity, unit_named

__all__ = ["load_rule_book"]


def load_rule_book(*folders: FilePath) -> RuleBook:
    """Load all rule files of some folders as one book.

    A folder holds rule files, and below it `tables/`, `types/` (type sheets)
    and `sound/` (the meters that proofs start from). Raises `RunError` with all
    faults when a file can't be read, or a name, unit or dimension does not fit.
    """
    shelf = Shelf()
    for folder in folders:
        shelf.take(folder)
    shelf.refuse_if_faulty()
    book = _Binder(shelf).bind()
    shelf.refuse_if_faulty()
    return book


class _Binder:
    """Turns the files on the shelf into a book; faults go back to the shelf."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self.inputs = declared_inputs()
        self.kinds: dict[str, Kind] = {p: i.kind for p, i in self.inputs.items()}
        self.units = {path: given.unit for path, given in self.inputs.items()}
        choices = {p: i.choices for p, i in self.inputs.items() if i.choices}
        self.scope = Scope(self.kinds, {}, shelf.tables, choices)

    def bind(self) -> RuleBook:
        self.check_editions()
        quantities = tuple(self.quantities())
        rules = [rule for rule in self.rules() if rule is not None]
        return RuleBook(
            tuple(self.shelf.editions()),
            self.scope,
            self.units,
            quantities,
            tuple(rule for rule in rules if isinstance(rule, MeterRule)),
            tuple(rule for rule in rules if isinstance(rule, AcrossRule)),
            {rule.id: rule for rule in self.reading_rules()},
            self.shelf.type_sheets,
            self.shelf.sound_meters,
        )

    def check_editions(self) -> None:
        seen: dict[str, str] = {}
        for document, model in self.shelf.rule_files:
            first = seen.setdefault(model.ruleset, model.edition)
            if model.edition != first:
                self.shelf.fault(
                    document,
                    ("edition",),
                    f"The rule set {model.ruleset!r} has edition {first!r} in "
                    f"another file, {model.edition!r} here.",
                    "Give all files of a rule set one edition.",
                )

    # --- quantities ---

    def quantities(self) -> Iterator[DerivedQuantity]:
        written: dict[str, tuple[Document, QuantityModel]] = {}
        for document, model in self.shelf.rule_files:
            for name, quantity in model.quantities.items():
                if self.name_is_free(document, name, written):
                    written[name] = (document, quantity)
        for name in self.in_order(written):
            document, quantity = written[name]
            derived = self.quantity(document, name, quantity)
            if derived is not None:
                yield derived

    def name_is_free(
        self, document: Document, name: str, written: Mapping[str, Any]
    ) -> bool:
        if name not in self.kinds and name not in written and name.isidentifier():
            return True
        self.shelf.fault(
            document,
            ("quantities", name),
            f"The name {name!r} is taken or is no plain name.",
            "Give the quantity another name, of letters, digits and underscores.",
        )
        return False

    def in_order(
        self, written: Mapping[str, tuple[Document, QuantityModel]]
    ) -> Iterable[str]:
        needs = {
            name: {used for used in _names_in(quantity) if used in written}
            for name, (_, quantity) in written.items()
        }
        try:
            return list(TopologicalSorter(needs).static_order())
        except CycleError as error:
            ring = list(dict.fromkeys(error.args[1]))
            document, _ = written[ring[0]]
            self.shelf.fault(
                document,
                ("quantities", ring[0], "formula"),
                f"The quantities {', '.join(ring)} need each other in a ring.",
                "Take one of them from inputs alone.",
            )
            self.shelf.refuse_if_faulty()
            return []

    def quantity(
        self, document: Document, name: str, model: QuantityModel
    ) -> DerivedQuantity | None:
        path: Path = ("quantities", name)
        formula = self.formula(document, (*path, "formula"), model.formula)
        fallback, note = None, ""
        if model.fallback is not None:
            inner = (*path, "fallback", "formula")
            fallback = self.formula(document, inner, model.fallback.formula)
            note = model.fallback.note
        if formula is None:
            self.kinds[name] = _unit_kind(model.unit)
            return None
        self.kinds[name] = formula.kind
        self.units[name] = model.unit or ""
        wanted = _unit_kind(model.unit)
        for found in (formula, fallback):
            if found is None or found.kind == wanted:
                continue
            if isinstance(found.kind, Sort) and model.unit is None:
                continue
            self.shelf.fault(
                document,
                (*path, "unit"),
                f"The formula of {name!r} gives {kind_name(found.kind)}, the unit "
                f"{model.unit or '(none)'} is {kind_name(wanted)}.",
                "Correct the formula or the unit.",
            )
        return DerivedQuantity(
            name,
            model.means,
            model.symbol,
            model.unit or "",
            formula,
            fallback,
            note,
            model.basis,
        )

    # --- rules ---

    def rules(self) -> Iterator[MeterRule | AcrossRule | None]:
        seen: set[str] = set()
        for document, file in self.shelf.rule_files:
            for name, model in file.rules.items():
                if name in seen:
                    self.shelf.fault(
                        document,
                        ("rules", name),
                        f"There is another rule {name!r}.",
                        "Give it another id.",
                    )
                seen.add(name)
                yield self.rule(document, file.ruleset, name, model)

    def rule(
        self, document: Document, ruleset: str, name: str, model: RuleModel
    ) -> MeterRule | AcrossRule | None:
        before = len(self.shelf.faults)
        path: Path = ("rules", name)
        self.check_rule(document, path, model)
        limits = dict(self.limits(document, path, model))
        scope = self.scope.with_limits({n: limit.kind for n, limit in limits.items()})
        if model.across is not None:
            scope = scope.with_limits({"others": Sort.PATHS})
        applies = self.truth(document, (*path, "applies"), model.applies, scope)
        accept = self.truth(document, (*path, "accept"), model.accept, scope)
        finding = self.template(document, (*path, "finding"), model.finding, scope)
        remedy = self.template(document, (*path, "remedy"), model.remedy, scope)
        self.check_limits_used(document, path, model, limits)
        if len(self.shelf.faults) > before or finding is None or remedy is None:
            return None
        shared: dict[str, Any] = {
            "id": name,
            "ruleset": ruleset,
            "category": model.category,
            "asks": model.asks,
            "basis": model.basis,
            "applies": applies,
            "finding": finding,
            "remedy": remedy,
            "settings": model.settings,
            "proofs": model.proof,
            "place": document.key_place(path),
        }
        if accept is not None:
            return MeterRule(accept=accept, limits=limits, **shared)
        if model.across is None:
            return None
        across = model.across
        return AcrossRule(
            scope=across.scope, same=across.same, agree=across.agree or "", **shared
        )

    def check_rule(self, document: Document, path: Path, model: RuleModel) -> None:
        """What a rule must have beside sound formulas."""
        if (model.accept is None) == (model.across is None):
            self.shelf.fault(
                document, path, "A rule has either `accept` or `across`.", "Write one."
            )
        basis = model.basis
        if not (basis.practice or basis.standard or basis.published):
            self.shelf.fault(
                document,
                (*path, "basis"),
                "The rule has no basis.",
                "Name a standard, a publication or the practice it rests on.",
            )
        across = model.across
        named = [*model.settings]
        if across is not None:
            named += [across.same, *([across.agree] if across.agree else [])]
        for name in named:
            if name not in self.kinds:
                self.shelf.fault(
                    document,
                    path,
                    f"There is no value {name!r}.",
                    "`configlint rules names` shows the names there are.",
                )
        self.check_proofs(document, path, model)

    def check_proofs(self, document: Document, path: Path, model: RuleModel) -> None:
        given = {proof.gives for proof in model.proof} | {
            meter.gives for proof in model.proof for meter in proof.meters
        }
        for word in ("conforms", "nonconforming"):
            if word not in given:
                self.shelf.fault(
                    document,
                    path,
                    f"The rule has no proof that gives {word!r}.",
                    "Write example meters on both sides of every limit.",
                )
        for proof in model.proof:
            bases = [proof.base, *(meter.base for meter in proof.meters)]
            for base in bases:
                if base not in self.shelf.sound_meters:
                    self.shelf.fault(
                        document,
                        (*path, "proof"),
                        f"There is no sound meter {base!r} for a proof to start from.",
                        f"There are {', '.join(self.shelf.sound_meters)}.",
                    )

    def limits(
        self, document: Document, path: Path, model: RuleModel
    ) -> Iterator[tuple[str, Limit]]:
        for name, text in model.limits.items():
            try:
                quantity = parse_quantity(text)
            except QuantityError as error:
                here = (*path, "limits", name)
                self.shelf.fault(document, here, error.problem, error.advice)
                continue
            unit = quantity.unit
            yield (
                name,
                Limit(name, quantity.si, text, unit.spelling, unit.dimension),
            )

    def check_limits_used(
        self, document: Document, path: Path, model: RuleModel, limits: Iterable[str]
    ) -> None:
        texts = (model.accept or "", model.applies or "")
        used: set[str] = set()
        for text in filter(None, texts):
            try:
                used |= _names(parse_formula(text))
            except FormulaError:
                return
        for name in limits:
            if name not in used or name in self.kinds:
                self.shelf.fault(
                    document,
                    (*path, "limits", name),
                    f"The limit {name!r} is used by no formula of the rule, "
                    "or has the name of an input or quantity.",
                    "Use it in `accept`, rename it or take it out.",
                )

    def reading_rules(self) -> Iterator[ReadingRule]:
        for _, file in self.shelf.rule_files:
            for name, model in file.reading.items():
                yield ReadingRule(
                    id=name,
                    ruleset=file.ruleset,
                    category=model.category,
                    asks=model.asks,
                    basis=model.basis,
                    remedy=model.remedy,
                )

    # --- parts ---

    def formula(
        self, document: Document, path: Path, text: str, scope: Scope | None = None
    ) -> Formula | None:
        try:
            return make_formula(text, scope or self.scope)
        except FormulaError as error:
            problem = f"{error.problem[0].upper()}{error.problem[1:]}:"
            marked = f"{error.marked()}\n"
            self.shelf.fault(document, path, f"{problem}\n{marked}", error.advice)
            return None

    def truth(
        self, document: Document, path: Path, text: str | None, scope: Scope
    ) -> Formula | None:
        if text is None:
            return None
        formula = self.formula(document, path, text, scope)
        if formula is not None and formula.kind is not Sort.TRUTH:
            self.shelf.fault(
                document,
                path,
                f"The formula gives {kind_name(formula.kind)}, not true or false.",
                "Compare it with a limit.",
            )
        return formula

    def template(
        self, document: Document, path: Path, text: str, scope: Scope
    ) -> Template | None:
        try:
            return make_template(text, scope, self.units)
        except TemplateError as error:
            self.shelf.fault(
                document, path, f"In {error.slot!r} {error.problem}.", error.advice
            )
            return None


def _unit_kind(unit: str | None) -> Kind:
    return NONE if unit is None else unit_named(unit).dimension


def _names(node: Node) -> set[str]:
    if isinstance(node, Name):
        return {node.path}
    return set().union(*(_names(child) for child in children(node)))


def _names_in(model: QuantityModel) -> set[str]:
    texts = [model.formula]
    if model.fallback is not None:
        texts.append(model.fallback.formula)
    names: set[str] = set()
    for text in texts:
        try:
            names |= _names(parse_formula(text))
        except FormulaError:
            continue
    return names
