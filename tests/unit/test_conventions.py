"""Laws of conventions: which unit stands for another, and whose units people use."""

from __future__ import annotations

from typing import Any

import pytest

from configlint.conventions import COUNTERPARTS, convention_of, counterpart
from configlint.units import unit_named


@pytest.mark.parametrize("system", sorted(COUNTERPARTS))
def test_a_counterpart_is_of_the_same_kind_and_of_its_system(system: str) -> None:
    """A unit stands for one of its own dimension, and belongs to the system asked."""
    assert len(COUNTERPARTS[system]) >= 10
    for metric, other in COUNTERPARTS[system].items():
        first, second = unit_named(metric), unit_named(other)
        assert first.kind == second.kind
        assert "SI" in first.systems
        assert system in second.systems


@pytest.mark.parametrize("system", ["SI", "any", ""])
def test_the_si_has_no_counterparts(system: str) -> None:
    """Nobody of the SI is told another unit."""
    assert counterpart("m/s", system) == ""


@pytest.mark.parametrize(
    ("values", "system"),
    [
        ({}, "SI"),
        ({"site.unit_convention": None, "notation.unit_systems": ()}, "SI"),
        ({"site.unit_convention": None, "notation.unit_systems": ("US",)}, "US"),
        ({"site.unit_convention": None, "notation.unit_systems": ("SI", "US")}, "SI"),
        ({"site.unit_convention": "SI", "notation.unit_systems": ("US",)}, "SI"),
        ({"site.unit_convention": "imperial"}, "imperial"),
    ],
)
def test_the_site_says_whose_units_count(values: dict[str, Any], system: str) -> None:
    """A site's convention goes before the units that its file happens to be in."""
    assert convention_of(values) == system
