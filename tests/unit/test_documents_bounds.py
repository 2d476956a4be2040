"""Laws of the document reader's bounds: on nesting, length, values and faults."""

from __future__ import annotations

import pytest

from configlint.documents import Bounds
from configlint.errors import Place
from tests.documents import fault_of, read, values_of

pytestmark = pytest.mark.usefixtures("parser")


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
    """Nesting too deep is told even in a value that a type mark has refused."""
    first, second = read("!x\n" + inner * 400).faults
    assert first.kind == "type-mark-absent"
    assert "level 101 of nesting" in second.problem


def test_the_value_of_a_refused_key_is_not_read() -> None:
    """What stands behind a refused key is passed over, as deep as it may be."""
    assert values_of("? [a]\n: {b: 1, b: 2}\nc: 3\n") == [{"c": "3"}]
    text = "".join(f"{' ' * level}? [a]\n{' ' * level}:\n" for level in range(40))
    assert len(read(text).faults) == 1


def test_bottomless_sections_are_one_fault() -> None:
    """Nested sections are bounded at the same level as nested lists."""
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
