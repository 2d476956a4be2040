"""Laws of what is asked of a change: which meter is meant, and which value."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.inputs import declared_inputs
from configlint.meters import PRINCIPLES
from configlint.review.adjust_requests import (
    Change,
    Target,
    find_targets,
    in_one,
    set_changes,
    settable_paths,
)
from configlint.workspace import NO_WORKSPACE, Source

ONE = "meter: FT-1\nprinciple: electromagnetic\nsensor: {bore: 80 mm}\n"
TWO = """\
meters:
  - {meter: FT-2, principle: electromagnetic, sensor: {bore: 1 mm}}
  - {meter: "FT-2:b", principle: vortex}
  - {meter: FT-4}
"""


def targets(*texts: str) -> list[Target]:
    """Give the meters of some texts, each a file of its own."""
    sources = (
        Source(
            f"{number}.yaml", Path(f"{number}.yaml"), NO_WORKSPACE, None, text.encode()
        )
        for number, text in enumerate(texts)
    )
    return [target for source in sources for target in find_targets(source)]


def asked(text: str, *texts: str) -> list[tuple[str, str, str]]:
    """Give what a request means: tag, path and value of each change."""
    changes = set_changes(text, targets(*texts))
    return [(each.target.tag, each.path, each.value) for each in changes]


def refusal(text: str, *texts: str) -> str:
    """Give the fault with which a request is refused."""
    with pytest.raises(RunError) as caught:
        set_changes(text, targets(*texts))
    (fault,) = caught.value.faults
    return str(fault)


def test_the_only_meter_of_a_file_needs_no_name() -> None:
    """Without a tag the change is of the one meter of every file."""
    other = ONE.replace("FT-1", "FT-9")
    assert asked("sensor.bore=81 mm", ONE, other) == [
        ("FT-1", "sensor.bore", "81 mm"),
        ("FT-9", "sensor.bore", "81 mm"),
    ]


def test_a_meter_is_named_by_its_tag() -> None:
    """The longest tag that fits is meant, and blanks around the parts are dropped."""
    assert asked("FT-1:sensor.bore=1 mm", ONE, TWO) == [("FT-1", "sensor.bore", "1 mm")]
    assert asked("FT-2: service = a:b=c ", TWO) == [("FT-2", "service", "a:b=c")]
    assert asked("FT-2:b:service=x", TWO) == [("FT-2:b", "service", "x")]


def test_a_tag_may_hold_any_sign() -> None:
    """A tag with the signs of a request in it is found all the same."""
    text = ONE.replace("FT-1", '"a=b:c.d"')
    assert asked("a=b:c.d:service=x", text) == [("a=b:c.d", "service", "x")]
    assert asked("service=a=b:c", text) == [("a=b:c.d", "service", "a=b:c")]


@pytest.mark.parametrize(
    ("text", "files", "words"),
    [
        (
            "sensor.bore=1 mm",
            (TWO,),
            ("0.yaml:2:5", "3 meters", "FT-2:sensor.bore=1 mm"),
        ),
        ("sensor.bore=1 mm", (ONE, TWO), ("1.yaml:2:5", "3 meters")),
        ("FT-3:sensor.bore=1 mm", (TWO,), ("No meter 'FT-3'", "Write FT-2")),
        (
            "pump:sensor.bore=1",
            (TWO,),
            ("No meter 'pump'", "tags here are FT-2, FT-2:b"),
        ),
        (
            "FT-1:service=x",
            (ONE, ONE),
            ("Two meters have the tag 'FT-1'", "1.yaml:1:1"),
        ),
        ("meter=FT-2", (ONE,), ("The tag names the meter", "by hand")),
        ("sensor=x", (ONE,), ("sensor is a section", "such as sensor.serial")),
        ("site_data=x", (ONE,), ("site_data is a section", "site_data.NAME")),
        ("site_data.=x", (ONE,), ("'site_data.' is no value",)),
        (
            "sensor.calibration_factor=1",
            (ONE,),
            ("sensor.nameplate.calibration_factor or transmitter.calibration_factor",),
        ),
        (
            "sensor.boar=1 mm",
            (ONE,),
            ("'sensor.boar' is no value", "Write sensor.bore"),
        ),
        ("xyz=1", (ONE,), ("'xyz' is no value", "`configlint rules names`")),
        ("=1", (ONE,), ("'' is no value",)),
        ("sensor.k_factor=1", (ONE,), ("is no value of a meter",)),
        ("service=", (ONE,), ("service: no value is given", "delete the line by hand")),
        ("service=a\nb", (ONE,), ("'a\\nb' is not one line", "without breaks")),
        ("service=a\x1bb", (ONE,), ("is not one line",)),
        ("service=\ud800", (ONE,), ("is not one line",)),
    ],
)
def test_a_request_that_can_not_be_met_is_refused(
    text: str, files: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """The refusal says what was asked for, and what can be asked for instead."""
    said = refusal(text, *files)
    for word in words:
        assert word in said


def test_a_file_of_several_meters_tells_their_tags() -> None:
    """Who named none of them sees how to, and which ones there are."""
    said = refusal("sensor.bore=81 mm", TWO)
    assert "first: FT-2:sensor.bore=81 mm. The tags here are FT-2, FT-2:b" in said


def test_many_tags_are_not_all_listed() -> None:
    """Where no tag is near, a few of those that there are show what they look like."""
    many = "meters:\n" + "".join(
        f"  - {{meter: FT-{each}, principle: vortex}}\n" for each in range(100, 200)
    )
    assert refusal("zzzz:service=x", many).count("FT-1") == 10


def test_a_file_must_be_read_whole_and_hold_a_meter() -> None:
    """Of a file that can't be read, or holds no meter, nothing can be changed."""
    for text, words in (
        ("meter: [FT-1\n", "not closed"),
        (ONE + "b: *x\n", "*x has no anchor"),
        ("parts: {a: 1}\n", "holds no meter"),
        ("meter: FT-1\nprinciple: magic\n", "'magic' is no principle"),
        ("", "The document is empty"),
    ):
        with pytest.raises(RunError) as caught:
            targets(text)
        assert words in str(caught.value)


