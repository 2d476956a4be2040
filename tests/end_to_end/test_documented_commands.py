"""What is documented is run: the console blocks of README.md and DEVELOPERS.md.

In a block tagged `console`, a line that begins with `$ ` is a command and the lines
behind it are its output, to the letter; a line with nothing but `…` stands for any
lines. A command that shows no output is only run. `$ echo $?` shows the exit code of
the command before it.
"""

from __future__ import annotations

import difflib
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

import dev

DOCUMENTS = ("README.md", "DEVELOPERS.md")

# The folders that a documented command can name; it works in a copy of them.
COPIED = ("examples", "rules", "schemas")

# Programs that are named and not run: they would fetch from the network, or change
# the checkout that is under test.
NOT_RUN = ("git", "pip", "cd", "python -m venv", "python -m pip", "python -m pytest")

BLOCK = re.compile(
    r"^(?P<fence>`{3,})(?P<tag>[^`\n]*)\n(?P<body>.*?)^(?P=fence)[ ]*$",
    re.MULTILINE | re.DOTALL,
)


class Command(NamedTuple):
    """One documented command: its place, what is typed, and the output lines shown."""

    place: str
    typed: str
    shown: tuple[str, ...]


class Result(NamedTuple):
    """What a command printed, and its exit code."""

    printed: str
    code: int


def read_commands(text: str, name: str) -> Iterator[Command]:
    """Give the commands of every console block in a document."""
    for block in BLOCK.finditer(text):
        line = text.count("\n", 0, block.start("body")) + 1
        if block["tag"].strip() == "console":
            yield from read_block(block["body"].splitlines(), name, line)


def read_block(lines: list[str], name: str, first: int) -> Iterator[Command]:
    """Give the commands of one block, whose first line stands at `first`."""
    starts = [at for at, line in enumerate(lines) if line.startswith("$ ")]
    assert starts[:1] == [0], f"{name}:{first}: a console block begins with '$ '"
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        shown = tuple(line.rstrip() for line in lines[start + 1 : end])
        place = f"{name}:{first + start}"
        yield Command(place, lines[start].removeprefix("$ ").strip(), shown)


def untagged_blocks(text: str, name: str) -> list[str]:
    """Name the blocks that show a command but aren't tagged `console`."""
    return [
        f"{name}:{text.count(chr(10), 0, block.start()) + 1}"
        for block in BLOCK.finditer(text)
        if block["tag"].strip() != "console"
        if re.search(r"^(\$ |configlint )", block["body"], re.MULTILINE)
    ]


def pattern_of(shown: tuple[str, ...]) -> str:
    """Write the output shown as a pattern, in which `…` stands for any lines."""
    return "".join(
        r"(?:.*\n)*" if line.strip() == "…" else f"{re.escape(line)}\n"
        for line in shown
    )


def plain_lines(printed: str) -> str:
    """Drop the blanks at the ends of lines and the empty lines at the end."""
    lines = [line.rstrip() for line in printed.rstrip().splitlines()]
    return "".join(f"{line}\n" for line in lines)


def difference(command: Command, printed: str) -> str:
    """Say how the output differs from the lines shown, empty where it does not."""
    text = plain_lines(printed)
    shown = plain_lines("\n".join(command.shown))
    if not shown or re.fullmatch(pattern_of(tuple(shown.splitlines())), text):
        return ""
    lines = difflib.unified_diff(
        shown.splitlines(), text.splitlines(), "documented", "printed", lineterm=""
    )
    return "\n".join((f"{command.place}: {command.typed}", *lines))


