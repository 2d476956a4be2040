"""Laws of random changes that bring rules of their own: they excuse nothing."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from configlint.review.compare import Comparison, compare
from configlint.review.sides import judge
from tests.comparisons import DAY, SITES, WORKSPACE, concession, make_side, meter_text

Files = Mapping[str, str]

VALUES: Mapping[str, tuple[str, ...]] = {
    "transmitter.calibration_factor": ("1.1", "1.0234"),
    "receiver.analogue.upper_scale": ("300 m3/h", "250 m3/h"),
    "transmitter.damping": ("2 s", "4 s", "90 s"),
    "servise": ("water",),
}
METERS = st.fixed_dictionaries(
    {}, optional={path: st.sampled_from(texts) for path, texts in VALUES.items()}
).map(meter_text)
PLANTS = st.dictionaries(
    st.sampled_from(("north/a.yaml", "south/b.yaml")), METERS, min_size=1, max_size=2
)
RULES = (
    "calibration-factor-agrees",
    "receiver-scale-agrees",
    "key-known",
    "damping-suits-duty",
)
OWN = "own-damping"
POLICIES = st.sampled_from(
    (
        "",
        "  receiver-scale-agrees: {tolerance: {value: 50 %, reason: x}}\n",
        "  receiver-scale-agrees: {tolerance: {value: 0.001 %, reason: x}}\n",
        "  damping-suits-duty: {longest_in_control: {value: 99 s, reason: x}}\n",
        "  concession-in-date: {longest_of_A: {value: 1 d, reason: x}}\n",
    )
)
OWN_RULE = """\
ruleset: own
edition: "1"
rules:
  own-damping:
    category: %s
    asks: Is the damping short?
    limits: {longest: %s}
    accept: transmitter.damping <= longest
    finding: The damping is {transmitter.damping}.
    remedy: Shorten it.
    settings: [transmitter.damping]
    basis: {practice: Common}
    proof:
      - {with: {transmitter.damping: 1 s}, gives: conforms}
      - {with: {transmitter.damping: 999 s}, gives: nonconforming}
"""
CATEGORIES = st.sampled_from(("A", "B", "C"))
OWN_RULES = st.tuples(CATEGORIES, st.sampled_from(("3 s", "60 s", "200 s"))).map(
    lambda parts: OWN_RULE % parts
)


@st.composite
def standards(draw: st.DrawFn) -> dict[str, str]:
    """Make the files that judge a plant."""
    policy, site = draw(POLICIES), draw(POLICIES)
    rule = draw(st.none() | OWN_RULES)
    known = RULES if rule is None else (OWN, *RULES)
    conceded = draw(st.none() | st.sampled_from(known))
    own = WORKSPACE + ("rules: rules\n" if rule else "")
    files = {"configlint.yaml": own + (f"policy:\n{policy}" if policy else "")}
    if site and "concession" not in site:
        files["north/site.yaml"] = SITES["north/site.yaml"] + f"policy:\n{site}"
    if rule:
        files["rules/own.yaml"] = rule
    if conceded:
        files["concessions.yaml"] = concession("FT-2104", conceded)
    return files


def closing(comparison: Comparison) -> set[tuple[str, str, str]]:
    """Say what is to be closed: meter, rule and category, but nothing of no meter."""
    return {
        (each.subject.meter + each.subject.site, each.rule, each.category)
        for each in comparison.to_close
        if each.subject.meter
    }


@given(PLANTS, PLANTS, standards(), standards())
@settings(max_examples=15)
def test_what_the_rules_from_before_hold_is_held(
    before: Files, after: Files, earlier: Files, later: Files
) -> None:
    """Whatever a change brings of its own, all that is to be closed by the rules from
    before is to be closed; the same files with those rules put back are the judge."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        one = judge(make_side(folder / "one", {**before, **earlier}), DAY)
        other = judge(make_side(folder / "other", {**after, **later}), DAY)
        strict = judge(make_side(folder / "strict", {**after, **earlier}), DAY)
        found, by_before = compare(one, other), compare(one, strict)
    rank = {(meter, rule): category for meter, rule, category in closing(found)}
    for meter, rule, category in closing(by_before):
        assert rank.get((meter, rule), "D") <= category
    assert by_before.trials == ()


@given(CATEGORIES, CATEGORIES, st.sampled_from(("3 s", "200 s")), st.booleans())
@settings(max_examples=12)
def test_excuses_of_one_finding_do_not_help_one_another(
    earlier: str, later: str, longest: str, conceded: bool
) -> None:
    """A finding that a change brings is to be closed in the category from before or a
    more urgent one, whichever of category, limit and concession the change turns."""
    own = {"configlint.yaml": WORKSPACE + "rules: rules\n"}
    before = {**own, "rules/own.yaml": OWN_RULE % (earlier, "3 s")}
    after = {**own, "rules/own.yaml": OWN_RULE % (later, longest)}
    if conceded:
        after["concessions.yaml"] = concession("FT-2104", OWN)
    slow = {"north/a.yaml": meter_text({"transmitter.damping": "4 s"})}
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        one = judge(make_side(folder / "one", before), DAY)
        other = judge(make_side(folder / "other", {**slow, **after}), DAY)
        found = compare(one, other)
    (category,) = (each[2] for each in closing(found) if each[1] == OWN)
    assert category <= earlier


@given(PLANTS, PLANTS, standards(), standards())
@settings(max_examples=8)
def test_what_is_trusted_is_judged_by_its_own_rules(
    before: Files, after: Files, earlier: Files, later: Files
) -> None:
    """Once the change is trusted, its findings are those that a check of it has."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        one = judge(make_side(folder / "one", {**before, **earlier}), DAY)
        other = judge(make_side(folder / "other", {**after, **later}), DAY)
        found = compare(one, other, trusted=True)
    later_ones = {each.fingerprint for each in other.report.findings}
    told = (*found.new, *(each for _, each in found.kept))
    assert {each.fingerprint for each in told} == later_ones
    assert found.excuses == {}
