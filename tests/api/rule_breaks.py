"""How a rule is broken: the worked example, the change, and what is then said at which place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

CORRECTIONS = ("/v1/corrections", "computeCorrections", "move_inboard")
PLANS = ("/v1/plans", "planFitting", "own_stock")
STYLES = ("/v1/style-choices", "chooseStyles", "alloy")
GRADE = ("/v1/plans", "planFitting", "by_grade")
TRIALS = ("/v1/trial-runs", "evaluateTrialRuns", "two_planes")
SPEEDS = ("/v1/trial-runs", "evaluateTrialRuns", "two_speeds")
FOUR_RUNS = ("/v1/trial-runs", "evaluateTrialRuns", "four_runs")
HALF_TURN = ("/v1/centring-checks", "checkCentring", "half_turn")
MACHINE = ("/v1/centring-checks", "checkCentring", "machine")
TOLERANCES = ("/v1/tolerances", "computeTolerances", "rotor")
SPLITS = ("/v1/splits", "splitBehindSpokes", "windows")
STEPS = ("/v1/roundings", "roundToStock", "steps")
DEMAND = ("/v1/demand", "forecastDemand", "fine_strip")
CHARGES = ("/v1/charges", "computeCharges", "four_wheels")
DRAWINGS = ("/v1/drawings", "drawPlan", "plan_request")
ANSWERED = ("/v1/drawings", "drawPlan", "answer_and_wheel")
MASSES = ("/v1/roundings", "roundToStock", "masses")
SPINS = ("/v1/check-spins", "explainCheckSpin", "shifted")
COUPLES = ("/v1/check-spins", "explainCheckSpin", "couple")
TURNS = ("/v1/tyre-turns", "weighTyreTurn", "half_turn")
VEHICLE = ("/v1/vehicles", "finishVehicle", "front_axle")
RUN_OUT = ("/v1/run-outs", "judgeRunOut", "turn")
SHEET = ("/v1/run-outs/sheet", "printRunOut", "hub")
SPREADS = ("/v1/spreads", "estimateSpreads", "history")
STATIC = {
    "kind": "static",
    "plane": {"kind": "position", "position_mm": 0, "radius_mm": 200, "mass_g": 5, "angle_deg": 0},
}
BRIEF = {"kind": "planned", "place": "inner land", "style": "adhesive", "sku": "A-1", "mass_g": 10, "segments": 2}
BRIEF |= {"position_mm": -90, "radius_mm": 190, "angle_deg": 40}
PLANE = {"name": "a", "position_mm": 0, "radius_mm": 200}
OLD = {"position_mm": 0, "radius_mm": 200, "mass_g": 10, "angle_deg": 0}
FLANGE = {"present": True, "thickness_mm": 3.2}
WHEEL = {"rim_size": "7Jx17 ET45", "material": "alloy", "origin": "factory", "vehicle_class": "car"}


class Case(NamedTuple):
    """How to break a rule: on which example, by which change; where it is reported, and in which words."""

    rule: str
    example: tuple[str, str, str]
    change: Callable[[Any], object]
    pointer: str
    said: str


def put(*path_and_value: Any) -> Callable[[Any], object]:
    """The change that puts a value at a path."""
    *path, last, value = path_and_value

    def change(body: Any) -> None:
        for step in path:
            body = body[step]
        body[last] = value

    return change


def append_copy(*path: Any, **changes: Any) -> Callable[[Any], object]:
    """The change that appends a changed copy of a list's first item."""

    def change(body: Any) -> None:
        for step in path:
            body = body[step]
        body.append(body[0] | changes)

    return change


def one_sensor(body: Any) -> None:
    """The change that takes the second sensor out of two."""
    for responses in (body["initial"], *(trial["responses"] for trial in body["trials"])):
        del responses[1]


def without_pieces(body: Any) -> None:
    """The change that draws an alternative of a plan that was reported with standard detail."""
    alternative = body["plan"]["recommended"] | {"name": "the other one"}
    del alternative["pieces"]
    body["plan"]["alternatives"] = [alternative]
    body["layout"] = "the other one"


def at_places(*places: str) -> Callable[[Any], object]:
    """The change that reads at places of the wheel."""

    def change(body: Any) -> None:
        planes = [{"kind": "at", "place": place, "mass_g": 20, "angle_deg": 40} for place in places]
        body["reading"] = {"kind": "two_plane", "planes": planes}

    return change


DIALLED = {"kind": "dialled", "distance": 104, "width": 7, "inboard_size": 17.2, "outboard_size": 17.2}
DIALLED |= {"tied": {"kind": "inboard_is", "place": "inboard_flange"}}
SHOWN = {"inboard": {"mass": 35, "angle": 80}, "outboard": {"mass": 25, "angle": 255}}


def machine(shown: dict[str, Any], set_to: dict[str, Any]) -> Callable[[Any], object]:
    """The change that reads in a balancer's words."""
    return put("reading", {"kind": "machine", "shown": {"kind": "planes", **SHOWN} | shown, "set_to": set_to})
