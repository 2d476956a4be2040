"""Laws of starting a command: each failure is a sentence, on any kind of output."""

from __future__ import annotations

import io
import json
import runpy
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from configlint import __version__, commands
from configlint.commands import check as check_module
from configlint.commands import options as options_module
from configlint.commands import rules as rules_module
from configlint.errors import Fault, Place, RunError
from configlint.report import Report
from tests.builders import SOUND_METER

METER = """\
meter: FT-1
principle: electromagnetic
"""

# A rule of each kind, one of them weakly proven.
RULES = """\
ruleset: own
edition: "1"
rules:
  own-damping:
    category: C
    asks: Is the damping short?
    limits: {longest: 5 s}
    accept: transmitter.damping <= longest
    finding: The damping is {transmitter.damping}.
    remedy: Shorten it.
    settings: [transmitter.damping]
    basis: {practice: Common}
    proof:
      - {gives: conforms}
      - {with: {transmitter.damping: 9 s}, gives: nonconforming}
  own-service:
    category: C
    asks: Has each service one bore?
    applies: given(service)
    across: {scope: site, same: [service, process.fluid], agree: sensor.bore}
    finding: "{others} differ."
    remedy: Correct it.
    basis: {practice: Common}
    proof: &proof
      - {meters: [{gives: conforms}]}
      - {meters: [{gives: nonconforming}, {gives: nonconforming}]}
  own-name:
    category: C
    asks: Is each service served once?
    across: {scope: all sites, same: [service]}
    finding: "{others} too."
    remedy: Correct it.
    basis: {practice: Common}
    proof: *proof
reading:
  own-reading:
    category: C
    asks: Can it be read?
    limits: {longest: 1 year}
    remedy: Mend it.
    basis: {published: A handbook}
"""

Start = Callable[..., int]
HEADS = ("A  ", "B  ", "C  ")


@pytest.fixture
def start(monkeypatch: pytest.MonkeyPatch) -> Start:
    """Give the command in this process, by its exit code."""

    def start_command(*arguments: str) -> int:
        monkeypatch.setattr(sys, "argv", ["configlint", *arguments])
        with pytest.raises(SystemExit) as ended:
            commands.main()
        assert isinstance(ended.value.code, int)
        return ended.value.code

    return start_command


@pytest.fixture
def meter(tmp_path: Path) -> str:
    """Give the name of a meter file."""
    file = tmp_path / "FT-1.yaml"
    file.write_text(METER, "utf-8")
    return str(file)


def fail_with(error: Exception) -> Callable[..., None]:
    """Give a function that fails."""

    def fail(*_: object, **__: object) -> None:
        raise error

    return fail


class Screen(io.TextIOWrapper):
    """An output that says whether it is a terminal, and may be full."""

    def __init__(self, file: Path, terminal: bool, full: bool = False) -> None:
        super().__init__(file.open("wb"), encoding="ascii", newline="\n")
        self.terminal = terminal
        self.full = full
        self.kept = ""

    def isatty(self) -> bool:
        """Whether it is a terminal."""
        return self.terminal

    def write(self, text: str) -> int:
        """Keep a text until it is flushed."""
        self.kept += text
        return len(text)

    def flush(self) -> None:
        """Write what is kept, where there is room for it."""
        if self.kept and self.full:
            self.full = False
            raise OSError(28, "No space left on device")
        super().write(self.kept)
        self.kept = ""
        super().flush()


def test_a_module_starts_the_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`python -m configlint` is the command."""
    monkeypatch.setattr(sys, "argv", ["configlint", "--help"])
    with pytest.raises(SystemExit) as ended:
        runpy.run_module("configlint", run_name="__main__")
    assert ended.value.code == 0
    assert "check" in capsys.readouterr().out


@pytest.mark.parametrize("text", ["", "meter: FT-1\n"])
def test_a_name_is_inert_in_a_message(
    start: Start, tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    """A file's name sends no escape and begins no line of its own in a message."""
    assert start("check", str(tmp_path / f"{text}a\x1b[31m\nb")) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert said.strip().isprintable()
    assert r"a\x1b[31m\nb: " in said


