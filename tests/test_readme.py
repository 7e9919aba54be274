"""The README's snippets do what they say, against a real server on loopback. Its Run and Test blocks are CI's."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from rimpoise_service.api.app import create_app
from tests.served import serving

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PLACE = "127.0.0.1:8080"


@pytest.fixture(scope="module")
def place() -> Iterator[str]:
    with serving(create_app()) as url:
        yield url.removeprefix("http://")


def snippet(language: str, containing: str) -> str:
    found = [b for b in re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL) if containing in b]
    assert len(found) == 1
    return str(found[0])


def output_of(command: list[str]) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True, timeout=300).stdout


@pytest.mark.skipif(shutil.which("curl") is None, reason="the machine has no curl")
def test_the_curl_snippet(place: str) -> None:
    reported = json.loads(output_of(["bash", "-c", snippet("sh", "curl").replace(PLACE, place)]))
    (correction,) = reported["corrections"]
    assert correction["plane"] == "inner land"
    assert correction["mass_g"] == pytest.approx(25 * 218.3 / 198)  # the same vector at a smaller radius
    assert correction["angle_deg"] == pytest.approx(70)  # called is where the weight goes


def test_the_client_snippet(place: str) -> None:
    reported = output_of([sys.executable, "-c", snippet("python", "Client(").replace(PLACE, place)]).splitlines()
    assert reported[0].startswith("fit - ")
    assert len(reported) > 1
    assert all(line.endswith("hidden: True") for line in reported[1:])


def test_the_machines_own_words(place: str) -> None:
    """With the other snippet's wheel: each weight comes back in ounces, by where the valve stands."""
    own = snippet("python", "from_machine")
    usual = snippet("python", "Client(").replace(PLACE, place)
    whole = usual.replace("wishes = ", f"{own}\nwishes = ") + "print(*[p.called for p in plan.recommended.pieces])"
    reported = output_of([sys.executable, "-c", whole])
    assert "mass_unit='oz'" in reported
    assert re.search(r"valve_at=Clock\(clock='\d+:\d\d'\)", reported)


@pytest.mark.slow
def test_the_command_line_snippet(tmp_path: Path) -> None:
    commands = snippet("sh", "rimpoise template").replace("rimpoise ", f"{sys.executable} -m rimpoise ")
    run = ["bash", "-euo", "pipefail", "-c", commands]
    done = subprocess.run(run, cwd=tmp_path, check=True, capture_output=True, text=True, timeout=300)
    assert "1 wheel checked: 1 passing, 0 failing." in done.stderr
    assert (tmp_path / "checked.csv").read_text("utf-8").count("\n") == 2


def test_the_map_names_every_operation() -> None:
    paths = {rule.rule for rule in create_app().url_map.iter_rules() if "<" not in rule.rule}
    assert {path for path in paths if f"`{path}`" not in README and f" {path}`" not in README} == set()


def test_run_and_test_are_the_first_blocks_under_their_headings() -> None:
    headings = re.findall(r"^## (.+)$", README, re.MULTILINE)
    assert headings[:2] == ["Run", "Test"]
    assert README.index("```sh") > README.index("## Run")
