"""Laws of plain scalars on random figures: what YAML 1.1 reads otherwise is told."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable

import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from configlint.plain_scalars import read_otherwise


def read_by_1_1(text: str) -> object:
    """Read a plain scalar as PyYAML's own safe loader, a YAML 1.1 reader, does."""
    loader = yaml.SafeLoader("")
    resolve: Callable[..., str] = loader.resolve
    tag = resolve(yaml.ScalarNode, text, (True, False))
    return loader.construct_object(yaml.ScalarNode(tag, text))


def read_by_core(text: str) -> object:
    """Read a number of the YAML 1.2 core schema by Python's own number grammar."""
    if "_" in text or not text.isascii():
        return text
    try:
        return int(text, 0) if re.match("0[ox]", text) else float(text)
    except ValueError:
        return text


SAME_IN_BOTH = (datetime.date, type(None))
FIGURES = st.one_of(
    st.text("0123456789+-.:_eExobFn", max_size=12),
    st.from_regex(r"[-+]?[0-9]{1,4}(:[0-9]{1,2}){0,3}(\.[0-9]{0,3})?", fullmatch=True),
    st.from_regex(r"[-+]?(0[box]?)?[0-9a-f_]{1,8}", fullmatch=True),
    st.from_regex(
        r"[-+]?[0-9_]{0,4}\.?[0-9_]{0,4}([eE][-+]?[0-9]{1,3})?", fullmatch=True
    ),
    st.from_regex(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}( [0-9:.]{5,10}Z?)?", fullmatch=True),
    st.sampled_from(["yes", "Yes", "YES", "yEs", "no", "on", "ON", "off", "y", "n"]),
    st.sampled_from(["true", "True", "null", ".inf", ".nan", "+.INF"]),
)


@settings(max_examples=2000)
@given(FIGURES)
@example("0b_")
@example("1:20:30.1")
@example("1" * 400 + ".")
@example("٣")
def test_the_other_reading_is_that_of_yaml_1_1(text: str) -> None:
    """What is told is PyYAML's reading; where nothing is told both readings agree."""
    told = read_otherwise(text)
    if text in {"y", "n", "Y", "N"}:
        assert told == ("true" if text in "yY" else "false")
        return
    try:
        other = read_by_1_1(text)
    except ValueError:
        # PyYAML stops at a month 13, and at a binary figure without digits.
        assert told is None
        return
    if told is None:
        by_core = read_by_core(text)
        assert (
            isinstance(other, SAME_IN_BOTH)
            or text.lower() in {"true", "false"}
            or text.strip("+-").lower() in {".inf", ".nan", "inf", "nan"}
            or other == by_core
            or (isinstance(by_core, float) and math.isnan(by_core))
        )
    elif isinstance(other, bool):
        assert told == str(other).lower()
    elif isinstance(other, str):
        assert told == f'the text "{text}"'
        assert not isinstance(read_by_core(text), str)
    else:
        assert told == str(other)
        assert other != read_by_core(text)