def test_every_fault_of_a_run_is_told(
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """All faults that stop a run are said, and their marks stand on their own lines."""
    marked = Fault("a", Place("own.yaml", 3, 9), "Wrong:\nv < 1\n^\n", "Mend it.")
    other = Fault("b", Place("other.yaml"), "Wrong.\x07", "Mend it.")
    monkeypatch.setattr(check_module, "check", fail_with(RunError(marked, other)))
    assert start("check", meter) == 2
    assert capsys.readouterr().err == (
        "own.yaml:3:9: Wrong:\nv < 1\n^\nMend it.\n"
        "other.yaml:1:1: Wrong.\\x07 Mend it.\n"
    )


def test_a_fault_of_the_program_is_a_sentence(
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """What nobody has foreseen ends with 2, a name for it, and no traceback."""
    monkeypatch.setattr(check_module, "check", fail_with(KeyError("no-rule")))
    assert start("check", meter) == 2
    said = capsys.readouterr()
    assert said.err.startswith("configlint itself failed (KeyError: 'no-rule').")
    assert said.out == ""


@pytest.mark.parametrize(
    ("reports", "advise"),
    [
        ((), True),
        (("json",), True),
        (("coverage",), False),
        (("coverage", "csv=a.csv"), True),
    ],
)
def test_values_are_looked_for_where_a_report_tells_them(
    reports: tuple[str, ...],
    advise: bool,
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Looking for values that would do takes time, and is done for a reader alone."""
    asked = []

    def spy(paths: object, *options: object) -> Report:
        asked.append(options[-1])
        return Report((), (), (), 0)

    monkeypatch.chdir(Path(meter).parent)
    monkeypatch.setattr(check_module, "check", spy)
    start("check", meter, *(f"--report={each}" for each in reports))
    assert asked == [advise]


def test_an_error_of_the_system_names_its_file(
    start: Start,
    meter: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """An error of the system is told with the file it is about."""
    error = PermissionError(13, "Permission denied", "out.json")
    monkeypatch.setattr(options_module, "write_beside", fail_with(error))
    assert start("check", meter, "--report", "json=out.json") == 2
    assert capsys.readouterr().err == "out.json: Permission denied.\n"


def test_a_full_screen_is_told_once(
    start: Start,
    meter: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Where the output has no room the run ends with 2, and tries no second time."""
    with Screen(tmp_path / "screen.txt", terminal=False, full=True) as screen:
        monkeypatch.setattr(sys, "stdout", screen)
        assert start("check", meter) == 2
    assert capsys.readouterr().err == "The output: No space left on device.\n"
    assert (tmp_path / "screen.txt").read_bytes() == b""


@pytest.mark.parametrize(("terminal", "styled"), [(True, True), (False, False)])
def test_only_a_terminal_gets_styles(
    start: Start,
    meter: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    terminal: bool,
    styled: bool,
) -> None:
    """The same words come styled to a terminal and plain to a file, in UTF-8."""
    for name, value in (("TERM", "xterm"), ("COLORTERM", "truecolor")):
        monkeypatch.setenv(name, value)
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    file = tmp_path / "screen.txt"
    with Screen(file, terminal) as screen:
        monkeypatch.setattr(sys, "stdout", screen)
        start("check", meter)
    text = file.read_text("utf-8")
    assert ("\x1b[" in text) is styled
    assert "FT-1" in text


@pytest.mark.parametrize(("files", "told"), [(199, False), (200, True)])
def test_a_long_run_shows_how_far_it_is(
    start: Start,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    files: int,
    told: bool,
) -> None:
    """On a terminal a run over many files shows its progress, beside the report."""
    folder = tmp_path / "meters"
    folder.mkdir()
    for number in range(files):
        (folder / f"{number}.yaml").write_text("", "utf-8")
    monkeypatch.setenv("TERM", "xterm")
    file = tmp_path / "screen.txt"
    with Screen(file, terminal=True) as screen:
        monkeypatch.setattr(sys, "stderr", screen)
        start("check", str(folder), "--report", f"json={tmp_path / 'out.json'}")
    assert ("Checking files" in file.read_text("utf-8")) is told


def test_an_output_of_another_kind_is_taken(
    start: Start, meter: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An output that has no encoding to set, as in a notebook, is written to."""
    kept = io.StringIO()
    monkeypatch.setattr(sys, "stdout", kept)
    assert start("check", meter, "--hold-at", "never") == 0
    assert kept.getvalue().startswith("FT-1")


@pytest.fixture
def own(tmp_path: Path) -> str:
    """Give the name of a folder of rules."""
    file = tmp_path / "own" / "own.yaml"
    file.parent.mkdir()
    file.write_text(RULES, "utf-8")
    return str(file.parent)


@pytest.mark.parametrize(
    ("rule", "lines"),
    [
        (
            "own-damping",
            (
                "own-damping (category C, rule set own)",
                "Applies: to every meter",
                "Accept: transmitter.damping <= longest",
                "Limit longest: 5 s",
                "Finding: The damping is {transmitter.damping}.",
                "Settings: transmitter.damping",
                "Basis: Common (common practice)",
                "Proofs: 2",
            ),
        ),
        (
            "own-service",
            (
                "Asks: Has each service one bore?",
                "Applies: given(service)",
                "Accept: meters of one site with the same service and process.fluid "
                "agree in sensor.bore",
                "Settings: none a person would change",
            ),
        ),
        (
            "own-name",
            ("Accept: meters of all sites with the same service are not allowed",),
        ),
        (
            "own-reading",
            (
                "Accept: told while the files are read",
                "Remedy: Mend it.",
                "Basis: A handbook",
            ),
        ),
    ],
)
def test_a_rule_is_shown_in_words(
    start: Start,
    own: str,
    capsys: pytest.CaptureFixture[str],
    rule: str,
    lines: tuple[str, ...],
) -> None:
    """Of a rule of any kind all that it says is shown, at 80 columns."""
    assert start("rules", "show", rule, "--rules", own) == 0
    said = capsys.readouterr().out
    assert max(map(len, said.splitlines()[:-1])) <= 80
    whole = said.replace("\n  ", " ").splitlines()
    assert [line for line in lines if line not in whole] == []


def test_rules_are_listed_in_words_and_as_json(
    start: Start, own: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every rule is listed once, in both formats, with category and question."""
    assert start("rules", "list", "--rules", own) == 0
    text = capsys.readouterr().out
    assert "C  own-damping\n   Is the damping short?\n" in text
    assert start("rules", "list", "--report", "json", "--rules", own) == 0
    listed = {each["id"]: each for each in json.loads(capsys.readouterr().out)}
    ids = [line[3:] for line in text.splitlines() if line[:3] in HEADS]
    assert sorted(listed) == ids
    assert listed["own-damping"] == {
        "id": "own-damping",
        "ruleset": "own",
        "category": "C",
        "asks": "Is the damping short?",
        "basis": "Common (common practice)",
        "accept": "transmitter.damping <= longest",
        "limits": {"longest": "5 s"},
        "applies": "",
        "settings": ["transmitter.damping"],
        "proofs": 2,
    }
    assert listed["own-service"]["applies"] == "given(service)"
    assert "proofs" not in listed["own-reading"]
    assert listed["own-reading"]["limits"] == {"longest": "1 year"}
    assert "limits" not in listed["own-name"]


def test_values_are_listed_with_their_meaning(
    start: Start, capsys: pytest.CaptureFixture[str]
) -> None:
    """Inputs, quantities and the columns of tables are listed for rule writers."""
    assert start("rules", "names") == 0
    said = capsys.readouterr().out
    assert "sensor.bore: Inside diameter of the sensor (a length)\n" in said
    assert "\nspan: " in said
    assert "nominal_sizes[…]." in said


def test_a_weak_proof_ends_with_1(
    start: Start,
    own: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Proofs that fail and changes unnoticed are named and counted, and end with 1."""
    monkeypatch.setattr(rules_module, "data_folder", lambda name: Path(own))
    sound = Path(own) / "sound"
    sound.mkdir()
    (sound / "separate.yaml").write_text(SOUND_METER, "utf-8")
    assert start("rules", "prove") == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "own-damping (" in said
    assert "own.yaml:4:3): no proof notices this change: " in said
    assert "own.yaml:" in said
    assert "3 rules, 6 proofs, " in said


def test_a_rule_that_is_not_there_is_not_proven(
    start: Start, capsys: pytest.CaptureFixture[str]
) -> None:
    """An unknown id is refused, with how to find the ones there are."""
    assert start("rules", "prove", "tag-uniqe") == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "there is no rule 'tag-uniqe'" in said


def test_only_the_rules_named_are_proven(
    start: Start, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of the rules there are, those that are named are proven, and no other."""
    assert start("rules", "prove", "tag-unique", "barrel-kind-stated") == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith("2 rules, 7 proofs, ")


def test_rules_without_a_limit_need_no_score(
    start: Start,
    own: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Where nothing can be changed, no share of changes noticed is made up."""
    monkeypatch.setattr(rules_module, "data_folder", lambda name: Path(own))
    (Path(own) / "own.yaml").write_text(f"{RULES.partition('rules:')[0]}", "utf-8")
    assert start("rules", "prove") == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.endswith("Mutation score none tried: 0 of 0 changes noticed.")


@pytest.mark.parametrize(
    "arguments",
    [
        ("rules", "show", "no-such"),
        ("rules", "list", "--report", "xml"),
        ("check", "a.yaml", "--hold-at", "D"),
        ("check", "a.yaml", "--report", "xml"),
        ("check", "a.yaml", "--report", "json", "--report", "text"),
    ],
)
def test_a_wrong_call_ends_with_2(
    start: Start, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    """A slip in the call is refused before anything is done."""
    assert start(*arguments) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Usage: " in said.err


def test_the_version_is_told(start: Start, capsys: pytest.CaptureFixture[str]) -> None:
    """The version is told alone, and the command ends with 0."""
    assert start("--version") == 0
    assert capsys.readouterr().out == f"configlint {__version__}\n"
