"""Laws of the document reader: texts stay as written, and every path has a place."""

from __future__ import annotations

import pytest

from configlint.documents import read_document
from configlint.errors import Place
from tests.documents import document_of, read

pytestmark = pytest.mark.usefixtures("parser")


@pytest.mark.parametrize(
    "written",
    ["on", "0012345", "0.1550", "12:30", "yes", "1_000", "1e-6", "2026-04-02", "010"],
)
def test_scalars_stay_as_written(written: str) -> None:
    """No scalar is turned into a number, a truth value or a date, nor any key."""
    assert document_of(f"{written}: {written}\n").value == {written: written}
    assert document_of(f"- {written}\n").value == [written]


@pytest.mark.parametrize("written", ["", "~", "null", "Null", "NULL"])
def test_a_plain_null_is_none(written: str) -> None:
    """A plain null of the core schema is None, a quoted one is a text."""
    assert document_of(f"a: {written}\nb: [x, {written or '~'}]").value == {
        "a": None,
        "b": ["x", None],
    }
    assert document_of(f"a: '{written}'\nb: [\"{written}\"]").value == {
        "a": written,
        "b": [written],
    }


def test_every_style_gives_its_text() -> None:
    """Quotes, escapes, folding and literal blocks give the text YAML means."""
    text = "a: 'it''s'\nb: \"x\\ty\"\nc: >\n  one\n  two\nd: |\n  one\n  two\n"
    assert document_of(text).value == {
        "a": "it's",
        "b": "x\ty",
        "c": "one two\n",
        "d": "one\ntwo\n",
    }


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_line_end_counts_as_one(end: str) -> None:
    """LF, CRLF and a lone CR each end a line, and no text holds one."""
    document = document_of(end.join(["a: 1", "", "b:", "  c: x", ""]))
    assert document.value == {"a": "1", "b": {"c": "x"}}
    assert document.place(("b", "c")) == Place("m.yaml", 4, 6)


def test_a_byte_order_mark_is_no_column() -> None:
    """A UTF-8 byte order mark is accepted and moves no place."""
    (document,) = read_document(b"\xef\xbb\xbfa: 1", "m.yaml").documents
    assert document.value == {"a": "1"}
    assert document.key_place(("a",)) == Place("m.yaml", 1, 1)


def test_columns_count_code_points() -> None:
    """A column counts characters, be they of one, two or four bytes."""
    document = document_of("µ𝄞: [é, 7]")
    assert document.place(("µ𝄞", 1)) == Place("m.yaml", 1, 9)


@pytest.mark.parametrize("text", ["", "\n", "# nothing\n", "---\n", "--- ~\n...\n"])
def test_an_empty_file_is_one_document_without_value(text: str) -> None:
    """A file that says nothing is no fault here, and has a place to point at."""
    document = document_of(text)
    assert document.value is None
    assert document.place(("meter", "tag")).line in (1, 2)


def test_documents_come_one_by_one() -> None:
    """A stream gives all its documents, the empty ones too, each with its places."""
    reading = read("a: 1\n---\n---\n- b\n...\n---\nc: 2\n")
    assert [found.value for found in reading.documents] == [
        {"a": "1"},
        None,
        ["b"],
        {"c": "2"},
    ]
    assert reading.documents[3].place(("c",)) == Place("m.yaml", 7, 4)
    assert reading.faults == ()


PLACES = """\
meters:
  - tag: FT-1
    sensor: {bore: 150 mm,
             lining: ''}
  - tag:
"""


@pytest.mark.parametrize(
    ("path", "value", "key", "plain"),
    [
        ((), (1, 1), (1, 1), False),
        (("meters",), (2, 3), (1, 1), False),
        (("meters", 0), (2, 5), (2, 5), False),
        (("meters", 0, "tag"), (2, 10), (2, 5), True),
        (("meters", 0, "sensor"), (3, 13), (3, 5), False),
        (("meters", 0, "sensor", "bore"), (3, 20), (3, 14), True),
        (("meters", 0, "sensor", "lining"), (4, 22), (4, 14), False),
        (("meters", 1, "tag"), (5, 9), (5, 5), True),
        # What is not written is where its nearest written ancestor is.
        (("meters", 0, "sensor", "x", "y"), (3, 13), (3, 13), False),
        (("meters", 2), (2, 3), (2, 3), False),
        (("meters", -1), (2, 3), (2, 3), False),
        (("meters", "tag"), (2, 3), (2, 3), False),
        ((0,), (1, 1), (1, 1), False),
        (("meters", 0, "tag", "x"), (2, 10), (2, 10), False),
    ],
)
def test_every_path_has_a_place(
    path: tuple[str | int, ...],
    value: tuple[int, int],
    key: tuple[int, int],
    plain: bool,
) -> None:
    """Values, keys and what is missing are found where they stand."""
    document = document_of(PLACES)
    assert document.place(path) == Place("m.yaml", *value)
    assert document.key_place(path) == Place("m.yaml", *key)
    assert document.is_plain(path) is plain
    assert document.source_place(path) is None
