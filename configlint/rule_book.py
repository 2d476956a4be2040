"""Rule files to a rule book, or a refusal that names every fault in them.

The order is fixed: tables and type sheets, then the site's own data, then quantities,
then rules. Faults are collected over all files, each with its file and line.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any

from configlint.bindings import Binder
from configlint.compiler import CONSTANTS, Formula
from configlint.documents import Document
from configlint.errors import Path
from configlint.formula import names
from configlint.kinds import Kind, Sort, kind_name
from configlint.quantities import bind_quantities
from configlint.ratio_tables import bind_ratio_tables
from configlint.reading_chains import bind_readings
from configlint.rule_files import EffectModel, ProofModel, ReadingModel, RuleModel
from configlint.rules import (
    FLOW,
    AcrossRule,
    DerivedQuantity,
    EffectFormula,
    Limit,
    MeterRule,
    ReadingRule,
    RuleBook,
)
from configlint.settings import bind_settings
from configlint.shelf import Shelf
from configlint.templates import Template
from configlint.units import NONE, QuantityError, dimension_named, parse_quantity

__all__ = ["load_rule_book"]

NEEDED_OUTCOMES = ("conforms", "nonconforming")


def load_rule_book(*folders: FilePath) -> RuleBook:
    """Load all rule files of some folders as one book.

    A folder holds rule files, and below it `tables/`, `types/` (type sheets)
    and `sound/` (the meters that proofs start from). Raises `RunError` with all
    faults when a file can't be read, or a name, unit or dimension does not fit.

    >>> from configlint.data import data_folder
    >>> load_rule_book(data_folder("rules")).quantity_of["span"].unit
    'm3/h'
    """
    return _load(folders, FilePath.cwd(), tuple(map(_content, folders)))


def _content(folder: FilePath) -> str:
    """Give a digest of every file that a folder of rules could hold."""
    digest = hashlib.sha256()
    for file in sorted(folder.rglob("*.yaml")):
        if file.is_file() and os.access(file, os.R_OK):
            data = file.read_bytes()
            for part in (os.fsencode(file), str(len(data)).encode(), data):
                digest.update(part + b"\0")
    return digest.hexdigest()


@lru_cache(maxsize=8)
def _load(
    folders: tuple[FilePath, ...], _here: FilePath, _contents: tuple[str, ...]
) -> RuleBook:
    """Load a book, or give the one that was loaded of the same files before.

    A run of several workspaces or revisions asks for the standard rules again and
    again. Files are named as seen from the current folder, so that counts too.
    """
    shelf = Shelf()
    for folder in folders:
        shelf.take(folder)
    shelf.refuse_if_faulty()
    book = _bind(shelf)
    shelf.refuse_if_faulty()
    return book


def _bind(shelf: Shelf) -> RuleBook:
    """Turn the files on the shelf into a book; faults go back to the shelf."""
    _check_editions(shelf)
    _check_ids(shelf)
    binder = Binder(shelf)
    bind_ratio_tables(binder)
    quantities = bind_quantities(binder)
    rules = list(_rules(binder))
    return RuleBook(
        tuple(shelf.editions()),
        binder.scope,
        binder.units,
        quantities,
        tuple(rule for rule in rules if isinstance(rule, MeterRule)),
        tuple(rule for rule in rules if isinstance(rule, AcrossRule)),
        {rule.id: rule for rule in _reading_rules(binder)},
        shelf.type_sheets,
        shelf.sound_meters,
        _symbols(binder, quantities),
        bind_settings(binder),
        binder.site_data,
        bind_readings(binder),
    )


def _check_editions(shelf: Shelf) -> None:
    seen: dict[str, str] = {}
    for document, model in shelf.rule_files:
        first = seen.setdefault(model.ruleset, model.edition)
        if model.edition != first:
            shelf.fault(
                document,
                ("edition",),
                f"The rule set {model.ruleset!r} has edition {first!r} in "
                f"another file, {model.edition!r} here.",
                "Give all files of a rule set one edition.",
            )


def _check_ids(shelf: Shelf) -> None:
    seen: set[str] = set()
    for document, file in shelf.rule_files:
        judging = (("rules", name) for name in file.rules)
        reading = (("reading", name) for name in file.reading)
        for part, name in (*judging, *reading):
            if name in seen:
                problem = f"There is another rule {name!r}."
                advice = "Give it another id."
                shelf.fault(document, (part, name), problem, advice, at_key=True)
            seen.add(name)


def _symbols(binder: Binder, quantities: Iterable[DerivedQuantity]) -> dict[str, str]:
    """The symbols of quantities and inputs, each given once."""
    symbols = {each.name: each.symbol for each in quantities}
    for document, file in binder.shelf.rule_files:
        for name, symbol in file.symbols.items():
            path = ("symbols", name)
            binder.check_name(document, path, name)
            if name in symbols:
                problem = f"The value {name!r} has a symbol already: {symbols[name]}."
                advice = "Give a value one symbol."
                binder.shelf.fault(document, path, problem, advice)
            symbols[name] = symbol
    return symbols


def _reading_rules(binder: Binder) -> Iterator[ReadingRule]:
    for document, file in binder.shelf.rule_files:
        for name, model in file.reading.items():
            binder.check_basis(document, ("reading", name), model.basis)
            yield ReadingRule(
                id=name,
                ruleset=file.ruleset,
                category=model.category,
                asks=model.asks,
                basis=model.basis,
                remedy=model.remedy,
                limits=dict(_limits(binder, document, ("reading", name), model)),
            )


def _limits(
    binder: Binder, document: Document, path: Path, model: RuleModel | ReadingModel
) -> Iterator[tuple[str, Limit]]:
    """The limits of a rule that can be read as amounts."""
    for name, text in model.limits.items():
        try:
            quantity = parse_quantity(text)
        except QuantityError as error:
            below = (*path, "limits", name)
            binder.shelf.fault(document, below, error.problem, error.advice)
            continue
        unit = quantity.unit
        yield name, Limit(name, quantity.si, text, unit.spelling, unit.dimension)


def _rules(binder: Binder) -> Iterator[MeterRule | AcrossRule]:
    for document, file in binder.shelf.rule_files:
        for name, model in file.rules.items():
            rule = _RuleBinder(binder, document, ("rules", name), model)
            bound = rule.bind(name, file.ruleset)
            if bound is not None:
                yield bound


class _RuleBinder:
    """One rule on its way from its file into the book."""

    def __init__(
        self, binder: Binder, document: Document, path: Path, model: RuleModel
    ) -> None:
        self.binder = binder
        self.document = document
        self.path = path
        self.model = model

    def bind(self, name: str, ruleset: str) -> MeterRule | AcrossRule | None:
        """Check everything of the rule; None where something is wrong with it."""
        model, faults = self.model, self.binder.shelf.faults
        before = len(faults)
        self.check_form()
        self.check_names()
        self.check_proofs()
        limits = dict(_limits(self.binder, self.document, self.path, model))
        kinds = {limit.name: limit.kind for limit in limits.values()}
        accept = self.truth("accept", model.accept, kinds)
        applies = self.truth("applies", model.applies, kinds)
        if model.across is None:
            self.check_limits(limits, accept, applies)
        shared: dict[str, Any] = {
            "id": name,
            "ruleset": ruleset,
            "category": model.category,
            "asks": model.asks,
            "basis": model.basis,
            "applies": applies,
            "finding": self.text("finding", model.finding, kinds),
            "remedy": self.text("remedy", model.remedy, kinds),
            "settings": model.settings,
            "effect": self.effect(kinds),
            "is_net": model.net,
            "proposes_values": model.proposes_values,
            "proofs": model.proof,
            "place": self.document.key_place(self.path),
        }
        if len(faults) > before:
            return None
        across = model.across
        if across is None:
            own: dict[str, Any] = {"accept": accept, "limits": limits}
            return MeterRule(**own, **shared)
        scope, same, agree = across.scope, across.same, across.agree or ""
        return AcrossRule(scope=scope, same=same, agree=agree, **shared)

    def fault(self, below: Path, problem: str, advice: str) -> None:
        """Note a fault of a part of the rule, or of the rule as a whole."""
        path = (*self.path, *below)
        shelf = self.binder.shelf
        shelf.fault(self.document, path, problem, advice, at_key=not below)

    def truth(
        self, key: str, text: str | None, limits: Mapping[str, Kind]
    ) -> Formula | None:
        scope = self.binder.scope.with_limits(limits)
        return self.binder.truth(self.document, (*self.path, key), text, scope)

    def effect(self, limits: Mapping[str, Kind]) -> EffectFormula | None:
        """What a fault costs, where the rule says so."""
        model = self.model.effect
        if model is None or not self.is_one_effect(model, limits):
            return None
        lost = model.reading_error is None
        key = "lost_share" if lost else "reading_error"
        path = (*self.path, "effect", key)
        text = model.lost_share if lost else model.reading_error
        kinds = {**limits, FLOW: dimension_named("volume flow")}
        scope = self.binder.scope.with_limits(kinds)
        formula = self.binder.formula(self.document, path, text or "", scope)
        if formula is None:
            return None
        if formula.kind != NONE:
            self.fault(
                ("effect", key),
                f"The formula gives {kind_name(formula.kind)}, not a plain number.",
                "Divide by the flow, so that it is the error's share of it.",
            )
        return EffectFormula(model.of, key.replace("_", " "), formula)

    def is_one_effect(self, model: EffectModel, limits: Iterable[str]) -> bool:
        """Whether an effect has the form that one must have, pinned by a proof."""
        if not any(proof.effect for proof in self.model.proof):
            self.fault(
                ("effect",),
                "No proof says what the effect comes to.",
                "Write `effect: 20 %` beside the outcome of a nonconforming proof.",
            )
        both = (model.reading_error is None) == (model.lost_share is None)
        if both or self.model.across is not None or FLOW in limits:
            self.fault(
                ("effect",),
                "An effect is one formula, reading_error or lost_share, of a rule "
                f"about one meter without a limit named {FLOW}.",
                "Write one of them.",
            )
            return False
        return True

    def text(self, key: str, text: str, limits: Mapping[str, Kind]) -> Template | None:
        others = {} if self.model.across is None else {"others": Sort.PATHS}
        scope = self.binder.scope.with_limits({**limits, **others})
        return self.binder.template(self.document, (*self.path, key), text, scope)

    def check_form(self) -> None:
        """What kind of rule it is, and that it rests on something."""
        model = self.model
        if (model.accept is None) == (model.across is None):
            self.fault((), "A rule has either `accept` or `across`.", "Write one.")
        if model.across is not None and model.limits:
            self.fault(
                ("limits",),
                "A rule across meters has no limits.",
                "Compare with constants in `applies`, or take the limits out.",
            )
        if model.net and model.effect is None:
            self.fault(
                ("net",),
                "A net has an effect, and this rule has none.",
                "Write under `effect` what the faults come to, or take `net` out.",
            )
        self.binder.check_basis(self.document, self.path, model.basis)

    def check_names(self) -> None:
        """The values named outside formulas."""
        named: list[tuple[Path, str]] = [
            (("settings", position), name)
            for position, name in enumerate(self.model.settings)
        ]
        across = self.model.across
        if across is not None:
            named += [
                (("across", "same", position), name)
                for position, name in enumerate(across.same)
            ]
            if across.agree is not None:
                named.append((("across", "agree"), across.agree))
        for below, name in named:
            path = (*self.path, *below)
            self.binder.check_name(self.document, path, name)

    def check_proofs(self) -> None:
        """That proofs show both outcomes, and start from meters there are."""
        proofs = self.model.proof
        meters = [meter for proof in proofs for meter in proof.meters]
        given = {each.gives for each in proofs} | {each.gives for each in meters}
        for word in NEEDED_OUTCOMES:
            if word not in given:
                self.fault(
                    (),
                    f"The rule has no proof that gives {word!r}.",
                    "Write example meters on both sides of every limit.",
                )
        for position, proof in enumerate(proofs):
            self.check_proof(("proof", position), proof)

    def check_proof(self, below: Path, proof: ProofModel) -> None:
        if (proof.gives is None) == (not proof.meters):
            self.fault(
                below,
                "A proof has either `gives` or a list of `meters`.",
                "Write the outcome that the rule must have.",
            )
        sound = self.binder.shelf.sound_meters
        for base in (proof.base, *(meter.base for meter in proof.meters)):
            if base not in sound:
                self.fault(
                    below,
                    f"There is no sound meter {base!r} for a proof to start from.",
                    f"There are {', '.join(sound) or 'none'}.",
                )

    def check_limits(
        self, limits: Iterable[str], accept: Formula | None, applies: Formula | None
    ) -> None:
        """That every limit has a name of its own, and that a formula uses it."""
        made = [each for each in (accept, applies) if each is not None]
        used = {name for formula in made for name in names(formula.tree)}
        written = (self.model.accept, self.model.applies)
        all_made = len(made) == sum(text is not None for text in written)
        for name in limits:
            if name in self.binder.kinds or name in CONSTANTS:
                self.fault(
                    ("limits", name),
                    f"The limit {name!r} has the name of another value.",
                    "Give it a name of its own.",
                )
            elif all_made and name not in used:
                self.fault(
                    ("limits", name),
                    f"The limit {name!r} is used by no formula of the rule.",
                    "Use it in `accept` or `applies`, or take it out.",
                )
