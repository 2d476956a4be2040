"""The meters around a change: read once, and judged anew only where it can matter.

A change of one file makes nothing new of another file but by rules across meters, by
concessions, and where two meters share a tag, since equal findings are numbered then.
A file around that has to do with none of these is read for the rules across meters
alone. What comes out is what judging all files in full would find new, gone and
remaining.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from configlint.bench import Bench
from configlint.check import make_benches, no_cycle_search, report_of
from configlint.documents import read_document
from configlint.engine import recompute
from configlint.judged import JudgedFile, JudgedMeter, read_source
from configlint.meters import MeterEntry, read_meters
from configlint.report import Report
from configlint.workspace import Source, Sources

__all__ = ["Surroundings"]


class Surroundings:
    """Some files of which a few are going to change.

    `named` are those few, with the bytes that they hold now. Dates are judged as of
    `run_date`. Raises `RunError` where the rules of a workspace can't be taken.
    """

    def __init__(
        self, sources: Sources, named: Sequence[Source], run_date: date | None
    ) -> None:
        self.sources = sources
        self.run_date = run_date
        self.benches = make_benches(sources, run_date)
        with no_cycle_search():
            own = self._judged(named)
            tags = {tag for each in own.values() for tag in _tags_of(each)}
            around = (each for each in sources.files if each.file not in own)
            self.judged = own | {
                source.file: self._look_over(source, tags) for source in around
            }

    def report(self, changed: Sequence[Source] = ()) -> Report:
        """Report on all the files, some of them with other bytes.

        Of a file that is not named it tells what has to do with the named ones.
        """
        with no_cycle_search():
            judged = self.judged | self._judged(changed)
            benches = {space: each.emptied() for space, each in self.benches.items()}
            for source in self.sources.files:
                benches[source.workspace].enter(judged[source.file])
            return report_of(self.sources, benches, self.run_date)

    def _judged(self, sources: Sequence[Source]) -> dict[str, JudgedFile]:
        return {
            each.file: self.benches[each.workspace].judge(each, advise=True)
            for each in sources
        }

    def _look_over(self, source: Source, tags: set[str]) -> JudgedFile:
        """Read a file around as far as it can have to do with meters of some tags."""
        bench = self.benches[source.workspace]
        seen = None if bench.concessions else _compared(bench, source)
        if seen is not None and tags.isdisjoint(_tags_of(seen)):
            return seen
        judged = bench.judge(source, advise=False)
        shares = not tags.isdisjoint(_tags_of(judged))
        return bench.judge(source, advise=True) if shares else judged


def _tags_of(judged: JudgedFile) -> set[str]:
    """Give the tags of a file's meters, of those too that could not be judged."""
    told = {each.finding.subject.meter for each in judged.found}
    return {*told, *(each.subject.meter for each in judged.meters)}


def _compared(bench: Bench, source: Source) -> JudgedFile | None:
    """Read a file for the rules across meters alone; None where a fault is to be told.

    Its meters have no other outcomes, and it has no findings.
    """
    try:
        reading = read_document(read_source(source), source.file)
    except OSError:
        return None
    if reading.faults:
        return None
    meters: list[JudgedMeter] = []
    for number, document in enumerate(reading.documents):
        entries, faults = read_meters(document, bench.book.site_data.marks)
        if faults:
            return None
        meters += (_line_of(bench, source, each, number) for each in entries)
    return JudgedFile(source, tuple(meters))


def _line_of(
    bench: Bench, source: Source, entry: MeterEntry, document: int
) -> JudgedMeter:
    subject = bench.subject(source, entry.meter.meter)
    known = recompute(bench.book.comparing, bench.facts_of(source, entry))
    line = bench.ledger.line(subject.site, known)
    return JudgedMeter(subject, [], source, document, entry.path, line)
