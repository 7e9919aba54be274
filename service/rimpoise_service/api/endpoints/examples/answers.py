"""An answer of each operation, to one of its worked requests; `python -m tests.contract.answers` writes them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any, NamedTuple


class Answer(NamedTuple):
    """An answer, or the beginning of a text, and the name of the worked request that it answers."""

    name: str
    value: Any


def read() -> Mapping[str, Answer]:
    """By operation."""
    text = files(__package__).joinpath("answers.json").read_text(encoding="utf-8")
    return {operation: Answer(*each) for operation, each in json.loads(text).items()}
