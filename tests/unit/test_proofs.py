"""Laws of proving: proofs are run as they stand, and must notice every change."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.proofs import Verdict, prove
from tests.builders import MADE_HEAD, SOUND_RULES, make_book

BORE = "accept: sensor.bore <= highest", "limits: {highest: 100 mm}"
PINNED = (
    "{gives: conforms}",
    "{with: {sensor.bore: 99.5 mm}, gives: conforms}",
    "{with: {sensor.bore: 100.5 mm}, gives: nonconforming}",
)


def proven(folder: Path, rule: tuple[str, ...], *proofs: str) -> Verdict:
    """Prove a rule by some proofs."""
    lines = [*rule, "proof:", *(f"  - {proof}" for proof in proofs)]
    book = make_book(folder, MADE_HEAD + "".join(f"    {line}\n" for line in lines))
    (verdict,) = prove(book)
    assert verdict.name == "made-rule"
    return verdict


def test_a_rule_that_its_proofs_pin_is_proven(tmp_path: Path) -> None:
    """Proofs at the limit and just outside it notice every change of the rule."""
    verdict = proven(tmp_path, BORE, *PINNED)
    assert verdict.proven
    assert (verdict.proofs, verdict.mutants) == (3, 4)


@pytest.mark.parametrize(
    ("proofs", "survivors"),
    [
        (PINNED[1:], ["accept: <= at column 1 turned to <"]),
        ((PINNED[0], PINNED[2]), []),
        (
            (*PINNED[:2], "{with: {sensor.bore: 2 m}, gives: nonconforming}"),
            ["limit highest times 1.01"],
        ),
    ],
)
def test_a_change_that_no_proof_notices_survives(
    tmp_path: Path, proofs: tuple[str, ...], survivors: list[str]
) -> None:
    """Without a proof at the limit, or just outside, it could move unnoticed."""
    verdict = proven(tmp_path, BORE, *proofs)
    assert verdict.survivors == survivors
    assert verdict.proven is not bool(survivors)


@pytest.mark.parametrize(
    ("rule", "proof", "failure"),
    [
        (
            BORE,
            "{with: {sensor.bore: 2 m}, gives: conforms}",
            "proof 4: gives nonconforming, must give conforms",
        ),
        (
            BORE,
            "{without: [sensor.bore], gives: conforms}",
            "proof 4: gives not-assessed (missing sensor.bore), must give conforms",
        ),
        (
            BORE,
            "{without: [sensor.bore], gives: not-assessed, missing: [a, sensor.bore]}",
            "proof 4: does not name a as missing",
        ),
        (
            BORE,
            "{without: [sensor.serial], gives: conforms}",
            "proof 4: sensor.serial is not in the sound meter",
        ),
        (
            BORE,
            "{without: [receiver.bus.used], gives: conforms}",
            "proof 4: receiver.bus.used is not in the sound meter",
        ),
        (
            BORE,
            "{without: [receiver.bus.name.x], gives: conforms}",
            "proof 4: receiver.bus.name.x is not in the sound meter",
        ),
        (
            BORE,
            "{without: [totalizer.digits], gives: conforms}",
            "proof 4: totalizer.digits is not in the sound meter",
        ),
        (
            BORE,
            "{with: {sensor.bore: wide}, gives: conforms}",
            "proof 4: sensor.bore: 'wide' is not an amount.",
        ),
        (
            BORE,
            "{with: {sensor.bor: 1 m, site.mains_frequency: 1 m}, gives: conforms}",
            "proof 4: 'bor' is no key of sensor.",
        ),
        (
            BORE,
            "{with: {type_sheet: a, type_sheet.upstream: '5'}, gives: conforms}",
            "proof 4: 'upstream' is no key here.",
        ),
        (
            BORE,
            "{without: [principle], gives: conforms}",
            "proof 4: principle is not written",
        ),
    ],
)
def test_a_proof_that_comes_out_otherwise_fails(
    tmp_path: Path, rule: tuple[str, ...], proof: str, failure: str
) -> None:
    """A failure says what came out, or what is wrong with the proof's meter."""
    verdict = proven(tmp_path, rule, *PINNED, proof)
    assert len(verdict.failures) == 1
    assert verdict.failures[0].startswith(failure)
    assert not verdict.proven
    assert verdict.mutants == 0


