"""All published examples, each with the tag of the meter that is made from it."""

from __future__ import annotations

from tests.evidence.loop_examples import LOOPS
from tests.evidence.principle_examples import PRINCIPLES
from tests.evidence.published import Example
from tests.evidence.pulse_examples import PULSES
from tests.evidence.slip_examples import SLIPS
from tests.evidence.velocity_examples import VELOCITIES

__all__ = ["EXAMPLES", "TAGGED"]

EXAMPLES: tuple[Example, ...] = (
    *VELOCITIES,
    *PULSES,
    *LOOPS,
    *SLIPS,
    *PRINCIPLES,
)

TAGGED: dict[str, Example] = {
    f"FT-{number}": example for number, example in enumerate(EXAMPLES, start=1001)
}
"""The examples by their meters' tags."""
