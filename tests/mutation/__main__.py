"""Mutation testing: does a test of its own layer notice when a line is changed? ``python -m tests.mutation``.

A fixed sample of 300 mutants of all there are (``mutants``), each before the tests of its layer that reach its
line, the quickest first, until one fails. A mutant lives in the memory of a process of its own: no file changes.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import os
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType

import pytest

from tests.load.table import cores, table

from .children import ROOT, prepare, run
from .mutants import Mutant, sample
from .reach import Reach, watch

SERVICE = ROOT / "service" / "rimpoise_service"
SAMPLE = {"search": 50, "planning": 120, "physics": 50, "diagnosis": 50, "workshop": 30}
"""How many of each layer; of the workshop, where money is counted."""

MONEY = ("invoice.py", "money.py")
MORE_S, TIMES = 20.0, 4.0
"""A mutant may take so much longer than its tests without it [s CPU], and so many times as long."""


@dataclass(frozen=True, slots=True)
class Substitute:
    """For ``sys.meta_path``: imports one module from other source."""

    mutant: Mutant

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:  # noqa: ARG002
        """Of that module alone."""
        parts = self.mutant.path.relative_to(ROOT / "service").with_suffix("").parts
        if name.split(".") != [part for part in parts if part != "__init__"]:
            return None
        return spec_from_file_location(name, self.mutant.path, loader=Loader(name, self.mutant))


class Loader(SourceFileLoader):
    """Compiles the mutant in place of what the file holds."""

    def __init__(self, name: str, mutant: Mutant) -> None:
        super().__init__(name, str(mutant.path))
        self.mutant = mutant

    def get_code(self, fullname: str) -> CodeType:  # noqa: ARG002
        """As the importer wants it."""
        return compile(self.mutant.source, self.path, "exec", dont_inherit=True)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a mutant: before so many tests, pytest's status, or minus the signal that ended them."""

    mutant: Mutant
    tests: int
    status: int

    @property
    def reported(self) -> str:
        """In a word."""
        return "survived" if self.status == 0 else "noticed" if self.status > 0 else "noticed by its limits"

    def __str__(self) -> str:
        return (
            f"-- {self.reported} ({self.tests} tests) {self.mutant.path.relative_to(SERVICE)}\n{self.mutant.diff}"
        )


def judge(reach: Reach, folder: Path, most_s: float, mutant: Mutant) -> Outcome:
    """Let the tests that reach a mutant meet it: the quickest, as many as fit into so much time [s CPU]."""
    tests, total = [], 0.0
    for test in reach.tests(mutant.path, mutant.first, mutant.last):
        total += reach.seconds[test]
        if total <= most_s:
            tests.append(test)
    limit_s = MORE_S + TIMES * sum(reach.seconds[test] for test in tests)
    log = folder / f"{os.getpid()}.log"
    status = run(tests, [], limit_s, log, lambda: sys.meta_path.insert(0, Substitute(mutant))) if tests else 0
    if status in (pytest.ExitCode.NO_TESTS_COLLECTED, pytest.ExitCode.USAGE_ERROR):
        raise RuntimeError(f"not all of {tests} were run: {log.read_text('utf-8')}")
    return Outcome(mutant, len(tests), status)


def files(layer: str) -> list[Path]:
    """The modules of a layer that mutants are made of."""
    there = sorted((SERVICE / layer).rglob("*.py"))
    return [path for path in there if layer != "workshop" or path.name in MONEY]


def outcomes(layer: str, count: int, jobs: int, folder: Path, most_s: float) -> Iterator[Outcome]:
    """Of the sample of one layer."""
    reach, chosen = watch(layer, folder), sample(files(layer), count)
    with ProcessPoolExecutor(jobs, multiprocessing.get_context("fork")) as pool:
        yield from pool.map(partial(judge, reach, folder, most_s), chosen)


def report(layers: Sequence[str], share: float, jobs: int, folder: Path, most_s: float = math.inf) -> bool:
    """Print each mutant's fate as it comes, and the table; whether 95 of 100 were noticed."""
    prepare(folder)
    rows, noticed, tried = [], 0, 0
    for layer in layers:
        found = []
        for outcome in outcomes(layer, round(SAMPLE[layer] * share), jobs, folder, most_s):
            print(outcome, flush=True)
            found.append(outcome)
        seen, late = (
            sum(condition) for condition in zip(*((o.status > 0, o.status < 0) for o in found), strict=True)
        )
        rows.append([layer, len(found), seen, late, len(found) - seen - late])
        noticed, tried = noticed + seen + late, tried + len(found)
    table(("layer", "mutants", "noticed", "by limits of time or memory", "survived"), rows)
    print(f"{noticed} of {tried} noticed")
    return noticed >= 0.95 * tried


def main() -> None:
    """As the command line says."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("layers", nargs="*", metavar="LAYER", help=f"of {', '.join(SAMPLE)}; all if none is named")
    parser.add_argument("--share", type=float, default=1.0, help="of the sample, between 0 and 1")
    parser.add_argument("--jobs", type=int, default=cores(), help="processes at once")
    parser.add_argument("--most", type=float, default=math.inf, help="seconds of tests that a mutant meets; all")
    parser.add_argument("--keep", type=Path, help="a folder for what was watched: the same tests begin at once")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = given.keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        enough = report(given.layers or list(SAMPLE), given.share, given.jobs, folder.resolve(), given.most)
    sys.exit(not enough)


if __name__ == "__main__":
    main()
