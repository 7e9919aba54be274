"""The recipes in docs do what they say, to the last letter of what they print, and the notebook runs."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.client.invented import QUESTION

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "client/docs"
RECIPES = ["till.md", "balancer.md", "table.md", "cluster.md"]
NEXT = "==== next ===="
FILES, LINES = 4, 5
NOTEBOOK = """
import json, sys, nbformat
from nbclient import NotebookClient
notebook = nbformat.read(sys.argv[1], 4)
NotebookClient(notebook, timeout=300, kernel_name="python3").execute()
print(json.dumps([cell.get("outputs", []) for cell in notebook.cells if cell.cell_type == "code"]))
"""


def blocks(text: str, language: str) -> list[str]:
    """The fenced blocks of a language."""
    return re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL)


def run(command: list[str], folder: Path, url: str) -> str:
    """What a command prints that asks the service at that URL."""
    paths = os.pathsep.join(str(ROOT / part) for part in ("service", "client"))
    environ = {k: v for k, v in os.environ.items() if not k.startswith("RIMPOISE_")}
    environ |= {"PYTHONPATH": paths, "RIMPOISE_URL": url}
    done = subprocess.run(command, cwd=folder, env=environ, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_every_recipe_is_run() -> None:
    assert sorted(RECIPES) == sorted(path.name for path in DOCS.glob("*.md"))


@pytest.mark.parametrize("name", [*RECIPES[:-1], pytest.param("cluster.md", marks=pytest.mark.slow)])
def test_a_recipe_prints_what_it_says(name: str, url: str, tmp_path: Path) -> None:
    """Of the cluster's, two workers of a local cluster plan the wheels of four files."""
    (tmp_path / "wheels").mkdir()
    for number in range(FILES):
        line = json.dumps(QUESTION.to_dict()) + "\n"
        (tmp_path / "wheels" / f"{number}.ndjson").write_text(line * LINES, encoding="utf-8")
    text = (DOCS / name).read_text(encoding="utf-8")
    script = f"\nprint({NEXT!r})\n".join(blocks(text, "python"))
    if name == "cluster.md":  # whose workers import it, which must not print
        (script,) = blocks(text, "python")
    (tmp_path / "recipe.py").write_text(script, encoding="utf-8")
    reported = run([sys.executable, "recipe.py"], tmp_path, url).split(f"{NEXT}\n")
    assert reported == blocks(text, "text")


def test_the_clients_own_readme(url: str, tmp_path: Path) -> None:
    (snippet,) = blocks((ROOT / "client" / "README.md").read_text("utf-8"), "python")
    assert run([sys.executable, "-c", snippet.replace("http://127.0.0.1:8080", url)], tmp_path, url) == "ok\n"


@pytest.mark.slow
def test_the_notebook_runs(url: str, tmp_path: Path) -> None:
    pytest.importorskip("ipykernel")
    outputs: list[list[dict[str, Any]]] = json.loads(
        run([sys.executable, "-c", NOTEBOOK, str(DOCS / "wheel.ipynb")], tmp_path, url)
    )
    assert len(outputs) == 6
    shown = [output for cell in outputs for output in cell]
    lines = "".join(output["text"] for output in outputs[3])  # printed as answers come in
    assert "PlanRequest(" in shown[0]["data"]["text/plain"]
    assert shown[1]["text"].startswith("decision: fit")
    assert shown[2]["data"]["image/svg+xml"].lstrip().startswith("<")
    assert len(lines.splitlines()) == 4
    assert [o["output_type"] for o in shown].count("error") == 0


def test_the_notebook_is_kept_without_its_outputs() -> None:
    cells = json.loads((DOCS / "wheel.ipynb").read_text("utf-8"))["cells"]
    assert [cell["outputs"] for cell in cells if cell["cell_type"] == "code"] == [[]] * 6
