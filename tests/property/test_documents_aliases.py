"""Laws of aliases and merge keys on random sections: they bring what they name."""

from __future__ import annotations

from typing import NamedTuple

from hypothesis import given
from hypothesis import strategies as st

from configlint.source_text import split_lines
from tests.documents import paths_of, read_both


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
    """Aliases bring values at any depth, which then stand where an alias stands."""
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
