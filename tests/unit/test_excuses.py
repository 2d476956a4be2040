"""Laws of what a change excuses by its own rules, policy and concessions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from configlint.review.compare import Comparison, compare
from configlint.review.compare_text import write as write_text
from configlint.review.excuses import find_excused, without_excuses
from configlint.review.sides import Judged, Side, judge
from configlint.review.words import excuses_of
from tests.comparisons import (
    DAY,
    FILE,
    SITES,
    WORKSPACE,
    compared,
    concession,
    make_side,
    meter_text,
)

SOUND = {FILE: meter_text()}
WRONG = {FILE: meter_text({"transmitter.calibration_factor": "1.1"})}
CONCEDED_NOW = {"concessions.yaml": concession("FT-2104")}
FACTOR = "calibration-factor-agrees"
FAST = {
    FILE: meter_text(
        {
            "current_output.upper_range_value": "700 m3/h",
            "receiver.analogue.upper_scale": "700 m3/h",
        }
    )
}
VELOCITY = "velocity-at-span-in-band"
POLICY = "policy:\n  velocity-at-span-in-band: {highest: {value: %s, reason: Hurry}}\n"
RULE = """\
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
      - {with: {transmitter.damping: 99 s}, gives: nonconforming}
"""
OWN_RULES = {"configlint.yaml": f"{WORKSPACE}rules: rules\n"}
SLOW = {FILE: meter_text({"transmitter.damping": "4 s"})}
QUICK = {FILE: meter_text({"transmitter.damping": "2 s"})}


def excused(found: Comparison) -> list[tuple[str, str, bool, bool]]:
    """Give rule, what excuses it, whether it is new, and whether it counts."""
    return [
        (each.excused.finding.rule, "+".join(each.excused.by), each.is_new, each.counts)
        for each in found.trials
    ]


def closing(found: Comparison) -> list[str]:
    """Name the rules of what is to be closed."""
    return [each.rule for each in found.to_close]


def two(folder: Path, before: Mapping[str, str], after: Mapping[str, str]) -> Judged:
    """Give the later of two judged sides as it stands without its excuses."""
    one = judge(make_side(folder / "before", before), DAY)
    other = judge(make_side(folder / "after", after), DAY)
    return without_excuses(other, find_excused(one, other))


# --- concessions ------------------------------------------------------------


def test_a_concession_does_not_hide_a_lower_category(tmp_path: Path) -> None:
    """A finding that is conceded and made less urgent in one change is told in its
    category from before, with both of what excuses it."""
    before = {**QUICK, **OWN_RULES, "rules/own.yaml": RULE % ("A", "3 s")}
    conceded = {"concessions.yaml": concession("FT-2104", "own-damping")}
    lower = {**OWN_RULES, "rules/own.yaml": RULE % ("C", "3 s"), **conceded}
    found = compared(tmp_path, before, {**SLOW, **lower})
    assert excused(found) == [("own-damping", "concession+category", True, True)]
    assert [each.category for each in found.to_close] == ["A"]
    assert found.held("A")
    told = write_text(found, "B")
    assert "new, conceded by this very change, made less urgent by the change" in told
    assert [each.by for each in excuses_of(found)] == ["concession", "category"]


def test_a_concession_does_not_excuse_the_finding_it_comes_with(tmp_path: Path) -> None:
    """A mistake with a concession of its own holds the change, and is told open."""
    found = compared(tmp_path, SOUND, {**WRONG, **CONCEDED_NOW})
    assert excused(found) == [(FACTOR, "concession", True, True)]
    assert closing(found) == [FACTOR]
    (finding,) = (each for each in found.new if each.rule == FACTOR)
    assert finding.is_open
    assert finding.assumptions[0].startswith("Conceded by this very change, which does")
    assert "until 2026-02-01 by invented engineer: Known" in finding.assumptions[0]


def test_a_concession_of_an_old_finding_holds_too(tmp_path: Path) -> None:
    """A finding that was open before is not closed by conceding it in the change."""
    found = compared(tmp_path, WRONG, {**WRONG, **CONCEDED_NOW})
    assert excused(found) == [(FACTOR, "concession", False, True)]
    assert (closing(found), found.new) == ([FACTOR], ())
    assert [each[1].rule for each in found.altered] == [FACTOR]
    assert found.held("A")


def test_what_is_trusted_counts(tmp_path: Path) -> None:
    """Once it is accepted, the concession excuses as any other, and is still told."""
    found = compared(tmp_path, SOUND, {**WRONG, **CONCEDED_NOW}, trusted=True)
    assert excused(found) == [(FACTOR, "concession", True, False)]
    assert (closing(found), found.excuses) == ([], {})
    assert not found.held("C")


@pytest.mark.parametrize(
    ("before", "counts"),
    [
        (concession("FT-2104"), False),
        (concession("FT-21*"), False),
        (concession("FT-9"), True),
        (concession("FT-2104").replace("2026-02-01", "2026-01-01"), True),
        (concession("FT-2104").replace("2026-02-01", "2026-01-02"), False),
        (concession("FT-2104", "receiver-scale-agrees"), True),
        (
            concession("FT-2104").replace(
                "reason", 'while: {transmitter.calibration_factor: "1.2"}, reason'
            ),
            True,
        ),
    ],
)
def test_only_what_was_in_force_before_counts(
    tmp_path: Path, before: str, counts: bool
) -> None:
    """A concession that held before is none of the change; one run out, of another
    meter or value, or of another rule does not make it older."""
    found = compared(
        tmp_path, {**SOUND, "concessions.yaml": before}, {**WRONG, **CONCEDED_NOW}
    )
    assert excused(found) == ([(FACTOR, "concession", True, True)] if counts else [])


def test_outcomes_are_counted_without_the_excuse(tmp_path: Path) -> None:
    """The meter's outcomes say what the findings say, and add up as before."""
    judged = two(tmp_path, SOUND, {**WRONG, **CONCEDED_NOW})
    (result,) = judged.report.meters
    plain = judge(make_side(tmp_path / "plain", WRONG), DAY)
    assert result.outcomes == plain.report.meters[0].outcomes
    assert judged.report.by_category == plain.report.by_category
    assert judged.report.conceded == 0


