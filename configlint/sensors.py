"""What differs from principle to principle: the sensor, its plate, its transmitter.

Every field's title says what it is, for messages, editors and the rules. A field of
the same path has the same meaning in every principle.

Models need their annotations as types, so these are not put off to be text first.
"""

from typing import Annotated

from pydantic import Field

from configlint.field_types import (
    Bore,
    CutOff,
    Damping,
    Date,
    Density,
    Excitation,
    Factor,
    Figure,
    Flow,
    FlowUnit,
    NominalSize,
    Pressure,
    Rate,
    Ratio,
    Switch,
    Temperature,
    TotalUnit,
    Viscosity,
    Words,
)
from configlint.fields import Choice, Count, Measured, Model
from configlint.sections import PulseOutput
from configlint.units import Quantity

__all__ = [
    "Calibration",
    "CoriolisSensor",
    "CoriolisTransmitter",
    "DisplacementSensor",
    "Display",
    "ElectromagneticNameplate",
    "ElectromagneticSensor",
    "ElectromagneticTransmitter",
    "KFactorNameplate",
    "KFactorPulseOutput",
    "KFactorTransmitter",
    "Nameplate",
    "Principle",
    "RatedFlow",
    "RatedViscosity",
    "Sensor",
    "Transmitter",
    "TurbineSensor",
    "UltrasonicSensor",
    "UltrasonicTransmitter",
    "VortexSensor",
]

# The model is chosen by the principle, so each may name them all; a rule that asks
# for the principle is held to this one list.
Principle = Annotated[
    str,
    Choice(
        "electromagnetic",
        "vortex",
        "ultrasonic",
        "coriolis",
        "turbine",
        "positive displacement",
    ),
]
KFactor = Annotated[
    Quantity, Measured("pulses per volume", unit="1/l", above_zero=True)
]


class Nameplate(Model):
    """What is stamped on the sensor."""

    calibration_factor: Factor | None = Field(
        None, title="Calibration factor stamped on the sensor"
    )


class ElectromagneticNameplate(Nameplate):
    """What is stamped on an electromagnetic sensor."""

    excitation_current: Excitation | None = Field(
        None, title="Excitation current stamped on the sensor"
    )
    calibration_zero: Figure | None = Field(
        None, title="Calibration zero stamped on the sensor"
    )


class Calibration(Model):
    """The sensor's calibration certificate."""

    certificate: Words | None = Field(None, title="Number of the certificate")
    laboratory: Words | None = Field(None, title="Laboratory that calibrated")
    date: Date | None = Field(None, title="Day of the calibration")
    expanded_uncertainty: Ratio | None = Field(
        None, title="Expanded uncertainty, relative to the reading"
    )
    lowest_flow: Flow | None = Field(None, title="Lowest flow calibrated")
    highest_flow: Flow | None = Field(None, title="Highest flow calibrated")


class Sensor(Model):
    """The primary device."""

    serial: Words | None = Field(None, title="Serial number of the sensor")
    nominal_size: NominalSize | None = Field(None, title="Nominal size of the sensor")
    bore: Bore | None = Field(None, title="Inside diameter of the sensor")
    rated_pressure: Pressure | None = Field(
        None,
        title="Highest pressure that the sensor is rated for",
        description="Above the atmosphere, at the highest process temperature.",
    )
    rated_temperature: Temperature | None = Field(
        None, title="Highest fluid temperature that the sensor is rated for"
    )
    nameplate: Nameplate | None = Field(None, title="What is stamped on the sensor")
    calibration: Calibration | None = Field(None, title="Calibration certificate")


class ElectromagneticSensor(Sensor):
    """The flow tube with its lining, electrodes, nameplate and calibration."""

    lining: Words | None = Field(None, title="Material of the lining")
    electrodes: Words | None = Field(None, title="Material of the electrodes")
    electrode_diameter: Bore | None = Field(
        None, title="Diameter of an electrode where it touches the fluid"
    )
    nameplate: ElectromagneticNameplate | None = Field(
        None, title="What is stamped on the sensor"
    )


class Display(Model):
    """What the transmitter's display shows."""

    flow_unit: FlowUnit | None = Field(None, title="Unit of the flow on the display")
    total_unit: TotalUnit | None = Field(None, title="Unit of the total on the display")
    shows_total: Switch | None = Field(None, title="The display shows the total")


