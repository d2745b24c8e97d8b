"""What imports and linters cannot say: size, docstrings, who may rename, and that nobody names a machine."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "ticketbridge"
MODULES = sorted(PACKAGE.rglob("*.py"))
MOST_LINES = 400
MAY_RENAME = {
    "ticketbridge/spool/durable.py": "it is the one place",
    "ticketbridge/config/folders.py": "its probe proves the right to rename, on a file of its own",
}


def ids(path: Path) -> str:
    return str(path.relative_to(ROOT))


def test_the_import_contracts_hold() -> None:
    cli = pytest.importorskip("importlinter.cli", reason="the lint extra is not installed")
    assert cli.lint_imports(config_filename=str(ROOT / "pyproject.toml")) == 0


@pytest.mark.parametrize("module", MODULES, ids=ids)
def test_a_module_stays_readable_in_one_sitting(module: Path) -> None:
    assert len(module.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


@pytest.mark.parametrize("module", MODULES, ids=ids)
def test_everything_public_says_what_it_is(module: Path) -> None:
    tree = ast.parse(module.read_text(encoding="utf-8"))

    bare = [name for name, node in _public(tree) if not ast.get_docstring(node)]

    assert bare == []


def _public(tree: ast.Module) -> Iterator[tuple[str, ast.Module | ast.FunctionDef | ast.ClassDef]]:
    yield "the module", tree
    for node in tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_"):
            yield node.name, node


@pytest.mark.parametrize("module", MODULES, ids=ids)
def test_only_the_spool_renames_a_file(module: Path) -> None:
    if ids(module) in MAY_RENAME or "press_sim" in module.parts:  # the press is another program
        return
    tree = ast.parse(module.read_text(encoding="utf-8"))

    renames = [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in ("rename", "renames")
    ]

    assert renames == []


def test_no_file_names_a_path_of_one_machine() -> None:
    place = re.compile(r"(?<![\w.])/(work|farm)/")
    files = [
        path
        for path in ROOT.rglob("*")
        if path.suffix in (".py", ".md", ".toml", ".yaml", ".xsd", ".service")
    ]

    named = [
        ids(path) for path in files if not _ours(path) and place.search(path.read_text(encoding="utf-8"))
    ]

    assert named == []


def _ours(path: Path) -> bool:
    """Virtual environments and caches lie in the checkout but are not the project."""
    return any(part.startswith(".") or part in ("build", "dist") for part in path.relative_to(ROOT).parts)
