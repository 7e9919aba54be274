"""Hypothesis profiles: many examples on a developer's machine, the same ones every time in CI, few for mutants."""

import os
from collections.abc import Iterator

import pytest
from hypothesis import settings

from rimpoise_service.messages.reader import Reader, reading_as

settings.register_profile("dev", max_examples=100, deadline=None)
settings.register_profile("ci", max_examples=200, deadline=None, derandomize=True)
settings.register_profile("few", max_examples=25, deadline=None, derandomize=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE") or ("ci" if os.environ.get("CI") else "dev"))


@pytest.fixture(autouse=True)
def _reader() -> Iterator[None]:
    """No test reads in the language of another one's request."""
    with reading_as(Reader()):
        yield
