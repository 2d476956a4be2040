"""Laws of finding the meter files that paths lead to."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.workspace import (
    NO_WORKSPACE,
    WORKSPACE_FILE,
    LeftOut,
    Source,
    Sources,
    Workspace,
    find_sources,
)
from tests.workspaces import FILES, METER, sentences, write


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give an empty folder that is the current one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def names(sources: Sources) -> list[str]:
    """Give the names of the files to read."""
    return [source.file for source in sources.files]


def test_a_folder_stands_for_the_meter_files_below_it(folder: Path) -> None:
    """A folder gives its meter files in order, each with workspace and site."""
    write(folder, FILES)
    sources = find_sources([folder])
    assert [(each.file, each.site and each.site.name) for each in sources.files] == [
        ("sites/north/a.yaml", "North"),
        ("sites/north/deep/b.yml", "North"),
        ("sites/south/c.YAML", "South"),
    ]
    assert sources.left_out == ()
    assert [workspace.name for workspace in sources.workspaces] == ["Two works"]


def test_a_file_is_taken_once(folder: Path) -> None:
    """However often a file is named, and by whichever path, it is read once."""
    write(folder, FILES)
    paths = [Path("sites"), folder / "sites/north/a.yaml", Path("sites/north"), folder]
    assert names(find_sources(paths)) == names(find_sources([folder]))


def test_a_folder_without_workspace_gives_all_its_files(folder: Path) -> None:
    """Without a workspace every YAML file is a meter file, and belongs to no site."""
    write(folder, {"b.yaml": METER, "a/c.yml": METER, "d.txt": ""})
    sources = find_sources([Path()])
    assert names(sources) == ["a/c.yml", "b.yaml"]
    assert {each.workspace for each in sources.files} == {NO_WORKSPACE}
    assert {each.site for each in sources.files} == {None}


def test_a_folder_may_hold_several_workspaces(folder: Path) -> None:
    """Each file is given the workspace nearest to it."""
    files = {"b/configlint.yaml": "workspace: B\n", "b/m.yaml": METER}
    write(folder, files | {"a/configlint.yaml": "workspace: A\n", "a/m.yaml": METER})
    sources = find_sources([folder])
    assert [(each.file, each.workspace.name) for each in sources.files] == [
        ("a/m.yaml", "A"),
        ("b/m.yaml", "B"),
    ]
    assert [each.name for each in sources.workspaces] == ["A", "B"]


def test_a_named_workspace_file_is_taken_for_all(folder: Path) -> None:
    """A workspace file that is named is taken instead of the nearest ones."""
    files = {"configlint.yaml": "workspace: Outer\n", "b/m.yaml": METER}
    write(folder, files | {"b/configlint.yaml": "workspace: B\n"})
    sources = find_sources([folder / "b"], folder / "configlint.yaml")
    assert [each.workspace.name for each in sources.files] == ["Outer"]


def test_files_outside_the_sites_are_named(folder: Path) -> None:
    """Where a workspace lists sites, YAML files outside them are left out by name."""
    write(folder, FILES | {"stray.yaml": METER, "sites/east/m.yaml": METER})
    sources = find_sources([folder])
    assert sources.left_out == (
        LeftOut("sites/east/m.yaml", "it lies in no site's folder"),
        LeftOut("stray.yaml", "it lies in no site's folder"),
    )


def test_a_file_outside_the_sites_can_be_named(folder: Path) -> None:
    """A file that is named itself is read, though it lies in no site's folder."""
    write(folder, FILES | {"stray.yaml": METER})
    sources = find_sources([folder, Path("stray.yaml")])
    source = sources.files[-1]
    assert (source.file, source.site) == ("stray.yaml", None)
    assert source.workspace.name == "Two works"
    assert sources.left_out == ()


def test_files_that_hold_no_meters_are_left_out_when_named(folder: Path) -> None:
    """A workspace's own files are left out by name when they are named themselves."""
    write(folder, FILES)
    own = ("concessions.yaml", "own-rules/two.yaml", "sites/north/site.yaml")
    sources = find_sources([Path(name) for name in (*own, "types/one.yaml")])
    assert sources.files == ()
    assert sources.left_out == (
        LeftOut("concessions.yaml", "it holds no meters by its name"),
        LeftOut("own-rules/two.yaml", "it lies in the workspace's folder of rules"),
        LeftOut("sites/north/site.yaml", "it holds no meters by its name"),
        LeftOut("types/one.yaml", "it lies in the workspace's folder of type sheets"),
    )


def test_a_site_file_of_no_site_is_named(folder: Path) -> None:
    """A site file that no workspace leads to is left out by name, since it is idle."""
    write(folder, FILES | {"sites/east/site.yaml": "site: East\n"})
    assert find_sources([folder]).left_out == (
        LeftOut(
            "sites/east/site.yaml",
            "its folder is not that of a site in a workspace file",
        ),
    )


def test_hidden_folders_are_passed_over(folder: Path) -> None:
    """Files below a folder whose name begins with a dot are none of the meters'."""
    write(folder, {".git/a.yaml": METER, "b/.c/d.yaml": METER, "e.yaml": METER})
    sources = find_sources([folder])
    assert (names(sources), sources.left_out) == (["e.yaml"], ())


