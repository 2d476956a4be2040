"""What the tests of the document reader share: both parsers, one after the other."""

from __future__ import annotations

import pytest
import yaml

from tests.documents import without_parser_in_c


@pytest.fixture(params=["parser in C", "parser in Python"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Run a law with PyYAML's parser in C and with the one in Python."""
    assert hasattr(yaml, "CBaseLoader"), "this PyYAML is built without its C parser"
    if request.param == "parser in Python":
        without_parser_in_c(monkeypatch)
    return str(request.param)
