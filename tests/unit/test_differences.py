"""Laws of how what judges two sides differs: concessions, rules and limits."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

import pytest

from configlint.review.change_words import change_sentences
from configlint.review.differences import NO_DIFFERENCES, Differences, read_own
from tests.comparisons import FILE, SITES, WORKSPACE, compared, make_side, meter_text

ENTRY = """\
  - rule: calibration-factor-agrees
    meter: FT-2104
    reason: Known
    granted_by: Ann Invented
    granted_on: 2025-12-01
    expires_on: 2026-02-01
"""
METER = {FILE: meter_text({"transmitter.calibration_factor": "1.1"})}


def conceding(*entries: str) -> dict[str, str]:
    """Give a plant with some concessions."""
    if not entries:
        return METER
    return {**METER, "concessions.yaml": f"concessions:\n{''.join(entries)}"}


def sentences(
    folder: Path, before: dict[str, str], after: dict[str, str]
) -> tuple[Differences, list[str]]:
    """Give how what judges differs, as values and in words."""
    found = compared(folder, before, after).judging.differences
    return found, list(change_sentences(found))


# --- concessions ------------------------------------------------------------

TOLD = "Concession of calibration-factor-agrees for FT-2104"
TERMS = "onceded until 2026-02-01 by Ann Invented: Known."


@pytest.mark.parametrize(
    ("before", "after", "change", "words"),
    [
        ((), (ENTRY,), "added", f"{TOLD}, added. C{TERMS}"),
        ((ENTRY,), (), "removed", f"{TOLD}, removed. It was c{TERMS}"),
        (
            (ENTRY,),
            (ENTRY.replace("2026-02-01", "2026-03-01"),),
            "extended",
            f"{TOLD}, extended: until 2026-02-01, now 2026-03-01. Conceded until "
            "2026-03-01 by Ann Invented: Known.",
        ),
        (
            (ENTRY,),
            (ENTRY.replace("2026-02-01", "2026-01-05"),),
            "changed",
            f"{TOLD}, changed: until 2026-02-01, now 2026-01-05. Conceded until "
            "2026-01-05 by Ann Invented: Known.",
        ),
        (
            (ENTRY,),
            (
                ENTRY.replace("Ann", "Bea")
                .replace("Known", "Ordered")
                .replace("2025-12-01", "2025-12-02")
                + "    while: {transmitter.calibration_factor: 1.0 to 1.2}\n",
            ),
            "changed",
            f"{TOLD}, changed: from 2025-12-01, now 2025-12-02; granted by Ann "
            "Invented, now Bea Invented; reason Known, now Ordered; while anything, "
            "now transmitter.calibration_factor is 1.0 to 1.2. Conceded until "
            "2026-02-01 by Bea Invented: Ordered.",
        ),
    ],
)
def test_a_concession_tells_who_until_when_and_why(
    tmp_path: Path,
    before: tuple[str, ...],
    after: tuple[str, ...],
    change: str,
    words: str,
) -> None:
    """What becomes of a concession is told with its grantor, its end and its reason."""
    found, said = sentences(tmp_path, conceding(*before), conceding(*after))
    assert [each.change for each in found.concessions] == [change]
    assert said == [words]


def test_an_end_that_is_taken_away_extends(tmp_path: Path) -> None:
    """A concession that has no last day any more holds for longer than before."""
    entry = ENTRY.replace("calibration-factor-agrees", "velocity-at-span-advised")
    endless = entry.replace("    expires_on: 2026-02-01\n", "")
    found, said = sentences(tmp_path, conceding(entry), conceding(endless))
    assert [each.change for each in found.concessions] == ["extended"]
    assert "until 2026-02-01, now no day" in said[0]


def test_another_aim_is_another_concession(tmp_path: Path) -> None:
    """One that is of another meter now is told as removed and added."""
    other = ENTRY.replace("FT-2104", "FT-21*")
    found, _ = sentences(tmp_path, conceding(ENTRY), conceding(other))
    assert [(each.change, each.aim.meter) for each in found.concessions] == [
        ("added", "FT-21*"),
        ("removed", "FT-2104"),
    ]


def test_entries_that_change_places_are_no_change(tmp_path: Path) -> None:
    """Of entries with one aim those that say the same are one, in whatever order."""
    later = ENTRY.replace("2026-02-01", "2026-03-01")
    last = ENTRY.replace("2026-02-01", "2026-04-01")
    found, _ = sentences(tmp_path, conceding(ENTRY, later), conceding(later, ENTRY))
    assert found == NO_DIFFERENCES
    more, _ = sentences(
        tmp_path / "more", conceding(ENTRY, later), conceding(last, ENTRY)
    )
    (change,) = more.concessions
    assert change.before is not None
    assert change.after is not None
    ends = (change.before.expires_on, change.after.expires_on)
    assert [str(each) for each in ends] == ["2026-03-01", "2026-04-01"]


# --- rules ------------------------------------------------------------------

RULE = """\
ruleset: own
edition: "1"
quantities:
  own_damping:
    means: The damping
    symbol: t_own
    formula: transmitter.damping
    unit: s
    basis: {practice: Common}
