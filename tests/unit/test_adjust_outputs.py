"""Laws of a change as it is told: to a person, and to other software by its schema."""

from __future__ import annotations

import json
import subprocess
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configlint.data import data_folder
from configlint.meters import PRINCIPLES, ElectromagneticMeter, Meter
from configlint.review.adjust import Adjustment, Asked, EditedFile, adjust
from configlint.review.adjust_cautions import CAUTIONS, notes_on
from configlint.review.adjust_json import write_json
from configlint.review.adjust_requests import settable_paths
from configlint.review.adjust_text import difference, write_text
from configlint.rule_book import load_rule_book
from configlint.sections import Receiver
from configlint.workspace import NO_WORKSPACE, Source
from tests.adjusting import mistyped, sound, works, write

FACTOR = "transmitter.calibration_factor=1.0234"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a workspace whose first meter has a mistyped factor, and go there."""
    works(tmp_path, monkeypatch)
    write(tmp_path, {"north/FT-1.yaml": mistyped()})
    return tmp_path


def tried(*settings: str, advice: tuple[str, ...] = ()) -> Adjustment:
    """Try a change of the first meter."""
    asked = Asked(settings, advice)
    return adjust([Path("north/FT-1.yaml")], asked, run_date=date(2026, 1, 31))


def as_object(adjustment: Adjustment, written: bool = False) -> dict[str, Any]:
    """Give a change as other software reads it, which is of its schema."""
    content: dict[str, Any] = json.loads(write_json(adjustment, written))
    schema = data_folder("schemas") / "adjustment.schema.json"
    validator = Draft202012Validator(json.loads(schema.read_text("utf-8")))
    assert list(validator.iter_errors(content)) == []
    return content


def edited(before: bytes, after: bytes, name: str = "a.yaml") -> EditedFile:
    """Make a file that has changed."""
    return EditedFile(Source(name, Path(name), NO_WORKSPACE, None), before, after)


# --- text ---------------------------------------------------------------------


def test_a_change_is_shown_with_all_that_it_does(here: Path) -> None:
    """The screen has the values, the difference, the findings and the cautions."""
    text = write_text(tried(FACTOR), written=False)
    assert text.startswith("FT-1, North, Works, in north/FT-1.yaml\n")
    assert (
        "  transmitter.calibration_factor, line 29: 1.0234 instead of 1.0324\n" in text
    )
    assert "     A setting of the transmitter: enter it there too" in text
    assert "\n-  calibration_factor: 1.0324\n+  calibration_factor: 1.0234\n" in text
    assert "\nFindings before: 1 of A, 0 of B, 0 of C\n" in text
    assert "\nFindings after:  0 of A, 0 of B, 0 of C\n" in text
    assert "\nGone:\n  A  calibration-factor-agrees, FT-1, line 29\n" in text
    assert "     Effect: The meter reads 0.879 % high" in text
    assert "\nNew: none\nRemaining: none\n" in text
    assert " ".join(CAUTIONS.split()) in " ".join(text.split())
    assert text.endswith("Nothing was written yet: --write writes the change.\n")


def test_a_screen_of_80_columns_holds_all_but_a_files_own_lines(here: Path) -> None:
    """Every line fits, unless it is one of the file itself."""
    long = f"service={'very ' * 30}long"
    adjustment = tried(FACTOR, long, "receiver.analogue.upper_scale=9 m3/h")
    for line in write_text(adjustment, written=False).splitlines():
        assert len(line) <= 80 or line[0] in "-+ "
        assert len(line) <= 80 or "very" in line


def test_what_remains_is_brief_and_what_is_new_is_told_in_full(here: Path) -> None:
    """A remaining finding has its rule and its effect, a new one its message too."""
    adjustment = tried("receiver.analogue.upper_scale=200 m3/h")
    text = write_text(adjustment, written=False)
    _, _, new = text.partition("\nNew:\n")
    new, _, remaining = new.partition("\nRemaining:\n")
    assert "A  receiver-scale-agrees, FT-1, line" in new
    assert "the receiver takes 20 mA for 200 m3/h" in " ".join(new.split())
    assert "A  calibration-factor-agrees, FT-1, line 29\n     Effect: " in remaining
    assert "holds the calibration factor" not in remaining
    count = f"{new.count('  A  ')} new findings of category A"
    assert text.endswith(f"\nHeld: the change brings {count}. Nothing was written.\n")


def test_the_end_says_what_became_of_the_change(here: Path) -> None:
    """It is written, not yet written, held, or not needed."""
    assert write_text(tried(FACTOR), written=True).endswith(
        "\nWritten: north/FT-1.yaml.\n"
    )
    already = write_text(tried("principle=electromagnetic"), written=True)
    assert "  principle, line 3: already electromagnetic\n" in already
    assert already.endswith(
        "There is nothing to change: the files hold these values already.\n"
    )
    assert "---" not in already


def test_where_a_value_comes_from_is_said(here: Path) -> None:
    """Advice taken, a merged value, a link, a value where none was: each is said."""
    taken = write_text(tried(advice=("calibration-factor-agrees",)), written=False)
    assert "     Proposed by the finding of calibration-factor-agrees.\n" in taken
    write(
        here,
        {
            "north/FT-1.yaml": "meters:\n"
            "- {meter: FT-1, principle: vortex, sensor: &s {bore: 80 mm}}\n"
            "- meter: FT-2\n  principle: vortex\n  sensor:\n    <<: *s\n"
        },
    )
    (here / "link.yaml").symlink_to("north/FT-1.yaml")
    asked = Asked(("FT-2:sensor.bore=81 mm", "FT-2:service=x"))
    text = write_text(adjust([Path("link.yaml")], asked), written=False)
    assert text.startswith(
        "link.yaml is a link: the file it leads to is north/FT-1.yaml.\n"
        "FT-2, North, Works, in north/FT-1.yaml\n"
    )
    assert "It overrides what the merge key << brings in from line 2, for this" in text
    assert "  service, line 8: x, where nothing was written\n" in text


def test_text_of_a_file_is_inert_on_the_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No name, tag or value can send control or direction characters to a terminal."""
    monkeypatch.chdir(tmp_path)
    name = "a\n\x1b[31m.yaml"
    text = 'meter: "FT-1\\e[31m"\nprinciple: vortex\nservice: a\u202eb\n'
    write(tmp_path, {name: text})
    adjustment = adjust([Path(name)], Asked(("service=c\u202ed",)))
    shown = write_text(adjustment, written=True)
    assert not {"\x1b", "\u202e"} & set(shown)
    assert "a\\n\\x1b[31m.yaml" in shown
    assert "+service: c\\u202ed\n" in shown
    assert not {"\x1b"} & set(write_json(adjustment, written=False))


