"""Laws of the advice on the example plant: each value proposed settles its finding."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from configlint.bench import Bench, Laid
from configlint.check import check
from configlint.engine import derive
from configlint.findings import Finding
from configlint.workspace import Source, find_sources

AS_OF = date(2026, 11, 25)
FEWEST_ADVISED = 60
FEWEST_COPIED = 15
RECORDS = ("calibration-factor-present", "k-factor-present")


@pytest.fixture(scope="module")
def plant(root: Path) -> dict[str, tuple[Bench, Source]]:
    """Give every file of the plant by its name, with the bench of its workspace."""
    sources = find_sources([root / "examples"])
    benches = {each: Bench(each, AS_OF) for each in sources.workspaces}
    return {each.file: (benches[each.workspace], each) for each in sources.files}


@pytest.fixture(scope="module")
def advised(root: Path) -> list[Finding]:
    """Give the findings of the plant that propose a value."""
    report = check([root / "examples"], run_date=AS_OF)
    return [each for each in report.findings if each.advice]


def laid_out(bench: Bench, source: Source, tag: str) -> Iterator[Laid]:
    """Lay out the meters of a file that have a tag."""
    return (each for each in bench.lay_out(source) if each.subject.meter == tag)


def broken(laid: Laid) -> set[str]:
    """Name the rules that a meter does not meet."""
    return {each.id for each in laid.judge.not_met(derive(laid.book, laid.facts))}


def changed(source: Source, tag: str, changes: Mapping[str, str]) -> Source:
    """Write some values into the meters of a file that have a tag."""
    documents = list(yaml.load_all(source.path.read_bytes(), yaml.BaseLoader))
    for document in documents:
        for meter in document.get("meters", [document]):
            if meter["meter"] == tag:
                for path, text in changes.items():
                    write(meter, path, text)
    data = yaml.safe_dump_all(documents, sort_keys=False).encode()
    return source._replace(data=data)


def write(meter: dict[str, Any], path: str, text: str) -> None:
    """Write the text of one value into the sections of a meter."""
    *way, last = path.split(".")
    for step in way:
        meter = meter.setdefault(step, {})
    meter[last] = text


def test_every_value_proposed_settles_its_finding(
    plant: dict[str, tuple[Bench, Source]], advised: list[Finding]
) -> None:
    """With a change written into the file its rule is met, and no other is broken."""
    assert len(advised) >= FEWEST_ADVISED
    for finding in advised:
        tag = finding.subject.meter
        bench, source = plant[finding.place.file]
        before = [broken(each) for each in laid_out(bench, source, tag)]
        for advice in finding.advice:
            after = changed(source, tag, dict(advice.changes))
            others = [broken(each) for each in laid_out(bench, after, tag)]
            assert any(
                finding.rule in first and second <= first - {finding.rule}
                for first, second in zip(before, others, strict=True)
            ), (tag, finding.rule, advice)


def test_only_what_can_be_chosen_is_proposed(
    plant: dict[str, tuple[Bench, Source]], advised: list[Finding]
) -> None:
    """No nameplate figure, certificate, size of a sensor or flow of a process is."""
    for finding in advised:
        bench, _ = plant[finding.place.file]
        for advice in finding.advice:
            for setting, _ in advice.changes:
                assert bench.book.settings[setting].adjustable


def test_the_reports_tell_the_value(root: Path, environment: dict[str, str]) -> None:
    """The text says what to enter, and the JSON report gives number and unit."""
    file = "examples/water/sites/north/FT-1202.yaml"

    def report(form: str) -> str:
        command = (sys.executable, "-m", "configlint", "check", file, "--report", form)
        done = subprocess.run(
            command, cwd=root, env=environment, capture_output=True, check=False
        )
        return done.stdout.decode()

    words = " ".join(report("text").split())
    sent, taken = "current_output.upper_range_value", "receiver.analogue.upper_scale"
    assert (
        f"Value: if {sent} is right, {taken} 450 m3/h; if {taken} is right, {sent} 500 "
        "m3/h."
    ) in words
    (finding,) = (
        each
        for each in json.loads(report("json"))["findings"]
        if each["rule"] == "receiver-scale-agrees"
    )
    first, second = finding["advice"]
    assert first["changes"] == [{"setting": taken, "value": 450.0, "unit": "m3/h"}]
    assert second["changes"] == [{"setting": sent, "value": 500.0, "unit": "m3/h"}]
    assert (first["if_right"], second["if_right"]) == (sent, taken)
    assert first["kind"] == second["kind"] == "as its counterpart"


def test_what_disagrees_is_proposed_as_it_is_written(advised: list[Finding]) -> None:
    """Each such value is the text of its counterpart, or the reason is its kind."""
    copied = {
        (finding.subject.meter, change.setting): change.value
        for finding in advised
        for each in finding.advice
        if each.kind == "as its counterpart"
        for change in each.changes
    }
    scale = "receiver.analogue.upper_scale"
    assert copied["FIT-5104", scale] == "80 US_gal/min"
    assert copied["FIT-5302", "transmitter.k_factor"] == "12.07 pulses/US_gal"
    assert copied["FIT-5202", "transmitter.excitation_current"] == "0.1496 A"
    # Its range is shown as a velocity, which no receiver is scaled in.
    assert ("FIT-6103", scale) not in copied
    assert len(copied) >= FEWEST_COPIED


def test_no_value_is_proposed_where_a_record_is_missing(root: Path) -> None:
    """What is to be read off two places is not copied from one to the other."""
    report = check([root / "examples"], run_date=AS_OF)
    missing = [each for each in report.findings if each.rule in RECORDS]
    assert missing
    assert not any(each.advice for each in missing)
