"""The field types of meter files, type sheets and site files, by their names.

Each says what a text in the file may be: its kind of amount with the unit a report
shows, its bounds, or its list of words.
"""

import datetime
from typing import Annotated

from configlint.fields import (
    Choice,
    Count,
    Day,
    Measured,
    Number,
    Size,
    Text,
    Truth,
    UnitSpelling,
)
from configlint.units import Quantity

__all__ = [
    "FLOWS",
    "Bore",
    "Capacitance",
    "Conductivity",
    "CutOff",
    "Damping",
    "Date",
    "Density",
    "Digits",
    "Distance",
    "Excitation",
    "Factor",
    "Figure",
    "Flow",
    "FlowUnit",
    "Hours",
    "Landing",
    "LoopCurrent",
    "NominalSize",
    "Portion",
    "Pressure",
    "Rate",
    "Ratio",
    "Resistance",
    "Switch",
    "Temperature",
    "TotalUnit",
    "Viscosity",
    "Voltage",
    "Width",
    "Words",
]

Words = Annotated[str, Text()]
NominalSize = Annotated[str, Size()]
Switch = Annotated[bool, Truth()]
Date = Annotated[datetime.date, Day()]
Landing = Annotated[str, Choice("transmitter", "sensor", "both ends", "none")]
FLOWS = ("volume flow", "mass flow", "velocity")

Factor = Annotated[Quantity, Number(above=0)]
Figure = Annotated[Quantity, Number()]
Digits = Annotated[Quantity, Count(1, most=20)]
Flow = Annotated[Quantity, Measured(*FLOWS, unit="m3/h")]
FlowUnit = Annotated[str, UnitSpelling(*FLOWS)]
CutOff = Annotated[
    Quantity,
    Measured(*FLOWS, "ratio", unit="m3/h", not_negative=True),
]
Portion = Annotated[Quantity, Measured("volume", "mass", unit="m3", above_zero=True)]
TotalUnit = Annotated[str, UnitSpelling("volume", "mass")]
Bore = Annotated[Quantity, Measured("length", unit="mm", above_zero=True)]
Distance = Annotated[Quantity, Measured("length", unit="m", not_negative=True)]
Excitation = Annotated[Quantity, Measured("current", unit="A", above_zero=True)]
LoopCurrent = Annotated[Quantity, Measured("current", unit="mA", not_negative=True)]
Rate = Annotated[Quantity, Measured("frequency", unit="Hz", above_zero=True)]
Width = Annotated[Quantity, Measured("time", unit="ms", above_zero=True)]
Damping = Annotated[Quantity, Measured("time", unit="s", not_negative=True)]
Resistance = Annotated[Quantity, Measured("resistance", unit="ohm", not_negative=True)]
Voltage = Annotated[Quantity, Measured("voltage", unit="V", not_negative=True)]
Conductivity = Annotated[
    Quantity, Measured("conductivity", unit="uS/cm", not_negative=True)
]
Capacitance = Annotated[
    Quantity, Measured("capacitance per length", unit="pF/m", above_zero=True)
]
Density = Annotated[Quantity, Measured("density", unit="kg/m3", above_zero=True)]
Viscosity = Annotated[
    Quantity, Measured("dynamic viscosity", unit="mPa.s", above_zero=True)
]
Temperature = Annotated[Quantity, Measured("temperature", unit="degC")]
Pressure = Annotated[Quantity, Measured("pressure", unit="bar")]
Ratio = Annotated[Quantity, Measured("ratio", unit="%", not_negative=True)]
Hours = Annotated[Quantity, Number(least=0, most=8784)]
