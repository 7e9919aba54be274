"""Is it the wheel, or the machine and how the wheel sits on it? Checks that separate the two.

Turning the wheel on the shaft in equal steps; spinning the empty shaft; having a known weight called back;
spinning again without touching anything: all as published in a car maker's service manual (Chevrolet Blazer 2WD,
2000, tyre and wheel balancing), where the masses shown in five spins, and those at four positions, vary by no more
than the limit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from ..messages.message import Message, message
from ..physics.planes import PlaneVector
from ..physics.readings import Reports
from ..planning.advice import cautions
from .index_readings import (
    KnownWeight,
    PlaneKnown,
    PlaneReading,
    PlaneRepeats,
    PlaneTurns,
    Turns,
    by_plane,
    indexed,
    known_parts,
    repeat_parts,
    seen,
    turn_parts,
)

DEFAULT_LIMIT_G = 5.0
"""What a machine or a seat may be off [g]: one stock step; common practice, no source."""

POSITIONS = 4
"""From so many positions on the masses shown there are held to the limit among themselves, as published."""

MUCH_BETTER = 0.3
"""Turned the other way the readings repeat so much better that it must have been that way; no source."""


@dataclass(frozen=True, slots=True)
class MachineCheckRequest:
    """The checks that were made; limit_g [g] is how far a plane may be off, at its radius.

    doubts: what is unlikely of the readings.
    """

    turns: Turns | None
    empty_shaft: PlaneReading | None
    known_weight: KnownWeight | None
    repeats: tuple[PlaneReading, ...]
    limit_g: float = DEFAULT_LIMIT_G
    doubts: tuple[Message, ...] = ()

    @property
    def given(self) -> tuple[PlaneReading, ...]:
        """Every reading of it."""
        known = self.known_weight
        found = (self.empty_shaft, known and known.reading, known and known.before, *self.repeats)
        return (*(self.turns.readings if self.turns else ()), *(r for r in found if r))


class Verdict(StrEnum):
    """What to doubt, the machine first."""

    PASS = "pass"  # noqa: S105
    CENTRE_AGAIN = "centre_again"
    UNSTEADY = "unsteady"
    CHECK_MACHINE = "check_machine"
    CHECK_REPORTS = "check_reports"


@dataclass(frozen=True, slots=True)
class MachineCheck:
    """What each check showed, per plane, held to limit_g [g]; None or empty for checks that were not made."""

    verdict: Verdict
    reports: Reports
    turns: tuple[PlaneTurns, ...]
    empty_shaft: tuple[PlaneVector, ...]
    known_weight: tuple[PlaneKnown, ...]
    repeats: tuple[PlaneRepeats, ...]
    limit_g: float
    next_steps: tuple[Message, ...]
    cautions: tuple[Message, ...]
    warnings: tuple[Message, ...]


def check_machine(request: MachineCheckRequest) -> MachineCheck:
    """Every check that was made, and what they say together."""
    reports = request.given[0].reports
    turns = turn_parts(request.turns, reports) if request.turns else ()
    empty = seen(request.empty_shaft, reports) if request.empty_shaft else ()
    known = known_parts(request.known_weight, reports) if request.known_weight else ()
    repeats = repeat_parts(request.repeats, reports) if request.repeats else ()
    limit = request.limit_g
    off = [k for k in known if k.off_g > limit]
    # Called where the weight sits, not opposite: a sense holds for all planes.
    reversed_ = off if all(k.mirrored_g <= limit for k in known) else []
    machine_off = any(v.mass_g > limit for v in empty) or bool(off and not reversed_)
    strays = (*(t.worst_g for t in turns), *(max(r.worst_g, r.span_g) for r in repeats))
    unsteady = any(off > limit for off in strays)
    positions = len(request.turns.readings) if request.turns else 0
    off_centre = any(max(t.machine.mass_g, t.span_g * (positions >= POSITIONS)) > limit for t in turns)
    verdict = _verdict(machine_off, unsteady, off_centre)
    if reversed_ and not machine_off:  # nothing can be said of the machine before its sense is known
        verdict = Verdict.CHECK_REPORTS
    old = any(r.old_weights for r in request.given)
    return MachineCheck(
        verdict,
        reports,
        turns,
        empty,
        known,
        repeats,
        limit,
        next_steps=tuple(_steps(verdict, limit, empty_seen=bool(empty))),
        cautions=cautions(fitting=False, lead=False, old_weights=old),
        warnings=(
            *request.doubts,
            *_turn_warnings(request),
            *(() if machine_off else _reversed_warnings(reversed_)),
        ),
    )


def _verdict(machine_off: bool, unsteady: bool, off_centre: bool) -> Verdict:
    if machine_off:
        return Verdict.CHECK_MACHINE
    if unsteady:
        return Verdict.UNSTEADY
    return Verdict.CENTRE_AGAIN if off_centre else Verdict.PASS


def _steps(verdict: Verdict, limit_g: float, *, empty_seen: bool) -> Iterator[Message]:
    match verdict:
        case Verdict.PASS:
            yield message("checks_passed", limit_g=limit_g)
        case Verdict.CENTRE_AGAIN:
            yield message("centre_again")
            if not empty_seen:
                yield message("spin_empty_shaft")
        case Verdict.UNSTEADY:
            yield message("seat_evenly")
        case Verdict.CHECK_MACHINE:
            yield message("check_machine")
        case Verdict.CHECK_REPORTS:
            yield message("send_heavy_side")


def _turn_warnings(request: MachineCheckRequest) -> Iterator[Message]:
    """Two readings can't show their spread; more can even show that the wheel was turned the other way."""
    if request.turns is None:
        return
    if len(request.turns.readings) == 2:
        yield message("spread_unknown")
    for plane, vectors in by_plane(request.turns.readings, "unbalance"):
        stated, other = (indexed(request.turns, vectors, reverse=reverse) for reverse in (False, True))
        if stated.worst > request.limit_g * plane.radius_mm and other.worst < MUCH_BETTER * stated.worst:
            yield message("turned_other_way", plane=plane.name)


def _reversed_warnings(reversed_: Sequence[PlaneKnown]) -> Iterator[Message]:
    return (message("called_same_side", plane=k.called.plane.name) for k in reversed_)