def test_a_change_knows_its_place_and_what_was_there() -> None:
    """The path leads through the list of meters; a site's own name is not split."""
    first, second, *_ = targets(TWO)
    change = Change(first, "sensor.bore", "2 mm")
    assert change.steps == ("meters", 0, "sensor", "bore")
    assert change.before == "1 mm"
    assert Change(second, "sensor.bore", "2 mm").before is None
    named = Change(second, "site_data.pump no. 1", "2")
    assert named.steps == ("meters", 1, "site_data", "pump no. 1")
    assert Change(first, "sensor", "x").before is None
    (other,) = targets("meter: FT-1\nprinciple: vortex\nservice: [a]\n")
    assert Change(other, "service.a", "x").before is None
    assert Change(other, "service", "x").before is None


def test_one_value_is_asked_for_once() -> None:
    """Equal requests are one; two values for one place are a contradiction."""
    (target,) = targets(ONE)
    one, same, other = (Change(target, "service", each) for each in ("a", "a", "b"))
    assert in_one([one, same]) == (one,)
    with pytest.raises(RunError, match="service of FT-1: 'a' and 'b' are asked for"):
        in_one([one, other])


@pytest.mark.parametrize("principle", PRINCIPLES)
def test_every_value_that_rules_know_can_be_set(principle: str) -> None:
    """What can be set are the meter's own inputs that rules may name, and the tag."""
    paths = settable_paths(PRINCIPLES[principle])
    assert len(set(paths)) == len(paths)
    assert set(paths) <= declared_inputs().keys()


def test_the_settable_values_of_all_principles_are_all_inputs() -> None:
    """No input of a meter is left out, but those of its site, its type and the run."""
    paths = {path for model in PRINCIPLES.values() for path in settable_paths(model)}
    elsewhere = ("site.", "type_sheet.", "notation.", "run.")
    assert paths == {
        path for path in declared_inputs() if not path.startswith(elsewhere)
    }
