"""The windows of a meter as JSON, byte-identical for the same input.

The typed dictionaries here are their shape; its JSON Schema is generated from them.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

from pydantic import Field, with_config
from pydantic.fields import FieldInfo
from typing_extensions import TypedDict

from configlint import __version__
from configlint.choices import Choices
from configlint.outputs.json import CLOSED, AmountObject, RuleSetObject, to_text
from configlint.sheets.window import WindowSheet
from configlint.stages import LeftOut
from configlint.window import Interval, Stated, Tied, Window

__all__ = ["FORMAT", "WindowsObject", "windows_object", "write"]

FORMAT: Literal["configlint-windows/1"] = "configlint-windows/1"


def _said(words: str) -> FieldInfo:
    """Describe a key that can't be written as an attribute, with words behind it."""
    info: FieldInfo = Field(description=words)
    return info


# `from` is a word of the language, so this shape is written as a mapping.
IntervalObject = TypedDict(
    "IntervalObject",
    {
        "from": Annotated[
            float | None,
            _said("Lower end; null where nothing bounds it as far as was searched."),
        ],
        "to": Annotated[
            float | None,
            _said("Upper end; null where nothing bounds it as far as was searched."),
        ],
        "from_rule": Annotated[
            str,
            _said(
                "The rule broken right below; value-well-formed is what a file may "
                "hold at all."
            ),
        ],
        "to_rule": Annotated[str, _said("The rule broken right above.")],
        "from_included": Annotated[
            bool,
            _said("Whether the lower end, which is the limit itself, is permissible."),
        ],
        "to_included": Annotated[
            bool,
            _said("Whether the upper end, which is the limit itself, is permissible."),
        ],
    },
)
with_config(CLOSED)(IntervalObject)


@with_config(CLOSED)
class TiedObject(TypedDict):
    """What a setting may be if others that must agree with it are changed along."""

    rules: list[str]
    """The rules that make them agree."""
    settings: list[str]
    """The others, which are the same amount then."""
    intervals: list[IntervalObject]
    """What all of them may be."""
    preferred: list[float]
    """Preferred numbers inside, that meet the rules on figures as well."""


@with_config(CLOSED)
class LeftOutObject(TypedDict):
    """A rule that does not count for a setting, since other faults stand behind it."""

    rule: str
    """The rule, which tells what faults of several settings come to together."""
    faults: list[str]
    """The rules that settings other than this one do not meet."""


@with_config(CLOSED)
class WindowObject(TypedDict):
    """An amount, and what it may be with all other inputs as they are."""

    setting: str
    """Path of the setting."""
    means: str
    """What it is."""
    unit: str
    """The unit of every number here: the one that the file uses, or would use."""
    present: AmountObject | None
    """What the file states; null for nothing."""
    broken: list[str]
    """The rules that the present value does not meet."""
    intervals: list[IntervalObject]
    """The permissible numbers, in rising order; none where rules are in conflict."""
    conflict: list[str]
    """The fewest rules that no value meets all of; empty where there is a window."""
    preferred: list[float]
    """Preferred numbers inside, that meet the rules on figures as well."""
    together: TiedObject | None
    """What it may be with others changed along; null where none must agree."""
    rules: list[str]
    """The rules that were asked."""
    figure_rules: list[str]
    """Those of them that look at the figures of single values."""
    not_assessed: list[str]
    """Those of them that lack an input, and so rule nothing out."""
    not_counted: list[LeftOutObject]
    """Rules that were left out, with the reason."""
    elsewhere: list[str]
    """Other settings by which a conflict can be ended; empty where there is none."""


@with_config(CLOSED)
class OptionObject(TypedDict):
    """A value that a setting can be."""

    value: str
    """The value, as a file holds it."""
    broken: list[str]
    """The rules that it would break; none where it is permissible."""


@with_config(CLOSED)
class ChoicesObject(TypedDict):
    """A setting with a list of values, each judged with all else as it is."""

    setting: str
    """Path of the setting."""
    means: str
    """What it is."""
    present: str
    """What the file states; empty for nothing."""
    values: list[OptionObject]
    """Every value that it can be."""
    conflict: list[str]
    """The fewest rules that no value meets all of; empty where one is permissible."""
    rules: list[str]
    """The rules that were asked."""
    not_assessed: list[str]
    """Those of them that lack an input, and so rule nothing out."""
    not_counted: list[LeftOutObject]
    """Rules that were left out, with the reason."""


