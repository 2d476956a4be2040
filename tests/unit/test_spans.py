"""Laws of a span in words: both ends inside it, with as many digits as it needs."""

from __future__ import annotations

import pytest

from configlint.spans import end_words, span_words
from configlint.units import DIMENSIONLESS, unit_named
from configlint.window import Interval

LITRE = unit_named("l")


def span(
    start: float | None, end: float | None, has_start: bool = True, has_end: bool = True
) -> Interval:
    """Give an interval without rules."""
    return Interval(start, end, "", "", has_start, has_end)


@pytest.mark.parametrize(
    ("interval", "words"),
    [
        (span(0.5, 20.0), "0.5 to 20 l"),
        (span(0.0, 27.77777, has_start=False), "above 0 to 27.77 l"),
        (span(19.44444, 450.0), "19.45 to 450 l"),
        (span(699.930007, 700.070007), "699.9301 to 700.07 l"),
        (span(1.0234, 1.0234), "1.0234 l"),
        (span(None, 20.0), "up to 20 l"),
        (span(None, 3.6, has_end=False), "below 3.6 l"),
        (span(3.6, None), "3.6 l or more"),
        (span(3.6, None, has_start=False), "above 3.6 l"),
        (span(None, None), "any value"),
        (span(-7.0, 7.0), "-7 to 7 l"),
    ],
)
def test_a_span_is_said_with_its_ends(interval: Interval, words: str) -> None:
    """A reader sees from where to where, and whether a limit itself is permissible."""
    assert span_words(interval, LITRE) == words


def test_a_plain_number_has_no_unit() -> None:
    """Behind a span of plain numbers nothing stands."""
    assert span_words(span(1.0, 2.0), DIMENSIONLESS) == "1 to 2"


@pytest.mark.parametrize("number", [706.8583470577, 1 / 3, 1234567.8, 0.000123456])
def test_an_end_is_rounded_into_its_span(number: float) -> None:
    """What is told of an end lies inside the span, to four digits."""
    low = float(end_words(span(number, 2 * number), upper=False))
    high = float(end_words(span(number / 2, number), upper=True))
    assert high <= number <= low
    assert low == pytest.approx(number, rel=1e-3)
    assert high == pytest.approx(number, rel=1e-3)


def test_there_is_no_end_without_a_bound() -> None:
    """Of an end that nothing bounds there are no words."""
    assert end_words(span(None, None), upper=True) == ""
