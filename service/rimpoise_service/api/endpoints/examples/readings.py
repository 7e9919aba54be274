"""Readings as requests state them, from their numbers."""

from __future__ import annotations

from typing import Any

Called = tuple[float, float, float, float]
"""In one plane: position [mm], radius [mm], mass [g] and angle [deg]."""


def _plane(called: Called) -> dict[str, Any]:
    fields = ("position_mm", "radius_mm", "mass_g", "angle_deg")
    return {"kind": "position", **dict(zip(fields, called, strict=True))}


def static(called: Called) -> dict[str, Any]:
    """A static reading."""
    return {"kind": "static", "plane": _plane(called)}


def two_plane(inboard: Called, outboard: Called) -> dict[str, Any]:
    """A reading of two planes."""
    return {"kind": "two_plane", "planes": [_plane(inboard), _plane(outboard)]}
