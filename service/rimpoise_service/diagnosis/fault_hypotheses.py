"""The causes that a failed check spin can have, each fitted to what was measured.

Every cause says what the after-reading has more than was expected. Its free sizes, how they were spread beforehand
and how often it happens in failing wheels beside nothing at all (common practice, no source), are:

- ``piece_shifted`` by x: the piece's vector was turned, x about 0 with a spread of 45°
- ``piece_light``, ``piece_heavy`` by m: a vector along the piece, up to the piece's own mass; heavy up to 20 g
- ``piece_lost``: nothing of the piece is there
- ``piece_on_other_plane``: the same mass and angle at the place of the pieces of the other side
- ``piece_mirrored``: the angle θ read from the wrong side, so at −θ
- ``all_turned`` by x: every piece turned by one angle, any angle alike; ``all_on_heavy_side``: by half a turn;
  ``all_mirrored``: every angle read from the wrong side
- ``planes_swapped``: every piece on the other side's place
- ``masses_swapped``: two pieces of one style were taken for each other, each has the other's mass
- ``plane_distance``, ``rim_distance``, ``size_or_mode_wrong``, ``one_size_wrong``: as ``dialled_faults`` has them
- ``shown_zero``: a 0 in the reading before, of a plane, a static mass or a couple, was up to what the display
  hides: any vector, half of that in each component, 2.5 g where it isn't known
- ``old_weight_left``, ``old_weights_left``: one of the old weights named with the reading before, or all of them,
  are still on; or were off when it was read. Only if the reading after names none
- ``centring``: the wheel was clamped off centre between the readings: a static vector, mass times e, halfway
  between the planes, about 0 with 10 g in each component (0.1 mm for a 20 kg wheel). Only if it was clamped
  again
- ``as_planned``: nothing but the errors of machine and hands

A static reading says nothing of planes: causes about other planes, swapped planes and distances are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from ..physics.arrays import Floats
from ..physics.model_comparison import any_vector, between, exactly, turned
from ..physics.planes import Plane
from ..physics.readings import shown_zeros
from ..physics.unbalance import PointMass, Unbalance, angle_deg, polar, wrap_deg
from .dialled_faults import dialled_wrong
from .fault_models import (
    NOTHING_G,
    RECLAMPED_TIMES,
    Cause,
    CauseModel,
    Effect,
    Fitted,
    FittedCause,
    as_point,
    exact_cause,
    known_cause,
    model_of,
)
from .spin_comparison import SpinComparison

SHIFT_SPREAD_DEG, ANY_TURN_DEG = 45.0, 180.0
HEAVY_UP_TO_G = 20.0
HIDDEN_SPREAD_G = 2.5
CENTRING_SPREAD_G = 10.0


def single_causes(seen: SpinComparison) -> Iterator[CauseModel]:
    """Every cause that the readings can say something about."""
    yield model_of(seen, "as_planned", None, lambda y: (exactly(y), FittedCause("as_planned"), (), ()))
    real = [(k, p) for k, p in enumerate(seen.fitted) if p.mass_g >= NOTHING_G]
    for k, _ in real:
        yield from _of_one_piece(seen, k)
    if not seen.static and real:
        yield from _of_places(seen)
    if real:
        yield from _of_all_pieces(seen)
        yield from dialled_wrong(seen)
    yield from _hidden(seen)
    yield from _left_on(seen)
    if seen.spin.reclamped != "no":
        yield _centring(seen)


def _of_one_piece(seen: SpinComparison, k: int) -> Iterator[CauseModel]:
    yield _shifted(seen, k)
    yield _by_mass(seen, k, "piece_light", -1, seen.fitted[k].mass_g)
    yield _by_mass(seen, k, "piece_heavy", 1, max(seen.fitted[k].mass_g, HEAVY_UP_TO_G))
    yield exact_cause(seen, "piece_lost", {k: as_point(seen, k, mass_g=0.0)}, k)
    if seen.fitted[k].vector.imag:
        yield exact_cause(seen, "piece_mirrored", {k: _mirrored(seen, k)}, k)


def _mirrored(seen: SpinComparison, k: int) -> PointMass:
    return as_point(seen, k, angle_deg=wrap_deg(-seen.fitted[k].angle_deg))


def _shifted(seen: SpinComparison, k: int) -> CauseModel:
    piece, spread = seen.fitted[k], math.radians(SHIFT_SPREAD_DEG)
    own, across = _whitened_right_angle(seen, Unbalance.of([piece]))

    def fit(y: Floats) -> Fitted:
        found = turned(y, own, across, spread)
        shift = math.degrees(found.size.real)
        seat = as_point(seen, k, angle_deg=wrap_deg(piece.angle_deg + shift))
        what = FittedCause("piece_shifted", k, shift, "deg", seat)
        return found, what, (_turned_effect(seen, k, shift),), (spread,)

    return model_of(seen, "piece_shifted", k, fit)


def _whitened_right_angle(seen: SpinComparison, unbalance: Unbalance) -> tuple[Floats, Floats]:
    """An unbalance and the same a quarter of a turn on, whitened."""
    return seen.whitening(unbalance), seen.whitening(Unbalance(1j * unbalance.static, 1j * unbalance.moment))


def _turned_effect(seen: SpinComparison, k: int, by_deg: float) -> Effect:
    piece = seen.fitted[k]
    now = piece.vector * polar(1, by_deg)
    slope = Unbalance.at(piece.position_mm, 1j * now)
    return Effect(k, Unbalance.at(piece.position_mm, now - piece.vector), (slope,))


def _by_mass(seen: SpinComparison, k: int, cause: Cause, sign: int, longest: float) -> CauseModel:
    piece = seen.fitted[k]
    gram = Unbalance.at(piece.position_mm, sign * piece.vector / piece.mass_g)
    direction = seen.whitening(gram)

    def fit(y: Floats) -> Fitted | None:
        found = between(y, direction, longest)
        size = found.size.real
        if size <= 0:
            return None
        seat = as_point(seen, k, mass_g=piece.mass_g + sign * size)
        effect = Effect(k, Unbalance(gram.static * size, gram.moment * size), (gram,))
        return found, FittedCause(cause, k, size, "g", seat), (effect,), (longest / math.sqrt(12),)

    return model_of(seen, cause, k, fit)


def _of_places(seen: SpinComparison) -> Iterator[CauseModel]:
    """Pieces on the other side's place, one by one and all at once; of one piece that is the same."""
    seats = {k: _on_other_side(seen, k) for k in range(len(seen.fitted))}
    for k, seat in seats.items():
        if seat.mass_g >= NOTHING_G:
            yield exact_cause(seen, "piece_on_other_plane", {k: seat}, k)
    if len(seats) > 1:
        yield exact_cause(seen, "planes_swapped", seats, None)


