"""Laws of changed rules: what is changed, once each, and nothing else."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from configlint.formula import names
from configlint.mutants import STEP, across_mutants, meter_mutants
from configlint.rules import AcrossRule, MeterRule, RuleBook
from tests.builders import BOTH_PROVEN, MADE_HEAD, make_book, make_derived

HEAD = MADE_HEAD + BOTH_PROVEN

METER = {"sensor.bore": "100 mm", "sensor.nominal_size": "DN 100"}


def book_of(folder: Path, *lines: str) -> RuleBook:
    """Make a book of one rule."""
    return make_book(folder, HEAD + "".join(f"    {line}\n" for line in lines))


def mutants_of(book: RuleBook) -> dict[str, MeterRule]:
    """Give the changed forms of a book's rule by what was changed."""
    (rule,) = book.meter_rules
    return dict(meter_mutants(rule, book.scope))


def truth(book: RuleBook, rule: MeterRule) -> Any:
    """Compute what a rule accepts of the meter here."""
    derived = make_derived(book, METER)
    return rule.accept.function(derived.values, derived.written, rule.limit_values)


def test_every_limit_is_moved_either_way(tmp_path: Path) -> None:
    """A limit is moved by the step both ways, and one of zero by a part of its unit."""
    book = book_of(
        tmp_path,
        "accept: low <= sensor.bore <= high and share <= 1",
        "limits: {low: 0 mm, high: 200 mm, share: '0'}",
    )
    moved = {
        said: rule.limit_values
        for said, rule in mutants_of(book).items()
        if said.startswith("limit")
    }
    assert moved == {
        "limit low times 0.99": {"low": -1e-5, "high": 0.2, "share": 0.0},
        "limit low times 1.01": {"low": 1e-5, "high": 0.2, "share": 0.0},
        "limit high times 0.99": {"low": 0.0, "high": 0.2 * (1 - STEP), "share": 0.0},
        "limit high times 1.01": {"low": 0.0, "high": 0.2 * (1 + STEP), "share": 0.0},
        "limit share times 0.99": {"low": 0.0, "high": 0.2, "share": -STEP},
        "limit share times 1.01": {"low": 0.0, "high": 0.2, "share": STEP},
    }


@pytest.mark.parametrize(
    ("accept", "said"),
    [
        ("sensor.bore < 1[m]", ["< at column 1 turned to <=", "turned to >="]),
        ("sensor.bore <= 1[m]", ["<= at column 1 turned to <", "turned to >"]),
        ("sensor.bore > 1[m]", ["> at column 1 turned to >=", "turned to <="]),
        ("sensor.bore >= 1[m]", [">= at column 1 turned to >", "turned to <"]),
        ("meter == service", ["== at column 1 turned to !="]),
        ("meter != service", ["!= at column 1 turned to =="]),
        ("meter in ['a']", ["in at column 1 turned to not in"]),
        ("meter not in ['a']", ["not in at column 1 turned to in"]),
        ("given(meter)", ["given at column 1 denied"]),
        ("used(totalizer)", ["used at column 1 denied"]),
        ("matches(meter, 'a')", ["matches at column 1 denied"]),
        ("agrees(meter, service)", ["agrees at column 1 denied"]),
        (
            "not given(meter)",
            ["not at column 1 taken away", "given at column 5 denied"],
        ),
        ("given(meter) and given(service)", ["and at column 1 turned to or"]),
        ("given(meter) or given(service)", ["or at column 1 turned to and"]),
        (
            "given(meter) if given(service) else given(principle)",
            ["if at column 1 swapped", "given at column 17 denied"],
        ),
        (
            "sensor.bore > 0[mm]",
            ["constant at column 15 times 0.99", "constant at column 15 times 1.01"],
        ),
        ("sensor.bore**2 > 1[m2]", ["constant at column 18 times 1.01"]),
        (
            "sizes[sensor.nominal_size].bore > 1[m]",
            ["sizes bore times 0.99", "sizes bore times 1.01"],
        ),
        (
            "sizes[meter if given(meter) else service].word == meter",
            ["if at column 7 swapped", "given at column 16 denied"],
        ),
    ],
)
def test_every_part_of_a_formula_is_changed(
    tmp_path: Path, accept: str, said: list[str]
) -> None:
    """Comparisons, truths, conditions, constants and looked-up amounts are changed."""
    found = list(mutants_of(book_of(tmp_path, f'accept: "{accept}"')))
    assert all(each.startswith("accept: ") for each in found)
    assert all(any(each.endswith(part) for each in found) for part in said), found


