"""Laws of an edit in place: one scalar changes, and no other character of the file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from configlint.documents import Document, read_document
from configlint.errors import Path as Steps
from configlint.errors import Place, RunError
from configlint.review import splice as splice_module
from configlint.review.layout import read_layout
from configlint.review.scalar_text import is_one_line, scalar_text
from configlint.review.splice import splice
from configlint.review.unchanged import differences, hold_to

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def meter_files() -> list[Path]:
    """Give every meter file of the example plant."""
    files = EXAMPLES.glob("*/sites/*/*.yaml")
    return sorted(file for file in files if file.name != "site.yaml")


def documents_of(text: str) -> tuple[Document, ...]:
    """Read all documents of a text."""
    return read_document(text.encode(), "m.yaml").documents


def scalars_of(value: object, path: Steps = ()) -> Iterator[Steps]:
    """Give the path of every scalar of a value."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from scalars_of(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from scalars_of(inner, (*path, index))
    else:
        yield path


def at(value: object, path: Steps) -> object:
    """Give what stands at a path."""
    for step in path:
        if isinstance(value, list) and isinstance(step, int):
            value = value[step]
        else:
            assert isinstance(value, dict)
            value = value[step]
    return value


def changed_part(old: str, new: str) -> tuple[int, int]:
    """Give where two texts begin to differ, and how much of the old one's end stays."""
    before = shared_length(old, new)
    return before, shared_length(old[before:][::-1], new[before:][::-1])


def shared_length(one: str, other: str) -> int:
    """Give the length of the longest text that two texts both begin with."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        same = one[:middle] == other[:middle]
        low, high = (middle, high) if same else (low, middle - 1)
    return low


VALUES = (
    *("120 m3/h", "0.1550", "-2", "not used", "2026-03-31", "true", "DN 150", "µS é 𝄞"),
    *("yes", "010", "12:30", "1_000", "null", "~", "=", "<<", "---", "1e-6", "0o7"),
    *("a: b", "a #b", "#b", "- b", "it's", 'say "x"', "back\\slash", "a, b", "{a}"),
    *("[1]", "*x", "&x", "!x", "|", ">", "%x", "@x", "`x", "?", "-", ":", "a:", "x#"),
)


# --- the example plant --------------------------------------------------------


def test_every_scalar_of_the_example_plant_can_be_set(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each written scalar is set alone: all bytes before and behind it are the same."""
    # The layout of a file is the same for all its scalars, and takes most of the time.
    monkeypatch.setattr(splice_module, "read_layout", cache(read_layout))
    count = 0
    for file in meter_files():
        text = file.read_bytes().decode()
        documents = documents_of(text)
        for number, document in enumerate(documents):
            for path in scalars_of(document.value):
                if document.source_place(path) is None:
                    set_and_compare(text, documents, number, path)
                    count += 1
    assert count > 5000


def set_and_compare(
    text: str, documents: tuple[Document, ...], number: int, path: Steps
) -> None:
    """Set one scalar to a word that is in no file, and compare the files around it."""
    made = splice(text, documents, number, path, "Ω").text
    written = at(documents[number].value, path)
    before, after = changed_part(text, made)
    assert text[before : len(text) - after].strip("'\"") == written
    assert made[before : len(made) - after].strip("'\"") == "Ω"
    read = documents_of(made)
    assert at(read[number].value, path) == "Ω"
    others = {
        path
        for old, new in zip(documents, read, strict=True)
        for path in differences(old.value, new.value)
        if documents[number].source_place(path) is None
    }
    assert others == {path}


@settings(max_examples=40)
@given(st.data())
def test_an_edit_of_the_example_plant_is_proven(data: st.DataObject) -> None:
    """A value set anywhere is read back by both readers, or else taken over."""
    file = data.draw(st.sampled_from(meter_files()))
    text = file.read_bytes().decode()
    documents = documents_of(text)
    assume(documents)
    number = data.draw(st.integers(0, len(documents) - 1))
    path = data.draw(st.sampled_from(list(scalars_of(documents[number].value))))
    value = data.draw(st.sampled_from(VALUES))
    try:
        made = splice(text, documents, number, path, value).text
        hold_to(text, made, "m.yaml", {(number, *path): value})
    except RunError as error:
        (fault,) = error.faults
        assert "taken over" in fault.problem or "change as well" in fault.problem
        assert "*" in text
        assert "&" in text
        return
    assert round_trip(made, number, path) == round_trip(text, number, path)


def round_trip(text: str, number: int, path: Steps) -> str:
    """Load with a plain round-trip loader, and show all but one value of a document."""
    loaded: list[Any] = list(YAML(typ="rt", pure=True).load_all(text))
    section = loaded[number]
    for step in path[:-1]:
        section = section[step]
    del section[path[-1]]
    return repr(loaded)


# --- random layouts -----------------------------------------------------------


KEYS = st.sampled_from(("bore", "serial", "a", "b-1", "_c", "é", "on", "x y"))
WORDS = st.sampled_from(
    ("150 mm", "0.1550", "-2", "DN 150", "µS/cm", "𝄞", "a:b", "x#y", "yes", "010", "~")
)
LINES = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]),
    max_size=12,
).filter(lambda text: not text or is_one_line(text))
COMMENTS = st.sampled_from(("", "", "", " # c", "   # a: b", ' # "', " # &x *x {"))
ABOVE = st.sampled_from(("", "", "", "# c", "  # deeper", "", "   "))


def quoted(text: str, quote: str) -> str:
    """Put a text in quotes."""
    return scalar_text(text, quote)


