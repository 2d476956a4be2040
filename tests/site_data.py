"""Invented data of a site's own for tests: declared, and written by a meter."""

from __future__ import annotations

from configlint.errors import Fault
from configlint.facts import Facts, facts, mark_unreadable
from configlint.meters import MeterEntry, read_meters
from configlint.rules import RuleBook
from tests.builders import make_document

DECLARED = """\
ruleset: own
edition: "1"
site_data:
  pump_capacity: {means: Capacity of the duty pump, unit: m3/h}
  well_level: {means: Level of the well, unit: m}
  leak_share: {means: Share that leaks, unit: "%"}
  strokes: {means: Strokes in a minute, kind: number}
  asset_number: {means: Number of the asset}
  pump_maker: {means: Who made the pump, kind: text}
  metered: {means: The pump is metered, kind: truth}
  put_in_on: {means: Day the pump was put in, kind: date}
"""

RULE = """\
rules:
  made-rule:
    category: C
    asks: Is it so?
    accept: '{ACCEPT}'
    finding: '{FINDING}'
    remedy: Change it.
    settings: [site_data.pump_capacity]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""

METER = """\
meter: FT-1
principle: electromagnetic
site_data:
  pump_capacity: 240 m3/h
  leak_share: 5 %
  strokes: 120
  asset_number: 4711
  metered: true
  put_in_on: 2026-01-02
  spare: 7 mm
"""


def read(book: RuleBook, text: str = METER) -> tuple[MeterEntry, list[Fault]]:
    """Read the one meter of a text by what a book declares, with its faults."""
    document = make_document(text)
    (entry,), faults = read_meters(document, book.site_data.marks)
    return entry, [*document.faults, *faults]


def known_of(book: RuleBook, text: str = METER) -> Facts:
    """Give the facts of a meter, with what can't be read marked."""
    entry, _ = read(book, text)
    known = facts(entry.meter, own=book.site_data.inputs)
    mark_unreadable(known, entry.unreadable)
    return known
