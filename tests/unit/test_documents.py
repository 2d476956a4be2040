"""Laws of the document reader: texts stay as written, faults have their places."""

from __future__ import annotations

import pytest
import yaml

from configlint.documents import BOUNDS, Bounds, Document, Reading, read_document
from configlint.errors import Fault, Place


@pytest.fixture(params=["parser in C", "parser in Python"], autouse=True)
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Run every law with PyYAML's parser in C and with the one in Python."""
    assert hasattr(yaml, "CBaseLoader"), "this PyYAML is built without its C parser"
    if request.param == "parser in Python":
        monkeypatch.delattr(yaml, "CBaseLoader")
    return str(request.param)


def read(text: str, bounds: Bounds = BOUNDS) -> Reading:
    """Read a text as the file m.yaml."""
    return read_document(text.encode(), "m.yaml", bounds)


def document_of(text: str) -> Document:
    """Read a text that has one document and no fault."""
    reading = read(text)
    assert reading.faults == ()
    (document,) = reading.documents
    return document


def fault_of(text: str) -> Fault:
    """Read a text that has one fault."""
    (fault,) = read(text).faults
    return fault


def values_of(text: str) -> list[object]:
    """Give the values of all documents of a text."""
    return [document.value for document in read(text).documents]


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


ALIASES = """\
type: &type
  size: DN 50
  range: &range {low: 0 m3/h}
names: [&name FT-1, *name]
a: *type
b:
  <<: *type
  size: DN 80
  own: *range
c: {<<: [*range, *type, {size: DN 100, extra: x}], low: 1 m3/h}
list: &list [*type]
d: {<<: *list}
"""


def test_aliases_and_merge_keys_bring_values() -> None:
    """An alias is its anchor's value; a written key wins, then the first source."""
    document = document_of(ALIASES)
    type_ = {"size": "DN 50", "range": {"low": "0 m3/h"}}
    assert document.value == {
        "type": type_,
        "names": ["FT-1", "FT-1"],
        "a": type_,
        "b": type_ | {"size": "DN 80", "own": {"low": "0 m3/h"}},
        "c": type_ | {"low": "1 m3/h", "extra": "x"},
        "list": [type_],
        "d": type_,
    }


@pytest.mark.parametrize(
    ("path", "value", "source"),
    [
        (("names", 1), (4, 21), (4, 9)),
        (("a",), (5, 4), (1, 7)),
        (("a", "size"), (5, 4), (2, 9)),
        (("a", "range", "low"), (5, 4), (3, 23)),
        (("a", "nothing"), (5, 4), (1, 7)),
        (("b", "range"), (7, 7), (3, 10)),
        (("b", "size"), (8, 9), None),
        (("b", "own", "low"), (9, 8), (3, 23)),
        (("c", "low"), (10, 57), None),
        (("c", "size"), (10, 18), (2, 9)),
        (("c", "extra"), (10, 47), None),
        (("d", "range", "low"), (12, 9), (3, 23)),
        (("d", "size"), (12, 9), (2, 9)),
    ],
)
def test_an_aliased_value_has_two_places(
    path: tuple[str | int, ...], value: tuple[int, int], source: tuple[int, int] | None
) -> None:
    """Such a value is placed where its alias stands, its source where it is written."""
    document = document_of(ALIASES)
    assert document.place(path) == Place("m.yaml", *value)
    expected = None if source is None else Place("m.yaml", *source)
    assert document.source_place(path) == expected


def test_keys_that_came_through_an_alias_stand_where_it_stands() -> None:
    """The key of a merged or aliased value is placed at the alias."""
    document = document_of(ALIASES)
    assert document.key_place(("a", "size")) == Place("m.yaml", 5, 4)
    assert document.key_place(("b", "range")) == Place("m.yaml", 7, 7)
    assert document.key_place(("b", "size")) == Place("m.yaml", 8, 3)
    assert document.key_place(("c", "extra")) == Place("m.yaml", 10, 40)


def test_a_merge_leaves_its_source_alone() -> None:
    """What a section merges is not written into the section it merges."""
    document = document_of("a: &x {k: 1}\nb: {<<: *x, l: 2}\nc: *x\n")
    assert document.value == {
        "a": {"k": "1"},
        "b": {"l": "2", "k": "1"},
        "c": {"k": "1"},
    }


def test_a_quoted_merge_sign_is_a_key() -> None:
    """Only a plain << merges."""
    assert document_of("'<<': {a: 1}").value == {"<<": {"a": "1"}}


