"""The one-way order of the modules, read from their import statements."""

from __future__ import annotations

import ast
import graphlib
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

# A module may import those before it in this order, never one behind it. `outputs`,
# `sheets`, `review` and `commands` are folders: their files may import one another, but
# not in a ring.
ORDER = (
    "__init__",
    "errors",
    "files",
    "data",
    "dimensions",
    "slips",
    "table_cache",
    "unit_values",
    "units",
    "kinds",
    "diagnosis",
    "operator_kinds",
    "source_text",
    "located",
    "plain_scalars",
    "refusals",
    "usual_lines",
    "documents",
    "scalars",
    "amounts",
    "fields",
    "field_types",
    "sections",
    "sensors",
    "alike",
    "meters",
    "type_sheets",
    "gathering",
    "inputs",
    "facts",
    "conventions",
    "fingerprints",
    "tables",
    "operators",
    "formula",
    "parser",
    "compiler",
    "printed",
    "worked",
    "settling",
    "templates",
    "rule_files",
    "rules",
    "shelf",
    "site_data",
    "bindings",
    "ratio_tables",
    "quantities",
    "settings",
    "reading_chains",
    "rule_book",
    "stages",
    "engine",
    "effects",
    "roots",
    "turns",
    "dependence",
    "variation",
    "candidates",
    "sweep",
    "conflicts",
    "axes",
    "choices",
    "window",
    "spans",
    "levers",
    "agreement",
    "proposals",
    "trial",
    "joint",
    "advice",
    "ledger",
    "workspace_files",
    "sites",
    "workspace",
    "policy",
    "concession_files",
    "concessions",
    "mutants",
    "cases",
    "proofs",
    "findings",
    "nets",
    "conceding",
    "judged",
    "report",
    "bench",
    "check",
    "laying",
    "outputs",
    "sheets",
    "review",
    "schemas",
    "commands",
    "__main__",
)

# Each third-party library, and the modules or folders that may know it.
KNOWN_TO = {
    "pint": ("units",),
    "yaml": ("documents", "units"),
    "typer": ("commands",),
    "rich": ("commands", "outputs.text"),
    "ruamel": ("review.layout",),
    "pydantic": (
        *(
            "scalars",
            "amounts",
            "fields",
            "field_types",
            "sections",
            "sensors",
            "meters",
            "type_sheets",
        ),
        *("gathering", "tables", "rule_files", "workspace_files"),
        "concession_files",
        *("outputs.json", "sheets.worksheet_json", "review.adjust_json", "schemas"),
        *(
            "outputs.json_advice",
            "outputs.json_effect",
            "outputs.json_excuse",
            "outputs.ndjson",
        ),
        "outputs.json_summary",
        *("sheets.window_json", "sheets.standing_json", "sheets.summary_json"),
        *("review.compare_json", "review.judging_json"),
    ),
    "pydantic_core": ("scalars", "amounts", "fields"),
    "typing_extensions": (
        *("outputs.json", "sheets.worksheet_json", "review.adjust_json"),
        *(
            "outputs.json_advice",
            "outputs.json_effect",
            "outputs.json_excuse",
            "outputs.ndjson",
        ),
        "outputs.json_summary",
        *("sheets.window_json", "sheets.standing_json", "sheets.summary_json"),
        *("review.compare_json", "review.judging_json"),
    ),
    "jsonschema": ("schemas",),
}

# Imports inside a function, each with the reason why it can't stand at the top.
LATE_IMPORTS = {
    ("units", "pint"): "pint takes most of a second, and a good cache needs none of it",
    ("units", "yaml"): "the spellings are read again only when the cache is not good",
    ("review.layout", "ruamel"): "one command of all edits files, the others wait less",
}


class Import(NamedTuple):
    """One imported name: who imports it, on which line, and what it is.

    `module` is the importing module inside the package, `target` the imported one
    with all its dots, `late` says that it is not at the top of the module.
    """

    module: str
    line: int
    target: str
    late: bool


