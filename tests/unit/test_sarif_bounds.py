"""Laws of the bounds of a SARIF report: a code host takes it, and cuts nothing off."""

from __future__ import annotations

import gzip
import json
import random
import re
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from configlint.outputs.sarif import write
from configlint.outputs.sarif_bounds import (
    LONGEST,
    MOST_RESULTS,
    MOST_RULES,
    bounded,
    fitting,
    message,
)
from configlint.rule_files import BasisModel
from tests.builders import FINDING
from tests.readers import read_sarif
from tests.reports import (
    CONCEDED_FINDING,
    RULE,
    hostile_finding,
    make_findings,
    make_report,
)

HOST_TAKES = 1_024
"""Characters of a description that a code host takes (its documentation)."""

HOST_TAKES_PACKED = 10_000_000
"""Bytes of a file packed by gzip that a code host takes (its documentation)."""


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ("{0} of {meter}", "{{0}} of {{meter}}"),
        ("[x](1)", "[x] (1)"),
        ("a\nb", r"a\nb"),
        ("x" * 2000, f"{'x' * 999}…"),
    ],
)
def test_a_message_has_nothing_to_fill_in(words: str, text: str) -> None:
    """Braces, links and control characters of a text are none in a message."""
    assert message(words) == {"text": text}


@given(
    st.lists(st.text(st.sampled_from("ab{}[]() \x00\n") | st.characters()), min_size=1)
)
def test_any_message_is_bounded(words: list[str]) -> None:
    """Whatever is said and however much, it is short, and nothing is filled in."""
    (text,) = message(*words, "{" * 3000, *words).values()
    assert len(text) <= LONGEST
    assert "](" not in text
    assert not re.search("[{}]", text.replace("{{", "").replace("}}", ""))
    assert text.replace("\n", "").isprintable()


@given(st.lists(st.text("ab c", max_size=60), min_size=1, max_size=16))
def test_a_message_that_fits_is_whole(words: list[str]) -> None:
    """Nothing is cut where the whole has room."""
    assert message(*words) == {"text": "\n".join(words)}


def test_the_longest_paragraphs_of_a_message_are_cut() -> None:
    """A long paragraph takes no room from the short ones, which are told whole."""
    (text,) = message(
        "x" * 5000, "Effect: much.", "y" * 700, "To do: mend it."
    ).values()
    first, effect, second, remedy = text.split("\n")
    assert (effect, remedy) == ("Effect: much.", "To do: mend it.")
    assert first == f"{'x' * (len(first) - 1)}…"
    assert second == f"{'y' * (len(second) - 1)}…"
    assert abs(len(first) - len(second)) <= 1
    assert LONGEST - 3 <= len(text) <= LONGEST


def told_of(words: str) -> str:
    """Give what a result says of a finding of some words, with a short remedy."""
    found = replace(FINDING, message=words, remedy="Mend.")
    (result,) = read_sarif(write(make_report(found), "B"))["results"]
    return str(result["message"]["text"])


def test_a_long_finding_is_told_without_its_basis() -> None:
    """Before anything is cut the basis goes, which the rule's description has."""
    found = told_of("x" * 980)
    assert found == f"{'x' * 980}\nTo do: Mend."
    short = told_of("x" * 900)
    assert short.endswith("\nBasis: Common (common practice)")


@pytest.mark.parametrize("text", ["word " * 1000, "{" * 5000, "\x00" * 900])
def test_long_texts_are_cut_everywhere(text: str) -> None:
    """No text of a rule or of a finding is longer than a code host takes."""
    rule = replace(RULE, asks=text, remedy=text, basis=BasisModel(practice=text))
    report = make_report(replace(hostile_finding(text), rule=RULE.id))
    run = read_sarif(write(replace(report, rules=(rule,)), "B"))
    (found,) = run["results"]
    (described,) = run["tool"]["driver"]["rules"]
    for part in ("shortDescription", "fullDescription", "help"):
        assert 0 < len(described[part]["text"]) <= HOST_TAKES
    assert described["fullDescription"]["text"].endswith(
        "close a finding before acceptance."
    )
    assert len(found["message"]["text"]) <= HOST_TAKES
    properties = found["properties"]
    told = [
        *(each for each in properties["values"].values() if isinstance(each, str)),
        *properties["assumptions"],
        *(properties[name] for name in ("meter", "site", "pointer", "remedy")),
    ]
    assert len(told) == 6
    assert all(len(each) <= HOST_TAKES for each in told)


