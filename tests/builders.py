"""Small builders of what many tests start from: documents, meters, rule books."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from configlint.compiler import Scope
from configlint.data import data_folder
from configlint.documents import Document, read_document
from configlint.effects import Amount, AtFlow, Effect
from configlint.engine import NONCONFORMING, Derived, derive_told
from configlint.errors import Place
from configlint.facts import Facts, facts
from configlint.findings import Finding, Subject
from configlint.kinds import Kind, Sort
from configlint.meters import read_meters
from configlint.operators import OPERATORS
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook
from configlint.sites import Site
from configlint.tables import Column, Table
from configlint.units import NONE, dimension_named
from tests.workspaces import write

VELOCITY = dimension_named("velocity")
LENGTH = dimension_named("length")
FLOW = dimension_named("volume flow")
TIME = dimension_named("time")

SOUND_METER = """\
sound: separate
meter:
  meter: FT-1
  principle: electromagnetic
  sensor: {bore: 100 mm, nominal_size: DN 100, lining: hard rubber}
  transmitter: {damping: 3 s}
  current_output: {lower_range_value: 0 m3/h, upper_range_value: 100 m3/h}
  receiver: {bus: not used}
site: {mains_frequency: 50 Hz}
type_sheet: {upstream_straight: "5"}
"""

SIZES = """\
table: sizes
means: Bores of nominal sizes
columns:
  bore: {means: The bore, unit: mm}
  word: {means: The size in a word}
rows:
  DN 100: {also: [NPS 4], values: {bore: 100 mm, word: small}, source: Invented}
  DN 200: {values: {word: large}, source: Invented}
"""

MADE_RULE = """\
rules:
  made-rule:
    category: B
    asks: Is it right?
    finding: It is wrong.
    remedy: Correct it.
    basis: {practice: Common}
"""
MADE_HEAD = f'ruleset: made\nedition: "1"\n{MADE_RULE}'
BOTH_PROVEN = "    proof: [{gives: conforms}, {gives: nonconforming}]\n"
"""What a rule's text ends with where it is not its proofs that are tried."""

DAMPING_RULE = """\
ruleset: own
edition: "1"
rules:
  own-damping:
    category: C
    asks: Is the damping short?
    limits: {longest: 5 s}
    accept: transmitter.damping <= longest
    finding: The damping is {transmitter.damping}.
    remedy: Shorten it.
    settings: [transmitter.damping]
    basis: {practice: Common}
    proof: [{gives: conforms}, {with: {transmitter.damping: 9 s}, gives: nonconforming}]
"""
"""A rule set of a workspace's own, of one rule that is weakly proven."""

# Rules of every form, each part of them sound.
SOUND_RULES = """\
ruleset: made
edition: "1"
quantities:
  speed:
    means: Velocity at the upper range value
    symbol: v
    formula: current_output.upper_range_value / area
    unit: m/s
    basis: {practice: Continuity}
  area:
    means: Cross-section of the bore
    symbol: A
    formula: pi/4 * bore**2
    unit: m2
    basis: {practice: Geometry}
  bore:
    means: Inside diameter
    symbol: d
    formula: sensor.bore
    unit: mm
    fallback:
      formula: sizes[sensor.nominal_size].bore
      note: The bore is that of the nominal size.
    basis: {practice: Geometry}
rules:
  speed-in-band:
    category: B
    asks: Is the velocity inside the band?
    applies: given(current_output.upper_range_value)
    limits: {lowest: 0.3 m/s, highest: 10 m/s}
    accept: lowest <= speed <= highest
    finding: "The velocity is {speed [m/s] .2f}, outside {lowest} to {highest}."
    remedy: Change the range.
    settings: [current_output.upper_range_value]
    basis: {practice: Common}
    proof:
      - {gives: conforms}
      - {with: {sensor.bore: 10 mm}, gives: nonconforming}
  serial-unique:
    category: A
    asks: Is the serial number of the sensor given once?
    across: {scope: all sites, same: [sensor.serial], agree: meter}
    finding: "{others} have the serial number {sensor.serial} too."
    remedy: Correct it.
    settings: [sensor.serial]
    basis: {standard: ISO 0000, clause: "4", edition: "1999", status: from memory}
    proof:
      - {meters: [{gives: conforms}, {with: {meter: B}, gives: nonconforming}]}
reading:
  file-readable:
    category: A
    asks: Can the file be read?
    remedy: Make it readable.
    basis: {published: A handbook}
"""


def make_document(text: str, file: str = "made.yaml") -> Document:
    """Read the first document of a text."""
    return read_document(text.encode(), file).documents[0]


