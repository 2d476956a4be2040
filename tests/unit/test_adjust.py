"""Laws of a change that is tried: what it does is told, and nothing else is done."""

from __future__ import annotations

import codecs
import stat
from datetime import date
from pathlib import Path

import pytest
import yaml

from configlint.errors import RunError
from configlint.findings import Finding
from configlint.review.adjust import Adjustment, Asked, adjust, write_adjustment
from tests.adjusting import mistyped, sound, works, write

DAY = date(2026, 1, 31)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a workspace of two sites with a sound meter each, as the current folder."""
    return works(tmp_path, monkeypatch)


def tried(
    *settings: str, file: str = "north/FT-1.yaml", advice: str = ""
) -> Adjustment:
    """Try a change of a file."""
    asked = Asked(settings, (advice,) if advice else ())
    return adjust([Path(file)], asked, run_date=DAY)


def refusal(*settings: str, file: str = "north/FT-1.yaml", advice: str = "") -> str:
    """Give the faults with which a change is refused."""
    with pytest.raises(RunError) as caught:
        tried(*settings, file=file, advice=advice)
    return str(caught.value)


def told(findings: tuple[Finding, ...]) -> list[tuple[str, str]]:
    """Give the rules and the meters of some findings."""
    return [(each.rule, each.subject.meter) for each in findings]


def test_a_change_is_tried_before_it_is_written(here: Path) -> None:
    """Nothing is written until it is asked for; then the file is what was shown."""
    file = here / "north" / "FT-1.yaml"
    before = file.read_bytes()
    file.chmod(0o640)
    adjustment = tried("transmitter.damping=5 s")
    assert file.read_bytes() == before
    (edited,) = adjustment.files
    assert edited.before == before
    assert edited.after == before.replace(b"damping: 3 s", b"damping: 5 s", 1)
    assert adjustment.changes_anything
    assert write_adjustment(adjustment)
    assert file.read_bytes() == edited.after
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert sorted(each.name for each in file.parent.iterdir()) == [
        "FT-1.yaml",
        "site.yaml",
    ]


def test_findings_are_told_apart_by_their_fingerprints(here: Path) -> None:
    """A finding that goes is gone, one that comes is new, and others remain."""
    write(here, {"north/FT-1.yaml": f"{mistyped()}servise: water\n"})
    adjustment = tried(
        "transmitter.calibration_factor=1.0234", "transmitter.low_flow_cutoff=0 m3/h"
    )
    assert told(adjustment.gone) == [("calibration-factor-agrees", "FT-1")]
    assert told(adjustment.new) == [("low-flow-cutoff-not-zero", "FT-1")]
    assert told(adjustment.remaining) == [("key-known", "FT-1")]
    assert adjustment.counts(late=False) == {"A": 1, "B": 1, "C": 0}
    assert adjustment.counts(late=True) == {"A": 0, "B": 2, "C": 0}
    assert adjustment.held == ()


CONCESSION = """\
concessions:
  - rule: calibration-factor-agrees
    meter: FT-1
    while: {transmitter.calibration_factor: "1.0324"}
    reason: The plate was read wrongly
    granted_by: Iris Invented
    granted_on: 2026-01-01
    expires_on: 2026-03-01
"""


def test_a_concession_that_a_change_ends_leaves_a_new_finding(here: Path) -> None:
    """What is conceded is no finding; where the change ends that, it is a new one."""
    write(here, {"north/FT-1.yaml": mistyped(), "concessions.yaml": CONCESSION})
    kept = tried("service=water")
    assert kept.counts(late=False) == kept.counts(late=True)
    assert told(kept.remaining) == []
    ended = tried("transmitter.calibration_factor=1.0342")
    assert ("calibration-factor-agrees", "FT-1") in told(ended.held)


def test_a_new_finding_of_category_a_holds_the_change(here: Path) -> None:
    """Such a change is shown, and never written."""
    file = here / "north" / "FT-1.yaml"
    before = file.read_bytes()
    adjustment = tried("receiver.analogue.upper_scale=1 m3/h")
    assert "receiver-scale-agrees" in [each.rule for each in adjustment.held]
    assert not write_adjustment(adjustment)
    assert file.read_bytes() == before


def test_the_files_around_are_judged_too(here: Path) -> None:
    """What a change does to meters of other files holds it as well."""
    write(here, {"north/FT-3.yaml": sound("FT-3")})
    adjustment = tried("receiver.bus.address=FT-3")
    assert ("bus-address-unique", "FT-1") in told(adjustment.held)
    assert ("bus-address-unique", "FT-3") in told(adjustment.held)
    assert not write_adjustment(adjustment)


def test_a_file_of_no_workspace_is_judged_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where no workspace says what belongs together, the files that are named count."""
    monkeypatch.chdir(tmp_path)
    write(tmp_path, {"FT-1.yaml": sound(), "FT-3.yaml": sound("FT-3")})
    assert not tried("receiver.bus.address=FT-3", file="FT-1.yaml").held
    asked = Asked(("FT-1:receiver.bus.address=FT-3",))
    assert adjust([Path("FT-1.yaml"), Path("FT-3.yaml")], asked).held


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        (
            "sensor.bore=wide",
            ("north/FT-1.yaml:", "'wide' is not an amount", "Write a length such as"),
        ),
        ("sensor.bore=80 kg", ("sensor.bore",)),
        ("sensor.bore=80 mmm", ("mmm",)),
        ("principle=magic", ("'magic' is no principle",)),
        ("type_sheet=unknown", ("There is no type sheet 'unknown'",)),
        ("transmitter.settings_locked=yes", ("neither true nor false", "Write true")),
        ("sensor.calibration.date=31.1.2026", ("not written as a date",)),
        ("pulse_output=unused", ("a section is written here",)),
    ],
)
def test_a_value_of_another_kind_is_refused(
    here: Path, setting: str, words: tuple[str, ...]
) -> None:
    """A value that its key can't hold is refused with what was expected."""
    said = refusal(setting)
    for word in words:
        assert word in said


