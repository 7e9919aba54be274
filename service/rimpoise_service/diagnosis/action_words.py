"""Actions and causes as what a technician reads: codes, values for the sentences, pieces and places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..messages.message import Message, message
from ..model.device import Called, called
from ..model.wheel import SIDES
from ..physics.planes import MIN_PLANE_DISTANCE_MM
from ..physics.unbalance import PointMass, signed_deg
from ..planning.fitting_steps import as_called
from .added_weights import AddedWeight
from .fault_models import Cause, FittedCause
from .spin_actions import ActionCode, Candidate, Ranked
from .spin_comparison import SpinComparison

TOGETHER: frozenset[Cause] = frozenset({"all_turned", "all_on_heavy_side", "all_mirrored", "planes_swapped"})

NOTHING_CHANGES: frozenset[ActionCode] = frozenset(
    {"spin_again", "centre_again", "check_plane_distance", "check_mode", "take_off_old"}
)


@dataclass(frozen=True, slots=True)
class Move:
    """A fitted piece, by its index, to be taken off; a new one of its mass goes to this place [mm], [deg]."""

    piece: int
    position_mm: float
    radius_mm: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do at the wheel, the effort [min] expected after it and the probability that it then passes.

    removes: pieces, by index, that are taken off; spin_again: the weights stay as they are. says: what to do;
    called: where each new weight goes, those that move first, if the balancer has words of its own;
    says_as_called: the same as messages.
    """

    code: ActionCode
    says: Message
    moves: tuple[Move, ...]
    adds: tuple[AddedWeight, ...]
    removes: tuple[int, ...]
    effort_min: float
    pass_chance_pct: float
    called: tuple[Called, ...] = ()
    says_as_called: tuple[Message, ...] = ()

    @property
    def spin_again(self) -> bool:
        """Whether it is spun again with the weights as they are."""
        return self.code in NOTHING_CHANGES


def action_of(seen: SpinComparison, ranked: Ranked) -> Action:
    """A ranked candidate in words. What is renewed has the wrong mass or is missing: it comes off and on again."""
    c, moves, adds = ranked.candidate, [], list(ranked.candidate.adds)
    removes = list(c.removed)
    for k in c.renewed:
        p = seen.fitted[k]
        if c.code == "move":
            moves.append(Move(k, p.position_mm, p.radius_mm, p.angle_deg))
        else:
            removes.append(k)
            adds.append(AddedWeight(p.position_mm, p.radius_mm, p.mass_g, p.angle_deg, p.style, p.sku))
    chance = 100 * ranked.probability
    found = Action(c.code, _said(seen, c), tuple(moves), tuple(adds), tuple(removes), ranked.effort_min, chance)
    dialect = seen.spin.dialect
    if dialect is None:
        return found
    new: list[PointMass | AddedWeight] = [*(seen.fitted[m.piece] for m in moves), *adds]
    words = tuple(called(dialect, w.mass_g, w.angle_deg, w.position_mm, w.radius_mm) for w in new)
    return replace(
        found, called=words, says_as_called=tuple(m for each in words for m in as_called(each, dialect))
    )


def _said(seen: SpinComparison, c: Candidate) -> Message:
    if c.code == "add":
        return _said_of_adding(seen, c)
    if c.code in ("move", "renew", "take_off"):
        return _said_of_pieces(seen, c)
    if c.hypothesis is None:
        return message(c.code)
    cause = next(x for x in c.hypothesis.causes if x.piece is None)
    if cause.cause == "shown_zero":
        return message("check_fine_display")
    if cause.cause == "old_weights_left":
        return message("take_off_all_old")
    if cause.cause == "rim_distance":
        return message("check_rim_distance", **_values(seen, cause))
    if cause.cause == "one_size_wrong":
        return message("check_one_size", **_values(seen, cause))
    return message(c.code, **_values(seen, cause))


def _said_of_pieces(seen: SpinComparison, c: Candidate) -> Message:
    """By what is wrong with them, if that is one thing."""
    pieces = (*c.renewed, *c.removed)
    if c.hypothesis is not None and len(c.hypothesis.causes) == 1 and (c.code == "move" or len(pieces) == 1):
        return _said_of_cause(seen, c, c.hypothesis.causes[0])
    if len(pieces) == 1:
        p = c.adds[0] if c.adds else seen.fitted[pieces[0]]
        code = "take_off" if c.code == "take_off" else "renew_one"
        return message(code, number=pieces[0] + 1, mass_g=p.mass_g, angle_deg=p.angle_deg)
    return _said_of_several(c, pieces)


