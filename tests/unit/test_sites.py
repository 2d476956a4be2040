"""Laws of workspace files and site files."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.workspace import (
    NO_WORKSPACE,
    Site,
    find_workspace,
    load_workspace,
)
from tests.workspaces import FILES, METER, sentences, write


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give an empty folder that is the current one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_workspace_is_read_with_its_sites(folder: Path) -> None:
    """A workspace gives its name, folders, policy and sites, with what they say."""
    write(folder, FILES)
    workspace = load_workspace(Path("configlint.yaml"))
    assert (workspace.name, workspace.root) == ("Two works", folder)
    assert workspace.file == folder / "configlint.yaml"
    assert workspace.type_sheets == folder / "types"
    assert workspace.rule_folders == (folder / "own-rules",)
    (change,) = workspace.policy
    assert (change.rule, change.limit) == ("velocity-at-span-in-band", "highest")
    assert (change.value, change.reason) == ("6 m/s", "Abrasive sludge")
    assert str(change.place) == "configlint.yaml:11:22"
    north, south = workspace.sites
    assert (north.name, north.folder) == ("North", folder / "sites/north")
    assert str(north.mains_frequency) == "50 Hz"
    assert north.unit_convention == "US"
    assert [each.value for each in north.policy] == ["5 m/s"]
    assert north.policy[0].place.file == "sites/north/site.yaml"
    assert north.file == folder / "sites/north/site.yaml"
    assert south == Site("South", folder / "sites/south", unit_convention="SI")


def test_a_site_takes_the_convention_of_its_workspace(folder: Path) -> None:
    """A site file without a unit convention leaves that of the workspace."""
    write(folder, FILES | {"sites/north/site.yaml": "site: North\n"})
    north, _ = load_workspace(folder / "configlint.yaml").sites
    assert (north.unit_convention, north.mains_frequency) == ("SI", None)


def test_a_bare_workspace_needs_a_name_alone(folder: Path) -> None:
    """A workspace file may say no more than the workspace's name."""
    write(folder, {"configlint.yaml": "workspace: Bare\n"})
    workspace = load_workspace(folder / "configlint.yaml")
    assert (workspace.sites, workspace.policy) == ((), ())
    assert workspace.rule_folders == ()
    assert workspace.type_sheets is None


def test_workspaces_and_sites_are_keys(folder: Path) -> None:
    """A workspace and its sites serve as keys, and are equal when read again."""
    write(folder, FILES)
    first = load_workspace(folder / "configlint.yaml")
    again = load_workspace(folder / "configlint.yaml")
    assert {first} == {again}
    assert set(first.sites) == set(again.sites)


def test_the_nearest_workspace_file_is_found(folder: Path) -> None:
    """A file belongs to the workspace of the nearest folder around it."""
    write(folder, FILES | {"sites/south/configlint.yaml": "workspace: Inner\n"})
    outer, inner = folder / "configlint.yaml", folder / "sites/south/configlint.yaml"
    assert find_workspace(Path("sites/north/a.yaml")) == outer
    assert find_workspace(Path()) == outer
    assert find_workspace(Path("sites/north/../south")) == inner
    assert find_workspace(Path("a" * 300)) == outer
    outer.unlink()
    assert find_workspace(folder / "sites/north") is None


def test_a_file_belongs_to_the_innermost_site(folder: Path) -> None:
    """Of sites inside each other, a file belongs to the innermost around it."""
    text = "workspace: a\nsites: {A: {folder: a}, B: {folder: a/b}}\n"
    write(folder, {"configlint.yaml": text, "a/b/c.yaml": METER, "ab/d.yaml": METER})
    workspace = load_workspace(folder / "configlint.yaml")
    found = [workspace.site_of(Path(name)) for name in ("a/x", "a/b/c.yaml", "ab/d")]
    assert [site.name if site else None for site in found] == ["A", "B", None]
    assert NO_WORKSPACE.site_of(Path("a/x")) is None