def run_configlint(
    typed: list[str], folder: Path, environment: dict[str, str]
) -> Result:
    """Run a documented command, with `> FILE` at its end where it keeps its output."""
    kept = folder / typed[-1] if typed[-2:-1] == [">"] else None
    arguments = typed[:-2] if kept is not None else typed
    refused = {"|", "&&", ";", ">", ">>", "<", "2>&1"}.intersection(arguments)
    assert not refused, f"this test runs no shell, so it can't do {refused}"
    done = subprocess.run(
        (sys.executable, "-m", "configlint", *arguments[1:]),
        cwd=folder,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT if kept is None else subprocess.PIPE,
        encoding="utf-8",
        check=False,
    )
    if kept is None:
        return Result(done.stdout, done.returncode)
    kept.write_text(done.stdout, "utf-8")
    return Result(done.stderr, done.returncode)


def check_named(command: Command, tasks: list[str]) -> None:
    """Hold a command that isn't run here against the tasks that there are."""
    match command.typed.split():
        case ["make", *named] | ["python" | "python3", "dev.py", *named]:
            assert [name for name in named if name not in tasks] == [], command.place
        case words:
            is_known = any(
                words[: len(known.split())] == known.split() for known in NOT_RUN
            )
            assert is_known, f"{command.place}: '{command.typed}' can't be tried here"


def fault_of(command: Command, result: Result, shows_code: bool) -> str:
    """Say what is wrong with a run, empty where nothing is.

    1 says that something was found, which a document may leave unsaid; any other
    code but 0 must be shown.
    """
    if "Traceback (most recent call last)" in result.printed:
        return f"{command.place}: {command.typed}: crashed:\n{result.printed}"
    if result.code not in (0, 1) and not shows_code:
        return f"{command.place}: ended with {result.code}:\n{result.printed}"
    return difference(command, result.printed)


def try_commands(
    commands: list[Command], folder: Path, environment: dict[str, str]
) -> list[str]:
    """Run the commands in their order and give everything that is wrong."""
    faults = []
    last = Result("", 0)
    for at, command in enumerate(commands):
        follower = commands[at + 1].typed if at + 1 < len(commands) else ""
        if command.typed == "echo $?":
            faults.append(difference(command, f"{last.code}\n"))
        elif command.typed.startswith("configlint "):
            last = run_configlint(shlex.split(command.typed), folder, environment)
            faults.append(fault_of(command, last, follower == "echo $?"))
        else:
            check_named(command, list(dev.TASKS))
    return [text for text in faults if text]


@pytest.fixture
def folder(root: Path, tmp_path: Path) -> Path:
    """Copy what documented commands name into a folder of their own."""
    for name in COPIED:
        shutil.copytree(root / name, tmp_path / name)
    return tmp_path


@pytest.mark.parametrize("name", DOCUMENTS)
def test_documented_commands_do_what_is_shown(
    name: str, root: Path, folder: Path, environment: dict[str, str]
) -> None:
    """Every documented command runs, and prints what the document shows."""
    text = (root / name).read_text("utf-8")
    commands = list(read_commands(text, name))
    assert commands, f"{name} has no block tagged console"
    assert untagged_blocks(text, name) == []
    faults = try_commands(commands, folder, environment)
    assert faults == [], "\n\n".join(faults)


def test_the_readme_shows_the_main_command(root: Path) -> None:
    """The README's blocks show the demo, the tests and a check with its output."""
    commands = list(read_commands((root / "README.md").read_text("utf-8"), "README.md"))
    typed = [command.typed for command in commands]
    assert "make demo" in typed
    assert "make test" in typed
    assert [
        command
        for command in commands
        if command.typed.startswith("configlint check ") and command.shown
    ]


SAMPLE = """\
# Sample

```console
$ make demo
$ configlint check a.yaml
one
…
$ echo $?
0
```

```yaml
meter: FT-101
```

````console
$ configlint rules list
````
"""


def test_commands_are_read_with_their_places() -> None:
    """Commands come with file and line, and with the output lines that follow."""
    assert list(read_commands(SAMPLE, "S.md")) == [
        Command("S.md:4", "make demo", ()),
        Command("S.md:5", "configlint check a.yaml", ("one", "…")),
        Command("S.md:8", "echo $?", ("0",)),
        Command("S.md:17", "configlint rules list", ()),
    ]


