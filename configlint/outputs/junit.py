"""The outcomes as XML in the style of JUnit, which many programs show as test results.

Each meter is a suite and each outcome a case: a nonconformity fails, an outcome that
was not assessed is skipped with what it lacks, one that is conceded passes and says so.
Where that would be too many cases for those who read them, each meter is one case.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple
from xml.etree import ElementTree

from configlint.findings import Finding, Subject
from configlint.outputs.text import counted, finding_words, inert, shortened
from configlint.report import LeftOpen, Report
from configlint.rules import ReadingRule

__all__ = ["MOST_CASES", "write"]

MOST_CASES = 10_000
"""Above so many cases, a file has one for each meter."""

LONGEST_MESSAGE = 1_000
MOST_LISTED = 20


class _Case(NamedTuple):
    """A case by its name; why it fails or is skipped, "" where it does not; its text.

    `category` is the most urgent one of what fails.
    """

    name: str
    failure: str = ""
    skipped: str = ""
    text: str = ""
    category: str = ""


class _Card(NamedTuple):
    """What is known of a meter, or of a file without one."""

    findings: list[Finding]
    left_open: list[LeftOpen]
    met: list[str]

    @property
    def cases(self) -> int:
        """How many cases it comes to."""
        return len(self.findings) + len(self.left_open) + len(self.met)


def write(report: Report, hold_at: str) -> str:
    """Write the outcomes as XML 1.0 in UTF-8, ending in a line feed."""
    cards = _cards(report)
    if sum(card.cases for card in cards.values()) > MOST_CASES:
        cases = [_whole_case(*each) for each in cards.items()]
        suites = [_suite("Flow meter settings", "", "meters", cases)]
    else:
        reading = {each.id for each in report.rules if isinstance(each, ReadingRule)}
        suites = [_meter_suite(*each, reading) for each in cards.items()]
    root = ElementTree.Element("testsuites", name="configlint")
    for name in ("tests", "failures", "errors"):
        root.set(name, str(sum(int(suite.get(name, "0")) for suite in suites)))
    root.extend(suites)
    ElementTree.indent(root)
    text = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _cards(report: Report) -> dict[Subject, _Card]:
    """Gather what a report says of each meter; two of one tag and file are one."""
    cards: dict[Subject, _Card] = defaultdict(lambda: _Card([], [], []))
    for meter in report.meters:
        cards[meter.subject].left_open.extend(meter.left_open)
        cards[meter.subject].met.extend(meter.met)
    for finding in report.findings:
        cards[finding.subject].findings.append(finding)
    return cards


def _meter_suite(
    subject: Subject, card: _Card, reading: Collection[str]
) -> ElementTree.Element:
    cases = [
        *(_finding_case(each, reading) for each in card.findings),
        *map(_open_case, card.left_open),
        *map(_Case, card.met),
    ]
    name = _name(subject)
    return _suite(name, subject.file, name, cases)


def _name(subject: Subject) -> str:
    """Name a meter with its site, or a file."""
    named = (subject.site, subject.meter or subject.file)
    return " ".join(part for part in named if part)


def _finding_case(finding: Finding, reading: Collection[str]) -> _Case:
    """A finding as a case, which has the name that it has when the rule is met.

    A rule about `reading` a file finds something at several places of a meter.
    """
    name = finding.rule
    if name in reading:
        name = f"{name} {finding.pointer}".rstrip()
    text = _text(finding)
    if not finding.is_open:
        return _Case(name, text=text)
    return _Case(name, finding.message, text=text, category=finding.category)


def _text(finding: Finding) -> str:
    place = f"{finding.place.file}, line {finding.place.line}"
    words = [f"{finding.category}  {finding.rule}, {place}", *finding_words(finding)]
    return "\n".join(map(inert, words))


def _open_case(left_open: LeftOpen) -> _Case:
    return _Case(left_open.rule, skipped=f"Not assessed: {_lacks(left_open)}")


def _lacks(left_open: LeftOpen) -> str:
    return f"lacks {', '.join(left_open.missing)}"


def _whole_case(subject: Subject, card: _Card) -> _Case:
    """A meter with all its outcomes as one case."""
    ranked = sorted(card.findings, key=lambda each: (not each.is_open, each.category))
    to_close = [each for each in ranked if each.is_open]
    lines = [_text(each) for each in ranked]
    lines += [inert(f"{each.rule} {_lacks(each)}") for each in card.left_open]
    more = len(lines) - MOST_LISTED
    if more > 0:
        lines[MOST_LISTED:] = [f"and {more} more"]
    text = "\n\n".join(lines)
    name = f"{_name(subject)} ({subject.file})"
    if to_close:
        failure = f"{counted(len(to_close), 'finding')}: {to_close[0].message}"
        return _Case(name, failure, text=text, category=to_close[0].category)
    left = len(card.left_open)
    skipped = f"{counted(left, 'outcome')} not assessed" if left else ""
    return _Case(name, skipped=skipped, text=text)


def _suite(
    name: str, file: str, owner: str, cases: Iterable[_Case]
) -> ElementTree.Element:
    elements = list(_elements(owner, cases))
    suite = ElementTree.Element("testsuite", name=inert(name))
    counts = {"failures": "failure", "errors": "error", "skipped": "skipped"}
    suite.set("tests", str(len(elements)))
    for attribute, tag in counts.items():
        count = sum(each.find(tag) is not None for each in elements)
        suite.set(attribute, str(count))
    if file:
        suite.set("file", inert(file))
    suite.extend(elements)
    return suite


def _elements(owner: str, cases: Iterable[_Case]) -> Iterator[ElementTree.Element]:
    """Make the cases, of equal names the second and later ones told apart."""
    seen: dict[str, int] = defaultdict(int)
    for case in cases:
        seen[case.name] += 1
        number = f" ({seen[case.name]})" if seen[case.name] > 1 else ""
        name = inert(f"{case.name}{number}")
        yield _element(case, {"classname": inert(owner), "name": name})


def _element(case: _Case, named: dict[str, str]) -> ElementTree.Element:
    element = ElementTree.Element("testcase", named)
    if case.failure:
        message = shortened(inert(case.failure), LONGEST_MESSAGE)
        kind = {"type": f"category {case.category}", "message": message}
        ElementTree.SubElement(element, "failure", kind).text = case.text
    elif case.skipped:
        message = shortened(inert(case.skipped), LONGEST_MESSAGE)
        skipped = ElementTree.SubElement(element, "skipped", {"message": message})
        skipped.text = case.text or None
    elif case.text:
        ElementTree.SubElement(element, "system-out").text = case.text
    return element
