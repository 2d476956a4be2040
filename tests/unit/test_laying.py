"""Laws of laying meters out: by file, by folder, or by a meter's tag."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import RunError
from configlint.files import read_bounded
from configlint.laying import lay_out
from tests.workspaces import METER, write

FILES = {
    "configlint.yaml": "workspace: Invented\nsites: {north: {folder: north}}\n",
    "north/FT-1.yaml": METER,
    "north/FT-2.yaml": METER.replace("FT-1", "FT-2"),
    "north/more/FT-1.yaml": METER,
    "north/broken.yaml": "pumps: [P-1]\n",
}


@pytest.fixture(autouse=True)
def plant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Write a plant of three meters, and stand in the folder of a site of it."""
    write(tmp_path, FILES)
    monkeypatch.chdir(tmp_path / "north")
    return tmp_path


def tags(named: str, workspace_file: Path | None = None) -> list[str]:
    """Give the tags of the meters that a name leads to."""
    return [each.subject.meter for each in lay_out(named, workspace_file)]


def test_a_file_and_a_folder_give_their_meters() -> None:
    """A path that is there is taken for what it is."""
    assert tags("FT-2.yaml") == ["FT-2"]
    assert tags(".") == ["FT-1", "FT-2", "FT-1"]


def test_a_tag_is_looked_for_in_the_workspace_around(
    plant: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A tag gives every meter that bears it, from anywhere in the workspace."""
    assert tags("FT-1") == ["FT-1", "FT-1"]
    monkeypatch.chdir(plant / "north" / "more")
    assert tags("FT-2") == ["FT-2"]


def test_a_workspace_can_be_named(
    plant: Path,
    tmp_path_factory: pytest.TempPathFactory,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where no workspace is around, one that is named is looked through."""
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert tags("FT-2", plant / "configlint.yaml") == ["FT-2"]


def test_without_a_workspace_the_current_folder_is_looked_through(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A tag is found below the current folder where no workspace is around."""
    folder = tmp_path_factory.mktemp("alone")
    write(folder, {"a/FT-9.yaml": METER.replace("FT-1", "FT-9")})
    monkeypatch.chdir(folder)
    assert tags("FT-9") == ["FT-9"]


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("FT-22", "There is no file and no meter 'FT-22' below "),
        ("pump", "There is no file and no meter 'pump' below "),
        ("broken.yaml", "No meter could be read here. Run `check` on it."),
    ],
)
def test_what_leads_to_no_meter_is_refused(named: str, said: str) -> None:
    """What is no meter's name is refused in a sentence."""
    with pytest.raises(RunError) as refused:
        lay_out(named)
    (fault,) = refused.value.faults
    assert fault.sentence.startswith(said)


@pytest.mark.parametrize(
    ("named", "advice"),
    [
        ("FT-22", "The nearest tags are FT-2, FT-1."),
        ("pump", "Name a meter by its tag, its file or a folder."),
    ],
)
def test_the_nearest_tags_are_offered(named: str, advice: str) -> None:
    """A tag that is nearly right is told the nearest, another how to name a meter."""
    with pytest.raises(RunError) as refused:
        lay_out(named)
    assert refused.value.faults[0].advice == advice


def test_what_is_laid_out_keeps_the_bytes_that_were_read(plant: Path) -> None:
    """A file that changes later is still known as it was when it was laid out."""
    file = plant / "north" / "FT-2.yaml"
    before = file.read_bytes()
    (laid,) = lay_out("FT-2.yaml")
    file.write_text("pumps: [P-1]\n", "utf-8")
    assert laid.source.data == before


def test_a_file_that_cannot_be_read_has_no_meter(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A file of a folder that the system keeps to itself is passed over."""

    def read(file: Path, most: int) -> bytes:
        if file.name == "FT-2.yaml":
            raise PermissionError(13, "Permission denied")
        return read_bounded(file, most)

    monkeypatch.setattr("configlint.judged.read_bounded", read)
    assert tags(".") == ["FT-1", "FT-1"]