def test_a_conceded_fault_of_reading_is_no_outcome(tmp_path: Path) -> None:
    """A wrong key that the change concedes is found, and counted as no outcome."""
    odd = {FILE: meter_text({"servise": "water"})}
    own = {"concessions.yaml": concession("FT-2104", "key-known")}
    judged = two(tmp_path, SOUND, {**odd, **own})
    assert [each.rule for each in judged.report.open_findings] == ["key-known"]
    plain = judge(make_side(tmp_path / "plain", odd), DAY)
    assert judged.report.meters[0].outcomes == plain.report.meters[0].outcomes


# --- policy -----------------------------------------------------------------


def test_a_policy_does_not_let_pass_what_comes_with_it(tmp_path: Path) -> None:
    """A limit that the change relaxes does not judge what the change brings."""
    relaxed = {**FAST, "configlint.yaml": WORKSPACE + POLICY % "20 m/s"}
    found = compared(tmp_path, SOUND, relaxed)
    assert excused(found) == [(VELOCITY, "rules", True, True)]
    assert VELOCITY in closing(found)
    (finding,) = (each for each in found.new if each.rule == VELOCITY)
    assert "Found by the rules from before this change." in finding.assumptions[0]
    trusted = compared(tmp_path / "trusted", SOUND, relaxed, trusted=True)
    assert VELOCITY not in closing(trusted)


def test_a_policy_of_a_site_is_one_too(tmp_path: Path) -> None:
    """Whether the limit is relaxed for a site or everywhere is one to the hold."""
    site = {"north/site.yaml": SITES["north/site.yaml"] + POLICY % "20 m/s"}
    found = compared(tmp_path, SOUND, {**FAST, **site})
    assert excused(found) == [(VELOCITY, "rules", True, True)]


def test_what_was_there_before_is_told_as_gone(tmp_path: Path) -> None:
    """A finding from before that a policy lets pass holds nothing: it may be mended."""
    relaxed = {**FAST, "configlint.yaml": WORKSPACE + POLICY % "20 m/s"}
    found = compared(tmp_path, FAST, relaxed)
    assert excused(found) == [(VELOCITY, "rules", False, False)]
    assert VELOCITY in [each.rule for each in found.gone]
    assert closing(found) == []


def test_a_tighter_policy_counts(tmp_path: Path) -> None:
    """What only the change's own stricter limit finds is found, excused by nothing."""
    tight = {**SOUND, "configlint.yaml": WORKSPACE + POLICY % "2 m/s"}
    found = compared(tmp_path, SOUND, tight)
    assert (closing(found), found.trials) == ([VELOCITY], ())


