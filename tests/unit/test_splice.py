"""Laws of a value set in a text: where it goes, how it looks, and what is refused."""

from __future__ import annotations

import pytest

from configlint.documents import read_document
from configlint.errors import Path, RunError
from configlint.review.splice import Spliced, splice

BORE: Path = ("sensor", "bore")
SERIAL: Path = ("sensor", "serial")


def set_in(text: str, path: Path, value: str, number: int = 0) -> Spliced:
    """Set a value in a text."""
    return splice(
        text, read_document(text.encode(), "m.yaml").documents, number, path, value
    )


def refusal(text: str, path: Path, value: str = "1") -> str:
    """Give the fault with which a value is refused."""
    with pytest.raises(RunError) as caught:
        set_in(text, path, value)
    (fault,) = caught.value.faults
    return str(fault)


@pytest.mark.parametrize(
    ("text", "value", "made"),
    [
        ("sensor:\n  bore: 1 mm  # c\n", "2 mm", "sensor:\n  bore: 2 mm  # c\n"),
        ("sensor:\n  bore:  '1 mm'\n", "2 mm", "sensor:\n  bore:  '2 mm'\n"),
        ('sensor:\r\n  bore: "1"\r\n', "2", 'sensor:\r\n  bore: "2"\r\n'),
        ("sensor: {bore: 1 mm}", "2 mm", "sensor: {bore: 2 mm}"),
        ("sensor: {bore: 1 mm}", "a, b", 'sensor: {bore: "a, b"}'),
        ("sensor:\n  bore: &x 1 mm\n", "2 mm", "sensor:\n  bore: &x 2 mm\n"),
        ("sensor:\n  bore:\n", "2 mm", "sensor:\n  bore: 2 mm\n"),
        ("sensor:\n  bore:   # c\n", "2 mm", "sensor:\n  bore: 2 mm   # c\n"),
        ("sensor:\n  bore: ~\n", "2 mm", "sensor:\n  bore: 2 mm\n"),
        ("sensor:\n  bore: 1\n    mm\n", "2 mm", "sensor:\n  bore: 2 mm\n"),
        ("sensor:\n  bore: 1\n  a: 'b'\n", "yes", "sensor:\n  bore: 'yes'\n  a: 'b'\n"),
    ],
)
def test_a_written_value_is_replaced_in_its_place(
    text: str, value: str, made: str
) -> None:
    """Only the scalar changes, in its own quotes, or in the file's where it needs."""
    assert set_in(text, BORE, value) == Spliced(made)


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("sensor:\n  bore: 1\nb: 2\n", "sensor:\n  bore: 1\n  serial: S-1\nb: 2\n"),
        ("sensor:\n    bore: 1", "sensor:\n    bore: 1\n    serial: S-1"),
        (
            "sensor:\r\n bore: 1 # c\r\n\r\n# d\r\n",
            "sensor:\r\n bore: 1 # c\r\n serial: S-1\r\n\r\n# d\r\n",
        ),
        (
            "sensor:\n  a:\n    b: 1\n  # c\nd: 2\n",
            "sensor:\n  a:\n    b: 1\n  serial: S-1\n  # c\nd: 2\n",
        ),
        (
            "sensor:\n  a: |\n    b\n\nd: 2\n",
            "sensor:\n  a: |\n    b\n\n  serial: S-1\nd: 2\n",
        ),
        ("sensor: {bore: 1 mm}\n", "sensor: {bore: 1 mm, serial: S-1}\n"),
        ("sensor: {bore: 1, }\n", "sensor: {bore: 1, serial: S-1, }\n"),
        ("sensor: {bore: }\n", "sensor: {bore: , serial: S-1 }\n"),
        ("sensor: {}\n", "sensor: {serial: S-1}\n"),
        ("sensor:  # c\nb: 1\n", "sensor:  # c\n  serial: S-1\nb: 1\n"),
        ("sensor:", "sensor:\n  serial: S-1"),
        ("sensor: ~  # c\n", "sensor: {serial: S-1}  # c\n"),
        ("b: 1\n", "b: 1\nsensor:\n  serial: S-1\n"),
        ("{b: 1}\n", "{b: 1, sensor: {serial: S-1}}\n"),
        (
            "a: {b: 1}\nc:\n   d: 1\n",
            "a: {b: 1}\nc:\n   d: 1\nsensor:\n   serial: S-1\n",
        ),
        ("{sensor: , b: 1}\n", "{sensor: {serial: S-1} , b: 1}\n"),
        ("b: 1\n---\nc: 2\n", "b: 1\nsensor:\n  serial: S-1\n---\nc: 2\n"),
        ("b: 1\rc: 2\r", "b: 1\rc: 2\rsensor:\r  serial: S-1\r"),
    ],
)
def test_a_value_that_is_not_written_is_put_into_its_section(
    text: str, made: str
) -> None:
    """It follows the last value of its section, in that section's own layout."""
    assert set_in(text, SERIAL, "S-1") == Spliced(made)


