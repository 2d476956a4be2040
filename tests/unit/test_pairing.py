"""Laws of finding a meter on the other side: the same one, and never a wrong one."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.review.pairing import Card, pair_cards, values_below
from configlint.review.sides import Placed, Side, judge
from tests.workspaces import write

WORKSPACE = """\
workspace: plant
sites: {north: {folder: north}, south: {folder: south}}
"""


def meter(tag: str, serial: str = "", bore: str = "100 mm", **others: str) -> str:
    """Write a meter with the values that tell it apart."""
    sensor = f"serial: {serial}, bore: {bore}" if serial else f"bore: {bore}"
    rest = "".join(f"{key}: {value}\n" for key, value in others.items())
    return f"meter: {tag}\nprinciple: electromagnetic\nsensor: {{{sensor}}}\n{rest}"


def cards(folder: Path, files: dict[str, str]) -> list[Card]:
    """Lay out the meters of some files as one side has them."""
    write(folder, {"configlint.yaml": WORKSPACE, "north/x": "", "south/x": "", **files})
    judged = judge(Side("a side", folder, folder))
    return [Card(placed) for placed in judged.lay_out(judged.sources.keys())]


def paired(
    folder: Path, before: dict[str, str], after: dict[str, str]
) -> tuple[list[tuple[str, str]], list[str], list[str]]:
    """Pair the meters of two sides, and of two sides that have changed places."""
    one, other = cards(folder / "one", before), cards(folder / "other", after)
    pairs, back = pair_cards(one, other), pair_cards(other, one)
    assert {(a, b) for b, a in back.both} == set(pairs.both)
    assert (back.before, back.after) == (pairs.after, pairs.before)
    return (
        sorted((named(a), named(b)) for a, b in pairs.both),
        sorted(map(named, pairs.before)),
        sorted(map(named, pairs.after)),
    )


def named(card: Card) -> str:
    """Name a meter by its tag, its site and its file."""
    _, site, tag = card.identity
    return f"{tag} {site} {card.placed.key}"


def test_a_meter_is_known_by_its_tag_whatever_has_changed(tmp_path: Path) -> None:
    """A meter whose sensor, bore and file are others is the meter of its tag."""
    before = {"north/a.yaml": meter("FT-1", "S-1"), "north/b.yaml": meter("FT-2")}
    after = {
        "north/b.yaml": meter("FT-1", "S-9", "50 mm"),
        "north/c.yaml": meter("FT-2"),
    }
    both = [
        ("FT-1 north north/a.yaml", "FT-1 north north/b.yaml"),
        ("FT-2 north north/b.yaml", "FT-2 north north/c.yaml"),
    ]
    assert paired(tmp_path, before, after) == (both, [], [])


def test_a_moved_meter_is_found_by_its_sensor(tmp_path: Path) -> None:
    """A meter of another tag at another site is the one whose sensor has its number."""
    before = {"north/a.yaml": meter("FT-1", "S-1")}
    after = {"south/b.yaml": meter("FT-7", "S-1", "50 mm")}
    both = [("FT-1 north north/a.yaml", "FT-7 south south/b.yaml")]
    assert paired(tmp_path, before, after) == (both, [], [])


def test_a_moved_meter_is_found_by_its_tag(tmp_path: Path) -> None:
    """A meter without a number is the one of its tag at another site."""
    before = {"north/a.yaml": meter("FT-1")}
    after = {"south/a.yaml": meter("FT-1", "S-1", "50 mm")}
    both = [("FT-1 north north/a.yaml", "FT-1 south south/a.yaml")]
    assert paired(tmp_path, before, after) == (both, [], [])


def test_two_sensors_are_two_meters(tmp_path: Path) -> None:
    """Meters of one tag at two sites are not one where their sensors differ."""
    before = {"north/a.yaml": meter("FT-1", "S-1")}
    after = {"south/a.yaml": meter("FT-1", "S-2")}
    alone = ["FT-1 north north/a.yaml"], ["FT-1 south south/a.yaml"]
    assert paired(tmp_path, before, after) == ([], *alone)


def test_a_corrected_tag_is_seen_in_its_file(tmp_path: Path) -> None:
    """The only meter of a file stays the meter where only its tag has changed."""
    before = {"north/a.yaml": meter("FT-1", duty="clean water")}
    after = {"north/a.yaml": meter("FT-11", bore="100.5 mm", duty="clean water")}
    both = [("FT-1 north north/a.yaml", "FT-11 north north/a.yaml")]
    assert paired(tmp_path, before, after) == (both, [], [])


def test_another_meter_in_a_file_is_another(tmp_path: Path) -> None:
    """A file that holds a wholly different meter now does not make the two one."""
    before = {"north/a.yaml": meter("FT-1", service="Inlet")}
    after = {
        "north/a.yaml": "meter: FT-2\nprinciple: vortex\n"
        "sensor: {bore: 25 mm}\nservice: Steam\nconstruction: integral\n"
    }
    alone = ["FT-1 north north/a.yaml"], ["FT-2 north north/a.yaml"]
    assert paired(tmp_path, before, after) == ([], *alone)


def test_a_meter_of_the_same_values_is_found_by_them(tmp_path: Path) -> None:
    """A meter of another tag and file is the one whose other values it has, all."""
    before = {
        "north/a.yaml": meter("FT-1", bore="77 mm"),
        "north/b.yaml": meter("FT-2"),
    }
    after = {"south/c.yaml": meter("FT-9", bore="77 mm")}
    both = [("FT-1 north north/a.yaml", "FT-9 south south/c.yaml")]
    assert paired(tmp_path, before, after) == (both, ["FT-2 north north/b.yaml"], [])


def test_what_could_be_several_is_none(tmp_path: Path) -> None:
    """Where two meters could be meant, neither is taken."""
    before = {"north/a.yaml": meter("FT-1"), "north/b.yaml": meter("FT-2")}
    after = {"south/c.yaml": meter("FT-8"), "south/d.yaml": meter("FT-9")}
    both, ones, others = paired(tmp_path, before, after)
    assert (both, len(ones), len(others)) == ([], 2, 2)


def test_meters_of_one_tag_stay_with_their_sensors(tmp_path: Path) -> None:
    """Of meters that share a tag, those of one sensor and file belong together."""
    before = {
        "north/a.yaml": meter("FT-1", "S-1"),
        "north/b.yaml": meter("FT-1", "S-2"),
        "north/c.yaml": meter("FT-1"),
        "north/d.yaml": f"{meter('FT-1')}---\n{meter('FT-1', bore='50 mm')}",
    }
    after = {
        "north/a.yaml": meter("FT-1", "S-2"),
        "north/b.yaml": meter("FT-1", "S-1"),
        "north/c.yaml": meter("FT-1", bore="99 mm"),
        "north/d.yaml": f"{meter('FT-1', bore='99 mm')}---\n{meter('FT-1')}",
    }
    both, ones, others = paired(tmp_path, before, after)
    files = [(a.rpartition("/")[2], b.rpartition("/")[2]) for a, b in both]
    assert files == [
        ("a.yaml", "b.yaml"),
        ("b.yaml", "a.yaml"),
        ("c.yaml", "c.yaml"),
        ("d.yaml", "d.yaml"),
        ("d.yaml", "d.yaml"),
    ]
    assert (ones, others) == ([], [])


def test_a_meter_of_a_list_has_its_own_values(tmp_path: Path) -> None:
    """Of a file of many meters, each has the values that stand in its own entry."""
    text = "meters:\n" + "".join(
        f"  - {{meter: {tag}, principle: vortex, odd: [1, {{a: x}}]}}\n"
        for tag in ("FT-1", "FT-2")
    )
    found = cards(tmp_path, {"north/a.yaml": text})
    values = {"principle": "vortex", "odd[0]": "1", "odd[1].a": "x"}
    assert [dict(each.values) for each in found] == [
        {"meter": "FT-1", **values},
        {"meter": "FT-2", **values},
    ]
    assert [
        Placed("north/a.yaml", number, each.laid) for number, each in enumerate(found)
    ]


@pytest.mark.parametrize("value", [None, {}, [], {"a": None}, {"a": {"b": []}}])
def test_what_is_empty_is_not_written(value: object) -> None:
    """A key without a value counts for nothing, as it does for the rules."""
    assert dict(values_below(value)) == {}
