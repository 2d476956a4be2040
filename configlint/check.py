"""The whole flow, from files to a report."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from itertools import chain
from pathlib import Path

from configlint.bench import Bench
from configlint.findings import Subject, in_order
from configlint.report import MeterResult, Report
from configlint.rules import AnyRule
from configlint.workspace import find_sources

__all__ = ["check"]

Advance = Callable[[int, int], None]


def check(
    paths: Iterable[Path],
    workspace_file: Path | None = None,
    advance: Advance = lambda done, total: None,
    run_date: date | None = None,
) -> Report:
    """Check every meter below some paths, each by the rules of its workspace.

    `advance` is told after each file how many of how many are done; dates are
    judged as of `run_date`. Raises
    `RunError` where the run itself can't be done: a path that does not exist, a
    workspace or rule file that can't be taken.
    """
    sources = find_sources(paths, workspace_file)
    benches = {
        workspace: Bench(workspace, run_date) for workspace in sources.workspaces
    }
    with _no_cycle_search():
        for done, source in enumerate(sources.files, start=1):
            benches[source.workspace].take(source)
            advance(done, len(sources.files))
    closed = [bench.close() for bench in benches.values()]
    return Report(
        tuple(dict.fromkeys(chain(*(each.editions for each in benches.values())))),
        tuple(sorted(chain(*(results for results, _ in closed)), key=_subject)),
        in_order(chain(*(findings for _, findings in closed))),
        len(sources.files),
        sources.left_out,
        sum(bench.not_judged for bench in benches.values()),
        run_date,
        _rules(benches.values()),
    )


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
def _no_cycle_search() -> Iterator[None]:
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