def _on_other_side(seen: SpinComparison, k: int) -> PointMass:
    """A piece at the place of the heaviest piece on the other side; if there is none, in the reading plane."""
    piece = as_point(seen, k)
    a, b = seen.evaluator.planes
    other = b if _nearer(piece, a, b) else a
    near = a if other is b else b
    there = [as_point(seen, i) for i, p in enumerate(seen.fitted) if _nearer(p, other, near)]
    place = max(there, key=lambda p: p.mass_g, default=other)
    return PointMass(place.position_mm, place.radius_mm, piece.mass_g, piece.angle_deg)


def _nearer(piece: PointMass, this: Plane, that: Plane) -> bool:
    return abs(piece.position_mm - this.position_mm) < abs(piece.position_mm - that.position_mm)


def _of_all_pieces(seen: SpinComparison) -> Iterator[CauseModel]:
    """What is done to every piece alike; of one piece alone it is that piece's fault, but for the heavy side."""
    everyone = range(len(seen.fitted))
    opposite = {k: as_point(seen, k, angle_deg=wrap_deg(seen.fitted[k].angle_deg + 180)) for k in everyone}
    yield exact_cause(seen, "all_on_heavy_side", opposite, None)
    if len(everyone) > 1:
        yield _all_turned(seen)
        yield exact_cause(seen, "all_mirrored", {k: _mirrored(seen, k) for k in everyone}, None)
        yield from _swapped(seen)


def _swapped(seen: SpinComparison) -> Iterator[CauseModel]:
    """Two pieces that were taken for each other: each has the other's mass."""
    unlike = [
        (j, k)
        for j, k in combinations(range(len(seen.fitted)), 2)
        if seen.fitted[j].style == seen.fitted[k].style and seen.fitted[j].mass_g != seen.fitted[k].mass_g
    ]
    for j, k in unlike:
        seats = {a: as_point(seen, a, mass_g=seen.fitted[b].mass_g) for a, b in ((j, k), (k, j))}
        yield exact_cause(seen, "masses_swapped", seats, None, 1 / len(unlike))


def _all_turned(seen: SpinComparison) -> CauseModel:
    together, across = _whitened_right_angle(seen, Unbalance.of(seen.fitted))
    spread = math.radians(ANY_TURN_DEG)

    def fit(y: Floats) -> Fitted:
        found = turned(y, together, across, spread)
        by = math.degrees(found.size.real)
        effects = tuple(_turned_effect(seen, k, by) for k in range(len(seen.fitted)))
        return found, FittedCause("all_turned", None, by, "deg"), effects, (spread,)

    return model_of(seen, "all_turned", None, fit)


def _hidden(seen: SpinComparison) -> Iterator[CauseModel]:
    """A 0 that was shown before weights were fitted."""
    spread_g = seen.spin.before.zero_below_g / 2 or HIDDEN_SPREAD_G
    for gram in shown_zeros(seen.spin.before):
        yield _any_vector(seen, "shown_zero", gram, spread_g)


def _left_on(seen: SpinComparison) -> Iterator[CauseModel]:
    """Old weights that are still on, one by one and all at once."""
    old = () if seen.spin.after.old_weights else seen.spin.before.old_weights
    for weight in old:
        what = FittedCause("old_weight_left", None, weight.mass_g, "g", None, weight.angle_deg)
        yield known_cause(seen, what, Unbalance.of([weight]), 1 / len(old))
    if len(old) > 1:
        yield known_cause(seen, FittedCause("old_weights_left"), Unbalance.of(old))


def _centring(seen: SpinComparison) -> CauseModel:
    evaluator = seen.evaluator
    gram = Unbalance.at(evaluator.centre_mm, complex(evaluator.static_radius_mm))
    times = RECLAMPED_TIMES if seen.spin.reclamped == "yes" else 1.0
    return _any_vector(seen, "centring", gram, CENTRING_SPREAD_G, times)


def _any_vector(
    seen: SpinComparison, cause: Cause, gram: Unbalance, spread: float, times: float = 1.0
) -> CauseModel:
    """So many of what 1 g is, in any direction."""
    across = Unbalance(1j * gram.static, 1j * gram.moment)
    directions = seen.whitening(gram), seen.whitening(across)

    def fit(y: Floats) -> Fitted:
        found = any_vector(y, *directions, spread)
        adds = Unbalance(found.size * gram.static, found.size * gram.moment)
        effect = Effect(None, adds, (gram, across))
        what = FittedCause(cause, None, abs(found.size), "g", None, angle_deg(complex(found.size)))
        return found, what, (effect,), (spread, spread)

    return model_of(seen, cause, None, fit, times)
