"""Laws of the document reader on any input, held against other readers."""

from __future__ import annotations

import datetime
import json
import math
import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from configlint.documents import Reading, read_document
from configlint.errors import Path, Place
from configlint.plain_scalars import read_otherwise
from configlint.source_text import split_lines


def read_both(data: bytes) -> tuple[Reading, Reading]:
    """Read with PyYAML's parser in C, and with the one in Python."""
    in_c = read_document(data, "m.yaml")
    with pytest.MonkeyPatch.context() as patch:
        patch.delattr(yaml, "CBaseLoader")
        return in_c, read_document(data, "m.yaml")


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


def paths_of(value: object, path: Path = ()) -> Iterator[tuple[Path, object]]:
    """Give every path of a value, with what is there."""
    yield path, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from paths_of(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from paths_of(inner, (*path, index))


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


class Written(NamedTuple):
    """A value, and lines that say it: the first may go behind a key or a dash."""

    value: object
    inline: str
    block: tuple[str, ...]
    heads: dict[Path, str]


WORDS = st.from_regex(
    r"[A-Za-z0-9](?:[A-Za-z0-9 ./+^_-]{0,10}[A-Za-z0-9])?", fullmatch=True
)
LINE_TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]).filter(
        lambda sign: sign not in "\ufeff\ufffe\uffff"
    ),
    max_size=12,
)
NULLS = ("null", "Null", "NULL", "~")


def scalar(value: object, inline: str) -> Written:
    """Write a scalar in one line."""
    return Written(value, inline, (), {(): inline})


def single_quoted(text: str) -> str:
    """Quote a text as YAML's single quotes do."""
    return "'" + text.replace("'", "''") + "'"


def double_quoted(text: str) -> str:
    """Quote a text by JSON's rules, which YAML's double quotes include."""
    return json.dumps(text, ensure_ascii=False)


SCALARS = st.one_of(
    WORDS.map(lambda text: scalar(None if text in NULLS else text, text)),
    st.sampled_from(["null", "~", "NULL"]).map(lambda text: scalar(None, text)),
    LINE_TEXT.map(lambda text: scalar(text, single_quoted(text))),
    LINE_TEXT.map(lambda text: scalar(text, double_quoted(text))),
    st.text("ab\n\t\"\\ '", max_size=8).map(
        lambda text: scalar(text, double_quoted(text))
    ),
)
KEYS = st.one_of(
    WORDS.map(lambda text: (text, text)),
    LINE_TEXT.map(lambda text: (text, double_quoted(text))),
    LINE_TEXT.map(lambda text: (text, single_quoted(text))),
)


def under(step: str | int, inner: Written) -> dict[Path, str]:
    """Give what stands at the paths of a value that has become a part."""
    return {(step, *path): head for path, head in inner.heads.items()}


def flow_section(entries: list[tuple[tuple[str, str], Written]]) -> Written:
    """Write a section in braces, of parts that fit a line."""
    value = {key: inner.value for (key, _), inner in entries}
    inline = ", ".join(f"{key}: {inner.inline}" for (_, key), inner in entries)
    heads: dict[Path, str] = {(): "{"}
    for (key, _), inner in entries:
        heads |= under(key, inner)
    return Written(value, "{" + inline + "}", (), heads)


def flow_list(items: list[Written]) -> Written:
    """Write a list in brackets, of parts that fit a line."""
    heads: dict[Path, str] = {(): "["}
    for index, inner in enumerate(items):
        heads |= under(index, inner)
    inline = ", ".join(inner.inline for inner in items)
    return Written([inner.value for inner in items], f"[{inline}]", (), heads)


FLOW = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4).map(flow_list),
        st.lists(st.tuples(KEYS, inner), max_size=4, unique_by=lambda e: e[0][0]).map(
            flow_section
        ),
    ),
    max_leaves=8,
)
# Between two lines there may stand nothing, an empty line or a comment.
GAPS = st.sampled_from(
    [
        (),
        (),
        (),
        ("",),
        ("# b: c",),
        (
            "",
            "      # - x",
        ),
    ]
)
INDENTS = st.integers(1, 5).map(" ".__mul__)


def block_lines(
    head: str, inner: Written, indent: str, gap: tuple[str, ...]
) -> list[str]:
    """Write a part behind or below its head."""
    if not inner.block:
        return [f"{head} {inner.inline}", *gap]
    return [f"{head} # d: e", *gap, *(f"{indent}{line}" for line in inner.block)]


