"""A git repository, read with git's own command line and never checked out.

Only objects are asked for: git runs no hook, no filter and no text conversion here,
fetches nothing, and what a user writes for a revision is never an option to it. The
environment can't point it to another repository.
"""

from __future__ import annotations

import difflib
import os
import shutil
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, NamedTuple, cast

from configlint.documents import BOUNDS
from configlint.errors import Fault, Place, RunError
from configlint.files import absolute, reported
from configlint.report import Commit

__all__ = ["Blob", "Repository", "Size", "around"]

REVISION_FAULT = "revision-found"
MOST_LISTED = 200_000_000
"""Bytes that the list of a revision's files may have, some two million names."""
PART = 65_536
MOST_NAMES = 10_000
"""How many branches and tags are looked through for one that is meant."""

SAFE = (
    *("--no-pager", "--literal-pathspecs"),
    *("-c", "core.fsmonitor=false"),
    *("-c", f"core.hooksPath={os.devnull}"),
    *("-c", "protocol.allow=never"),
)
PLAIN = {
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
    "LC_ALL": "C",
}
REGULAR = frozenset({"100644", "100755", "100664"})
REASONS = {
    "120000": "it is a link, and a revision's links are not followed",
    "160000": "it belongs to another repository",
}


class Blob(NamedTuple):
    """A file of a revision: its path and the digest of its content.

    `reason` says, as the end of a sentence, why it is not to be read, if so.
    """

    path: str
    digest: str
    reason: str = ""


class Size(NamedTuple):
    """How many bytes a content has; None where the repository lacks it."""

    digest: str
    bytes: int | None


@dataclass(frozen=True, slots=True)
class Repository:
    """A repository and the root of its working tree, as an absolute path.

    For a bare one, which has no working tree, the root is the current folder.
    """

    program: str
    root: Path
    bare: bool = False

    def commit(self, revision: str) -> Commit:
        """Find the commit that a user's revision names, or raise `RunError`."""
        found = self.find(revision)
        if found is None:
            raise self._unknown(revision)
        return found

    def find(self, revision: str) -> Commit | None:
        """Find the commit that a text names, None where it names none.

        Raises `RunError` for a text that no revision can be.
        """
        if revision.startswith("-"):
            problem = f"{revision!r} is an option by its first character, no revision."
            advice = f"Write refs/heads/{revision} for a branch of that name."
            raise _refusal(revision, problem, advice)
        if not revision.isprintable() or not revision:
            return None
        options = ("--verify", "--quiet", "--end-of-options")
        done = self._run("rev-parse", *options, f"{revision}^{{commit}}")
        digest = done.stdout.decode("ascii", "replace").strip()
        return None if done.returncode else Commit(revision, digest)

    def fork(self, revision: str) -> Commit:
        """Find the commit in which HEAD and a revision last were one.

        Raises `RunError` where there is none, or where a shallow clone hides it.
        """
        return self.common(self.commit(revision), self.commit("HEAD"))

    def common(self, one: Commit, other: Commit) -> Commit:
        """Find the newest commit in the history of both, or raise `RunError`."""
        done = self._run("merge-base", one.digest, other.digest)
        if done.returncode:
            problem = f"{one.told} and {other.told} have no commit in common here."
            advice = "Name a revision that the current one has grown from."
            raise _refusal(one.revision, *self._or_shallow(problem, advice))
        return Commit(one.revision, done.stdout.decode("ascii").strip())

    def blobs(self, commit: Commit) -> list[Blob]:
        """List all files of a commit by their paths, with / between the folders."""
        command = self._command("ls-tree", "-r", "-z", "--full-tree", commit.digest)
        with self._open(command) as process:
            data = _bounded(cast(IO[bytes], process.stdout))
            if len(data) > MOST_LISTED:
                process.kill()
                problem = f"{commit.told} holds more files than can be looked at."
                advice = "Name a revision of a smaller repository."
                raise _refusal(commit.revision, problem, advice)
        if process.returncode:
            raise self._lacking()
        return [_blob(record) for record in bytes(data).split(b"\0") if record]

    def sizes(self, digests: Iterable[str]) -> list[Size]:
        """Ask how long some contents are, without reading them."""
        asked = "".join(f"{digest}\n" for digest in digests).encode()
        done = self._run("cat-file", "--batch-check", said=asked)
        answers = done.stdout.decode("ascii", "replace").splitlines()
        return [_size(answer) for answer in answers]

    def contents(self, digests: Iterable[str]) -> Iterator[bytes]:
        """Read some contents, one after the other; for one too long, a stand-in.

        The stand-in is longer than any file may be, and is refused for that. Raises
        `RunError` for a content that the repository lacks.
        """
        wanted = list(digests)
        sizes = self.sizes(wanted)
        if len(sizes) != len(wanted) or any(size.bytes is None for size in sizes):
            raise self._lacking()
        with self._open(self._command("cat-file", "--batch")) as process:
            for digest, length in sizes:
                if length is None or length > BOUNDS.bytes:
                    yield bytes(BOUNDS.bytes + 1)
                    continue
                content = _content(process, digest, length)
                if content is None:
                    raise self._lacking()
                yield content

    def _unknown(self, revision: str) -> RunError:
        problem = f"There is no revision {revision!r} in {reported(self.root)!r}."
        return _refusal(revision, *self._or_shallow(problem, self._offer(revision)))

    def _or_shallow(self, problem: str, advice: str) -> tuple[str, str]:
        """Tell of a shallow clone, where that may be why something is not found."""
        done = self._run("rev-parse", "--is-shallow-repository")
        if done.stdout.strip() != b"true":
            return problem, advice
        return (
            f"{problem} This clone is shallow: it lacks the older commits.",
            "Fetch them with `git fetch --unshallow`, or have the pipeline check out "
            "the whole history.",
        )

    def _offer(self, revision: str) -> str:
        """Advise the branches and tags that may be meant."""
        options = ("--format=%(refname:short)", f"--count={MOST_NAMES}")
        done = self._run("for-each-ref", *options)
        names = done.stdout.decode("utf-8", "replace").split()
        fetched = [name for name in names if name.endswith(f"/{revision}")]
        near = fetched or difflib.get_close_matches(revision, names, 3, 0.6)
        if near:
            return f"Write {' or '.join(near)}, if that is meant."
        return "`git branch --all` and `git tag` list what there is; `git fetch` first."

    def _lacking(self) -> RunError:
        problem = "The clone lacks some of the files of a revision."
        advice = (
            "It was made with a filter, or is damaged. Clone it again without a "
            "filter, or check the revision out once."
        )
        return _refusal(reported(self.root), problem, advice)

    def _command(self, *arguments: str) -> tuple[str, ...]:
        return (self.program, *SAFE, *arguments)

    def _run(
        self, *arguments: str, said: bytes = b""
    ) -> subprocess.CompletedProcess[bytes]:
        return _run(self._command(*arguments), said)

    def _open(self, command: tuple[str, ...]) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            command,
            env=_environment(),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )


