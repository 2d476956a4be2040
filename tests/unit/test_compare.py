"""Laws of a comparison: what has changed is told, what follows, and nothing besides."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.findings import Finding
from configlint.review.changes import Consequence, Move, Setting, Stayed
from configlint.review.compare import Comparison, OwnChange
from configlint.review.limit_changes import LimitChange
from tests.builders import DAMPING_RULE
from tests.comparisons import (
    SITES,
    WORKSPACE,
    compared,
    concession,
    meter_text,
    other_meter,
)

FILE = "north/FT-2104.yaml"
URV = "current_output.upper_range_value"
SCALE = "receiver.analogue.upper_scale"
WEIGHT = "pulse_output.pulse_weight"


def changed(folder: Path, **changes: str | None) -> Comparison:
    """Compare a sound meter with one that has some values changed by their paths."""
    return compared(folder, {FILE: meter_text()}, {FILE: meter_text(changes)})


def settings_of(comparison: Comparison) -> dict[str, Setting]:
    """Give the changed settings of the only meter that has changed."""
    (change,) = comparison.meters
    assert change.kind == "changed"
    return {each.path: each for each in change.settings}


def told(findings: tuple[Finding, ...]) -> list[tuple[str, str]]:
    """Name findings by their meter and rule."""
    return [(each.subject.meter, each.rule) for each in findings]


def amounts(found: Consequence) -> tuple[float | None, float | None, str]:
    """Give the figures of a consequence to four digits, with their unit."""
    before, after = found.before, found.after
    one, other = (
        None if each is None else float(f"{each.value:.4g}") for each in (before, after)
    )
    return one, other, (after or before or (0, "none"))[1]


# --- settings and what follows from them ------------------------------------


def test_a_state_does_not_differ_from_itself(tmp_path: Path) -> None:
    """Where all files are the same, nothing is told and nothing is held."""
    files = {FILE: meter_text({URV: "300 m3/h"}), "south/x.yaml": "meter: ["}
    found = compared(tmp_path, files, files)
    assert found.changes_nothing
    assert (found.new, found.gone, found.meters, found.groups) == ((), (), (), ())
    assert len(found.kept) > 2
    assert not found.held("C")


def test_a_changed_range_tells_what_follows_and_what_did_not(tmp_path: Path) -> None:
    """Of a changed range its velocity, pulse rate and the receiver's scale are told."""
    found = changed(tmp_path, **{URV: "300 m3/h"})
    setting = settings_of(found)[URV]
    assert (setting.before, setting.after, setting.same_value) == (
        "250 m3/h",
        "300 m3/h",
        False,
    )
    follows = {each.quantity: amounts(each) for each in setting.consequences}
    # 250 and 300 m3/h through a bore of 150 mm, and by pulses of 10 l.
    assert follows["velocity_at_span"] == (3.93, 4.716, "m/s")
    assert follows["pulse_rate_at_span"] == (6.944, 8.333, "Hz")
    assert setting.stayed == (Stayed(SCALE, "250 m3/h", "receiver-scale-agrees"),)
    assert ("FT-2104", "receiver-scale-agrees") in told(found.new)
    assert found.held("A")
    assert all(each.because == (URV,) for each in setting.consequences)


def test_both_ends_changed_together_leave_nothing_behind(tmp_path: Path) -> None:
    """Where the receiver's scale is changed with the range, no setting has stayed."""
    found = changed(tmp_path, **{URV: "300 m3/h", SCALE: "300 m3/h"})
    settings = settings_of(found)
    assert [each.stayed for each in settings.values()] == [(), ()]
    both = [each for each in settings[URV].consequences if SCALE in each.because]
    assert all(each.because[0] == URV for each in both)
    assert not any(each.quantity == "velocity_at_span" for each in settings[SCALE][4])
    assert not found.held("A")