def block_section(
    entries: list[tuple[tuple[str, str], Written]], indent: str, gap: tuple[str, ...]
) -> Written:
    """Write a section line by line."""
    lines: list[str] = []
    heads: dict[Path, str] = {(): entries[0][0][1]}
    for (key, written_key), inner in entries:
        lines += block_lines(f"{written_key}:", inner, indent, gap)
        heads |= under(key, inner)
    value = {key: inner.value for (key, _), inner in entries}
    return Written(value, "", tuple(lines), heads)


def block_list(items: list[Written], indent: str, gap: tuple[str, ...]) -> Written:
    """Write a list line by line."""
    lines: list[str] = []
    heads: dict[Path, str] = {(): "-"}
    for index, inner in enumerate(items):
        lines += block_lines("-", inner, indent, gap)
        heads |= under(index, inner)
    return Written([inner.value for inner in items], "", tuple(lines), heads)


BLOCKS = st.recursive(
    FLOW,
    lambda inner: st.one_of(
        st.builds(
            block_section,
            st.lists(
                st.tuples(KEYS, inner),
                min_size=1,
                max_size=4,
                unique_by=lambda entry: entry[0][0],
            ),
            INDENTS,
            GAPS,
        ),
        st.builds(block_list, st.lists(inner, min_size=1, max_size=4), INDENTS, GAPS),
    ),
    max_leaves=10,
)


def text_of(written: Written) -> str:
    """Give the text of a document."""
    return "\n".join([*(written.block or [written.inline]), ""])


@given(BLOCKS, st.sampled_from(["\n", "\r\n", "\r"]))
def test_what_was_written_is_read(written: Written, end: str) -> None:
    """A generated document gives its keys, order and texts, with either parser."""
    data = text_of(written).replace("\n", end).encode()
    for reading in read_both(data):
        assert reading.faults == ()
        (document,) = reading.documents
        assert document.value == written.value
        assert list(paths_of(document.value)) == list(paths_of(written.value))


@given(BLOCKS)
def test_every_value_stands_at_its_place(written: Written) -> None:
    """At a value's place its own first sign stands, and its key at the key's place."""
    text = text_of(written)
    lines = split_lines(text)
    for reading in read_both(text.encode()):
        (document,) = reading.documents
        for path, head in written.heads.items():
            _, line, column = document.place(path)
            assert lines[line - 1][column - 1 :].startswith(head)
            assert document.source_place(path) is None
            is_text = not isinstance(dict(paths_of(written.value))[path], dict | list)
            assert document.is_plain(path) is (is_text and head[0] not in "'\"")
            if path and isinstance(path[-1], str):
                _, line, column = document.key_place(path)
                rest = lines[line - 1][column - 1 :]
                assert rest.startswith(
                    (path[-1], single_quoted(path[-1]), double_quoted(path[-1]))
                )


def compare(node: Node, value: object, path: Path, reading: Reading) -> None:
    """Hold a value and its places against a node of another reader."""
    (document,) = reading.documents
    mark = node.start_mark
    assert document.place(path) == Place("m.yaml", mark.line + 1, mark.column + 1)
    if isinstance(node, ScalarNode):
        plain_null = not node.style and node.value in (*NULLS, "")
        assert value == (None if plain_null else node.value)
    elif isinstance(node, SequenceNode):
        assert isinstance(value, list)
        for index, (inner, part) in enumerate(zip(node.value, value, strict=True)):
            compare(inner, part, (*path, index), reading)
    else:
        assert isinstance(node, MappingNode)
        assert isinstance(value, dict)
        assert list(value) == [key.value for key, _ in node.value]
        for key, inner in node.value:
            compare(inner, value[key.value], (*path, key.value), reading)


@given(BLOCKS)
def test_another_reader_agrees(written: Written) -> None:
    """ruamel.yaml, a YAML 1.2 reader, finds the same keys, texts and places."""
    text = text_of(written)
    node = YAML(typ="safe", pure=True).compose(text)
    for reading in read_both(text.encode()):
        compare(node, reading.documents[0].value, (), reading)


class Merging(NamedTuple):
    """A section's own entries, the sections it merges, and one that it holds."""

    entries: dict[str, str]
    merges: list[int]
    held: int


MERGINGS = st.lists(
    st.builds(
        Merging,
        st.dictionaries(st.sampled_from("abcd"), st.sampled_from("123"), max_size=3),
        st.lists(st.integers(0, 5), max_size=3),
        st.integers(0, 5),
    ),
    min_size=1,
    max_size=6,
)


