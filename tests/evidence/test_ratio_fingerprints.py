"""The fingerprints of slips: each printed ratio, the exact one, and the real look-up.

The printed ratios are those of a collection of facts of the trade, worked out with
general unit libraries and given to six figures. The exact ones are made here of the
unit table's fractions, whose definitions are those of NIST Handbook 44 (US gallon,
oil barrel), the Weights and Measures Act 1985 (imperial gallon) and the foot and pound
of 1959. That people make just these slips is common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import pytest

from configlint.diagnosis import LEAST_SQUARED, Support, Suspect, ratio_slip
from configlint.rules import RuleBook
from configlint.units import dimension_named, unit_named
from tests.builders import make_derived
from tests.evidence.examples import TAGGED
from tests.evidence.meters import Examined
from tests.evidence.slip_examples import CAUSES

FLOW, VOLUME, MASS = (dimension_named(n) for n in ("volume flow", "volume", "mass"))


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """A printed ratio, the units it stands between, and words of its cause."""

    printed: float
    larger: str
    smaller: str
    words: str

    @property
    def exact(self) -> Fraction:
        """The larger unit over the smaller one."""
        return unit_named(self.larger).factor / unit_named(self.smaller).factor

    @property
    def name(self) -> str:
        """What the test of the fingerprint is called."""
        return f"{self.larger} over {self.smaller}".replace("/", " per ")


UNITS = tuple(
    Fingerprint(*each)
    for each in (
        (60, "l/s", "l/min", "seconds mixed up with minutes"),
        (60, "m3/min", "m3/h", "minutes mixed up with hours"),
        (3600, "l/s", "l/h", "seconds mixed up with hours"),
        (24, "m3/h", "m3/d", "hours mixed up with days"),
        (1440, "US_gal/min", "US_gal/d", "minutes mixed up with days"),
        (86400, "m3/s", "m3/d", "seconds mixed up with days"),
        (3.6, "l/s", "m3/h", "l/s mixed up with m3/h"),
        (3.78541, "US_gal", "l", "litres mixed up with US gallons"),
        (4.40287, "m3/h", "US_gal/min", "US gal/min mixed up with m3/h"),
        (4.54609, "imp_gal", "l", "litres mixed up with imperial gallons"),
        (1.20095, "imp_gal", "US_gal", "imperial mixed up with US gallons"),
        (7.48052, "ft3", "US_gal", "US gallons mixed up with cubic feet"),
        (35.3147, "m3", "ft3", "cubic feet mixed up with cubic metres"),
        (264.172, "m3", "US_gal", "US gallons mixed up with cubic metres"),
        (219.969, "m3", "imp_gal", "imperial gallons mixed up with cubic metres"),
        (6.28981, "m3", "oil_bbl", "oil barrels mixed up with cubic metres"),
        (42, "oil_bbl", "US_gal", "oil barrels mixed up with US gallons"),
        (448.831, "ft3/s", "US_gal/min", "ft3/s mixed up with US gal/min"),
        (694.444, "US_MGD", "US_gal/min", "US MGD mixed up with US gal/min"),
        (1.54723, "US_MGD", "ft3/s", "US MGD mixed up with ft3/s"),
        (2.20462, "kg", "lb", "pounds mixed up with kilograms"),
        (1.10231, "t", "US_ton", "short tons mixed up with tonnes"),
        (25.4, "in", "mm", "inches mixed up with millimetres"),
        (645.16, "in2", "mm2", "a bore in inches mixed up with one in millimetres"),
        (10, "l", "dl", "a decimal point, or a multiplier of 10"),
        (100, "hl", "l", "a decimal point, or a multiplier of 100"),
        (1000, "m3", "l", "litres mixed up with m3"),
        (1000, "US_kgal", "US_gal", "a multiplier of 1000"),
        (1e4, "hl", "cl", "a decimal point, or a multiplier of 10 000"),
        (1e5, "hl", "ml", "a decimal point, or a multiplier of 100 000"),
        (1e6, "m3", "ml", "millilitres mixed up with m3"),
        (1e6, "US_Mgal", "US_gal", "a multiplier of 1 000 000"),
    )
)
# Printed, exact, words: ratios that stand between no two units.
OTHERS: tuple[tuple[float, float, str], ...] = (
    (1.27324, 4 / math.pi, "pi/4 left out of an area"),
    (0.78540, math.pi / 4, "pi/4 left out of an area"),
    (0.25, 4 / 16, "4 mA of the zero mixed up with 16 mA of the span"),
    (1.25, 20 / 16, "0 to 20 mA mixed up with 4 to 20 mA"),
    (0.8, 16 / 20, "0 to 20 mA mixed up with 4 to 20 mA"),
    (1.25, 1.25, "the permanent flow mixed up with the overload flow"),
    (1.33333, 42 / 31.5, "barrels of 42 mixed up with 31.5 US gallons"),
    (1.22, 1.22, "kilograms mixed up with litres of an acid of 30 %"),
    (1.0551, (154.08 / 150) ** 2, "a nominal size taken for the bore of steel pipe"),
)
NAMES = [each.name for each in UNITS]
SLIPS = {tag: each for tag, each in TAGGED.items() if each.name in CAUSES}


def causes(book: RuleBook, ratio: float) -> str:
    """Look a ratio up among all rows beside the rules, as if each could be meant."""
    table = book.scope.tables["ratio_fingerprints"]
    return ratio_slip(
        ratio,
        (
            Suspect(each.texts["cause"], each.ratio, bool(each.between), in_play)
            for each in table.fingerprints.values()
        ),
    )


def in_play() -> Support:
    """Say that a slip can be meant."""
    return Support.IN_PLAY


@pytest.mark.parametrize("each", UNITS, ids=NAMES)
def test_a_printed_ratio_is_the_exact_one(each: Fingerprint) -> None:
    """The ratio of two units is the one printed, to all six figures given."""
    assert float(each.exact) == pytest.approx(each.printed, rel=5e-6)


@pytest.mark.parametrize("each", UNITS, ids=NAMES)
def test_the_exact_ratio_of_two_units_is_recognised(
    book: RuleBook, each: Fingerprint
) -> None:
    """A unit taken for another is named, whichever of the two is the right one."""
    for ratio in (each.exact, 1 / each.exact):
        assert each.words in causes(book, float(ratio))


@pytest.mark.parametrize("each", UNITS, ids=NAMES)
def test_a_slip_made_twice_is_recognised(book: RuleBook, each: Fingerprint) -> None:
    """The square of a conversion from 2 on has its cause, where none is plainer."""
    squared = causes(book, float(each.exact**2))
    if each.words.startswith(("a decimal point", "a multiplier")):
        assert f"twice over: {each.words}" not in squared
        return
    assert f"twice over: {each.words}" in squared or "twice over" not in squared
    assert bool(squared) or max(each.exact, 1 / each.exact) < LEAST_SQUARED


@pytest.mark.parametrize(("printed", "exact", "words"), OTHERS)
def test_a_ratio_of_no_units_is_recognised(
    book: RuleBook, printed: float, exact: float, words: str
) -> None:
    """What is left out or mixed up elsewhere than in a unit is named as well."""
    assert exact == pytest.approx(printed, rel=4e-5)
    assert words in causes(book, exact)


def test_the_table_holds_the_exact_ratios(book: RuleBook) -> None:
    """Each row's ratio is one of those tested here, to nine figures or as printed."""
    exact = [float(each.exact) for each in UNITS] + [1.055, 4.0]
    exact += [max(ratio, 1 / ratio) for _, ratio, _ in OTHERS]
    rows = book.scope.tables["ratio_fingerprints"].rows
    computed = {
        key
        for key, row in book.scope.tables["ratio_fingerprints"].fingerprints.items()
        if row.computed is not None
    }
    rows = {key: row for key, row in rows.items() if key not in computed}
    known = [row["ratio"] for row in rows.values()]
    assert [k for k in known if not any(math.isclose(k, e) for e in exact)] == []
    tested = {each.words for each in UNITS} | {words for *_, words in OTHERS}
    assert tested == {row["cause"] for row in rows.values()}