def test_a_block_must_begin_with_a_command() -> None:
    """Output without its command is refused with its place."""
    with pytest.raises(AssertionError, match=r"S\.md:2: a console block begins"):
        list(read_commands("```console\nout\n$ configlint check\n```\n", "S.md"))


@pytest.mark.parametrize("tag", ["", "sh", "bash"])
def test_a_command_without_the_tag_is_found(tag: str) -> None:
    """A block that shows a command under another tag can't escape the test."""
    assert untagged_blocks(f"a\n\n```{tag}\n$ make demo\n```\n", "S.md") == ["S.md:3"]
    assert untagged_blocks(SAMPLE, "S.md") == []


@pytest.mark.parametrize(
    ("shown", "printed", "equal"),
    [
        ((), "anything\n", True),
        (("a", "b"), "a\nb\n", True),
        (("a", "b", ""), "a  \nb\n\n", True),
        (("a", "b"), "a\nc\n", False),
        (("a",), "a\nb\n", False),
        (("a", "…"), "a\n", True),
        (("a", "…", "d"), "a\nb\nc\nd\n", True),
        (("a", "…", "d"), "a\nb\nc\n", False),
        (("…", "c"), "a\nb\nc\n", True),
        (("a…",), "ab\n", False),
        (("[a].*",), "[a].*\n", True),
        (("[a].*",), "ab\n", False),
    ],
)
def test_output_is_compared_line_by_line(
    shown: tuple[str, ...], printed: str, equal: bool
) -> None:
    """Output agrees to the letter, save where a line `…` stands for any lines."""
    assert (difference(Command("S.md:1", "c", shown), printed) == "") is equal


@pytest.mark.parametrize("typed", ["make deploy", "curl example", "python dev.py x"])
def test_an_unknown_command_is_refused(typed: str) -> None:
    """A command that is neither run nor known is refused with its place."""
    with pytest.raises(AssertionError, match=r"S\.md:1"):
        check_named(Command("S.md:1", typed, ()), list(dev.TASKS))


@pytest.mark.parametrize("typed", ["make demo", "python dev.py test", "git clone a"])
def test_a_known_command_is_let_through(typed: str) -> None:
    """Tasks that exist, and the programs written down as not run, are accepted."""
    check_named(Command("S.md:1", typed, ()), list(dev.TASKS))


def test_a_wrong_document_is_caught(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    """A command that fails, a wrong output and a wrong exit code are all reported."""
    commands = [
        Command("S.md:1", "configlint no-such-command", ()),
        Command("S.md:2", "configlint --help", ("not this",)),
        Command("S.md:4", "configlint no-such-command", ()),
        Command("S.md:5", "echo $?", ("1",)),
    ]
    faults = try_commands(commands, tmp_path, environment)
    assert [text.splitlines()[0].partition(" ")[0] for text in faults] == [
        "S.md:1:",
        "S.md:2:",
        "S.md:5:",
    ]


def test_a_crash_is_caught() -> None:
    """A traceback is reported, though its exit code is one that findings have."""
    crash = Result("Traceback (most recent call last):\n  …\n", 1)
    command = Command("S.md:1", "configlint check", ("…",))
    assert fault_of(command, crash, shows_code=False).startswith("S.md:1: ")
    assert fault_of(command, Result("found\n", 1), shows_code=False) == ""


def test_output_can_be_kept_in_a_file(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    """A command that ends with `> FILE` writes there what it would print."""
    shown = run_configlint(["configlint", "--help"], tmp_path, environment)
    kept = run_configlint(
        ["configlint", "--help", ">", "help.txt"], tmp_path, environment
    )
    assert shown.printed
    assert kept.printed == ""
    assert (tmp_path / "help.txt").read_text("utf-8") == shown.printed