def test_all_faults_of_a_proof_are_told(tmp_path: Path) -> None:
    """A proof whose meter and site are both faulty tells both."""
    proof = "{with: {sensor.bor: 1 m, site.mains_frequency: 1 m}, gives: conforms}"
    (failure,) = proven(tmp_path, BORE, *PINNED, proof).failures
    assert "'bor' is no key" in failure
    assert "mains_frequency" in failure


@pytest.mark.parametrize(
    ("accept", "proof"),
    [
        ("site.mains_frequency == 60[Hz]", "{with: {site.mains_frequency: 60 Hz}"),
        ("site.name == 'south'", "{with: {site.name: south}"),
        ("site.name != 'proof'", "{with: {site.name: south}"),
        ("type_sheet == 'a'", "{with: {type_sheet: a}"),
        (
            "type_sheet.upstream_straight == 5",
            "{with: {type_sheet: a}",
        ),
        (
            "type_sheet.upstream_straight == 7",
            "{with: {type_sheet: a, type_sheet.upstream_straight: '7'}",
        ),
        ("not given(site.mains_frequency)", "{without: [site.mains_frequency]"),
        (
            "totalizer.digits == 8",
            "{with: {totalizer.digits: '8'}",
        ),
        (
            "receiver.bus.name == 'a'",
            "{with: {receiver.bus.name: a}",
        ),
        ("not used(pulse_output)", "{with: {pulse_output: not used}"),
    ],
)
def test_a_proof_changes_meter_site_and_type_sheet(
    tmp_path: Path, accept: str, proof: str
) -> None:
    """A path leads into the meter, the site or the type sheet by its first word."""
    verdict = proven(
        tmp_path,
        (f'accept: "{accept}"',),
        f"{proof}, gives: conforms}}",
        "{meters: [{gives: nonconforming}]}",
    )
    assert all(failure.startswith("proof 2") for failure in verdict.failures)


def test_a_proof_sets_the_day_of_the_run(tmp_path: Path) -> None:
    """A proof can move the day that dates are judged by, or take it out."""
    rule = (
        "accept: run.date - sensor.calibration.date <= longest",
        "limits: {longest: 100 d}",
    )
    date = "sensor.calibration.date: 2026-01-01"
    proofs = (
        f"{{with: {{{date}, run.date: 2026-04-11}}, gives: conforms}}",
        f"{{with: {{{date}, run.date: 2026-04-12}}, gives: nonconforming}}",
        f"{{with: {{{date}}}, without: [run.date],"
        " gives: not-assessed, missing: [run.date]}",
    )
    assert proven(tmp_path, rule, *proofs).failures == []
    wrong = f"{{with: {{{date}, run.date: tomorrow}}, gives: conforms}}"
    (failure,) = proven(tmp_path, rule, wrong, *proofs).failures
    assert failure.startswith("proof 1: run.date: ")
    assert "tomorrow" in failure


def test_the_rules_named_are_proven_and_no_others(tmp_path: Path) -> None:
    """A proof run of some rules leaves the others out."""
    book = make_book(tmp_path, SOUND_RULES)
    names = [verdict.name for verdict in prove(book)]
    assert names == ["speed-in-band", "serial-unique", "bore", "area", "speed"]
    only = [verdict.name for verdict in prove(book, ["speed-in-band"])]
    assert only == ["speed-in-band", "bore", "area", "speed"]
    assert [each.name for each in prove(book, ["serial-unique"])] == ["serial-unique"]


