"""Laws of comparing random plants: with itself nothing, and both ways alike."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Mapping
from pathlib import Path

import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from configlint.review.compare import Comparison, compare
from configlint.review.sides import Judged, judge
from tests.comparisons import DAY, make_side, meter_text

Files = Mapping[str, str]

# Values of settings that make findings, or make none, or can't be read.
VALUES: Mapping[str, tuple[str | None, ...]] = {
    "current_output.upper_range_value": (
        "300 m3/h",
        "250000 l/h",
        "2 m/s",
        "9 m",
        None,
    ),
    "receiver.analogue.upper_scale": ("300 m3/h", "69.4444 l/s"),
    "pulse_output.pulse_weight": ("0.01 m3", "1 l", None),
    "transmitter.calibration_factor": ("1.1", "1.02340"),
    "sensor.serial": ("S-1", "S-2", None),
    "sensor.bore": ("0.15 m", "100 mm", None),
    "servise": ("water",),
}
NAMES = ("north/a.yaml", "north/b.yaml", "south/a.yaml", "south/c.yaml")
BROKEN = ("meter: [\n", "- x\n", "", "pumps: 1\n")

CHANGES = st.dictionaries(
    st.sampled_from(sorted(VALUES)), st.integers(0, 9), max_size=3
).map(lambda chosen: {path: pick(path, number) for path, number in chosen.items()})
METERS = st.builds(meter_text, CHANGES, st.sampled_from(("FT-1", "FT-2", "FT-3")))
TEXTS = st.one_of(
    METERS,
    METERS,
    METERS,
    st.sampled_from(BROKEN),
    st.builds("---\n".join, st.lists(METERS, min_size=2, max_size=2)),
)
PLANTS = st.dictionaries(st.sampled_from(NAMES), TEXTS, max_size=3)


def pick(path: str, number: int) -> str | None:
    """Give one of the values of a setting."""
    values = VALUES[path]
    return values[number % len(values)]


def judged(folder: Path, name: str, files: Files) -> Judged:
    """Write the files of a side and judge them."""
    return judge(make_side(folder / name, files), DAY)


def fingerprints(comparison: Comparison) -> tuple[list[str], list[str], int]:
    """Give what is new, what is gone, and how much is on both sides."""
    new = sorted(each.fingerprint for each in comparison.new)
    gone = sorted(each.fingerprint for each in comparison.gone)
    return new, gone, len(comparison.kept)


@given(PLANTS, PLANTS)
@settings(max_examples=25)
def test_both_ways_tell_the_same(before: Files, after: Files) -> None:
    """What is new one way is gone the other way, and settings change places."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        one, other = judged(folder, "a", before), judged(folder, "b", after)
        there, back = compare(one, other), compare(other, one)
    new, gone, kept = fingerprints(there)
    assert fingerprints(back) == (gone, new, kept)
    assert settings_of(there) == sorted(
        (path, later, earlier, same) for path, earlier, later, same in settings_of(back)
    )
    words = {"added": "removed", "removed": "added", "changed": "changed"}
    assert sorted(words[each.kind] for each in there.meters) == sorted(
        each.kind for each in back.meters
    )
    later = {each.fingerprint for each in other.report.findings}
    assert {*new} | {each.fingerprint for _, each in there.kept} == later
    assert len(new) + kept == len(later)


def settings_of(comparison: Comparison) -> list[tuple[str, str, str, bool]]:
    """Give every changed setting with both of its texts, whatever the meter."""
    return sorted(
        setting[:4] for change in comparison.meters for setting in change.settings
    )


@given(PLANTS)
@settings(max_examples=15)
def test_one_state_has_no_changes(files: Files) -> None:
    """Whatever a plant holds, it does not differ from itself."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        found = compare(judged(folder, "a", files), judged(folder, "b", files))
    assert found.changes_nothing
    assert fingerprints(found)[:2] == ([], [])


@given(CHANGES, st.randoms(use_true_random=False))
@settings(max_examples=15)
def test_form_is_no_change(
    changes: Mapping[str, str | None], chance: random.Random
) -> None:
    """Other places of keys, quotes, comments and lines leave nothing to be told."""
    text = meter_text(changes)
    values = shuffled(yaml.load(text, yaml.BaseLoader), chance)
    style = chance.choice(['"', "'", None])
    other = yaml.safe_dump(
        values, sort_keys=False, default_style=style, width=chance.choice([20, 80])
    )
    other = "".join(f"{line}\n# a remark\n\n" for line in ["# first", ""]) + other
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        one = judged(folder, "a", {NAMES[0]: text})
        found = compare(one, judged(folder, "b", {NAMES[0]: other}))
    assert found.meters == ()
    assert fingerprints(found)[:2] == ([], [])


def shuffled(value: object, chance: random.Random) -> object:
    """Give the same value with the keys of all its sections in another order."""
    if not isinstance(value, dict):
        return value
    keys = list(value)
    chance.shuffle(keys)
    return {key: shuffled(value[key], chance) for key in keys}