@with_config(CLOSED)
class StatedObject(TypedDict):
    """A setting that was not solved for, since a person states it."""

    setting: str
    """Path of the setting."""
    means: str
    """What it is."""
    present: str
    """What the file states; empty for nothing."""
    where: str
    """Where a person reads it; empty where no rule file says."""


@with_config(CLOSED)
class MeterWindowsObject(TypedDict):
    """The windows of one meter."""

    meter: str
    """Tag of the meter."""
    site: str
    """Name of its site, empty where it belongs to none."""
    file: str
    """Name of its file, as seen from where the run was started."""
    amounts: list[WindowObject]
    """The amounts that were solved for."""
    choices: list[ChoicesObject]
    """The settings with a list of values."""
    to_state: list[StatedObject]
    """The settings that a person states."""


@with_config(CLOSED)
class WindowsObject(TypedDict):
    """What the settings of some meters may be with every rule met."""

    format: Literal["configlint-windows/1"]
    """The report's format and its version."""
    version: str
    """Version of configlint."""
    rulesets: list[RuleSetObject]
    """The rule sets that were asked."""
    meters: list[MeterWindowsObject]
    """Every meter, in the order of its file."""


def write(sheets: Iterable[WindowSheet]) -> str:
    """Write the windows as one JSON object, ending in a line feed."""
    return to_text(windows_object(tuple(sheets)))


def windows_object(sheets: tuple[WindowSheet, ...]) -> WindowsObject:
    """Give the windows as plain dicts and lists, in the order of their schema."""
    editions = dict.fromkeys(each for sheet in sheets for each in sheet.editions)
    return {
        "format": FORMAT,
        "version": __version__,
        "rulesets": [
            {"name": each.name, "edition": each.edition, "digest": each.digest}
            for each in editions
        ],
        "meters": [_meter(sheet) for sheet in sheets],
    }


def _meter(sheet: WindowSheet) -> MeterWindowsObject:
    means = sheet.means
    return {
        "meter": sheet.subject.meter,
        "site": sheet.subject.site,
        "file": sheet.subject.file,
        "amounts": [_window(each, means[each.setting]) for each in sheet.windows],
        "choices": [_choices(each, means[each.setting]) for each in sheet.choices],
        "to_state": [_stated(each, means[each.setting]) for each in sheet.stated],
    }


def _window(window: Window, means: str) -> WindowObject:
    present = window.present
    return {
        "setting": window.setting,
        "means": means,
        "unit": window.unit.spelling,
        "present": None
        if present is None
        else {"value": float(present.number), "unit": present.unit.spelling},
        "broken": list(window.broken),
        "intervals": [_interval(each) for each in window.intervals],
        "conflict": list(window.conflict),
        "preferred": [float(each) for each in window.preferred],
        "together": None if window.tied is None else _tied(window.tied),
        "rules": list(window.rules),
        "figure_rules": list(window.figure_rules),
        "not_assessed": list(window.not_assessed),
        "not_counted": [_left_out(each) for each in window.not_counted],
        "elsewhere": list(window.elsewhere),
    }


def _left_out(left_out: LeftOut) -> LeftOutObject:
    return {"rule": left_out.rule, "faults": list(left_out.faults)}


def _tied(tied: Tied) -> TiedObject:
    return {
        "rules": list(tied.rules),
        "settings": list(tied.others),
        "intervals": [_interval(each) for each in tied.intervals],
        "preferred": [float(each) for each in tied.preferred],
    }


def _interval(interval: Interval) -> IntervalObject:
    return {
        "from": interval.start,
        "to": interval.end,
        "from_rule": interval.start_rule,
        "to_rule": interval.end_rule,
        "from_included": interval.start_included,
        "to_included": interval.end_included,
    }


def _choices(choices: Choices, means: str) -> ChoicesObject:
    return {
        "setting": choices.setting,
        "means": means,
        "present": choices.present,
        "values": [
            {"value": option.text, "broken": list(option.broken)}
            for option in choices.options
        ],
        "conflict": list(choices.conflict),
        "rules": list(choices.rules),
        "not_assessed": list(choices.not_assessed),
        "not_counted": [_left_out(each) for each in choices.not_counted],
    }


def _stated(stated: Stated, means: str) -> StatedObject:
    return {
        "setting": stated.setting,
        "means": means,
        "present": stated.present,
        "where": stated.where,
    }
