"""Laws of reading meters and their facts, on random input."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from configlint.documents import Document, read_document
from configlint.errors import Path
from configlint.facts import facts
from configlint.fields import Model, model_in
from configlint.inputs import declared_inputs
from configlint.meters import ElectromagneticMeter, read_meters
from configlint.units import TOLERANCE

MARK = "\N{REPLACEMENT CHARACTER}"
"""A text that is no amount, no choice, no date, no section and no unit."""

SOUND: dict[str, Any] = {
    "meter": "FT-1",
    "principle": "electromagnetic",
    "construction": "separate",
    "sensor": {
        "nominal_size": "DN 100",
        "bore": "100 mm",
        "nameplate": {"calibration_factor": "1.0230", "excitation_current": "0.1 A"},
        "calibration": {"date": "2026-01-02", "expanded_uncertainty": "0.2 %"},
    },
    "transmitter": {
        "damping": "3 s",
        "flow_direction": "both",
        "display": {"flow_unit": "m3/h", "shows_total": "true"},
    },
    "current_output": {"upper_range_value": "100 m3/h"},
    "receiver": {"counter": {"digits": "8"}, "bus": "not used"},
    "process": {"flow": {"normal": "80 m3/h"}, "hours_per_year": "8000"},
}


def document_with(value: object) -> Document:
    """Make a document that holds a value."""
    (document,) = read_document(b"{}", "m.yaml").documents
    return replace(document, value=value)


def leaves(value: object, path: Path = ()) -> Iterator[Path]:
    """Give the path of every scalar below a value."""
    if isinstance(value, dict):
        for key, each in value.items():
            yield from leaves(each, (*path, key))
    else:
        yield path


def keys_of(model: type[Model]) -> Iterator[str]:
    """Give every key of a model and its sections."""
    for name, field in model.model_fields.items():
        yield name
        inner = model_in(field.annotation)
        if inner is not None:
            yield from keys_of(inner)


def put(value: dict[str, Any], path: Path, text: object) -> None:
    """Put a value at a path."""
    for step in path[:-1]:
        value = value[str(step)]
    value[str(path[-1])] = text


def take(value: dict[str, Any], path: Path) -> None:
    """Take a value at a path away."""
    for step in path[:-1]:
        value = value[str(step)]
    del value[str(path[-1])]


FREE = [path for path in leaves(SOUND) if path not in (("meter",), ("principle",))]

SCALARS = (
    st.none()
    | st.text(max_size=9)
    | st.sampled_from(
        (
            "80 mm",
            "3 m/s",
            "5 kg",
            "1 %",
            "not used",
            "true",
            "010",
            "DN 80",
            "2026-01-02",
        )
    )
)
KEYS = st.sampled_from(sorted(set(keys_of(ElectromagneticMeter)))) | st.text(max_size=3)
TREES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=5)
    ),
    max_leaves=25,
)


@given(st.sets(st.sampled_from(FREE)))
def test_each_wrong_value_is_told_and_no_other(wrong: set[Path]) -> None:
    """The faults are just those of the wrong values; the rest reads as without them."""
    faulty, without = copy.deepcopy(SOUND), copy.deepcopy(SOUND)
    for path in wrong:
        put(faulty, path, MARK)
        take(without, path)
    ((entry,), faults) = read_meters(document_with(faulty))
    ((expected,), none) = read_meters(document_with(without))
    assert {fault.path for fault in faults} == wrong
    assert none == ()
    assert entry.meter == expected.meter


@given(TREES)
def test_no_value_stops_the_reading(value: object) -> None:
    """Whatever a document holds, it is read without an error and left as it was."""
    before = copy.deepcopy(value)
    document = document_with(value)
    entries, faults = read_meters(document)
    assert document.value == before
    assert entries or faults
    for fault in faults:
        assert fault.problem
        assert fault.advice


@given(TREES)
def test_the_facts_hold_every_declared_path(value: object) -> None:
    """Whatever a meter says, its facts hold all declared paths, and no infinity."""
    tree = value if isinstance(value, dict) else {}
    head = {"meter": "FT-1", "principle": "electromagnetic"}
    ((entry,), _) = read_meters(document_with({**tree, **head, "site_data": None}))
    known = facts(entry.meter)
    assert known.values.keys() == declared_inputs().keys()
    assert not any(each in (math.inf, -math.inf) for each in known.values.values())
    for path in known.causes:
        assert path in known.written


AMOUNTS = st.decimals(min_value=Decimal("0.001"), max_value=Decimal(10**6), places=3)


@given(AMOUNTS, AMOUNTS, AMOUNTS)
def test_every_notation_of_a_range_is_the_same_flow(
    bore: Decimal, density: Decimal, velocity: Decimal
) -> None:
    """A velocity, a mass flow and a ratio become the flows of exact arithmetic."""
    ((entry,), faults) = read_meters(
        document_with(
            {
                "meter": "FT-1",
                "principle": "electromagnetic",
                "sensor": {"bore": f"{bore} mm"},
                "process": {"density": f"{density} kg/m3"},
                "transmitter": {"low_flow_cutoff": "0.5 %"},
                "current_output": {
                    "lower_range_value": f"{velocity} kg/h",
                    "upper_range_value": f"{velocity} m/s",
                },
            }
        )
    )
    assert faults == ()
    values = facts(entry.meter).values
    area = Fraction(math.pi) / 4 * (Fraction(bore) / 1000) ** 2
    upper = Fraction(velocity) * area
    lower = Fraction(velocity) / 3600 / Fraction(density)
    expected = {
        "current_output.upper_range_value": upper,
        "current_output.lower_range_value": lower,
        "transmitter.low_flow_cutoff": upper / 200,
    }
    for path, flow in expected.items():
        value = values[path]
        assert isinstance(value, float)
        assert abs(Fraction(value) - flow) <= Fraction(TOLERANCE) / 1000 * flow
