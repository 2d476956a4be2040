"""Laws of the rules that reading enforces: each fault has one, and each can be broken.

A fault that no rule stands behind could not be told as a finding, and a rule that no
fault speaks of would promise a check that nobody makes.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.data import data_folder
from configlint.documents import read_document
from configlint.fields import validate
from configlint.rule_files import ReadingModel, RuleFile
from configlint.rules import basis_words

SLUG = re.compile(r"[a-z]+(-[a-z]+)+")

# Modules that make faults, or the errors that become faults, use one of these names.
CARRIERS = {"Fault", "Refusal", "QuantityError", "PydanticCustomError"}

# Faults of these kinds stop the run before any file is judged, so none is a finding.
STOPPING = {
    *("file-writable", "path-found"),
    *("policy-sound", "rule-file-sound", "workspace-sound"),
}


def conceded(meter: str, last: str) -> dict[str, bytes]:
    """Write a workspace with a sound meter, and a concession of a misspelt key."""
    entry = (
        f"  - {{rule: key-known, meter: {meter}, reason: None, granted_by: A. Nobody,\n"
        f"    granted_on: 2026-01-02, expires_on: {last}}}\n"
    )
    return {
        "configlint.yaml": b"workspace: works\n",
        "concessions.yaml": f"concessions:\n{entry}".encode(),
        "FT-1.yaml": b"meter: FT-1\nprinciple: electromagnetic\n",
    }


# For each rule a file that breaks it, and nothing else of its kind.
BROKEN: Mapping[str, bytes | Mapping[str, bytes]] = {
    "file-readable": b"meter: 'FT-1\n",
    "key-written-once": (
        b"meter: FT-1\nprinciple: electromagnetic\nservice: a\nservice: b\n"
    ),
    "key-known": b"meter: FT-1\nprinciple: electromagnetic\nservise: water\n",
    "type-mark-absent": (
        b"meter: FT-1\nprinciple: electromagnetic\nservice: !!str water\n"
    ),
    "unit-known": b"meter: FT-1\nprinciple: electromagnetic\nsensor: {bore: 6 zoll}\n",
    "unit-of-right-kind": (
        b"meter: FT-1\nprinciple: electromagnetic\nsensor: {bore: 150 m3/h}\n"
    ),
    "value-well-formed": (
        b"meter: FT-1\nprinciple: electromagnetic\nsensor: {bore: '150,5 mm'}\n"
    ),
    "meter-identified": b"meter: FT-1\nsensor: {bore: 150 mm}\n",
    "meter-file-recognised": b"pumps: [P-1, P-2]\n",
    "scalar-read-alike": (
        b"meter: FT-1\nprinciple: electromagnetic\nsensor: {serial: 0105}\n"
    ),
    "type-sheet-known": (
        b"meter: FT-1\nprinciple: electromagnetic\ntype_sheet: of-no-device\n"
    ),
    "concession-in-date": conceded("FT-1", "2026-01-03"),
    "concession-used": conceded("FT-1", "2026-12-31"),
    "concession-narrow": conceded("'*'", "2026-12-31"),
}


def names_and_literals(module: Path) -> tuple[set[str], set[str]]:
    """Give the names a module uses, and the texts in it that look like a rule's id."""
    names: set[str] = set()
    texts: set[str] = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Name):
            names.add(node.id)
        elif isinstance(node, ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            texts.add(node.value)
    return names, {text for text in texts if SLUG.fullmatch(text)}


def fault_kinds(package: Path) -> set[str]:
    """Give the kind of every fault that the package's own modules can make."""
    kinds: set[str] = set()
    for module in package.glob("*.py"):
        names, texts = names_and_literals(module)
        if not CARRIERS.isdisjoint(names):
            kinds |= texts
    return kinds


@pytest.fixture(scope="module")
def reading_rules() -> Mapping[str, ReadingModel]:
    """Read the rules of reading from their file."""
    file = data_folder("rules") / "reading.yaml"
    (document,) = read_document(file.read_bytes(), file.name).documents
    model, faults = validate(RuleFile, document)
    assert model is not None, faults
    assert not model.rules
    return model.reading


def test_every_fault_is_told_by_a_rule_and_every_rule_tells_a_fault(
    root: Path, reading_rules: Mapping[str, ReadingModel]
) -> None:
    """The kinds of fault in the code are the reading rules, but those that stop."""
    assert fault_kinds(root / "configlint") == reading_rules.keys() | STOPPING


def test_a_fault_that_stops_the_run_is_no_finding(
    reading_rules: Mapping[str, ReadingModel],
) -> None:
    """No rule stands behind the faults after which nothing is judged."""
    assert STOPPING.isdisjoint(reading_rules)


def test_a_new_kind_of_fault_is_noticed(tmp_path: Path) -> None:
    """A kind that a module makes up is found by its text, in fault modules alone."""
    source = 'Fault("made-up-kind", place, "No.", "Do.")\n'
    (tmp_path / "maker.py").write_text(source, encoding="utf-8")
    (tmp_path / "other.py").write_text('WORD = "some-word"\n', encoding="utf-8")
    assert fault_kinds(tmp_path) == {"made-up-kind"}


def test_every_rule_has_a_file_that_breaks_it(
    reading_rules: Mapping[str, ReadingModel],
) -> None:
    """The examples below leave no rule of reading out."""
    assert BROKEN.keys() == reading_rules.keys()


@pytest.mark.parametrize("rule", BROKEN)
def test_a_broken_rule_is_found(
    rule: str, tmp_path: Path, reading_rules: Mapping[str, ReadingModel]
) -> None:
    """A file that breaks a reading rule gives its finding, once, with its category."""
    broken = BROKEN[rule]
    files = {"FT-1.yaml": broken} if isinstance(broken, bytes) else broken
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    report = check([tmp_path], run_date=date(2026, 6, 1))
    found = [each for each in report.findings if each.rule in BROKEN]
    assert [each.rule for each in found] == [rule]
    assert found[0].category == reading_rules[rule].category
    assert found[0].basis == basis_words(reading_rules[rule].basis)
    assert found[0].message
    assert found[0].remedy


def test_every_reading_rule_rests_on_something(
    reading_rules: Mapping[str, ReadingModel],
) -> None:
    """Each reading rule names a standard, a publication or a practice."""
    bare = {
        name
        for name, rule in reading_rules.items()
        if not (rule.basis.practice or rule.basis.standard or rule.basis.published)
    }
    assert not bare
