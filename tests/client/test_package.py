"""The package as a whole: what it offers, what it drags in, what its docstrings say."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from importlib.resources import files
from pkgutil import iter_modules

import pytest

import rimpoise
import rimpoise.errors
import rimpoise.models
from rimpoise import Client

UNITS = {
    "_min_per_g": "[min/g]",
    "_g": "[g]",
    "_mm": "[mm]",
    "_deg": "[deg]",
    "_gmm": "[g·mm]",
    "_gmm2": "[g·mm²]",
    "_pct": "[%]",
    "_kg": "[kg]",
    "_kmh": "[km/h]",
    "_rpm": "[1/min]",
    "_hz": "[Hz]",
    "_n": "[N]",
    "_um": "[µm]",
    "_mm_s": "[mm/s]",
    "_s": "[s]",
}
PUBLIC = {name: getattr(rimpoise, name) for name in rimpoise.__all__}
SHAPES = [s for s in PUBLIC.values() if isinstance(s, type) and dataclasses.is_dataclass(s)]
METHODS = [m for name, m in inspect.getmembers(Client, inspect.isfunction) if not name.startswith("_")]


def units_of(shape: type) -> Iterator[str]:
    """The units in which a dataclass has numbers."""
    for field in dataclasses.fields(shape):
        tails = [tail for tail in UNITS if field.name.endswith(tail)]
        if tails and str(field.type).startswith("float"):
            yield UNITS[max(tails, key=len)]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.__name__)
def test_every_unit_stands_in_the_docstring(shape: type) -> None:
    doc = inspect.getdoc(shape) or ""
    assert not doc.startswith(f"{shape.__name__}("), "only the docstring that dataclasses make"
    assert [unit for unit in units_of(shape) if unit not in doc] == []


def test_units_are_looked_for() -> None:
    assert set(units_of(rimpoise.Piece)) == {"[g]", "[mm]", "[deg]", "[g·mm]"}
    assert set(units_of(rimpoise.Retry)) == {"[s]"}


def test_every_method_says_what_it_does() -> None:
    assert len(METHODS) >= 13
    assert all(inspect.getdoc(method) for method in METHODS)


def test_every_line_of_the_stub_is_a_name() -> None:
    """Type checkers read the stub, and so does the package: a line that it can't read would be a name missing."""
    stub = ast.parse(files("rimpoise").joinpath("__init__.pyi").read_text("utf-8"))
    listed = [alias.name for node in stub.body if isinstance(node, ast.ImportFrom) for alias in node.names]
    assert sorted(listed) == dir(rimpoise) == sorted([*rimpoise.__all__, "AsyncClient"])
    assert len(listed) == len(set(listed)) > 100


def test_every_public_class_is_offered() -> None:
    """Of the models, all dataclasses; of the errors, the whole tree."""
    models = [import_module(f"rimpoise.models.{m.name}") for m in iter_modules(rimpoise.models.__path__)]
    made = {
        name
        for module in [*models, rimpoise.errors]
        for name, value in vars(module).items()
        if isinstance(value, type) and value.__module__ == module.__name__
    }
    assert made <= set(rimpoise.__all__)


def test_a_name_that_is_not_there() -> None:
    with pytest.raises(AttributeError, match="no attribute 'Weel'"):
        rimpoise.Weel  # type: ignore[attr-defined]  # noqa: B018


def test_the_package_says_that_it_is_typed() -> None:
    assert files("rimpoise").joinpath("py.typed").is_file()


def test_the_client_drags_in_nothing_of_the_service() -> None:
    heavy = {"rimpoise_service", "flask", "werkzeug", "marshmallow", "numpy", "yaml", "click", "tqdm"}
    loaded = modules_after("from rimpoise import *")
    assert "requests" in loaded
    assert heavy & loaded == set()


def test_importing_the_package_imports_nothing_else() -> None:
    """What a name needs is imported with the name."""
    loaded = modules_after("import rimpoise")
    assert {m for m in loaded if m.partition(".")[0] in ("requests", "rimpoise")} == {"rimpoise"}
    assert "rimpoise.client" not in modules_after("from rimpoise import Wheel")


def test_importing_a_client_makes_no_models() -> None:
    """They take longer to make than requests to import; so it costs little more than requests alone."""
    loaded = modules_after("from rimpoise import Client; Client('http://service.test').close()")
    assert [name for name in loaded if name.startswith("rimpoise.models.")] == []
    assert {"httpx", "jsonschema", "asyncio"} & loaded == set()


def modules_after(code: str) -> set[str]:
    """What a fresh interpreter has imported then."""
    command = [sys.executable, "-c", f"{code}\nimport sys; print(*sys.modules)"]
    return set(subprocess.run(command, capture_output=True, text=True, timeout=300, check=True).stdout.split())
