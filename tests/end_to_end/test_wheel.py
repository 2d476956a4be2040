"""Laws of the built wheel: it carries its rules and works away from the checkout."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
import yaml

# An invented meter whose transmitter holds two digits of its sensor's calibration
# factor exchanged.
METER = """\
meter: FT-9101
principle: electromagnetic
construction: separate
sensor:
  serial: INVENTED-1
  nominal_size: DN 100
  nameplate: {calibration_factor: 1.0230}
transmitter:
  serial: INVENTED-2
  nominal_size: DN 100
  calibration_factor: 1.0320
"""


def run_python(
    folder: Path, environment: dict[str, str], *arguments: str
) -> subprocess.CompletedProcess[str]:
    """Run this Python in a folder and give what it printed."""
    return subprocess.run(
        (sys.executable, *arguments),
        cwd=folder,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


@pytest.fixture(scope="module")
def wheel(
    root: Path,
    environment: dict[str, str],
    tmp_path_factory: pytest.TempPathFactory,
) -> Path:
    """Build the wheel from the checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    options = ("--wheel", "--no-isolation", "--outdir", str(folder))
    done = run_python(folder, environment, "-m", "build", *options, str(root))
    assert done.returncode == 0, done.stdout + done.stderr
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(
    wheel: Path,
    environment: dict[str, str],
    tmp_path_factory: pytest.TempPathFactory,
) -> dict[str, str]:
    """Install the wheel in a fresh folder and give an environment that uses it."""
    folder = tmp_path_factory.mktemp("installed")
    options = ("--quiet", "--no-deps", "--no-index", "--target", str(folder))
    done = run_python(
        folder.parent, environment, "-m", "pip", "install", *options, str(wheel)
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return {**environment, "PYTHONPATH": str(folder)}


@pytest.fixture(scope="module")
def rule_ids(root: Path) -> set[str]:
    """Read the ids of all rules that are checked of meters, from the checkout."""
    contents = [
        yaml.load(file.read_text("utf-8"), yaml.BaseLoader)
        for file in sorted((root / "rules").glob("*.yaml"))
        if file.name != "reading.yaml"
    ]
    ids = {name for content in contents for name in content.get("rules", {})}
    assert ids
    return ids


def test_the_wheel_carries_all_its_data(wheel: Path, root: Path) -> None:
    """Every file of rules/ and schemas/ is in the wheel, and no test is."""
    carried = set(zipfile.ZipFile(wheel).namelist())
    files = [
        file.relative_to(root).as_posix()
        for folder in ("rules", "schemas")
        for file in (root / folder).rglob("*")
        if file.is_file()
    ]
    assert files
    assert [file for file in files if f"configlint/data/{file}" not in carried] == []
    assert [name for name in carried if name.startswith(("tests/", "rules/"))] == []


def test_the_installed_package_reads_its_own_data(
    installed: dict[str, str], tmp_path: Path
) -> None:
    """Code and rules both come from the installed folder, not from the checkout."""
    script = (
        "import configlint.data as data\n"
        "print(data.__file__)\n"
        "print(data.data_folder('rules'))\n"
        "print(data.data_folder('schemas'))\n"
    )
    done = run_python(tmp_path, installed, "-c", script)
    package = Path(installed["PYTHONPATH"]).resolve() / "configlint"
    assert [Path(line).resolve() for line in done.stdout.splitlines()] == [
        package / "data.py",
        package / "data" / "rules",
        package / "data" / "schemas",
    ]


def test_the_installed_package_lists_every_rule(
    installed: dict[str, str], rule_ids: set[str], tmp_path: Path
) -> None:
    """The rules named by the installed package are those of the checkout."""
    wide = {**installed, "COLUMNS": "400"}
    done = run_python(tmp_path, wide, "-m", "configlint", "rules", "list")
    assert done.returncode == 0, done.stdout + done.stderr
    assert [name for name in sorted(rule_ids) if name not in done.stdout] == []


def test_the_installed_package_checks_a_meter(
    installed: dict[str, str],
    environment: dict[str, str],
    rule_ids: set[str],
    tmp_path: Path,
) -> None:
    """Away from the checkout a meter gets the same findings as in it."""
    (tmp_path / "FT-9101.yaml").write_text(METER, "utf-8")
    command = ("-m", "configlint", "check", "FT-9101.yaml")
    done = run_python(tmp_path, installed, *command)
    assert done.returncode == 1, done.stdout + done.stderr
    assert "FT-9101" in done.stdout
    assert any(name in done.stdout for name in rule_ids), done.stdout
    again = run_python(tmp_path, environment, *command)
    assert (done.returncode, done.stdout) == (again.returncode, again.stdout)