def test_a_section_can_be_said_to_be_not_used(here: Path) -> None:
    """The words `not used` may stand in place of a section that is not written."""
    (meter,) = yaml.safe_load_all(sound())
    del meter["pulse_output"]
    write(here, {"north/FT-1.yaml": yaml.safe_dump(meter, sort_keys=False)})
    (edited,) = tried("pulse_output=not used").files
    assert edited.after == edited.before + b"pulse_output: not used\n"
    assert "'unused'" in refusal("pulse_output=unused")


def test_a_value_that_is_there_already_changes_nothing(here: Path) -> None:
    """The change is told, with nothing to be written."""
    adjustment = tried("principle=electromagnetic")
    assert not adjustment.changes_anything
    assert write_adjustment(adjustment)
    assert [each.change.path for each in adjustment.adjusted] == ["principle"]


SHARED = """\
meters:
  - &first
    meter: FT-1
    principle: electromagnetic
    sensor: &sensor {bore: 80 mm, nominal_size: DN 80}
    process: &process
      fluid: water
  - meter: FT-2
    principle: electromagnetic
    sensor:
      <<: *sensor
      serial: S-2
    process: *process
"""


def test_what_meters_share_changes_for_all_of_them_or_not_at_all(here: Path) -> None:
    """A shared value is set where it is written, once all its meters are named."""
    write(here, {"north/FT-1.yaml": SHARED})
    one, two = "FT-1:process.fluid=milk", "FT-2:process.fluid=milk"
    said = refusal(one)
    assert "meters[1].process.fluid of FT-2 would change as well" in said
    assert "north/FT-1.yaml:13:14" in said
    assert "taken over by *process" in refusal(two)
    for order in ((one, two), (two, one)):
        (edited,) = tried(*order).files
        assert edited.after == edited.before.replace(b"water", b"milk")
    differing = refusal(one, "FT-2:process.fluid=wine")
    assert "taken over by *process" in differing


def test_a_merged_value_is_overridden_for_one_meter(here: Path) -> None:
    """What a merge key brings in is written over in the meter that is named."""
    write(here, {"north/FT-1.yaml": SHARED})
    adjustment = tried("FT-2:sensor.bore=81 mm")
    (edited,) = adjustment.files
    assert edited.after == edited.before.replace(
        b"      serial: S-2\n", b"      serial: S-2\n      bore: 81 mm\n"
    )
    (adjusted,) = adjustment.adjusted
    assert str(adjusted.merged_from) == "north/FT-1.yaml:5:28"
    assert adjusted.place.line == 13


def test_several_values_are_set_in_one_go(here: Path) -> None:
    """New sections and old values change together, also in several files."""
    write(here, {"north/FT-1.yaml": "meter: FT-1\nprinciple: electromagnetic\n"})
    write(here, {"south/FT-2.yaml": "{meter: FT-2, principle: electromagnetic}"})
    files = [Path("south/FT-2.yaml"), Path("north/FT-1.yaml"), Path("north/FT-1.yaml")]
    asked = Asked(
        (
            "sensor.bore=80 mm",
            "FT-1:sensor.nameplate.calibration_factor=1.0",
            "FT-1:service=yes",
        )
    )
    adjustment = adjust(files, asked)
    first, second = adjustment.files
    assert first.after.decode() == (
        "meter: FT-1\nprinciple: electromagnetic\nsensor:\n  bore: 80 mm\n"
        '  nameplate:\n    calibration_factor: 1.0\nservice: "yes"\n'
    )
    assert second.after == b"{meter: FT-2, principle: electromagnetic, " + (
        b"sensor: {bore: 80 mm}}"
    )
    assert write_adjustment(adjustment)
    assert (here / "north/FT-1.yaml").read_bytes() == first.after


def test_a_refusal_in_one_file_stops_all(here: Path) -> None:
    """Where one of several files can't be changed, none is."""
    write(here, {"south/FT-2.yaml": "meter: [FT-2\n"})
    with pytest.raises(RunError, match=r"south/FT-2\.yaml"):
        adjust(
            [Path("north/FT-1.yaml"), Path("south/FT-2.yaml")],
            Asked(("FT-1:service=x",)),
        )