rules:
  own-damping:
    category: B
    asks: Is the damping short?
    applies: given(transmitter.damping)
    limits: {longest: 4 s, shortest: 0 s}
    accept: shortest <= own_damping <= longest
    finding: The damping is {transmitter.damping}.
    remedy: Shorten it.
    settings: [transmitter.damping]
    basis: {practice: Common}
    proof: [{gives: conforms}, {with: {transmitter.damping: 9 s}, gives: nonconforming}]
  own-serial:
    category: C
    asks: Is no serial number given twice?
    across: {scope: site, same: [sensor.serial]}
    finding: "{others} too."
    remedy: Correct it.
    basis: {practice: Common}
    proof:
      - {meters: [{gives: conforms}]}
      - {meters: [{gives: nonconforming}, {gives: nonconforming}]}
"""
SOUND = {FILE: meter_text(), "configlint.yaml": f"{WORKSPACE}rules: rules\n"}


def ruled(text: str) -> dict[str, str]:
    """Give a plant with a file of its own rules."""
    return {**SOUND, "rules/own.yaml": text}


@pytest.mark.parametrize(
    ("old", "new", "words", "looser"),
    [
        ("category: B", "category: C", "category B, now C: less urgent", True),
        ("category: B", "category: A", "category B, now A: more urgent", False),
        ("longest: 4 s", "longest: 5 s", "limit longest 4 s, now 5 s: looser", True),
        ("longest: 4 s", "longest: 3 s", "limit longest 4 s, now 3 s: tighter", False),
        ("longest: 4 s", "longest: 4000 ms", "limit longest 4 s, now 4000 ms", False),
        (
            "shortest: 0 s",
            "shortest: 1 s",
            "limit shortest 0 s, now 1 s: tighter",
            False,
        ),
        (
            "applies: given(transmitter.damping)",
            "applies: used(pulse_output)",
            "applies: given(transmitter.damping), now used(pulse_output)",
            False,
        ),
        (
            "    applies: given(transmitter.damping)\n",
            "",
            "applies: given(transmitter.damping), now none",
            False,
        ),
        (
            "shortest <= own_damping <= longest",
            "own_damping <= longest + shortest",
            "accept: shortest <= own_damping <= longest, now own_damping <= longest + "
            "shortest",
            False,
        ),
        ("remedy: Shorten it", "remedy: Look at it", "another remedy", False),
        ("asks: Is the", "asks: Is not the", "another question", False),
        ("The damping is {", "It is {", "another finding", False),
    ],
)
def test_a_changed_rule_tells_what_of_it_is_another(
    tmp_path: Path, old: str, new: str, words: str, looser: bool
) -> None:
    """Each part of a rule that changes is told, and whether it certainly is looser."""
    assert RULE.count(old) == 1
    found, said = sentences(tmp_path, ruled(RULE), ruled(RULE.replace(old, new)))
    (change,) = found.rules
    assert (change.name, change.change, change.looser) == (
        "own-damping",
        "changed",
        looser,
    )
    assert change.details == (words,)
    mark = " (looser)" if looser else ""
    assert said == [f"Rule own-damping changed{mark}: {words}"]


def test_another_kind_of_rule_is_told_by_its_parts(tmp_path: Path) -> None:
    """A rule across meters that becomes one of a meter is told with both formulas."""
    start = RULE.index("  own-serial:")
    one = RULE[RULE.index("  own-damping:") : start].replace("damping:", "serial:", 1)
    found, _ = sentences(tmp_path, ruled(RULE), ruled(RULE[:start] + one))
    (change,) = found.rules
    assert "across: site, same sensor.serial, now none" in change.details
    assert "limit longest none, now 4 s" in change.details
    back, _ = sentences(tmp_path / "back", ruled(RULE[:start] + one), ruled(RULE))
    assert "across: none, now site, same sensor.serial" in back.rules[0].details


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("formula: transmitter.damping", "formula: 2 * transmitter.damping", "formula"),
        ("unit: s\n", "unit: ms\n", "unit"),
        (
            "unit: s\n",
            "unit: s\n    fallback: {formula: '3[s]', note: Assumed}\n",
            "fallback",
        ),
    ],
)
def test_a_quantity_that_is_computed_otherwise_is_told(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    """A rule can be relaxed by what it is computed from, so that is told as well."""
    found, said = sentences(tmp_path, ruled(RULE), ruled(RULE.replace(old, new)))
    (change,) = (each for each in found.rules if each.what == "quantity")
    assert (change.name, change.change) == ("own_damping", "changed")
    assert [each.partition(":")[0] for each in change.details] == [words]
    assert any(each.startswith("Quantity own_damping changed: ") for each in said)


READING = """\
ruleset: own
edition: "1"
reading:
  own-reading:
    category: B
    asks: Can it be read?
    remedy: Write it again.
    basis: {practice: Common}