@pytest.mark.parametrize(
    "own",
    [
        {"north/configlint.yaml": f"workspace: mine\n{POLICY % '20 m/s'}"},
        {
            "configlint.yaml": "workspace: plant\nsites: {nord: {folder: north}}\n"
            + POLICY % "20 m/s",
            "north/site.yaml": "site: nord\nmains_frequency: 50 Hz\n",
        },
        {
            "configlint.yaml": "workspace: other\nsites: {north: {folder: north}}\n"
            + POLICY % "20 m/s",
        },
    ],
)
def test_another_name_is_no_excuse(tmp_path: Path, own: dict[str, str]) -> None:
    """A workspace of its own, or another name of site or workspace, hides nothing."""
    found = compared(tmp_path, SOUND, {**FAST, **own})
    assert (VELOCITY, "rules", True, True) in excused(found)
    assert VELOCITY in closing(found)
    (finding,) = (each for each in found.new if each.rule == VELOCITY)
    assert finding.subject in [each.subject for each in found.groups]


def test_a_workspace_that_is_new_was_none_before(tmp_path: Path) -> None:
    """Where there was no workspace, the standard rules judge what its policy lets."""
    folder = tmp_path / "bare"
    (folder / "north").mkdir(parents=True)
    (folder / FILE).write_text(SOUND[FILE], "utf-8")
    before = judge(Side("bare", folder, folder), DAY)
    relaxed = {**FAST, "configlint.yaml": WORKSPACE + POLICY % "20 m/s"}
    found = compare(before, judge(make_side(tmp_path / "after", relaxed), DAY))
    assert (VELOCITY, "rules", True, True) in excused(found)


# --- what a site is, and type sheets ----------------------------------------


def test_what_a_site_file_tells_of_the_plant_counts(tmp_path: Path) -> None:
    """Mains of another frequency are those of the plant, and relax no rule."""
    mains = {"transmitter.excitation_frequency": "15 Hz"}
    odd = {FILE: meter_text(mains)}
    site = "site: north\nmains_frequency: 60 Hz\n"
    before = {**odd, "configlint.yaml": WORKSPACE + POLICY % "9 m/s"}
    found = compared(tmp_path, before, {**odd, "north/site.yaml": site})
    assert found.trials == ()


def test_a_site_that_is_added_has_no_policy_yet(tmp_path: Path) -> None:
    """What the policy of a new site lets pass is found by the workspace's own."""
    own = {
        "configlint.yaml": "workspace: plant\nsites:\n  north: {folder: north}\n"
        "  south: {folder: south}\n  west: {folder: west}\n",
        "west/site.yaml": f"site: west\nmains_frequency: 50 Hz\n{POLICY % '20 m/s'}",
        "west/a.yaml": FAST[FILE],
    }
    found = compared(tmp_path, SOUND, {**SOUND, **own})
    assert (VELOCITY, "rules", True, True) in excused(found)
    (finding,) = (each for each in found.new if each.rule == VELOCITY)
    assert finding.subject.site == "west"


SHEETS = {"configlint.yaml": f"{WORKSPACE}type_sheets: types\n"}


@pytest.fixture(name="typed")
def give_typed() -> dict[str, str]:
    """Give a meter of a type sheet of the workspace's own."""
    return {FILE: meter_text({"type_sheet": "made"})}


def test_a_type_sheet_that_is_added_counts(
    tmp_path: Path, typed: dict[str, str]
) -> None:
    """A meter may come with the type sheet of its own type, which there was not."""
    before = {**SHEETS, **SOUND, "types/other.yaml": "type_sheet: other\n"}
    after = {**before, **typed, "types/made.yaml": "type_sheet: made\n"}
    found = compared(tmp_path, before, after)
    assert "type-sheet-known" not in [each.rule for each in found.new]
    assert found.trials == ()


# --- rules of a workspace's own ---------------------------------------------


def own_rule(category: str = "B", longest: str = "3 s") -> dict[str, str]:
    """Give a workspace with one rule of its own."""
    return {**OWN_RULES, "rules/own.yaml": RULE % (category, longest)}


def test_a_rule_that_is_removed_still_finds(tmp_path: Path) -> None:
    """Who breaks a rule and deletes it in one change breaks it."""
    after = {**SLOW, **OWN_RULES, "rules/other.yaml": "ruleset: x\nedition: '1'\n"}
    found = compared(tmp_path, {**QUICK, **own_rule()}, after)
    assert excused(found) == [("own-damping", "rules", True, True)]
    assert closing(found) == ["own-damping"]
    kept = compared(tmp_path / "kept", {**QUICK, **own_rule()}, {**SLOW, **own_rule()})
    assert closing(kept) == ["own-damping"]


