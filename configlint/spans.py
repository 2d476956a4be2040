"""A span of permissible numbers in words, its ends rounded inwards."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR

from configlint.candidates import figure_of, plain, rounded
from configlint.units import Unit
from configlint.window import Interval

__all__ = ["end_words", "span_words"]

DIGITS = 4
NARROW_DIGITS = 7


def span_words(interval: Interval, unit: Unit) -> str:
    """Say from where to where a value may be, in its unit, with both ends inside.

    >>> from configlint.units import unit_named
    >>> span = Interval(0.0, 27.77777, "", "", False, True)
    >>> span_words(span, unit_named("l"))
    'above 0 to 27.77 l'
    """
    start, end = end_words(interval, False), end_words(interval, True)
    behind = f" {unit.spelling}".rstrip()
    if interval.start is not None and interval.start == interval.end:
        return f"{start}{behind}"
    if start and end:
        return f"{start} to {end}{behind}"
    if start:
        return f"{start}{behind}{' or more' if interval.start_included else ''}"
    if end:
        return f"{'up to ' if interval.end_included else ''}{end}{behind}"
    return "any value"


def end_words(interval: Interval, upper: bool) -> str:
    """Write an end of a span with as many digits as it needs, "" where there is none.

    An end that is not permissible itself is told as such: "above 0", "below 3.6".
    """
    number = interval.end if upper else interval.start
    if number is None:
        return ""
    included = interval.end_included if upper else interval.start_included
    if interval.start == interval.end or not number:
        figure = figure_of(number)
    elif included:
        digits = NARROW_DIGITS if interval.is_narrow else DIGITS
        figure = plain(rounded(number, digits, ROUND_FLOOR if upper else ROUND_CEILING))
    else:
        figure = figure_of(float(f"{number:.9g}"))
    return figure if included else f"{'below' if upper else 'above'} {figure}"
