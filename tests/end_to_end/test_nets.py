"""Laws of faults that hide one another, through the real command.

FT-2213 of the example plant has a wrong size in the transmitter, and a receiver that
was bent to it: it reads nearly right, until one of the two is corrected.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.commanding import Run, command_in

METER = "sites/ridge/FT-2213.yaml"
SIZE = ("  nominal_size: DN 200\n", "  nominal_size: DN 250\n")
SCALE = ("upper_scale: 700 m3/h", "upper_scale: 450 m3/h")
PULSES = re.compile(r"pulse_output:\n(?:  .*\n)+")
CHAIN = "chain-gain-is-one"


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a folder of its own."""
    return command_in(tmp_path, environment)


@pytest.fixture
def meter(root: Path) -> str:
    """Give the meter's file, with the current alone in use."""
    text = (root / "examples" / "water" / METER).read_text("utf-8")
    return PULSES.sub("pulse_output: not used\n", text)


def check(run: Run, folder: Path, text: str) -> tuple[dict[str, Any], str]:
    """Check a meter's file; give the report in JSON and what is printed."""
    (folder / "FT-2213.yaml").write_text(text, "utf-8")
    done = run("check", "FT-2213.yaml", "--report", "text", "--report", "json=a.json")
    assert done.stderr == "The json report is in a.json.\n"
    return json.loads((folder / "a.json").read_text("utf-8")), plain(done.stdout)


def plain(text: str) -> str:
    """Give a text without its lines."""
    return " ".join(text.split())


def costs(report: dict[str, Any]) -> list[float]:
    """Give the errors of the readings that a report sums up."""
    return [round(each["reading_error"], 6) for each in report["summary"]["costs"]]


def effects(report: dict[str, Any]) -> dict[str, Any]:
    """Give the effects of a report by their rules."""
    found = report["findings"]
    return {each["rule"]: each["effect"] for each in found if each["effect"]}


def test_what_hides_is_told_before_it_is_corrected(
    run: Run, tmp_path: Path, meter: str
) -> None:
    """Both stages are shares of one small net, and the words warn of correcting one."""
    report, printed = check(run, tmp_path, meter)
    found = effects(report)
    assert {name: each["alone"] for name, each in found.items()} == {
        CHAIN: False,
        "receiver-scale-agrees": True,
        "size-agrees": True,
    }
    assert costs(report) == [-0.004444]
    assert "Taken alone, the meter reads 36 % low: 108 m3/h too little" in printed
    assert (
        "Together with receiver-scale-agrees, the receiver reads 0.444 % low" in printed
    )
    assert (
        "Correct all of these together: receiver-scale-agrees, size-agrees. Correcting "
        "one alone can make the reading worse." in printed
    )
    gains = [1 + found[each]["reading_error"] for each in found if each != CHAIN]
    net = found[CHAIN]["reading_error"]
    assert gains[0] * gains[1] - 1 == pytest.approx(net, abs=1e-9)


@pytest.mark.parametrize(
    ("corrected", "left", "words"),
    [
        (SIZE, 0.555556, "The receiver reads 55.6 % high: 167 m3/h too much"),
        (SCALE, -0.36, "The meter reads 36 % low: 108 m3/h too little"),
    ],
)
def test_one_corrected_alone_leaves_the_other_as_it_is(
    run: Run,
    tmp_path: Path,
    meter: str,
    corrected: tuple[str, str],
    left: float,
    words: str,
) -> None:
    """What was hidden is the whole error then, and is told without any warning."""
    assert meter.count(corrected[0]) == 1
    report, printed = check(run, tmp_path, meter.replace(*corrected))
    assert costs(report) == [left]
    assert f"Effect: {words}" in printed
    assert "Taken alone" not in printed
    assert "Correcting one alone" not in printed


def test_both_corrected_leave_nothing(run: Run, tmp_path: Path, meter: str) -> None:
    """Where all are corrected in one job, no effect and no net is left."""
    report, _ = check(run, tmp_path, meter.replace(*SIZE).replace(*SCALE))
    assert (costs(report), effects(report)) == ([], {})


def test_a_net_that_lacks_an_input_is_said_not_to_be_known(
    run: Run, tmp_path: Path, meter: str
) -> None:
    """Two stages that are wrong and a third that is not written give no net."""
    changed = meter.replace(
        "calibration_factor: 1.0332\n", "calibration_factor: 2.0\n", 1
    )
    changed = re.sub(
        r"(transmitter:\n(?:  .*\n)*?)  nominal_size: .*\n", r"\1", changed
    )
    report, printed = check(run, tmp_path, changed)
    assert set(effects(report)) == {
        "calibration-factor-agrees",
        "receiver-scale-agrees",
    }
    assert (
        "Together with receiver-scale-agrees, the net of the receiver is not known: "
        "lacks transmitter.nominal_size." in printed
    )


LOST = (
    ("  pulse_weight: 20 l\n    maximum", "  pulse_weight: 24 l\n    maximum"),
    ("maximum_frequency: 100 Hz", "maximum_frequency: 3 Hz"),
    ("normal: 300 m3/h", "normal: 270 m3/h"),
    ("  nominal_size: DN 200\n", "  nominal_size: DN 250\n"),
    ("upper_scale: 700 m3/h", "upper_scale: 450 m3/h"),
)


def test_lost_pulses_rank_by_what_the_counter_makes_of_them(
    run: Run, root: Path, tmp_path: Path
) -> None:
    """An output that loses 20 % and a counter that adds 20 % cost 4 %, told once."""
    text = (root / "examples" / "water" / METER).read_text("utf-8")
    for old, new in LOST:
        assert text.count(old) == 1
        text = text.replace(old, new)
    report, printed = check(run, tmp_path, text)
    assert set(effects(report)) == {"pulse-rate-within-output", "pulse-weight-agrees"}
    assert costs(report) == [-0.04]
    assert "Together with pulse-weight-agrees, the receiver's total reads" in printed
    assert (
        "Correct all of these together: pulse-rate-within-output, pulse-weight-agrees."
        in printed
    )


@pytest.mark.parametrize("name", ["markdown", "csv", "sarif", "github", "ndjson"])
def test_every_report_says_that_a_share_is_taken_alone(
    run: Run, tmp_path: Path, meter: str, name: str
) -> None:
    """The words are the same in each format, the net and the warning with them."""
    (tmp_path / "FT-2213.yaml").write_text(meter, "utf-8")
    done = run("check", "FT-2213.yaml", "--report", name)
    words = (
        ("Correct all of these together",)
        if name == "ndjson"
        else ("Taken alone, the", "Together with size-agrees", "Correct all of these")
    )
    for each in words:
        assert each in done.stdout