def test_an_anchored_key_can_be_named() -> None:
    """A key may carry an anchor, and an alias of a scalar may be a key."""
    document = document_of("&k size: DN 50\nx: {*k : DN 80}\ny: *k\n")
    assert document.value == {"size": "DN 50", "x": {"size": "DN 80"}, "y": "size"}
    assert document.key_place(("x", "size")) == Place("m.yaml", 2, 5)


def test_a_later_anchor_of_the_same_name_counts_from_there() -> None:
    """An alias means the last anchor of its name above it."""
    value = document_of("a: &x 1\nb: *x\nc: &x 2\nd: *x\n").value
    assert value == {"a": "1", "b": "1", "c": "2", "d": "2"}


def test_an_alias_knows_nothing_of_the_document_before() -> None:
    """Anchors end with their document."""
    assert fault_of("a: &x 1\n---\nb: *x\n").problem.startswith("The alias *x has no")


def test_a_repeated_key_counts_as_not_written() -> None:
    """Each repeat is a fault at its place that names the first; no value is kept."""
    reading = read("s:\n  a: 1\n  b: 2\n  a: 3\n  a: {c: 1}\nt: 4\n")
    assert [found.value for found in reading.documents] == [{"s": {"b": "2"}, "t": "4"}]
    assert [(fault.kind, fault.place.line, fault.path) for fault in reading.faults] == [
        ("key-written-once", 4, ("s", "a")),
        ("key-written-once", 5, ("s", "a")),
    ]
    assert {fault.elsewhere for fault in reading.faults} == {Place("m.yaml", 2, 3)}
    assert reading.documents[0].key_place(("s", "a")) == Place("m.yaml", 2, 3)
    assert reading.documents[0].place(("s", "a")) == Place("m.yaml", 2, 3)


def test_a_repeated_key_is_not_merged_in() -> None:
    """A key whose value was refused is written, so a merge does not bring it."""
    assert values_of("x: &x {a: 0, b: 0}\ny: {a: 1, a: 2, <<: *x}") == [
        {"x": {"a": "0", "b": "0"}, "y": {"b": "0"}}
    ]


def test_a_repeated_merge_key_brings_nothing() -> None:
    """Two merge keys in one section are a repeated key."""
    text = "x: &x {a: 0}\ny: {<<: *x, <<: *x, b: 1}\n"
    assert values_of(text) == [{"x": {"a": "0"}, "y": {"b": "1"}}]
    assert fault_of(text).kind == "key-written-once"


@pytest.mark.parametrize(
    ("text", "value", "mark"),
    [
        ("a: !!int 5\nb: 1", {"b": "1"}, "!!int"),
        ("a: !!python/object/apply:os.system [x]\nb: 1", {"b": "1"}, "!!python/obj"),
        ("a: !x {c: {d: [1]}}\nb: 1", {"b": "1"}, "!x"),
        ("a: !<y> x\nb: 1", {"b": "1"}, "y"),
        ("a: [1, ! 2, 3]\nb: 1", {"a": ["1", "3"], "b": "1"}, "!"),
        ("!x a: 1\nb: 1", {"b": "1"}, "!x"),
        ("a: {<<: !x {c: 1}}\nb: 1", {"a": {}, "b": "1"}, "!x"),
    ],
)
def test_a_type_mark_is_refused(text: str, value: object, mark: str) -> None:
    """A value behind a type mark counts as not written; the rest is kept."""
    fault = fault_of(text)
    assert fault.kind == "type-mark-absent"
    assert f"'{mark}" in fault.problem
    assert values_of(text) == [value]


def test_an_alias_of_a_refused_value_is_refused_with_it() -> None:
    """One type mark is one fault, though aliases name the value and its parts."""
    text = "a: !t &x {b: &y 1, c: &z [2]}\nd: *x\ne: *y\nf: *z\ng: 1\n"
    assert values_of(text) == [{"g": "1"}]
    assert fault_of(text).place == Place("m.yaml", 1, 4)


def test_a_document_whose_root_is_refused_is_left_out() -> None:
    """The documents beside a refused one are kept."""
    assert values_of("a: 1\n--- !x\nb: 2\n---\nc: 3\n") == [{"a": "1"}, {"c": "3"}]


@pytest.mark.parametrize("text", ["? [a]\n: 1\nb: 2", "{x: 1}: 1\nb: 2"])
def test_a_key_must_be_a_scalar(text: str) -> None:
    """A section or a list as a key is a fault, and its value is not kept."""
    assert values_of(text) == [{"b": "2"}]
    assert "where a key is expected" in fault_of(text).problem


