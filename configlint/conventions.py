"""What a unit is called in another system of units, for people who think in that.

A figure that rules compute or limit in SI units is told to a US site in both, the
figure of the rule first, so that nobody has to convert, and nobody wonders whether
somebody has.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["convention_of", "counterpart"]

LENGTHS = {"mm": "in", "cm": "in", "m": "ft", "m2": "ft2", "m/s": "ft/s"}
OTHERS = {"degC": "degF", "bar": "psi", "kPa": "psi"}
GALLONS = {
    "l": "gal",
    "m3": "gal",
    "l/s": "gal/min",
    "l/min": "gal/min",
    "m3/h": "gal/min",
    "m3/d": "gal/d",
}

COUNTERPARTS: Mapping[str, Mapping[str, str]] = {
    system: {
        **LENGTHS,
        **OTHERS,
        **{metric: f"{prefix}_{gallon}" for metric, gallon in GALLONS.items()},
        "pulses/l": f"pulses/{prefix}_gal",
    }
    for system, prefix in (("US", "US"), ("imperial", "imp"))
}


def counterpart(spelling: str, system: str) -> str:
    """Name the unit of US or imperial use that stands for one of the SI, "" for none.

    >>> counterpart("m3/h", "US"), counterpart("mm", "imperial"), counterpart("Hz", "")
    ('US_gal/min', 'in', '')
    """
    return COUNTERPARTS.get(system, {}).get(spelling, "")


def convention_of(values: Mapping[str, Any]) -> str:
    """Give the system of a meter's people: the site's, else the one its file is in.

    >>> convention_of({"notation.unit_systems": ("US",)})
    'US'
    """
    kept = values.get("site.unit_convention")
    written = values.get("notation.unit_systems", ())
    if isinstance(kept, str):
        return kept
    return written[0] if len(written) == 1 else "SI"