# --- the difference -----------------------------------------------------------


def test_a_long_value_is_told_in_short_and_shown_whole(here: Path) -> None:
    """The heading shows how it begins, the difference below has all of it."""
    long = "x" * 900
    text = sound().replace("Treated water to the invented north reservoir", long)
    write(here, {"north/FT-1.yaml": text})
    adjustment = adjust([Path("north/FT-1.yaml")], Asked(("service=water",)))
    told = write_text(adjustment, written=False)
    heading, rest = told.split("--- ", 1)
    assert "water instead of" in heading
    assert "x…" in heading
    assert long not in heading
    assert f"\n-service: {long}\n" in rest


def test_a_difference_can_be_applied(tmp_path: Path) -> None:
    """`git apply` makes of the old file, with the difference, the new one."""
    for number, (before, after) in enumerate(
        (
            (b"a: 1\nb: 2\n", b"a: 1\nb: 3\n"),
            (b"a: 1\r\nb: 2\r\n", b"a: 1\r\nb: 3\r\n"),
            (b"a: 1\nb: 2", b"a: 1\nb: 2\nc: 3"),
            ("é: 1\n".encode(), "é: 𝄞\n".encode()),
        )
    ):
        file = tmp_path / f"{number}.yaml"
        file.write_bytes(before)
        patch = difference(edited(before, after, file.name))
        patch = patch.replace(" (changed)", "", 1)
        subprocess.run(
            ("git", "apply", "-p0", "-"),
            cwd=tmp_path,
            input=patch.encode(),
            check=True,
            capture_output=True,
        )
        assert file.read_bytes() == after


def test_a_difference_leaves_out_the_byte_order_mark() -> None:
    """The mark is no part of the first line; equal files have no difference."""
    mark = b"\xef\xbb\xbf"
    found = difference(edited(mark + b"a: 1\n", mark + b"a: 2\n"))
    assert found.splitlines()[2:] == ["@@ -1 +1 @@", "-a: 1", "+a: 2"]
    assert difference(edited(b"a: 1\n", b"a: 1\n")) == ""


