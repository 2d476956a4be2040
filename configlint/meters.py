"""Meters as files hold them: frozen models, one class a principle.

A further principle is a further class in PRINCIPLES, with the sections that differ
from the common ones.
"""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, NamedTuple

from pydantic import Field

from configlint.alike import find_alike
from configlint.documents import Document
from configlint.errors import Fault, Path, Place
from configlint.field_types import Words
from configlint.fields import (
    AmountOrText,
    Choice,
    Model,
    Scalar,
    Usable,
    dotted,
    validate,
)
from configlint.scalars import Misread, offer, read_text, shown
from configlint.sections import (
    CurrentOutput,
    Installation,
    Process,
    PulseOutput,
    Receiver,
    Records,
    Totalizer,
    Wiring,
)
from configlint.sensors import (
    CoriolisSensor,
    CoriolisTransmitter,
    DisplacementSensor,
    ElectromagneticSensor,
    ElectromagneticTransmitter,
    KFactorPulseOutput,
    KFactorTransmitter,
    Principle,
    Sensor,
    Transmitter,
    TurbineSensor,
    UltrasonicSensor,
    UltrasonicTransmitter,
    VortexSensor,
)
from configlint.units import Quantity

__all__ = [
    "PRINCIPLES",
    "CoriolisMeter",
    "DisplacementMeter",
    "ElectromagneticMeter",
    "KFactorMeter",
    "Meter",
    "MeterEntry",
    "TurbineMeter",
    "UltrasonicMeter",
    "UnreadMeter",
    "VortexMeter",
    "count_meters",
    "read_meters",
    "tag_around",
    "unread_meters",
]

IDENTIFIED = "meter-identified"
SITE_DATA = "site_data"
Declared = Mapping[str, Scalar]
"""What the texts are that rule files declare as the site's own, by their names."""

NOTHING: Declared = MappingProxyType({})
SiteValue = Annotated[Quantity | str | bool | datetime.date, AmountOrText()]


class Meter(Model):
    """What meters of every principle have in common."""

    missing_kind: ClassVar[str] = IDENTIFIED

    meter: Words = Field(
        title="Tag of the meter",
        description="The meter's identification in the plant, as on its plate.",
        examples=["FT-2104"],
    )
    service: Words | None = Field(None, title="What the meter measures, and where")
    principle: Principle = Field(title="Principle of measurement")
    construction: Annotated[str, Choice("separate", "integral")] | None = Field(
        None, title="Whether the transmitter is mounted away from the sensor"
    )
    type_sheet: Words | None = Field(None, title="Name of the device's type sheet")
    sensor: Sensor | None = Field(None, title="The primary device")
    transmitter: Transmitter | None = Field(None, title="Settings of the transmitter")
    current_output: Usable[CurrentOutput] = Field(None, title="4-20 mA output")
    pulse_output: Usable[PulseOutput] = Field(None, title="Pulse output")
    totalizer: Usable[Totalizer] = Field(None, title="The meter's own total")
    receiver: Receiver | None = Field(None, title="What reads the meter")
    process: Process | None = Field(None, title="The fluid and its flow")
    installation: Installation | None = Field(None, title="The sensor in the pipe")
    wiring: Wiring | None = Field(None, title="Cables of separate construction")
    records: Records | None = Field(None, title="Who left and approved the settings")
    site_data: dict[str, SiteValue | None] | None = Field(
        None, title="Values of the site's own, for its own rules"
    )


class ElectromagneticMeter(Meter):
    """A meter that measures the voltage which a flow induces in a magnetic field."""

    sensor: ElectromagneticSensor | None = Field(None, title="The primary device")
    transmitter: ElectromagneticTransmitter | None = Field(
        None, title="Settings of the transmitter"
    )


class KFactorMeter(Meter):
    """A meter whose sensor makes pulses of its own, each for a fixed volume."""

    transmitter: KFactorTransmitter | None = Field(
        None, title="Settings of the transmitter"
    )
    pulse_output: Usable[KFactorPulseOutput] = Field(None, title="Pulse output")


class VortexMeter(KFactorMeter):
    """A meter that counts the vortices which a bluff body sheds."""

    sensor: VortexSensor | None = Field(None, title="The primary device")


class UltrasonicMeter(Meter):
    """A meter that sends sound through the flow."""

    sensor: UltrasonicSensor | None = Field(None, title="The primary device")
    transmitter: UltrasonicTransmitter | None = Field(
        None, title="Settings of the transmitter"
    )