def test_quantities_with_a_unit_come_before_plain_ratios(tmp_path: Path) -> None:
    """What a reviewer can picture, such as a velocity, is told before a ratio."""
    setting = settings_of(changed(tmp_path, **{URV: "300 m3/h"}))[URV]
    units = [(each.after or each.before or (0, ""))[1] for each in setting.consequences]
    plain = [unit in ("", "%") for unit in units]
    assert plain == sorted(plain)
    assert setting.consequences[0].quantity == "velocity_at_span"


def test_what_people_read_off_the_plant_has_not_stayed(tmp_path: Path) -> None:
    """A flow of the process is no setting that should have followed the range."""
    lower = changed(tmp_path / "a", **{URV: "200 m3/h", SCALE: "200 m3/h"})
    assert ("FT-2104", "maximum-flow-within-span") in told(lower.new)
    assert [each.stayed for each in settings_of(lower).values()] == [(), ()]
    higher = changed(tmp_path / "b", **{"process.flow.maximum": "260 m3/h"})
    stayed = settings_of(higher)["process.flow.maximum"].stayed
    assert stayed == (Stayed(URV, "250 m3/h", "maximum-flow-within-span"),)


@pytest.mark.parametrize(
    ("path", "after"),
    [
        (WEIGHT, "0.01 m3"),
        (WEIGHT, "10.0 l"),
        (URV, "250000 l/h"),
        ("sensor.bore", "0.15 m"),
        ("sensor.lining", "hard rubber "),
    ],
)
def test_another_spelling_of_an_amount_is_no_change_of_it(
    tmp_path: Path, path: str, after: str
) -> None:
    """Exactly the same amount is told as written otherwise; nothing follows of it."""
    setting = settings_of(changed(tmp_path, **{path: after}))[path]
    assert setting.same_value
    assert (setting.consequences, setting.stayed) == ((), ())


@pytest.mark.parametrize(
    ("path", "after"),
    [
        (URV, "69.44 l/s"),
        (WEIGHT, "10.0001 l"),
        ("sensor.lining", "PTFE"),
        (URV, "250 kg/h"),
        (URV, "250 m3/hh"),
    ],
)
def test_nearly_the_same_is_a_change(tmp_path: Path, path: str, after: str) -> None:
    """An amount that was rounded, of another kind or unreadable is another value."""
    assert not settings_of(changed(tmp_path, **{path: after}))[path].same_value


def test_a_value_that_goes_or_comes_is_told(tmp_path: Path) -> None:
    """A setting that is no longer written is told, with what can't be computed then."""
    found = changed(tmp_path / "a", **{WEIGHT: None})
    setting = settings_of(found)[WEIGHT]
    assert (setting.before, setting.after) == ("10 l", "")
    rate = {each.quantity: each for each in setting.consequences}["pulse_rate_at_span"]
    assert rate.before is not None
    assert rate.after is None
    added = changed(tmp_path / "b", service="Another")
    assert settings_of(added)["service"].before.startswith("Treated water")


def test_moved_lines_and_reordered_keys_are_no_change(tmp_path: Path) -> None:
    """Comments, quotes, line ends and the order of keys change nothing."""
    before = "meter: FT-1\nprinciple: vortex\nsensor: {bore: 50 mm, serial: S-1}\n"
    after = (
        "# a comment\r\nsensor:\r\n  serial: 'S-1'\r\n\r\n  bore: \"50 mm\"\r\n"
        "principle: vortex\r\nmeter: FT-1\r\n"
    )
    found = compared(tmp_path, {"north/a.yaml": before}, {"north/a.yaml": after})
    assert found.changes_nothing
    assert found.kept != ()


# --- meters that move -------------------------------------------------------