def test_a_threshold_among_rows_is_moved_to_its_neighbours(tmp_path: Path) -> None:
    """A limit that meets the values of a column alone moves from row to row."""
    book = book_of(
        tmp_path,
        "applies: sizes[sensor.nominal_size].bore >= smallest",
        "accept: sizes[sensor.nominal_size].bore <= largest or given(meter)",
        "limits: {smallest: 100 mm, largest: 1 m}",
    )
    mutants = mutants_of(book)
    moved = {said: rule.limit_values for said, rule in mutants.items() if "row" in said}
    column = {row["bore"] for row in book.scope.tables["sizes"].rows.values()}
    assert moved
    assert {each["smallest"] for each in moved.values()} <= {*column, 0.1}
    assert {each["largest"] for each in moved.values()} <= {*column, 1.0}
    assert not any("times" in said for said in mutants)


def test_a_text_that_is_looked_up_and_an_exponent_stay(tmp_path: Path) -> None:
    """What has no size is not moved, and a power keeps its dimension."""
    accept = (
        "sizes[sensor.nominal_size].word == meter and sensor.bore**2 > sensor.bore**2"
    )
    found = mutants_of(book_of(tmp_path, f'accept: "{accept}"'))
    assert not [said for said in found if "times" in said]


def test_a_changed_rule_computes_what_was_changed(tmp_path: Path) -> None:
    """Each change is in what the rule computes, not in its tree alone."""
    book = book_of(tmp_path, "accept: sizes[sensor.nominal_size].bore <= 100[mm]")
    assert truth(book, book.meter_rules[0]) is True
    found = {said: truth(book, rule) for said, rule in mutants_of(book).items()}
    assert found == {
        "accept: <= at column 1 turned to <": False,
        "accept: <= at column 1 turned to >": False,
        "accept: sizes bore times 0.99": True,
        "accept: sizes bore times 1.01": False,
        "accept: constant at column 36 times 0.99": False,
        "accept: constant at column 36 times 1.01": True,
    }


def test_the_condition_of_a_rule_is_changed_too(tmp_path: Path) -> None:
    """What says of which meters a rule is asked is changed like the rest."""
    book = book_of(tmp_path, "accept: given(meter)", "applies: given(service)")
    found = mutants_of(book)
    assert set(found) == {
        "accept: given at column 1 denied",
        "applies: given at column 1 denied",
    }
    changed = found["applies: given at column 1 denied"]
    assert changed.accept == book.meter_rules[0].accept
    assert changed.applies is not None
    assert list(names(changed.applies.tree)) == ["service"]


@pytest.mark.parametrize(
    ("across", "applies", "said"),
    [
        (
            "scope: site, same: [meter]",
            "",
            ["scope turned to all sites", "never found"],
        ),
        (
            "scope: all sites, same: [meter, service], agree: principle",
            "",
            [
                "scope turned to site",
                "never found",
                "meter no longer compared",
                "service no longer compared",
                "agreement taken away",
            ],
        ),
        (
            "scope: all sites, same: [meter]",
            "given(meter)",
            [
                "scope turned to site",
                "never found",
                "applies: given at column 1 denied",
            ],
        ),
    ],
)
def test_a_rule_across_meters_is_changed(
    tmp_path: Path, across: str, applies: str, said: list[str]
) -> None:
    """Scope, compared values, agreement and condition are each changed once."""
    lines = [f"across: {{{across}}}"] + ([f"applies: {applies}"] if applies else [])
    book = book_of(tmp_path, *lines)
    (rule,) = book.across_rules
    found = dict(across_mutants(rule, book.scope))
    assert list(found) == said
    assert all(isinstance(each, AcrossRule) and each != rule for each in found.values())
