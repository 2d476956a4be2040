"""What a change of a file can't do by itself: where each value has to be seen to.

A file is a record. What stands in it was set in a device, stamped on one, or read off
the plant, and there it has to be changed, or looked at again, too.
"""

from __future__ import annotations

from configlint.meters import Meter

__all__ = ["CAUTIONS", "notes_on"]

CAUTIONS = (
    "The file is not the meter: set the device as well, and read it back. Change both "
    "ends, transmitter and receiver, with the alarm limits that rest on them, in one "
    "job. Before that: loop in manual and agreed with the operator, the permit where a "
    "trip, an interlock or dosing depends on it, totals and as-found values noted. A "
    "sealed meter, or one for billing or a discharge permit, is not changed on the "
    "strength of a finding: tell the metering authority."
)

_SOLD_BY = "custody transfer"
_SEALED = (
    "The meter is used for custody transfer: its settings may be sealed or fixed by "
    "law, so tell the metering authority before anything else."
)
_TRANSMITTER = "A setting of the transmitter: enter it there too, and read it back."
_RECEIVER = "A setting of the receiver: enter it there too, and read it back."
_FACT = "A fact of the plant, which no entry changes: look at it there again."
_DEVICE = "A property of the device: read its plate or data sheet again."
_BUS = "From the list of the bus: look there again, and set the device as well."
_STAMPED = "Stamped on the sensor: read it there again."

# The longest path that begins a value's own is the one that counts.
_WORDS = {
    "sensor": _DEVICE,
    "sensor.serial": _STAMPED,
    "sensor.nominal_size": _STAMPED,
    "sensor.nameplate": _STAMPED,
    "sensor.calibration": "From the calibration certificate: read it there again.",
    "transmitter": _TRANSMITTER,
    "transmitter.serial": "Stamped on the transmitter: read it there again.",
    "transmitter.zero_set_on": "Only who set the zero can say the day: ask there.",
    "transmitter.flow_at_standstill": "Read it off the transmitter again.",
    "transmitter.measured_density": "Read it off the transmitter again.",
    "current_output": _TRANSMITTER,
    "current_output.loop_resistance": _FACT,
    "current_output.supply_voltage": _FACT,
    "pulse_output": _TRANSMITTER,
    "pulse_output.maximum_frequency": _DEVICE,
    "pulse_output.scaled": "Look in the transmitter whether its pulses are scaled.",
    "totalizer": _TRANSMITTER,
    "totalizer.digits": _DEVICE,
    "receiver": _RECEIVER,
    "receiver.analogue.bits": _DEVICE,
    "receiver.bus": _BUS,
    "receiver.counter.digits": _DEVICE,
    "receiver.counter.maximum_frequency": _DEVICE,
    "receiver.counter.minimum_pulse_width": _DEVICE,
    "receiver.name": _FACT,
    "receiver.use": _FACT,
    "process": _FACT,
    "installation": _FACT,
    "wiring": _FACT,
    "principle": _DEVICE,
    "construction": _FACT,
    "type_sheet": _DEVICE,
    "records": "Only who left or approved the settings can say it: ask there.",
}


def notes_on(meter: Meter, path: str) -> tuple[str, ...]:
    """Say where a meter's value has to be seen to besides its file.

    >>> meter = Meter(meter="FT-1", principle="vortex")
    >>> notes_on(meter, "sensor.nameplate.k_factor")
    ('Stamped on the sensor: read it there again.',)
    >>> notes_on(meter, "service")
    ()
    """
    above = [each for each in _WORDS if f"{path}.".startswith(f"{each}.")]
    notes = (_WORDS[max(above, key=len)],) if above else ()
    sold = meter.receiver is not None and meter.receiver.use == _SOLD_BY
    return (*notes, _SEALED) if notes and sold else notes