def test_an_alias_of_a_section_is_no_key() -> None:
    """An alias can be a key only where it names a scalar."""
    text = "a: &x {c: 1}\n*x : 2\nb: 3\n"
    assert values_of(text) == [{"a": {"c": "1"}, "b": "3"}]
    assert fault_of(text).place == Place("m.yaml", 2, 1)


@pytest.mark.parametrize(
    "text",
    [
        "a: {<<: 5, c: 1}",
        "a: {<<: [x], c: 1}",
        "a: {<<: [[]], c: 1}",
        "a: {<<: , c: 1}",
    ],
)
def test_a_merge_key_takes_sections_only(text: str) -> None:
    """A merge of what is no section is a fault at the merge key."""
    fault = fault_of(text)
    assert (fault.place, fault.path) == (Place("m.yaml", 1, 5), ("a",))
    assert values_of(text) == [{"a": {"c": "1"}}]


def test_an_unknown_alias_counts_as_not_written() -> None:
    """An alias without anchor is a fault with its path, and reading goes on."""
    text = "a:\n  - 1\n  - *nothing\n  - 2\nb: 3\n"
    assert values_of(text) == [{"a": ["1", "2"], "b": "3"}]
    fault = fault_of(text)
    assert (fault.place, fault.path) == (Place("m.yaml", 3, 5), ("a", 1))
    assert "&nothing" in fault.advice


def test_an_alias_can_not_stand_in_its_own_anchor() -> None:
    """A value that would hold itself is a fault that names the anchor's place."""
    text = "a: &x\n  b: *x\n  c: 1\n"
    assert values_of(text) == [{"a": {"c": "1"}}]
    fault = fault_of(text)
    assert fault.place == Place("m.yaml", 2, 6)
    assert fault.elsewhere == Place("m.yaml", 1, 4)


def nest(levels: int, inside: str = "x") -> str:
    """Write lists inside each other."""
    return "[" * levels + inside + "]" * levels


def test_nesting_is_bounded() -> None:
    """Fifty levels are read, the value at level 51 is refused, and the rest kept."""
    assert read(nest(50)).faults == ()
    text = f"a: {nest(50)}\nb: {nest(49)}\n"
    (value,) = values_of(text)
    assert isinstance(value, dict)
    assert str(value["a"]) == nest(49, "")
    assert str(value["b"]) == nest(49, "'x'")
    fault = fault_of(text)
    assert fault.place == Place("m.yaml", 1, 53)
    assert "level 51" in fault.problem


@pytest.mark.parametrize("levels", [300, 3_000, 100_000])
@pytest.mark.parametrize("closed", [True, False])
def test_bottomless_nesting_is_one_fault(levels: int, closed: bool) -> None:
    """However deep a file goes, one fault says so and asks for fewer levels."""
    fault = fault_of(nest(levels) if closed else "[" * levels)
    assert fault.advice == "Write the file with fewer levels."
    # The parser in C gives up at 1000 brackets in one line before it tells of any.
    assert fault.place[1:] in ((1, 51), (1, 1001))
    assert levels > 300 or fault.place.column == 51


@pytest.mark.parametrize("text", ["? " * 5_000, "? a\n: " + "? " * 5_000, "{" * 400])
def test_bottomless_keys_are_refused(text: str) -> None:
    """Keys in keys in keys are refused at the first, and end the reading."""
    reading = read(text)
    assert reading.documents == ()
    assert reading.faults[-1].advice == "Write the file with fewer levels."


@pytest.mark.parametrize("inner", ["[", "- "])
def test_bottomless_nesting_behind_a_type_mark_is_told(inner: str) -> None:
    """A value that is refused already is told to be too deep where reading ends."""
    first, second = read("!x\n" + inner * 400).faults
    assert first.kind == "type-mark-absent"
    assert "level 101 of nesting" in second.problem


def test_the_value_of_a_refused_key_is_not_read() -> None:
    """What stands behind a refused key is passed over, as deep as it may be."""
    assert values_of("? [a]\n: {b: 1, b: 2}\nc: 3\n") == [{"c": "3"}]
    text = "".join(f"{' ' * level}? [a]\n{' ' * level}:\n" for level in range(40))
    assert len(read(text).faults) == 1


def test_bottomless_sections_are_one_fault() -> None:
    """Sections are bounded as lists are."""
    text = "".join("{a: " for _ in range(500))
    assert "level 51" in fault_of(text).problem


