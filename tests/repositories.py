"""Git repositories for tests, made with the real git and none of a user's settings."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping
from pathlib import Path

from tests.workspaces import write

AUTHOR = {
    f"GIT_{who}_{what}": value
    for who in ("AUTHOR", "COMMITTER")
    for what, value in (
        ("NAME", "Invented Engineer"),
        ("EMAIL", "engineer@example.invalid"),
        ("DATE", "2026-01-02T03:04:05Z"),
    )
}
ALONE = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}


class Repo:
    """A repository in a folder, with `main` as its first branch."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self.git("init", "--quiet", "--initial-branch=main", *options)

    def git(self, *arguments: str, said: str = "") -> str:
        """Run git in the repository and give what it prints."""
        return git(self.folder, *arguments, said=said)

    def write(self, files: Mapping[str, str]) -> None:
        """Write files into the working tree."""
        write(self.folder, files)

    def commit(self, files: Mapping[str, str] | None = None) -> str:
        """Write files, commit all there is, and give the digest of the commit."""
        self.write(files or {})
        self.git("add", "--all")
        self.git("commit", "--quiet", "--allow-empty", "--message=a change")
        return self.git("rev-parse", "HEAD")


def git(folder: Path, *arguments: str, said: str = "") -> str:
    """Run git in a folder and give what it prints."""
    done = subprocess.run(
        ("git", *arguments),
        cwd=folder,
        env={**os.environ, **AUTHOR, **ALONE},
        input=said,
        capture_output=True,
        encoding="utf-8",
        errors="surrogateescape",
        check=True,
    )
    return done.stdout.strip()
