"""Look-up tables beside the rules: rows of declared columns, each with a source.

A table file holds `table` (its name), `means`, `columns` and `rows`. A column is
an amount (`unit`) or a text; a row may be found under other names too (`also`),
and says where its figures come from. A table of ratios, which names a column under
`matched_by`, is looked up by a ratio instead, and its rows say when they are meant.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import Field

from configlint.diagnosis import ratio_slip
from configlint.documents import Document
from configlint.errors import Fault, RunError
from configlint.fields import Model, Text, UnitSpelling, validate
from configlint.fingerprints import Fingerprint, Seen
from configlint.kinds import Kind, Sort
from configlint.units import NONE, QuantityError, Unit, parse_quantity, unit_named

__all__ = ["Column", "Table", "TableFile", "read_table"]

TABLE_FAULT = "rule-file-sound"
Words = Annotated[str, Text()]
Spelling = Annotated[str, UnitSpelling()]


class ColumnModel(Model):
    """What one column holds: an amount in `unit`, or a text where none is said."""

    means: Words = Field(title="What the column holds")
    unit: Spelling | None = Field(None, title="Unit; a text column has none")


class MeantModel(Model):
    """When a row of a table of ratios can be meant; without it, always."""

    of: tuple[Words, ...] = Field(
        (),
        title="What the ratio must be of: kinds of amount, or inputs",
        description="One of them is enough. Without any, it can be of anything.",
    )
    between: tuple[Spelling, ...] = Field(
        (),
        title="The two units that were mixed up",
        description=(
            "A row both of whose units the file uses is told first, one with a unit "
            "that neither file nor site knows as the less likely."
        ),
    )
    needs: tuple[Spelling, ...] = Field(
        (), title="Units one of which, or one made of it, the file must use"
    )
    when: Words | None = Field(
        None, title="Formula that must not be false; it may name inputs alone"
    )


class RowModel(Model):
    """One row: the figures of each column, other names, source and mark."""

    values: dict[str, str] = Field(title="The row's value in each column")
    computed: Words | None = Field(
        None,
        title="Formula of the row's ratio, where it is the meter's own",
        description="For a table of ratios. It may name inputs and other tables.",
    )
    meant: MeantModel | None = Field(
        None, title="When a row of a table of ratios can be meant"
    )
    also: tuple[Words, ...] = Field((), title="Other names of the row")
    source: Words = Field(title="Where the figures are from")


class TableFile(Model):
    """A look-up table as its file holds it."""

    table: Words = Field(title="The table's name in formulas")
    means: Words = Field(title="What the table is for")
    columns: dict[str, ColumnModel]
    rows: dict[str, RowModel]
    matched_by: Words | None = Field(
        None,
        title="Column of ratios that a formula's number is held against",
        description="Without it a row is looked up by its name.",
    )


@dataclass(frozen=True, slots=True)
class Column:
    """A column's kind, its unit ("" for texts) and its meaning."""

    kind: Kind
    unit: str
    means: str

    @property
    def missing(self) -> float | None:
        """What a formula gets where a row leaves the column open."""
        return None if isinstance(self.kind, Sort) else math.nan


@dataclass(frozen=True, slots=True)
class Table:
    """A look-up table: SI amounts and texts by row and column.

    `as_read` holds every row as its file writes it, under each of its names, and
    `fingerprints` those of a table of ratios.
    """

    name: str
    means: str
    columns: Mapping[str, Column]
    rows: Mapping[str, Mapping[str, Any]]
    sources: Mapping[str, str]
    empty: Mapping[str, Any]
    matched_by: str = ""
    as_read: Mapping[str, RowModel] = field(default_factory=dict)
    fingerprints: Mapping[str, Fingerprint] = field(default_factory=dict)

    @property
    def key(self) -> Kind:
        """What a formula looks a row up by: its name, or a ratio."""
        return NONE if self.matched_by else Sort.TEXT

    def look_up(self, key: Any, column: str) -> Any:
        """Give a value of the row of a name; missing where row or value is."""
        return self.rows.get(key, self.empty)[column]

    def match(
        self,
        ratio: float,
        column: str,
        compared: tuple[str, ...],
        values: Mapping[str, Any],
        written: Mapping[str, Any],
    ) -> str:
        """Give a sentence with the texts of the rows that a ratio can mean, or "".

        `compared` are the inputs that it is a ratio of, the rest the meter's facts.
        """
        seen = Seen(compared, values, written)
        return ratio_slip(
            ratio,
            (
                each.suspect(column, seen)
                for each in self.fingerprints.values()
                if each.texts[column] is not None
            ),
        )


def read_table(document: Document) -> Table:
    """Read a table's file.

    Raises `RunError` naming every row that does not fit its columns.
    """
    model, faults = validate(TableFile, document)
    if model is None or faults:
        raise RunError(*faults)
    columns = {name: _column(column) for name, column in model.columns.items()}
    wrong = (
        *_repeated(document, model),
        *_misfits(document, model, columns),
        *_unmatchable(document, model, columns),
    )
    if wrong:
        raise RunError(*wrong)
    empty = {name: column.missing for name, column in columns.items()}
    named = [
        (name, row) for key, row in model.rows.items() for name in (key, *row.also)
    ]
    rows = {name: {**empty, **_row(row, columns)} for name, row in named}
    return Table(
        model.table,
        model.means,
        columns,
        rows,
        {key: row.source for key, row in model.rows.items()},
        empty,
        model.matched_by or "",
        dict(named),
        dict(_fingerprints(model, rows)),
    )


