"""Laws of scalars read in two ways: what is declared says how far a text is clear.

What is found in the sections of a meter is held in the tests of reading meters.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from configlint.alike import find_alike
from configlint.amounts import Measured, Number
from configlint.meters import Meter
from configlint.scalars import Day, Scalar, Text, Truth
from tests.builders import make_document

DECLARED: Mapping[str, Scalar] = {
    "stock": Measured("volume"),
    "share": Measured("ratio"),
    "strokes": Number(),
    "asset": Text(),
    "metered": Truth(),
    "since": Day(),
}


def named_in(text: str, declared: Mapping[str, Scalar] = DECLARED) -> list[str]:
    """Name the keys of the site's own that are told."""
    document = make_document(text)
    found = find_alike(document, (), document.value, Meter, declared)
    assert {fault.kind for fault in found} <= {"scalar-read-alike"}
    return [str(fault.path[-1]) for fault in found]


def test_what_nothing_is_declared_of_may_be_read_in_two_ways() -> None:
    """Without a declaration a bare text of the site's own is told, a quoted not."""
    text = 'site_data: {since: 12:30, metered: yes, stock: "010", head: 23 m}'
    assert named_in(text, {}) == ["since", "metered"]


def test_what_is_declared_as_clear_is_left_to_its_reading() -> None:
    """Of a truth, a date and an amount with a unit a bare text is a fault already."""
    assert named_in("site_data: {since: 12:30, metered: yes, stock: 010}") == []


@pytest.mark.parametrize("name", ["share", "strokes", "asset", "other"])
def test_what_a_bare_text_may_be_is_told(name: str) -> None:
    """A number, a ratio and a text are told where YAML 1.1 reads something else."""
    assert named_in(f"site_data: {{{name}: 010}}") == [name]


def test_the_names_of_the_meter_are_not_those_of_the_site() -> None:
    """A declared name says nothing of a key of the meter with the same name."""
    assert named_in("service: off", {"service": Truth()}) == ["service"]


def test_places_are_in_the_order_of_the_file() -> None:
    """What is told comes in the order in which the file writes it."""
    text = "site_data: {share: 010}\nservice: off\nmeter: 010\n"
    assert named_in(text) == ["share", "service", "meter"]
