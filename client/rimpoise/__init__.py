"""rimpoise, the client: a wheel's measured imbalance goes in, the weights to fit come back.

    from rimpoise import BuiltinStock, Client, Flange, Flanges, PlanRequest, PointMass, Wheel, two_plane

    lip = Flange(thickness_mm=3.2)
    wheel = Wheel("alloy", "factory", "car", flanges=Flanges(lip, lip), rim_size="7Jx17", offset_mm=45)
    reading = two_plane(PointMass(-134, 212, 35, 62), PointMass(44, 212, 20, 198))
    with Client("http://localhost:8080") as client:
        plan = client.plan(PlanRequest(reading, wheel, BuiltinStock("metric")))

Masses in g, lengths in mm, angles in degrees clockwise as seen from outboard; ``ounces``, ``pounds`` and
``inches`` convert. All exceptions are ``RimpoiseError``; the tree is drawn in ``rimpoise.errors``.

A module is imported when one of its names is first asked for (Scientific Python's SPEC 1, "Lazy loading"): making
a hundred dataclasses takes as long as importing requests. ``__init__.pyi`` lists the names.
"""

import re
from importlib import import_module
from pathlib import Path

_STUB = Path(__file__).with_suffix(".pyi").read_text(encoding="utf-8")
_MODULE_OF = {name: module for module, name in re.findall(r"^from (\S+) import (\w+) as \2$", _STUB, re.MULTILINE)}
__all__ = sorted(_MODULE_OF.keys() - {"AsyncClient"})  # it needs httpx, which not everybody has


def __getattr__(name: str) -> object:
    """What a public name stands for, from then on an attribute like any other. Raises AttributeError."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = globals()[name] = getattr(import_module(_MODULE_OF[name], __name__), name)
    return value


def __dir__() -> list[str]:
    return sorted(_MODULE_OF)