def read_modules(package: Path) -> dict[str, Path]:
    """Give every module of a package by its name inside the package."""
    modules = {}
    for file in sorted(package.rglob("*.py")):
        parts = file.relative_to(package).with_suffix("").parts
        is_folder = len(parts) > 1 and parts[-1] == "__init__"
        modules[".".join(parts[:-1] if is_folder else parts)] = file
    return modules


def read_targets(node: ast.AST) -> Iterator[str]:
    """Give what a statement or a call imports, as far as the text tells."""
    match node:
        case ast.Import(names=names):
            yield from (name.name for name in names)
        case ast.ImportFrom(module=module, names=names, level=level):
            origin = "." * level + (module or "")
            yield from (f"{origin}:{name.name}" for name in names)
        case ast.Call(
            func=ast.Name(id="__import__" | "import_module")
            | ast.Attribute(attr="import_module")
        ):
            yield "a name made at run time"


def walk_scopes(node: ast.AST, late: bool = False) -> Iterator[tuple[ast.AST, bool]]:
    """Walk a tree and say of each node whether it is inside a function or class."""
    for child in ast.iter_child_nodes(node):
        yield child, late
        opens = isinstance(
            child, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef | ast.Lambda
        )
        yield from walk_scopes(child, late or opens)


def read_imports(package: Path) -> list[Import]:
    """Read all import statements of a package."""
    modules = read_modules(package)
    imports = []
    for module, file in modules.items():
        tree = ast.parse(file.read_text("utf-8"), str(file))
        for node, late in walk_scopes(tree):
            line = getattr(node, "lineno", 0)
            for written in read_targets(node):
                target = resolve(written, package.name, modules)
                imports.append(Import(module, line, target, late))
    return imports


def resolve(written: str, package: str, modules: dict[str, Path]) -> str:
    """Find the module that `origin:name` imports: the name itself, or its origin."""
    origin, _, name = written.partition(":")
    inner = f"{origin}.{name}".removeprefix(f"{package}.")
    return f"{package}.{inner}" if inner in modules else origin


def inner_name(target: str, package: str) -> str | None:
    """Give a target's name inside the package, or None for another package's."""
    if target == package:
        return "__init__"
    inner = target.removeprefix(f"{package}.")
    return None if inner == target else inner


def rank(module: str) -> int:
    """Give a module's place in the order; a folder's files share their folder's."""
    folder = module.partition(".")[0]
    return ORDER.index(folder) if folder in ORDER else len(ORDER)


def is_known_to(library: str, module: str) -> bool:
    """Say whether the table lets a module, or its folder, know a library."""
    allowed = KNOWN_TO.get(library, ())
    return any(f"{module}.".startswith(f"{name}.") for name in allowed)


def fault_of(found: Import, package: str) -> str | None:
    """Say what is wrong with one import, or None."""
    library = found.target.partition(".")[0]
    inner = inner_name(found.target, package)
    if found.target.startswith("."):
        return "writes a relative import"
    if found.late and (found.module, library) not in LATE_IMPORTS:
        return f"imports {found.target} late"
    if inner is not None:
        same_folder = inner.partition(".")[0] == found.module.partition(".")[0]
        if rank(inner) > rank(found.module) or (
            rank(inner) == rank(found.module) and not same_folder
        ):
            return f"imports {inner}, which comes later"
        return None
    is_foreign = library not in sys.stdlib_module_names and library.isidentifier()
    if is_foreign and not is_known_to(library, found.module):
        return f"knows the library {library}"
    return None


def find_ring(imports: list[Import], package: str) -> list[str]:
    """Find modules that import each other in a ring."""
    graph: dict[str, set[str]] = {}
    for found in imports:
        inner = inner_name(found.target, package)
        if inner is not None:
            graph.setdefault(found.module, set()).add(inner)
    try:
        graphlib.TopologicalSorter(graph).prepare()
    except graphlib.CycleError as error:
        return [f"ring: {' <- '.join(error.args[1])}"]
    return []


