"""Laws of writing out a revision: regular files alone, in their folder, then gone."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from configlint.documents import BOUNDS
from configlint.errors import RunError
from configlint.report import Commit
from configlint.review.repository import Repository, around
from configlint.review.revisions import (
    Scope,
    Tree,
    content_digest,
    fits,
    written_out,
)
from configlint.workspace import LeftOut
from tests.repositories import Repo
from tests.workspaces import FILES, METER, sentences

EVERYTHING = Scope((".",))
OWN = {
    "concessions.yaml",
    "configlint.yaml",
    "own-rules/two.yaml",
    "sites/north/site.yaml",
    "types/one.yaml",
}
METERS = {"sites/north/a.yaml", "sites/north/deep/b.yml", "sites/south/c.YAML"}


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """Give a repository that holds a workspace, which is the current folder."""
    made = Repo(tmp_path / "repo")
    made.commit(FILES)
    monkeypatch.chdir(made.folder)
    return made


def head() -> tuple[Repository, Commit]:
    """Give the repository around with its newest commit."""
    repository = around()
    return repository, repository.commit("HEAD")


def names(tree: Tree) -> set[str]:
    """Name all files that were written out."""
    files = (each for each in tree.folder.rglob("*") if each.is_file())
    return {each.relative_to(tree.folder).as_posix() for each in files}


def test_the_yaml_files_of_a_revision_are_written_out(repo: Repo) -> None:
    """All YAML files stand in the folder as in the commit, and no other file."""
    (repo.folder / "sites/north/a.yaml").write_text("changed since", "utf-8")
    repository, commit = head()
    with written_out(repository, commit, commit, EVERYTHING) as tree:
        assert names(tree) == OWN | METERS
        assert (tree.folder / "sites/north/a.yaml").read_text("utf-8") == METER
        assert (tree.left_out, set(tree.put_aside)) == ((), OWN)
        assert tree.folder.stat().st_mode & 0o777 == 0o700
    assert not tree.folder.exists()


def test_a_folder_that_the_workspace_names_may_be_empty(repo: Repo) -> None:
    """Git keeps no empty folder, so one that is named and holds nothing is made; one
    that leads outside is not."""
    named = "sites: {north: {folder: sites/north}}\ntype_sheets: none/here\n"
    text = f"workspace: plant\n{named}rules: ../beside-configlint\n"
    repo.commit({"configlint.yaml": text})
    repository, commit = head()
    with written_out(repository, commit, commit, EVERYTHING) as tree:
        assert (tree.folder / "none/here").is_dir()
        assert not (tree.folder.parent / "beside-configlint").exists()


def test_what_judges_is_written_out_whatever_is_asked_for(repo: Repo) -> None:
    """For one file its workspace comes too, with the folders of all its sites."""
    repository, commit = head()
    scope = Scope(("sites/north/deep/b.yml", "sites/south/notes.txt"))
    with written_out(repository, commit, commit, scope) as tree:
        asked = {"sites/north/deep/b.yml", "sites/south/notes.txt"}
        assert names(tree) == OWN | asked
        assert (tree.folder / "sites/south").is_dir()


def test_the_folder_goes_though_the_run_fails(repo: Repo) -> None:
    """An error inside leaves no folder behind."""
    repository, commit = head()
    with (
        pytest.raises(KeyboardInterrupt),
        written_out(repository, commit, commit, EVERYTHING) as tree,
    ):
        raise KeyboardInterrupt
    assert not tree.folder.exists()


def test_other_rules_are_taken_from_their_own_revision(repo: Repo) -> None:
    """What judges comes from one commit, the meter files from another."""
    repository, rules = head()
    repo.commit(
        {
            "configlint.yaml": "workspace: relaxed\n",
            "sites/north/configlint.yaml": "workspace: nearer\n",
            "own-rules/three.yaml": "ruleset: more\n",
            "types/one.yaml": "type_sheet: other\n",
            "sites/north/a.yaml": "meter: FT-9\n",
            "sites/north/new.yaml": "meter: FT-8\n",
        }
    )
    repo.git("rm", "--quiet", "sites/south/c.YAML")
    meters = Commit("HEAD", repo.commit())
    with written_out(repository, meters, rules, EVERYTHING) as tree:
        new = {"sites/north/new.yaml"}
        assert names(tree) == (OWN | METERS | new) - {"sites/south/c.YAML"}
        kept = {name: (tree.folder / name).read_text("utf-8") for name in OWN}
        assert kept == {name: FILES[name] for name in OWN}
        assert (tree.folder / "sites/north/a.yaml").read_text(
            "utf-8"
        ) == "meter: FT-9\n"
        assert set(tree.put_aside) == OWN | {
            "own-rules/three.yaml",
            "sites/north/configlint.yaml",
        }
        digest = content_digest(b"type_sheet: other\n")
        assert tree.put_aside["types/one.yaml"] == digest


def test_meters_of_the_working_tree_meet_the_rules_of_a_revision(repo: Repo) -> None:
    """What is not committed is judged too; hidden files and links are not."""
    repository, rules = head()
    repo.write(
        {
            "configlint.yaml": "workspace: relaxed\n",
            "sites/north/a.yaml": "meter: FT-9\n",
            "sites/north/.hidden/x.yaml": "meter: FT-7\n",
            "sites/south/long.yaml": "#" * (BOUNDS.bytes + 9),
        }
    )
    (repo.folder / "sites/south/link.yaml").symlink_to("c.YAML")
    (repo.folder / "sites/south/folder").symlink_to("../north")
    with written_out(repository, None, rules, EVERYTHING) as tree:
        assert names(tree) == OWN | METERS | {"sites/south/long.yaml"}
        configuration = (tree.folder / "configlint.yaml").read_text("utf-8")
        assert configuration == FILES["configlint.yaml"]
        assert (tree.folder / "sites/north/a.yaml").read_text(
            "utf-8"
        ) == "meter: FT-9\n"
        long = (tree.folder / "sites/south/long.yaml").stat().st_size
        assert long == BOUNDS.bytes + 1
        reason = "it is a link, and is not followed here"
        assert tree.left_out == (
            LeftOut("sites/south/folder", reason),
            LeftOut("sites/south/link.yaml", reason),
        )


def test_one_file_of_the_working_tree_can_be_asked_for(repo: Repo) -> None:
    """A file that is named is taken whatever its name ends in, and once."""
    repository, rules = head()
    scope = Scope(("sites/south/notes.txt", "sites/south", "no-such.yaml"))
    with written_out(repository, None, rules, scope) as tree:
        assert names(tree) == OWN | {"sites/south/notes.txt", "sites/south/c.YAML"}
        assert tree.left_out == ()


def test_what_is_no_regular_file_is_left_out(repo: Repo) -> None:
    """A pipe in the working tree is not waited for, and is told."""
    repository, rules = head()
    os.mkfifo(repo.folder / "sites/south/pipe.yaml")
    with written_out(repository, None, rules, EVERYTHING) as tree:
        told = LeftOut("sites/south/pipe.yaml", "it is no regular file")
        assert tree.left_out == (told,)


def test_links_lead_nowhere(repo: Repo) -> None:
    """A link in a revision is neither made nor followed, wherever it leads."""
    for name, target in (
        ("sites/north/out.yaml", "/etc/passwd"),
        ("sites/north/up.yaml", "../../../secret.yaml"),
        ("sites/north/in.yaml", "a.yaml"),
        ("sites/north/way", "../south"),
        ("sites/north/notes.txt", "a.yaml"),
    ):
        (repo.folder / name).symlink_to(target)
    repo.commit()
    repository, commit = head()
    with written_out(repository, commit, commit, EVERYTHING) as tree:
        assert names(tree) == OWN | METERS
        assert not any(each.is_symlink() for each in tree.folder.rglob("*"))
        assert [each.file for each in tree.left_out] == [
            "sites/north/in.yaml",
            "sites/north/out.yaml",
            "sites/north/up.yaml",
            "sites/north/way",
        ]


@pytest.mark.parametrize("name", ["configlint.yaml", "own-rules/two.yaml"])
def test_a_link_never_judges(repo: Repo, name: str) -> None:
    """Where a file that judges is a link, the run stops rather than judge by less."""
    (repo.folder / name).rename(repo.folder / "true.yaml")
    (repo.folder / name).symlink_to(repo.folder / "true.yaml")
    repo.commit()
    repository, commit = head()
    with (
        pytest.raises(RunError) as error,
        written_out(repository, commit, commit, EVERYTHING),
    ):
        pass
    (said,) = sentences(error)
    assert said.startswith(f"{name}:1:1: Of HEAD (")
    assert "can't be judged by: it is a link" in said


def test_a_faulty_workspace_is_written_out_as_it_is(repo: Repo) -> None:
    """A workspace file that can't be read does not keep others from being written."""
    repo.commit({"configlint.yaml": "workspace: ["})
    repository, commit = head()
    with written_out(repository, commit, commit, EVERYTHING) as tree:
        assert names(tree) == OWN | METERS