def test_links_that_lead_out_are_not_followed(folder: Path) -> None:
    """Links out of the folder, into hidden folders or to nothing are left out."""
    write(folder, {"out/m.yaml": METER, "in/m.yaml": METER, "in/.hidden/h.yaml": METER})
    inside = folder / "in"
    links = {
        "out.yaml": "../out/m.yaml",
        "out-folder": "../out",
        "gone.yaml": "nowhere.yaml",
        "gone-folder.yaml": "nowhere",
        "self.yaml": "self.yaml",
        "hidden-folder": ".hidden",
        "round": "../in",
    }
    for name, target in links.items():
        (inside / name).symlink_to(target)
    sources = find_sources([inside])
    assert names(sources) == ["in/m.yaml"]
    assert sources.left_out == (
        LeftOut("in/gone-folder.yaml", "it is a link that leads nowhere"),
        LeftOut("in/gone.yaml", "it is a link that leads nowhere"),
        LeftOut("in/hidden-folder", "it is a link that leads into a hidden folder"),
        LeftOut("in/out-folder", "it is a link that leads out of the given folder"),
        LeftOut("in/out.yaml", "it is a link that leads out of the given folder"),
        LeftOut("in/self.yaml", "it is a link that leads nowhere"),
    )


def test_a_link_to_a_file_inside_is_that_file(folder: Path) -> None:
    """Of a file and a link to it, the file is read under its own name."""
    write(folder, {"m.yaml": METER, ".store/n.yaml": METER})
    (folder / "a.yaml").symlink_to("m.yaml")
    (folder / "z.yaml").symlink_to("m.yaml")
    (folder / "n.yaml").symlink_to(".store/n.yaml")
    assert names(find_sources([folder])) == ["m.yaml", "n.yaml"]


def test_a_named_link_to_a_folder_is_followed(folder: Path) -> None:
    """A folder that is named through a link is walked under the link's name."""
    write(folder, {"real/m.yaml": METER})
    (folder / "link").symlink_to("real")
    assert names(find_sources([Path("link")])) == ["link/m.yaml"]


def test_a_folder_that_can_not_be_opened_is_named(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder that can't be opened is left out by name, and the others are read."""
    write(folder, {"a/m.yaml": METER, "shut/n.yaml": METER})
    scan = os.scandir

    def refuse(path: str) -> object:
        if path.endswith("shut"):
            raise PermissionError(13, "Permission denied", path)
        return scan(path)

    monkeypatch.setattr(os, "scandir", refuse)
    sources = find_sources([folder])
    assert names(sources) == ["a/m.yaml"]
    assert sources.left_out == (
        LeftOut("shut", "it can't be opened: Permission denied"),
    )


def test_a_pipe_is_no_file(folder: Path) -> None:
    """What is neither file nor folder is refused when named, and else left out."""
    write(folder, {"m.yaml": METER})
    os.mkfifo(folder / "p.yaml")
    sources = find_sources([folder])
    assert sources.left_out == (LeftOut("p.yaml", "it is no regular file"),)
    with pytest.raises(RunError) as error:
        find_sources([Path("p.yaml")])
    assert sentences(error) == [
        "p.yaml:1:1: This is neither a file nor a folder. Name a YAML file, or a "
        "folder that holds some."
    ]


def test_paths_that_lead_to_nothing_are_refused(folder: Path) -> None:
    """Every path without a file, and every folder without YAML files, is told."""
    write(folder, {"empty/a.txt": "", "m.yaml": METER})
    with pytest.raises(RunError) as error:
        find_sources([Path("gone"), Path("empty"), Path("m.yaml"), Path("a" * 300)])
    assert sentences(error) == [
        "gone:1:1: There is no such file or folder. Name a YAML file, or a folder "
        "that holds some.",
        "empty:1:1: The folder holds no YAML file. Name a YAML file, or a folder "
        "that holds some.",
        f"{'a' * 300}:1:1: This can't be opened: File name too long. Name a YAML "
        "file, or a folder that holds some.",
    ]


def test_faulty_workspaces_are_refused_once(folder: Path) -> None:
    """A faulty workspace file stops the run, told once for all files below it."""
    files = {"a/configlint.yaml": "x: y", "a/m.yaml": METER, "a/n.yaml": METER}
    write(folder, files | {"b/configlint.yaml": "[]", "b/m.yaml": METER})
    with pytest.raises(RunError) as error:
        find_sources([folder])
    assert [fault.place.file for fault in error.value.faults] == [
        "a/configlint.yaml",
        "a/configlint.yaml",
        "b/configlint.yaml",
    ]


def test_a_file_outside_its_workspace_names_the_workspaces_own_from_here(
    tmp_path: Path,
) -> None:
    """Where a workspace file is given from elsewhere, its folder names what it has."""
    root = tmp_path / "plant"
    workspace = Workspace("plant", root, root / WORKSPACE_FILE)
    source = Source("a.yaml", tmp_path / "a.yaml", workspace, None)
    assert source.beside_workspace("b.yaml") == (root / "b.yaml").as_posix()
