"""The package as a whole: what it offers, what it drags in, what its docstrings say."""

from __future__ import annotations

import dataclasses
import inspect
import subprocess
import sys
from collections.abc import Iterator
from importlib.resources import files

import pytest

import rimpoise
from rimpoise import Client

UNITS = {
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
SHAPES = [s for s in vars(rimpoise).values() if isinstance(s, type) and dataclasses.is_dataclass(s)]
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


def test_all_is_complete_and_without_repeats() -> None:
    public = {name for name, value in vars(rimpoise).items() if name[0] != "_" and not inspect.ismodule(value)}
    assert set(rimpoise.__all__) == public | {"__version__"}
    assert len(rimpoise.__all__) == len(set(rimpoise.__all__))


def test_the_package_says_that_it_is_typed() -> None:
    assert files("rimpoise").joinpath("py.typed").is_file()


def test_the_client_drags_in_nothing_of_the_service() -> None:
    heavy = {"rimpoise_service", "flask", "werkzeug", "marshmallow", "numpy", "yaml"}
    code = "import sys, rimpoise; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    loaded = set(done.stdout.split())
    assert "requests" in loaded
    assert heavy & loaded == set()
