"""Formulas and finding texts of rule files, bound to the names there are.

What does not fit becomes a fault at its file and line, with a mark under the
fault of a formula.
"""

from __future__ import annotations

from configlint.compiler import Formula, Scope, make_formula, offer_names
from configlint.documents import Document
from configlint.errors import Path
from configlint.formula import FormulaError
from configlint.inputs import declared_inputs
from configlint.kinds import Kind, Sort, kind_name
from configlint.rule_files import BasisModel
from configlint.shelf import Shelf
from configlint.site_data import bind_site_data
from configlint.templates import Template, TemplateError, make_template

__all__ = ["Binder"]


class Binder:
    """The names known so far with their kinds and units; faults go to the shelf."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self.site_data = bind_site_data(shelf)
        inputs = {**declared_inputs(), **self.site_data.inputs}
        self.kinds: dict[str, Kind] = {p: i.kind for p, i in inputs.items()}
        self.units = {path: given.unit for path, given in inputs.items()}
        choices = {p: i.choices for p, i in inputs.items() if i.choices}
        self.origins: dict[str, tuple[str, ...]] = {}
        self.scope = Scope(self.kinds, {}, shelf.tables, choices, self.origins)

    def formula(
        self, document: Document, path: Path, text: str, scope: Scope
    ) -> Formula | None:
        """Make a formula, or note what is wrong with it."""
        try:
            return make_formula(text, scope)
        except FormulaError as error:
            problem = f"{error.problem[0].upper()}{error.problem[1:]}:"
            marked = f"{error.marked()}\n"
            self.shelf.fault(document, path, f"{problem}\n{marked}", error.advice)
            return None

    def truth(
        self, document: Document, path: Path, text: str | None, scope: Scope
    ) -> Formula | None:
        """Make a formula that gives true or false, or note why it is none."""
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
        """Make a finding text, or note what is wrong with it."""
        try:
            return make_template(text, scope, self.units)
        except TemplateError as error:
            self.shelf.fault(
                document, path, f"In {error.slot!r} {error.problem}.", error.advice
            )
            return None

    def check_name(self, document: Document, path: Path, name: str) -> None:
        """Note a fault where there is no value of a name."""
        if name not in self.kinds:
            problem = f"There is no value {name!r}."
            advice = offer_names(name, self.kinds)
            self.shelf.fault(document, path, problem, advice)

    def check_basis(self, document: Document, path: Path, basis: BasisModel) -> None:
        """Note a fault where nothing is named that a rule or quantity rests on."""
        if not (basis.practice or basis.standard or basis.published):
            self.shelf.fault(
                document,
                (*path, "basis"),
                "Nothing is named that this rests on.",
                "Name a standard, a publication or the practice.",
            )