def find_faults(package: Path) -> list[str]:
    """Find everything in a package that breaks the one-way order."""
    imports = read_imports(package)
    missing = (
        f"{module}: is missing from the order"
        for module in read_modules(package)
        if module.partition(".")[0] not in ORDER
    )
    wrong = (
        f"{found.module}:{found.line}: {fault}"
        for found in imports
        if (fault := fault_of(found, package.name)) is not None
    )
    # One statement that takes three names of a module is one fault.
    return [*missing, *dict.fromkeys(wrong), *find_ring(imports, package.name)]


def test_every_import_goes_one_way(root: Path) -> None:
    """No module imports a later one, a library it must not know, or anything late."""
    assert find_faults(root / "configlint") == []


def test_the_order_names_no_module_that_is_gone(root: Path) -> None:
    """Every name in the order is a module or a folder of the package."""
    present = {name.partition(".")[0] for name in read_modules(root / "configlint")}
    assert [name for name in ORDER if name not in present] == []


def test_every_exception_is_still_needed(root: Path) -> None:
    """Every allowed late import is made somewhere, and gives its reason."""
    made = {
        (found.module, found.target.partition(".")[0])
        for found in read_imports(root / "configlint")
        if found.late
    }
    assert [entry for entry in LATE_IMPORTS if entry not in made] == []
    assert all(LATE_IMPORTS.values())


SOUND = {
    "__init__.py": '"""A sound package."""\n',
    "errors.py": "import re\n",
    "units.py": "from configlint import errors\n\ndef rebuild():\n    import pint\n",
    "meters.py": "import pydantic\nfrom configlint.units import Unit\n",
    "outputs/__init__.py": "from configlint.outputs import text\n",
    "outputs/text.py": "import rich.table\nfrom configlint import meters\n",
    "commands/__init__.py": "import typer\nimport configlint.outputs.text\n",
}

WRONG = (
    ("errors.py", "from configlint.units import Unit", "imports units, which comes"),
    ("errors.py", "from configlint import meters", "imports meters, which comes"),
    ("errors.py", "import configlint.outputs.text", "imports outputs.text, which"),
    ("__init__.py", "from configlint.errors import Fault", "imports errors, which"),
    ("errors.py", "if 1:\n    import configlint.units", "imports units, which comes"),
    ("meters.py", "import pint", "meters:1: knows the library pint"),
    ("units.py", "import ruamel.yaml", "knows the library ruamel"),
    ("outputs/table.py", "from rich import box", "knows the library rich"),
    ("errors.py", "import unheard_of", "knows the library unheard_of"),
    ("meters.py", "def read():\n    import re", "meters:2: imports re late"),
    ("meters.py", "class A:\n    import re", "imports re late"),
    ("meters.py", "def f():\n    importlib.import_module('a')", "run time late"),
    ("meters.py", "def f():\n    return __import__('a')", "run time late"),
    ("meters.py", "from .units import Unit", "writes a relative import"),
    ("meters.py", "from . import units", "writes a relative import"),
    ("helper.py", "import re", "helper: is missing from the order"),
    ("helpers/a.py", "import re", "helpers.a: is missing from the order"),
    ("outputs/text.py", "from configlint.outputs import Format", "ring: "),
    ("commands/a.py", "from configlint.commands.a import b", "ring: "),
)


def write_package(folder: Path, files: dict[str, str]) -> Path:
    """Write the files of a package and give its folder."""
    package = folder / "configlint"
    for name, text in files.items():
        file = package / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")
    return package


def test_a_sound_package_has_no_fault(tmp_path: Path) -> None:
    """A package that keeps to the order is let through."""
    assert find_faults(write_package(tmp_path, SOUND)) == []


@pytest.mark.parametrize(("file", "text", "fault"), WRONG)
def test_a_wrong_package_is_caught(
    tmp_path: Path, file: str, text: str, fault: str
) -> None:
    """Each way of breaking the order is found, and named where it stands."""
    faults = find_faults(write_package(tmp_path, SOUND | {file: f"{text}\n"}))
    assert any(fault in found for found in faults), faults
