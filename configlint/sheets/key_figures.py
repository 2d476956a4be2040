"""What a reader of a sheet looks for first: what is set at both ends, key figures.

Two lists say what that is. A meter that lacks one of them has a shorter list; a rule
set that lacks a quantity has no such figure.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from typing import NamedTuple

from configlint.sheets.worksheet_values import Ends, Entry

__all__ = ["ENDS", "KEY_FIGURES", "are_brief", "ends_of"]

STAMPED, SET = "stamped on the sensor", "set in the transmitter"
OUTPUT, RECEIVER = "set at the output", "set in the receiver"


class _Pair(NamedTuple):
    what: str
    here: str
    there: str
    words: tuple[str, str]


ENDS = (
    _Pair(
        "Calibration factor",
        "sensor.nameplate.calibration_factor",
        "transmitter.calibration_factor",
        (STAMPED, SET),
    ),
    _Pair(
        "K-factor",
        "sensor.nameplate.k_factor",
        "transmitter.k_factor",
        (STAMPED, SET),
    ),
    _Pair(
        "Excitation current",
        "sensor.nameplate.excitation_current",
        "transmitter.excitation_current",
        (STAMPED, SET),
    ),
    _Pair(
        "Nominal size",
        "sensor.nominal_size",
        "transmitter.nominal_size",
        ("of the sensor", SET),
    ),
    _Pair(
        "Lower range value",
        "current_output.lower_range_value",
        "receiver.analogue.lower_scale",
        (OUTPUT, RECEIVER),
    ),
    _Pair(
        "Upper range value",
        "current_output.upper_range_value",
        "receiver.analogue.upper_scale",
        (OUTPUT, RECEIVER),
    ),
    _Pair(
        "Pulse weight",
        "pulse_output.pulse_weight",
        "receiver.counter.pulse_weight",
        (OUTPUT, RECEIVER),
    ),
)
"""The settings that two devices must hold alike."""

KEY_FIGURES = (
    "velocity_at_span",
    "velocity_at_normal_flow",
    "velocity_at_minimum_flow",
    "current_chain_gain",
    "loop_resistance_available",
    "pulse_rate_at_span",
    "pulse_chain_gain",
    "totalizer_rollover_time",
    "counter_rollover_time",
)
"""The quantities that a sheet is summed up by, in their order."""


def ends_of(
    said: Callable[[str], str], is_unused: Callable[[str], bool]
) -> Iterator[Ends]:
    """Give the settings that two devices hold, where at least one says it.

    `said` gives a value as the sheet shows it, "" where it is not written; `is_unused`
    says whether its section is not used.
    """
    for pair in ENDS:
        paths = (pair.here, pair.there)
        if any(map(said, paths)):
            first, second = (
                said(path) or ("not used" if is_unused(path) else "not written")
                for path in paths
            )
            yield Ends(pair.what, pair.here, first, pair.there, second, pair.words)


def are_brief(
    entries: Iterable[Entry], below: Mapping[str, Container[str]]
) -> frozenset[str]:
    """Name the quantities that a sheet can tell in short.

    They conform by far, what is computed from them does too, and no key figure is among
    them. `below` gives, by quantity, the names that its formula reads.
    """
    told: set[str] = set()
    brief: set[str] = set()
    for entry in reversed(tuple(entries)):
        is_read = any(entry.name in below[name] for name in told)
        if is_read or entry.name in KEY_FIGURES or not entry.is_far:
            told.add(entry.name)
        else:
            brief.add(entry.name)
    return frozenset(brief)