def test_findings_follow_a_meter_to_another_site(tmp_path: Path) -> None:
    """A meter that moves takes its findings along: none of them is new or gone."""
    wrong = meter_text({"transmitter.calibration_factor": "1.1", "servise": "water"})
    found = compared(tmp_path, {FILE: wrong}, {"south/moved.yaml": wrong})
    (change,) = found.meters
    after = str(tmp_path / "after/south/moved.yaml")
    assert change.moves == (
        Move("file", str(tmp_path / "before" / FILE), after),
        Move("site", "north", "south"),
    )
    assert (change.subject.site, change.settings) == ("south", ())
    assert (found.new, found.gone) == ((), ())
    assert {one.rule for one, _ in found.kept} >= {
        "calibration-factor-agrees",
        "key-known",
    }


def test_findings_follow_a_meter_to_another_tag(tmp_path: Path) -> None:
    """A corrected tag is told as a change of the tag, and makes no finding new."""
    wrong = {"transmitter.calibration_factor": "1.1"}
    before, after = meter_text(wrong, "FT-2104"), meter_text(wrong, "FT-2105")
    found = compared(tmp_path, {FILE: before}, {FILE: after})
    assert settings_of(found)["meter"].after == "FT-2105"
    assert (found.new, found.gone) == ((), ())


def test_findings_follow_a_workspace_to_another_name(tmp_path: Path) -> None:
    """A workspace or a site that is renamed makes no finding new."""
    wrong = meter_text({"transmitter.calibration_factor": "1.1"})
    renamed = WORKSPACE.replace("plant", "works").replace("{north", "{upper")
    own = {
        "configlint.yaml": renamed,
        "north/site.yaml": SITES["north/site.yaml"].replace("north", "upper"),
    }
    found = compared(tmp_path, {FILE: wrong}, {FILE: wrong, **own})
    (change,) = found.meters
    assert change.moves == (
        Move("site", "north", "upper"),
        Move("workspace", "plant", "works"),
    )
    assert (found.new, found.gone) == ((), ())


def test_a_renamed_file_takes_its_faults_along(tmp_path: Path) -> None:
    """A file that nobody can read is followed by what it holds."""
    broken = "meter: FT-1\nprinciple: ["
    found = compared(
        tmp_path,
        {"north/a.yaml": broken, "north/b.yaml": "pumps: 1\n"},
        {"south/c.yaml": broken, "north/b.yaml": "pumps: 2\n"},
    )
    assert (found.new, found.gone, found.meters) == ((), (), ())
    assert len(found.kept) == 2


def test_files_of_one_content_are_not_guessed_at(tmp_path: Path) -> None:
    """Of two unreadable files that hold the same, none is followed to a third name."""
    broken = "meter: ["
    found = compared(
        tmp_path,
        {"north/a.yaml": broken, "north/b.yaml": broken},
        {"north/c.yaml": broken},
    )
    assert (len(found.new), len(found.gone)) == (1, 2)


def test_meters_that_come_and_go_are_told(tmp_path: Path) -> None:
    """A meter on one side alone is added or removed, with its findings new or gone."""
    old = other_meter("FT-1", **{"transmitter.calibration_factor": "1.1"})
    new = other_meter("FT-2", **{"sensor.bore": "120 mm"})
    found = compared(tmp_path, {"north/a.yaml": old}, {"south/b.yaml": new})
    assert [(each.kind, each.subject.meter, each.unread) for each in found.meters] == [
        ("removed", "FT-1", False),
        ("added", "FT-2", False),
    ]
    assert ("FT-1", "calibration-factor-agrees") in told(found.gone)
    assert found.new != ()
    assert {meter for meter, _ in told(found.new)} == {"FT-2"}


@pytest.mark.parametrize("broken", ["meter: [\n", "- x\n", "meter: FT-2104\n"])
def test_a_meter_that_can_not_be_read_is_not_called_removed(
    tmp_path: Path, broken: str
) -> None:
    """A meter whose file is there, but unreadable, is told as that on each side."""
    found = compared(tmp_path / "a", {FILE: meter_text()}, {FILE: broken})
    assert [(each.kind, each.unread) for each in found.meters] == [("removed", True)]
    assert found.held("B")
    back = compared(tmp_path / "b", {FILE: broken}, {FILE: meter_text()})
    assert [(each.kind, each.unread) for each in back.meters] == [("added", True)]
    assert back.new == ()
    assert told(back.gone) == told(found.new)