def test_a_rule_that_is_relaxed_still_finds(tmp_path: Path) -> None:
    """A limit raised in the rule itself lets nothing pass that comes with it."""
    found = compared(
        tmp_path, {**QUICK, **own_rule()}, {**SLOW, **own_rule(longest="9 s")}
    )
    assert excused(found) == [("own-damping", "rules", True, True)]


def test_a_rule_made_less_urgent_keeps_its_category(tmp_path: Path) -> None:
    """A category that the change lowers does not lower what the change brings."""
    found = compared(tmp_path, {**QUICK, **own_rule("A")}, {**SLOW, **own_rule("C")})
    assert excused(found) == [("own-damping", "category", True, True)]
    (finding,) = found.to_close
    assert finding.category == "A"
    assert "makes it less urgent" in finding.assumptions[0]
    old = compared(
        tmp_path / "old", {**SLOW, **own_rule("A")}, {**SLOW, **own_rule("C")}
    )
    assert (old.to_close, excused(old)[0][2:]) == ((), (False, False))


OWN = RULE % ("B", "3 s")
NEVER = "applies: used(pulse_output) and 1 > 2"
LATER = {
    "relaxed": RULE % ("B", "9 s"),
    "not asked": OWN.replace("accept", f"{NEVER}\n    accept"),
    "left open": OWN.replace("accept: ", "accept: site_data.odd == 'x' and ").replace(
        "rules:", "site_data:\n  odd: {means: Odd}\nrules:"
    ),
}


@pytest.mark.parametrize("later", LATER.values(), ids=LATER)
def test_outcomes_are_counted_by_the_rules_from_before(
    tmp_path: Path, later: str
) -> None:
    """What is let pass, left open or not asked any more is counted as nonconforming."""
    plain = judge(make_side(tmp_path / "plain", {**SLOW, **own_rule()}), DAY)
    changed = {**SLOW, **OWN_RULES, "rules/own.yaml": later}
    judged = two(tmp_path, {**QUICK, **own_rule()}, changed)
    (result,) = judged.report.meters
    assert "own-damping" not in result.met
    assert "own-damping" not in [each.rule for each in result.left_open]
    assert result.outcomes == plain.report.meters[0].outcomes


def test_a_rule_that_is_gone_is_counted_all_the_same(tmp_path: Path) -> None:
    """The outcome of a rule that the later side does not have is one more there."""
    plain = judge(make_side(tmp_path / "plain", {**SLOW, **own_rule()}), DAY)
    gone = {**OWN_RULES, "rules/other.yaml": "ruleset: x\nedition: '1'\n"}
    judged = two(tmp_path, {**QUICK, **own_rule()}, {**SLOW, **gone})
    assert judged.report.by_outcome == plain.report.by_outcome


# --- whose workspace it is --------------------------------------------------


def test_a_workspace_without_sites_has_its_concessions(tmp_path: Path) -> None:
    """Where no site is named, what the workspace says before and now is told apart."""
    plain = {"configlint.yaml": "workspace: plant\n"}
    found = compared(tmp_path, {**SOUND, **plain}, {**WRONG, **plain, **CONCEDED_NOW})
    assert excused(found) == [(FACTOR, "concession", True, True)]


@pytest.mark.parametrize("before", [SOUND, {}])
def test_a_workspace_file_that_is_named_is_looked_for_on_both_sides(
    tmp_path: Path, before: dict[str, str]
) -> None:
    """A change excuses itself by a named workspace file as by one around the files,
    even if there was neither a file nor a meter before."""
    sides = []
    for name, files in (("before", before), ("after", {**WRONG, **CONCEDED_NOW})):
        side = make_side(tmp_path / name, files)
        file = side.folder / "configlint.yaml"
        sides.append(replace(side, workspace_file=file, names=(FILE,)))
    if not before:
        (sides[0].folder / "configlint.yaml").unlink()
    one, other = (judge(side, DAY) for side in sides)
    assert excused(compare(one, other)) == [(FACTOR, "concession", True, True)]


# --- when nothing is excused ------------------------------------------------


def test_without_a_change_of_what_judges_nothing_is_judged_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the same files judge, the later side is not judged once more."""
    one, other = (
        judge(make_side(tmp_path / name, files), DAY)
        for name, files in (("before", SOUND), ("after", WRONG))
    )
    name = "configlint.review.excuses._judged_as_before"
    monkeypatch.setattr(name, lambda before, after: pytest.fail("judged again"))
    assert find_excused(one, other) == ()
    assert without_excuses(other, ()) is other
