"""Laws of the whole flow on random input: nothing raises, all is reported, and known.

What is found in a file is told in a report of the published schema, whatever the file
holds; and what is found is known again whatever the order of its keys.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from configlint.bench import Bench
from configlint.findings import in_order
from configlint.ledger import Ledger
from configlint.outputs import FORMATS
from configlint.report import Report
from configlint.sites import NO_WORKSPACE
from configlint.workspace import Source
from tests.builders import validator_of
from tests.sound_meters import meter_text, sound_values

METER = sound_values()
TEXT = meter_text()

# What people put into such a file, by slip or by intent.
PIECES = (
    *("\t", ":", ": ", "- ", "\n", "  ", "#", "'", '"', "[", "]", "{", "}", ",", "|"),
    *("&a", "*a", "<<: *a\n", "!!str ", "---\n", "...\n", "%YAML 1.1\n", "? ", "> "),
    *("0", "-1", "1e15", "1e-30", "nan", ".inf", "0x1f", "1_000", "12:30", "~", "yes"),
    *("not used", " m3/h", " mm", " gal", " kg/h", " m/s", " %", "DN 80", "2026-02-30"),
    *("\x1b[31m", "\u202e", "\u2028", "\x00", "µ", "meters:\n", "- meter: FT-9\n"),
)


@cache
def loaded_bench() -> Bench:
    """Give a bench of the standard rules, which are loaded once."""
    return Bench(NO_WORKSPACE)


def report_on(data: bytes) -> Report:
    """Check one file by the standard rules and give the report."""
    bench = copy.copy(loaded_bench())
    bench.ledger, bench.cards, bench.findings = Ledger(bench.book), [], []
    with TemporaryDirectory() as folder:
        file = Path(folder) / "m.yaml"
        file.write_bytes(data)
        bench.take(Source("m.yaml", file, NO_WORKSPACE, None))
        results, findings = bench.close()
    return Report(bench.editions, tuple(results), in_order(findings), 1)


def hold_to_laws(data: bytes) -> Report:
    """Check a file, and hold the report to what every report must be."""
    report = report_on(data)
    text = FORMATS["text"](report, "B")
    assert text.replace("\n", "").isprintable()
    written = FORMATS["json"](report, "B")
    assert written.replace("\n", "").isprintable()
    content = json.loads(written)
    assert list(validator_of("findings").iter_errors(content)) == []
    found = content["findings"]
    assert len({each["fingerprint"] for each in found}) == len(found)
    places = [(each["file"], each["line"], each["rule"]) for each in found]
    assert places == sorted(places)
    # What is not judged is told: a file without a meter has a finding.
    assert found or content["meters"]
    for each in found:
        assert each["message"]
        assert each["remedy"]
    return report


@given(st.binary(max_size=400))
def test_no_bytes_stop_a_run(data: bytes) -> None:
    """Whatever bytes a file holds, the run gives a whole report of it."""
    hold_to_laws(data)


@given(st.lists(st.sampled_from(PIECES) | st.text(max_size=5), max_size=30))
def test_no_text_of_such_files_stops_a_run(pieces: list[str]) -> None:
    """Whatever is made of what such files hold, the run gives a whole report of it."""
    hold_to_laws("".join(pieces).encode("utf-8", "surrogatepass"))


EDITS = st.lists(
    st.tuples(
        st.integers(0, len(TEXT)),
        st.integers(0, 12),
        st.sampled_from(PIECES) | st.text(max_size=3),
    ),
    min_size=1,
    max_size=6,
)


@given(EDITS)
def test_no_edit_of_a_sound_meter_stops_a_run(
    edits: list[tuple[int, int, str]],
) -> None:
    """A sound file with any parts deleted and written anew gives a whole report."""
    text = TEXT
    for at, deleted, written in edits:
        text = text[:at] + written + text[at + deleted :]
    hold_to_laws(text.encode("utf-8", "surrogatepass"))


PATHS = [
    (name, key)
    for name, section in METER.items()
    if isinstance(section, dict)
    for key in section
]
VALUES = st.sampled_from(
    (
        *("0 m3/h", "1e15 m3/h", "-5 m3/h", "2 m/s", "7 kg/h", "5 gal/min", "3 %"),
        *("1e-30 l", "10 US_gal", "0 s", "1e9 s", "not used", "true", "0.1", "1e15"),
        *("DN 9999", "NPS 1/2", "reverse", "0 mA", "100 A", "0 mm", "400 degC", ""),
    )
)


@given(st.dictionaries(st.sampled_from(PATHS), VALUES | st.none(), max_size=8))
def test_no_values_stop_a_run(changes: dict[tuple[str, str], str | None]) -> None:
    """A meter of any values, however odd, is judged or told what is wrong with them."""
    meter = copy.deepcopy(dict(METER))
    for (name, key), value in changes.items():
        if value is None:
            del meter[name][key]
        else:
            meter[name][key] = value
    report = hold_to_laws(yaml.safe_dump(meter, sort_keys=False).encode())
    assert [each.subject.meter for each in report.meters] == [METER["meter"]]


def leaves(value: object, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Give the path of every value in a meter."""
    if isinstance(value, dict):
        for key, each in value.items():
            yield from leaves(each, (*path, key))
    else:
        yield path


def meter_with(path: tuple[str, ...], value: object) -> bytes:
    """Write the sound meter with another value at a path."""
    meter = copy.deepcopy(dict(METER))
    section = meter
    for step in path[:-1]:
        section = section[step]
    section[path[-1]] = value
    return yaml.safe_dump(meter, sort_keys=False).encode()


LEAVES = [path for path in leaves(METER) if path not in (("meter",), ("principle",))]


@pytest.mark.parametrize("wrong", ["\N{REPLACEMENT CHARACTER}", ["a"], {"a": "b"}])
def test_what_is_unreadable_breaks_no_other_rule(wrong: object) -> None:
    """An unreadable value is told as such, and no rule takes it for a wrong one."""
    reading = loaded_bench().book.reading_rules
    for path in LEAVES:
        report = hold_to_laws(meter_with(path, wrong))
        others = [each.rule for each in report.findings if each.rule not in reading]
        assert others == [], path


def shuffled(value: object, draw: st.DrawFn) -> object:
    """Give a value with the keys of all its sections in another order."""
    if not isinstance(value, dict):
        return value
    order = draw(st.permutations(list(value)))
    return {key: shuffled(value[key], draw) for key in order}


# Wrong in many ways: values of wrong kinds, unknown keys, ends that do not agree.
WRONG = {
    **METER,
    "servise": "water",
    "sensor": {**METER["sensor"], "bore": "wide", "lining": None, "colour": "blue"},
    "transmitter": {
        **METER["transmitter"],
        "calibration_factor": "1.0324",
        "nominal_size": "DN 200",
        "low_flow_cutoff": "5 gal/min",
    },
    "current_output": {"upper_range_value": "900 m3/h", "lower_range_value": "0 l/s"},
}


@st.composite
def reordered(draw: st.DrawFn) -> object:
    """Draw the wrong meter with its keys in any order."""
    return shuffled(WRONG, draw)


@settings(max_examples=25)
@given(reordered())
def test_the_order_of_keys_changes_no_fingerprint(meter: object) -> None:
    """However the keys are ordered, the same findings are found and known again."""
    known, found = (
        {
            (each.fingerprint, each.rule, each.message, each.pointer)
            for each in hold_to_laws(
                yaml.safe_dump(value, sort_keys=False).encode()
            ).findings
        }
        for value in (WRONG, meter)
    )
    assert len(known) > 5
    assert found == known
