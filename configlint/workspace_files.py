"""The shape of a workspace's own files: `configlint.yaml` and `site.yaml`."""

from typing import Annotated

from pydantic import Field

from configlint.field_types import Hours, Rate, Words
from configlint.fields import Choice, Model

__all__ = ["ChangeModel", "Changes", "SiteEntry", "SiteFile", "WorkspaceFile"]

Convention = Annotated[str, Choice("SI", "US", "imperial")]


class ChangeModel(Model):
    """One limit of a rule as a policy wants it."""

    value: Words = Field(
        title="The limit that is to hold", examples=["6 m/s", "2 year"]
    )
    reason: Words = Field(title="Why the standard limit does not suit")


Changes = dict[str, dict[str, ChangeModel]]


class SiteEntry(Model):
    """Where a site's files are."""

    folder: Words = Field(
        title="Folder of the site",
        description="Seen from the workspace file, with / between the folders.",
        examples=["sites/north"],
    )


class WorkspaceFile(Model):
    """The file `configlint.yaml` at the root of a configuration repository."""

    workspace: Words = Field(title="Name of the workspace")
    sites: dict[str, SiteEntry] | None = Field(None, title="Sites, by their names")
    type_sheets: Words | None = Field(
        None, title="Folder of the workspace's own type sheets"
    )
    rules: Words | None = Field(None, title="Folder of the workspace's own rule files")
    policy: Changes | None = Field(
        None, title="Limits changed for all sites, by rule and limit"
    )
    unit_convention: Convention | None = Field(
        None, title="System of units that the sites keep to"
    )


class SiteFile(Model):
    """The file `site.yaml` in a site's folder."""

    site: Words = Field(title="Name of the site, as in the workspace file")
    mains_frequency: Rate | None = Field(
        None, title="Frequency of the site's mains", examples=["50 Hz", "60 Hz"]
    )
    hours_per_year: Hours | None = Field(
        None, title="Hours of flow in a year, of meters that do not say it themselves"
    )
    unit_convention: Convention | None = Field(
        None, title="System of units that the site keeps to"
    )
    policy: Changes | None = Field(
        None, title="Limits changed for this site, by rule and limit"
    )
