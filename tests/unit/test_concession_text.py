"""Laws of entries put into a file of concessions: all else stays, byte for byte."""

from __future__ import annotations

from datetime import date

import pytest

from configlint.errors import RunError
from configlint.review.concession_text import Entry, entry_lines, put_entries

DAY = date(2026, 1, 31)
ENTRY = Entry("a-rule", "FT-1", "", "0" * 16, (), "As built", "A. Nobody", DAY, None)
LINES = (
    "- rule: a-rule",
    "  meter: FT-1",
    '  fingerprint: "0000000000000000"',
    "  reason: As built",
    "  granted_by: A. Nobody",
    "  granted_on: 2026-01-31",
)


def indented(columns: int, ending: str = "\n") -> str:
    """Give the lines of the entry, each behind some blanks."""
    return "".join(f"{' ' * columns}{line}{ending}" for line in LINES)


def test_all_of_an_entry_is_written() -> None:
    """A site, values and an end have lines of their own, in one order."""
    bounds = (("sensor.bore", "80 mm"), ("transmitter.settings_locked", "true"))
    last = date(2026, 7, 31)
    entry = ENTRY._replace(site="north", bounds=bounds, expires_on=last)
    assert list(entry_lines(entry)) == [
        *LINES[:2],
        "  site: north",
        LINES[2],
        "  while:",
        "    sensor.bore: 80 mm",
        "    transmitter.settings_locked: true",
        *LINES[3:],
        "  expires_on: 2026-07-31",
    ]


def test_what_would_mean_something_else_is_quoted() -> None:
    """A text that YAML would read otherwise is written in quotes, the file's if any."""
    entry = ENTRY._replace(meter="yes", reason="Old: and # worn", granted_by="'A'")
    told = list(entry_lines(entry))
    assert '  meter: "yes"' in told
    assert '  reason: "Old: and # worn"' in told
    assert "  granted_by: \"'A'\"" in told
    single = put_entries("concessions: # 'none'\n  - rule: 'b'\n", "c.yaml", [entry])
    assert "    meter: 'yes'" in single.lines
    assert "    granted_by: '''A'''" in single.lines


@pytest.mark.parametrize(
    ("before", "column", "behind"),
    [
        ("concessions:\n", 2, ""),
        ("concessions:  # none yet\n", 2, ""),
        ("concessions:  # none yet\n\n# The end.\n", 2, "\n# The end.\n"),
        ("# Head.\nconcessions:\n  - rule: b\n", 2, ""),
        ("concessions:\n- rule: b\n  meter: c # d\n\n# End\n", 0, "\n# End\n"),
        ("concessions:\n    -   rule: b\n        meter: c\n", 4, ""),
        ("concessions:\n  # One\n  - rule: b\n  # Two\n", 2, "  # Two\n"),
        ("concessions:\n  - {rule: b}\n", 2, ""),
        ("concessions:\n  - rule: b\n  -\n    rule: c-d\n", 2, ""),
        ("concessions:\n  - rule: |\n      b\n      c\n\n# End\n", 2, "# End\n"),
        ("---\nconcessions:\n  - rule: b\n...\n", 2, "...\n"),
    ],
)
def test_entries_come_behind_the_last_one(
    before: str, column: int, behind: str
) -> None:
    """They begin where the others begin; what stands behind stays behind."""
    put = put_entries(before, "c.yaml", [ENTRY])
    kept = before.removesuffix(behind)
    assert put.text == f"{kept}{indented(column)}{behind}"
    assert put.lines == tuple(indented(column).splitlines())


@pytest.mark.parametrize(
    ("before", "text"),
    [
        ("concessions: []\n", f"concessions:\n{indented(2)}"),
        ("concessions: [ ]  # none\n", f"concessions:  # none\n{indented(2)}"),
        ("concessions:\n  []\n# End\n", f"concessions:\n{indented(2)}\n# End\n"),
        ("# None\n", f"# None\nconcessions:\n{indented(2)}"),
        ("# None", f"# None\nconcessions:\n{indented(2)}"),
        ("---\n", f"---\nconcessions:\n{indented(2)}"),
        ("concessions:\n  - rule: b", f"concessions:\n  - rule: b\n{indented(2)}"),
    ],
)
def test_an_empty_list_is_begun(before: str, text: str) -> None:
    """Brackets with nothing in them, comments alone, and a line without an end."""
    assert put_entries(before, "c.yaml", [ENTRY]).text == text


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
def test_line_ends_are_those_of_the_file(ending: str) -> None:
    """A file of another system keeps its line ends, and its new lines have them."""
    before = f"concessions:{ending}  - rule: b{ending}"
    put = put_entries(before, "c.yaml", [ENTRY])
    assert put.text == before + indented(2, ending)


def test_a_new_file_says_what_it_is() -> None:
    """A file that is not there yet begins with a comment, and holds all entries."""
    put = put_entries("", "c.yaml", [ENTRY, ENTRY])
    head, _, rest = put.text.partition("concessions:\n")
    assert rest == 2 * indented(2)
    assert head
    assert all(line.startswith("# ") for line in head.splitlines())


@pytest.mark.parametrize(
    "text",
    [
        "concessions: [{rule: b}]\n",
        "concessions: [  # none\n  ]\n",
        "concessions: null\n",
        "concessions: ''\n",
        "{concessions: []}\n",
        "others:\n  - rule: b\n",
        "- rule: b\n",
        "text\n",
        "concessions: {}\n",
    ],
)
def test_a_list_in_another_form_is_left_to_a_person(text: str) -> None:
    """What can't be added to without a change of the rest is refused."""
    with pytest.raises(RunError, match="not written as lines with a dash"):
        put_entries(text, "c.yaml", [ENTRY])
