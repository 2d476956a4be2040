"""Reports for the tests of outputs: with something of every kind, or of many findings.

What is hostile is in one place, so that each output is held against all of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from configlint.concessions import Concession
from configlint.effects import Amount
from configlint.engine import CONCEDED, OUTCOMES
from configlint.errors import Place
from configlint.findings import Finding, Subject
from configlint.meters import UnreadMeter
from configlint.proposals import Advice, Change
from configlint.report import Commit, LeftOpen, MeterResult, Report, Since
from configlint.rule_files import BasisModel
from configlint.rules import Edition, ReadingRule
from configlint.workspace import LeftOut
from tests.builders import EFFECT, FINDING

__all__ = [
    "CONCEDED_FINDING",
    "FULL",
    "HOSTILE",
    "RULE",
    "SINCE",
    "UNREAD",
    "WORST",
    "hostile_finding",
    "make_findings",
    "make_meter",
    "make_report",
]

HOSTILE: Mapping[str, str] = {
    "line ends": "FT-1\nHeld at A\r\nno\rmore\u2028lines\u0085here",
    "a command": "::error file=a.yaml,line=1::taken",
    "a command behind a line end": "FT-1\n::add-mask::FT",
    "a command of the older kind": "FT-1 ##[add-mask]FT ##vso[task.complete]",
    "encoded line ends": "FT-1%0A::warning::taken%0D%25",
    "an escape sequence": "\x1b[31mFT-1\x1b]0;title\x07\x9b2J",
    "direction marks": "FT-1\u202e1-TF\u2066\u200f\ufeff",
    "HTML": "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "Markdown": "[x](https://x.invalid) ![y](z) `a` **b** | c | <!-- @all #1",
    "a table row": "| a | b |\n| --- | --- |",
    "a formula": "=cmd|' /C calc'!A0",
    "formulas of other signs": "@SUM(A1);+1;\t=1;-1;＝1",
    "the end of a section": "]]></failure><testcase name='taken'/>&amp;",
    "signs that XML has not": "a\x00b\x01c\x0bd\ufffee\uffff",
    "half a pair": "half\ud800pair\udcff",
    "a path that leads out": "../../etc/passwd",
    "quotes": '"a",\'b\',\\"c\\\\',
    "places to fill in": "{0} {{1}} {meter} %s ${{ github.token }} $(id)",
    "a long text": "long " * 5000,
}
"""Texts that would do something somewhere, by what they are."""

RULE = ReadingRule(
    id="bore-right",
    ruleset="own",
    category="B",
    asks="Is the bore right?",
    basis=BasisModel(practice="Common"),
    remedy="Correct it.",
)
CONCESSION = Concession(
    rule="bore-right",
    meter="FT-1",
    site="north",
    fingerprint="",
    bounds=(),
    reason="It is replaced in spring.",
    granted_by="invented engineer",
    granted_on=date(2026, 1, 2),
    expires_on=date(2026, 6, 30),
    place=Place("concessions.yaml", 4, 5),
    number=0,
)
CONCEDED_FINDING = replace(
    FINDING,
    fingerprint="c0ceded000000000",
    category="A",
    outcome=CONCEDED,
    concession=CONCESSION,
)
"""A finding of the most urgent category that is conceded."""

WORST = replace(
    FINDING,
    fingerprint="a000000000000000",
    category="A",
    rule="scale-agrees",
    effect=EFFECT,
    values={"sensor.bore": Amount(-80.0, "mm"), "meter": "FT-1", "locked": True},
    limits={"lowest": Amount(0.1, "")},
    margin=-0.25,
    assumptions=("The limit is changed by policy.",),
    advice=(Advice("nearest permissible", (Change("sensor.bore", "100 mm"),)),),
)
"""A finding with something in every part but a concession."""

UNREAD = (
    UnreadMeter(Place("FT-2.yaml", 2, 12), "FT-2", "principle is not written."),
    UnreadMeter(Place("pumps.yaml"), "", "meter is not written."),
)
"""Two meters that can't be read far enough to be judged, one without a tag."""

SINCE = Since(Commit("main", "0123456789abcdef" * 2), ("a000000000000000",), 3)


def make_meter(
    subject: Subject = FINDING.subject,
    met: tuple[str, ...] = ("size-agrees",),
    left_open: tuple[LeftOpen, ...] = (LeftOpen("bore-known", ("sensor.bore",)),),
    wrong: int = 1,
) -> MeterResult:
    """Make a meter's result: the rules it meets and those left open."""
    counts = dict.fromkeys(OUTCOMES, 0)
    counts |= {"conforms": len(met), "nonconforming": wrong}
    counts["not-assessed"] = len(left_open)
    return MeterResult(subject, counts, left_open, met)


def make_report(*findings: Finding, meters: tuple[MeterResult, ...] = ()) -> Report:
    """Make a report of some findings, judged by one rule set with one rule."""
    editions = (Edition("own", "7", "0f"),)
    return Report(editions, meters, findings, 1, rules=(RULE,))


def make_findings(count: int, category: str, start: int = 0) -> tuple[Finding, ...]:
    """Make so many findings of a category, each of a meter and a file of its own."""
    return tuple(
        replace(
            FINDING,
            fingerprint=f"{category}{number:015}",
            category=category,
            subject=Subject("plant", "north", f"FT-{number}", f"FT-{number}.yaml"),
            place=Place(f"FT-{number}.yaml", 3, 5),
        )
        for number in range(start, start + count)
    )


def hostile_finding(text: str) -> Finding:
    """Make a finding with one text wherever a file's text may stand."""
    values: dict[str, Amount | str | bool] = {text: text, "bore": Amount(1.0, "mm")}
    change = Change(text, text)
    return replace(
        FINDING,
        fingerprint="b000000000000000",
        subject=Subject(text, text, text, text),
        place=Place(text, 3, 5),
        pointer=f"/{text}",
        rule=text,
        message=text,
        values=values,
        limits={text: Amount(1.0, "")},
        assumptions=(text,),
        remedy=text,
        basis=text,
        effect=EFFECT._replace(of=text),
        advice=(Advice("nearest permissible", (change,), text),),
    )


FULL = replace(
    make_report(FINDING, WORST, CONCEDED_FINDING, meters=(make_meter(),)),
    left_out=(LeftOut("pumps.yaml", "it lies in no site's folder"),),
    not_judged=UNREAD,
    run_date=date(2026, 5, 4),
    since=SINCE,
    rules_from=Commit("release", "fedcba9876543210" * 2),
)
"""A report with something in each of its parts."""
