"""Worked requests of many plans, all data invented."""

from __future__ import annotations

import json
from typing import Any

from ...http.endpoint import Example
from .plans import ALLOY_WHEEL, STEEL_WHEEL, TWO_PLANE
from .plans import EXAMPLES as SINGLE

VALVE = {"place": "middle land", "from_deg": 352, "to_deg": 8, "reason": "valve"}


def _plan(wheel: dict[str, Any], inboard_g: float, reference: str) -> dict[str, Any]:
    inboard, outboard = TWO_PLANE["planes"]
    reading = TWO_PLANE | {"planes": [inboard | {"mass_g": inboard_g}, outboard]}
    return {
        "reading": reading,
        "wheel": wheel,
        "stock": {"kind": "builtin", "name": "metric"},
        "reference": reference,
    }


PLANS = [
    _plan(ALLOY_WHEEL, 38, "wheel 1"),
    _plan(STEEL_WHEEL | {"keep_out": [VALVE]}, 20, "wheel 2"),
    _plan(STEEL_WHEEL, 12.5, "wheel 3"),
]
BENT = SINGLE["planFitting"]["repair_first"].body
SHOWS = "Three wheels, one of them with a keep-out at no place: it gets its problem, the others their plans"

EXAMPLES: dict[str, dict[str, Example]] = {
    "planBatch": {
        "three_wheels": Example(SHOWS, {"plans": PLANS}),
        "repair_first": Example("One wheel that is bent, so that no weight helps", {"plans": [BENT]}),
    },
    "planStream": {"three_wheels": Example(SHOWS, "".join(f"{json.dumps(plan)}\n" for plan in PLANS))},
}
