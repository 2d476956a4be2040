"""Ratios of the full check to reading the same files by other means.

`python tests/benchmarks/benchmark.py [COUNT]` makes COUNT (5 000) meter files from
a sound one by varying its figures, some of them wrongly, and prints, as medians of
several rounds in one process:

- the full check over PyYAML's `CSafeLoader` merely loading the files;
- the full check with the values that would do, which are looked for finding by finding;
- the full check over a short script that loads with it and checks four things
  with pint, as one would write it by hand.

Times on a shared machine move; the ratios are taken round by round.
"""

from __future__ import annotations

import math
import random
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pint
import yaml

from configlint.check import check
from configlint.report import Report

ROUNDS = 3
WORKSPACE = {
    "configlint.yaml": "workspace: Benchmark\nsites: {plant: {folder: plant}}\n",
    "plant/site.yaml": "site: plant\nmains_frequency: 50 Hz\nunit_convention: SI\n",
}
TEMPLATE = (Path(__file__).parent / "meter.yaml").read_text(encoding="utf-8")


def main(count: int) -> None:
    """Make the files, time the three ways, print the ratios."""
    with tempfile.TemporaryDirectory() as folder:
        files = make_files(Path(folder), count)
        size = sum(file.stat().st_size for file in files) / count
        print(f"{count} files of {size:.0f} bytes on average, {ROUNDS} rounds")
        report = full_check(Path(folder))
        print(f"findings per file: {len(report.findings) / count:.2f}")
        ways: dict[str, Callable[[], object]] = {
            "check": lambda: full_check(Path(folder)),
            "proposals": lambda: full_check(Path(folder), advise=True),
            "load": lambda: load_all(files),
            "script": lambda: script(files),
        }
        times: dict[str, list[float]] = {name: [] for name in ways}
        for _ in range(ROUNDS):
            for name, way in ways.items():
                times[name].append(timed(way))
        for name, seconds in times.items():
            each = 1e6 * statistics.median(seconds) / count
            print(f"{name}: {each:.0f} microseconds a file")
        for other, goal in (("load", 0.8), ("script", 0.15)):
            pairs = zip(times["check"], times[other], strict=True)
            ratio = statistics.median(mine / theirs for mine, theirs in pairs)
            print(f"check / {other}: {ratio:.3f} (goal {goal})")


def full_check(folder: Path, advise: bool = False) -> Report:
    """Check all files of a folder, as of a day on which no certificate is too old."""
    return check([folder], run_date=date(2026, 1, 1), advise=advise)


def timed(way: Callable[[], object]) -> float:
    """Give the seconds that a call takes."""
    start = time.perf_counter()
    way()
    return time.perf_counter() - start


def make_files(folder: Path, count: int) -> list[Path]:
    """Write meter files that differ in size, range, pulse weight and serials."""
    chance = random.Random(20456)
    files = []
    for name, text in WORKSPACE.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    for number in range(count):
        file = folder / "plant" / f"FT-{number:05}.yaml"
        file.write_text(_meter(chance, number), encoding="utf-8")
        files.append(file)
    return files


def _meter(chance: random.Random, number: int) -> str:
    size = chance.choice((50, 80, 100, 150, 200, 250, 300, 400))
    area = 3.14159265 / 4 * (size / 1000) ** 2
    span = float(f"{chance.uniform(2, 4) * area * 3600:.3g}")
    factor = f"{chance.uniform(0.8, 1.3):.4f}"
    weight = next(w for w in (1, 2, 5, 10, 20, 50, 100, 200) if w > span / 3.6 / 5)
    receiver = span if chance.random() > 0.1 else float(f"{span / 3.6:.3g}")
    values = {
        "number": f"{number:05}",
        "size": str(size),
        "span": f"{span:g}",
        "receiver": f"{receiver:g}",
        "minimum": f"{span * 0.15:.3g}",
        "normal": f"{span * 0.5:.3g}",
        "maximum": f"{span * 0.8:.3g}",
        "cutoff": f"{span * 0.01:.2g}",
        "factor": factor,
        "current": f"{chance.uniform(0.1, 0.3):.4f}",
        "weight": str(weight),
        "straight": f"{size / 1000 * 12:.2f}",
        "behind": f"{size / 1000 * 6:.2f}",
    }
    text = TEMPLATE
    for name, value in values.items():
        text = text.replace(f"<{name}>", value)
    return text


def load_all(files: list[Path]) -> None:
    """Load every file with the C loader and look at nothing."""
    for file in files:
        yaml.load(file.read_bytes(), Loader=yaml.CSafeLoader)


def script(files: list[Path]) -> int:
    """Check four things of every file, as a short script with pint would.

    The velocity at the upper range value, the calibration factor, the pulse rate,
    and that all amounts of the file parse and the flows among them are flows.
    """
    units: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    wrong = 0
    for file in files:
        meter = yaml.load(file.read_bytes(), Loader=yaml.CSafeLoader)
        amounts = dict(amounts_in(units, meter, ""))
        span = amounts["current_output.upper_range_value"]
        velocity = span / (math.pi / 4 * amounts["sensor.bore"] ** 2)
        wrong += not 0.3 <= velocity.to("m/s").magnitude <= 10
        wrong += not 0.5 <= float(meter["transmitter"]["calibration_factor"]) <= 2
        rate = span / amounts["pulse_output.pulse_weight"]
        wrong += rate.to("Hz") > amounts["pulse_output.maximum_frequency"]
        flows = [amount for path, amount in amounts.items() if "range_value" in path]
        wrong += not all(flow.check("[volume]/[time]") for flow in flows)
    return wrong


def amounts_in(units: Any, section: dict[str, Any], path: str) -> Iterator[Any]:
    """Give every value of a file that begins with a number and has a unit."""
    for key, value in section.items():
        if isinstance(value, dict):
            yield from amounts_in(units, value, f"{path}{key}.")
        elif isinstance(value, str) and re.match(r"-?[0-9.]+ ", value):
            # pint writes cubic metres its own way.
            yield path + key, units(value.replace("m3", "m**3"))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