@pytest.mark.parametrize(
    "each",
    [e for e in UNITS if unit_named(e.larger).dimension in (FLOW, VOLUME, MASS)],
    ids=lambda each: each.name,
)
def test_a_finding_ends_with_the_cause(book: RuleBook, each: Fingerprint) -> None:
    """One number in two units at the two ends of a loop has its cause in the meter."""
    if unit_named(each.larger).dimension == FLOW:
        sent, taken = (
            "current_output.upper_range_value",
            "receiver.analogue.upper_scale",
        )
        slip = "receiver_slip"
    else:
        sent, taken = "pulse_output.pulse_weight", "receiver.counter.pulse_weight"
        slip = "pulse_weight_slip"
    for one, other in ((each.larger, each.smaller), (each.smaller, each.larger)):
        derived = make_derived(
            book,
            {sent: f"7 {one}", taken: f"7 {other}", "process.density": "998 kg/m3"},
        )
        assert each.words in derived.values[slip]


NEAR = (
    (3.6, "l/s mixed up with m3/h", 3.785411784, "litres mixed up with US gallons"),
    (
        4.402867539,
        "US gal/min mixed up with m3/h",
        4.54609,
        "litres mixed up with imperial gallons",
    ),
    (1.2009499, "imperial mixed up with US gallons", 1.22, "an acid of 30 %"),
    (1.22, "an acid of 30 %", 1.25, "0 to 20 mA mixed up with 4 to 20 mA"),
    (1.25, "0 to 20 mA mixed up with 4 to 20 mA", 4 / math.pi, "pi/4 left out"),
)


