"""The cited worked cases of ``cases/``: a name, where the numbers come from, and how exact the source is.

``seen`` is ``read`` (the text, or a public transcription of it), ``memory``, or ``derived`` (in a line, from
first principles). The inputs of ``corrections.json`` are request bodies of ``POST /v1/corrections``, so that
the same case can be sent through the service.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.readings import PointMasses, Reading, StaticCouple
from rimpoise_service.physics.unbalance import PointMass, polar

CASES = Path(__file__).parent / "cases"


@dataclass(frozen=True)
class Case:
    """One worked case; tolerance and units are the source's own."""

    name: str
    source: str
    page: str
    seen: Literal["read", "memory", "derived"]
    tolerance: dict[str, float]
    inputs: dict[str, Any]
    expected: dict[str, Any]
    scale: str = ""

    def __str__(self) -> str:
        return self.name


def cases(kind: str) -> list[Case]:
    """All cases of a file."""
    return [Case(**case) for case in json.loads((CASES / f"{kind}.json").read_text("utf-8"))]


def table(kind: str, name: str) -> tuple[dict[str, float], float]:
    """A table of a file and its tolerance [mm]."""
    found = json.loads((CASES / f"{kind}.json").read_text("utf-8"))[name]
    return found["expected"], found["tolerance"]["abs_mm"]


def reading_of(body: dict[str, Any]) -> Reading:
    """The reading of a request body, for the kinds that the cases use."""
    if body["kind"] == "point_masses":
        return PointMasses(tuple(PointMass(**m) for m in body["masses"]))
    assert body["kind"] == "static_couple"
    return StaticCouple(
        body["position_mm"],
        polar(body["static_gmm"], body["static_angle_deg"]),
        polar(body["couple_gmm2"], body["couple_angle_deg"]),
        body["reports"],
    )


def planes_of(body: list[dict[str, Any]]) -> list[Plane]:
    """The planes of a request body."""
    return [Plane(**p) for p in body]
