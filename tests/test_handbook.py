"""DEVELOPERS.md: its sections in their order, and a map that names every folder there is."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ORDER = [
    *(
        "Set-up",
        "Map",
        "The way of the data",
        "Glossary",
        "Rules of the house",
        "Adding an operation",
        "Decisions",
    ),
    *("Operations", "Measurements", "Changelog"),
]
LAYER_FOLDERS = {
    f"tests/{name}" for name in ("api", "client", "diagnosis", "docker", "drawing", "messages", "model")
}
LAYER_FOLDERS |= {f"tests/{name}" for name in ("physics", "planning", "search", "workshop")}


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


def test_the_map_names_every_folder() -> None:
    there = {
        str(path.parent.relative_to(ROOT))
        for root in ("service/rimpoise_service", "client/rimpoise", "client/docs", "tests", "docker", ".ci")
        for path in (ROOT / root).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and ".egg-info" not in str(path)
    }
    assert there - LAYER_FOLDERS == mapped()


def test_no_folder_of_tests_is_without_a_layer() -> None:
    layers = {path.name for path in (ROOT / "service/rimpoise_service").iterdir() if path.is_dir()} | {
        "client",
        "docker",
    }
    assert {f.removeprefix("tests/") for f in LAYER_FOLDERS} <= layers


def test_every_link_within_leads_to_a_heading() -> None:
    anchors = {
        re.sub(r"[^\w -]", "", h).lower().replace(" ", "-") for h in re.findall(r"^#+ (.*)", TEXT, re.MULTILINE)
    }
    assert set(re.findall(r"\]\(#([\w-]+)\)", TEXT)) <= anchors
