"""Laws of concessions on random input: each concedes what it names, and nothing else.

With any concessions a run finds what it finds without them; what is conceded is of the
rule, the meter, the site and the day that an entry names.
"""

from __future__ import annotations

import copy
import re
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from configlint.bench import Bench
from configlint.conceding import Conceding
from configlint.concessions import OF_CONCESSIONS, matches, read_concessions
from configlint.errors import Place
from configlint.findings import Finding, in_order
from configlint.ledger import Ledger
from configlint.meters import UnreadMeter
from configlint.report import Report
from configlint.review.concession_text import Entry, put_entries
from configlint.review.scalar_text import is_one_line
from configlint.sites import NO_WORKSPACE, Site, Workspace
from configlint.workspace import Source
from tests.sound_meters import meter_text

TEXT = meter_text(tag="FT-1")
TODAY = date(2026, 6, 1)
SITES = (Site("north", Path("/north")), Site("south", Path("/south")))
WORKSPACE = Workspace("works", Path("/nowhere"), Path("/nowhere/c.yaml"), SITES)


def _misspell(text: str) -> str:
    return f"{text}servise: water\n"


def _misenter(text: str) -> str:
    factor = r"(transmitter:\n(?:  .*\n)*?  calibration_factor: )\S+"
    return re.sub(factor, r"\g<1>2.5", text)


def _repeat(text: str) -> str:
    return text.replace("S-20417", "S-1")


# Ways to break a rule each, of reading, of one meter, and across meters.
BREAKS: Mapping[str, Callable[[str], str]] = {
    "key-known": _misspell,
    "calibration-factor-agrees": _misenter,
    "sensor-serial-unique": _repeat,
}
TAGS = ("FT-1", "FT-12", "FT-2", "FIT-1")
PATTERNS = (*TAGS, "FT-*", "FT-1*", "*", "*-1", "XT-*", None)


class Made(NamedTuple):
    """A meter: its tag, its site, and the rules it is made to break."""

    tag: str
    site: Site | None
    breaks: frozenset[str]


METERS = st.lists(
    st.builds(
        Made,
        st.sampled_from(TAGS),
        st.sampled_from((None, *SITES)),
        st.frozensets(st.sampled_from(sorted(BREAKS))),
    ),
    min_size=1,
    max_size=5,
)
DAYS = st.integers(-400, 400).map(lambda days: TODAY + timedelta(days=days))


class Asked(NamedTuple):
    """An entry: rule, meter, site, its days, and a damping that it is bound to."""

    rule: str
    meter: str | None
    site: str | None
    first: date
    days: int | None
    damping: str | None

    @property
    def last(self) -> date | None:
        """The last day on which it holds."""
        return None if self.days is None else self.first + timedelta(days=self.days)


ENTRIES = st.lists(
    st.builds(
        Asked,
        st.sampled_from(sorted(BREAKS)),
        st.sampled_from(PATTERNS),
        st.sampled_from(("north", "s*", "*", None)),
        DAYS,
        st.integers(0, 1200) | st.none(),
        st.sampled_from(("3 s", "1 s to 9 s", "99 s", None)),
    ),
    max_size=5,
)


@cache
def loaded() -> Bench:
    """Give a bench of the standard rules, which are loaded once."""
    return Bench(NO_WORKSPACE, TODAY)


def run(meters: list[Made], entries: list[Asked]) -> Report:
    """Check some meters with some concessions as of today."""
    bench = copy.copy(loaded())
    bench.workspace = WORKSPACE
    bench.site_rules = dict.fromkeys((None, *WORKSPACE.sites), bench.site_rules[None])
    bench.ledger, bench.cards, bench.findings = Ledger(bench.book), [], []
    bench.taken = []
    text = "".join(map(written, entries))
    read = read_concessions(
        f"concessions:\n{text}".encode(), "concessions.yaml", WORKSPACE, bench.book
    )
    bench.conceding = Conceding(read, bench.conceding.terms, TODAY)
    # Whether a run over files that are not there is whole is not asked here.
    bench.not_judged = [UnreadMeter(Place("other.yaml"), "", "")]
    for number, made in enumerate(meters):
        content = TEXT.replace("meter: FT-1\n", f"meter: {made.tag}\n", 1)
        content = content.replace("S-20417", f"S-2{number}")
        for rule in made.breaks:
            content = BREAKS[rule](content.replace(f"S-2{number}", "S-20417"))
        name = f"{number}.yaml"
        source = Source(name, Path(name), WORKSPACE, made.site, content.encode())
        bench.take(source)
    results, findings = bench.close()
    return Report((), tuple(results), in_order(findings), len(meters))


def written(entry: Asked) -> str:
    """Write an entry."""
    keys = {
        "rule": entry.rule,
        "meter": entry.meter and f"'{entry.meter}'",
        "site": entry.site and f"'{entry.site}'",
        "while": entry.damping and f"{{transmitter.damping: {entry.damping}}}",
        "reason": "It is old",
        "granted_by": "A. Nobody",
        "granted_on": entry.first,
        "expires_on": entry.last,
    }
    lines = [f"{key}: {each}" for key, each in keys.items() if each is not None]
    return "  - " + "\n    ".join(lines) + "\n"


