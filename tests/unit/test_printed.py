"""Laws of print: figures, signs and units as an engineer writes them."""

from __future__ import annotations

import pytest

from configlint.conventions import COUNTERPARTS
from configlint.printed import (
    SYSTEMS,
    UNITS,
    count_figures,
    print_exactly,
    print_number,
    print_symbol,
    print_unit,
    print_written,
    readable_unit,
    round_number,
    superscript,
    unit_in,
)
from configlint.units import from_si, spellings, unit_named


@pytest.mark.parametrize(
    ("number", "figures"),
    [
        ("1.0234", 5),
        ("0.00120", 3),
        ("250", 3),
        ("-5", 1),
        ("+1.50e3", 3),
        ("1E-9", 1),
        ("0", None),
        ("0.000", None),
    ],
)
def test_significant_figures_are_counted_as_written(
    number: str, figures: int | None
) -> None:
    """Noughts behind a figure count, noughts before it do not, and zero has none."""
    assert count_figures(number) == figures


@pytest.mark.parametrize(
    ("value", "figures", "printed"),
    [
        (2.7512, 3, "2.75"),
        (2.0, 3, "2.00"),
        (-0.5, 3, "−0.500"),
        (0.0001, 3, "0.000100"),
        (0.00001234, 3, "1.23·10⁻⁵"),
        (12345.0, 3, "12300"),
        (9999999.0, 7, "9999999"),
        (9999999.0, 3, "1.00·10⁷"),
        (-2.5e12, 2, "−2.5·10¹²"),
        (0.1 + 0.2, 17, "0.30000000000000004"),
        (0.0, 3, "0"),
    ],
)
def test_a_number_is_printed_to_its_figures(
    value: float, figures: int, printed: str
) -> None:
    """A number has just its figures, and a power of ten where it is far from 1."""
    assert print_number(value, figures) == printed


@pytest.mark.parametrize(
    ("value", "figures", "rounded"),
    [(0.125, 2, 0.13), (55.374999999999993, 4, 55.38), (-2.5, 1, -3.0), (1.0, 17, 1.0)],
)
def test_halves_go_up_as_by_hand(value: float, figures: int, rounded: float) -> None:
    """A half is rounded away from zero, though the machine's number lies below it."""
    assert round_number(value, figures) == rounded


@pytest.mark.parametrize(
    ("value", "printed"),
    [
        (419.0, "419"),
        (25.4, "25.4"),
        (0.1 + 0.2, "0.3"),
        (1e-9, "1·10⁻⁹"),
        (1e8, "1·10⁸"),
        (-2.5, "−2.5"),
        (0.0, "0"),
    ],
)
def test_an_exact_number_has_no_idle_noughts(value: float, printed: str) -> None:
    """What nothing rounds is printed with the figures it has, and no others."""
    assert print_exactly(value) == printed


@pytest.mark.parametrize(
    ("number", "printed"),
    [
        ("0.1550", "0.1550"),
        ("-5", "−5"),
        ("+5", "5"),
        ("1.50e3", "1.50·10³"),
        ("2E-06", "2·10⁻⁶"),
    ],
)
def test_a_written_number_keeps_its_figures(number: str, printed: str) -> None:
    """A number of a file is printed with every figure that was written."""
    assert print_written(number) == printed


def test_an_exponent_is_raised() -> None:
    """The figures of an exponent stand high, with their sign."""
    assert superscript("-10") == "⁻¹⁰"


def test_a_printed_unit_is_still_the_same_unit() -> None:
    """The print of every unit is itself a spelling that files may use for it."""
    for spelling, unit in spellings().items():
        printed = unit_named(print_unit(spelling))
        assert printed.kind == unit.kind, spelling
        assert (printed.factor, printed.offset) == (unit.factor, unit.offset), spelling


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_unit_has_one_of_each_system(system: str) -> None:
    """A unit of a system stays, and any other is told in a unit of that system."""
    for unit in spellings().values():
        shown = unit_in(unit, system)
        assert shown.dimension == unit.dimension
        assert system in shown.systems
        assert (shown == unit) is (system in unit.systems)


def test_a_sheet_has_the_units_of_the_findings() -> None:
    """What findings tell a US or imperial site in, its sheets are in as well."""
    for system, counterparts in COUNTERPARTS.items():
        for spelling, named in counterparts.items():
            assert unit_in(unit_named(spelling), system).spelling == named


def test_the_units_of_a_sheet_go_up_in_size() -> None:
    """Of each kind the smallest unit comes first, and all are of the one kind."""
    for system, kinds in UNITS.items():
        for kind, names in kinds.items():
            units = [unit_named(name) for name in names]
            assert {unit.kind for unit in units} == {kind}
            assert units == sorted(units, key=lambda unit: unit.factor)
            assert all(system == "any" or system in unit.systems for unit in units)


@pytest.mark.parametrize(
    ("value", "spelling", "system", "shown"),
    [
        (0.0177, "m2", "SI", "m2"),
        (3e-5, "m2", "SI", "mm2"),
        (0.0177, "m2", "US", "ft2"),
        (3e-5, "m2", "US", "in2"),
        (2.5e-4, "m3", "SI", "ml"),
        (1e8, "s", "SI", "year"),
        (3e-7, "A", "US", "uA"),
        (1e-9, "m/s", "SI", "m/s"),
        (1e-9, "%", "SI", "%"),
        (0.0, "m3", "SI", "m3"),
        (-4e-9, "m3/s", "SI", "l/h"),
    ],
)
def test_an_amount_is_shown_in_a_size_that_people_read(
    value: float, spelling: str, system: str, shown: str
) -> None:
    """A unit is left for a larger or smaller one only where its number is unwieldy."""
    assert readable_unit(value, unit_named(spelling), system).spelling == shown


def test_a_readable_number_keeps_its_unit() -> None:
    """From a hundredth to a hundred thousand a number stays in its own unit."""
    for number in (0.01, 99_999.0):
        unit = unit_named("m3")
        shown = readable_unit(number, unit, "SI")
        assert (shown, from_si(number, shown)) == (unit, number)


@pytest.mark.parametrize(
    ("symbol", "printed"),
    [
        ("v_URV", "v_URV"),
        ("tau_T", "τ_T"),
        ("e_rho", "e_ρ"),
        ("beta", "β"),
        ("kappa_low", "κ_low"),
        ("slip of the range", "slip of the range"),
        ("Delta_p", "Δ_p"),
    ],
)
def test_greek_letters_are_printed_as_letters(symbol: str, printed: str) -> None:
    """The name of a Greek letter in a symbol is printed as the letter."""
    assert print_symbol(symbol) == printed
