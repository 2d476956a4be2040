"""The sound meter that all proofs start from, as tests change it and write it."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from functools import cache
from typing import Any
from zlib import crc32

import yaml

from configlint.data import data_folder

__all__ = ["meter_text", "other_meter", "sound_values"]


@cache
def sound_values() -> Mapping[str, Any]:
    """Give the meter that all proofs start from, with which nothing is wrong."""
    text = (data_folder("rules") / "sound" / "separate.yaml").read_text("utf-8")
    values: dict[str, Any] = yaml.load(text, yaml.BaseLoader)["meter"]
    return values


def meter_text(changes: Mapping[str, Any] | None = None, tag: str = "FT-2104") -> str:
    """Write a sound meter with some values changed by their paths, None for none."""
    values = deepcopy(dict(sound_values()))
    for path, value in {"meter": tag, **(changes or {})}.items():
        *way, last = path.split(".")
        part = values
        for step in way:
            part = part.setdefault(step, {})
        if value is None:
            part.pop(last)
        else:
            part[last] = value
    return yaml.safe_dump(values, sort_keys=False, allow_unicode=True)


def other_meter(tag: str, **changes: str) -> str:
    """Write a sound meter that shares no number with another one."""
    own = {"sensor.serial": f"S-{tag}", "transmitter.serial": f"T-{tag}"}
    own["sensor.calibration.certificate"] = f"C-{tag}"
    factor = f"1.{crc32(tag.encode()) % 1000:03}4"
    own["sensor.nameplate.calibration_factor"] = factor
    own["transmitter.calibration_factor"] = factor
    return meter_text({**own, **changes}, tag)
