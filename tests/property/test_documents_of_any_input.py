"""Laws of the document reader on any input: documents or faults, never an error."""

from __future__ import annotations

import re

from hypothesis import example, given, settings
from hypothesis import strategies as st

from configlint.documents import Reading
from configlint.source_text import split_lines
from tests.documents import paths_of, read_both

PIECES = st.sampled_from(
    [
        *("a", "b", "x y", "12", "é", "𝄞", "''", '"', "'", "\\", "\\x", "~", "0.1"),
        *(":", ": ", "- ", "? ", "[", "]", "{", "}", ", ", "#", " # ", "&x ", "*x"),
        *("<<: ", "<<: *x", "! ", "!!int ", "!<", "%YAML 1.1\n", "|\n", ">-\n", "|3"),
        *("\n", "\n", "\n  ", "\n    ", "\n- ", "\n\t", "\r\n", "\r", " ", "  ", "\t"),
        *("---\n", "---", "...\n", "@", "`", "=", "\ufeff", "\0", "\u2028", "a: 1\n"),
    ]
)
YAMLISH = st.lists(PIECES, max_size=40).map("".join)


def check_faults(data: bytes, reading: Reading) -> None:
    """Require of each fault a kind, a place in the file and two sentences."""
    lines = split_lines(data.decode("utf-8", "replace"))
    for fault in reading.faults:
        assert fault.kind in {"file-readable", "key-written-once", "type-mark-absent"}
        for place in (fault.place, fault.elsewhere or fault.place):
            assert 1 <= place.line <= len(lines)
            assert 1 <= place.column <= len(lines[place.line - 1]) + 1
        assert re.fullmatch(r".+[.`]", fault.problem, re.DOTALL)
        assert re.fullmatch(r"[A-Z].+\.", fault.advice)


def check_documents(reading: Reading) -> None:
    """Require of each document that all its paths have places."""
    for document in reading.documents:
        for path, value in paths_of(document.value):
            assert document.place(path).file == document.key_place(path).file
            assert isinstance(value, dict | list | str | None)
            if isinstance(value, dict | list):
                assert not document.is_plain(path)


@given(st.binary(max_size=200))
@example(b"\xff\xfea\x00")
@example(b"\xef\xbb\xbf\xef\xbb\xbfa")
def test_no_bytes_raise(data: bytes) -> None:
    """Any bytes at all give documents or faults, never an error."""
    for reading in read_both(data):
        assert reading.documents or reading.faults
        check_faults(data, reading)


@given(st.text(max_size=200))
def test_no_text_raises(text: str) -> None:
    """Any text at all gives documents or faults, never an error."""
    for reading in read_both(text.encode()):
        check_faults(text.encode(), reading)
        check_documents(reading)


@settings(max_examples=1000)
@given(YAMLISH)
@example("%YAML 1." + "9" * 5000 + "\n--- a")
@example("%YAML " + "9" * 5000 + ".1\n--- a")
@example('"\\UFFFFFFFF"')
@example('"\\ud800"')
@example("!%ff a")
@example("? &x [*x]\n: 1")
@example("&x a: {*x : *x, <<: *x}")
def test_no_near_yaml_raises(text: str) -> None:
    """Any jumble of YAML's signs gives documents or faults, never an error."""
    for reading in read_both(text.encode()):
        assert reading.documents or reading.faults
        check_faults(text.encode(), reading)
        check_documents(reading)
