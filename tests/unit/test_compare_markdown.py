"""Laws of a comparison for a pull request: whole, bounded, and inert."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from configlint.outputs.markdown import LONGEST, plain
from configlint.report import Commit
from configlint.review.compare import Comparison
from configlint.review.compare_markdown import write
from tests.builders import FINDING
from tests.comparisons import HOSTILE, eventful, without_changes


@pytest.fixture(scope="module")
def comparison(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    """Give a comparison with something of every kind in it."""
    return eventful(tmp_path_factory.mktemp("plant"))


@pytest.mark.parametrize(
    "title",
    [
        "New findings",
        "Settings",
        "Meters",
        "Gone",
        "On both sides, not as before",
        "Rules and policy changed by this change",
        "Not read",
    ],
)
def test_every_kind_of_change_has_its_section(
    comparison: Comparison, title: str
) -> None:
    """What has changed is told, each kind under a heading of its own, once."""
    assert write(comparison, "B").count(f"\n#### {title}\n") == 1


def test_the_verdict_comes_first(comparison: Comparison) -> None:
    """A reviewer reads at once whether the change is held."""
    lines = write(comparison, "B").splitlines()
    assert lines[0] == "### Flow meter settings, before to after"
    assert lines[2].startswith("**Held at B: ")


def test_every_row_has_its_five_cells(comparison: Comparison) -> None:
    """No text of a file makes a cell or a row of its own."""
    rows = [line for line in write(comparison, "B").splitlines() if line[:1] == "|"]
    assert len(rows) > 5
    assert {len(re.findall(r"(?<!\\)\|", row)) for row in rows} == {6}


def test_a_hostile_name_stays_text(comparison: Comparison) -> None:
    """A tag with marks, calls and links in it comes out as the text it is."""
    written = write(comparison, "B")
    assert plain(HOSTILE) in written
    assert "<b>" not in written
    assert re.search(r"@(?!&#8288;)|://|(?<!\\)\[|(?<!\\)`", written) is None
    assert written.replace("\n", "").isprintable()


def test_the_whole_is_bounded_and_says_so(comparison: Comparison) -> None:
    """Beyond what a code host takes, lines are left out and counted."""
    message = "wrong " * 90
    many = tuple(
        replace(FINDING, fingerprint=f"{number:016}", message=message)
        for number in range(1000)
    )
    written = write(replace(comparison, new=many), "B")
    assert len(written) <= LONGEST + 200
    last = written.splitlines()[-1]
    found = re.fullmatch(r"(\d+) lines did not fit; the text and json .*", last)
    assert found is not None
    assert written.count("\n- **B**") + int(found[1]) > 1000


def test_the_judging_revision_is_named(comparison: Comparison) -> None:
    """Where another revision's rules judged, the comment says which."""
    judged = replace(comparison, rules=Commit("base", "0123456789ab"))
    assert "- Judged by the rules of base (0123456789)\n" in write(judged, "B")


def test_nothing_is_listed_where_nothing_changed(comparison: Comparison) -> None:
    """A comparison without any change has no headings but the first."""
    empty = without_changes(comparison)
    assert "####" not in write(empty, "B")