def test_a_meter_that_is_taken_out_of_a_file_is_removed(tmp_path: Path) -> None:
    """A file that keeps its other meter, and has no fault, hides nothing."""
    one, other = other_meter("FT-1"), other_meter("FT-2")
    found = compared(tmp_path, {FILE: f"{one}---\n{other}"}, {FILE: one})
    assert [(each.kind, each.unread) for each in found.meters] == [("removed", False)]


# --- findings ---------------------------------------------------------------


def test_a_finding_with_other_figures_is_told_as_altered(tmp_path: Path) -> None:
    """A finding on both sides that says something else now is neither new nor gone."""
    factor = "transmitter.calibration_factor"
    before, after = meter_text({factor: "1.1"}), meter_text({factor: "1.2"})
    found = compared(tmp_path, {FILE: before}, {FILE: after})
    assert (found.new, found.gone) == ((), ())
    assert "calibration-factor-agrees" in [one.rule for one, _ in found.altered]
    assert not found.changes_nothing
    (group,) = found.groups
    assert group.altered == found.altered


def test_conflicts_between_meters_are_new_on_both(tmp_path: Path) -> None:
    """A number that is given twice now is a new finding of the unchanged meter too."""
    one, other = other_meter("FT-1"), other_meter("FT-2")
    twice = other_meter("FT-2", **{"sensor.serial": "S-FT-1"})
    files = {"north/a.yaml": one}
    found = compared(
        tmp_path, {**files, "north/b.yaml": other}, {**files, "north/b.yaml": twice}
    )
    rule = "sensor-serial-unique"
    assert {("FT-1", rule), ("FT-2", rule)} <= set(told(found.new))


def test_the_hold_is_of_new_findings_alone(tmp_path: Path) -> None:
    """A finding that was there before holds nothing, at whatever hold."""
    wrong = {"transmitter.calibration_factor": "1.1"}
    found = compared(
        tmp_path, {FILE: meter_text(wrong)}, {FILE: meter_text({**wrong, "odd": "1"})}
    )
    assert told(found.new) == [("FT-2104", "key-known")]
    holds = {hold: found.held(hold) for hold in ("A", "B", "C", "never")}
    assert holds == {"A": False, "B": True, "C": True, "never": False}
    assert found.new_by_category == {"A": 0, "B": 1, "C": 0}


def test_what_is_gone_is_told_under_the_meter_as_it_is(tmp_path: Path) -> None:
    """All that is told of a moved meter stands under its present site and file."""
    wrong = meter_text({"transmitter.calibration_factor": "1.1"})
    found = compared(tmp_path, {FILE: wrong}, {"south/b.yaml": meter_text()})
    (group,) = found.groups
    assert group.subject.file == str(tmp_path / "after/south/b.yaml")
    assert group.change == found.meters[0]
    assert "calibration-factor-agrees" in [each.rule for each in group.gone]


# --- concessions ------------------------------------------------------------

CONCEDED = {"concessions.yaml": concession("FT-2104")}
CONCEDED_RULE = ("FT-2104", "calibration-factor-agrees")


def test_what_is_no_longer_conceded_is_to_be_closed(tmp_path: Path) -> None:
    """A finding whose concession goes is no new one, and holds as one."""
    wrong = {FILE: meter_text({"transmitter.calibration_factor": "1.1"})}
    found = compared(tmp_path, {**wrong, **CONCEDED}, wrong)
    assert found.new == ()
    assert [each.rule for each in found.to_close] == ["calibration-factor-agrees"]
    assert found.new_by_category["A"] == 1
    assert found.held("A")
    ((one, other),) = found.altered
    assert (one.is_open, other.is_open) == (False, True)


