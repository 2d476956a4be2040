"""The shape of a workspace's file of concessions, `concessions.yaml`."""

from pydantic import Field

from configlint.field_types import Date, Words
from configlint.fields import Model

__all__ = ["ConcessionModel", "ConcessionsFile"]


class ConcessionModel(Model):
    """One concession: what is conceded, why, by whom and until when."""

    rule: Words = Field(
        title="Id of the rule that is not met", examples=["velocity-at-span-in-band"]
    )
    meter: Words | None = Field(
        None,
        title="Tag of the meter",
        description="A * stands for any characters.",
        examples=["FT-2104", "FT-21*"],
    )
    site: Words | None = Field(
        None,
        title="Name of the site, as in the workspace file",
        description="A * stands for any characters. Without it, all sites are meant.",
    )
    fingerprint: Words | None = Field(
        None,
        title="Fingerprint of the one finding that is meant",
        description="The json report gives it.",
        examples=["0123456789abcdef"],
    )
    bounds: dict[str, Words] = Field(
        default_factory=dict,
        alias="while",
        title="Values, by path, with which alone it is conceded",
        description="An amount may be a range, such as 1 l to 10 l.",
        examples=[{"pulse_output.pulse_weight": "1 l"}],
    )
    reason: Words = Field(title="Why the meter may be used as it is")
    granted_by: Words = Field(title="Who has granted it")
    granted_on: Date = Field(title="First day on which it holds")
    expires_on: Date | None = Field(
        None,
        title="Last day on which it holds",
        description="A rule of category A or B needs it.",
    )


class ConcessionsFile(Model):
    """The file `concessions.yaml` beside a workspace file."""

    concessions: tuple[ConcessionModel, ...] | None = Field(
        None, title="The concessions of the workspace"
    )