def _said_of_cause(seen: SpinComparison, c: Candidate, cause: FittedCause) -> Message:
    """Of one cause: back to where it was planned, or to where the readings ask for it now."""
    if c.code == "move" and cause.cause in TOGETHER:
        return message(f"move_{cause.cause}", **_values(seen, cause))
    (k,) = (*c.renewed, *c.removed)
    p = c.adds[0] if c.adds else seen.fitted[k]
    if cause.cause in ("piece_shifted", "piece_mirrored"):
        return message("move_one", **_values(seen, cause) | _off(p, cause.seat) | {"mass_g": p.mass_g})
    if c.code == "move":
        return message("move_to_other_plane", **_values(seen, cause))
    return message("renew_one", number=k + 1, mass_g=p.mass_g, angle_deg=p.angle_deg)


def _said_of_several(c: Candidate, pieces: Sequence[int]) -> Message:
    numbers = tuple(k + 1 for k in pieces)
    if not c.adds:
        return message("renew_several", numbers=numbers)
    return message(
        "renew_by_readings",
        numbers=numbers,
        masses_g=tuple(w.mass_g for w in c.adds),
        angles_deg=tuple(w.angle_deg for w in c.adds),
    )


def _said_of_adding(seen: SpinComparison, c: Candidate) -> Message:
    """Where each goes: on which side of the wheel, and in the plane of which weight, if one is there."""
    values: dict[str, object] = {}
    for n, w in enumerate(c.adds):
        end = "" if len(c.adds) == 1 else f"_{n + 1}"
        values |= {f"mass_g{end}": w.mass_g, f"angle_deg{end}": w.angle_deg}
        values |= {f"{name}{end}": value for name, value in _place_of(seen, w).items()}
    return message("add_one" if len(c.adds) == 1 else "add_two", **values)


def _place_of(seen: SpinComparison, w: AddedWeight) -> dict[str, object]:
    found: dict[str, object] = {}
    if len(seen.planes) == len(SIDES):
        inner_first = sorted(seen.planes, key=lambda p: p.position_mm)
        nearest = min(range(len(SIDES)), key=lambda k: abs(inner_first[k].position_mm - w.position_mm))
        found["side"] = SIDES[nearest]
    beside = [
        k for k, p in enumerate(seen.fitted, 1) if abs(p.position_mm - w.position_mm) < MIN_PLANE_DISTANCE_MM
    ]
    return found | ({"number": beside[0]} if beside else {})


def cause_in_words(fitted: Sequence[PointMass], cause: FittedCause) -> Message:
    """What seems to have happened."""
    return message(cause.cause, **_piece_values(fitted, cause) | _size_values(cause))


def _values(seen: SpinComparison, cause: FittedCause) -> dict[str, object]:
    found = {"seen": "from_outside"} | _piece_values(seen.fitted, cause) | _size_values(cause)
    if cause.cause == "plane_distance" and cause.size is not None:
        a, b = (p.position_mm for p in seen.planes)
        found |= {"right_mm": abs(a - b), "entered_mm": abs(a - b) + cause.size}
    return found


def _piece_values(fitted: Sequence[PointMass], cause: FittedCause) -> dict[str, object]:
    """A piece's number, mass and place, and how far its seat is from there, seen from outboard; or two numbers."""
    if cause.cause == "masses_swapped":
        return {"numbers": tuple(k + 1 for k in cause.pieces)}
    if cause.piece is None or cause.seat is None:
        return {}
    planned, seat = fitted[cause.piece], cause.seat
    return {
        "number": cause.piece + 1,
        "mass_g": planned.mass_g,
        "seat_deg": seat.angle_deg,
        "planned_position_mm": planned.position_mm,
        "seat_position_mm": seat.position_mm,
        **_off(planned, seat),
    }


def _off(planned: PointMass | AddedWeight, seat: PointMass | None) -> dict[str, object]:
    """Where it belongs, and how far from there it seems to sit, seen from outboard."""
    if seat is None:
        return {}
    off = signed_deg(seat.angle_deg - planned.angle_deg)
    return {
        "planned_deg": planned.angle_deg,
        "off_deg": abs(off),
        "off_mm": abs(math.radians(off)) * planned.radius_mm,
        "back": "counterclockwise" if off > 0 else "clockwise",
    }


def _size_values(cause: FittedCause) -> dict[str, object]:
    """A size with its unit in its name, and its sense."""
    if cause.size is None or cause.size_unit is None:
        return {}
    outward = "outboard" if cause.size > 0 else "inboard"
    side = outward if cause.cause == "rim_distance" else cause.side
    return ({"side": side} if side else {}) | {
        f"size_{cause.size_unit}": abs(cause.size),
        "sense": "clockwise" if cause.size > 0 else "counterclockwise",
        "seen": "from_outside",
        "more": "more" if cause.size > 0 else "less",
        "off": "over" if cause.size > 0 else "under",
        "direction_deg": cause.angle_deg,
    }
