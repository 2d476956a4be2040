"""The whole flow, from files to a report."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from itertools import chain
from pathlib import Path

from configlint.bench import Bench
from configlint.findings import Subject, in_order
from configlint.report import MeterResult, Report
from configlint.rules import AnyRule
from configlint.workspace import Sources, Workspace, find_sources

__all__ = ["check", "check_sources", "make_benches", "no_cycle_search", "report_of"]

Advance = Callable[[int, int], None]


def check(
    paths: Iterable[Path],
    workspace_file: Path | None = None,
    advance: Advance = lambda done, total: None,
    run_date: date | None = None,
    advise: bool = True,
) -> Report:
    """Check every meter below some paths, each by the rules of its workspace.

    `advance` is told after each file how many of how many are done; dates are judged as
    of `run_date`; with `advise`, findings propose values that would do. Raises
    `RunError` where the run itself can't be done: a path that does not exist, a
    workspace or rule file that can't be taken.
    """
    sources = find_sources(paths, workspace_file)
    return check_sources(sources, advance, run_date, None, advise)


def check_sources(
    sources: Sources,
    advance: Advance = lambda done, total: None,
    run_date: date | None = None,
    benches: Mapping[Workspace, Bench] | None = None,
    advise: bool = True,
) -> Report:
    """Check every meter of some files, as `check` does of those it finds.

    `benches` are those of the files' workspaces, by `make_benches`, where they serve
    for something else as well. Raises `RunError` where the rules of a workspace can't
    be taken.
    """
    if benches is None:
        benches = make_benches(sources, run_date, advise)
    with no_cycle_search():
        for done, source in enumerate(sources.files, start=1):
            benches[source.workspace].take(source)
            advance(done, len(sources.files))
    return report_of(sources, benches, run_date)


def report_of(
    sources: Sources, benches: Mapping[Workspace, Bench], run_date: date | None = None
) -> Report:
    """Settle some benches that hold all of some files, and report on them."""
    closed = [bench.close() for bench in benches.values()]
    return Report(
        tuple(dict.fromkeys(chain(*(each.editions for each in benches.values())))),
        tuple(sorted(chain(*(results for results, _ in closed)), key=_subject)),
        in_order(chain(*(findings for _, findings in closed))),
        len(sources.files),
        sources.left_out,
        tuple(sorted(chain(*(bench.not_judged for bench in benches.values())))),
        run_date,
        _rules(benches.values()),
    )


def make_benches(
    sources: Sources, run_date: date | None = None, advise: bool = True
) -> dict[Workspace, Bench]:
    """Make the bench of each workspace of some files, or raise `RunError`."""
    return {each: Bench(each, run_date, advise) for each in sources.workspaces}


def _rules(benches: Iterable[Bench]) -> tuple[AnyRule, ...]:
    """Give the rules of all workspaces; of one id, the first workspace's."""
    rules: dict[str, AnyRule] = {}
    for bench in benches:
        for rule in bench.book.all_rules:
            rules.setdefault(rule.id, rule)
    return tuple(rules[name] for name in sorted(rules))


def _subject(result: MeterResult) -> Subject:
    """What a result is about; two meters of one tag keep the order of the file."""
    return result.subject


@contextmanager
def no_cycle_search() -> Iterator[None]:
    """Hold Python's search for reference cycles while files are read.

    Documents, meters and outcomes hold no cycles and are freed as they fall out
    of use; the search would walk over all of them again and again, and cost more
    than reading does.
    """
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()
