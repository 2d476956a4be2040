"""What a person asks to have changed: which meters, which values, by whose word.

A request is `[TAG:]PATH=VALUE`, or `[TAG:]RULE` where the finding of that rule proposes
the value. The tag can be left out for the only meter of a file; where a file holds
several, it names the one that is meant.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import cache
from typing import NamedTuple

from configlint.documents import Document, read_document
from configlint.errors import Fault, Path, RunError
from configlint.fields import Model, is_mapping, may_be_unused, model_in
from configlint.findings import Finding
from configlint.meters import MeterEntry, count_meters, read_meters
from configlint.proposals import KINDS
from configlint.report import Report
from configlint.review.scalar_text import is_one_line
from configlint.review.splice import UNSETTABLE
from configlint.scalars import shown
from configlint.templates import listed
from configlint.workspace import Source

__all__ = [
    "Change",
    "Target",
    "advised_changes",
    "find_targets",
    "in_one",
    "set_changes",
    "settable_paths",
    "text_at",
]

TAG = "meter"
SITE_DATA = "site_data"
_MOST_OFFERED = 3
_MOST_TAGS = 10


class Target(NamedTuple):
    """A meter that can be changed: its file, its document and its place there.

    `document` counts the documents of the file from 0, `others` the further meters of
    the file, readable or not.
    """

    source: Source
    document: int
    entry: MeterEntry
    others: int

    @property
    def tag(self) -> str:
        """The meter's tag."""
        return self.entry.meter.meter


class Change(NamedTuple):
    """One value to be set: of which meter, at which path, and to what text.

    `path` is written as the rules do. `rule` is the one whose finding proposes the
    value, "" where a person gives it.
    """

    target: Target
    path: str
    value: str
    rule: str = ""

    @property
    def steps(self) -> Path:
        """The path in the document."""
        first, _, rest = self.path.partition(".")
        below = (rest,) if first == SITE_DATA else tuple(rest.split("."))
        return (*self.target.entry.path, first, *(step for step in below if step))

    @property
    def before(self) -> str | None:
        """The text that is written now, None where there is none."""
        return text_at(self.target.entry.document, self.steps)


def find_targets(source: Source) -> tuple[Target, ...]:
    """Find the meters in the bytes of a file that can be changed.

    Raises `RunError` where the file can't be read whole, or holds none.
    """
    reading = read_document(source.data or b"", source.file)
    unread = [fault for fault in reading.faults if fault.kind == "file-readable"]
    if unread:
        raise RunError(*unread)
    count = sum(map(count_meters, reading.documents))
    faults: list[Fault] = []
    targets: list[Target] = []
    for number, document in enumerate(reading.documents):
        entries, wrong = read_meters(document)
        faults += wrong
        targets += (Target(source, number, entry, count - 1) for entry in entries)
    if not targets:
        raise RunError(*faults)
    return tuple(targets)


def set_changes(text: str, targets: Sequence[Target]) -> tuple[Change, ...]:
    """Read `[TAG:]PATH=VALUE` as changes of the meters that it means.

    Blanks around the parts are dropped. Raises `RunError` where no meter is meant, no
    such value exists, or a file could not hold it.
    """
    meant, rest = _meant(text, targets)
    path, _, value = (part.strip() for part in rest.partition("="))
    return tuple(_checked(Change(target, path, value)) for target in meant)


def advised_changes(
    text: str, targets: Sequence[Target], report: Report
) -> Iterator[Change]:
    """Read `[TAG:]RULE` as the changes that the findings of the rule propose.

    Raises `RunError` where a meter that is meant has no such finding, or the finding
    proposes nothing.
    """
    meant, rule = _meant(text, targets)
    known = [each.id for each in report.rules]
    if rule not in known:
        advice = _nearest(rule, known, "`configlint rules list` lists them all.")
        raise _refusal(meant[0], f"There is no rule {shown(rule)}.", advice)
    for target in meant:
        for path, value in _advice(target, rule, report.findings):
            yield _checked(Change(target, path, value, rule))


