"""Laws of the docstrings: they are there, they run, and they give their units."""

from __future__ import annotations

import ast
import doctest
import importlib
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import configlint

# Fewer examples than this means that examples were lost, not that code was.
FEWEST_EXAMPLES = 77

Documented = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef

PHYSICAL = {"float", "Quantity"}

# Words by which a docstring says in what a number is counted.
SAYS_UNIT = re.compile(
    r"\bSI\b|\bunits?\b|\bdimension(less)?\b|\brelative\b|\bratio\b|\bshare\b"
    r"|\bseconds?\b|\bmet(er|re)s?\b|\bm/s\b|\bm3/s\b",
    re.IGNORECASE,
)


def modules() -> list[str]:
    """Name every module of the package."""
    found = pkgutil.walk_packages(configlint.__path__, "configlint.")
    return ["configlint", *(module.name for module in found)]


def parse(file: Path) -> ast.Module:
    """Read a file of Python as a tree."""
    return ast.parse(file.read_text("utf-8"), str(file))


def public_parts(
    tree: Documented, name: str, nested: bool = False
) -> Iterator[tuple[str, Documented]]:
    """Give a module or class, and every public class and function in it.

    Names of two underscores are the language's own, which describes them.
    """
    yield name, tree
    for part in tree.body:
        if not isinstance(part, Documented) or part.name.startswith("_"):
            continue
        inner = f"{name}.{part.name}"
        if isinstance(part, ast.ClassDef):
            yield from public_parts(part, inner, nested=True)
        else:
            yield inner, part


def undocumented(tree: ast.Module, name: str) -> list[str]:
    """Name the public parts of a module that have no docstring."""
    parts = public_parts(tree, name)
    return [part for part, node in parts if not ast.get_docstring(node)]


def lawless(tree: ast.Module, name: str) -> list[str]:
    """Name the test functions whose docstring does not begin with a sentence."""
    tests = (
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and node.name.startswith("test_")
    )
    return [
        f"{name}:{test.lineno} {test.name}"
        for test in tests
        if not first_paragraph(test).endswith(".")
    ]


def first_paragraph(node: Documented) -> str:
    """Give the first paragraph of a docstring, empty where there is none."""
    return (ast.get_docstring(node) or "").partition("\n\n")[0].rstrip()


def listed_names(tree: ast.Module) -> set[str]:
    """Give the names a module lists in `__all__`."""
    for node in tree.body:
        match node:
            case ast.Assign(targets=[ast.Name(id="__all__")], value=value):
                return set(ast.literal_eval(value))
    return set()


def is_physical(function: ast.FunctionDef) -> bool:
    """Say whether a function's annotations take or give a physical number."""
    arguments = function.args
    every = (*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs)
    annotations = [argument.annotation for argument in every] + [function.returns]
    names = (
        name.id
        for annotation in annotations
        if annotation is not None
        for name in ast.walk(annotation)
        if isinstance(name, ast.Name)
    )
    return not PHYSICAL.isdisjoint(names)


def unitless(tree: ast.Module, name: str) -> list[str]:
    """Name the listed functions of physical numbers that lack a unit or an example."""
    listed = listed_names(tree)
    functions = (node for node in tree.body if isinstance(node, ast.FunctionDef))
    return [
        f"{name}.{function.name}"
        for function in functions
        if function.name in listed and is_physical(function)
        if not SAYS_UNIT.search(ast.get_docstring(function) or "")
        or ">>> " not in (ast.get_docstring(function) or "")
    ]


def package_files(root: Path) -> list[Path]:
    """Give every file of the package's code."""
    return sorted((root / "configlint").rglob("*.py"))


def test_every_public_part_has_a_docstring(root: Path) -> None:
    """Every public module, class and function says what it is."""
    found = [
        part for f in package_files(root) for part in undocumented(parse(f), f.stem)
    ]
    assert found == []


def test_every_test_states_its_law(root: Path) -> None:
    """The docstring of every test begins with a sentence, which is its law."""
    files = sorted((root / "tests").rglob("*.py"))
    assert Path(__file__).resolve() in files
    assert [test for f in files for test in lawless(parse(f), f.name)] == []


def test_physical_numbers_say_their_unit(root: Path) -> None:
    """A listed function of physical numbers gives their unit and an example."""
    found = [name for f in package_files(root) for name in unitless(parse(f), f.stem)]
    assert found == []


def test_every_module_is_walked(root: Path) -> None:
    """The walk over the package misses none of its files."""
    assert len(modules()) == len(package_files(root))


def test_every_example_runs() -> None:
    """The examples in the docstrings give what they show, and enough are left."""
    results = [doctest.testmod(importlib.import_module(name)) for name in modules()]
    assert sum(result.failed for result in results) == 0
    assert sum(result.attempted for result in results) >= FEWEST_EXAMPLES


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", ["m"]),
        ('"""A."""\nclass A:\n    pass', ["m.A"]),
        ('"""A."""\nclass A:\n    """A."""\n    def b(self): ...', ["m.A.b"]),
        ('"""A."""\nasync def a(): ...', ["m.a"]),
        ('"""A."""\ndef _a(): ...\nclass _B:\n    def c(self): ...', []),
    ],
)
def test_a_missing_docstring_is_found(text: str, found: list[str]) -> None:
    """A public part without a docstring is named, a private one is not."""
    assert undocumented(ast.parse(text), "m") == found


@pytest.mark.parametrize(
    ("docstring", "found"),
    [
        ("", ["m:1 test_a"]),
        ('"""Checks a"""', ["m:1 test_a"]),
        ('"""A law."""', []),
        ('"""A law\n    of two lines.\n\n    More\n    """', []),
    ],
)
def test_a_test_without_a_law_is_found(docstring: str, found: list[str]) -> None:
    """A test without a docstring, or with one that is no sentence, is named."""
    assert lawless(ast.parse(f"def test_a():\n    {docstring}\n    x"), "m") == found


@pytest.mark.parametrize(
    ("signature", "docstring", "found"),
    [
        ("a(x: float) -> bool", "Compare.", ["m.a"]),
        ("a(x: float) -> bool", "Compare SI values.", ["m.a"]),
        ("a(x: float) -> bool", "Compare.\n\n    >>> a(1.0)\n    True", ["m.a"]),
        ("a(*, x: list[Quantity]) -> bool", "Compare.", ["m.a"]),
        ("a(x: str) -> float | None", "Read.", ["m.a"]),
        ("a(x: float) -> bool", "Compare SI values.\n\n    >>> a(1.0)\n    True", []),
        ("a(x: str) -> str", "Read.", []),
        ("b(x: float) -> bool", "Compare.", []),
    ],
)
def test_a_number_without_a_unit_is_found(
    signature: str, docstring: str, found: list[str]
) -> None:
    """A listed function of physical numbers without unit or example is named."""
    text = f'__all__ = ["a"]\ndef {signature}:\n    """{docstring}\n    """\n'
    assert unitless(ast.parse(text), "m") == found
