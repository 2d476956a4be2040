"""Which meter a sheet is of: what ties a signed paper to a device and to a file.

A sheet that names a tag alone would do for any device that bears it. Serial numbers
and the certificate name the device, the digest names the bytes that were computed from.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import NamedTuple

from configlint.judged import Laid, read_source
from configlint.sheets.shown import print_amount
from configlint.units import Quantity

__all__ = ["Identity", "identity_of"]

FACTORS = ("sensor.nameplate.calibration_factor", "sensor.nameplate.k_factor")
"""The figures that a sensor can be stamped with."""


class Identity(NamedTuple):
    """What identifies a meter and its record, each as written, "" where it is not.

    `factors` are the figures stamped on the sensor, by their meaning. `digest` is the
    SHA-256 of all bytes of the meter's file, in 64 hexadecimal digits.
    """

    principle: str
    type_sheet: str
    nominal_size: str
    sensor_serial: str
    transmitter_serial: str
    certificate: str
    calibrated_on: str
    factors: Mapping[str, str]
    as_left_by: str
    as_left_on: str
    approved_by: str
    revision: str
    digest: str


def identity_of(laid: Laid) -> Identity:
    """Read off a meter's file what identifies the meter.

    Raises OSError where the file is not there any more.
    """
    written = laid.facts.written

    def said(path: str) -> str:
        return str(written.get(path, ""))

    return Identity(
        said("principle"),
        said("type_sheet"),
        said("sensor.nominal_size"),
        said("sensor.serial"),
        said("transmitter.serial"),
        said("sensor.calibration.certificate"),
        said("sensor.calibration.date"),
        _factors(laid),
        said("records.as_left_by"),
        said("records.as_left_on"),
        said("records.approved_by"),
        said("records.revision"),
        hashlib.sha256(read_source(laid.source)).hexdigest(),
    )


def _factors(laid: Laid) -> Mapping[str, str]:
    """Give the stamped figures that a meter of this principle can have."""
    found = {}
    for path in FACTORS:
        written = laid.facts.written.get(path)
        if isinstance(written, Quantity):
            found[laid.book.inputs[path].means] = print_amount(written)
    return found
