"""The site's own data as rule files declare them, checked at load.

Meter files hold them under `site_data`. Declared, a value is read as strictly as any
other, and rules may name it.
"""

from __future__ import annotations

from collections.abc import Mapping
from keyword import iskeyword

from configlint.documents import Document
from configlint.errors import Fault, Path
from configlint.fields import Day, Measured, Number, Scalar, Text, Truth
from configlint.inputs import input_of
from configlint.rule_files import SiteDataModel
from configlint.rules import SiteData
from configlint.shelf import RULE_FAULT, Shelf
from configlint.units import unit_named

__all__ = ["bind_site_data"]

MARKS: Mapping[str, Scalar] = {
    "text": Text(),
    "number": Number(),
    "truth": Truth(),
    "date": Day(),
}
"""What a value without a unit can be, by the word that rule files have for it."""


def bind_site_data(shelf: Shelf) -> SiteData:
    """Check what the files on a shelf declare of the site's own data.

    Files may repeat a declaration word for word. Faults go to the shelf.
    """
    declared: dict[str, tuple[Document, SiteDataModel]] = {}
    for document, file in shelf.rule_files:
        for name, model in file.site_data.items():
            _check(shelf, document, name, model)
            first, other = declared.setdefault(name, (document, model))
            if other != model:
                _refuse_second(shelf, document, name, first)
    marks = {name: _mark(model) for name, (_, model) in declared.items()}
    inputs = (
        input_of(f"site_data.{name}", marks[name], model.means)
        for name, (_, model) in declared.items()
    )
    return SiteData(marks, {each.path: each for each in inputs})


def _check(shelf: Shelf, document: Document, name: str, model: SiteDataModel) -> None:
    path: Path = ("site_data", name)
    if not (name.isascii() and name.isidentifier()) or iskeyword(name):
        problem = f"The name {name!r} is no plain name."
        advice = (
            "Write letters, digits and underscores, no digit first, and no word of "
            "the formulas."
        )
        shelf.fault(document, path, problem, advice, at_key=True)
    if model.unit and model.kind:
        problem = f"{name} has both a unit, {model.unit}, and a kind, {model.kind}."
        advice = "Leave the kind out, since the unit says what is measured."
        shelf.fault(document, (*path, "kind"), problem, advice)


def _refuse_second(
    shelf: Shelf, document: Document, name: str, first: Document
) -> None:
    path: Path = ("site_data", name)
    place, before = document.key_place(path), first.key_place(path)
    problem = f"site_data.{name} is declared otherwise in another place."
    advice = "Declare it once, or in the same words."
    shelf.faults.append(Fault(RULE_FAULT, place, problem, advice, path, before))


def _mark(model: SiteDataModel) -> Scalar:
    """What the text of a value can be."""
    if model.unit:
        return Measured(unit_named(model.unit).kind, unit=model.unit)
    return MARKS[model.kind or "text"]