@pytest.mark.parametrize(("first", "words", "second", "other_words"), NEAR)
def test_near_collisions_are_told_apart(
    book: RuleBook, first: float, words: str, second: float, other_words: str
) -> None:
    """Ratios that lie close each have their own cause alone, between them neither."""
    one, other = causes(book, first), causes(book, second)
    assert words in one
    assert other_words in other
    assert words not in other
    assert other_words not in one
    between = causes(book, math.sqrt(first * second))
    assert words not in between
    assert other_words not in between


def test_two_causes_of_one_ratio_are_both_named(book: RuleBook) -> None:
    """A live zero and an overload flow leave 1.25 both, and the reader is told both."""
    assert causes(book, 1.25) == (
        "Possible cause: 0 to 20 mA mixed up with 4 to 20 mA (1.25) or "
        "the permanent flow mixed up with the overload flow (1.25)."
    )


@pytest.mark.parametrize("tag", [pytest.param(t, id=e.name) for t, e in SLIPS.items()])
def test_every_published_slip_has_its_cause(examined: Examined, tag: str) -> None:
    """The finding on a published slip ends with its cause, or with none, as known."""
    example = SLIPS[tag]
    message = examined.findings[tag, example.rule].message
    _, told, cause = message.partition("Possible cause: ")
    assert cause.removesuffix(".") == CAUSES[example.name]
    assert bool(told) == bool(cause)
    assert "It would also be" not in message


@pytest.mark.parametrize(
    "tag", [t for t, e in SLIPS.items() if e.rule == "size-agrees"]
)
def test_a_wrong_size_is_told_by_the_sizes_themselves(
    examined: Examined, tag: str
) -> None:
    """Where the sizes differ, the finding names both, and the square of their ratio."""
    example = SLIPS[tag]
    message = examined.findings[tag, example.rule].message
    assert all(size in message for size in example.meter.values())
    assert f"{example.figure:.4g} times the true flow" in message


@pytest.mark.parametrize("ratio", [1.0, 0.9982, 0.999903, 1.000653, 2.0, 5.2, 0.5])
def test_what_is_no_fingerprint_has_no_cause(book: RuleBook, ratio: float) -> None:
    """Water's density, a converted and rounded range and a plain 2 name nothing."""
    assert causes(book, ratio) == ""


@pytest.mark.parametrize(
    ("settings", "slip", "words"),
    [
        (
            {
                "current_output.upper_range_value": "250 m3/h",
                "receiver.analogue.upper_scale": "520 m3/h",
            },
            "receiver_slip",
            "two digits exchanged",
        ),
        (
            {
                "pulse_output.pulse_weight": "25 l",
                "receiver.counter.pulse_weight": "52 l",
            },
            "pulse_weight_slip",
            "two digits exchanged",
        ),
        (
            {
                "sensor.nameplate.calibration_factor": "1.0234",
                "transmitter.calibration_factor": "1.0243",
            },
            "calibration_factor_slip",
            "two digits exchanged",
        ),
        (
            {
                "sensor.nameplate.excitation_current": "0.1850 A",
                "transmitter.excitation_current": "0.180 A",
            },
            "excitation_current_slip",
            "a digit dropped",
        ),
        (
            {
                "current_output.upper_range_value": "900 m3/h",
                "process.flow.maximum": "250 m3/h",
            },
            "range_slip",
            "l/s mixed up with m3/h",
        ),
    ],
)
def test_a_slip_of_the_hand_is_told_where_no_unit_explains_it(
    book: RuleBook, settings: dict[str, str], slip: str, words: str
) -> None:
    """Exchanged and dropped digits are named between two settings of one meter."""
    assert words in make_derived(book, settings).values[slip]


def test_figures_in_two_units_are_not_compared_by_their_digits(book: RuleBook) -> None:
    """Digits that look exchanged say nothing where the units differ."""
    settings = {
        "sensor.nameplate.excitation_current": "0.1850 A",
        "transmitter.excitation_current": "0.1805 mA",
        "current_output.upper_range_value": "250 m3/h",
        "receiver.analogue.upper_scale": "205 l/s",
    }
    values = make_derived(book, settings).values
    assert values["excitation_current_slip"] == values["receiver_slip"] == ""