@st.composite
def scalars(draw: st.DrawFn, flow: bool = False) -> str:
    """Write a scalar: plain, in either quote, or in quotes over two lines."""
    kind = draw(st.sampled_from(("plain", "plain", "'", '"', "lines")))
    if kind == "plain":
        word = draw(WORDS)
        return word.replace(":", "") if flow else word
    if kind == "lines":
        return "'first\n        second'"
    return quoted(draw(LINES), kind)


@st.composite
def flow_sections(draw: st.DrawFn, depth: int = 0) -> str:
    """Write a section in brackets, over one line or several."""
    gap = draw(st.sampled_from(("", " ", "\n          ")))
    entries = []
    for key in draw(st.lists(KEYS, max_size=3, unique=True)):
        nested = depth < 2 and draw(st.integers(0, 4)) == 0
        value = draw(flow_sections(depth + 1) if nested else scalars(flow=True))
        entries.append(f"{key}: {value}")
    tail = draw(st.sampled_from(("", "", ","))) if entries else ""
    return f"{{{gap}{f',{gap or chr(32)}'.join(entries)}{tail}{gap}}}"


@st.composite
def block_sections(draw: st.DrawFn, column: int, depth: int = 0) -> list[str]:
    """Write a section, one key a line, with comments and sections in it."""
    lines: list[str] = []
    blanks = " " * column
    for key in draw(st.lists(KEYS, min_size=1, max_size=4, unique=True)):
        lines += filter(None, [draw(ABOVE)])
        head, comment = f"{blanks}{key}:", draw(COMMENTS)
        kind = draw(st.integers(0, 7))
        if kind == 0 and depth < 3:
            inner = column + draw(st.integers(1, 4))
            anchor = draw(st.sampled_from(("", " &x", " &y-1")))
            lines.append(f"{head}{anchor}{comment}")
            lines += draw(block_sections(inner, depth + 1))
        elif kind == 1:
            lines.append(f"{head} {draw(flow_sections())}{comment}")
        elif kind == 2:
            lines.append(f"{head}{comment}")
        else:
            anchor = draw(st.sampled_from(("", "", "", "&z ")))
            lines.append(f"{head} {anchor}{draw(scalars())}{comment}")
    return lines


ENDS = st.sampled_from(("\n", "\n", "\r\n", "\r"))


@st.composite
def texts(draw: st.DrawFn) -> str:
    """Write a whole text: one meter at the root or a list, with any line ends."""
    lines = draw(st.lists(st.sampled_from(("# c", "", "---")), max_size=1))
    if draw(st.booleans()):
        lines += draw(block_sections(0))
    else:
        lines.append("meters:")
        for _ in range(draw(st.integers(1, 2))):
            first, *rest = draw(block_sections(4))
            lines += (
                ["  -", first, *rest] if first[:4].strip() else [f"  - {first[4:]}"]
            )
            lines += rest if not first[:4].strip() else []
    end = draw(ENDS)
    text = end.join("\n".join(lines).split("\n"))
    return text + draw(st.sampled_from((end, end, "", end * 2)))


def sections_of(value: object, path: Steps = ()) -> Iterator[Steps]:
    """Give the path of every section of a value."""
    if isinstance(value, dict):
        yield path
        for key, inner in value.items():
            yield from sections_of(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from sections_of(inner, (*path, index))


def draw_document(data: st.DataObject) -> tuple[str, tuple[Document, ...]]:
    """Draw a text that can be read without a fault."""
    text = data.draw(texts())
    reading = read_document(text.encode(), "m.yaml")
    assume(not reading.faults and len(reading.documents) == 1)
    assume(isinstance(reading.documents[0].value, dict))
    return text, reading.documents


def index_of(text: str, place: Place) -> int:
    """Give the index in a text at which a place is."""
    lines = re.split(r"(\r\n|\r|\n)", text)
    return sum(map(len, lines[: 2 * place.line - 2])) + place.column - 1


def forms_of(word: str) -> Iterator[str]:
    """Give every way in which a scalar of these texts can have been written."""
    yield from (scalar_text(word, quote) for quote in ("'", '"'))
    yield word
    if word == "first second":
        yield from (f"'first{end}        second'" for end in ("\n", "\r\n", "\r"))


@settings(max_examples=200)
@given(st.data())
def test_a_written_scalar_is_set_in_any_layout(data: st.DataObject) -> None:
    """A scalar is replaced, proven to be, and all around it stays byte for byte."""
    text, documents = draw_document(data)
    written = [
        path for path in scalars_of(documents[0].value) if isinstance(path[-1], str)
    ]
    assume(written)
    path, value = (
        data.draw(st.sampled_from(written)),
        data.draw(st.sampled_from(VALUES)),
    )
    made = splice(text, documents, 0, path, value).text
    hold_to(text, made, "m.yaml", {(0, *path): value})
    before, after = changed_part(text, made)
    old = at(documents[0].value, path)
    gone = text[before : len(text) - after]
    assert before >= index_of(text, documents[0].place(path))
    assert any(gone in form for form in forms_of(str(old or "~")))


@settings(max_examples=200)
@given(st.data())
def test_a_new_value_is_put_in_without_touching_the_old_text(
    data: st.DataObject,
) -> None:
    """A value that is not written is put in, with nothing of the file taken out."""
    text, documents = draw_document(data)
    section = data.draw(st.sampled_from(list(sections_of(documents[0].value))))
    assume(section or "meters" not in str(documents[0].value)[:10])
    path = (
        *section,
        *data.draw(st.sampled_from((("new",), ("new", "yes"), ("x: y",)))),
    )
    value = data.draw(st.sampled_from(VALUES))
    made = splice(text, documents, 0, path, value).text
    hold_to(text, made, "m.yaml", {(0, *path): value})
    before, after = changed_part(text, made)
    assert before + after >= len(text)
