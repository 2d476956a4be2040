"""The sections of a meter file as frozen models, one field a setting.

Every field's title says what it is, for messages, editors and the rules. What is
written empty is as good as not written.

Models need their annotations as types, so these are not put off to be text first.
"""

from typing import Annotated

from pydantic import Field

from configlint.field_types import (
    Bore,
    Capacitance,
    Conductivity,
    Damping,
    Date,
    Density,
    Digits,
    Distance,
    Flow,
    Hours,
    Landing,
    LoopCurrent,
    Portion,
    Pressure,
    Rate,
    Resistance,
    Switch,
    Temperature,
    TotalUnit,
    Viscosity,
    Voltage,
    Width,
    Words,
)
from configlint.fields import Choice, Count, Model, Usable
from configlint.units import Quantity

__all__ = [
    "AnalogueInput",
    "Bus",
    "Counter",
    "CurrentOutput",
    "ExcitationCable",
    "FlowRange",
    "Installation",
    "PressureRange",
    "Process",
    "PulseOutput",
    "Receiver",
    "Records",
    "SignalCable",
    "TemperatureRange",
    "Totalizer",
    "Wiring",
]


class CurrentOutput(Model):
    """The 4-20 mA output and its loop."""

    lower_range_value: Flow | None = Field(None, title="Flow at 4 mA")
    upper_range_value: Flow | None = Field(None, title="Flow at 20 mA")
    failure_current: LoopCurrent | None = Field(
        None, title="Current that signals a fault"
    )
    loop_resistance: Resistance | None = Field(
        None, title="Total resistance of the loop"
    )
    supply_voltage: Voltage | None = Field(None, title="Supply voltage of the loop")
    digital_communication: Switch | None = Field(
        None, title="Digital communication is superimposed on the current"
    )


class PulseOutput(Model):
    """The pulse output."""

    pulse_weight: Portion | None = Field(
        None, title="Volume or mass that one pulse stands for"
    )
    pulse_width: Width | None = Field(None, title="Time that a pulse stays on")
    maximum_frequency: Rate | None = Field(
        None, title="Highest pulse rate of the output"
    )


class Totalizer(Model):
    """The meter's own register of accumulated volume."""

    unit: TotalUnit | None = Field(None, title="Unit of the totalizer")
    digits: Digits | None = Field(None, title="Number of digits of the totalizer")
    resolution: Portion | None = Field(
        None, title="Volume or mass of one step of the last digit"
    )


class AnalogueInput(Model):
    """How the receiver scales the meter's current."""

    lower_scale: Flow | None = Field(None, title="Flow at the lower current")
    upper_scale: Flow | None = Field(None, title="Flow at the upper current")
    lower_current: LoopCurrent | None = Field(
        None, title="Current at the lower end of the receiver's scale"
    )
    upper_current: LoopCurrent | None = Field(
        None, title="Current at the upper end of the receiver's scale"
    )
    bits: Annotated[Quantity, Count(1, most=64)] | None = Field(
        None, title="Resolution of the input, in bits over its scale"
    )
    fault_below: LoopCurrent | None = Field(
        None, title="Current below which the receiver sees a fault"
    )
    fault_above: LoopCurrent | None = Field(
        None, title="Current above which the receiver sees a fault"
    )
    damping: Damping | None = Field(None, title="Time constant of the input's filter")
    cutoff: Flow | None = Field(None, title="Flow below which the receiver takes zero")


class Counter(Model):
    """How the receiver counts the meter's pulses."""

    pulse_weight: Portion | None = Field(
        None, title="Volume or mass the receiver adds for a pulse"
    )
    maximum_frequency: Rate | None = Field(
        None, title="Highest pulse rate the receiver counts"
    )
    minimum_pulse_width: Width | None = Field(
        None, title="Shortest pulse the receiver recognises"
    )
    digits: Digits | None = Field(None, title="Number of digits of the counter")


class Bus(Model):
    """The meter's place on a digital bus."""

    name: Words | None = Field(None, title="Name of the bus")
    address: Words | None = Field(None, title="Address of the meter on its bus")


