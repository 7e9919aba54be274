"""DEVELOPERS.md: its sections in order, and a map that names every folder. Every page's links lead somewhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CODE = ["Set-up", "Map", "The way of the data", "Glossary", "Rules of the house", "Adding an operation"]
ORDER = [*CODE, "Decisions", "Operations", "Measurements", "Changelog"]
LAYERS = {path.name for path in (ROOT / "service/rimpoise_service").iterdir() if (path / "__init__.py").exists()}
LAYER_FOLDERS = {f"tests/{name}" for name in LAYERS | {"client", "docker"}}
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "client").rglob("*.md"))]


def mapped() -> set[str]:
    """The folders that the map names, as paths."""
    block = re.search(r"^## Map\n+```\n(.*?)```", TEXT, re.DOTALL | re.MULTILINE)
    assert block is not None
    found, root = set(), ""
    for line in block[1].splitlines():
        if named := re.match(r"( *)([\w./-]+)/ ", line):
            path = named[2] if not named[1] else f"{root}/{named[2]}"
            depth = len(named[1]) // 2
            if depth == 0:
                root = named[2]
            elif depth == 2:
                path = f"{root}/api/{named[2]}"
            found.add(path)
    return found


def test_the_sections_are_in_order() -> None:
    assert re.findall(r"^## (.*)", TEXT, re.MULTILINE) == ORDER


def test_every_layer_has_its_tests_and_the_map_names_all_other_folders() -> None:
    there = {
        str(path.parent.relative_to(ROOT))
        for root in ("service/rimpoise_service", "client/rimpoise", "client/docs", "tests", "docker", ".ci")
        for path in (ROOT / root).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and ".egg-info" not in str(path)
    }
    assert there - mapped() == LAYER_FOLDERS
    assert mapped() <= there


def test_every_link_within_leads_to_a_heading() -> None:
    anchors = {
        re.sub(r"[^\w -]", "", h).lower().replace(" ", "-") for h in re.findall(r"^#+ (.*)", TEXT, re.MULTILINE)
    }
    assert set(re.findall(r"\]\(#([\w-]+)\)", TEXT)) <= anchors


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_to_a_file_leads_to_one(page: Path) -> None:
    links = re.findall(r"\]\((?!https?:|#)([^)#]+)", page.read_text(encoding="utf-8"))
    assert [link for link in links if not (page.parent / link).exists()] == []
