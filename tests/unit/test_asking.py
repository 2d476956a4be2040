"""Laws of what is asked to be compared: read off the arguments, and never guessed."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.report import Commit
from configlint.review.asking import (
    WORKING_TREE,
    name_in,
    open_sides,
    read_arguments,
)
from configlint.review.repository import around
from tests.repositories import Repo, git
from tests.workspaces import FILES, METER, sentences, write


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """Give a repository of two commits on main and one on work, the current folder."""
    made = Repo(tmp_path / "repo")
    made.commit(FILES)
    made.git("tag", "first")
    made.git("switch", "--quiet", "--create", "work")
    made.commit({"sites/north/a.yaml": METER.replace("FT-1", "FT-2")})
    made.git("switch", "--quiet", "main")
    made.commit({"sites/south/d.yaml": METER.replace("FT-1", "FT-4")})
    monkeypatch.chdir(made.folder)
    return made


def told(*arguments: str, rules: str | None = None) -> list[tuple[str, list[str]]]:
    """Give the name and the files of both sides."""
    with open_sides(read_arguments(arguments), rules) as sides:
        return [
            (side.told.partition(" (")[0], [each.file for each in side.find().files])
            for side in sides
        ]


def refusal(*arguments: str, rules: str | None = None) -> str:
    """Give what is said of arguments that can't be taken."""
    with pytest.raises(RunError) as error:
        told(*arguments, rules=rules)
    return "\n".join(sentences(error))


FIRST = ["sites/north/a.yaml", "sites/north/deep/b.yml", "sites/south/c.YAML"]
NOW = [*FIRST, "sites/south/d.yaml"]


@pytest.mark.parametrize(
    ("arguments", "before", "after"),
    [
        (("first", "main"), ("first", FIRST), ("main", NOW)),
        (("first..main",), ("first", FIRST), ("main", NOW)),
        (("first..",), ("first", FIRST), ("HEAD", NOW)),
        (("..work",), ("HEAD", NOW), ("work", FIRST)),
        (("main...work",), ("main", FIRST), ("work", FIRST)),
        (("first",), ("first", FIRST), (WORKING_TREE, NOW)),
        (("first", "sites/south"), ("first", FIRST[2:]), (WORKING_TREE, NOW[2:])),
        (("first..main", "sites/south"), ("first", FIRST[2:]), ("main", NOW[2:])),
        (("first", "main", "sites/south/d.yaml"), ("first", []), ("main", NOW[3:])),
        (("sites/south", "first"), (WORKING_TREE, NOW[2:]), ("first", FIRST[2:])),
    ],
)
def test_revisions_and_paths_are_told_apart(
    repo: Repo,
    arguments: tuple[str, ...],
    before: tuple[str, list[str]],
    after: tuple[str, list[str]],
) -> None:
    """Each way of writing two states gives these two, of the paths that follow."""
    assert told(*arguments) == [before, after]


def test_three_points_begin_where_both_were_one(repo: Repo) -> None:
    """Between three points, what main has gained meanwhile is not told as gone."""
    asked = read_arguments(["main...work"])
    assert asked.before == Commit("main", repo.git("rev-parse", "first"))


