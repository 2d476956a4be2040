"""The meters of a proof, made from a sound one and ready to be judged."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from configlint.documents import Document, read_document
from configlint.engine import Derived, derive, derive_told
from configlint.errors import ConfiglintError
from configlint.facts import Facts, facts, sheet_facts
from configlint.fields import validate
from configlint.meters import read_meters
from configlint.rule_files import ProofMeterModel, ProofModel
from configlint.rules import RuleBook
from configlint.type_sheets import TypeSheet
from configlint.units import Quantity
from configlint.workspace import Site, SiteFile

__all__ = ["PROOF_DATE", "Case", "ProofError", "make_case"]


@dataclass(frozen=True, slots=True)
class Case:
    """One proof made ready: its meters' values, and the outcomes they must have."""

    title: str
    meters: tuple[Derived, ...]
    sites: tuple[str, ...]
    gives: tuple[str, ...]
    missing: tuple[str, ...]
    effect: Quantity | None = None


PROOF_DATE = "2026-01-01"
"""The day that proofs judge dates as of, unless one says `run.date`."""


class ProofError(ConfiglintError):
    """A proof's meter that can't be read."""


def make_case(book: RuleBook, title: str, proof: ProofModel) -> Case:
    """Make the meters of a proof; raises `ProofError` where one can't be read."""
    parts: tuple[ProofMeterModel | ProofModel, ...] = proof.meters or (proof,)
    # What only a finding tells, an effect for one, is derived where it is asked for.
    how = derive if proof.effect is None else derive_told
    made = [_meter(book, part, how) for part in parts]
    return Case(
        title,
        tuple(derived for derived, _ in made),
        tuple(site for _, site in made),
        tuple(part.gives or "" for part in parts),
        proof.missing,
        proof.effect,
    )


def _meter(
    book: RuleBook,
    proof: ProofMeterModel | ProofModel,
    how: Callable[[RuleBook, Facts], Derived],
) -> tuple[Derived, str]:
    raw = _changed(book, proof)
    own = book.site_data
    entries, faults = read_meters(_document(raw["meter"]), own.marks)
    site_file, wrong = validate(SiteFile, _document({"site": "proof", **raw["site"]}))
    faults += wrong
    sheet, named = None, raw["meter"].get("type_sheet")
    if raw["type_sheet"] and named:
        document = _document({**raw["type_sheet"], "type_sheet": named})
        sheet, wrong = validate(TypeSheet, document)
        faults += wrong
    if faults or site_file is None:
        raise ProofError(" ".join(fault.sentence for fault in faults))
    site = Site.of(site_file)
    of_type = None if sheet is None else sheet_facts(sheet)
    day = _day(raw["run"])
    known = facts(entries[0].meter, site, of_type, day, own.inputs)
    return how(book, known), site.name


def _day(run: Mapping[str, str]) -> date | None:
    """The day that a proof judges dates as of; taken out, there is none."""
    if "date" not in run:
        return None
    try:
        return date.fromisoformat(run["date"])
    except ValueError as error:
        raise ProofError(f"run.date: {error}") from None


def _document(value: Mapping[str, Any]) -> Document:
    (document,) = read_document(b"{}", "proof").documents
    return replace(document, value=value)


def _changed(
    book: RuleBook, proof: ProofMeterModel | ProofModel
) -> dict[str, dict[str, Any]]:
    sound = book.sound_meters[proof.base]
    raw: dict[str, Any] = {
        "meter": copy.deepcopy(dict(sound.meter)),
        "site": copy.deepcopy(dict(sound.site)),
        "type_sheet": copy.deepcopy(dict(sound.type_sheet)),
        "run": {"date": PROOF_DATE},
    }
    for path in proof.without:
        _take_out(*_target(raw, path))
    for path, text in proof.written.items():
        _put(*_target(raw, path), text)
    return raw


def _target(raw: dict[str, Any], path: str) -> tuple[dict[str, Any], list[str]]:
    """Find the part of the proof that a path leads into, and its steps there."""
    first, *others = path.split(".")
    if path == "site.name":
        return raw["site"], ["site"]
    if others and first in ("site", "type_sheet", "run"):
        return raw[first], others
    return raw["meter"], [first, *others]


def _take_out(part: dict[str, Any], steps: list[str]) -> None:
    *way, last = steps
    holder: Any = part
    for step in way:
        holder = holder.get(step) if isinstance(holder, dict) else None
    if not isinstance(holder, dict) or last not in holder:
        raise ProofError(f"{'.'.join(steps)} is not in the sound meter")
    del holder[last]


def _put(part: dict[str, Any], steps: list[str], text: str) -> None:
    *way, last = steps
    for step in way:
        inner = part.get(step)
        if not isinstance(inner, dict):
            inner = part[step] = {}
        part = inner
    part[last] = text
