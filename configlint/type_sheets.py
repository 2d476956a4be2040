"""Type sheets: the limits and delivered settings of one type of device, as data."""

from typing import Annotated

from pydantic import Field

from configlint.documents import Document
from configlint.errors import Fault
from configlint.field_types import (
    Conductivity,
    Damping,
    Distance,
    Excitation,
    Factor,
    Flow,
    Landing,
    LoopCurrent,
    NominalSize,
    Portion,
    Rate,
    Switch,
    Voltage,
    Width,
    Words,
)
from configlint.fields import Choice, Model, Number, validate
from configlint.units import Quantity

__all__ = ["TypeSheet", "read_type_sheets"]

Bores = Annotated[Quantity, Number(least=0)]


class Delivered(Model):
    """The settings that a device of this type is delivered with."""

    excitation_current: Excitation | None = Field(
        None, title="Excitation current as delivered"
    )
    nominal_size: NominalSize | None = Field(None, title="Nominal size as delivered")
    upper_range_value: Flow | None = Field(None, title="Flow at 20 mA as delivered")
    pulse_weight: Portion | None = Field(None, title="Pulse weight as delivered")


class FactorBand(Model):
    """The calibration factors that sensors of this type have."""

    lowest: Factor | None = Field(None, title="Lowest calibration factor")
    highest: Factor | None = Field(None, title="Highest calibration factor")


class ExcitationBand(Model):
    """The excitation currents that sensors of this type take."""

    lowest: Excitation | None = Field(None, title="Lowest excitation current")
    highest: Excitation | None = Field(None, title="Highest excitation current")


class PulseLimits(Model):
    """What the pulse output can do."""

    maximum_frequency: Rate | None = Field(None, title="Highest pulse rate")
    minimum_pulse_width: Width | None = Field(None, title="Shortest pulse")
    maximum_pulse_width: Width | None = Field(None, title="Longest pulse")


class CurrentLimits(Model):
    """What the current output needs and can do."""

    minimum_terminal_voltage: Voltage | None = Field(
        None, title="Lowest voltage at the current output's terminals"
    )
    lowest_failure_current: LoopCurrent | None = Field(
        None, title="Lowest current that can signal a fault"
    )
    highest_failure_current: LoopCurrent | None = Field(
        None, title="Highest current that can signal a fault"
    )


class CableLimits(Model):
    """What the type asks of the signal cable."""

    maximum_length: Distance | None = Field(None, title="Longest signal cable")
    shields_landed: Landing | None = Field(
        None, title="Ends at which the shields must be landed"
    )
    shield_terminal: Annotated[str, Choice("measuring input", "earth")] | None = Field(
        None,
        title="What the transmitter's shield terminals are",
        description="A measuring input follows the electrodes and never meets earth.",
    )


class DisplayDelivered(Model):
    """What the display shows as delivered."""

    shows_total_when_delivered: Switch | None = Field(
        None, title="The display shows the total as delivered"
    )


class TransmitterOffers(Model):
    """The values that a transmitter of this type lets one choose from."""

    excitation_frequency: tuple[Rate, ...] | None = Field(
        None, title="Excitation frequencies", examples=[["6.25 Hz", "12.5 Hz"]]
    )
    damping: tuple[Damping, ...] | None = Field(
        None, title="Time constants of the output filter", examples=[["1 s", "3 s"]]
    )


class PulseOffers(Model):
    """The values that the pulse output of this type lets one choose from."""

    pulse_width: tuple[Width, ...] | None = Field(
        None, title="Times that a pulse stays on", examples=[["10 ms", "50 ms"]]
    )


class Offers(Model):
    """Settings for which this type has a list, under their paths in a meter's file.

    What has no list here can be any amount within the type's limits.
    """

    transmitter: TransmitterOffers | None = Field(
        None, title="Settings of the transmitter"
    )
    pulse_output: PulseOffers | None = Field(None, title="Settings of the pulse output")


class TypeSheet(Model):
    """The limits and delivered settings of one type of device."""

    type_sheet: Words = Field(title="Name of the type sheet")
    means: Words | None = Field(None, title="What the type is")
    principle: Words | None = Field(None, title="Principle of measurement")
    construction: Annotated[str, Choice("separate", "integral")] | None = Field(
        None, title="Whether the transmitter is mounted away from the sensor"
    )
    delivered: Delivered | None = Field(None, title="Settings as delivered")
    calibration_factor: FactorBand | None = Field(
        None, title="Calibration factors of the type"
    )
    excitation_current: ExcitationBand | None = Field(
        None, title="Excitation currents of the type"
    )
    pulse_output: PulseLimits | None = Field(None, title="Limits of the pulse output")
    current_output: CurrentLimits | None = Field(
        None, title="Limits of the current output"
    )
    minimum_conductivity: Conductivity | None = Field(
        None, title="Lowest conductivity that the type measures"
    )
    minimum_conductivity_demineralised: Conductivity | None = Field(
        None, title="Lowest conductivity of demineralised water that the type measures"
    )
    signal_cable: CableLimits | None = Field(None, title="Limits of the signal cable")
    upstream_straight: Bores | None = Field(
        None, title="Straight pipe needed before the sensor, in bores"
    )
    downstream_straight: Bores | None = Field(
        None, title="Straight pipe needed behind the sensor, in bores"
    )
    offers: Offers | None = Field(
        None, title="Lists of the values that settings can take"
    )
    display: DisplayDelivered | None = Field(None, title="Display as delivered")
    source: Words | None = Field(None, title="Where the figures are from")
    invented: Switch | None = Field(None, title="The type is invented for examples")


def read_type_sheets(
    document: Document,
) -> tuple[tuple[TypeSheet, ...], tuple[Fault, ...]]:
    """Read the type sheet that a document holds, with all faults of it.

    A type sheet with faults is given without its faulty values, one without a
    name is not given.
    """
    sheet, faults = validate(TypeSheet, document)
    return (() if sheet is None else (sheet,)), faults
