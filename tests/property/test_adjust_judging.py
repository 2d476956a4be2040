"""The law of a change judged quickly: it comes to what judging all files in full does.

Meters share tags, serials, addresses and files here; some files are faulty, and some
findings are conceded.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from configlint.check import check_sources
from configlint.findings import Finding
from configlint.report import Report
from configlint.review.adjust import Adjustment, Asked, adjust
from configlint.workspace import Sources, find_sources
from tests.adjusting import FILES, sound, write

DAY = date(2026, 1, 31)
TAGS = ("FT-1", "FT-2", "FT-3", "FT-4")
# Most meters can be read whole, so that most are looked over and not judged.
SHOWN = ("true", "true", "true", "false", "perhaps")
CONCESSION = """\
concessions:
- rule: sensor-serial-unique
  meter: FT-1
  reason: Both plates are read again
  granted_by: Iris Invented
  granted_on: 2026-01-01
  expires_on: 2026-03-01
- rule: calibration-factor-agrees
  meter: FT-*
  site: North
  while: {transmitter.calibration_factor: "1.0324"}
  reason: The plate was read wrongly
  granted_by: Iris Invented
  granted_on: 2026-01-01
  expires_on: 2026-03-01
"""
OWN = {
    "tag": st.sampled_from(TAGS),
    "sensor.serial": st.sampled_from(["S-1", "S-2", "S-3"]),
    "receiver.bus.address": st.sampled_from(["1", "2", "3"]),
    "transmitter.calibration_factor": st.sampled_from(["1.0234", "1.0324"]),
    "transmitter.display.shows_total": st.sampled_from(SHOWN),
}
METERS = st.fixed_dictionaries(OWN)
# Two meters of one tag and one fault: the finding of one is numbered by the other's.
ALIKE = {
    "tag": "FT-1",
    "sensor.serial": "S-1",
    "receiver.bus.address": "1",
    "transmitter.calibration_factor": "1.0324",
    "transmitter.display.shows_total": "true",
}
CHANGES = (
    *("sensor.serial=S-1", "sensor.serial=S-2", "receiver.bus.address=1"),
    *("receiver.bus.address=3", "transmitter.calibration_factor=1.0234"),
    *("transmitter.calibration_factor=1.9", "transmitter.low_flow_cutoff=0 m3/h"),
    *("receiver.bus.name=two", "sensor.calibration.certificate=C-FT-2"),
    *("transmitter.display.shows_total=true", "transmitter.serial=T-FT-2"),
)
FAULTY = ("", "", "", "meter: FT-1\nprincipal: magic\n", "meter: [FT-1\n", "\x00")


def meter(made: dict[str, str]) -> dict[str, object]:
    """Make the sound meter with some values of its own."""
    content = yaml.load(sound(made["tag"]), yaml.BaseLoader)
    assert isinstance(content, dict)
    for path, value in made.items():
        *way, last = path.split(".")
        section = content
        for step in way:
            section = section.setdefault(step, {})
        if path != "tag":
            section[last] = value
    return content


def lay_down(folder: Path, meters: Sequence[dict[str, str]], faulty: str) -> None:
    """Write the first meter and the others, in files of one meter and of two."""
    first, second, *rest = map(meter, meters)
    write(folder, FILES)
    write(folder, {"north/b.yaml": yaml.safe_dump(first, sort_keys=False)})
    write(folder, {"north/a.yaml": yaml.safe_dump(second, sort_keys=False)})
    write(folder, {"south/c.yaml": yaml.safe_dump({"meters": rest}, sort_keys=False)})
    if faulty:
        write(folder, {"north/faulty.yaml": faulty})


def judged(sources: Sources) -> Report:
    """Judge all files in full, with advice."""
    return check_sources(sources, run_date=DAY)


def in_full(folder: Path, adjustment: Adjustment) -> list[list[Finding]]:
    """Tell what is gone, new and remaining by judging all files twice."""
    sources = find_sources([folder])
    (edited,) = adjustment.files
    changed = tuple(
        each._replace(data=edited.after) if each.file == edited.source.file else each
        for each in sources.files
    )
    before = by_fingerprint(judged(sources).open_findings)
    after = by_fingerprint(judged(Sources(changed, ())).open_findings)
    return [
        [each for key, each in before.items() if key not in after],
        [each for key, each in after.items() if key not in before],
        [
            each
            for key, each in after.items()
            if key in before and each.place.file == edited.source.file
        ],
    ]


def by_fingerprint(findings: Iterable[Finding]) -> dict[str, Finding]:
    """Give findings by their fingerprints."""
    return {each.fingerprint: each for each in findings}


@settings(max_examples=15)
@given(
    st.lists(METERS, min_size=3, max_size=4),
    st.sampled_from(CHANGES),
    st.sampled_from(FAULTY),
    st.sampled_from((False, False, True)),
)
@example([ALIKE] * 3, "transmitter.calibration_factor=1.0234", "", False)
def test_a_change_comes_to_what_judging_all_in_full_does(
    meters: list[dict[str, str]], change: str, faulty: str, conceded: bool
) -> None:
    """Gone, new and remaining are the same findings, to the last word and number."""
    with TemporaryDirectory() as name, pytest.MonkeyPatch.context() as patch:
        folder = Path(name)
        patch.chdir(folder)
        lay_down(folder, meters, faulty)
        if conceded:
            write(folder, {"concessions.yaml": CONCESSION})
        adjustment = adjust([Path("north/b.yaml")], Asked((change,)), run_date=DAY)
        told = [adjustment.gone, adjustment.new, adjustment.remaining]
        assert [list(each) for each in told] == in_full(Path(), adjustment)
