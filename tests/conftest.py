"""Hypothesis profiles: many examples on a developer's machine, the same ones every time in CI, few for mutants.

And what takes long to load, in every process, only where its tests are run: schemathesis where slow ones are, the
browser's modules where those are.
"""

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from rimpoise_service.messages.reader import Reader, reading_as

UNTIMED = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("dev", UNTIMED, max_examples=100)
settings.register_profile("ci", UNTIMED, max_examples=200, derandomize=True)
settings.register_profile("few", UNTIMED, max_examples=25, derandomize=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE") or ("ci" if os.environ.get("CI") else "dev"))


def _without(mark: str, config: pytest.Config) -> bool:
    return f"not {mark}" in config.option.markexpr


def pytest_configure(config: pytest.Config) -> None:
    """Load schemathesis where its tests may be run; what is collected stays, so nothing is garbage until it is."""
    gc.disable()
    if not _without("slow", config):
        config.pluginmanager.import_plugin("schemathesis.pytest.plugin")


def pytest_collection_finish() -> None:
    """Look for garbage from here on, and no more at the thousands of tests."""
    gc.freeze()
    gc.enable()


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out what is not run."""
    marks = {"test_schemathesis.py": "slow", "browser": "browser"}
    mark = marks.get(collection_path.name)
    return (mark is not None and _without(mark, config)) or None


@pytest.fixture(autouse=True)
def _reader() -> Iterator[None]:
    """No test reads in the language of another one's request."""
    with reading_as(Reader()):
        yield
