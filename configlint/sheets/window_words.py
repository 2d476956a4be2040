"""What a sheet of windows says in words, the same in every format.

The texts hold values from files as they stand; each format makes them inert.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from configlint.choices import Choices
from configlint.outputs.text import counted
from configlint.sheets.window import margins, nearest_first
from configlint.spans import end_words, span_words
from configlint.stages import LeftOut
from configlint.templates import listed
from configlint.window import MOST_PREFERRED, Interval, Window

__all__ = [
    "CAUTION",
    "SEARCH",
    "choice_notes",
    "span_lines",
    "window_notes",
]

MOST_SPANS = 5
MOST_LISTED = 8
FEW_LISTED = 3
"""How many preferred figures are listed, and of those that go on and on."""

MOST_CHOICES = 12

CAUTION = (
    "Every window holds all other settings as they are; change what must agree in one "
    "job, at both ends. A permissible value breaks none of these rules: that does not "
    "make it the right one. What a person states is read off the device or the plant."
)
SEARCH = (
    "Each window is found by asking the rules themselves, ten times a decade and at "
    "every number where what they compare changes its sign, and its ends hold to a "
    "relative 1e-9. Ends are shown rounded inwards."
)
Notes = Iterator[tuple[str, str]]


def window_notes(window: Window) -> Notes:
    """Give what there is to say of an amount, each with its label, in their order."""
    yield "Now", _present(window)
    if not window.rules:
        yield "Permissible", "any value: no rule that speaks of this meter looks at it"
        return
    if window.intervals:
        yield from _spans("Permissible", window, window.intervals)
    else:
        ended = f" Change {listed(window.elsewhere)} too." if window.elsewhere else ""
        yield "Permissible", f"nothing. {_conflict(window.conflict)}{ended}"
    if window.tied is not None:
        others = ", ".join(window.tied.others)
        yield "Together", f"with {others}, for {', '.join(window.tied.rules)}:"
        if window.tied.intervals:
            yield from _spans("", window, window.tied.intervals)
        else:
            yield "", "nothing"
    yield from _figures(window)
    if window.figure_rules:
        rules = ", ".join(window.figure_rules)
        yield "Figures", f"{rules} looks at them too; the preferred values meet it"
    if window.not_assessed:
        yield "Not assessed", f"{', '.join(window.not_assessed)}"
    yield from _not_counted(window.not_counted)


def _not_counted(rules: Sequence[LeftOut]) -> Notes:
    for rule, faults in rules:
        standing = f"since other faults of this meter stand: {', '.join(faults)}"
        yield "Not counted", f"{rule}, {standing}"


def _present(window: Window) -> str:
    if window.present is None:
        return "not written"
    broken = ", ".join(window.broken)
    standing = f"not permissible by {broken}" if broken else "permissible"
    return f"{window.present.text}, {standing}"


def _conflict(rules: Sequence[str]) -> str:
    """Say which rules leave no value.

    >>> _conflict(["low", "high"])
    'No value meets low and high at once.'
    """
    if len(rules) == 1:
        return f"No value meets {rules[0]}."
    return f"No value meets {', '.join(rules[:-1])} and {rules[-1]} at once."


def _spans(label: str, window: Window, intervals: Sequence[Interval]) -> Notes:
    """Give intervals with their ends, the ones nearest to the present value.

    Where there are many and some values in them are preferred, the nearest will do.
    """
    many = len(intervals) > MOST_SPANS
    most = 1 if many and window.preferred else MOST_SPANS
    shown = nearest_first(window, intervals)[:most]
    for interval in sorted(shown, key=intervals.index):
        yield label, span_words(interval, window.unit)
        for line in span_lines(window, interval, interval is shown[0]):
            yield "", line
        label = ""
    more = len(intervals) - len(shown)
    if more:
        yield "", f"and {counted(more, 'other span')} farther off, in the json report"


def span_lines(
    window: Window, interval: Interval, with_margins: bool = True
) -> Iterator[str]:
    """Say of each end which rule bounds it, and how far off the present value is.

    The margins mean something of the span alone that is nearest to the present value.
    """
    lower, upper = margins(window, interval) if with_margins else (None, None)
    if interval.start == interval.end and interval.start is not None:
        rules = dict.fromkeys((interval.start_rule, interval.end_rule))
        yield f"held by {' and '.join(rules)}"
        return
    unit = window.unit.spelling
    ends = (
        ("from", False, interval.start_rule, lower),
        ("to", True, interval.end_rule, upper),
    )
    for word, is_upper, rule, margin in ends:
        figure = end_words(interval, is_upper)
        if figure:
            yield f"{word} {figure} {unit}".rstrip() + f" by {rule}{_margin(margin)}"


def _margin(margin: float | None) -> str:
    if margin is None:
        return ""
    share = f"{abs(100 * margin):.3g} %"
    return f", margin {share}" if margin >= 0 else f", missed by {share}"


def _figures(window: Window) -> Notes:
    """Give the preferred values, those with others changed along where these differ."""
    if window.preferred:
        yield "Preferred", _listed(window, window.preferred)
    elif window.intervals and window.figure_rules:
        yield "Preferred", "none that meets the rule on figures as well"
    if window.tied is not None and set(window.tied.preferred) - set(window.preferred):
        yield "", f"{_listed(window, window.tied.preferred)}, together"


def _listed(window: Window, figures: Sequence[str]) -> str:
    """List the figures nearest to the present value, in rising order."""
    near = list(figures)
    if window.present is not None:
        number = float(window.present.number)
        near.sort(key=lambda text: abs(float(text) - number))
    # The search itself ends somewhere, and there may be others without end.
    endless = len(figures) >= MOST_PREFERRED
    shown = sorted(near[: FEW_LISTED if endless else MOST_LISTED], key=float)
    words = f"{', '.join(shown)} {window.unit.spelling}".rstrip()
    more = len(figures) - len(shown)
    if endless:
        return f"{words} and others farther off"
    return words + (f" and {more} more" if more else "")


def _counted_out(choices: Choices) -> str:
    """List the permissible values around the present one, and how many others."""
    good = choices.permissible
    at = good.index(choices.present) if choices.present in good else 0
    first = max(0, min(at - MOST_CHOICES // 2, len(good) - MOST_CHOICES))
    shown = good[first : first + MOST_CHOICES]
    more = len(good) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")


def choice_notes(choices: Choices) -> Notes:
    """Give what there is to say of a setting with a list of values."""
    broken = {option.text: option.broken for option in choices.options}
    rules = ", ".join(broken.get(choices.present, ()))
    standing = f"not permissible by {rules}" if rules else "permissible"
    if choices.present not in broken:
        standing = "none of the values that there are to choose from"
    now = f"{choices.present}, {standing}" if choices.present else "not written"
    yield "Now", now
    good = _counted_out(choices)
    yield "Permissible", good or f"nothing. {_conflict(choices.conflict)}"
    others = dict.fromkeys(rule for each in broken.values() for rule in each)
    if good and others:
        yield "Else broken", ", ".join(others)
    if choices.not_assessed:
        yield "Not assessed", ", ".join(choices.not_assessed)
    yield from _not_counted(choices.not_counted)
