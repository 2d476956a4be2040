"""What a calculation sheet is headed with, as plain dicts of JSON."""

from __future__ import annotations

from pydantic import with_config
from typing_extensions import TypedDict

from configlint.outputs.json import CLOSED
from configlint.sheets.identity import Identity
from configlint.sheets.worksheet_values import Ends

__all__ = ["EndsObject", "IdentityObject", "ends_object", "identity_object"]


@with_config(CLOSED)
class FactorObject(TypedDict):
    """A figure that is stamped on the sensor."""

    means: str
    """What it is."""
    written: str
    """The figure, with every digit stamped."""


@with_config(CLOSED)
class IdentityObject(TypedDict):
    """What identifies the meter and its record; empty for what is not written."""

    principle: str
    """How it measures."""
    type_sheet: str
    """Name of the device's type sheet."""
    nominal_size: str
    """Nominal size of the sensor."""
    sensor_serial: str
    """Serial number of the sensor."""
    transmitter_serial: str
    """Serial number of the transmitter."""
    certificate: str
    """Number of the calibration certificate."""
    calibrated_on: str
    """Day of the calibration."""
    stamped_factors: list[FactorObject]
    """The factors stamped on the sensor."""
    as_left_by: str
    """Who left the settings as they are."""
    as_left_on: str
    """Day the settings were left."""
    approved_by: str
    """Who approved the settings."""
    revision: str
    """Revision of the meter's record."""
    file_sha256: str
    """SHA-256 of the bytes of the meter's file, in hexadecimal digits."""


@with_config(CLOSED)
class EndObject(TypedDict):
    """What one of two devices holds."""

    path: str
    """Path of the setting."""
    shown: str
    """The value in the units of the sheet, or that it is not written, or not used."""


@with_config(CLOSED)
class EndsObject(TypedDict):
    """A setting that two devices must hold alike."""

    means: str
    """What it is."""
    ends: list[EndObject]
    """What each of the two has."""


def identity_object(identity: Identity) -> IdentityObject:
    """Give what identifies a meter as a plain dict, in the order of the schema."""
    return {
        "principle": identity.principle,
        "type_sheet": identity.type_sheet,
        "nominal_size": identity.nominal_size,
        "sensor_serial": identity.sensor_serial,
        "transmitter_serial": identity.transmitter_serial,
        "certificate": identity.certificate,
        "calibrated_on": identity.calibrated_on,
        "stamped_factors": [
            {"means": means, "written": written}
            for means, written in identity.factors.items()
        ],
        "as_left_by": identity.as_left_by,
        "as_left_on": identity.as_left_on,
        "approved_by": identity.approved_by,
        "revision": identity.revision,
        "file_sha256": identity.digest,
    }


def ends_object(ends: Ends) -> EndsObject:
    """Give a setting of two devices as a plain dict, in the order of the schema."""
    told = ((ends.here, ends.first), (ends.there, ends.second))
    return {
        "means": ends.what,
        "ends": [{"path": path, "shown": shown} for path, shown in told],
    }
