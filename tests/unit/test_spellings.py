"""Laws of spellings.yaml and of the advice for a spelling that is not in it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from configlint import units
from configlint.units import (
    QuantityError,
    dimension_name,
    dimension_named,
    nearest_spellings,
    parse_quantity,
    spellings,
    unit_named,
)

SOURCE = Path(units.__file__).with_name("spellings.yaml")

KINDS = {
    *("volume flow", "mass flow", "volume", "mass", "length", "area", "current"),
    *("voltage", "resistance", "conductivity", "frequency", "time", "temperature"),
    *("pressure", "dynamic viscosity", "kinematic viscosity", "density", "velocity"),
    *("ratio", "pulses per volume", "resistance per length"),
    "capacitance per length",
}


@pytest.fixture(scope="module")
def content() -> Any:
    """Give spellings.yaml as another reader, which refuses repeated keys, reads it."""
    return YAML(typ="safe").load(SOURCE)


def written_spellings(content: Any) -> list[str]:
    """Give every spelling of the file, in its order."""
    return [
        spelling
        for systems in content["units"].values()
        for entries in systems.values()
        for key in entries
        for spelling in key.split(", ")
    ]


def test_capitals_differ() -> None:
    """Spellings that differ in capitals alone are different spellings."""
    assert unit_named("Ml/d").factor == 10**9 * unit_named("ml/h").factor / 24
    with pytest.raises(QuantityError, match="Write m3/h, if that is meant"):
        unit_named("M3/H")


def test_look_alike_characters_mean_the_same() -> None:
    """The two micro signs, the two ohm signs and raised figures are all understood."""
    alike = [
        ("uS/cm", "\u00b5S/cm", "\u03bcS/cm"),
        ("ohm", "\u2126", "\u03a9"),
        ("m3/h", "m³/h", "m^3/h"),
        ("degC", "°C", "\u2103"),
        ("mPa.s", "mPa·s", "mPa⋅s", "mPa s"),
    ]
    for each in alike:
        known = [unit_named(spelling) for spelling in each]
        assert len({(unit.kind, unit.factor, unit.offset) for unit in known}) == 1


def test_the_list_covers_the_trade() -> None:
    """There are at least 140 spellings, and some for every kind a meter states."""
    assert len(spellings()) >= 140
    assert {unit.kind for unit in spellings().values()} >= KINDS


def test_every_spelling_is_read_back() -> None:
    """Every spelling is read behind a number, and names itself."""
    for spelling, unit in spellings().items():
        assert unit.spelling == spelling
        assert parse_quantity(f"500 {spelling}").unit is unit


def test_every_kind_has_a_dimension_of_its_own() -> None:
    """No two kinds share a dimension, so that a dimension has one name."""
    kinds = {unit.kind for unit in spellings().values()}
    assert len({dimension_named(kind) for kind in kinds}) == len(kinds)
    for unit in spellings().values():
        assert dimension_name(unit.dimension) == unit.kind


def test_every_kind_has_its_si_unit() -> None:
    """Every kind but the ratio has a spelling of factor 1, to report amounts in."""
    coherent = {unit.kind for unit in spellings().values() if unit.factor == 1}
    kinds = {unit.kind for unit in spellings().values()}
    assert kinds - coherent == {"ratio"}


def test_no_spelling_is_written_twice(content: Any) -> None:
    """The file states every spelling once, and every one reaches the table."""
    written = written_spellings(content)
    assert len(set(written)) == len(written)
    assert written == list(spellings())


def test_spellings_are_plain(content: Any) -> None:
    """A spelling has no outer space, no digit first but 1, and no invisible sign."""
    for spelling in written_spellings(content):
        assert spelling.isprintable()
        assert spelling == spelling.strip()
        assert not spelling[0].isdigit() or spelling.startswith("1/")


def test_systems_are_known() -> None:
    """A unit is of one system, of the US and imperial ones, or of all."""
    for unit in spellings().values():
        assert unit.system in {"SI", "US", "imperial", "any"}
        assert not unit.shared or unit.system == "US"
    assert unit_named("mm").systems == {"SI"}
    assert unit_named("in").systems == {"US", "imperial"}
    assert unit_named("US_gal").systems == {"US"}
    assert unit_named("imp_gal").systems == {"imperial"}
    assert unit_named("mA").systems == {"SI", "US", "imperial"}


def test_every_bare_gallon_and_barrel_is_open() -> None:
    """A spelling is open exactly when it leaves the kind of gallon or barrel unsaid."""
    bare = {"gal", "gpm", "gph", "gpd", "MGD", "bbl"}
    for spelling, unit in spellings().items():
        words = spelling.replace("/", " ").split()
        unsaid = "US" not in spelling and "imp" not in spelling
        is_bare = unsaid and any(
            word.removeprefix("k").removeprefix("M") in bare or word == "MGD"
            for word in words
        )
        assert bool(unit.open) == is_bare, spelling
        thing = "barrel" if "bbl" in spelling else "gallon"
        assert not unit.open or unit.open.startswith(f"{thing} ")


def test_an_open_spelling_is_taken_as_said() -> None:
    """A bare gallon is the US one, and a bare barrel the oil barrel."""
    assert unit_named("gal").factor == unit_named("US_gal").factor
    assert unit_named("gpm").factor == unit_named("US_gpm").factor
    assert unit_named("bbl/d").factor == 42 * unit_named("US_gal/d").factor


def test_advice_is_never_open() -> None:
    """For an open spelling the advice is spellings that say which unit is meant."""
    for spelling, unit in spellings().items():
        near = nearest_spellings(spelling)
        assert near
        assert not any(unit_named(each).open for each in near)
        if unit.open:
            assert unit.factor in {unit_named(each).factor for each in near}


def test_mistakes_lead_to_spellings(content: Any) -> None:
    """Every mistake of the table is refused, and its first answer is offered first."""
    for wrong, right in content["mistakes"].items():
        answers = [right] if isinstance(right, str) else right
        assert wrong not in spellings()
        assert all(answer in spellings() for answer in answers)
        assert nearest_spellings(wrong)[0] == answers[0]


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("m3/hr", ("m3/h",)),
        ("lps", ("l/s",)),
        ("GPM", ("US_gpm", "imp_gpm")),
        ("mgd", ("US_MGD", "imp_MGD")),
        ("DEGC", ("degC",)),
        ("m³ / h", ("m3/h",)),
        ("lb/GAL", ("lb/US_gal", "lb/imp_gal")),
        ("Bbl/D", ("oil_bbl/d",)),
        ("us gal / min", ("US_gal/min",)),
        ("ton", ("t", "US_ton", "imp_ton")),
        ("zzzzzz", ()),
        ("", ()),
        ("x" * 100_000, ()),
    ],
)
def test_the_nearest_spellings_are_offered(wrong: str, right: tuple[str, ...]) -> None:
    """What people write by mistake leads to what they mean, and nonsense nowhere."""
    assert nearest_spellings(wrong) == right


def test_as_many_spellings_as_asked_are_offered() -> None:
    """No more spellings are offered than asked for."""
    assert nearest_spellings("ton", 1) == ("t",)
    assert len(nearest_spellings("m3/x", 2)) == 2