def test_lines_that_end_with_a_carriage_return_alone_are_lines() -> None:
    """Old line ends are told as lines, and not as missing ends."""
    found = difference(edited(b"a: 1\rb: 2\r", b"a: 1\rb: 3\r"))
    assert found.splitlines()[3:] == [" a: 1", "-b: 2", "+b: 3"]


# --- json ---------------------------------------------------------------------


def test_other_software_is_told_the_same(here: Path) -> None:
    """The object has the values, the files and the findings with all their figures."""
    content = as_object(tried(FACTOR))
    assert (content["format"], content["written"], content["held"]) == (
        "configlint-adjustment/1",
        False,
        False,
    )
    (change,) = content["changes"]
    assert change == {
        "meter": "FT-1",
        "site": "North",
        "file": "north/FT-1.yaml",
        "line": 29,
        "path": "transmitter.calibration_factor",
        "before": "1.0324",
        "after": "1.0234",
        "proposed_by": None,
        "overrides_line": None,
        "notes": [
            "A setting of the transmitter: enter it there too, and read it back."
        ],
    }
    (file,) = content["files"]
    assert file["difference"].startswith("--- north/FT-1.yaml\n+++ north/FT-1.yaml (")
    findings = content["findings"]
    assert findings["before"] == {"A": 1, "B": 0, "C": 0}
    assert findings["after"] == {"A": 0, "B": 0, "C": 0}
    assert [each["rule"] for each in findings["gone"]] == ["calibration-factor-agrees"]
    assert findings["new"] == findings["remaining"] == []
    assert content["cautions"] == CAUTIONS


def test_other_software_sees_why_a_change_is_held(here: Path) -> None:
    """A held change says so, and lists what is new and what remains."""
    content = as_object(tried("receiver.analogue.upper_scale=200 m3/h"))
    assert content["held"]
    new = {each["rule"]: each["category"] for each in content["findings"]["new"]}
    assert new["receiver-scale-agrees"] == "A"
    assert len(content["findings"]["remaining"]) == 1


def test_other_software_sees_where_a_value_comes_from(here: Path) -> None:
    """Advice and merge keys are named; a meter of no site has none."""
    content = as_object(tried(advice=("calibration-factor-agrees",)), written=True)
    assert content["written"]
    assert content["changes"][0]["proposed_by"] == "calibration-factor-agrees"
    write(
        here,
        {
            "FT-7.yaml": "meters:\n"
            "- {meter: FT-7, principle: vortex, sensor: &s {bore: 80 mm}}\n"
            "- meter: FT-8\n  principle: vortex\n  sensor:\n    <<: *s\n"
        },
    )
    content = as_object(adjust([Path("FT-7.yaml")], Asked(("FT-8:sensor.bore=81 mm",))))
    (change,) = content["changes"]
    assert (change["site"], change["overrides_line"]) == ("", 2)


# --- cautions -----------------------------------------------------------------


@pytest.mark.parametrize("principle", PRINCIPLES)
def test_every_value_has_its_place_in_the_plant(principle: str) -> None:
    """Wherever a value was set, stamped or read, a person is sent there again."""
    meter = Meter(meter="FT-1", principle=principle)
    nowhere = {
        path
        for path in settable_paths(PRINCIPLES[principle])
        if not notes_on(meter, path)
    }
    assert nowhere == {"meter", "service"}
    assert notes_on(meter, "site_data.a") == ()


def test_what_is_read_somewhere_is_not_said_to_be_entered() -> None:
    """A value that the rules say nobody can choose is not called a device's setting."""
    meter = Meter(meter="FT-1", principle="vortex")
    settings = load_rule_book(data_folder("rules")).settings
    assert len(settings) > 20
    for path, setting in settings.items():
        entered = any("enter it there" in note for note in notes_on(meter, path))
        assert entered is setting.adjustable, path


def test_a_meter_that_sells_is_not_changed_lightly() -> None:
    """Where a meter is for custody transfer, the metering authority comes first."""
    receiver = Receiver(name="x", use="custody transfer")
    meter = ElectromagneticMeter(
        meter="FT-1", principle="electromagnetic", receiver=receiver
    )
    _, sealed = notes_on(meter, "transmitter.damping")
    assert "metering authority" in sealed
    assert notes_on(meter, "service") == ()
    other = Receiver(name="x", use="control")
    plain = ElectromagneticMeter(
        meter="FT-1", principle="electromagnetic", receiver=other
    )
    assert len(notes_on(plain, "transmitter.damping")) == 1
