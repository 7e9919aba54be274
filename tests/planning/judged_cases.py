"""The trade's judgement as data: ``cases/judged.json``, read into requests and predicates.

A case is {name, source, why, request, accepted, refused}. All predicates of ``accepted`` must hold of the answer;
of each set in ``refused`` at least one must not. A request names one of the wheels below and says what is called:
{"called": {side: [g, deg]}} at its planes, {"planes": [[mm, mm, g, deg]]}, {"static": [g, deg]} or, for one split,
{"split": [g, deg]}; the rest is optional (`plan_request` and `_stock` read it).
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.geometry import flange_geometry
from rimpoise_service.model.stock import BUILTIN, ClipOn, Stock, Strip
from rimpoise_service.model.wheel import SIDES, Flange, KeepOut, Land, Wheel, even_spokes
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.readings import Reading, Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, polar
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import Plan, PlanRequest, Preferences
from rimpoise_service.planning.strip_split import SplitRequest, split

CASES = Path(__file__).parents[1] / "cases" / "judged.json"
LIP, NO_LIP = Flange(True, thickness_mm=3.2), Flange(False)
ALLOY = Wheel("alloy", "aftermarket", "car", "7Jx17 ET45", None, LIP, LIP)
INNER = Land("inner land", "inboard", -110, 200, 40, False, False)
OUTER = Land("outer land", "outboard", 20, 200, 40, False, False)
FACE = Land("face land", "outboard", 20, 200, 40, True, True)
WHEELS: dict[str, Wheel] = {
    "alloy17": ALLOY,
    "wide19": replace(ALLOY, rim_size="9Jx19 ET30"),
    "steel15": replace(ALLOY, material="steel", rim_size="6Jx15 ET40"),
    "ounce15": replace(ALLOY, material="steel", rim_size="6Jx15 ET40"),
    "van16": replace(ALLOY, material="steel", vehicle_class="van", rim_size="6.5Jx16 ET60"),
    "trailer13": replace(ALLOY, material="steel", vehicle_class="trailer", rim_size="4.5Jx13 ET30"),
    "truck22": replace(
        ALLOY, material="steel", vehicle_class="heavy_truck", rim_size="22.5x8.25", offset_mm=150.0
    ),
    "drive22": replace(
        ALLOY, material="steel", vehicle_class="heavy_truck", rim_size="22.5x8.25", offset_mm=150.0, axle="other"
    ),
    "motorcycle": Wheel(
        "alloy",
        "factory",
        "motorcycle",
        inboard=NO_LIP,
        outboard=NO_LIP,
        lands=(Land("rim centre", "inboard", 0, 200, 30, False, True),),
    ),
    "wire18": Wheel("steel", "factory", "motorcycle", rim_size="MT2.15x18", wire_spokes=True),
    "one_lip": replace(ALLOY, outboard=NO_LIP),
    "one_land": replace(ALLOY, inboard=NO_LIP, outboard=NO_LIP, lands=(FACE,)),
    "two_lands": replace(ALLOY, inboard=NO_LIP, outboard=NO_LIP, lands=(INNER, OUTER)),
    "hidden_strips": replace(ALLOY, inboard=NO_LIP, outboard=NO_LIP, lands=(INNER, FACE)),
    "clip_and_strip": replace(ALLOY, lands=(replace(INNER, position_mm=-40), FACE)),
}
PLACES = {"one_land": "face land", "two_lands": "outer land", "hidden_strips": "face land"}
"""Where the outer side of a wheel without lips is read; the inner side at its inner land, or at the lip."""


@dataclass(frozen=True)
class Fitted:
    """A piece as a technician sees it: mass_g [g], its middle and what it covers [deg], its effect [g·mm]."""

    place: str
    mass_g: float
    angle_deg: float
    arc_deg: float
    effect: complex
    window: str | None
    hidden: bool


@dataclass(frozen=True)
class Outcome:
    """What was answered, as far as cases speak of it; codes: of warnings, steps and reasons."""

    decision: str
    pieces: tuple[Fitted, ...]
    chance: float | None = None
    codes: frozenset[str] = frozenset()

    def at(self, place: str) -> list[Fitted]:
        """The pieces of a place, clockwise."""
        return sorted((p for p in self.pieces if p.place == place), key=lambda p: p.angle_deg)


@dataclass(frozen=True)
class JudgedCase:
    """One case of the file."""

    name: str
    source: str
    why: str
    request: dict[str, Any]
    accepted: dict[str, Any]
    refused: list[dict[str, Any]]

    def __str__(self) -> str:
        return self.name


def cases() -> list[JudgedCase]:
    """All of them."""
    return [JudgedCase(**case) for case in json.loads(CASES.read_text("utf-8"))]


def plan_request(body: dict[str, Any]) -> PlanRequest:
    """The request of a case."""
    wheel = _wheel(body)
    limit = body.get("limit_g")
    return PlanRequest(
        reading=_reading(body, wheel),
        wheel=wheel,
        stock=_stock(body),
        preferences=Preferences(
            appearance=body.get("wish", "no_preference"), max_pieces_per_plane=body.get("max_pieces", 2)
        ),
        acceptance=None if limit is None else Acceptance(limit, limit),
        inspection=tuple(body.get("inspection", ())),
    )


def split_outcome(body: dict[str, Any]) -> Outcome:
    """What a split of a case comes to, at a land of 200 mm."""
    mass_g, angle_deg = body["split"]
    target = PlaneVector(Plane("called", 0.0, 200.0), polar(mass_g * 200.0, angle_deg))
    more = {"within_g": body["within_g"]} if "within_g" in body else {}
    found = split(SplitRequest(target, 200.0, _spokes(body), _strip(body), **more))
    pieces = (
        Fitted("land", p.mass_g, p.angle_deg, p.arc_deg, polar(p.mass_g, p.angle_deg), p.window, True)
        for p in found.pieces
    )
    return Outcome("split" if found.proven_optimal else "not proven", tuple(pieces))


def outcome_of(plan: Plan) -> Outcome:
    """A plan as cases speak of it."""
    layout = plan.recommended
    said = (*plan.warnings, *plan.next_steps, *getattr(plan, "reasons", ()), *(layout.notes if layout else ()))
    pieces = (
        Fitted(p.place, p.mass_g, p.angle_deg, p.arc_deg, p.unbalance.static, p.window, p.hidden)
        for p in (layout.pieces if layout else ())
    )
    chance = layout.pass_chance_pct if layout else None
    return Outcome(str(plan.decision), tuple(pieces), chance, frozenset(m.code for m in said))


def holds(outcome: Outcome, predicates: dict[str, Any]) -> list[str]:
    """The predicates that do not hold."""
    return [name for name, value in predicates.items() if not PREDICATES[name](outcome, value)]


def _spokes(body: dict[str, Any]) -> tuple[Arc, ...]:
    if "windows" in body:
        return tuple(Arc.centred(centre, width, name) for name, centre, width in body["windows"])
    return even_spokes(**body["spokes"]) if "spokes" in body else ()


def _wheel(body: dict[str, Any]) -> Wheel:
    off = (KeepOut(place, Arc.between(a, b), "valve") for place, a, b in body.get("keep_out", ()))
    return replace(WHEELS[body.get("wheel", "alloy17")], spokes=_spokes(body), keep_out=tuple(off))


def _plane(wheel: Wheel, name: str, side: Any) -> tuple[float, float]:
    """Where that side is read [mm]."""
    if name in PLACES and wheel.lands:
        land = next((x for x in wheel.lands if x.side == side), None)
        if land is not None:
            return land.position_mm, land.radius_mm
    where = flange_geometry(wheel, side)
    assert where.position_mm is not None
    assert where.radius_mm is not None
    return where.position_mm, where.radius_mm


def _reading(body: dict[str, Any], wheel: Wheel) -> Reading:
    if "static" in body:
        land = wheel.lands[0] if wheel.lands else None
        position = land.position_mm if land else -45.0
        return Static(PointMass(position, land.radius_mm if land else 218.3, *body["static"]))
    if "planes" in body:
        inner, outer = (PointMass(*plane) for plane in body["planes"])
        return TwoPlane((inner, outer))
    name = body.get("wheel", "alloy17")
    inner, outer = (PointMass(*_plane(wheel, name, side), *body["called"][side]) for side in SIDES)
    return TwoPlane((inner, outer))


def _strip(body: dict[str, Any]) -> Strip:
    return Strip("S", "steel", body.get("segment_g", 5.0), 16.0, 19.0, 3.6, 12)


def _stock(body: dict[str, Any]) -> Stock:
    """Clip-ons in steps of 5 g, or of the masses said, as long as zinc ones are; one strip. Or a built-in set."""
    if body.get("wheel") == "ounce15":
        return BUILTIN["ounce"]
    if "builtin" in body:
        return BUILTIN[body["builtin"]]
    left = body.get("on_hand", {})
    clips = (
        ClipOn(f"C-{m}", float(m), "zinc", length_mm=15 + 1.2 * m, height_mm=11.0, on_hand=left.get(str(m)))
        for m in body.get("clips", range(5, 65, 5))
    )
    narrow = {"segment_g": 2.5} | body if body.get("wheel") == "motorcycle" else body
    return Stock(tuple(clips), (_strip(narrow),))


def _near(angle_deg: float, called_deg: float, room_deg: float) -> bool:
    return abs(math.remainder(angle_deg - called_deg, 360.0)) <= room_deg + 1e-6


def _masses(outcome: Outcome, wanted: dict[str, Sequence[float]]) -> bool:
    """Exactly these masses at exactly these places."""
    found = {p.place for p in outcome.pieces}
    return found == set(wanted) and all(
        len(outcome.at(place)) == len(masses)
        and all(
            math.isclose(a, b, abs_tol=0.01)
            for a, b in zip(sorted(p.mass_g for p in outcome.at(place)), sorted(masses), strict=True)
        )
        for place, masses in wanted.items()
    )


def _behind(outcome: Outcome, wanted: dict[str, float]) -> bool:
    found: dict[str | None, float] = {}
    for p in outcome.pieces:
        found[p.window] = found.get(p.window, 0.0) + p.mass_g
    return found == wanted


def _touching(outcome: Outcome, place: str) -> bool:
    here = outcome.at(place)
    if len(here) != 2:
        return False
    one, other = here
    apart = abs(math.remainder(one.angle_deg - other.angle_deg, 360.0))
    return math.isclose(apart, (one.arc_deg + other.arc_deg) / 2, abs_tol=0.01)


def _joint(outcome: Outcome, wanted: dict[str, tuple[float, float]]) -> bool:
    """The centre of mass of all pieces of a place points there."""
    joint = {place: sum(p.effect for p in outcome.at(place)) for place in wanted}
    return all(
        _near(math.degrees(math.atan2(joint[place].imag, joint[place].real)), *spot)
        for place, spot in wanted.items()
    )


PREDICATES: dict[str, Callable[[Outcome, Any], bool]] = {
    "any": lambda o, sets: any(not holds(o, predicates) for predicates in sets),
    "decision": lambda o, words: o.decision in words,
    "pieces": lambda o, span: span[0] <= len(o.pieces) <= span[1],
    "mass": lambda o, span: span[0] <= sum(p.mass_g for p in o.pieces) <= span[1],
    "masses": _masses,
    "masses_below": lambda o, most: all(sum(p.mass_g for p in o.at(at)) <= g for at, g in most.items()),
    "place": lambda o, place: bool(o.at(place)),
    "angles": lambda o, at: all(_near(p.angle_deg, *at[place]) for place in at for p in o.at(place)),
    "within_deg": lambda o, at: all(_near(p.angle_deg, *at[place]) for place in at for p in o.at(place)),
    "joint_angle": _joint,
    "touching": _touching,
    "behind": _behind,
    "visible": lambda o, count: sum(not p.hidden for p in o.pieces) == count,
    "chance": lambda o, span: o.chance is not None and span[0] <= o.chance <= span[1],
    "warns": lambda o, code: code in o.codes,
    "step": lambda o, code: code in o.codes,
    "reason": lambda o, code: code in o.codes,
}
"""What a case may say of an answer: masses [g], angles and their room [deg], the chance [%], codes."""