def in_one(changes: Iterable[Change]) -> tuple[Change, ...]:
    """Give each change once; raise `RunError` where two want one value differently."""
    kept: dict[tuple[str, int, Path], Change] = {}
    for change in changes:
        target = change.target
        key = (target.source.file, target.document, change.steps)
        first = kept.setdefault(key, change)
        if first.value != change.value:
            both = f"{shown(first.value)} and {shown(change.value)}"
            problem = f"{change.path} of {target.tag}: {both} are asked for."
            raise _refusal(target, problem, "Ask for one of them.")
    return tuple(kept.values())


@cache
def settable_paths(model: type[Model], prefix: str = "") -> tuple[str, ...]:
    """Name every value that a meter of a model can hold, as the rules name it.

    >>> from configlint.meters import PRINCIPLES
    >>> paths = settable_paths(PRINCIPLES["electromagnetic"])
    >>> [path for path in paths if path.startswith("totalizer")]
    ['totalizer', 'totalizer.unit', 'totalizer.digits', 'totalizer.resolution']
    """
    found: list[str] = []
    for name, field in model.model_fields.items():
        section = model_in(field.annotation)
        if section is None:
            found += [] if is_mapping(field) else [prefix + name]
            continue
        found += [prefix + name] if may_be_unused(field) else []
        found += settable_paths(section, f"{prefix}{name}.")
    return tuple(found)


def text_at(document: Document, path: Path) -> str | None:
    """Give the text that a document holds at a path, None where there is none."""
    value = document.value
    for step in path:
        if isinstance(value, list) and isinstance(step, int):
            value = value[step]
        else:
            value = value.get(step) if isinstance(value, dict) else None
    return value if isinstance(value, str) else None


def _meant(text: str, targets: Sequence[Target]) -> tuple[list[Target], str]:
    """Find the meters that a request means, and what it asks of them."""
    tags = {target.tag for target in targets}
    named = [tag for tag in tags if text.strip().startswith(f"{tag}:")]
    if not named:
        return _only_ones(text, targets), text.strip()
    tag = max(named, key=len)
    meant = [target for target in targets if target.tag == tag]
    if len(meant) == 1:
        return meant, text.strip().removeprefix(f"{tag}:").strip()
    first, second, *_ = (each.entry.document.place(each.entry.path) for each in meant)
    problem = f"Two meters have the tag {shown(tag)}, here and at {second}."
    fault = Fault(UNSETTABLE, first, problem, "Name the file of one of them alone.")
    raise RunError(fault)


def _only_ones(text: str, targets: Sequence[Target]) -> list[Target]:
    """Give all meters, where no tag is given; each must be the only one of its file."""
    known = sorted({target.tag for target in targets})
    before, colon, _ = text.partition("=")[0].rpartition(":")
    if colon:
        problem = f"No meter {shown(before.strip())} can be changed here."
        there = f"The tags here are {', '.join(known[:_MOST_TAGS])}."
        raise _refusal(targets[0], problem, _nearest(before.strip(), known, there))
    for target in targets:
        if target.others:
            problem = f"The file holds {target.others + 1} meters, and none is named."
            advice = (
                f"Write the tag of the one that is meant first: {known[0]}:{text}. "
                f"The tags here are {', '.join(known[:_MOST_TAGS])}."
            )
            raise _refusal(target, problem, advice)
    return list(targets)


def _checked(change: Change) -> Change:
    """Let a change pass whose path is known and whose value a line can hold."""
    path, target = change.path, change.target
    if path == TAG:
        problem = "The tag names the meter, in findings and concessions too."
        raise _refusal(target, problem, "Change it by hand.")
    if not _is_known(path, settable_paths(type(target.entry.meter))):
        raise _unknown(change, settable_paths(type(target.entry.meter)))
    if not change.value:
        problem = f"{path}: no value is given."
        raise _refusal(target, problem, "Write it, or delete the line by hand.")
    if not is_one_line(change.value):
        problem = f"{path}: {shown(change.value)} is not one line of plain text."
        raise _refusal(target, problem, "Write it without breaks, tabs and the like.")
    return change


