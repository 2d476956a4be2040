"""Laws of the proof of an edit: it passes only if nothing else has changed."""

from __future__ import annotations

import pytest

from configlint.errors import Path, RunError
from configlint.review import unchanged
from configlint.review.unchanged import differences, hold_to

SHARED = """\
meters:
  - meter: FT-1
    sensor: &x {bore: 1 mm}
  - meter: FT-2
    sensor: *x
"""


def refusal(before: str, after: str, wanted: dict[Path, str]) -> str:
    """Give the fault with which an edit is refused."""
    with pytest.raises(RunError) as caught:
        hold_to(before, after, "m.yaml", wanted)
    (fault,) = caught.value.faults
    return str(fault)


@pytest.mark.parametrize(
    ("old", "new", "paths"),
    [
        ({"a": "1"}, {"a": "1"}, []),
        ({"a": "1"}, {"a": "2"}, [("a",)]),
        ({"a": None}, {}, []),
        (None, {"a": None}, []),
        ({"a": {"b": "1"}}, {"a": "1"}, [("a",)]),
        ({"a": ["1", "2"]}, {"a": ["1", "3"]}, [("a", 1)]),
        ({"a": ["1"]}, {"a": ["1", "2"]}, [("a",)]),
        ({"a": ["1"]}, {"a": {"0": "1"}}, [("a",)]),
        ({"a": "1"}, None, [("a",)]),
    ],
)
def test_differences_are_told_by_their_paths(
    old: object, new: object, paths: list[Path]
) -> None:
    """Every value that differs is named once; nothing is as good as not written."""
    assert list(differences(old, new)) == paths


def test_an_edit_of_one_value_passes() -> None:
    """What was asked for may change, written anew or written over."""
    hold_to("a: 1\nb: 2\n", "a: 3\nb: 2\n", "m.yaml", {(0, "a"): "3"})
    hold_to("a: 1\n", "a: 1\nb: {c: 2}\n", "m.yaml", {(0, "b", "c"): "2"})
    hold_to("a: 1\n", "a: 1\n", "m.yaml", {(0, "a"): "1"})


def test_a_value_that_is_shared_changes_with_its_owners_alone() -> None:
    """Another meter that would change is named, with the place that it shares."""
    after = SHARED.replace("1 mm", "2 mm")
    one: dict[Path, str] = {(0, "meters", 0, "sensor", "bore"): "2 mm"}
    said = refusal(SHARED, after, one)
    assert "m.yaml:5:13: meters[1].sensor.bore of FT-2 would change as well" in said
    assert "m.yaml:3:23" in said
    hold_to(
        SHARED, after, "m.yaml", {**one, (0, "meters", 1, "sensor", "bore"): "2 mm"}
    )
    assert "b would change" in refusal(
        "a: &x 1\nb: *x\n", "a: &x 2\nb: *x\n", {(0, "a"): "2"}
    )


@pytest.mark.parametrize(
    ("after", "wanted"),
    [
        ("a: 1\n---\nb: 2\n", {(0, "a"): "1"}),
        ("a: 2\n", {(0, "a"): "3"}),
        ("a: 2\n", {(0, "a", "b"): "2", (0, "a"): "2"}),
        ("a: [1\n", {(0, "a"): "1"}),
        ("a: 2\na: 2\n", {(0, "a"): "2"}),
    ],
)
def test_an_edit_that_went_wrong_is_never_passed(
    after: str, wanted: dict[Path, str]
) -> None:
    """Another number of documents, another text or a broken one is no proof."""
    said = refusal("a: 1\n", after, wanted)
    assert said.startswith("m.yaml:1:1: The edit can't be proven")
    assert said.endswith("Change it by hand.")


@pytest.mark.parametrize("after", [({"a": "2", "b": "x"},), ({"a": "3"},)])
def test_both_readers_are_asked(
    monkeypatch: pytest.MonkeyPatch, after: tuple[object, ...]
) -> None:
    """Where the round-trip reader finds something else, there is no proof."""
    loaded = iter([({"a": "1"},), after])
    monkeypatch.setattr(unchanged, "read_round_trip", lambda text, file: next(loaded))
    assert "can't be proven" in refusal("a: 1\n", "a: 2\n", {(0, "a"): "2"})


def test_a_text_that_only_one_reader_breaks_at_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A new text that the round-trip reader can't load is no proof either."""

    def load(text: str, file: str) -> tuple[object, ...]:
        if text == "a: 1\n":
            return ({"a": "1"},)
        raise RunError()

    monkeypatch.setattr(unchanged, "read_round_trip", load)
    assert "can't be proven" in refusal("a: 1\n", "a: 2\n", {(0, "a"): "2"})
