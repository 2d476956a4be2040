"""Laws of how the report for people looks: in 80 columns, inert, alike in any style."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from configlint.errors import Place
from configlint.findings import Subject
from configlint.outputs import FORMATS
from configlint.outputs.text import inert, print_styled, write
from configlint.report import LeftOpen, Report
from configlint.rules import Edition
from configlint.workspace import LeftOut
from tests.builders import FINDING
from tests.readers import assert_lines_inert
from tests.report_lines import lines_of, meter, report, subject

HOSTILE = (
    "\x1b[31mred\x1b[0m",
    "bell\x07 and backspace\x08",
    "one\ntwo",
    "one\r\ntwo",
    "page\x0cline\x0bfile\x1cgroup\x1d",
    "next\x85line",
    "csi\x9b2J",
    "line\u2028paragraph\u2029",
    "right\u202eleft\u202d\u2066\u2069\u200f",
    "zero\u200bwidth\u200d\ufeff",
    "no-break\u00a0space",
    "half\ud800pair",
    "private\ue000",
    "tab\tulator",
)

SENDABLE = re.compile(r"[\x20-\x7e\u00a1-\ud7ff\uf900-\uffef]*")


def test_lines_keep_to_80_columns() -> None:
    """Whatever is made of words is broken so that a line has 80 columns at most."""
    words = "a word and another-word with more_words " * 9
    found = replace(
        FINDING,
        subject=Subject(words, words, words, "a.yaml"),
        message=words,
        assumptions=(words,),
        remedy=words,
        basis=words,
    )
    missing = (LeftOpen("a", ("sensor.nameplate." * 4,)),)
    made = Report(
        (Edition(words, words, "0f"),),
        (meter("FT-1", left_open=missing),),
        (found,),
        1,
        (LeftOut("pumps.yaml", words),),
    )
    lines = lines_of(made)
    assert max(map(len, lines)) <= 80
    assert " ".join(" ".join(lines).split()).count(words.strip()) == 10


def test_a_word_is_never_broken() -> None:
    """A word longer than a line stands whole, so that it can be copied."""
    word = "path/" * 30
    lines = lines_of(report(replace(FINDING, message=f"See {word} there.")))
    assert f"     {word}" in lines
    assert max(len(line) for line in lines if word not in line) <= 80


def full_of(text: str) -> Report:
    """Make a report that holds a text wherever a file's text can stand."""
    found = replace(
        FINDING,
        subject=Subject(text, text, text, text),
        place=Place(text, 3, 5),
        rule=text,
        message=text,
        assumptions=(text,),
        remedy=text,
        basis=text,
    )
    open_rules = (LeftOpen(text, (text,)),)
    results = (meter("FT-1", left_open=open_rules),)
    left_out = (LeftOut(text, text),)
    return Report((Edition(text, text, text),), results, (found,), 1, left_out)


@pytest.mark.parametrize("hostile", HOSTILE)
def test_text_from_a_file_is_inert(hostile: str) -> None:
    """No control or direction character of a file is sent, and none ends a line."""
    lines = lines_of(full_of(hostile))
    assert all(SENDABLE.fullmatch(line) for line in lines)
    shown = inert(hostile)
    assert len(lines) == len(lines_of(full_of(re.sub(r"\S", "x", shown))))
    assert f"  in {shown}" in lines
    assert f"  B  {shown}, line 3" in lines
    assert f"     {shown}" in lines
    assert f"     To do: {shown}" in lines


@pytest.mark.parametrize("hostile", HOSTILE)
def test_what_is_made_inert_can_be_read(hostile: str) -> None:
    """An inert text tells which character stood there, and keeps all others."""
    shown = inert(hostile)
    assert SENDABLE.fullmatch(shown)
    assert shown.encode().decode("unicode_escape") == hostile


@pytest.mark.parametrize("text", ["", "FT-1, größe 1 µS/cm ≥ 5", "文字", "\\x1b"])
def test_harmless_text_is_left_as_it_is(text: str) -> None:
    """Letters, units and signs of any script come through untouched."""
    assert inert(text) == text


@pytest.mark.parametrize("width", [20, 80, 200])
def test_styled_and_plain_text_are_the_same(width: int) -> None:
    """On a terminal of any width the words are those of the plain report."""
    found = (
        replace(FINDING, category="A", message="[bold]no markup[/bold] :warning: "),
        replace(FINDING, category="B", message="word " * 60),
        replace(FINDING, category="C", remedy="Go to https://example.invalid/ 12 %"),
    )
    made = report(*found, meters=(meter("FT-1", 1),))
    stream = io.StringIO()
    console = Console(
        file=stream, force_terminal=True, width=width, color_system="truecolor"
    )
    print_styled(made, "B", console)
    styled = stream.getvalue()
    assert "\x1b[" in styled
    assert re.sub(r"\x1b\[[0-9;]*m", "", styled) == write(made, "B")


def test_each_format_has_a_name() -> None:
    """The text report is one of the formats, under its name."""
    assert FORMATS["text"] is write


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("::error::FT-1", r"\x3a:error::FT-1"),
        ("FT-1 ::error::", r"FT-1 \x3a:error::"),
        ("FT-1\n::error::", r"FT-1\n::error::"),
        (":::", r"\x3a::"),
        ("##[group]", r"\x23#[group]"),
        ("FT-1###[group]", r"FT-1\x23\x23#[group]"),
        ("a::b, fe80::1, #1: a", "a::b, fe80::1, #1: a"),
    ],
)
def test_no_text_commands_a_log(text: str, shown: str) -> None:
    """Where a line may begin with it, the sign that begins a command is shown."""
    assert inert(text) == shown
    made = report(replace(FINDING, message=text, subject=subject(text)))
    assert_lines_inert(write(made, "B"))


def test_a_wrapped_text_begins_no_command() -> None:
    """Wherever a line is broken, what it begins with commands no log."""
    for length in range(60, 90):
        text = f"{'x' * length} ::error file=a.yaml::taken"
        assert_lines_inert(write(report(replace(FINDING, message=text)), "B"))
