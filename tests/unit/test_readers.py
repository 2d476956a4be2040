"""Laws of the readers that outputs are held against: they refuse what is wrong."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from configlint.outputs import FORMATS
from tests.readers import (
    assert_code_quality,
    assert_junit,
    assert_lines_inert,
    read_annotations,
    read_code_quality,
    read_csv,
    read_html_of,
    read_json,
    read_json_lines,
    read_junit,
    read_sarif,
)
from tests.reports import FULL

WHOLE = {name: write(FULL, "B") for name, write in FORMATS.items()}
"""A sound text of each format."""


def refused(read: Callable[[str], object], text: str) -> bool:
    """Say whether a reader does not take a text."""
    try:
        read(text)
    except Exception:
        return True
    return False


@pytest.mark.parametrize(
    ("read", "form", "before", "after"),
    [
        (assert_lines_inert, "text", "FT-1", "FT-\x1b1"),
        (assert_lines_inert, "text", "FT-1, north", "::error::FT-1, north"),
        (assert_lines_inert, "text", "The bore is", "The ##[group]bore is"),
        (assert_lines_inert, "coverage", "FT-1", "FT\u202e-1"),
        (read_json, "json", '"meter": "FT-1"', '"meter": "FT-1", "meter": "FT-2"'),
        (read_json, "json", "-0.25", "NaN"),
        (read_json_lines, "ndjson", '"kind":"summary"', '\n"kind":"summary"'),
        (read_sarif, "sarif", '"level":"error"', '"level":"severe"'),
        (read_sarif, "sarif", '"startLine":3', '"startLine":0'),
        (read_sarif, "sarif", '"ruleIndex":0', '"ruleIndex":1'),
        (read_sarif, "sarif", '"uri":"FT-1.yaml"', '"uri":"sites a\\\\FT-1.yaml"'),
        (read_sarif, "sarif", "The bore is", "The {0} is"),
        (read_sarif, "sarif", "The bore is", "The [bore](1) is"),
        (read_sarif, "sarif", '"columnKind":', '"columnKinds":'),
        (read_junit, "junit", 'tests="', 'tests="1'),
        (read_junit, "junit", "<failure", '<failure id="1"'),
        (read_junit, "junit", "The bore is wrong.", "The bore & is."),
        (read_junit, "junit", "testcase", "test"),
        (read_junit, "junit", 'name="bore-known"', 'name="size-agrees"'),
        (read_junit, "junit", 'name="bore-known"', ""),
        (read_junit, "junit", 'classname="', 'line="'),
        (read_junit, "junit", "</failure>", "<remedy/></failure>"),
        (read_code_quality, "gitlab", '"blocker"', '"severe"'),
        (read_code_quality, "gitlab", '"begin": 3', '"begin": "3"'),
        (read_code_quality, "gitlab", '"begin": 3', '"first": 3'),
        (read_code_quality, "gitlab", '"check_name"', '"rule"'),
        (read_code_quality, "gitlab", '"severity"', '"weight": 1, "severity"'),
        (read_code_quality, "gitlab", "a000000000000000", "0123456789abcdef"),
        (read_annotations, "github", "::error ", ":error "),
        (read_annotations, "github", "title=", "titel="),
        (read_annotations, "github", "line=3", "line=3%"),
        (read_annotations, "github", "line=3,col=5", "col=5,line=3"),
        (read_annotations, "github", "line=3", "line=03"),
        (read_annotations, "github", "The bore", "The 50 % bore"),
        (read_annotations, "github", "%2C", ","),
        (read_annotations, "github", "The bore", "The\nbore"),
        (read_csv, "csv", "FT-1,", "=FT-1,"),
        (read_csv, "csv", "The bore is wrong.", '"The bore; =1"'),
        (read_csv, "csv", "FT-1,", "FT-1,,"),
        (read_csv, "csv", "\r\n", "\n"),
        (read_html_of, "markdown", "The bore", "The <b>bore</b>"),
        (read_html_of, "markdown", "The bore", "The [bore](x)"),
        (read_html_of, "markdown", "The bore", "The `bore`"),
        (read_html_of, "markdown", "The bore", "@all the bore"),
        (read_html_of, "markdown", "The bore", "https://x.invalid"),
    ],
)
def test_a_reader_takes_what_is_sound_alone(
    read: Callable[[str], object], form: str, before: str, after: str
) -> None:
    """The text of an output is taken, and with one fault in it refused."""
    text = WHOLE[form]
    read(text)
    assert before in text
    assert refused(read, text.replace(before, after))


def test_the_schemas_of_test_results_take_what_others_write(tmp_path: Path) -> None:
    """What the test runner itself writes is valid: the schemas are not ours alone."""
    (tmp_path / "test_one.py").write_text("def test_one() -> None:\n    pass\n")
    results = tmp_path / "results.xml"
    command = (sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider")
    run = (*command, f"--junitxml={results}", f"--rootdir={tmp_path}", str(tmp_path))
    subprocess.run(run, cwd=tmp_path, capture_output=True, check=True)
    assert_junit(results.read_text("utf-8"))


def test_the_types_of_a_code_quality_report_take_what_others_write(
    tmp_path: Path,
) -> None:
    """What another program writes for the same host has these members and types."""
    (tmp_path / "one.py").write_text("import os\n")
    command = (sys.executable, "-m", "ruff", "check", "--isolated", "--no-cache")
    run = (*command, "--output-format=gitlab", "one.py")
    written = subprocess.run(run, cwd=tmp_path, capture_output=True, check=False)
    theirs = json.loads(written.stdout)
    assert_code_quality(theirs)
    (ours, *_) = json.loads(WHOLE["gitlab"])
    assert ours.keys() == theirs[0].keys()


def test_the_schema_of_sarif_is_that_of_the_standard() -> None:
    """A log of another version is none that the schema takes."""
    content = json.loads(WHOLE["sarif"])
    content["version"] = "2.0.0"
    assert refused(read_sarif, f"{json.dumps(content)}\n")
