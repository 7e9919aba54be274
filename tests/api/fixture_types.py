"""What the fixtures of this folder are, for the signatures of its tests."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from werkzeug.test import TestResponse

Path = tuple[str | int, ...]
Ask = Callable[[str, object], TestResponse]
Example = Callable[[str, str], Any]
Conforms = Callable[[str, object], bool]
Pointers = Callable[[TestResponse], list[str]]
Nodes = Callable[[Any], list[tuple[Path, Any]]]
Replaced = Callable[[Any, Path, Any], Any]
Worked = tuple[str, str, str, Any]