def is_of(entry: Asked, finding: Finding) -> bool:
    """Whether an entry names a finding, by its own words and by nothing else."""
    subject = finding.subject
    last, longest = entry.last, {"A": 365, "B": 3 * 365}.get(finding.category)
    if longest and (last is None or (last - entry.first).days > longest + 1):
        return False
    return (
        entry.rule == finding.rule
        and (entry.meter is None or fits(entry.meter, subject.meter))
        and (entry.site is None or fits(entry.site, subject.site))
        and entry.first <= TODAY
        and (last is None or last >= TODAY)
        and entry.damping != "99 s"
        and {entry.meter, entry.site} - {"*", None} != set()
    )


def fits(pattern: str, text: str) -> bool:
    """Whether a text is of a pattern, by a regular expression."""
    parts = map(re.escape, pattern.split("*"))
    return re.fullmatch(".*".join(parts), text, re.DOTALL) is not None


@settings(max_examples=60)
@given(METERS, ENTRIES)
def test_a_concession_concedes_what_it_names_and_nothing_else(
    meters: list[Made], entries: list[Asked]
) -> None:
    """What is open and what is conceded is all that is found without concessions."""
    without, report = run(meters, []), run(meters, entries)
    own = [each for each in report.findings if each.rule not in OF_CONCESSIONS]
    prints = {each.fingerprint for each in own}
    assert prints == {each.fingerprint for each in without.findings}
    assert len(own) == len(without.findings)
    for finding in own:
        named = [entry for entry in entries if is_of(entry, finding)]
        if finding.concession is None:
            assert finding.outcome == "nonconforming"
            # A year and a leap day are a year or not, which is held elsewhere.
            assert all(entry.days in (366, 1096) for entry in named)
        else:
            assert finding.outcome == "conceded"
            assert entries[finding.concession.number] in named
    assert report.conceded + len(report.open_findings) == len(report.findings)
    assert sum(report.by_category.values()) == len(report.open_findings)


@settings(max_examples=40)
@given(METERS, ENTRIES)
def test_a_conceded_outcome_was_nonconforming(
    meters: list[Made], entries: list[Asked]
) -> None:
    """Meter by meter, only nonconforming outcomes become conceded ones."""
    without, report = run(meters, []), run(meters, entries)
    for before, after in zip(without.meters, report.meters, strict=True):
        first, second = Counter(before.outcomes), Counter(after.outcomes)
        first["nonconforming"] -= second["conceded"]
        first["conceded"] += second["conceded"]
        assert first == second
        assert (before.met, before.left_open) == (after.met, after.left_open)


LETTERS = st.text("ab*", max_size=7)


@given(LETTERS, st.text("ab", max_size=9))
def test_patterns_are_those_of_a_regular_expression(pattern: str, text: str) -> None:
    """A star stands for any characters, wherever it is and however many there are."""
    assert matches(pattern, text) is fits(pattern, text)


WORDS = st.text(min_size=1, max_size=30).map(str.strip).filter(is_one_line)
DATED = st.dates(date(2000, 1, 1), date(2100, 1, 1))
GRANTED = st.lists(
    st.builds(
        Entry,
        st.sampled_from(sorted(BREAKS)),
        WORDS,
        st.sampled_from(("north", "south", "")),
        st.from_regex(r"[0-9a-f]{16}", fullmatch=True),
        st.sampled_from(((), (("transmitter.damping", "3.0 s"),))),
        WORDS,
        WORDS,
        DATED,
        st.none(),
    ),
    min_size=1,
    max_size=4,
)
# What people write between and behind entries.
GAPS = st.sampled_from(("", "\n", "  # Next\n", "# Next\n", "\n\n    # Next\n"))
HEADS = st.sampled_from(("", "# Ours\n", "---\n", "\n"))


@given(GRANTED, GRANTED, HEADS, GAPS, st.sampled_from(("\n", "\r\n")))
def test_what_is_put_into_a_file_is_read_back(
    first: list[Entry], second: list[Entry], head: str, gap: str, ending: str
) -> None:
    """Entries come back as given, behind those before, and the rest stays as it was."""
    begun = put_entries("", "c.yaml", first)
    before = f"{head}{begun.text}{gap}".replace("\n", ending)
    put = put_entries(before, "c.yaml", second)
    made = "".join(f"{line}{ending}" for line in put.lines)
    assert put.text.count(made) >= 1
    assert before in {
        put.text[:at] + put.text[at + len(made) :]
        for at in range(len(put.text))
        if put.text.startswith(made, at)
    }
    read = read_concessions(put.text.encode(), "c.yaml", WORKSPACE, loaded().book)
    told = [
        Entry(
            each.rule,
            each.meter,
            each.site,
            each.fingerprint,
            tuple((bound.path, bound.text) for bound in each.bounds),
            each.reason,
            each.granted_by,
            each.granted_on,
            each.expires_on,
        )
        for each in read
    ]
    assert told == [*first, *second]
