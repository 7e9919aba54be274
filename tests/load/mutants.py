"""Mutation testing of the physics and the choosing: cosmic-ray's mutants, a fixed sample of them, in copies.

``python -m tests.load mutants``. Needs ``pip install cosmic-ray pytest-cov``. MUTANTS: how many of each folder
(default 60); MUTANTS_OF: which (default both). Every mutant meets the tests that reach its line, of every layer
but the web's; what no test notices is listed.
"""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from .service import ROOT
from .table import cores, table

SAMPLE = int(os.environ.get("MUTANTS", "60"))
LAYERS = os.environ.get("MUTANTS_OF", "physics model search planning diagnosis").split()
TESTS = tuple(f"tests/{layer}" for layer in ("physics", "model", "search", "planning", "diagnosis"))
PYTEST = (sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:schemathesis")
SLOW = tuple(f"--ignore-glob=*{name}*" for name in ("mujoco", "brute", "odd_stock"))
"""The slowest are left out: they meet the same code with more numbers."""

TIMEOUT_S = 90.0
CONFIGURATION = """\
[cosmic-ray]
module-path = "service/rimpoise_service/{layer}"
timeout = 90.0
excluded-modules = []
test-command = "false"
[cosmic-ray.distributor]
name = "local"
"""


class Reach:
    """Which tests reach which line of the layers: they are run once and watched."""

    def __init__(self, folder: Path) -> None:
        from coverage import CoverageData  # only here: no tool of every day

        watch = ("--cov=service/rimpoise_service", "--cov-context=test", "--cov-report=")
        subprocess.run([*PYTEST, *SLOW, *watch, *TESTS], cwd=folder, env=_environ(folder), check=True)
        self._data, self._folder = CoverageData(str(folder / ".coverage")), folder
        self._data.read()

    def tests(self, module: Path, first: int, last: int) -> list[str]:
        """Of some lines; of the whole file if they are run when it is imported."""
        by_line = self._data.contexts_by_lineno(str(self._folder / module))
        found = {c for line in range(first, last + 1) for c in by_line.get(line, []) if c}
        found = found or {c for contexts in by_line.values() for c in contexts if c}
        return sorted({context.partition("|")[0] for context in found})


def _environ(folder: Path) -> dict[str, str]:
    paths = os.pathsep.join([str(folder), str(folder / "service"), str(folder / "client")])
    return os.environ | {"PYTHONPATH": paths, "HYPOTHESIS_PROFILE": "few", "PYTHONDONTWRITEBYTECODE": "1"}


def _try(folder: Path, mutations: Sequence[Any], tests: Sequence[str]) -> bool:
    """Whether a test notices a mutant, in a copy of its own."""
    from cosmic_ray.mutating import mutate_and_test

    os.chdir(folder)
    os.environ.update(_environ(folder))
    chosen = folder / "chosen.txt"
    chosen.write_text("\n".join(tests), encoding="utf-8")
    result = mutate_and_test(mutations, " ".join([*PYTEST, "-x", f"@{chosen}"]), TIMEOUT_S)
    return "survived" not in str(result.test_outcome).lower()


_here: list[Path] = []


def _take(folders: Any) -> None:
    """Each process has one of the copies to itself."""
    _here.append(folders.get())


def _try_here(mutations: Sequence[Any], tests: Sequence[str]) -> bool:
    return _try(_here[0], mutations, tests)


@contextmanager
def copies() -> Iterator[list[Path]]:
    """As many as there are cores."""
    with tempfile.TemporaryDirectory() as scratch:
        folders = [Path(scratch) / f"copy{n}" for n in range(cores())]
        unwanted = shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache", ".hypothesis")
        for folder in folders:
            shutil.copytree(ROOT, folder, ignore=unwanted)
        yield folders


def mutants(layer: str, folder: Path) -> tuple[int, list[Any]]:
    """How many there are of a layer, and a fixed sample of them."""
    from cosmic_ray.work_db import WorkDB, use_db

    file, session = folder / f"{layer}.toml", folder / f"{layer}.sqlite"
    file.write_text(CONFIGURATION.format(layer=layer), encoding="utf-8")
    tool = str(Path(sys.executable).with_name("cosmic-ray"))
    subprocess.run([tool, "init", str(file), str(session)], cwd=folder, check=True)
    with use_db(str(session), WorkDB.Mode.open) as db:
        items = sorted(db.pending_work_items, key=lambda item: str(item.mutations[0]))
    return len(items), random.Random(6).sample(items, min(SAMPLE, len(items)))


def report() -> None:
    """Print how many, and which were not noticed."""
    import multiprocessing

    rows, unnoticed = [], []
    with copies() as folders, multiprocessing.Manager() as manager:
        reach, queue = Reach(folders[0]), manager.Queue()
        for folder in folders:
            queue.put(folder)
        with ProcessPoolExecutor(len(folders), initializer=_take, initargs=(queue,)) as pool:
            for layer in LAYERS:
                there, chosen = mutants(layer, folders[0])
                places = [item.mutations[0] for item in chosen]
                tests = [reach.tests(m.module_path, m.start_pos[0], m.end_pos[0]) for m in places]
                assert not pool.submit(_try_here, [], tests[0]).result(), "the tests fail without a mutant"
                noticed = list(pool.map(_try_here, [item.mutations for item in chosen], tests))
                rows.append([layer, there, len(chosen), sum(noticed), len(chosen) - sum(noticed)])
                unnoticed += [m for m, seen in zip(places, noticed, strict=True) if not seen]
    table(("layer", "mutants there are", "tried", "noticed", "survived"), rows)
    for m in unnoticed:
        print(f"- {m.module_path.name}:{m.start_pos[0]}:{m.start_pos[1]} {m.operator_name.partition('/')[2]}")