def test_a_file_has_a_bound() -> None:
    """A file of more bytes than the bound is refused before it is read."""
    assert read("a: 1", Bounds(bytes=4)).faults == ()
    reading = read("a: 12", Bounds(bytes=4))
    assert reading.documents == ()
    assert reading.faults[0].problem == (
        "The file has more than 4 bytes, the most that are read."
    )


def test_written_values_have_a_bound() -> None:
    """Reading ends at the first value beyond the bound; whole documents are kept."""
    assert read("- a\n- b\n", Bounds(nodes=3)).faults == ()
    reading = read("- a\n- b\n---\n- c\n", Bounds(nodes=4))
    assert [found.value for found in reading.documents] == [["a", "b"]]
    (fault,) = reading.faults
    assert fault.place == Place("m.yaml", 4, 3)
    assert "more than 4 values" in fault.problem


def bomb(levels: int) -> str:
    """Write a list of nine aliases of a list of nine aliases, and so on."""
    lines = ["x0: &x0 [a, a, a, a, a, a, a, a, a]"]
    for level in range(1, levels):
        aliases = ", ".join([f"*x{level - 1}"] * 9)
        lines.append(f"x{level}: &x{level} [{aliases}]")
    return "\n".join(lines)


def test_an_alias_bomb_is_refused() -> None:
    """What aliases would expand to is counted, and no more than the bound is kept."""

    def count(value: object) -> int:
        if isinstance(value, dict):
            return sum(1 + count(inner) for inner in value.values())
        return 1 + sum(map(count, value)) if isinstance(value, list) else 1

    bounds = Bounds(nodes=10_000)
    reading = read(bomb(9), bounds)
    assert len(reading.faults) > 9
    assert all("*x" in fault.problem for fault in reading.faults)
    (document,) = reading.documents
    assert count(document.value) <= bounds.nodes + 100
    assert read(bomb(3), bounds).faults == ()


def test_faults_have_a_bound() -> None:
    """After a thousand faults reading ends, and a last fault says so."""
    reading = read("\n".join(["a: *x"] * 2_000))
    assert len(reading.faults) == 1_001
    assert reading.documents == ()
    assert reading.faults[-1].problem.startswith("The file has more than 1000 faults")


def test_a_long_text_is_shortened_in_a_message() -> None:
    """No message repeats a key of any length."""
    key = "k" * 900
    fault = fault_of(f"{key}: 1\n{key}: 2\n")
    assert len(fault.problem) < 200


def test_a_brace_in_a_key_stays_a_brace() -> None:
    """The texts of a file are never taken for a message's own blanks."""
    assert "'{0}{key}'" in fault_of('"{0}{key}": 1\n"{0}{key}": 2\n').problem


def test_documents_before_a_syntax_fault_are_kept() -> None:
    """A break of syntax ends the reading; whole documents above it stay."""
    text = "a: 1\na: 2\nb: 3\n---\nc: 4\n---\nd: [1\ne: 5\n"
    assert values_of(text) == [{"b": "3"}, {"c": "4"}]
    first, second = read(text).faults
    assert first.kind == "key-written-once"
    assert (second.kind, second.place) == ("file-readable", Place("m.yaml", 7, 4))


@pytest.mark.parametrize("text", ['a: "\\ud800"', 'a: "\\U00110000"'])
def test_an_escape_of_no_character_is_a_fault(text: str) -> None:
    """Half a surrogate pair and a number beyond Unicode are no text."""
    fault = fault_of(text)
    assert fault.place == Place("m.yaml", 1, 5)
    assert "is no code of a character" in fault.problem


def test_what_is_no_text_gives_no_document() -> None:
    """A file that can't be decoded has its fault and nothing else."""
    reading = read_document(b"a: 1\nb: \xff\n", "m.yaml")
    assert reading.documents == ()
    assert [fault.place for fault in reading.faults] == [Place("m.yaml", 2, 4)]


def test_each_document_has_its_own_faults() -> None:
    """A fault belongs to the document it was met in; one that was lost has none."""
    reading = read("a: 1\na: 2\n---\nb: 1\n---\nc: !!str x\n---\nd: 1\nd: 2\ne: [\n")
    lines = [[fault.place.line for fault in each.faults] for each in reading.documents]
    assert lines == [[2], [], [6]]
    assert [fault.place.line for fault in reading.faults] == [2, 6, 9, 10]
