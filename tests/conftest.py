"""Hypothesis profiles, and the tests that are known to fail.

Profiles: many examples on a developer's machine, the same ones every time in CI, few for mutants. A test named in
``known_failures.txt`` still runs; that it fails is known, and no other test's failure is.
"""

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("dev", max_examples=100, deadline=None)
settings.register_profile("ci", max_examples=100, deadline=None, derandomize=True)
settings.register_profile("few", max_examples=25, deadline=None, derandomize=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE") or ("ci" if os.environ.get("CI") else "dev"))

KNOWN = frozenset(
    line
    for line in (Path(__file__).parent / "known_failures.txt").read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Expect failures of the tests that are named, a whole function at a time."""
    for item in items:
        if item.nodeid.partition("[")[0] in KNOWN:
            item.add_marker(pytest.mark.xfail(reason="known, see known_failures.txt", strict=False))