def test_a_name_of_the_sites_own_is_quoted_where_it_needs() -> None:
    """A key that could be read as something else is written in quotes."""
    text = set_in("site_data:\n  a: 1\n", ("site_data", "b: c"), "2").text
    assert text == 'site_data:\n  a: 1\n  "b: c": 2\n'


def test_the_meter_of_a_list_is_changed_alone() -> None:
    """A path through a list leads to the item of its number, also in brackets."""
    text = "meters:\n  - meter: a\n    b: 1\n  - {meter: c, b: 2}\n"
    made = set_in(text, ("meters", 0, "b"), "3").text
    assert made == text.replace("b: 1", "b: 3")
    made = set_in(text, ("meters", 0, "d"), "3").text
    assert made == text.replace("    b: 1\n", "    b: 1\n    d: 3\n")
    made = set_in(text, ("meters", 1, "b"), "a:b").text
    assert made == text.replace("b: 2", 'b: "a:b"')


def test_the_document_of_its_number_is_changed() -> None:
    """A value is set in the document that is meant, not in the first that has it."""
    text = "b: 1\n--- # c\nb: 1\n...\n"
    assert set_in(text, ("b",), "2", 1).text == "b: 1\n--- # c\nb: 2\n...\n"


def test_a_value_of_a_merge_key_is_overridden_in_its_section() -> None:
    """What a merge key brings in is written out, and its old place is told."""
    text = "a: &x {b: 1, c: {d: 2}}\ne:\n  <<: *x\n  f: 3\n"
    made, merged_from = set_in(text, ("e", "b"), "4")
    assert made == text + "  b: 4\n"
    assert str(merged_from) == "m.yaml:1:11"


@pytest.mark.parametrize(
    ("text", "path", "words"),
    [
        (
            "a: &x {b: 1}\nc: *x\n",
            ("c", "b"),
            ("m.yaml:2:4: c.b: ", "taken over by *x", "m.yaml:1:11", "set it in all"),
        ),
        ("a: &x 1\nc: *x\n", ("c",), ("taken over by *x (see also m.yaml:1:4)",)),
        ("a: &x {b: 1}\nc: *x\n", ("c", "d"), ("taken over by *x",)),
        (
            "a: &x {b: {c: 1}}\nd:\n  <<: *x\n",
            ("d", "b", "c"),
            ("merge key <<", "m.yaml:1:15"),
        ),
        ("a: {b: 1}\n", ("a",), ("a section is written here",)),
        ("a: [1]\n", ("a",), ("a list is written here",)),
        ("a: [1]\n", ("a", "b"), ("a list stands where its section",)),
        ("a: |\n  b\n", ("a",), ("block of lines behind |", "in one line first")),
        ("a: >-\n  b\n", ("a",), ("block of lines behind >",)),
        ("a: !!str b\n", ("a",), ("a type mark", "Delete the mark")),
        ("a: not used\n", ("a", "b"), ("'not used' is written in place", "is used")),
        ("a: ''\n", ("a", "b"), ("'' is written in place",)),
        ("a: 1\na: 2\n", ("a",), ("written more than once", "Delete all but one")),
        ("a: {b: 1}\na: {c: 2}\n", ("a", "d"), ("a.d: ", "written more than once")),
        ("- a: 1\n", (1, "a"), ("no such item",)),
        ("- a: 1\n", ("a",), ("a list stands where",)),
        ("a: 1\n--- !x b\n", ("a",), ("another document",)),
    ],
)
def test_what_can_not_be_set_for_certain_is_refused(
    text: str, path: Path, words: tuple[str, ...]
) -> None:
    """The refusal has the place, what stands there, and what to do instead."""
    said = refusal(text, path)
    for word in words:
        assert word in said
