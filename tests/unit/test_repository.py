"""Laws of reading a repository: commits are found, contents are exact, git is tame."""

from __future__ import annotations

import zlib
from pathlib import Path

import pytest

from configlint.documents import BOUNDS
from configlint.errors import RunError
from configlint.report import Commit
from configlint.review import repository as module
from configlint.review.repository import Repository, Size, around
from tests.repositories import Repo, git
from tests.workspaces import sentences


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """Give a repository with one commit, which is the current folder."""
    made = Repo(tmp_path / "repo")
    made.commit({"a.yaml": "meter: FT-1\n", "deep/b.yaml": "meter: FT-2\n"})
    monkeypatch.chdir(made.folder)
    return made


def refusal(repository: Repository, revision: str) -> str:
    """Give what is said of a revision that can't be taken."""
    with pytest.raises(RunError) as error:
        repository.commit(revision)
    return "\n".join(sentences(error))


# --- finding the repository -------------------------------------------------


def test_the_repository_is_found_from_a_folder_inside(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The root of the working tree is found from any folder in it."""
    assert around().root == repo.folder
    monkeypatch.chdir(repo.folder / "deep")
    assert around().root == repo.folder


def test_a_bare_repository_has_no_working_tree(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bare repository is known as one, and its commits are found."""
    git(tmp_path, "clone", "--quiet", "--bare", "repo", "bare")
    monkeypatch.chdir(tmp_path / "bare")
    found = around()
    assert (found.bare, found.root) == (True, tmp_path / "bare")
    assert found.commit("main").digest == repo.git("rev-parse", "main")


@pytest.mark.parametrize(
    ("folder", "words"),
    [
        (".", "No git repository can be read here: fatal: not a git repository"),
        ("repo/.git", "This is the inside of a git repository"),
    ],
)
def test_a_place_without_a_working_tree_is_refused(
    repo: Repo,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    folder: str,
    words: str,
) -> None:
    """Where there is no repository, or only its inside, that is said."""
    monkeypatch.chdir(tmp_path / folder)
    with pytest.raises(RunError, match=words):
        around()


def test_a_machine_without_git_is_told_of_it(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where git is not installed, comparing folders is offered."""
    monkeypatch.setenv("PATH", str(repo.folder))
    with pytest.raises(RunError, match=r"no git here\. Install git, or compare two"):
        around()


def test_a_git_of_the_repository_is_no_git(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program in the current folder is never run, though the path leads there."""
    trap = repo.folder / "git"
    trap.write_text("#!/bin/sh\ntouch caught\n", "utf-8")
    trap.chmod(0o755)
    monkeypatch.setenv("PATH", ".")
    with pytest.raises(RunError, match="no git here"):
        around()
    assert not (repo.folder / "caught").exists()


def test_the_environment_leads_to_no_other_repository(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Variables of git's own, such as a hook has, do not change what is read."""
    other = Repo(tmp_path / "other")
    other.commit({"c.yaml": "meter: FT-3\n"})
    monkeypatch.setenv("GIT_DIR", str(other.folder / ".git"))
    monkeypatch.setenv("GIT_WORK_TREE", str(other.folder))
    found = around()
    assert found.root == repo.folder
    names = [each.path for each in found.blobs(found.commit("HEAD"))]
    assert names == ["a.yaml", "deep/b.yaml"]


# --- finding commits --------------------------------------------------------


def test_a_commit_is_found_by_each_of_its_names(repo: Repo) -> None:
    """Branch, tag, HEAD, whole and shortened digest name one commit."""
    repo.git("tag", "--annotate", "--message=x", "v1")
    digest = repo.git("rev-parse", "HEAD")
    repository = around()
    for name in ("main", "v1", "HEAD", digest, digest[:8], "HEAD^0"):
        assert repository.commit(name) == Commit(name, digest)


@pytest.mark.parametrize(
    ("revision", "words"),
    [
        ("mian", "There is no revision 'mian' in '.'. Write main, if that is meant."),
        ("v9", "`git branch --all` and `git tag` list what there is"),
        ("", "There is no revision ''"),
        ("a\nb", r"There is no revision 'a\nb'"),
        ("HEAD:a.yaml", "There is no revision 'HEAD:a.yaml'"),
        ("--output=x", "is an option by its first character, no revision. Write refs"),
        ("-x", "Write refs/heads/-x for a branch of that name."),
    ],
)
def test_what_names_no_commit_is_refused(repo: Repo, revision: str, words: str) -> None:
    """A text that is no revision is refused, with what may be meant."""
    assert words in refusal(around(), revision)
    assert not (repo.folder / "x").exists()


def test_a_branch_named_like_an_option_has_a_longer_name(repo: Repo) -> None:
    """A branch whose name begins with a hyphen is found by its whole name."""
    repo.git("update-ref", "refs/heads/--output=x", "HEAD")
    digest = repo.git("rev-parse", "HEAD")
    assert around().commit("refs/heads/--output=x").digest == digest


def test_a_branch_that_is_only_on_the_server_is_offered(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a branch that was fetched and has no local name, the name it has is told."""
    repo.git("branch", "released")
    git(tmp_path, "clone", "--quiet", "repo", "clone")
    monkeypatch.chdir(tmp_path / "clone")
    assert "Write origin/released, if that is meant." in refusal(around(), "released")


def test_a_shallow_clone_says_what_to_fetch(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a shallow clone lacks is told together with how to get it."""
    repo.commit({"a.yaml": "meter: FT-9\n"})
    source = f"file://{repo.folder}"
    git(tmp_path, "clone", "--quiet", "--depth=1", source, "shallow")
    monkeypatch.chdir(tmp_path / "shallow")
    said = refusal(around(), "HEAD~1")
    assert "This clone is shallow" in said
    assert "git fetch --unshallow" in said


def test_the_fork_is_the_newest_commit_of_both(repo: Repo) -> None:
    """The fork of a branch is where it left, though the other has gone on since."""
    base = repo.git("rev-parse", "HEAD")
    repo.git("switch", "--quiet", "--create", "work")
    repo.commit({"c.yaml": "meter: FT-3\n"})
    repo.git("switch", "--quiet", "main")
    repo.commit({"d.yaml": "meter: FT-4\n"})
    repo.git("switch", "--quiet", "work")
    assert around().fork("main") == Commit("main", base)


def test_histories_without_a_common_commit_are_refused(repo: Repo) -> None:
    """Where two histories never met, there is no fork, and that is said."""
    repo.git("switch", "--quiet", "--orphan", "alone")
    repo.commit({"c.yaml": "meter: FT-3\n"})
    with pytest.raises(RunError, match="have no commit in common here"):
        around().fork("main")


# --- reading what is in a commit --------------------------------------------


def test_all_files_of_a_commit_are_listed(repo: Repo) -> None:
    """Files are listed whatever their names, each with why it is not read, if so."""
    odd = "odd 'name'\n\tß\udcff.yaml"
    repo.write({odd: "meter: FT-3\n"})
    (repo.folder / "link.yaml").symlink_to("/etc/passwd")
    repo.git("add", "--all")
    digest = repo.git("rev-parse", "HEAD")
    repo.git("update-index", "--add", "--cacheinfo", f"160000,{digest},module")
    repo.git("commit", "--quiet", "--message=x")
    repository = around()
    found = {
        each.path: each.reason for each in repository.blobs(repository.commit("@"))
    }
    assert found == {
        "a.yaml": "",
        "deep/b.yaml": "",
        "link.yaml": "it is a link, and a revision's links are not followed",
        "module": "it belongs to another repository",
        odd: "",
    }


def test_a_list_without_end_is_refused(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A commit whose list of files is longer than the bound is refused, not read."""
    monkeypatch.setattr(module, "MOST_LISTED", 20)
    repository = around()
    with pytest.raises(RunError, match="more files than can be looked at"):
        repository.blobs(repository.commit("main"))


def test_contents_are_read_exactly(repo: Repo) -> None:
    """What is read of a commit is what was written, to the byte and in order."""
    contents = [b"", b"\n", b"\r\nx\x00\xff", b"a" * 100_000, b"no end"]
    for number, content in enumerate(contents):
        (repo.folder / f"f{number}").write_bytes(content)
    (repo.folder / ".gitattributes").write_text("* text eol=crlf ident\n", "utf-8")
    repo.git("-c", "core.attributesFile=none", "add", "f0", "f1", "f2", "f3", "f4")
    repo.git("commit", "--quiet", "--message=x")
    repository = around()
    blobs = {
        each.path: each.digest for each in repository.blobs(repository.commit("@"))
    }
    digests = [blobs[f"f{number}"] for number in range(5)]
    stored = [git_bytes(repo, digest) for digest in digests]
    assert list(repository.contents(digests)) == stored
    assert repository.sizes(digests) == [
        Size(digest, len(content))
        for digest, content in zip(digests, stored, strict=True)
    ]


def git_bytes(repo: Repo, digest: str) -> bytes:
    """Give an object's content from its own file, without git."""
    file = repo.folder / ".git" / "objects" / digest[:2] / digest[2:]
    return zlib.decompress(file.read_bytes()).partition(b"\0")[2]


def test_a_content_that_is_too_long_is_stood_in_for(repo: Repo) -> None:
    """Of a file that no check would read, only its length past the bound is given."""
    repo.commit({"long.yaml": "#" * (BOUNDS.bytes + 5)})
    repository = around()
    blobs = {each.path: each for each in repository.blobs(repository.commit("@"))}
    wanted = [blobs["long.yaml"].digest, blobs["a.yaml"].digest]
    long, short = repository.contents(wanted)
    assert len(long) == BOUNDS.bytes + 1
    assert short == b"meter: FT-1\n"


def test_a_content_that_a_clone_lacks_is_told(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clone made without contents is told to be one, and nothing is fetched."""
    repo.git("config", "uploadpack.allowFilter", "true")
    source = f"file://{repo.folder}"
    options = ("--quiet", "--no-checkout", "--filter=blob:none")
    git(tmp_path, "clone", *options, source, "partial")
    monkeypatch.chdir(tmp_path / "partial")
    repository = around()
    blobs = repository.blobs(repository.commit("HEAD"))
    with pytest.raises(RunError, match="lacks some of the files"):
        list(repository.contents(each.digest for each in blobs))
    packs = list((tmp_path / "partial" / ".git" / "objects" / "pack").glob("*.pack"))
    assert len(packs) == 1


@pytest.mark.parametrize("spoil", ["deleted", "damaged"])
def test_a_content_that_goes_while_it_is_read_is_told(repo: Repo, spoil: str) -> None:
    """An object that is deleted or damaged under the run ends it with a sentence."""
    repository = around()
    blobs = repository.blobs(repository.commit("HEAD"))
    contents = repository.contents(each.digest for each in blobs)
    assert next(contents) == b"meter: FT-1\n"
    digest = blobs[1].digest
    file = repo.folder / ".git" / "objects" / digest[:2] / digest[2:]
    file.chmod(0o644)
    if spoil == "deleted":
        file.unlink()
    else:
        file.write_bytes(file.read_bytes()[:12])
    with pytest.raises(RunError, match="lacks some of the files"):
        next(contents)


def test_a_commit_whose_files_can_not_be_listed_is_told(repo: Repo) -> None:
    """A commit that lacks a folder's object is refused as a damaged clone's."""
    tree = repo.git("rev-parse", "HEAD:deep")
    file = repo.folder / ".git" / "objects" / tree[:2] / tree[2:]
    file.unlink()
    repository = around()
    with pytest.raises(RunError, match="lacks some of the files"):
        repository.blobs(repository.commit("HEAD"))


def test_reading_runs_nothing_of_the_repository(repo: Repo, tmp_path: Path) -> None:
    """No hook, monitor, filter or pager that a repository names is ever run."""
    trap = tmp_path / "trap.sh"
    trap.write_text(f"#!/bin/sh\necho caught >> {tmp_path}/caught\n", "utf-8")
    trap.chmod(0o755)
    for key in (
        "core.fsmonitor",
        "core.pager",
        "diff.trap.textconv",
        "filter.t.smudge",
    ):
        repo.git("config", key, str(trap))
    hooks = repo.folder / ".git" / "hooks"
    hooks.mkdir(exist_ok=True)
    for hook in ("post-index-change", "reference-transaction", "post-checkout"):
        (hooks / hook).symlink_to(trap)
    (tmp_path / "caught").unlink(missing_ok=True)
    repository = around()
    blobs = repository.blobs(repository.commit("main"))
    assert len(list(repository.contents(each.digest for each in blobs))) == 2
    assert not (tmp_path / "caught").exists()


def test_a_replaced_object_is_read_as_it_was_committed(repo: Repo) -> None:
    """A local replacement of a content does not change what a revision says."""
    repository = around()
    (first, _) = repository.blobs(repository.commit("HEAD"))
    other = repo.git("hash-object", "-w", "--stdin", said="meter: FALSE\n")
    repo.git("replace", first.digest, other)
    assert next(repository.contents([first.digest])) == b"meter: FT-1\n"
