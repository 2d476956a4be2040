"""The readings that effects are of, and which goes by which, checked at load.

Rule files declare them once: by that a fault of one reading is known to bear on every
reading that is fed by it, also where no rule computes what they come to together.
"""

from __future__ import annotations

from collections.abc import Mapping

from configlint.bindings import Binder
from configlint.compiler import Formula
from configlint.documents import Document
from configlint.errors import Path
from configlint.rule_files import ReadingChainModel
from configlint.rules import FedReading

__all__ = ["bind_readings"]

Declared = Mapping[str, tuple[Document, ReadingChainModel]]


def bind_readings(binder: Binder) -> dict[str, FedReading]:
    """Give the readings that rule files declare, by name.

    Once some are declared, no effect can be of another. Faults go to the shelf.
    """
    declared: dict[str, tuple[Document, ReadingChainModel]] = {}
    for document, file in binder.shelf.rule_files:
        for name, model in file.readings.items():
            if name in declared:
                problem = f"The reading {name!r} is declared in another place too."
                path: Path = ("readings", name)
                advice = "Declare it once."
                binder.shelf.fault(document, path, problem, advice, at_key=True)
            declared.setdefault(name, (document, model))
    for name in declared:
        _check_feeders(binder, declared, name)
    if declared:
        _check_effects(binder, declared)
    return {
        name: FedReading(name, model.fed_by, _applies(binder, name, document, model))
        for name, (document, model) in declared.items()
    }


def _check_feeders(binder: Binder, declared: Declared, name: str) -> None:
    """That a reading goes by readings there are, and not by itself in the end."""
    document, model = declared[name]
    for position, feeder in enumerate(model.fed_by):
        path: Path = ("readings", name, "fed_by", position)
        if feeder not in declared:
            problem = f"There is no reading {feeder!r}."
            binder.shelf.fault(document, path, problem, _offered(declared))
        elif name in _upstream(declared, feeder):
            problem = f"The reading {name!r} goes by itself, through {feeder!r}."
            advice = "Name the readings before it in the chain alone."
            binder.shelf.fault(document, path, problem, advice)


def _upstream(declared: Declared, name: str) -> set[str]:
    """A reading and all that it goes by, directly or through others."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        reading = waiting.pop()
        if reading in declared and reading not in found:
            found.add(reading)
            waiting.extend(declared[reading][1].fed_by)
    return found


def _check_effects(binder: Binder, declared: Declared) -> None:
    """That every effect is of a declared reading, spelt alike."""
    for document, file in binder.shelf.rule_files:
        for name, model in file.rules.items():
            if model.effect is not None and model.effect.of not in declared:
                problem = f"There is no reading {model.effect.of!r}."
                path: Path = ("rules", name, "effect", "of")
                binder.shelf.fault(document, path, problem, _offered(declared))


def _offered(declared: Declared) -> str:
    return (
        f"Write one of: {', '.join(sorted(declared))}; or declare it under `readings`, "
        "with the readings that it is fed by."
    )


def _applies(
    binder: Binder, name: str, document: Document, model: ReadingChainModel
) -> Formula | None:
    path: Path = ("readings", name, "applies")
    return binder.truth(document, path, model.applies, binder.scope)
