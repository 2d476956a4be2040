"""Laws of the values that a concession is bound to: while they hold, it does."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.concessions import Bound, read_concessions
from configlint.data import data_folder
from configlint.errors import RunError
from configlint.rule_book import load_rule_book
from configlint.units import parse_quantity
from tests.concessions import WORKSPACE, entry, read


def bound_of(path: str, text: str) -> Bound:
    """Read a value that an entry is bound to."""
    (one,) = read(entry(**{"while": f"{{{path}: '{text}'}}"}))
    (bound,) = one.bounds
    assert (bound.path, bound.text) == (path, text)
    return bound


@pytest.mark.parametrize(
    ("bound", "written", "holds"),
    [
        ("1 l", "1 l", True),
        ("1 l", "1.00 l", True),
        ("1 l", "0.001 m3", True),
        ("1 l", "1.1 l", False),
        ("1 l", "1 kg", False),
        ("1 US_gal", "3.785 l", True),
        ("1 l to 10 l", "1 l", True),
        ("1 l to 10 l", "0.01 m3", True),
        ("1 l to 10 l", "10.01 l", False),
        ("1 l to 10 l", "0.99 l", False),
        ("1 l to 10 l", "5 kg", False),
    ],
)
def test_an_amount_holds_while_it_is_the_same_or_in_its_range(
    bound: str, written: str, holds: bool
) -> None:
    """A bound amount holds in any unit, until it is another or of another kind."""
    read_bound = bound_of("pulse_output.pulse_weight", bound)
    assert read_bound.holds(parse_quantity(written)) is holds


@pytest.mark.parametrize("text", ["1 l", "1 l to 10 l"])
def test_an_amount_that_is_not_there_does_not_hold(text: str) -> None:
    """What is no longer written, or no amount any more, is not what was conceded."""
    bound = bound_of("pulse_output.pulse_weight", text)
    assert not bound.holds(None)
    assert not bound.holds("1 l")


@pytest.mark.parametrize(
    ("path", "text", "other"),
    [
        ("sensor.serial", "S-1 to S-2", "S-1"),
        ("sensor.nominal_size", "DN 150", "DN 100"),
        ("transmitter.settings_locked", "false", "true"),
        ("sensor.calibration.date", "2026-01-31", "2026-02-01"),
        ("transmitter.flow_direction", "forward", "reverse"),
    ],
)
def test_any_other_value_holds_while_it_is_the_same(
    path: str, text: str, other: str
) -> None:
    """A text, a size, a truth, a date and a choice hold as facts have them."""
    bound = bound_of(path, text)
    assert bound.holds(text)
    assert not bound.holds(other)
    assert not bound.holds(None)


def test_a_size_in_another_spelling_is_the_same() -> None:
    """A nominal size is bound to as facts spell it, however the entry does."""
    assert bound_of("sensor.nominal_size", "DN150").holds("DN 150")


def test_the_first_value_that_has_changed_is_told() -> None:
    """The first bound value that has changed is told, with what it is and was."""
    both = "{pulse_output.pulse_weight: 1 l, transmitter.damping: 3 s}"
    (one,) = read(entry(**{"while": both}))
    weight, damping = parse_quantity("1 l"), parse_quantity("3 s")
    paths = ("pulse_output.pulse_weight", "transmitter.damping")
    assert one.lapse(dict(zip(paths, (weight, damping), strict=True))) == ""
    assert one.lapse({paths[0]: parse_quantity("10 l"), paths[1]: damping}) == (
        "pulse_output.pulse_weight is 10 l, and was 1 l when conceded"
    )
    assert one.lapse({paths[0]: weight}) == (
        "transmitter.damping is not written, and was 3 s when conceded"
    )


def test_a_value_of_the_sites_own_can_be_bound_to(tmp_path: Path) -> None:
    """A value that a rule file declares under site_data is read as it declares it."""
    own = (
        'ruleset: own\nedition: "1"\n'
        "site_data: {stock: {means: Spare sensors, kind: number}}\n"
    )
    (tmp_path / "own.yaml").write_text(own, "utf-8")
    with_own = load_rule_book(data_folder("rules"), tmp_path)
    text = f"concessions:\n{entry(**{'while': '{site_data.stock: 2}'})}"
    (one,) = read_concessions(text.encode(), "c.yaml", WORKSPACE, with_own)
    assert one.lapse({"site_data.stock": parse_quantity("2.0")}) == ""
    wrong = text.replace("stock: 2", "stok: 2")
    with pytest.raises(RunError, match=r"nearest known are site_data\.stock"):
        read_concessions(wrong.encode(), "c.yaml", WORKSPACE, with_own)