class Receiver(Model):
    """What reads the meter: a controller, a logger, a telemetry unit."""

    name: Words | None = Field(None, title="Name of the receiver")
    use: (
        Annotated[str, Choice("control", "monitoring", "batching", "custody transfer")]
        | None
    ) = Field(
        None,
        title="What the receiver uses the meter for",
        description="The use that asks most of the meter, where there are several.",
    )
    analogue: Usable[AnalogueInput] = Field(None, title="Analogue input")
    counter: Usable[Counter] = Field(None, title="Pulse counter")
    bus: Usable[Bus] = Field(None, title="Digital bus")


class TemperatureRange(Model):
    """The temperatures that occur in the process."""

    minimum: Temperature | None = Field(None, title="Lowest process temperature")
    maximum: Temperature | None = Field(None, title="Highest process temperature")


class PressureRange(Model):
    """The pressures that occur in the process."""

    maximum: Pressure | None = Field(
        None,
        title="Highest process pressure",
        description="Above the atmosphere.",
    )


class FlowRange(Model):
    """The flows that occur in the process."""

    minimum: Flow | None = Field(None, title="Lowest flow to be measured")
    normal: Flow | None = Field(None, title="Flow in normal operation")
    maximum: Flow | None = Field(None, title="Highest flow that occurs")


class Process(Model):
    """The fluid and what it does."""

    fluid: Words | None = Field(None, title="The fluid")
    duty: Words | None = Field(None, title="What the fluid is like, by the duty table")
    conductivity: Conductivity | None = Field(None, title="Lowest conductivity")
    density: Density | None = Field(None, title="Density of the fluid")
    viscosity: Viscosity | None = Field(None, title="Dynamic viscosity of the fluid")
    temperature: TemperatureRange | None = Field(None, title="Temperatures")
    pressure: PressureRange | None = Field(None, title="Pressures")
    flow: FlowRange | None = Field(None, title="Flows")
    hours_per_year: Hours | None = Field(None, title="Hours of flow in a year")
    batch_volume: Portion | None = Field(
        None, title="Volume or mass of the smallest batch"
    )
    proving_volume: Portion | None = Field(
        None, title="Volume or mass that passes in a proving run"
    )


class Installation(Model):
    """How the sensor sits in the pipe."""

    pipe_bore: Bore | None = Field(None, title="Inside diameter of the pipe")
    pipe_wall: Words | None = Field(None, title="Material of the pipe's inner wall")
    upstream_straight: Distance | None = Field(
        None, title="Straight pipe before the sensor"
    )
    downstream_straight: Distance | None = Field(
        None, title="Straight pipe behind the sensor"
    )
    earthing: (
        Annotated[str, Choice("rings", "earth electrode", "bonded pipe", "none")] | None
    ) = Field(None, title="How the fluid is earthed")
    orientation: (
        Annotated[str, Choice("vertical up", "vertical down", "horizontal", "inclined")]
        | None
    ) = Field(None, title="How the pipe runs, and the fluid in it")
    arrow: Annotated[str, Choice("with the flow", "against the flow")] | None = Field(
        None,
        title="Which way the arrow on the sensor points",
        description="Taken to be with the flow where nothing is written.",
    )
    always_full: Switch | None = Field(None, title="The pipe is always full")


class SignalCable(Model):
    """The electrode cable between sensor and transmitter."""

    length: Distance | None = Field(None, title="Length of the signal cable")
    capacitance: Capacitance | None = Field(
        None, title="Capacitance of a core of the signal cable, for its length"
    )
    shielding: Annotated[str, Choice("individual", "overall", "none")] | None = Field(
        None, title="Shields of the signal cable"
    )
    shields_landed: Landing | None = Field(
        None, title="Ends at which the shields are landed"
    )


class ExcitationCable(Model):
    """The coil cable between sensor and transmitter."""

    separate: Switch | None = Field(None, title="The excitation has a cable of its own")


class Wiring(Model):
    """The cables of a meter whose transmitter is mounted away from the sensor."""

    signal_cable: SignalCable | None = Field(None, title="Signal cable")
    excitation_cable: ExcitationCable | None = Field(None, title="Excitation cable")


class Records(Model):
    """Who left the meter as it is, and who approved it."""

    as_left_by: Words | None = Field(None, title="Who left the settings as they are")
    as_left_on: Date | None = Field(None, title="Day the settings were left")
    approved_by: Words | None = Field(None, title="Who approved the settings")
    revision: Words | None = Field(None, title="Revision of this record")