def test_what_was_conceded_before_holds_nothing(tmp_path: Path) -> None:
    """A new finding that a concession from before is of does not hold the change."""
    wrong = {FILE: meter_text({"transmitter.calibration_factor": "1.1"})}
    found = compared(tmp_path, {FILE: meter_text(), **CONCEDED}, {**wrong, **CONCEDED})
    assert CONCEDED_RULE in told(found.new)
    assert (found.to_close, found.trials) == ((), ())


def test_a_concession_of_no_use_is_a_finding_of_its_file(tmp_path: Path) -> None:
    """Where a meter is mended, the concession that is left over is told as new."""
    wrong = meter_text({"transmitter.calibration_factor": "1.1"})
    before, after = {FILE: wrong, **CONCEDED}, {FILE: meter_text(), **CONCEDED}
    found = compared(tmp_path, before, after)
    assert told(found.new) == [("", "concession-used")]
    assert found.new[0].place.file == str(tmp_path / "after/concessions.yaml")


# --- what judges ------------------------------------------------------------

POLICY = """
policy:
  velocity-at-span-in-band: {highest: {value: %s, reason: %s}}
"""


def test_changes_of_a_policy_are_told(tmp_path: Path) -> None:
    """A limit that a policy sets, alters or drops is told, with its present reason."""
    sites = SITES["north/site.yaml"]
    before = {
        "configlint.yaml": WORKSPACE + POLICY % ("6 m/s", "Lining"),
        "north/site.yaml": sites + POLICY % ("5 m/s", "Sand"),
        FILE: meter_text(),
    }
    after = {
        "configlint.yaml": WORKSPACE + POLICY % ("8 m/s", "Hurry"),
        "south/site.yaml": SITES["south/site.yaml"] + POLICY % ("4 m/s", "Sand"),
        FILE: meter_text(),
    }
    found = compared(tmp_path, before, after)
    rule = ("velocity-at-span-in-band", "highest")
    assert found.judging.differences.limits == (
        LimitChange("plant", "", *rule, "6 m/s", "8 m/s", "Hurry", "looser"),
        LimitChange("plant", "north", *rule, "5 m/s", "", "", "looser"),
        LimitChange("plant", "south", *rule, "", "4 m/s", "Sand", "tighter"),
    )
    assert [each.change for each in found.own] == ["changed"] * 3


def test_changes_of_files_that_judge_are_told(tmp_path: Path) -> None:
    """Rules, type sheets, sites and concessions that come, go or change are told."""
    own = f"{WORKSPACE}rules: rules\ntype_sheets: types\n"
    rule = DAMPING_RULE
    before = {
        "configlint.yaml": own,
        "rules/own.yaml": rule,
        "types/one.yaml": "type_sheet: one\n",
        FILE: meter_text(),
    }
    after = {
        "configlint.yaml": own,
        "rules/own.yaml": DAMPING_RULE.replace("5 s", "2 s"),
        "types/two.yaml": "type_sheet: two\n",
        "concessions.yaml": "concessions: []\n",
        FILE: meter_text(),
    }
    found = compared(tmp_path, before, after)
    names = {
        each.file.partition("/after/")[2] or each.file.partition("/before/")[2]: each
        for each in found.own
    }
    assert {name: each[1:] for name, each in names.items()} == {
        "concessions.yaml": ("concessions", "added"),
        "rules/own.yaml": ("rules", "changed"),
        "types/one.yaml": ("type sheet", "removed"),
        "types/two.yaml": ("type sheet", "added"),
    }
    assert all(isinstance(each, OwnChange) for each in found.own)
    assert told(found.new) == [("FT-2104", "own-damping")]
    assert found.meters == ()


def test_files_that_are_left_out_are_told(tmp_path: Path) -> None:
    """What neither side reads is told once, with the reason."""
    files = {FILE: meter_text(), "elsewhere/x.yaml": "a: b\n"}
    found = compared(tmp_path, files, files)
    assert [each.reason for each in found.left_out] == [
        "it lies in no site's folder",
        "it lies in no site's folder",
    ]