def _is_known(path: str, known: Collection[str]) -> bool:
    return path in known or (path.startswith(f"{SITE_DATA}.") and path[-1] != ".")


def _unknown(change: Change, known: Sequence[str]) -> RunError:
    path = change.path
    inside = [each for each in known if each.startswith(f"{path}.")]
    if path == SITE_DATA or inside:
        example = inside[0] if inside else f"{SITE_DATA}.NAME"
        advice = f"Name a value in it, such as {example}."
        return _refusal(change.target, f"{path} is a section.", advice)
    problem = f"{shown(path)} is no value of a meter."
    advice = _nearest(path, known, "`configlint rules names` lists them all.")
    return _refusal(change.target, problem, advice)


def _nearest(word: str, known: Sequence[str], otherwise: str) -> str:
    """Offer the known words that are near, or end alike; or say where all stand."""
    alike = [each for each in known if each.endswith(f".{word.rpartition('.')[2]}")]
    near = difflib.get_close_matches(word, known, _MOST_OFFERED, 0.6)
    offered = list(dict.fromkeys([*alike, *near]))[:_MOST_OFFERED]
    return f"Write {' or '.join(offered)}, if that is meant." if offered else otherwise


def _advice(
    target: Target, rule: str, findings: Iterable[Finding]
) -> tuple[tuple[str, str], ...]:
    """Give the paths and values that a meter's finding proposes, the preferred ones."""
    found = [
        each
        for each in findings
        if each.rule == rule
        and (each.subject.file, each.subject.meter) == (target.source.file, target.tag)
    ]
    if not found:
        problem = f"{target.tag} has no finding of the rule {rule}."
        raise _refusal(target, problem, "Run `configlint check` on the file.")
    _refuse_two_ways(target, rule, found[0])
    advice = {each.kind: each.changes for one in found for each in one.advice}
    # A preferred value is taken before one that is merely permissible.
    for kind in reversed(KINDS):
        if kind in advice:
            return advice[kind]
    _refuse_hidden(target, found[0])
    problem = f"The finding of {rule} proposes no value for {target.tag}."
    raise _refusal(target, problem, f"What to do about it: {found[0].remedy}")


def _refuse_hidden(target: Target, finding: Finding) -> None:
    """Say why no value is proposed where faults of one reading hide one another."""
    effect = finding.effect
    others = listed(effect.others or effect.counts) if effect is not None else ""
    if others:
        problem = (
            f"The finding of {finding.rule} proposes no value of its own for "
            f"{target.tag}, since it bears on one reading together with {others}, and "
            "correcting one alone can make that worse."
        )
        example = f"--set '{target.tag}:PATH=VALUE'"
        advice = f"Set all of them together: {example} {example}. {finding.remedy}"
        raise _refusal(target, problem, advice)


def _refuse_two_ways(target: Target, rule: str, finding: Finding) -> None:
    """Refuse to choose which of two values that disagree is right."""
    ways = [each for each in finding.advice if each.if_right]
    if len(ways) > 1:
        problem = f"{rule} of {target.tag} can be met in two ways, and only the plant "
        told = " or ".join(
            f"{_settings_words(target, each.changes)} (if {each.if_right} is right)"
            for each in ways
        )
        raise _refusal(target, f"{problem}says which.", f"Write {told}.")


def _settings_words(target: Target, changes: Iterable[tuple[str, str]]) -> str:
    """Write changes as the options that ask for them."""
    return " ".join(f"--set '{target.tag}:{path}={value}'" for path, value in changes)


def _refusal(target: Target, problem: str, advice: str) -> RunError:
    place = target.entry.document.place(target.entry.path)
    return RunError(Fault(UNSETTABLE, place, problem, advice))
