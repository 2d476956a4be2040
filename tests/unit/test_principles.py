"""Laws of the principles of measurement: each is a model, a sound meter and rules.

What serves several principles, and what only one, is counted from the rule book by
asking the engine which rules apply to which sound meter.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

import jsonschema
import pytest

from configlint.data import data_folder
from configlint.documents import Document, read_document
from configlint.engine import CONFORMS, NOT_APPLICABLE, Judge, derive
from configlint.facts import facts, sheet_facts
from configlint.fields import validate
from configlint.meters import PRINCIPLES, MeterEntry, read_meters
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook, SoundMeter
from configlint.schemas import schemas
from configlint.sites import Site
from configlint.type_sheets import TypeSheet
from configlint.workspace_files import SiteFile

BOOK = load_rule_book(data_folder("rules"))
PROOF_DATE = date(2026, 1, 1)
SOUND = sorted(BOOK.sound_meters)
OTHERS = sorted(set(PRINCIPLES) - {"electromagnetic"})

# A key that one principle's sensor or transmitter has, misspelt, and its advice.
MISSPELT = (
    ("vortex", "sensor: {lowest_reynold_number: 1}", "lowest_reynolds_number"),
    ("ultrasonic", "sensor: {path: 2}", "paths"),
    ("coriolis", "transmitter: {zero_set: 1}", "zero_set_on"),
    ("turbine", "transmitter: {k_faktor: 1}", "k_factor"),
    ("positive displacement", "sensor: {rated_viskosity: {}}", "rated_viscosity"),
)


def document_of(value: object) -> Document:
    """Give a document that holds a value."""
    (document,) = read_document(b"{}", "sound.yaml").documents
    return replace(document, value=value)


def entry_of(sound: SoundMeter) -> MeterEntry:
    """Read a sound meter, which has no fault."""
    (entries, faults) = read_meters(document_of(dict(sound.meter)))
    assert faults == ()
    return entries[0]


def outcomes(sound: SoundMeter) -> dict[str, str]:
    """Judge a sound meter by every rule about one meter: the outcome by the rule."""
    site, _ = validate(SiteFile, document_of({"site": "proof", **sound.site}))
    named = {"type_sheet": "sound", **sound.type_sheet}
    sheet, faults = validate(TypeSheet, document_of(named))
    assert site is not None
    assert sheet is not None
    assert faults == ()
    known = facts(entry_of(sound).meter, Site.of(site), sheet_facts(sheet), PROOF_DATE)
    judged = Judge(BOOK).judge(derive(BOOK, known))
    ids = (rule.id for rule in BOOK.meter_rules)
    return {name: each.word for name, each in zip(ids, judged, strict=True)}


def principles_by_rule(book: RuleBook) -> dict[str, set[str]]:
    """Give the principles whose sound meters each rule applies to, by the rule."""
    found: dict[str, set[str]] = {rule.id: set() for rule in book.meter_rules}
    for sound in book.sound_meters.values():
        for name, word in outcomes(sound).items():
            if word != NOT_APPLICABLE:
                found[name].add(sound.meter["principle"])
    return found


def test_every_principle_has_a_sound_meter() -> None:
    """No principle is known that no proof could start from."""
    shown = {entry_of(each).meter.principle for each in BOOK.sound_meters.values()}
    assert shown == set(PRINCIPLES)


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_meter_is_read_by_its_own_model(name: str) -> None:
    """The principle that a meter names decides which model reads it."""
    meter = entry_of(BOOK.sound_meters[name]).meter
    assert type(meter) is PRINCIPLES[meter.principle]


@pytest.mark.parametrize("name", SOUND)
def test_the_schema_knows_a_sound_meter(name: str) -> None:
    """The schema of meters lets each principle's keys through, and no other's."""
    validator = jsonschema.Draft202012Validator(dict(schemas())["meter"])
    meter = dict(BOOK.sound_meters[name].meter)
    validator.validate(meter)
    other = "coriolis" if meter["principle"] != "coriolis" else "turbine"
    assert not validator.is_valid({**meter, "principle": other})


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_meter_conforms_to_every_rule(name: str) -> None:
    """No rule finds anything in a sound meter, or is left open, or all are idle."""
    counted = Counter(outcomes(BOOK.sound_meters[name]).values())
    assert counted.keys() == {CONFORMS, NOT_APPLICABLE}
    assert counted[CONFORMS] >= 50


@pytest.mark.parametrize(("principle", "text", "known"), MISSPELT)
def test_a_misspelt_key_is_met_with_the_nearest(
    principle: str, text: str, known: str
) -> None:
    """Each principle's own keys are offered where one is misspelt."""
    written = f"meter: FT-1\nprinciple: {principle}\n{text}\n"
    (document,) = read_document(written.encode(), "meter.yaml").documents
    _, (fault,) = read_meters(document)
    assert fault.kind == "key-known"
    assert known in fault.advice
    assert fault.place.line == 3


def test_a_key_of_another_principle_is_refused() -> None:
    """An excitation current is no setting of a turbine meter."""
    written = (
        b"meter: FT-1\nprinciple: turbine\ntransmitter: {excitation_current: 0.1 A}\n"
    )
    (document,) = read_document(written, "meter.yaml").documents
    _, (fault,) = read_meters(document)
    assert fault.kind == "key-known"


def test_rules_that_serve_several_principles() -> None:
    """Outputs, pulses, receivers and records are judged alike in every principle."""
    served = principles_by_rule(BOOK)
    common = {name for name, each in served.items() if each == set(PRINCIPLES)}
    assert len(common) >= 40
    assert {
        "receiver-scale-agrees",
        "pulse-weight-agrees",
        "site-unit-convention",
    } <= common


def test_rules_that_only_some_principles_have() -> None:
    """Each further principle has rules of its own, and takes none of another's."""
    served = principles_by_rule(BOOK)
    own = {name: each for name, each in served.items() if "electromagnetic" not in each}
    assert len(own) >= 12
    for principle in OTHERS:
        assert [name for name, each in own.items() if principle in each]
    alone = {name for name, each in served.items() if each == {"electromagnetic"}}
    assert {"excitation-current-agrees", "conductivity-sufficient"} <= alone
