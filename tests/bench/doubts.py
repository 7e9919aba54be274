"""What of a wheel or a reading is refused and what is doubted, with the sentences.

    python -m tests.bench doubts

Rules and codes are those that ``wheel_plausibility`` and ``plausibility`` of ``planning`` name, in their order;
values stand in braces. Both sides of every threshold are in tests/planning/test_plausibility.py, and what the
service answers in tests/api.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

from rimpoise_service.api.schemas.rules import RULES
from rimpoise_service.messages.catalogue import CATALOGUE
from rimpoise_service.planning import plausibility, wheel_plausibility


def named(function: str) -> Iterator[str]:
    """What the modules name as the first argument of a function, each once, in order."""
    said = [code for module in (wheel_plausibility, plausibility) for code in _named_in(module, function)]
    return iter(dict.fromkeys(said))


def _named_in(module: ModuleType, function: str) -> list[str]:
    tree = ast.parse(Path(module.__file__ or "").read_text(encoding="utf-8"))
    calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)]
    said = [
        (n.lineno, n.args[0].value)
        for n in calls
        if isinstance(n.func, ast.Name) and n.func.id == function and isinstance(n.args[0], ast.Constant)
    ]
    return [str(code) for _, code in sorted(said)]


def refused() -> dict[str, str]:
    """Rules with their sentences; who breaks one gets a 422 with place, value and what to write instead."""
    return {name: RULES[name] for name in named("Flaw")}


def doubted() -> dict[str, str]:
    """Codes of warnings and notes with their sentences."""
    return {code: CATALOGUE[code].text for code in named("message")}


def report() -> None:
    """Print both tables."""
    for head, rows in (("refused", refused()), ("doubted", doubted())):
        print(f"-- {head}")
        for code, text in rows.items():
            print(f"{code:24}{text}")
