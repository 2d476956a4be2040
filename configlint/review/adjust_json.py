"""A change as JSON for other software, in the shape of its schema."""

from __future__ import annotations

from typing import Literal

from pydantic import with_config
from typing_extensions import TypedDict

from configlint.outputs.json import (
    CLOSED,
    Category,
    FindingObject,
    PositiveWhole,
    finding_object,
    to_text,
)
from configlint.review.adjust import Adjusted, Adjustment
from configlint.review.adjust_cautions import CAUTIONS, notes_on
from configlint.review.adjust_text import difference

__all__ = ["AdjustmentObject", "write_json"]

FORMAT: Literal["configlint-adjustment/1"] = "configlint-adjustment/1"


@with_config(CLOSED)
class ChangeObject(TypedDict):
    """One value that is set."""

    meter: str
    """Tag of the meter."""
    site: str
    """Name of its site, empty where it belongs to none."""
    file: str
    """Name of its file, as seen from where the run was started."""
    line: PositiveWhole
    """Line of the value after the change, from 1."""
    path: str
    """The value, as the rules name it."""
    before: str | None
    """The text that was written; null where there was none."""
    after: str
    """The text that is written now."""
    proposed_by: str | None
    """The rule whose finding proposes the value; null where a person gave it."""
    overrides_line: PositiveWhole | None
    """Line of the value that a merge key brought in until now; null if none did."""
    notes: list[str]
    """Where the value has to be seen to besides its file."""


@with_config(CLOSED)
class FileObject(TypedDict):
    """A file with what changes in it."""

    file: str
    """Name of the file, as seen from where the run was started."""
    difference: str
    """The change as a unified diff, empty where there is none."""


@with_config(CLOSED)
class ChangedFindingsObject(TypedDict):
    """The findings before and after the change, told apart by their fingerprints."""

    before: dict[Category, int]
    """How many there are of each category before the change."""
    after: dict[Category, int]
    """How many there are of each category after it."""
    gone: list[FindingObject]
    """Findings that the change takes away, as they were."""
    new: list[FindingObject]
    """Findings that the change brings."""
    remaining: list[FindingObject]
    """Findings of the changed files that stay, as they are after the change."""


@with_config(CLOSED)
class AdjustmentObject(TypedDict):
    """A change of settings with its effect on the findings."""

    format: Literal["configlint-adjustment/1"]
    """The report's format and its version."""
    written: bool
    """Whether the files hold the change."""
    held: bool
    """Whether the change brings a new finding of category A, and is not written."""
    changes: list[ChangeObject]
    """The values that are set."""
    files: list[FileObject]
    """The files that are named."""
    findings: ChangedFindingsObject
    """What the change does to the findings."""
    cautions: str
    """What has to be seen to besides the files."""


def write_json(adjustment: Adjustment, written: bool) -> str:
    """Write a change as one JSON object, ending in a line feed."""
    return to_text(_object(adjustment, written))


def _object(adjustment: Adjustment, written: bool) -> AdjustmentObject:
    return {
        "format": FORMAT,
        "written": written,
        "held": bool(adjustment.held),
        "changes": [_change(each) for each in adjustment.adjusted],
        "files": [
            {"file": each.source.file, "difference": difference(each)}
            for each in adjustment.files
        ],
        "findings": {
            "before": adjustment.counts(late=False),
            "after": adjustment.counts(late=True),
            "gone": [finding_object(each) for each in adjustment.gone],
            "new": [finding_object(each) for each in adjustment.new],
            "remaining": [finding_object(each) for each in adjustment.remaining],
        },
        "cautions": CAUTIONS,
    }


def _change(adjusted: Adjusted) -> ChangeObject:
    change, merged = adjusted.change, adjusted.merged_from
    source = change.target.source
    return {
        "meter": change.target.tag,
        "site": source.site.name if source.site else "",
        "file": source.file,
        "line": adjusted.place.line,
        "path": change.path,
        "before": change.before,
        "after": change.value,
        "proposed_by": change.rule or None,
        "overrides_line": merged.line if merged else None,
        "notes": list(notes_on(change.target.entry.meter, change.path)),
    }