def test_what_is_short_is_left_as_it_is() -> None:
    """Content without long texts comes through as it was."""
    content = {"a": [1.5, None, True, {"b": "x" * LONGEST}], "c": {}}
    assert bounded(content) == content


def test_no_more_results_are_written_than_a_host_keeps() -> None:
    """The worst of many come, in their order, and how many do not is told twice."""
    made = make_report(
        CONCEDED_FINDING,
        *make_findings(3000, "C"),
        *make_findings(2500, "B"),
        *make_findings(400, "A"),
    )
    text = write(made, "B")
    run = read_sarif(text)
    levels = Counter(each["level"] for each in run["results"])
    assert len(run["results"]) == MOST_RESULTS
    assert levels == {"error": 400, "warning": 2500, "note": 2100}
    told = [
        each["partialFingerprints"]["findingFingerprint/v1"] for each in run["results"]
    ]
    assert told == [each.fingerprint for each in made.worst_first[:MOST_RESULTS]]
    assert run["properties"]["results_left_out"] == 901
    assert run["properties"]["categories"] == {"A": 400, "B": 2500, "C": 3000}
    first, *_ = run["invocations"][0]["toolExecutionNotifications"]
    assert first["descriptor"]["id"] == "result-left-out"
    assert first["level"] == "warning"
    assert "901 findings (900 of C, 1 conceded)" in first["message"]["text"]
    assert len(gzip.compress(text.encode())) < HOST_TAKES_PACKED


def test_all_results_are_written_where_a_host_keeps_them() -> None:
    """Of as many as a host keeps none is left out."""
    content = json.loads(write(make_report(*make_findings(MOST_RESULTS, "B")), "B"))
    (run,) = content["runs"]
    assert len(run["results"]) == MOST_RESULTS
    assert run["properties"]["results_left_out"] == 0
    assert run["invocations"][0]["toolExecutionNotifications"] == []


def test_a_file_is_no_larger_than_a_host_takes() -> None:
    """Long texts that pack badly leave room for fewer results, which is told."""
    signs = random.Random(7)
    found = (
        replace(
            each,
            message=f"{signs.getrandbits(4000):x}",
            remedy=f"{signs.getrandbits(4000):x}",
            assumptions=tuple(f"{signs.getrandbits(4000):x}" for _ in range(6)),
        )
        for each in make_findings(MOST_RESULTS, "B")
    )
    text = write(make_report(*found), "B")
    (run,) = json.loads(text)["runs"]
    kept = len(run["results"])
    assert 1000 < kept < MOST_RESULTS
    assert run["properties"]["results_left_out"] == MOST_RESULTS - kept
    assert 8_000_000 < len(gzip.compress(text.encode())) < HOST_TAKES_PACKED


def test_of_too_many_rules_those_that_were_broken_are_described() -> None:
    """A host takes so many rules of a run: of more, those with a result are told."""
    rules = tuple(replace(RULE, id=f"rule-{number:05}") for number in range(MOST_RULES))
    made = make_report(FINDING, replace(FINDING, fingerprint="0", rule="rule-00007"))
    run = read_sarif(write(replace(made, rules=(RULE, *rules)), "B"))
    described = run["tool"]["driver"]["rules"]
    assert [each["id"] for each in described] == [RULE.id, "rule-00007"]
    assert [each["ruleIndex"] for each in run["results"]] == [0, 1]


def test_nothing_fits_beside_a_head_that_is_too_large() -> None:
    """Entries are taken as long as there is room for them, and none beyond that."""
    assert fitting({}, [{"a": 1}, {"b": 2}]) == [{"a": 1}, {"b": 2}]
    signs = random.Random(7)
    head = f"{signs.getrandbits(80_000_000):x}"
    assert fitting(head, [{"a": 1}]) == []
