"""Laws of the code host's workflow file, held by its published schema.

The schema is the one for GitHub workflows from the SchemaStore catalogue, of which
the package check-jsonschema carries a copy; nothing is fetched.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

SCHEMA = "vendor.github-workflows"


def refuse(file: Path) -> str:
    """Give what the schema says against a workflow file, empty where it conforms."""
    command = ("-m", "check_jsonschema", "--builtin-schema", SCHEMA, str(file))
    done = subprocess.run(
        (sys.executable, *command), capture_output=True, encoding="utf-8", check=False
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr


@pytest.fixture
def workflow(root: Path) -> Path:
    """Give the workflow file."""
    return root / ".github" / "workflows" / "checks.yml"


def test_the_workflow_conforms_to_its_schema(workflow: Path) -> None:
    """The workflow file is one that the published schema accepts."""
    assert refuse(workflow) == ""


def test_a_wrong_workflow_is_refused(workflow: Path, tmp_path: Path) -> None:
    """A misspelt key in the same file is refused, so the schema is really applied."""
    wrong = tmp_path / "checks.yml"
    text = workflow.read_text("utf-8").replace("runs-on:", "run-on:")
    wrong.write_text(text, "utf-8")
    assert "runs-on" in refuse(wrong)


def test_every_job_is_bounded(workflow: Path) -> None:
    """Jobs may only read, end by themselves, and use actions of a stated version."""
    content = yaml.safe_load(workflow.read_text("utf-8"))
    assert content["permissions"] == {"contents": "read"}
    for job in content["jobs"].values():
        assert "permissions" not in job
        assert 1 <= job["timeout-minutes"] <= 30
        used = [step["uses"] for step in job["steps"] if "uses" in step]
        assert used
        assert all(re.fullmatch(r"actions/[a-z-]+@v\d+", action) for action in used)


def test_every_supported_system_is_tried(workflow: Path) -> None:
    """Tests and demo run on the Python versions and systems that are promised."""
    job = yaml.safe_load(workflow.read_text("utf-8"))["jobs"]["test"]
    assert job["strategy"]["matrix"] == {
        "system": ["ubuntu-latest", "windows-latest"],
        "python": ["3.11", "3.12", "3.13"],
    }
    commands = [step["run"] for step in job["steps"] if "run" in step]
    assert commands == ["python dev.py demo", "python dev.py test"]