class CoriolisMeter(Meter):
    """A meter that measures mass by the twist of vibrating tubes."""

    sensor: CoriolisSensor | None = Field(None, title="The primary device")
    transmitter: CoriolisTransmitter | None = Field(
        None, title="Settings of the transmitter"
    )


class TurbineMeter(KFactorMeter):
    """A meter that counts the blades of a rotor in the flow."""

    sensor: TurbineSensor | None = Field(None, title="The primary device")


class DisplacementMeter(KFactorMeter):
    """A meter that counts chambers of fluid, each of the same volume."""

    sensor: DisplacementSensor | None = Field(None, title="The primary device")


PRINCIPLES: Mapping[str, type[Meter]] = {
    "electromagnetic": ElectromagneticMeter,
    "vortex": VortexMeter,
    "ultrasonic": UltrasonicMeter,
    "coriolis": CoriolisMeter,
    "turbine": TurbineMeter,
    "positive displacement": DisplacementMeter,
}
"""The principles of measurement that are understood, each with its model."""


@dataclass(frozen=True, slots=True)
class MeterEntry:
    """A meter with the document and the path that it was read from.

    `unreadable` names, by their dotted paths, the values that are written but
    faulty, which the meter therefore lacks.
    """

    meter: Meter
    document: Document
    path: Path
    unreadable: tuple[str, ...] = ()


def read_meters(
    document: Document, declared: Declared = NOTHING
) -> tuple[tuple[MeterEntry, ...], tuple[Fault, ...]]:
    """Read the meter, or the meters of the list `meters`, with all faults.

    A meter with faults is given without its faulty values; one without tag or
    principle is not given. What is not `declared` under `site_data` is an amount
    where it reads as one, else a text.
    """
    entries: list[MeterEntry] = []
    faults = list(_faults_around(document))
    for path, value in _meter_values(document):
        entry, wrong = _read_meter(document, path, value, declared)
        faults += wrong
        if entry is not None:
            entries.append(entry)
    return tuple(entries), tuple(faults)


def tag_around(document: Document, path: Path) -> str:
    """Give the tag of the meter that a path leads into, as far as it is written.

    The meter itself may be one that can't be read.
    """
    root = path[:2] if path[:1] == ("meters",) else ()
    meters = dict(_meter_values(document))
    value = meters.get(root)
    tag = value.get("meter") if isinstance(value, dict) else None
    return tag.strip() if isinstance(tag, str) else ""


class UnreadMeter(NamedTuple):
    """A meter that can't be read far enough to be judged, and what keeps it from that.

    `tag` is "" where none is written; `place` and `reason` are of the fault.
    """

    place: Place
    tag: str
    reason: str


def unread_meters(
    document: Document, read: Collection[Path], faults: Iterable[Fault]
) -> Iterator[UnreadMeter]:
    """Give the meters of a document that are not at the paths of those `read`.

    Of the `faults` in such a meter, one of its tag or principle is the reason, else the
    first.
    """
    told = sorted(faults, key=_is_of_no_identity)
    for path, _ in _meter_values(document):
        if path not in read:
            inside = (each for each in told if each.path[: len(path)] == path)
            reasons = ((each.place, each.problem) for each in inside)
            place, reason = next(reasons, (document.place(path), "It can't be read."))
            yield UnreadMeter(place, tag_around(document, path), reason)


def _is_of_no_identity(fault: Fault) -> bool:
    return fault.kind != IDENTIFIED and fault.path[-1:] not in (
        ("meter",),
        ("principle",),
    )


def count_meters(document: Document) -> int:
    """Count the meters that a document holds, readable or not."""
    return sum(1 for _ in _meter_values(document))


def _meter_values(document: Document) -> Iterator[tuple[Path, object]]:
    value = document.value
    if isinstance(value, dict):
        if "meters" not in value:
            if not _known_keys().isdisjoint(value):
                yield (), value
        elif isinstance(value["meters"], list):
            for index, each in enumerate(value["meters"]):
                yield ("meters", index), each


@cache
def _known_keys() -> frozenset[str]:
    return frozenset(key for model in PRINCIPLES.values() for key in model.model_fields)


