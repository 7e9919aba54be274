"""Within one request: what was loaded once is not loaded again.

The plans of a batch mostly share wheels and shelves. A noun that says ``shared`` is looked up by the text of what
was sent; as nouns load into frozen objects, one can stand in many plans. Errors are never kept.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

MOST = 64


class LoadCache:
    """What was loaded, by the kind of noun and the text sent; the least lately used goes first."""

    def __init__(self) -> None:
        self._loaded: OrderedDict[tuple[type, str], Any] = OrderedDict()

    def load(self, kind: type, value: Any, load: Callable[[Any], Any]) -> Any:
        """The object that a value loads to. Raises what ``load`` raises."""
        key = (kind, json.dumps(value))  # 1, 1.0 and true are three texts
        if key not in self._loaded:
            self._loaded[key] = load(value)
            if len(self._loaded) > MOST:
                self._loaded.popitem(last=False)
        self._loaded.move_to_end(key)
        return self._loaded[key]


_current: ContextVar[LoadCache | None] = ContextVar("load_cache", default=None)


@contextmanager
def using_cache(cache: LoadCache) -> Iterator[None]:
    """Load with this cache."""
    token = _current.set(cache)
    try:
        yield
    finally:
        _current.reset(token)


def load(kind: type, value: Any, plainly: Callable[[Any], Any]) -> Any:
    """Load, from the cache if there is one and the kind of noun is shared."""
    cache = _current.get()
    if cache is None or not getattr(kind, "shared", False):
        return plainly(value)
    return cache.load(kind, value, plainly)
