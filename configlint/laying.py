"""The meters that a person names, by file, folder or tag, laid out to be looked at."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from configlint.bench import Bench, Laid
from configlint.errors import Fault, Place, RunError
from configlint.files import reported
from configlint.judged import read_source
from configlint.workspace import Source, find_sources, find_workspace

__all__ = ["lay_out"]

NAMING = "Name a meter by its tag, its file or a folder."


def lay_out(
    named: str, workspace_file: Path | None = None, run_date: date | None = None
) -> tuple[Laid, ...]:
    """Lay out the meters that a name leads to: a file, a folder, or a meter's tag.

    A tag is looked for in the workspace around the current folder, else below the
    current folder. Raises `RunError` where there is no such meter, or nothing can
    be read of it.
    """
    path = Path(named)
    if path.exists():
        laid = tuple(_below(path, workspace_file, run_date))
        if laid:
            return laid
        raise _refusal(path, "No meter could be read here.", "Run `check` on it.")
    around = workspace_file or find_workspace(Path.cwd())
    root = around.parent if around else Path()
    laid = tuple(_below(root, workspace_file, run_date))
    found = tuple(each for each in laid if each.subject.meter == named)
    if found:
        return found
    tags = sorted({each.subject.meter for each in laid})
    problem = f"There is no file and no meter {named!r} below {reported(root)}."
    near = difflib.get_close_matches(named, tags)
    advice = f"The nearest tags are {', '.join(near)}." if near else NAMING
    raise _refusal(path, problem, advice)


def _below(
    path: Path, workspace_file: Path | None, run_date: date | None
) -> Iterator[Laid]:
    sources = find_sources([path], workspace_file)
    benches = {each: Bench(each, run_date) for each in sources.workspaces}
    for source in sources.files:
        yield from benches[source.workspace].lay_out(_held(source))


def _held(source: Source) -> Source:
    """Keep what a file holds now, so that all that follows is of the same bytes."""
    try:
        return source._replace(data=read_source(source))
    except OSError:
        # A file that can't be read has no meter.
        return source


def _refusal(path: Path, problem: str, advice: str) -> RunError:
    return RunError(Fault("path-found", Place(str(path)), problem, advice))
