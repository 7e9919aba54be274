"""The reference that is built from the docstrings: all that is public, and nothing from elsewhere."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import rimpoise
from rimpoise.operations import Operations

pytestmark = pytest.mark.slow  # the pages take seconds to build

SCRIPT = Path(__file__).parents[2] / "client" / "build_reference.py"


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The pages by name."""
    folder = tmp_path_factory.mktemp("reference")
    subprocess.run([sys.executable, str(SCRIPT), str(folder)], check=True, capture_output=True, timeout=300)
    return {path.relative_to(folder).as_posix(): path.read_text("utf-8") for path in folder.rglob("*.html")}


def test_every_public_name_is_there(pages: dict[str, str]) -> None:
    ids = set(re.findall(r'id="([\w.]+)"', pages["rimpoise.html"]))
    assert set(rimpoise.__all__) - {"__version__"} <= ids
    methods = {f"Operations.{name}" for name in vars(Operations) if not name.startswith("_")}
    assert methods <= set(re.findall(r'id="([\w.]+)"', pages["rimpoise/operations.html"]))
    assert 'id="AsyncClient.plan_many"' in pages["rimpoise/async_client.html"]
    assert 'id="FakeService.recorded"' in pages["rimpoise/testing.html"]


def test_fields_are_a_list(pages: dict[str, str]) -> None:
    assert "<li><strong>deadline</strong>: for a whole call" in pages["rimpoise.html"]


def test_nothing_comes_from_elsewhere(pages: dict[str, str]) -> None:
    for name, page in pages.items():
        assert re.findall(r'(?:src|<link[^>]*href)="(?:https?:)?//[^"]*"', page) == [], name
