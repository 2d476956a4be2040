"""Laws of a sheet's head and end: who signs sees which meter it is, and what of it."""

from __future__ import annotations

from configlint.engine import NONCONFORMING
from configlint.findings import Subject
from configlint.sheets import summary_words
from configlint.sheets.standing import Standing
from configlint.sheets.uses import TELLS
from configlint.sheets.worksheet_values import Ends, Entry, Lack, Open, Sheet
from tests.sheet_values import ENTRY, HIGH, IDENTITY, LOW, USE

SUBJECT = Subject("", "", "FT-1", "a.yaml")
SHEET = Sheet(SUBJECT, IDENTITY, "", None, "SI", (), (), (), (), (), 0, 0, 0)


def figures(*keys: Entry | Open) -> list[tuple[str, str]]:
    """Give what is told of key figures."""
    return list(summary_words.key_figures(SHEET._replace(keys=keys)))


def test_what_identifies_a_meter_and_is_not_written_says_so() -> None:
    """A serial number that nobody wrote is a gap on the sheet, not a missing line."""
    told = dict(summary_words.heading(SHEET))
    assert told["Tag"] == "FT-1"
    for label in (
        "Sensor serial",
        "Transmitter serial",
        "Type sheet",
        "Stamped factor",
    ):
        assert told[label] == "not written"
    assert told["Calibration"] == "certificate not written, day not written"
    assert told["Record"] == (
        "revision not written; as left by not written, on not written; approved by "
        "not written"
    )
    assert told["Dates as of"].startswith("no day. ")
    assert "Service" not in told


def test_what_identifies_a_meter_stands_as_written() -> None:
    """Serials, certificate, factors, record and digest are those of the file."""
    known = IDENTITY._replace(
        sensor_serial="S-1",
        certificate="C-9",
        calibrated_on="2025-03-11",
        factors={"Factor": "1.0234", "K-factor": "39.26 pulses/l"},
        as_left_by="Tess Madeup",
        as_left_on="2025-04-02",
        approved_by="Iris Invented",
        revision="3",
    )
    told = dict(summary_words.heading(SHEET._replace(identity=known)))
    assert told["Sensor serial"] == "S-1"
    assert told["Calibration"] == "certificate C-9, day 2025-03-11"
    assert told["Stamped factor"] == "1.0234, 39.26 pulses/l"
    assert told["Record"] == (
        "revision 3; as left by Tess Madeup, on 2025-04-02; approved by Iris Invented"
    )
    assert told["File SHA-256"] == "0" * 64


def test_both_ends_are_told_in_one_line() -> None:
    """A setting stands with the value of either device, and whose it is."""
    ends = Ends("Factor", "a.k", "1.0", "b.k", "1.1", ("stamped", "set"))
    assert list(summary_words.ends(SHEET._replace(ends=(ends,)))) == [
        ("Factor", "1.0 stamped; 1.1 set."),
    ]


def test_a_key_figure_is_told_with_the_nearest_limit() -> None:
    """Of the rules that are met, the nearest is told; one that only quotes is not."""
    near, far = USE._replace(rule="near"), USE._replace(rule="far", bounds=(LOW,))
    unbound = USE._replace(rule="none", bounds=(HIGH._replace(margin=None),))
    quoting = USE._replace(rule="quotes", role=TELLS)
    entry = ENTRY._replace(uses=(far, unbound, near, quoting))
    assert figures(entry) == [
        ("Length", "l = 0 %; near: conforms, 3 m ≤ 4 m, 25 % below.")
    ]
    assert figures(ENTRY._replace(uses=(quoting,))) == [("Length", "l = 0 %.")]


def test_a_key_figure_names_every_rule_that_is_not_met() -> None:
    """What is nonconforming stands beside the figure, whoever judges or quotes it."""
    broken = USE._replace(rule="b", role=TELLS, outcome=NONCONFORMING, bounds=())
    ((_, said),) = figures(ENTRY._replace(uses=(USE, broken)))
    assert said == "l = 0 %; b: nonconforming."


def test_a_key_figure_that_is_open_names_what_it_lacks() -> None:
    """Where it can't be computed, the inputs are named, or why it gives no number."""
    gap = Open("l", "l", "Length", "a", (Lack("x.y", ""),), (), "", ())
    said = "l is not computed; missing: x.y."
    assert figures(gap) == [("Length", said)]
    none = gap._replace(missing=(), why="1 / 0 divides by zero")
    assert figures(none) == [("Length", "l is not computed: 1 / 0 divides by zero.")]


def test_the_rules_that_were_met_are_listed() -> None:
    """Each rule that the meter conforms to is named; those not asked are counted."""
    standing = Standing((), (), {}, "", 0, {}, (), ("a", "b"), ("c",))
    told = list(summary_words.rules_checked(SHEET._replace(standing=standing)))
    assert told == [
        ("Conforming, 2", "a, b."),
        ("Not applicable", "1 rule; the json report lists them."),
    ]
    bare = standing._replace(met=(), not_applicable=())
    assert list(summary_words.rules_checked(SHEET._replace(standing=bare))) == [
        ("Conforming, 0", "none."),
        ("Not applicable", "0 rules."),
    ]
    assert list(summary_words.rules_checked(SHEET)) == []
