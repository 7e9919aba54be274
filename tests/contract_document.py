"""The contract as it is written down, read once for all tests."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import yaml

FILE = Path(__file__).parents[1] / "openapi.yaml"


@cache
def contract_document() -> dict[str, Any]:
    """openapi.yaml; libyaml reads it ten times as fast as Python does."""
    loaded: dict[str, Any] = yaml.load(FILE.read_text("utf-8"), Loader=yaml.CSafeLoader)
    return loaded
