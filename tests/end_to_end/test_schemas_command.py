"""Laws of the module that writes the schemas: where to, and its exit codes."""

from __future__ import annotations

from pathlib import Path

from tests.commanding import command_in


def test_schemas_can_be_written_anew(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    """The schemas are written by a module of their own, which needs a folder."""
    write_schemas = command_in(tmp_path, environment, module="configlint.schemas")
    (tmp_path / "made").mkdir()
    for arguments, code in ((("made",), 0), ((), 2), (("nowhere",), 2)):
        assert write_schemas(*arguments).returncode == code
    assert (tmp_path / "made" / "meter.schema.json").is_file()
