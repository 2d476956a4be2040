"""Laws of the command `check` on odd files: whatever they hold, it is a finding."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.commanding import Run, command_in, content_of
from tests.sound_meters import meter_text
from tests.workspaces import write

SOUND = meter_text()
BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join(['*' + before] * 9)}]\n"
    for before, name in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in a folder of its own."""
    return command_in(tmp_path, environment)


@pytest.mark.parametrize(
    ("content", "rule", "line", "words"),
    [
        (b"", "meter-file-recognised", 1, ("empty",)),
        (b"\n# nothing\n", "meter-file-recognised", 1, ("empty",)),
        (b"pumps: [P-1]\n", "meter-file-recognised", 1, ("no meter",)),
        (b"meters: []\n", "meter-file-recognised", 1, ("empty",)),
        (b"\x7fELF\x00\x01\x02\xff", "file-readable", 1, ()),
        (bytes(range(256)), "file-readable", 3, ("0x80",)),
        (b"[" * 10_000, "file-readable", 1, ()),
        (b"meter: " + b"[" * 10_000 + b"]" * 10_000, "file-readable", 1, ()),
        (b"{a: " * 10_000, "file-readable", 1, ()),
        (BOMB.encode(), "file-readable", None, ("values",)),
        (b"meter: FT-1\nprinciple: 'x\n", "file-readable", 2, ("quote",)),
        (b"meter: FT-1\n" + b"#" * 4_000_000, "file-readable", 1, ("bytes",)),
        ("meter: FT-1\n".encode("utf-16"), "file-readable", 1, ("UTF-16",)),
        (b"meter: FT-1\nmeter: FT-2\n", "key-written-once", 2, ("'meter'",)),
    ],
)
def test_a_file_that_is_no_meter_file_is_a_finding(
    run: Run,
    tmp_path: Path,
    content: bytes,
    rule: str,
    line: int | None,
    words: tuple[str, ...],
) -> None:
    """Whatever a file holds, it is told what is wrong, where, and what to do."""
    write(tmp_path, {"a.yaml": content, "b.yaml": SOUND})
    done = run("check", ".", "--report", "json")
    assert done.returncode == 1
    report = content_of(done)
    found = [each for each in report["findings"] if each["rule"] == rule]
    first = found[0]
    assert first["file"] == "a.yaml"
    assert line in (None, first["line"])
    assert first["remedy"]
    assert all(word in first["message"] for word in words)
    assert [meter["meter"] for meter in report["meters"]] == ["FT-2104"]


def test_hostile_names_reach_the_terminal_inert(run: Run, tmp_path: Path) -> None:
    """Escapes, line ends and direction marks of a file are shown, not sent."""
    text = (
        'meter: "FT-\\e[31m1\\nHeld at A: 9 findings to close."\n'
        'principle: electromagnetic\n"\\u202eservise\\x9b": water\n'
    )
    write(tmp_path, {"a\u202e.yaml": text})
    for form in ("text", "json"):
        said = run("check", ".", "--report", form).stdout
        assert said.replace("\n", "").isprintable()
    lines = run("check", ".").stdout.splitlines()
    assert [line for line in lines if line.startswith("Held")] == lines[-1:]


def test_a_file_name_that_is_no_text_is_reported(run: Run, tmp_path: Path) -> None:
    """A file whose name is no UTF-8 is checked and reported in every format."""
    # This stands for a byte that is no UTF-8.
    write(tmp_path, {"FT-\udcff.yaml": "meter: ["})
    done = run("check", ".", "--report", "text", "--report", "json=out.json")
    assert done.returncode == 1
    assert r"in FT-\udcff.yaml" in done.stdout
    content = json.loads((tmp_path / "out.json").read_text("utf-8"))
    assert content["findings"][0]["file"] == "FT-\udcff.yaml"
