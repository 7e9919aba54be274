"""Invented traces of run-out, and what is read off their judgement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from rimpoise_service.diagnosis.run_out import judge_run_out
from rimpoise_service.diagnosis.run_out_limits import Direction, Part
from rimpoise_service.diagnosis.run_out_models import (
    RunOut,
    RunOutRequest,
    Trace,
)
from rimpoise_service.physics.arrays import Floats
from rimpoise_service.physics.planes import Plane

Harmonics = Sequence[tuple[int, float, float]]

EVEN: Floats = np.arange(0.0, 360.0, 30.0)
FINE: Floats = np.arange(0.0, 360.0, 10.0)
PLANES = (Plane("inboard", -134, 218), Plane("outboard", 44, 218))


def wave(angles: Floats, parts: Harmonics) -> Floats:
    found = np.zeros_like(angles)
    for k, amplitude, high in parts:
        found = found + amplitude * np.cos(k * np.radians(angles - high))
    return found


def trace(
    part: Part, *parts: tuple[int, float, float], direction: Direction = "radial", at: Floats = EVEN
) -> Trace:
    return Trace(direction, part, tuple(at.tolist()), tuple(wave(at, parts).tolist()))


def with_jump(reported: Trace, index: int, by: float) -> Trace:
    readings = [*reported.reading_mm]
    readings[index] += by
    return replace(reported, reading_mm=tuple(readings))


def codes(found: RunOut) -> list[str]:
    return [f.code for f in found.findings]


def judged(*traces: Trace, **known: object) -> RunOut:
    return judge_run_out(RunOutRequest(traces, **known))  # type: ignore[arg-type]


WHOLE = trace("assembly", (1, 0.9, 40), (2, 0.1, 0))