def _fingerprints(
    model: TableFile, rows: Mapping[str, Mapping[str, Any]]
) -> Iterator[tuple[str, Fingerprint]]:
    if model.matched_by is not None:
        for key, row in model.rows.items():
            ratio, meant = rows[key][model.matched_by], row.meant or MeantModel()
            yield key, Fingerprint(rows[key], ratio, meant.between, meant.needs)


def _column(column: ColumnModel) -> Column:
    if column.unit is None:
        return Column(Sort.TEXT, "", column.means)
    unit: Unit = unit_named(column.unit)
    return Column(unit.dimension, column.unit, column.means)


def _row(row: RowModel, columns: Mapping[str, Column]) -> dict[str, Any]:
    return {
        name: text if columns[name].kind is Sort.TEXT else parse_quantity(text).si
        for name, text in row.values.items()
    }


def _repeated(document: Document, model: TableFile) -> Iterator[Fault]:
    names: set[str] = set()
    for key, row in model.rows.items():
        for name in (key, *row.also):
            if name in names:
                yield Fault(
                    TABLE_FAULT,
                    document.key_place(("rows", key)),
                    f"Another row has the name {name!r} too.",
                    "Give every row names of its own.",
                    ("rows", key),
                )
            names.add(name)


def _unmatchable(
    document: Document, model: TableFile, columns: Mapping[str, Column]
) -> Iterator[Fault]:
    """A table of ratios has a ratio above 1 in every row, or a formula of one."""
    name = model.matched_by
    if name is None:
        yield from _without_ratios(document, model)
        return
    if name not in columns or columns[name].kind != NONE:
        problem = f"There is no column {name!r} of plain numbers to match by."
        advice = 'Declare it with the unit "%", and write bare numbers.'
        place = document.place(("matched_by",))
        yield Fault(TABLE_FAULT, place, problem, advice, ("matched_by",))
        return
    for key, row in model.rows.items():
        written = row.values.get(name)
        ratio = math.nan if written is None else _ratio(written)
        if (written is None) == (row.computed is None) or ratio <= 1:
            path = ("rows", key, "values")
            problem = f"The row {key!r} has no ratio above 1 in column {name!r}."
            advice = (
                "Write the ratio that the slip leaves, the larger way round, or its "
                "formula under `computed`."
            )
            yield Fault(TABLE_FAULT, document.place(path), problem, advice, path)
        elif row.meant is not None and not _is_between(ratio, row.meant.between):
            between = ("rows", key, "meant", "between")
            problem = f"The row {key!r} has not the ratio of the units it names."
            advice = "Name two units of one kind that leave it, to nine figures."
            yield Fault(TABLE_FAULT, document.place(between), problem, advice, between)


def _without_ratios(document: Document, model: TableFile) -> Iterator[Fault]:
    """Only rows that are matched by a ratio can say when it is meant."""
    for key, row in model.rows.items():
        for name, given in (("computed", row.computed), ("meant", row.meant)):
            if given is not None:
                path = ("rows", key, name)
                problem = f"The row {key!r} is looked up by its name."
                advice = "Name the column of ratios under `matched_by`."
                yield Fault(TABLE_FAULT, document.place(path), problem, advice, path)


def _ratio(text: str) -> float:
    """The number of a text; one that is no ratio where there is none."""
    try:
        return parse_quantity(text).si
    except QuantityError:
        return 0.0


def _is_between(ratio: float, between: tuple[str, ...]) -> bool:
    """Whether one unit over another, the larger way round, is a ratio; none may be."""
    units = [unit_named(spelling) for spelling in between]
    if len({unit.dimension for unit in units}) != 1 or len(units) != 2:
        return not units
    larger, smaller = sorted((unit.factor for unit in units), reverse=True)
    return math.isclose(float(larger / smaller), ratio, rel_tol=1e-9)


def _misfits(
    document: Document, model: TableFile, columns: Mapping[str, Column]
) -> Iterator[Fault]:
    for key, row in model.rows.items():
        for name, text in row.values.items():
            problem = _problem(columns.get(name), text)
            if problem:
                path = ("rows", key, "values", name)
                yield Fault(
                    TABLE_FAULT,
                    document.place(path),
                    f"{text!r} in column {name!r}: {problem}.",
                    "Write an amount in the column's kind of unit.",
                    path,
                )


def _problem(column: Column | None, text: str) -> str:
    if column is None:
        return "the table declares no such column"
    if column.kind is Sort.TEXT:
        return ""
    try:
        quantity = parse_quantity(text)
    except QuantityError as error:
        return error.problem.rstrip(".")
    if quantity.unit.dimension != column.kind:
        return f"the column is in {column.unit}, a different kind of unit"
    return ""