def test_a_tree_that_leads_out_writes_nothing_outside(repo: Repo) -> None:
    """A tree made by hand, with names that lead up, is written inside or not at all."""
    blob = repo.git("hash-object", "-w", "--stdin", said="meter: FT-1\n")
    entries = f"100644 blob {blob}\tx.yaml\n"
    inner = repo.git("mktree", said=entries)
    tree = repo.git("mktree", said=f"040000 tree {inner}\t..\n{entries}")
    commit = Commit("odd", repo.git("commit-tree", tree, "-m", "odd"))
    repository = around()
    with written_out(repository, commit, commit, EVERYTHING) as made:
        assert names(made) == {"x.yaml"}
        reason = "its name names no file below a folder on this system"
        assert made.left_out == (LeftOut("../x.yaml", reason),)
        assert not (made.folder.parent / "x.yaml").exists()


def test_two_files_of_one_name_are_told(repo: Repo) -> None:
    """Of files that are one on this system the first is written, the others told."""
    blob = repo.git("hash-object", "-w", "--stdin", said="meter: FT-1\n")
    entry = f"100644 blob {blob}\tx.yaml\n"
    inner = repo.git("mktree", said=f"100644 blob {blob}\ty.yaml\n")
    tree = repo.git("mktree", said=f"{entry}{entry}040000 tree {inner}\tx.yaml\n")
    commit = Commit("odd", repo.git("commit-tree", tree, "-m", "odd"))
    repository = around()
    with written_out(repository, commit, commit, EVERYTHING) as made:
        assert names(made) == {"x.yaml/y.yaml"}
        reason = "another file has its name on this system"
        assert set(made.left_out) == {LeftOut("x.yaml", reason)}


@pytest.mark.parametrize(
    ("path", "here", "there"),
    [
        ("sites/FT-1.yaml", True, True),
        ("../FT-1.yaml", False, False),
        ("a/../FT-1.yaml", False, False),
        ("/FT-1.yaml", False, False),
        ("a//b.yaml", False, False),
        ("", False, False),
        (".", False, False),
        ("C:/x.yaml", True, False),
        ("a\\..\\x.yaml", True, False),
        ("aux.yaml", True, False),
        ("sites/COM1 .yaml", True, False),
        ("a./x.yaml", True, False),
        ("a /x.yaml", True, False),
        ("auxiliary.yaml", True, True),
    ],
)
def test_a_name_fits_where_it_names_a_file_below(
    path: str, here: bool, there: bool
) -> None:
    """No name leads out of the folder, to a device, or to another file by accident."""
    assert (fits(path, windows=False), fits(path, windows=True)) == (here, there)


def test_line_ends_make_no_other_content() -> None:
    """A file checked out with other line ends has the digest of the one committed."""
    assert content_digest(b"a\r\nb\r\n") == content_digest(b"a\nb\n")
    assert content_digest(b"a\n") != content_digest(b"b\n")
