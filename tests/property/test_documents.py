"""Laws of the document reader on generated documents: it reads what was written."""

from __future__ import annotations

import json
from typing import NamedTuple

from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from configlint.documents import Reading
from configlint.errors import Path, Place
from configlint.source_text import split_lines
from tests.documents import paths_of, read_both


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
