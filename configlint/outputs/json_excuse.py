"""The shape of what a change excuses by itself, in every JSON report about a change."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

from pydantic import WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint.outputs.json_effect import CLOSED
from configlint.report import EXCUSES, Excuse

__all__ = ["ExcuseObject", "excuse_objects"]

Means = Annotated[
    str,
    WithJsonSchema({"type": "string", "enum": list(EXCUSES)}),
]


@with_config(CLOSED)
class ExcuseObject(TypedDict):
    """A finding that a change would excuse by itself."""

    fingerprint: str
    """Fingerprint of the finding."""
    by: Means
    """What excuses it: a concession; rules, which stands for policy and type sheets as
    well; or a less urgent category. The change brings it."""
    told: str
    """Which finding it is, and by whom it is conceded, in words."""


def excuse_objects(excuses: Iterable[Excuse]) -> list[ExcuseObject]:
    """Give what a change excuses by itself as plain dicts."""
    return [
        {"fingerprint": each.fingerprint, "by": each.by, "told": each.told}
        for each in excuses
    ]
