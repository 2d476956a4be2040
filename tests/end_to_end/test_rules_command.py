"""Laws of the command `rules`: what is listed can be shown, wrong calls are told."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.commanding import Run, command_in, refused


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a folder of its own."""
    return command_in(tmp_path, environment)


def test_the_rules_can_be_listed_and_shown(run: Run) -> None:
    """Every listed rule can be shown, in words and for software."""
    listed = json.loads(run("rules", "list", "--report", "json").stdout)
    assert len(listed) > 20
    ids = [each["id"] for each in listed]
    assert ids == sorted(set(ids))
    text = run("rules", "list").stdout
    assert all(f"{each['category']}  {each['id']}\n" in text for each in listed)
    assert max(map(len, text.splitlines())) <= 80
    forms = {"accept" in each: each["id"] for each in listed}
    for name in (*forms.values(), "key-known", "tag-unique"):
        shown = run("rules", "show", name)
        assert shown.returncode == 0
        for title in ("Asks:", "Accept:", "Remedy:", "Basis:"):
            assert title in shown.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("rules", "show", "no-such"), ("'no-such'", "rules list")),
        (("rules", "list", "--report", "xml"), ("'xml'", "text or json")),
        (("rules", "list", "--rules", "nowhere"), ("nowhere",)),
    ],
)
def test_a_wrong_call_about_rules_is_refused(
    run: Run, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """A slip in a call about rules ends with 2 and says what is known."""
    refused(run(*arguments), *words)
