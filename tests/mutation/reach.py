"""Which tests reach which line, and how long each takes: the tests of a layer are run once and watched."""

from __future__ import annotations

import json
import time
from collections.abc import Generator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import coverage
import pytest

from .children import ROOT, run

AN_HOUR_S = 3600.0


@dataclass(frozen=True, slots=True)
class Reach:
    """For each file and line the tests that reach it ("" when they are collected), and what each takes [s CPU]."""

    lines: dict[str, dict[str, list[str]]]
    seconds: dict[str, float]

    def tests(self, path: Path, first: int, last: int) -> list[str]:
        """Of some lines, the quickest first.

        Of what is run when tests are collected, by an import or for a constant of theirs: all tests of the modules
        that reach the file.
        """
        of_file = self.lines.get(str(path.relative_to(ROOT)), {})
        found = {test for line in range(first, last + 1) for test in of_file.get(str(line), [])}
        if "" in found or not found:
            modules = {module_of(test) for tests in of_file.values() for test in tests if test}
            found = {test for test in self.seconds if module_of(test) in modules}
        return sorted(found, key=lambda test: (self.seconds[test], test))


def module_of(test: str) -> str:
    """The file of a test."""
    return test.partition("::")[0]


class Watch:
    """For pytest: says which test runs, takes its time, and writes all of it when the last one is done."""

    def __init__(self, file: Path) -> None:
        self.file, self.seconds = file, dict[str, float]()
        source = [str(ROOT / "service" / "rimpoise_service")]
        self.coverage = coverage.Coverage(None, branch=False, source=source, config_file=False)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, Any, Any]:
        """Around each test."""
        self.coverage.switch_context(item.nodeid)
        began = time.process_time()
        result = yield
        self.seconds[item.nodeid] = time.process_time() - began
        return result

    def pytest_sessionfinish(self) -> None:
        """Write."""
        self.coverage.stop()
        data, lines = self.coverage.get_data(), {}
        for name in data.measured_files():
            by_line = data.contexts_by_lineno(name).items()
            lines[str(Path(name).relative_to(ROOT))] = dict(by_line)
        self.file.write_text(json.dumps([lines, self.seconds]), "utf-8")


def watch(layer: str, folder: Path) -> Reach:
    """Run a layer's tests, or read what an earlier run left in the folder. Raises RuntimeError if they fail."""
    file = folder / f"{layer}.json"
    if not file.exists():
        plugin, log = Watch(file), folder / f"{layer}.log"
        if status := run([f"tests/{layer}"], [plugin], AN_HOUR_S, log, plugin.coverage.start):
            file.unlink(missing_ok=True)
            raise RuntimeError(f"the tests of {layer} fail without a mutant ({status}): {log.read_text('utf-8')}")
    return Reach(*json.loads(file.read_text("utf-8")))