def test_names_are_those_that_a_user_would_type(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files of both sides are named as seen from the current folder."""
    monkeypatch.chdir(repo.folder / "sites/north")
    names = ["../south/c.YAML", "a.yaml", "deep/b.yml"]
    later = ["../south/c.YAML", "../south/d.yaml", "a.yaml", "deep/b.yml"]
    expected = [("first", names), (WORKING_TREE, later)]
    assert told("first") == expected
    assert told("first", rules="first") == expected
    assert told("first", "../south") == [
        ("first", names[:1]),
        (WORKING_TREE, later[:2]),
    ]


def test_two_folders_or_files_need_no_repository(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Folders and files are compared where there is no repository at all."""
    write(tmp_path, {"old/x/a.yaml": METER, "new/x/a.yaml": METER, "new/b.yaml": METER})
    monkeypatch.chdir(tmp_path)
    names = ["new/b.yaml", "new/x/a.yaml"]
    assert told("old", "new") == [("old", ["old/x/a.yaml"]), ("new", names)]
    assert told("old", "new", "x") == [("old", ["old/x/a.yaml"]), ("new", names[1:])]
    assert told("new/b.yaml", "old/x/a.yaml") == [
        ("new/b.yaml", ["new/b.yaml"]),
        ("old/x/a.yaml", ["old/x/a.yaml"]),
    ]


def test_files_of_one_folder_have_the_same_keys_on_both_sides(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file is known by its path below its side, whatever the side is called."""
    write(tmp_path, {"old/x/a.yaml": METER, "new/x/a.yaml": METER})
    monkeypatch.chdir(tmp_path)
    with open_sides(read_arguments(["old", "new"])) as sides:
        keys = [[side.key(each.path) for each in side.find().files] for side in sides]
    assert keys == [["x/a.yaml"], ["x/a.yaml"]]
    with open_sides(read_arguments(["old/x/a.yaml", "new/x/a.yaml"])) as (one, other):
        assert one.key(one.find().files[0].path) == "."
        assert other.name(".") == "new/x/a.yaml"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("sites",), "There is nothing to compare this with. Write BEFORE and AFTER"),
        (("frist",), "There is no revision 'frist' in '.'. Write first, if that is"),
        (("first..mian",), "There is no revision 'mian'"),
        (("first", "--output=x"), "is an option by its first character"),
        (("first", "no-such"), "There is no YAML file here, neither in first ("),
        (("../nowhere", "first"), "There is no revision '../nowhere'"),
        (("first", "main", "/etc"), "This lies outside the repository at '.'"),
        (("first", "a" * 300), "There is no YAML file here"),
    ],
)
def test_what_can_not_be_compared_is_refused(
    repo: Repo, arguments: tuple[str, ...], words: str
) -> None:
    """Each slip is told with what was written and what to write."""
    assert words in refusal(*arguments)


def test_what_could_be_a_file_and_a_revision_is_refused(repo: Repo) -> None:
    """Of a folder and a branch of one name, none is taken for the other."""
    repo.git("branch", "sites")
    said = refusal("first", "sites")
    assert "is a file or folder here, and a revision as well" in said
    assert told("first", "./sites") == [("first", FIRST), (WORKING_TREE, NOW)]
    assert told("first", "refs/heads/sites")[1] == ("refs/heads/sites", NOW)


def test_a_file_named_like_an_option_is_a_file(repo: Repo) -> None:
    """A path that is there is taken for it, though its name begins with a hyphen."""
    repo.write({"-x.yaml": METER, "-y.yaml": METER})
    assert [name for name, _ in told("-x.yaml", "-y.yaml")] == ["-x.yaml", "-y.yaml"]


def test_outside_a_repository_revisions_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing is found and there is no repository either, both are said."""
    write(tmp_path, {"old.yaml": METER})
    monkeypatch.chdir(tmp_path)
    said = refusal("old.yaml", "new.yaml")
    assert "There is no such file or folder. No git repository can be read here" in said
    assert "no git repository" in refusal("a..b").lower()


@pytest.mark.parametrize("path", ["../other", "/etc", "x/../../y"])
def test_a_path_behind_two_folders_stays_below_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    """A path that leads out of the folders is refused, and so is one in neither."""
    write(tmp_path, {"old/a.yaml": METER, "new/a.yaml": METER})
    monkeypatch.chdir(tmp_path)
    said = refusal("old", "new", path)
    assert "looked for below each of them. Write it as seen from the folders." in said
    assert "There is no YAML file here, neither in old nor in new." in refusal(
        "old", "new", "sub"
    )


def test_rules_of_a_revision_judge_no_folders(repo: Repo) -> None:
    """Two folders have no revision whose rules could judge them."""
    said = refusal("sites/north", "sites/south", rules="first")
    assert "Rules of a revision judge revisions, or the working tree." in said


def test_a_bare_repository_has_no_files_of_now(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a bare repository two revisions can be compared, one alone can't."""
    git(tmp_path, "clone", "--quiet", "--bare", "repo", "bare")
    monkeypatch.chdir(tmp_path / "bare")
    assert told("first", "main") == [("first", FIRST), ("main", NOW)]
    assert "no working tree. Name two revisions" in refusal("first")


def test_a_workspace_above_the_repository_is_refused(
    repo: Repo, tmp_path: Path
) -> None:
    """A workspace file of which no revision holds a version is told, not ignored."""
    repo.git("rm", "--quiet", "configlint.yaml")
    repo.commit()
    write(tmp_path, {"configlint.yaml": "workspace: outer\n"})
    said = refusal("HEAD")
    assert "This workspace file lies outside the repository." in said
    assert told("first", "HEAD~1") == [("first", FIRST), ("HEAD~1", NOW)]


def workspace_names(repo: Repo, file: str, rules: str | None) -> list[str]:
    """Give the workspaces of the first file of both sides."""
    asked = read_arguments(["first"])
    with open_sides(asked, rules, Path(file)) as sides:
        return [side.find().files[0].workspace.name for side in sides]


def test_a_workspace_file_that_is_named_is_each_sides_own(repo: Repo) -> None:
    """Of a workspace file that is named, a revision has the version of its own."""
    repo.write({"configlint.yaml": FILES["configlint.yaml"].replace("Two", "Three")})
    file = "configlint.yaml"
    assert workspace_names(repo, file, None) == ["Two works", "Three works"]
    assert workspace_names(repo, file, "first") == ["Two works", "Two works"]
    with pytest.raises(RunError, match="outside the repository"):
        workspace_names(repo, "/elsewhere/configlint.yaml", None)


def test_a_faulty_revision_is_named(repo: Repo) -> None:
    """What stops a run at a revision names the file as in it, and the revision."""
    faulty = FILES["configlint.yaml"].replace("sites:", "sties:")
    repo.commit({"configlint.yaml": faulty})
    repo.write({"configlint.yaml": FILES["configlint.yaml"]})
    said = refusal("HEAD")
    assert said.startswith("configlint.yaml:4:1: At HEAD (")
    assert "'sties' is no key here" in said
    assert ".configlint-" not in said


def test_a_second_place_of_a_fault_is_named_as_well(repo: Repo) -> None:
    """Of a key that is written twice, both places are those in the revision."""
    repo.commit({"configlint.yaml": "workspace: a\nworkspace: b\n"})
    repo.write({"configlint.yaml": FILES["configlint.yaml"]})
    assert "(see also configlint.yaml:1:1)" in refusal("HEAD")


def test_a_path_is_named_as_its_repository_does(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A path through a link to the repository is one in it."""
    (tmp_path / "way").symlink_to("repo")
    repository = around()
    for path in ("sites/north", str(tmp_path / "way/sites/north"), "sites/x/../north"):
        assert name_in(repository, Path(path)) == "sites/north"
    assert name_in(repository, Path()) == "."
