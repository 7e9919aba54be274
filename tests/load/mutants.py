"""Mutation testing of the physics and the choosing: cosmic-ray's mutants, a fixed sample of them, in a copy.

``python -m tests.load mutants``. Needs ``pip install cosmic-ray``. MUTANTS: how many of each folder (default 60);
MUTANTS_OF: which (default both). Every mutant meets the tests of its own layer; what no test notices is listed.
"""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from .service import ROOT
from .table import table

SAMPLE = int(os.environ.get("MUTANTS", "60"))
TESTS = {
    "mechanics": "tests/mechanics",
    "fitting": "tests/fitting --ignore-glob=*mujoco* --ignore-glob=*brute* --ignore-glob=*odd_stock*",
}
"""The slowest are left out: they meet the same code with more numbers."""

CONFIGURATION = """\
[cosmic-ray]
module-path = "service/rimpoise_service/{layer}"
timeout = 120.0
excluded-modules = []
test-command = "{python} -m pytest -q -x -p no:cacheprovider {tests}"
[cosmic-ray.distributor]
name = "local"
"""


def survivors(layer: str, folder: Path) -> tuple[int, int, list[str]]:
    """All mutants there are, those tried, and what survived as file, line and operator."""
    from cosmic_ray.work_db import WorkDB, use_db  # only here: no tool of every day
    from cosmic_ray.work_item import WorkerOutcome, WorkResult

    file, session = folder / f"{layer}.toml", folder / f"{layer}.sqlite"
    told = CONFIGURATION.format(layer=layer, python=sys.executable, tests=TESTS[layer])
    file.write_text(told, encoding="utf-8")
    _run(folder, "init", str(file), str(session))
    with use_db(str(session), WorkDB.Mode.open) as db:
        items = sorted(db.pending_work_items, key=lambda item: str(item.mutations[0]))
        chosen = {item.job_id for item in random.Random(6).sample(items, min(SAMPLE, len(items)))}
        skipped: Any = WorkResult(WorkerOutcome.SKIPPED)
        db.set_multiple_results([item.job_id for item in items if item.job_id not in chosen], skipped)
    _run(folder, "exec", str(file), str(session))
    with use_db(str(session), WorkDB.Mode.open) as db:
        results = dict(db.results)
    found = [
        f"{mutation.module_path.name}:{mutation.start_pos[0]} {mutation.operator_name.partition('/')[2]}"
        f" {mutation.occurrence}"
        for item in items
        for mutation in item.mutations
        if item.job_id in chosen and "survived" in str(results[item.job_id].test_outcome).lower()
    ]
    return len(items), len(chosen), found


def _run(folder: Path, *arguments: str) -> None:
    tool = str(Path(sys.executable).with_name("cosmic-ray"))
    paths = os.pathsep.join([str(folder), str(folder / "service"), str(folder / "client")])
    subprocess.run([tool, *arguments], cwd=folder, env=os.environ | {"PYTHONPATH": paths, "CI": "1"}, check=True)


def report() -> None:
    """Print how many, and which were not noticed."""
    rows, unnoticed = [], []
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "copy"
        shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache"))
        for layer in os.environ.get("MUTANTS_OF", " ".join(TESTS)).split():
            there, tried, found = survivors(layer, folder)
            rows.append([layer, there, tried, tried - len(found), len(found)])
            unnoticed += found
    table(("layer", "mutants there are", "tried", "noticed", "survived"), rows)
    print(*(f"- {each}" for each in unnoticed), sep="\n")
