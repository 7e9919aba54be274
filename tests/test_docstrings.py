"""The public docstrings of the layers below the API: one everywhere, and numbers have their unit in [ ]."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import rimpoise_service

ROOT = Path(rimpoise_service.__file__).parent
LAYERS = ("physics", "messages", "model", "search", "planning", "diagnosis", "workshop", "drawing")
FILES = sorted(p for floor in LAYERS for p in (ROOT / floor).glob("*.py"))

DIMENSIONAL = re.compile(r"_(mm|deg|g|gmm|gmm2|rad|rad_s|kg|kmh|n|pct)$")
"""Names that end in a unit. The name says it to who writes the code, the [ ] to who reads the page."""

Node = ast.FunctionDef | ast.ClassDef


def public(tree: ast.Module) -> Iterator[tuple[Node, str]]:
    """Public classes and functions, and the methods of public classes, with the docstrings that cover each.

    A protocol is explained as a whole.
    """
    for node in tree.body:
        if isinstance(node, Node) and not node.name.startswith("_"):
            yield node, ""
            if isinstance(node, ast.ClassDef) and "Protocol" not in {getattr(b, "id", "") for b in node.bases}:
                for inner in node.body:
                    if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                        yield inner, ast.get_docstring(node) or ""


def numbers(node: Node) -> set[str]:
    """Names of dimensional numbers that a function takes or gives, or that a class holds."""
    if isinstance(node, ast.FunctionDef):
        every = [a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)] + [node.name]
    else:
        every = [n.target.id for n in node.body if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)]
    return {name for name in every if DIMENSIONAL.search(name)}


def constants(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Public module constants whose names end in a unit, with the docstring or comment line that follows."""
    for node, after in zip(tree.body, [*tree.body[1:], None], strict=True):
        target: ast.expr | None = node.target if isinstance(node, ast.AnnAssign) else None
        if isinstance(node, ast.Assign):
            target = node.targets[0]
        if isinstance(target, ast.Name) and target.id.isupper() and DIMENSIONAL.search(target.id.lower()):
            said = isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant)
            yield target.id, str(after.value.value) if said else ""  # type: ignore[union-attr]


def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"))


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_everything_public_is_explained(path: Path) -> None:
    tree = parsed(path)
    assert ast.get_docstring(tree)
    silent = [node.name for node, _ in public(tree) if not ast.get_docstring(node)]
    assert silent == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_dimensional_numbers_have_their_unit_in_brackets(path: Path) -> None:
    """In the docstring of the function or class, or of the class that a method belongs to."""
    unsaid = [
        (node.name, sorted(numbers(node)))
        for node, around in public(parsed(path))
        if numbers(node) and not re.search(r"\[[^\]]+\]", (ast.get_docstring(node) or "") + around)
    ]
    assert unsaid == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_dimensional_constants_have_their_unit_in_brackets(path: Path) -> None:
    unsaid = [name for name, said in constants(parsed(path)) if said and not re.search(r"\[[^\]]+\]", said)]
    assert unsaid == []


def test_the_criterion_catches_what_it_should() -> None:
    tree = ast.parse(
        'def f(radius_mm: float) -> float:\n    "The half."\n\nclass C:\n    "Holds."\n    mass_g: float\n'
    )
    assert [(n.name, numbers(n)) for n, _ in public(tree)] == [("f", {"radius_mm"}), ("C", {"mass_g"})]