class Transmitter(Model):
    """The settings of the device that reads the sensor and makes the outputs."""

    serial: Words | None = Field(None, title="Serial number of the transmitter")
    nominal_size: NominalSize | None = Field(
        None, title="Nominal size set in the transmitter"
    )
    calibration_factor: Factor | None = Field(
        None, title="Calibration factor set in the transmitter"
    )
    damping: Damping | None = Field(None, title="Time constant of the output filter")
    low_flow_cutoff: CutOff | None = Field(
        None,
        title="Flow below which the meter reports zero",
        description="A flow, a velocity, or a ratio of the upper range value.",
    )
    flow_direction: Annotated[str, Choice("forward", "reverse", "both")] | None = Field(
        None, title="Direction of flow that is measured"
    )
    settings_locked: Switch | None = Field(
        None, title="The settings are locked against change"
    )
    display: Display | None = Field(None, title="What the display shows")


class ElectromagneticTransmitter(Transmitter):
    """The settings of the device that drives an electromagnetic sensor."""

    excitation_current: Excitation | None = Field(
        None, title="Excitation current set in the transmitter"
    )
    excitation_frequency: Rate | None = Field(None, title="Excitation frequency")
    empty_pipe_detection: Switch | None = Field(
        None, title="Empty pipe detection is on"
    )


class KFactorNameplate(Nameplate):
    """What is stamped on a sensor that makes a pulse for a fixed volume."""

    k_factor: KFactor | None = Field(
        None, title="K-factor stamped on the sensor, in pulses per volume"
    )


class KFactorTransmitter(Transmitter):
    """The settings of a device that counts the pulses of a sensor."""

    k_factor: KFactor | None = Field(
        None, title="K-factor set in the transmitter, in pulses per volume"
    )


class KFactorPulseOutput(PulseOutput):
    """The pulse output of a meter whose sensor makes pulses of its own."""

    scaled: Switch | None = Field(
        None, title="The pulses are scaled, not the sensor's own passed on"
    )


class RatedFlow(Model):
    """The flows that a sensor is rated for by its maker."""

    lowest: Flow | None = Field(None, title="Lowest flow the sensor is rated for")
    highest: Flow | None = Field(None, title="Highest flow the sensor is rated for")


class RatedViscosity(Model):
    """The viscosities that a sensor is rated for by its maker."""

    lowest: Viscosity | None = Field(
        None, title="Lowest viscosity the sensor is rated for"
    )
    highest: Viscosity | None = Field(
        None, title="Highest viscosity the sensor is rated for"
    )


class VortexSensor(Sensor):
    """The tube with the bluff body that sheds the vortices."""

    nameplate: KFactorNameplate | None = Field(
        None, title="What is stamped on the sensor"
    )
    lowest_reynolds_number: Factor | None = Field(
        None, title="Lowest Reynolds number at which the sensor is linear"
    )


class UltrasonicSensor(Sensor):
    """The transducers, in a body of their own or clamped onto the pipe."""

    method: Annotated[str, Choice("transit time", "Doppler")] | None = Field(
        None, title="How the sound measures the flow"
    )
    mounting: Annotated[str, Choice("inline", "clamp-on")] | None = Field(
        None, title="Whether the transducers have a body or sit on the pipe"
    )
    paths: Annotated[Quantity, Count(1, most=64)] | None = Field(
        None, title="Number of sound paths"
    )
    pipe_wall_thickness: Bore | None = Field(
        None, title="Thickness of the pipe's wall as measured at the transducers"
    )


class UltrasonicTransmitter(Transmitter):
    """The settings of the device that times the sound."""

    pipe_wall_thickness: Bore | None = Field(
        None, title="Thickness of the pipe's wall set in the transmitter"
    )


class CoriolisSensor(Sensor):
    """The vibrating tubes."""

    rated_flow: RatedFlow | None = Field(None, title="Flows the sensor is rated for")


class CoriolisTransmitter(Transmitter):
    """The settings of the device that drives the tubes, and what it measured."""

    zero_set_on: Date | None = Field(None, title="Day the zero was last set")
    flow_at_standstill: Flow | None = Field(
        None, title="Flow shown while nothing flowed, after the zero was set"
    )
    measured_density: Density | None = Field(
        None, title="Density that the transmitter measured in the fluid"
    )


class TurbineSensor(Sensor):
    """The body with the rotor, and the pick-up that counts its blades."""

    nameplate: KFactorNameplate | None = Field(
        None, title="What is stamped on the sensor"
    )
    rated_flow: RatedFlow | None = Field(None, title="Flows the sensor is rated for")


class DisplacementSensor(TurbineSensor):
    """The chambers that fill and empty, and the pick-up that counts them."""

    rated_viscosity: RatedViscosity | None = Field(
        None, title="Viscosities the sensor is rated for"
    )