def around() -> Repository:
    """Find the repository around the current folder.

    Raises `RunError` where git is not installed, or can't read a repository here.
    """
    program = shutil.which("git")
    # One that lies in the current folder is a file of the repository, not the user's.
    if program is None or not Path(program).is_absolute():
        problem = "Revisions are read with git, and there is no git here."
        advice = "Install git, or compare two folders instead."
        raise _refusal(".", problem, advice)
    asked = ("--is-bare-repository", "--is-inside-work-tree", "--show-cdup")
    done = _run((program, *SAFE, "rev-parse", *asked))
    if done.returncode:
        said = " ".join(done.stderr.decode("utf-8", "replace").split())
        problem = f"No git repository can be read here: {said}"
        advice = "Change into the repository, or compare two folders instead."
        raise _refusal(".", problem, advice)
    bare, inside, up = done.stdout.decode("utf-8", "surrogateescape").split("\n")[:3]
    if inside == "true":
        return Repository(program, absolute(Path.cwd() / up))
    if bare == "true":
        return Repository(program, Path.cwd(), bare=True)
    problem = "This is the inside of a git repository, not its working tree."
    raise _refusal(".", problem, "Change into the working tree.")


def _environment() -> dict[str, str]:
    """Give git the user's environment but what would turn it elsewhere."""
    kept = os.environ.items()
    own = {name: value for name, value in kept if not name.upper().startswith("GIT_")}
    return {**own, **PLAIN}


def _run(
    command: tuple[str, ...], said: bytes = b""
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        command, input=said, env=_environment(), capture_output=True, check=False
    )


def _blob(record: bytes) -> Blob:
    """Read a record of the list: mode, kind and digest, a tab, the path."""
    about, _, path = record.partition(b"\t")
    mode, _, digest = about.decode("ascii", "replace").split(" ")
    reason = "" if mode in REGULAR else REASONS.get(mode, "it is no regular file")
    return Blob(os.fsdecode(path), digest, reason)


def _size(answer: str) -> Size:
    digest, _, rest = answer.partition(" ")
    length = rest.removeprefix("blob ")
    return Size(digest, int(length) if length.isdigit() else None)


def _content(
    process: subprocess.Popen[bytes], digest: str, length: int
) -> bytes | None:
    """Ask a running git for one content; None where it has none of that length.

    A line says what comes, with its length at the end; a line feed ends it.
    """
    questions, answers = cast(IO[bytes], process.stdin), cast(IO[bytes], process.stdout)
    questions.write(f"{digest}\n".encode())
    questions.flush()
    if answers.readline().split()[-1:] != [str(length).encode()]:
        return None
    content = answers.read(length + 1)
    return content[:-1] if len(content) == length + 1 else None


def _bounded(stream: IO[bytes]) -> bytearray:
    """Read a stream to its end, or a part more than a list of files may have."""
    data = bytearray()
    while len(data) <= MOST_LISTED and (part := stream.read(PART)):
        data += part
    return data


def _refusal(name: str, problem: str, advice: str) -> RunError:
    return RunError(Fault(REVISION_FAULT, Place(name), problem, advice))
