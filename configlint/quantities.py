"""The derived quantities of rule files, in an order in which none needs a later one."""

from __future__ import annotations

from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter

from configlint.bindings import Binder
from configlint.compiler import CONSTANTS, Formula
from configlint.documents import Document
from configlint.errors import Path, RunError
from configlint.formula import FormulaError, names
from configlint.kinds import Kind, Sort, kind_name
from configlint.parser import parse_formula
from configlint.rule_files import QuantityModel
from configlint.rules import DerivedQuantity
from configlint.units import NONE, unit_named

__all__ = ["bind_quantities"]

Written = Mapping[str, tuple[Document, QuantityModel]]


def bind_quantities(binder: Binder) -> tuple[DerivedQuantity, ...]:
    """Check and compile all quantities, and make their names known to the binder.

    Faults go to the binder's shelf. Raises `RunError` with all faults so far
    when quantities need each other in a ring.
    """
    written = _written(binder)
    bound = [
        _bound(binder, name, *written[name]) for name in _in_order(binder, written)
    ]
    return tuple(quantity for quantity in bound if quantity is not None)


def _written(binder: Binder) -> Written:
    """Find the quantities of all files, each under its own free name."""
    written: dict[str, tuple[Document, QuantityModel]] = {}
    for document, file in binder.shelf.rule_files:
        for name, model in file.quantities.items():
            taken = name in binder.kinds or name in written or name in CONSTANTS
            if taken or not name.isidentifier():
                binder.shelf.fault(
                    document,
                    ("quantities", name),
                    f"The name {name!r} is taken or is no plain name.",
                    "Give the quantity another name, of letters, digits and "
                    "underscores.",
                    at_key=True,
                )
            else:
                written[name] = (document, model)
    return written


def _in_order(binder: Binder, written: Written) -> list[str]:
    """Sort the quantities by what they need, in the same way on every run."""
    needs = {
        name: sorted(_names_in(model).intersection(written))
        for name, (_, model) in written.items()
    }
    try:
        return list(TopologicalSorter(needs).static_order())
    except CycleError as error:
        ring = list(dict.fromkeys(error.args[1]))
    document, _ = written[ring[0]]
    binder.shelf.fault(
        document,
        ("quantities", ring[0], "formula"),
        f"The quantities {', '.join(ring)} need each other in a ring.",
        "Take one of them from inputs alone.",
    )
    raise RunError(*binder.shelf.faults)


def _names_in(model: QuantityModel) -> set[str]:
    texts = [model.formula]
    if model.fallback is not None:
        texts.append(model.fallback.formula)
    found: set[str] = set()
    for text in texts:
        try:
            found.update(names(parse_formula(text)))
        except FormulaError:
            # The fault is told, with its mark, when the formula is made.
            continue
    return found


def _bound(
    binder: Binder, name: str, document: Document, model: QuantityModel
) -> DerivedQuantity | None:
    path: Path = ("quantities", name)
    binder.check_basis(document, path, model.basis)
    scope = binder.scope
    formula = binder.formula(document, (*path, "formula"), model.formula, scope)
    fallback, note = None, ""
    if model.fallback is not None:
        inner = (*path, "fallback", "formula")
        fallback = binder.formula(document, inner, model.fallback.formula, scope)
        note = model.fallback.note
    kind = _kind(model, formula)
    # Where formula and unit differ, what uses the quantity is checked by the formula.
    binder.kinds[name] = kind if formula is None else formula.kind
    binder.units[name] = unit = model.unit or ""
    if formula is not None:
        binder.origins[name] = scope.inputs_of(formula.tree)
    for part, found in (("formula", formula), ("fallback", fallback)):
        if found is not None and found.kind != kind:
            binder.shelf.fault(
                document,
                (*path, "unit"),
                f"The {part} of {name!r} gives {kind_name(found.kind)}, not "
                f"{kind_name(kind)} as its unit ({unit or 'none'}) says.",
                "Correct the formula or the unit.",
            )
    if formula is None:
        return None
    return DerivedQuantity(
        name,
        model.means,
        model.symbol,
        unit,
        formula,
        fallback,
        note,
        model.basis,
        document.key_place(path),
    )


def _kind(model: QuantityModel, formula: Formula | None) -> Kind:
    """The kind that the unit says; without one, a plain number or no amount at all."""
    if model.unit is not None:
        return unit_named(model.unit).dimension
    if formula is not None and isinstance(formula.kind, Sort):
        return formula.kind
    return NONE
