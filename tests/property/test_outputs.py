"""Laws of all outputs at once: any text in any place of a finding arrives inert."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from configlint.errors import Place
from configlint.meters import UnreadMeter
from configlint.outputs import FORMATS
from configlint.outputs.csv import cell
from configlint.outputs.markdown import plain
from configlint.outputs.sarif_bounds import LONGEST
from configlint.outputs.text import inert, shortened
from configlint.report import LeftOpen, Report
from configlint.rules import Edition
from configlint.workspace import LeftOut
from tests.builders import FINDING
from tests.readers import (
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
from tests.reports import HOSTILE, RULE, hostile_finding, make_meter, make_report

READERS: Mapping[str, Callable[[str], object]] = {
    "text": assert_lines_inert,
    "json": read_json,
    "coverage": assert_lines_inert,
    "markdown": read_html_of,
    "csv": read_csv,
    "ndjson": read_json_lines,
    "sarif": read_sarif,
    "junit": read_junit,
    "github": read_annotations,
    "gitlab": read_code_quality,
}
"""A strict reader for each format, which refuses what is not inert."""

# Characters that mean something to some format, beside those that hypothesis likes.
SIGNS = st.text(st.sampled_from("\n\r\t:#%,;=+-@<>&\"'`*_|[]{}()!\\/ \x1b\x00\u202eAé"))
ANY = st.one_of(
    st.text(st.characters()), SIGNS, st.sampled_from(list(HOSTILE.values()))
)


def hostile_report(text: str) -> Report:
    """Make a report with one text wherever a file's text may stand."""
    finding = hostile_finding(text)
    meter = make_meter(
        finding.subject, (text,), (LeftOpen(text, (text, "sensor.bore")),)
    )
    made = make_report(finding, FINDING, meters=(meter,))
    rule = replace(RULE, id=text, ruleset=text, asks=text, remedy=text)
    return replace(
        made,
        editions=(Edition(text, text, "0f"),),
        left_out=(LeftOut(text, text),),
        not_judged=(UnreadMeter(Place(text), text, text),),
        rules=(rule, replace(RULE, id=f"{text}'")),
    )


def test_every_format_has_a_reader() -> None:
    """No format is left out of what is held here."""
    assert READERS.keys() == FORMATS.keys()


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_what_is_hostile_arrives_inert(form: str, text: str) -> None:
    """Each text that would do something somewhere does nothing in any format."""
    READERS[form](FORMATS[form](hostile_report(text), "B"))


@pytest.mark.parametrize("form", FORMATS)
@given(text=ANY)
def test_any_text_arrives_inert(form: str, text: str) -> None:
    """Whatever stands in a file, a report of it is read back, and commands nobody."""
    READERS[form](FORMATS[form](hostile_report(text), "B"))


@given(ANY)
def test_any_text_is_told_whole_by_the_formats_for_software(text: str) -> None:
    """What is escaped for JSON is read back as it was; SARIF cuts what is long."""
    report = hostile_report(text)
    found = json.loads(FORMATS["json"](report, "B"))["findings"][0]
    line = json.loads(FORMATS["ndjson"](report, "B").split("\n")[0])
    assert line == {"kind": "finding", **found}
    assert found["message"] == found["meter"] == text
    run = json.loads(FORMATS["sarif"](report, "B"))["runs"][0]
    told = {each["properties"]["meter"] for each in run["results"]}
    assert told == {shortened(text, LONGEST), FINDING.subject.meter}


@given(ANY)
def test_what_is_inert_stays_as_it_is(text: str) -> None:
    """A text that was made inert once is not changed when it is made so again."""
    assert inert(inert(text)) == inert(text)
    assert cell(cell(text)) == cell(text)


@given(st.text(st.characters(categories=["L", "N"]), max_size=100))
def test_usual_text_stays_as_it_is(text: str) -> None:
    """Letters and figures of any script stand for themselves in every format."""
    assert inert(text) == cell(text) == text
    assert plain(text) in (text, text.replace("www", "www&#8288;"))