def write_merges(sections: list[Merging]) -> tuple[str, dict[str, object]]:
    """Write sections that merge and hold those above them, and give their meaning."""
    lines = []
    meaning: list[dict[str, object]] = []
    for number, (entries, merges, held) in enumerate(sections):
        parts = [f"{key}: {value}" for key, value in entries.items()]
        value: dict[str, object] = dict(entries)
        above = [index for index in merges if index < number]
        if above:
            aliases = ", ".join(f"*s{index}" for index in above)
            parts.insert(len(parts) // 2, f"<<: [{aliases}]")
        if held < number:
            parts.append(f"held: *s{held}")
            value["held"] = meaning[held]
        for index in above:
            value = meaning[index] | value
        lines.append(f"s{number}: &s{number} {{{', '.join(parts)}}}\n")
        meaning.append(value)
    return "".join(lines), {f"s{index}": part for index, part in enumerate(meaning)}


@given(MERGINGS)
def test_aliases_and_merges_bring_what_they_name(sections: list[Merging]) -> None:
    """Values come through at any depth, and then stand where an alias stands."""
    text, meaning = write_merges(sections)
    lines = split_lines(text)
    for reading in read_both(text.encode()):
        assert reading.faults == ()
        (document,) = reading.documents
        assert document.value == meaning
        for path, _ in paths_of(document.value):
            _, line, column = document.place(path)
            came = lines[line - 1][column - 1] == "*"
            assert came is (document.source_place(path) is not None)
            own = len(path) == 2 and path[1] in sections[int(str(path[0])[1:])].entries
            assert not (came and own)


def read_by_1_1(text: str) -> object:
    """Read a plain scalar as PyYAML's own safe loader, a YAML 1.1 reader, does."""
    loader = yaml.SafeLoader("")
    resolve: Callable[..., str] = loader.resolve
    tag = resolve(yaml.ScalarNode, text, (True, False))
    return loader.construct_object(yaml.ScalarNode(tag, text))


def read_by_core(text: str) -> object:
    """Read a number of the YAML 1.2 core schema by Python's own number grammar."""
    if "_" in text or not text.isascii():
        return text
    try:
        return int(text, 0) if re.match("0[ox]", text) else float(text)
    except ValueError:
        return text


SAME_IN_BOTH = (datetime.date, type(None))
FIGURES = st.one_of(
    st.text("0123456789+-.:_eExobFn", max_size=12),
    st.from_regex(r"[-+]?[0-9]{1,4}(:[0-9]{1,2}){0,3}(\.[0-9]{0,3})?", fullmatch=True),
    st.from_regex(r"[-+]?(0[box]?)?[0-9a-f_]{1,8}", fullmatch=True),
    st.from_regex(
        r"[-+]?[0-9_]{0,4}\.?[0-9_]{0,4}([eE][-+]?[0-9]{1,3})?", fullmatch=True
    ),
    st.from_regex(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}( [0-9:.]{5,10}Z?)?", fullmatch=True),
    st.sampled_from(["yes", "Yes", "YES", "yEs", "no", "on", "ON", "off", "y", "n"]),
    st.sampled_from(["true", "True", "null", ".inf", ".nan", "+.INF"]),
)


@settings(max_examples=2000)
@given(FIGURES)
@example("0b_")
@example("1:20:30.1")
@example("1" * 400 + ".")
@example("٣")
def test_the_other_reading_is_that_of_yaml_1_1(text: str) -> None:
    """What is told is PyYAML's reading; where nothing is told both readings agree."""
    told = read_otherwise(text)
    if text in {"y", "n", "Y", "N"}:
        assert told == ("true" if text in "yY" else "false")
        return
    try:
        other = read_by_1_1(text)
    except ValueError:
        # PyYAML stops at a month 13, and at a binary figure without digits.
        assert told is None
        return
    if told is None:
        by_core = read_by_core(text)
        assert (
            isinstance(other, SAME_IN_BOTH)
            or text.lower() in {"true", "false"}
            or text.strip("+-").lower() in {".inf", ".nan", "inf", "nan"}
            or other == by_core
            or (isinstance(by_core, float) and math.isnan(by_core))
        )
    elif isinstance(other, bool):
        assert told == str(other).lower()
    elif isinstance(other, str):
        assert told == f'the text "{text}"'
        assert not isinstance(read_by_core(text), str)
    else:
        assert told == str(other)
        assert other != read_by_core(text)