WRONG_WORKSPACES: tuple[tuple[str, str], ...] = (
    ("", "configlint.yaml:1:1: the document: nothing stands here. Write a section."),
    ("sites: {}", "configlint.yaml:1:1: workspace is not written."),
    ("workspace: [", "configlint.yaml:1:12: "),
    ("workspace: a\nsite: {}", "configlint.yaml:2:1: 'site' is no key here. Write"),
    ("workspace: a\n---\nb", "configlint.yaml:3:1: A second document begins here,"),
    (
        "workspace: a\nsites: {A: {folder: gone}}",
        "configlint.yaml:2:21: The folder 'gone' does not exist. Create gone, or",
    ),
    (
        "workspace: a\nsites: {A: {folder: ../b}}",
        "configlint.yaml:2:21: The folder '../b' lies outside the workspace. Write a",
    ),
    (
        "workspace: a\nsites: {A: {folder: here}, B: {folder: ./here/}}",
        "configlint.yaml:2:40: The folder './here/' is that of the site 'A' too.",
    ),
    (f"workspace: a\nrules: {'b' * 300}", "configlint.yaml:2:8: The folder 'bbb"),
    ("workspace: a\nrules: gone", "configlint.yaml:2:8: The folder 'gone' does not"),
    ("workspace: a\ntype_sheets: gone", "configlint.yaml:2:14: The folder 'gone'"),
    ("workspace: a\nsites: {A: }", "configlint.yaml:2:9: sites.A is not written."),
    (
        "workspace: a\npolicy: {rule: {limit: {value: 3 m/s}}}",
        "configlint.yaml:2:24: policy.rule.limit.reason is not written.",
    ),
    (
        "workspace: a\nunit_convention: metric",
        "configlint.yaml:2:18: unit_convention: 'metric' is not one of: SI",
    ),
)


@pytest.mark.parametrize(("text", "words"), WRONG_WORKSPACES)
def test_a_wrong_workspace_file_is_refused(folder: Path, text: str, words: str) -> None:
    """A mistake in a workspace file stops the run, with its place and what to do."""
    write(folder, {"configlint.yaml": text, "here/a.yaml": METER})
    with pytest.raises(RunError) as error:
        load_workspace(folder / "configlint.yaml")
    (sentence,) = sentences(error)
    assert sentence.startswith(words)


WRONG_SITES: tuple[tuple[str, str], ...] = (
    ("", "a/site.yaml:1:1: the document: nothing stands here."),
    ("site: B", "a/site.yaml:1:7: The site is named 'B' here. Write A, as the"),
    ("site: A\nmains: 50 Hz", "a/site.yaml:2:1: 'mains' is no key here."),
    ("site: A\nmains_frequency: 50", "a/site.yaml:2:18: mains_frequency: '50' has no"),
    ("site: A\nsite: A", "a/site.yaml:2:1: "),
)


@pytest.mark.parametrize(("text", "words"), WRONG_SITES)
def test_a_wrong_site_file_is_refused(folder: Path, text: str, words: str) -> None:
    """A mistake in a site file stops the run, with its place and what to do."""
    workspace = "workspace: a\nsites: {A: {folder: a}}\n"
    write(folder, {"configlint.yaml": workspace, "a/site.yaml": text})
    with pytest.raises(RunError) as error:
        load_workspace(folder / "configlint.yaml")
    assert sentences(error)[0].startswith(words)


def test_all_faults_of_a_workspace_are_told(folder: Path) -> None:
    """The faults of a workspace file and of its site files are told together."""
    workspace = (
        "workspace: a\nsites: {A: {folder: a}, B: {folder: gone}}\nrules: none\n"
    )
    write(folder, {"configlint.yaml": workspace, "a/site.yaml": "site: C\nx: y\n"})
    with pytest.raises(RunError) as error:
        load_workspace(folder / "configlint.yaml")
    assert [sentence.split(": ")[0] for sentence in sentences(error)] == [
        "a/site.yaml:2:1",
        "a/site.yaml:1:7",
        "configlint.yaml:2:37",
        "configlint.yaml:3:8",
    ]


def test_a_file_that_can_not_be_read_is_refused(folder: Path) -> None:
    """A workspace file that is gone or is a folder stops the run by name."""
    (folder / "configlint.yaml").mkdir()
    for name in ("configlint.yaml", "gone.yaml"):
        with pytest.raises(RunError) as error:
            load_workspace(folder / name)
        (sentence,) = sentences(error)
        assert sentence.startswith(f"{name}:1:1: The file can't be read: ")


def test_bytes_that_are_no_text_are_refused(folder: Path) -> None:
    """A workspace file in another encoding stops the run."""
    (folder / "configlint.yaml").write_bytes(b"workspace: \xff\n")
    with pytest.raises(RunError) as error:
        load_workspace(folder / "configlint.yaml")
    assert sentences(error)[0].startswith("configlint.yaml:1:12: ")
