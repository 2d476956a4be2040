"""Laws of tables of ratios in a rule book: their conditions are checked and asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.compiler import Values, evaluate
from configlint.errors import RunError
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook
from tests.builders import SOUND_RULES, make_derived, write_folder

TABLE = """\
table: slips
means: Slips and the ratios that they leave
matched_by: ratio
columns:
  ratio: {means: The ratio, unit: "%"}
  cause: {means: What may have been done}
rows:
  point: {values: {ratio: "10", cause: a point}, source: Invented}
  scale:
    values: {ratio: "10", cause: a scale}
    meant: {of: [receiver.analogue.upper_scale], when: "process.fluid == 'beer'"}
    source: Invented
  flow:
    values: {ratio: "10", cause: a flow}
    meant: {of: [volume flow]}
    source: Invented
  weight:
    values: {cause: by weight}
    computed: process.density / 1[kg/l]
    source: Invented
"""
QUANTITIES = """\
  scale_over_range:
    means: Scale over range
    symbol: r
    formula: receiver.analogue.upper_scale / current_output.upper_range_value
    basis: {practice: Ratio}
  slip_of_scale:
    means: Slip of the scale
    symbol: s
    formula: slips[scale_over_range].cause
    basis: {practice: Ratio}
  slip_of_weight:
    means: Slip of the pulse weight
    symbol: t
    formula: >-
      slips[receiver.counter.pulse_weight / pulse_output.pulse_weight].cause
    basis: {practice: Ratio}
rules:
"""
FLOWS = {
    "current_output.upper_range_value": "10 m3/h",
    "receiver.analogue.upper_scale": "100 m3/h",
}
WEIGHTS = {
    "pulse_output.pulse_weight": "10 l",
    "receiver.counter.pulse_weight": "100 l",
}


def load(folder: Path, table: str = TABLE) -> RuleBook:
    """Load the sound rules with quantities that look up the table of slips."""
    rules = SOUND_RULES.replace("rules:\n", QUANTITIES, 1)
    return load_rule_book(write_folder(folder, rules, **{"tables/slips": table}))


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> RuleBook:
    """Give a book with the table of slips."""
    return load(tmp_path_factory.mktemp("slips"))


def test_a_row_is_told_of_the_inputs_that_it_names(book: RuleBook) -> None:
    """Through a quantity too, a ratio is known by the inputs it is computed from."""
    values = make_derived(book, {**FLOWS, **WEIGHTS, "process.fluid": "beer"}).values
    told = "Possible cause: a flow (10) or a point (10) or a scale (10)."
    assert values["slip_of_scale"] == told
    assert values["slip_of_weight"] == "Possible cause: a point (10)."


def test_a_condition_is_asked_of_the_meter(book: RuleBook) -> None:
    """What is known to be otherwise leaves a row out; what is not known does not."""
    water = make_derived(book, {**FLOWS, "process.fluid": "water"}).values
    assert water["slip_of_scale"] == "Possible cause: a flow (10) or a point (10)."
    assert "a scale" in make_derived(book, FLOWS).values["slip_of_scale"]


def test_a_ratio_is_computed_of_the_meter(book: RuleBook) -> None:
    """A row with a formula matches the ratio that the meter's own values give."""
    weights = {**WEIGHTS, "receiver.counter.pulse_weight": "14.2 l"}
    heavy = make_derived(book, {**weights, "process.density": "1.42 kg/l"}).values
    assert heavy["slip_of_weight"] == "Possible cause: by weight (1.42)."
    assert make_derived(book, weights).values["slip_of_weight"] == ""


def test_a_tree_that_is_walked_gives_what_the_function_gives(book: RuleBook) -> None:
    """Compiled or walked, a look-up of a ratio asks the same meter."""
    derived = make_derived(book, {**FLOWS, **WEIGHTS, "process.fluid": "water"})
    seen = Values(derived.values, derived.written)
    for name in ("slip_of_scale", "slip_of_weight"):
        walked = evaluate(book.quantity_of[name].formula.tree, book.scope, seen)
        assert walked == derived.values[name] != ""


@pytest.mark.parametrize(
    ("old", "new", "problem", "advice"),
    [
        (
            "process.fluid == 'beer'",
            "process.fluids == 'beer'",
            "There is no value 'process.fluids'",
            "process.fluid",
        ),
        (
            "process.fluid == 'beer'",
            "scale_over_range > 2",
            "There is no value 'scale_over_range'",
            "The nearest known are",
        ),
        (
            "process.fluid == 'beer'",
            "process.fluid",
            "The formula gives a text, not true or false.",
            "Compare it",
        ),
        (
            "process.density / 1[kg/l]",
            "process.density",
            "The formula gives a density, not a plain number.",
            "Divide by an amount of the same kind.",
        ),
        (
            "process.density / 1[kg/l]",
            "process.density / (",
            "\n",
            "",
        ),
        (
            "[volume flow]",
            "[volume flows]",
            "There is no input 'volume flows', and 'volume flows' is no kind of",
            "Name an input by its path, or a kind of amount.",
        ),
    ],
)
def test_a_condition_that_does_not_fit_is_refused(
    tmp_path: Path, old: str, new: str, problem: str, advice: str
) -> None:
    """A wrong name, kind or formula of a row is a fault at its place in the table."""
    assert old in TABLE
    with pytest.raises(RunError) as caught:
        load(tmp_path, TABLE.replace(old, new, 1))
    (fault,) = caught.value.faults
    assert fault.place.file.endswith("slips.yaml")
    assert fault.path[0] == "rows"
    assert problem in fault.message
    assert advice in fault.advice