def make_scope(limits: Mapping[str, Kind] | None = None) -> Scope:
    """Make a scope with values of every kind, and the table `sizes`."""
    names: dict[str, Kind] = {
        "v": VELOCITY,
        "w": VELOCITY,
        "d": LENGTH,
        "pipe.bore": LENGTH,
        "n": NONE,
        "m": NONE,
        "day": Sort.DAY,
        "other_day": Sort.DAY,
        "tag": Sort.TEXT,
        "duty": Sort.TEXT,
        "flag": Sort.TRUTH,
        "other_flag": Sort.TRUTH,
        "output": Sort.SECTION,
        "places": Sort.PATHS,
        "systems": Sort.TEXTS,
    }
    tables = {"sizes": make_table()}
    return Scope(names, limits or {}, tables, {"duty": ("water", "slurry")})


def make_table() -> Table:
    """Make a table with an amount and a text, both open in one row."""
    columns = {
        "bore": Column(LENGTH, "mm", "The bore"),
        "word": Column(Sort.TEXT, "", "The size in a word"),
    }
    empty: dict[str, Any] = {name: each.missing for name, each in columns.items()}
    rows = {"DN 100": {"bore": 0.1, "word": "small"}, "DN 200": empty}
    return Table("sizes", "Bores", columns, rows, {}, empty)


def make_facts(changes: Mapping[str, str] | None = None, site: str = "north") -> Facts:
    """Make the facts of a bare meter, with the values written at some paths."""
    meter: dict[str, Any] = {"meter": "FT-1", "principle": "electromagnetic"}
    for path, text in (changes or {}).items():
        *way, last = path.split(".")
        part = meter
        for step in way:
            part = part.setdefault(step, {})
        part[last] = text
    entries, faults = read_meters(replace(make_document("{}"), value=meter))
    assert faults == ()
    return facts(entries[0].meter, Site(site, Path()), None)


def make_derived(book: RuleBook, changes: Mapping[str, str] | None = None) -> Derived:
    """Make a bare meter's facts, with the quantities of a book."""
    return derive_told(book, make_facts(changes))


def write_folder(folder: Path, rules: str, **others: str) -> Path:
    """Write a folder of rules with the sound meter and the table `sizes`.

    `others` are further files of rules by their names.
    """
    files = {
        "rules.yaml": rules,
        "sound/separate.yaml": SOUND_METER,
        "tables/sizes.yaml": SIZES,
        **{f"{name}.yaml": text for name, text in others.items()},
    }
    return write(folder, files)


def make_book(folder: Path, rules: str, **others: str) -> RuleBook:
    """Write a folder of rules and load it."""
    return load_rule_book(write_folder(folder, rules, **others))


@cache
def standard_book(own: str = "") -> RuleBook:
    """Load the standard rules, and a text of more rules beside them, once for all."""
    standard = data_folder("rules")
    if not own:
        return load_rule_book(standard)
    with TemporaryDirectory() as folder:
        return load_rule_book(standard, write(Path(folder), {"own.yaml": own}))


def joined(*parts: st.SearchStrategy[str], form: str) -> st.SearchStrategy[str]:
    """Put drawn texts into a form, such as that of a formula."""
    return st.tuples(*parts).map(lambda texts: form.format(*texts))


@cache
def validator_of(schema: str) -> Draft202012Validator:
    """Give the validator of a schema in the repository, by its name."""
    file = data_folder("schemas") / f"{schema}.schema.json"
    return Draft202012Validator(json.loads(file.read_text("utf-8")))


def computed(symbol: str, *operands: Any) -> Any:
    """Compute with an operator of the rule language."""
    return OPERATORS[symbol].evaluate(*operands)


FINDING = Finding(
    fingerprint="0123456789abcdef",
    subject=Subject("plant", "north", "FT-1", "FT-1.yaml"),
    place=Place("FT-1.yaml", 3, 5),
    pointer="/sensor/bore",
    rule="bore-right",
    category="B",
    outcome=NONCONFORMING,
    message="The bore is wrong.",
    values={},
    limits={},
    margin=None,
    assumptions=(),
    remedy="Correct it.",
    basis="Common (common practice)",
)
"""A finding with something in every part that can't be empty."""

EFFECT = Effect(
    of="The receiver",
    measure="reading error",
    relative=0.2,
    told_at="",
    at=(AtFlow("normal", Amount(100.0, "m3/h"), 0.2, Amount(20.0, "m3/h")),),
    per_year=Amount(175200.0, "m3"),
    hours=8760.0,
    hours_assumed=True,
)
"""An error of 20 % at every flow, 175 200 m3 in a year."""