"""


def test_a_rule_of_reading_is_told_by_its_parts(tmp_path: Path) -> None:
    """A rule about files has a category and a remedy, which are told as of any rule."""
    other = READING.replace("category: B", "category: C").replace("again", "anew")
    found, _ = sentences(tmp_path, ruled(READING), ruled(other))
    (change,) = found.rules
    assert change.details == ("category B, now C: less urgent", "another remedy")
    assert change.looser


def test_rules_that_come_and_go_are_told(tmp_path: Path) -> None:
    """A rule that is removed is looser, one that is added is not."""
    bare = {**SOUND, "rules/own.yaml": 'ruleset: own\nedition: "1"\n'}
    gone, said = sentences(tmp_path / "gone", ruled(RULE), bare)
    assert [(each.name, each.change, each.looser) for each in gone.rules] == [
        ("own-damping", "removed", True),
        ("own-serial", "removed", True),
        ("own_damping", "removed", False),
    ]
    assert said[0] == "Rule own-damping removed (looser): category B"
    come, _ = sentences(tmp_path / "come", bare, ruled(RULE))
    assert {(each.change, each.looser) for each in come.rules} == {("added", False)}


def test_another_edition_or_file_is_no_change(tmp_path: Path) -> None:
    """Rules that are the same in a file of another name or edition are not told."""
    other = {**SOUND, "rules/two.yaml": RULE.replace('edition: "1"', 'edition: "2"')}
    found, said = sentences(tmp_path, ruled(RULE), other)
    assert (found, said) == (NO_DIFFERENCES, [])


def test_a_workspace_that_comes_or_goes_is_told_whole(tmp_path: Path) -> None:
    """All rules and concessions of a workspace of one side come, or go, with it."""
    inner = {
        "north/configlint.yaml": "workspace: inner\nrules: rules\n",
        "north/rules/own.yaml": RULE,
        "north/concessions.yaml": f"concessions:\n{ENTRY}",
    }
    come, _ = sentences(tmp_path / "come", METER, {**METER, **inner})
    assert {each.workspace for each in come.rules} == {"inner"}
    assert {each.change for each in come.rules} == {"added"}
    assert [each[:2] for each in come.concessions] == [("inner", "added")]
    gone, _ = sentences(tmp_path / "gone", {**METER, **inner}, METER)
    assert {each.change for each in gone.rules} == {"removed"}
    assert [each[:2] for each in gone.concessions] == [("inner", "removed")]


# --- limits -----------------------------------------------------------------

LIMIT = "policy:\n  {}: {{{}: {{value: {}, reason: {}}}}}\n"


@pytest.mark.parametrize(
    ("rule", "limit", "value", "direction"),
    [
        ("velocity-at-span-in-band", "highest", "12 m/s", "looser"),
        ("velocity-at-span-in-band", "highest", "1000 cm/s", ""),
        ("velocity-at-span-in-band", "lowest", "0.5 m/s", "tighter"),
        ("receiver-range-is-4-20", "lower", "5 mA", ""),
        ("concession-in-date", "longest_of_A", "900 d", "looser"),
        ("concession-narrow", "most_meters", "3", "tighter"),
    ],
)
def test_a_limit_tells_which_way_it_moves(
    tmp_path: Path, rule: str, limit: str, value: str, direction: str
) -> None:
    """A limit is looser or tighter than the standard as the rule's proofs tell it."""
    policy = WORKSPACE + LIMIT.format(rule, limit, value, "Sand")
    found, said = sentences(tmp_path, METER, {**METER, "configlint.yaml": policy})
    (change,) = found.limits
    assert change.direction == direction
    mark = f" ({direction})" if direction else ""
    assert said == [f"{rule}, {limit} at plant: the standard, now {value}{mark}: Sand"]


