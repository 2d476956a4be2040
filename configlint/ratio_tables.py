"""The conditions of tables of ratios, bound to the names there are.

A table is read before any name is known, so its formulas are made here, before those
of quantities and rules that look it up. They may name inputs, not quantities.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from configlint.bindings import Binder
from configlint.compiler import Function
from configlint.documents import Document
from configlint.errors import Path
from configlint.fingerprints import Fingerprint
from configlint.kinds import kind_name
from configlint.tables import Table
from configlint.units import NONE, dimension_named

__all__ = ["bind_ratio_tables"]


def bind_ratio_tables(binder: Binder) -> None:
    """Put tables whose rows know when they are meant in place of those as read.

    Faults go to the binder's shelf.
    """
    shelf = binder.shelf
    for name, table in shelf.tables.items():
        document = shelf.table_files[name]
        bound = tuple(
            _bound(binder, document, table, key, found)
            for key, found in table.fingerprints.items()
        )
        keyed = dict(zip(table.fingerprints, bound, strict=True))
        shelf.tables[name] = replace(table, fingerprints=keyed)


def _bound(
    binder: Binder, document: Document, table: Table, key: str, found: Fingerprint
) -> Fingerprint:
    model = table.as_read[key]
    row: Path = ("rows", key)
    computed = _computed(binder, document, (*row, "computed"), model.computed)
    if model.meant is None:
        return replace(found, computed=computed)
    below = (*row, "meant")
    when = binder.truth(document, (*below, "when"), model.meant.when, binder.scope)
    return replace(
        found,
        of=frozenset(_paths(binder, document, (*below, "of"), model.meant.of)),
        when=None if when is None else when.function,
        computed=computed,
    )


def _computed(
    binder: Binder, document: Document, path: Path, text: str | None
) -> Function | None:
    if text is None:
        return None
    formula = binder.formula(document, path, text, binder.scope)
    if formula is None:
        return None
    if formula.kind != NONE:
        binder.shelf.fault(
            document,
            path,
            f"The formula gives {kind_name(formula.kind)}, not a plain number.",
            "Divide by an amount of the same kind.",
        )
    return formula.function


def _paths(
    binder: Binder, document: Document, path: Path, of: tuple[str, ...]
) -> Iterator[str]:
    """The inputs that a row names, by themselves or by their kind."""
    for position, name in enumerate(of):
        if name in binder.kinds:
            yield name
            continue
        try:
            kind = dimension_named(name)
        except ValueError as error:
            binder.shelf.fault(
                document,
                (*path, position),
                f"There is no input {name!r}, and {error}",
                "Name an input by its path, or a kind of amount.",
            )
            continue
        yield from (each for each, known in binder.kinds.items() if known == kind)