QUANTITY = """\
ruleset: made
edition: "1"
quantities:
  half:
    means: Half the bore
    symbol: r
    formula: sensor.bore / 2
    fallback: {formula: "sizes[sensor.nominal_size].bore / 2", note: Taken so.}
    unit: mm
    basis: {practice: Geometry}
  twice:
    means: The bore again
    symbol: d
    formula: 2 * half
    unit: mm
    basis: {practice: Geometry}
  shown:
    means: Something that only a text shows
    symbol: s
    formula: 3 * half
    unit: mm
    basis: {practice: Geometry}
rules:
  made-rule:
    category: B
    asks: Is it right?
    limits: {highest: 100 mm}
    accept: twice <= highest
    finding: "{shown} is wrong."
    remedy: Correct it.
    basis: {practice: Common}
    proof:
"""


def test_quantities_are_proven_by_the_rules_that_rest_on_them(tmp_path: Path) -> None:
    """A change of a formula or a fallback that no proof notices survives."""
    pinned = [f"      - {proof}\n" for proof in PINNED]
    weak = make_book(tmp_path / "weak", QUANTITY + "".join(pinned))
    verdicts = {each.name: each for each in prove(weak)}
    assert list(verdicts) == ["made-rule", "half", "twice"]
    assert verdicts["twice"].proven
    assert [said.partition(":")[0] for said in verdicts["half"].survivors] == (
        ["fallback"] * 4
    )
    by_size = "      - {without: [sensor.bore], gives: conforms}\n"
    more = make_book(tmp_path / "more", QUANTITY + "".join((*pinned, by_size)))
    survivors = {each.name: each.survivors for each in prove(more)}
    # At the limit itself only what makes the bore larger is noticed.
    assert survivors["half"] == [
        "fallback: sizes bore times 0.99",
        "fallback: constant at column 35 times 1.01",
    ]


def test_an_effect_pins_what_it_is_computed_from(tmp_path: Path) -> None:
    """A change of a quantity that only an effect rests on is noticed by the effect."""
    rules = QUANTITY.replace(
        "    basis: {practice: Common}\n",
        "    effect: {of: It, reading_error: shown / highest}\n"
        "    basis: {practice: Common}\n",
    )
    proofs = (
        "      - {with: {sensor.bore: 100.5 mm}, gives: nonconforming, "
        "effect: 150.75 %}\n"
        "      - {gives: conforms}\n"
    )
    verdicts = {each.name: each for each in prove(make_book(tmp_path, rules + proofs))}
    assert verdicts["shown"].proven
    assert verdicts["shown"].mutants == 2


def test_a_proof_leaves_the_sound_meter_as_it_is(tmp_path: Path) -> None:
    """What one proof takes out is there again for the next."""
    verdict = proven(
        tmp_path,
        ("accept: given(sensor.bore)",),
        "{without: [sensor.bore], gives: nonconforming}",
        "{gives: conforms}",
    )
    assert verdict.proven


def test_a_rule_across_meters_is_proven_by_meters_of_one_run(tmp_path: Path) -> None:
    """A proof of meters at several sites pins scope, values and agreement."""
    across = ("across: {scope: site, same: [meter], agree: sensor.lining}",)
    rubber, steel = "{gives: %s}", "{with: {sensor.lining: steel}, gives: %s}"
    away = "{with: {sensor.lining: steel, site.name: south}, gives: %s}"
    good, bad = "conforms", "nonconforming"
    verdict = proven(
        tmp_path,
        across,
        f"{{meters: [{rubber % bad}, {steel % bad}]}}",
        f"{{meters: [{rubber % good}, {rubber % good}]}}",
        f"{{meters: [{rubber % good}, {away % good}]}}",
    )
    assert verdict.proven
    assert verdict.mutants == 3
    (failure,) = proven(
        tmp_path, across, f"{{meters: [{rubber % bad}, {rubber % good}]}}"
    ).failures
    assert failure == (
        "proof 1: gives conforms, conforms, must give nonconforming, conforms, with "
        "meter = FT-1, sensor.lining = hard rubber; meter = FT-1, sensor.lining = hard "
        "rubber"
    )
