"""How much of the rule set could be assessed, meter by meter, and what would help.

Not assessed is not passed: this report says for each meter how many of the rules
that apply were assessed, and which single input, once written, opens most others. A
meter that can't be read far enough to be judged is named below the others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from configlint.engine import CONCEDED, CONFORMS, NONCONFORMING, NOT_ASSESSED
from configlint.outputs.summary import counted, not_judged_words, unread_entries
from configlint.outputs.text import inert
from configlint.report import MeterResult, Report

__all__ = ["best_input", "share_assessed", "write"]

ASSESSED = (CONFORMS, NONCONFORMING, CONCEDED)


def write(report: Report, hold_at: str) -> str:
    """Write a line for each meter, the least assessed first, then the whole run."""
    meters = sorted(report.meters, key=lambda each: (share_assessed(each), each))
    lines = [*_head(), *(_line(meter) for meter in meters), *_whole(report)]
    return "".join(f"{line}\n" for line in lines)


def share_assessed(meter: MeterResult) -> float:
    """Give the share of the applicable rules that were assessed, from 0 to 1.

    A meter that no rule applies to has nothing left open: its share is 1.

    >>> from configlint.findings import Subject
    >>> outcomes = {"conforms": 3, "nonconforming": 0, "not-assessed": 1,
    ...     "not-applicable": 5, "conceded": 0}
    >>> share_assessed(MeterResult(Subject("", "", "FT-1", "a.yaml"), outcomes, ()))
    0.75
    """
    assessed = sum(meter.outcomes[word] for word in ASSESSED)
    asked = assessed + meter.outcomes[NOT_ASSESSED]
    return assessed / asked if asked else 1.0


def best_input(meter: MeterResult) -> tuple[str, int]:
    """Name the one input that would open most rules by itself, and how many.

    Where every open rule lacks several inputs, none does: ("", 0).
    """
    alone = Counter(
        left_open.missing[0]
        for left_open in meter.left_open
        if len(left_open.missing) == 1
    )
    if not alone:
        return "", 0
    most = max(alone.values())
    return min(name for name, count in alone.items() if count == most), most


def _head() -> Iterator[str]:
    yield "Assessed share of the rules that apply, by meter"
    yield ""


def _line(meter: MeterResult) -> str:
    named = (meter.subject.meter, meter.subject.site)
    owner = inert(", ".join(part for part in named if part))
    left = meter.outcomes[NOT_ASSESSED]
    share = f"{100 * share_assessed(meter):3.0f} %  {owner}"
    if not left:
        return share
    name, opened = best_input(meter)
    if not name:
        return f"{share}: {left} left open, each lacks several inputs"
    return f"{share}: {left} left open; {inert(name)} alone opens {opened}"


def _whole(report: Report) -> Iterator[str]:
    totals = report.by_outcome
    assessed = sum(totals[word] for word in ASSESSED)
    asked = assessed + totals[NOT_ASSESSED]
    yield ""
    share = f"{100 * assessed / asked:.0f} %" if asked else "nothing was asked"
    meters = counted(len(report.meters), "meter")
    yield f"{meters}: {assessed} of {asked} outcomes assessed ({share})"
    yield from not_judged_words(report)
    for words in unread_entries(report):
        yield f"  {inert(words)}"