def _faults_around(document: Document) -> Iterator[Fault]:
    """What is wrong with a document before any meter in it is read."""
    value = document.value
    if isinstance(value, dict) and "meters" in value:
        if not isinstance(value["meters"], list):
            advice = "Write the meters as a list, each item beginning with '- meter:'."
            problem = "meters: no list of meters stands here."
            yield _fault("value-well-formed", document, ("meters",), problem, advice)
        elif not value["meters"]:
            yield _unrecognised(document, "The list of meters is empty.")
        for key in (key for key in value if key != "meters"):
            problem = f"{shown(key)} stands beside the list of meters."
            advice = "Write it into each meter that it belongs to."
            place = document.key_place((key,))
            yield Fault("key-known", place, problem, advice, (key,))
    elif value is None:
        yield _unrecognised(document, "The document is empty.")
    elif not isinstance(value, dict) or _known_keys().isdisjoint(value):
        yield _unrecognised(document, "The document holds no meter.")


def _unrecognised(document: Document, problem: str) -> Fault:
    advice = (
        "Write a meter ('meter:' and its tag) or a list of them under 'meters:', or"
        " move the file out of the folder of meter files."
    )
    return _fault("meter-file-recognised", document, (), problem, advice)


def _fault(
    kind: str, document: Document, path: Path, problem: str, advice: str
) -> Fault:
    return Fault(kind, document.place(path), problem, advice, path)


def _read_meter(
    document: Document, path: Path, value: object, declared: Declared
) -> tuple[MeterEntry | None, list[Fault]]:
    principle = value.get("principle") if isinstance(value, dict) else None
    model = PRINCIPLES.get(principle) if isinstance(principle, str) else None
    if isinstance(value, dict) and model is None:
        return None, _unprincipled(document, path, value, declared)
    meter, faults = _read_as(model or Meter, document, path, value, declared)
    alike = find_alike(document, path, value, model or Meter, declared)
    if meter is None:
        return None, [*faults, *alike]
    around = (*document.faults, *faults)
    faulty = tuple(
        dotted(fault.path[len(path) :])
        for fault in around
        if len(fault.path) > len(path) and fault.path[: len(path)] == path
    )
    return MeterEntry(meter, document, path, faulty), [*faults, *alike]


def _read_as(
    model: type[Meter],
    document: Document,
    path: Path,
    value: object,
    declared: Declared,
) -> tuple[Meter | None, tuple[Fault, ...]]:
    """Read a value as a meter of a principle, the site's own data as declared."""
    meter, faults = validate(model, document, path, value)
    if meter is None or not meter.site_data or not declared:
        return meter, faults
    own: dict[str, Any] = dict(meter.site_data)
    for name in declared:
        text = own.get(name)
        read = None if text is None else read_text(declared[name], str(text))
        if isinstance(read, Misread):
            faults += (_misread(document, (*path, SITE_DATA, name), read),)
            read = None
        own[name] = read
    return meter.model_copy(update={SITE_DATA: own}), faults


def _misread(document: Document, path: Path, read: Misread) -> Fault:
    problem = f"{dotted(path[-2:])}: {read.problem}"
    place, source = document.place(path), document.source_place(path)
    return Fault(read.rule, place, problem, read.advice, path, source)


def _unprincipled(
    document: Document, path: Path, value: dict[str, object], declared: Declared
) -> list[Fault]:
    """All faults of a meter of no known principle, as far as they can be told."""
    principle = value.get("principle")
    here = (*path, "principle")
    if not isinstance(principle, str):
        problem = "principle is not written, or not as a text."
        advice = f"Write one of: {', '.join(PRINCIPLES)}."
        model: type[Meter] = next(iter(PRINCIPLES.values()))
    else:
        problem = f"principle: {shown(principle)} is no principle known here."
        advice = offer(principle, PRINCIPLES)
        near = difflib.get_close_matches(principle, PRINCIPLES, 1, 0.6)
        model = PRINCIPLES[near[0]] if near else Meter
    rest = {
        key: each
        for key, each in value.items()
        if model is not Meter or key not in ("sensor", "transmitter")
    }
    by_model = {each: name for name, each in PRINCIPLES.items()}
    stand_in = by_model.get(model, next(iter(PRINCIPLES)))
    whole = {**rest, "principle": stand_in}
    _, faults = _read_as(model, document, path, whole, declared)
    alike = find_alike(document, path, rest, model, declared)
    return [_fault(IDENTIFIED, document, here, problem, advice), *faults, *alike]