def test_a_file_that_changes_underneath_is_left(here: Path) -> None:
    """What somebody else has written since the change was tried is never lost."""
    adjustment = tried("service=x")
    write(here, {"north/FT-1.yaml": sound("FT-4")})
    with pytest.raises(RunError, match="has changed since it was read"):
        write_adjustment(adjustment)
    assert (here / "north/FT-1.yaml").read_text("utf-8") == sound("FT-4")


def test_a_byte_order_mark_and_line_ends_stay(here: Path) -> None:
    """All that editors leave in a file is still there behind the change."""
    text = "meter: FT-1  # é\r\nprinciple: vortex\r\nservice: 'a'"
    data = codecs.BOM_UTF8 + text.encode()
    (here / "north/FT-1.yaml").write_bytes(data)
    adjustment = tried("service=b", "construction=integral")
    (edited,) = adjustment.files
    expected = text.replace("'a'", "'b'") + "\r\nconstruction: integral"
    assert edited.after == codecs.BOM_UTF8 + expected.encode()
    assert write_adjustment(adjustment)
    assert (here / "north/FT-1.yaml").read_bytes() == edited.after


def test_a_link_is_followed_and_told(here: Path) -> None:
    """The file that a link leads to is changed in its own place."""
    (here / "link.yaml").symlink_to("north/FT-1.yaml")
    adjustment = tried("service=x", file="link.yaml")
    assert adjustment.leads == (("link.yaml", "north/FT-1.yaml"),)
    assert [each.source.file for each in adjustment.files] == ["north/FT-1.yaml"]
    assert write_adjustment(adjustment)
    assert (here / "link.yaml").is_symlink()
    assert b"service: x" in (here / "north/FT-1.yaml").read_bytes()


def test_what_is_no_meter_file_is_refused(here: Path) -> None:
    """A folder, a workspace's own file, a link to nothing: each is told as such."""
    (here / "loop.yaml").symlink_to("loop.yaml")
    (here / "gone.yaml").symlink_to("nowhere.yaml")
    for file, words in (
        ("north", "This is a folder"),
        ("configlint.yaml", "since it holds no meters by its name"),
        ("nowhere.yaml", "There is no such file"),
        ("gone.yaml", "There is no such file"),
        ("loop.yaml", "can't be opened"),
    ):
        assert words in refusal("service=x", file=file), file


def test_a_file_that_is_too_long_is_refused(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file beyond the bound is never changed in part."""
    write(here, {"north/FT-1.yaml": sound() + "#" * 4_000_001})
    assert "more than 4000000 bytes" in refusal("service=x")


def test_advice_is_taken_from_the_finding(here: Path) -> None:
    """The value that the finding proposes is set, a preferred one before another."""
    text = sound().replace("pulse_weight: ", "pulse_weight: 0.000", 2)
    write(here, {"north/FT-1.yaml": text})
    before = adjust([Path("north/FT-1.yaml")], Asked(("principle=electromagnetic",)))
    proposing = [each for each in before.remaining if each.advice]
    assert proposing
    for finding in proposing:
        expected = {each.kind: each.changes for each in finding.advice}
        kinds = ("nearest preferred", "nearest permissible", "as its counterpart")
        best = next(expected[kind] for kind in kinds if kind in expected)
        adjustment = tried(advice=f"FT-1:{finding.rule}")
        changes = [each.change for each in adjustment.adjusted]
        assert {(each.path, each.value) for each in changes} == set(best)
        assert {each.rule for each in changes} == {finding.rule}
        assert finding.fingerprint in {each.fingerprint for each in adjustment.gone}
        assert not adjustment.held


def test_nobody_chooses_which_end_is_right(here: Path) -> None:
    """Where two ways are proposed, taking advice says both, each as it is asked for."""
    text = sound().replace("upper_scale: 250 m3/h", "upper_scale: 240 m3/h")
    write(here, {"north/FT-1.yaml": text})
    said = refusal(advice="receiver-scale-agrees")
    assert "can be met in two ways, and only the plant says which" in said
    scale, span = "receiver.analogue.upper_scale", "current_output.upper_range_value"
    assert f"--set 'FT-1:{scale}=250 m3/h' (if {span} is right)" in said
    assert f"--set 'FT-1:{span}=240 m3/h' (if {scale} is right)" in said
    assert not tried(f"FT-1:{scale}=250 m3/h").held


def test_advice_that_is_not_there_can_not_be_taken(here: Path) -> None:
    """A rule there is not, one without a finding, a finding without a value: told."""
    write(here, {"north/FT-1.yaml": sound() + "servise: x\n"})
    assert "There is no rule 'key-knwn'. Write key-known" in refusal(advice="key-knwn")
    assert "`configlint rules list`" in refusal(advice="zzz")
    assert "FT-1 has no finding of the rule size-agrees" in refusal(
        advice="size-agrees"
    )
    said = refusal(advice="key-known")
    assert "proposes no value for FT-1. What to do about it: " in said
