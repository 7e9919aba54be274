"""The arrows of the house, read off the imports, and nothing backwards: api → workshop → drawing, diagnosis →
planning → search → model → physics, messages. Floors that stand side by side do not import each other."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import rimpoise
import rimpoise_service

SERVICE = Path(rimpoise_service.__file__).parent
CLIENT = Path(rimpoise.__file__).parent
STOREYS = (
    {"physics", "messages"},
    {"model"},
    {"search"},
    {"planning"},
    {"diagnosis", "drawing"},
    {"workshop"},
    {"api"},
)
"""From the ground up."""

FLOORS = {name: height for height, names in enumerate(STOREYS) for name in names}

FRAMEWORKS = {"flask", "marshmallow", "apispec", "werkzeug", "gunicorn", "yaml"}
ALLOWED_ABOVE_STANDARD = {"workshop": {"iso4217"}, "drawing": {"svg"}}
"""And numpy on every floor, but not for messages."""

MAX_FUNCTION_LINES = 40
MAX_FILE_LINES = 300


def modules(root: Path) -> dict[str, Path]:
    """Every module of a package by its dotted name."""
    found = {}
    for path in root.rglob("*.py"):
        parts = [root.name, *path.relative_to(root).with_suffix("").parts]
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imports(name: str, path: Path) -> Iterator[str]:
    """Dotted names of all that a module imports, relative imports made absolute."""
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, base] if base else above)
            yield from (f"{base}.{alias.name}" for alias in node.names)


SERVICE_MODULES = modules(SERVICE)
CLIENT_MODULES = modules(CLIENT)


def floor(name: str) -> str | None:
    """The floor that a dotted name of the service is on."""
    parts = name.split(".")
    return parts[1] if parts[0] == "rimpoise_service" and len(parts) > 1 and parts[1] in FLOORS else None


def module_of(imported: str) -> str | None:
    """The module of the service that an imported name is, or lives in."""
    return next((m for m in (imported, imported.rpartition(".")[0]) if m in SERVICE_MODULES), None)


@pytest.mark.parametrize("name", sorted(n for n in SERVICE_MODULES if floor(n)))
def test_imports_go_down_only(name: str) -> None:
    here = floor(name) or ""
    others = {i: f for i in imports(name, SERVICE_MODULES[name]) if (f := floor(i)) and f != here}
    assert [i for i, f in others.items() if FLOORS[f] >= FLOORS[here]] == []


@pytest.mark.parametrize("name", sorted(n for n in SERVICE_MODULES if floor(n) not in (None, "api")))
def test_no_framework_below_the_api(name: str) -> None:
    roots = {i.split(".")[0] for i in imports(name, SERVICE_MODULES[name])}
    strangers = roots - set(sys.stdlib_module_names) - {"rimpoise_service"}
    here = floor(name) or ""
    assert strangers <= ALLOWED_ABOVE_STANDARD.get(here, set()) | ({"numpy"} if here != "messages" else set())
    assert not strangers & FRAMEWORKS


@pytest.mark.parametrize(
    "name", sorted(n for n in SERVICE_MODULES if n.startswith("rimpoise_service.api.schemas"))
)
def test_schemas_know_nothing_of_http(name: str) -> None:
    """They raise marshmallow's errors; what problem those are is for api.http."""
    used = set(imports(name, SERVICE_MODULES[name]))
    assert not {i.split(".")[0] for i in used} & {"flask", "werkzeug"}
    assert not [i for i in used if i.startswith("rimpoise_service.api.") and i.split(".")[2] != "schemas"]


def test_no_circles() -> None:
    """Within a floor or anywhere else."""
    graph = {
        name: {m for i in imports(name, path) if (m := module_of(i)) and m != name}
        for name, path in SERVICE_MODULES.items()
    }
    TopologicalSorter(graph).prepare()


@pytest.mark.parametrize("name", sorted(CLIENT_MODULES))
def test_the_client_shares_nothing_with_the_service(name: str) -> None:
    roots = {i.split(".")[0] for i in imports(name, CLIENT_MODULES[name])}
    assert not roots & {"rimpoise_service", "numpy", *FRAMEWORKS}


@pytest.mark.parametrize("name", sorted(n for n in SERVICE_MODULES if floor(n)))
def test_the_floors_do_not_use_the_client(name: str) -> None:
    """Only the demo, above them all, does."""
    assert "rimpoise" not in {i.split(".")[0] for i in imports(name, SERVICE_MODULES[name])}


def test_the_check_shares_nothing_with_the_search() -> None:
    """planning.verification recomputes from scratch; what found the pieces may not vouch for them."""
    name = "rimpoise_service.planning.verification"
    used = {m.rpartition(".")[2] for i in imports(name, SERVICE_MODULES[name]) if (m := module_of(i))}
    assert not used & {
        "branch_and_bound",
        "closed_form",
        "blocks",
        "strip_split",
        "candidates",
        "joint_solver",
        "planner",
    }


@pytest.mark.parametrize("name", sorted({**SERVICE_MODULES, **CLIENT_MODULES}))
def test_nothing_is_too_long(name: str) -> None:
    path = {**SERVICE_MODULES, **CLIENT_MODULES}[name]
    text = path.read_text("utf-8")
    assert len(text.splitlines()) <= MAX_FILE_LINES
    functions = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]
    long = {f.name: n for f in functions if (n := (f.end_lineno or 0) - f.lineno + 1) > MAX_FUNCTION_LINES}
    assert long == {}


@pytest.mark.parametrize(
    ("code", "expected"),
    [
        ("from ..api import app", "rimpoise_service.api.app"),
        ("from . import candidates", "rimpoise_service.planning.candidates"),
        ("from .candidates import x", "rimpoise_service.planning.candidates.x"),
        ("import flask.json", "flask.json"),
        ("def f():\n    from ...service import late", "service.late"),
    ],
)
def test_the_scan_sees_imports_of_every_form(code: str, expected: str, tmp_path: Path) -> None:
    path = tmp_path / "planner.py"
    path.write_text(code, "utf-8")
    assert list(imports("rimpoise_service.planning.planner", path)) == [expected]
