"""What rule files say of the settings that rules name, checked at load.

A setting is adjustable, or a person reads it somewhere and states it. Of an
adjustable one some of the permissible values can be preferred: the figures that
every decade repeats, some amounts, or the rows of a table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal, InvalidOperation
from functools import cache
from types import MappingProxyType

from configlint.bindings import Binder
from configlint.compiler import offer_names
from configlint.documents import Document
from configlint.errors import Path
from configlint.fields import (
    Measured,
    Model,
    Number,
    Scalar,
    is_mapping,
    model_in,
    scalar_in,
)
from configlint.meters import PRINCIPLES
from configlint.rule_files import PreferredModel, SettingModel
from configlint.rules import Preferred, Setting, SiteData
from configlint.units import Quantity, QuantityError, parse_quantity

__all__ = ["SITE_DATA", "bind_settings", "declared_marks", "mark_of", "paths_of"]

SITE_DATA = "site_data"


@cache
def declared_marks() -> Mapping[str, Scalar]:
    """What the text of each value of a meter's file can be, by the value's path.

    >>> declared_marks()["pulse_output.pulse_weight"].expected
    'a volume or mass such as 10 l, above 0'
    """
    found: dict[str, Scalar] = {}
    for model in PRINCIPLES.values():
        found |= dict(_marks(model, ""))
    return MappingProxyType(found)


def _marks(model: type[Model], prefix: str) -> Iterator[tuple[str, Scalar]]:
    for name, given in model.model_fields.items():
        section, mark = model_in(given.annotation), scalar_in(given)
        if section is not None:
            yield from _marks(section, f"{prefix}{name}.")
        elif mark is not None and not is_mapping(given):
            yield prefix + name, mark


@cache
def paths_of(principle: str) -> frozenset[str]:
    """Name the values that the file of a meter of a principle may hold.

    Those of all principles are named for one that nobody knows.

    >>> "transmitter.k_factor" in paths_of("electromagnetic")
    False
    """
    model = PRINCIPLES.get(principle)
    return frozenset(declared_marks() if model is None else dict(_marks(model, "")))


def mark_of(path: str, own: SiteData) -> Scalar | None:
    """What the text of a value can be, of the site's own data too; None for no value.

    >>> mark_of("sensor.bor", SiteData()) is None
    True
    """
    section, _, name = path.partition(".")
    return own.marks.get(name) if section == SITE_DATA else declared_marks().get(path)


def bind_settings(binder: Binder) -> dict[str, Setting]:
    """Check what the files on the binder's shelf declare of settings, by path.

    A later rule set goes over an earlier one, so that a company can prefer values of
    its own. Faults go to the shelf.
    """
    settings: dict[str, Setting] = {}
    for document, file in binder.shelf.rule_files:
        for path, model in file.settings.items():
            here: Path = ("settings", path)
            before = settings.get(path)
            if before is not None and before.ruleset == file.ruleset:
                binder.shelf.fault(
                    document,
                    here,
                    f"The setting {path!r} is declared already.",
                    "Declare a setting once in a rule set.",
                    at_key=True,
                )
            settings[path] = _bound(binder, document, here, model, file.ruleset)
    return settings


def _bound(
    binder: Binder, document: Document, here: Path, model: SettingModel, ruleset: str
) -> Setting:
    path = str(here[-1])
    binder.check_basis(document, here, model.basis)
    mark = mark_of(path, binder.site_data)
    preferred = Preferred()
    if mark is None:
        problem = f"A meter's file has no value {path!r}."
        advice = offer_names(path, declared_marks())
        binder.shelf.fault(document, here, problem, advice, at_key=True)
    elif model.preferred is not None:
        below = (*here, "preferred")
        preferred = _Preferences(binder, document, below, mark).read(model.preferred)
    return Setting(
        path,
        ruleset,
        model.adjustable,
        model.where,
        preferred,
        model.basis,
        model.only_preferred,
    )


class _Preferences:
    """The preferred values of one setting on their way from a file into the book."""

    def __init__(
        self, binder: Binder, document: Document, path: Path, mark: Scalar
    ) -> None:
        self.binder = binder
        self.document = document
        self.path = path
        self.mark = mark

    def read(self, model: PreferredModel) -> Preferred:
        """Check and read the one key that says which values are preferred."""
        given = [key for key in PreferredModel.model_fields if getattr(model, key)]
        if len(given) != 1:
            keys = ", ".join(PreferredModel.model_fields)
            self.fault((), "Not one way of preferring is named.", f"Write one: {keys}.")
            return Preferred()
        if (given[0] == "table") is isinstance(self.mark, Measured | Number):
            self.fault(
                (given[0],),
                f"Here stands {self.mark.expected}, for which that says nothing.",
                "Prefer an amount by figures, digits or amounts, a text by a table.",
            )
            return Preferred()
        return Preferred(
            figures=tuple(self.figures(model)),
            amounts=tuple(self.amounts(model.amounts)),
            table=self.table(model.table or ""),
        )

    def figures(self, model: PreferredModel) -> Iterator[Decimal]:
        """Give the figures of a decade, in rising order."""
        if model.digits is not None:
            first = 10 ** int(model.digits.si - 1)
            yield from (Decimal(each) / first for each in range(first, 10 * first))
        good = [
            self.figure(position, text) for position, text in enumerate(model.figures)
        ]
        yield from sorted(each for each in good if each is not None)

    def figure(self, position: int, text: str) -> Decimal | None:
        """Read one figure of a decade, or note what is wrong with it."""
        try:
            figure = Decimal(text)
        except InvalidOperation:
            figure = Decimal(0)
        if 1 <= figure < 10:
            return figure
        problem = f"{text!r} is no figure from 1 up to 10."
        advice = "Write the figures of one decade, such as 1, 2 and 5."
        self.fault(("figures", position), problem, advice)
        return None

    def amounts(self, texts: tuple[str, ...]) -> Iterator[Quantity]:
        """Read the amounts, or note what is wrong with them."""
        for position, text in enumerate(texts):
            try:
                amount = parse_quantity(text)
            except QuantityError as error:
                self.fault(("amounts", position), error.problem, error.advice)
                continue
            kinds = self.mark.kinds if isinstance(self.mark, Measured) else ("ratio",)
            if amount.unit.kind in kinds:
                yield amount
            else:
                problem = f"{text!r} is of another kind of unit than the setting."
                advice = f"Write {self.mark.expected}."
                self.fault(("amounts", position), problem, advice)

    def table(self, name: str) -> str:
        """Check the name of a table."""
        tables = self.binder.shelf.tables
        if name and name not in tables:
            problem = f"There is no table {name!r}."
            self.fault(("table",), problem, offer_names(name, tables))
        return name

    def fault(self, below: Path, problem: str, advice: str) -> None:
        """Note a fault of a part of the preference."""
        path = (*self.path, *below)
        self.binder.shelf.fault(self.document, path, problem, advice)