def test_a_limit_that_a_site_drops_falls_back_to_the_workspace(tmp_path: Path) -> None:
    """What holds for a site is its own limit, else the workspace's, else the rule's."""
    rule = ("velocity-at-span-in-band", "highest")
    own = SITES["north/site.yaml"] + LIMIT.format(*rule, "6 m/s", "x")
    site = {"north/site.yaml": own}
    wide = {"configlint.yaml": WORKSPACE + LIMIT.format(*rule, "4 m/s", "x")}
    found, _ = sentences(tmp_path, {**METER, **wide, **site}, {**METER, **wide})
    (change,) = found.limits
    assert (change.site, change.after, change.direction) == ("north", "", "tighter")


def test_another_reason_alone_is_told(tmp_path: Path) -> None:
    """A limit that stays with another reason is told, as neither looser nor tighter."""
    rule = ("velocity-at-span-in-band", "highest", "6 m/s")
    one, other = (
        {**METER, "configlint.yaml": WORKSPACE + LIMIT.format(*rule, reason)}
        for reason in ("Sand", "Lining")
    )
    found, said = sentences(tmp_path, one, other)
    assert [each.direction for each in found.limits] == [""]
    assert said == [f"{rule[0]}, highest at plant: 6 m/s, now 6 m/s: Lining"]


def test_a_limit_of_a_rule_that_is_gone_has_no_direction(tmp_path: Path) -> None:
    """Where the rule itself goes with its limit, nobody can say which way."""
    policy = LIMIT.format("own-damping", "longest", "5 s", "x")
    before = ruled(RULE)
    before["configlint.yaml"] += policy
    bare = {**SOUND, "rules/own.yaml": 'ruleset: own\nedition: "1"\n'}
    found, _ = sentences(tmp_path, before, bare)
    assert [(each.rule, each.direction) for each in found.limits] == [
        ("own-damping", "")
    ]


# --- what is not judged by --------------------------------------------------


def test_what_can_not_be_taken_is_told_and_stops_nothing(tmp_path: Path) -> None:
    """Where other rules judge, a fault in a side's own is told, not a refusal."""
    one = make_side(tmp_path / "one", METER)
    faulty = {**METER, "concessions.yaml": "concessions:\n  - rule: none-such\n"}
    other = make_side(tmp_path / "two", faulty)
    own = read_own(nullcontext((one, other)))
    assert own.differences == NO_DIFFERENCES
    assert all("concessions.yaml:" in each for each in own.untaken)
    assert own.untaken
    assert read_own(nullcontext((one, one))) == (NO_DIFFERENCES, ())
