"""Laws of advice in the JSON report: numbers as numbers, texts as texts."""

from __future__ import annotations

from configlint.outputs.json_advice import advice_object
from configlint.proposals import Advice, Change


def test_an_amount_has_its_number_and_its_unit_apart() -> None:
    """Other software reads the number without taking a text to pieces."""
    advice = Advice("nearest preferred", (Change("a", "10 l"), Change("b", "8")), "1 l")
    assert advice_object(advice) == {
        "kind": "nearest preferred",
        "changes": [
            {"setting": "a", "value": 10.0, "unit": "l"},
            {"setting": "b", "value": 8.0, "unit": ""},
        ],
        "within": "1 l",
        "if_right": "",
        "unless": [],
        "bound": "",
        "net": "",
    }


def test_which_of_two_values_is_right_is_told_where_nobody_knows() -> None:
    """A setting's path says it, with the rules against its being the other one."""
    advice = Advice(
        "as its counterpart", (Change("a", "10 l"),), "", "b", ("too-fast", "too-slow")
    )
    told = advice_object(advice)
    assert (told["kind"], told["if_right"]) == ("as its counterpart", "b")
    assert told["unless"] == ["too-fast", "too-slow"]


def test_what_is_no_amount_is_its_text() -> None:
    """A size, a truth or a choice stands as its file would hold it."""
    for text in ("DN 150", "true", "forward", "m3"):
        advice = Advice("nearest permissible", (Change("a", text),))
        (change,) = advice_object(advice)["changes"]
        assert change == {"setting": "a", "value": text, "unit": ""}
