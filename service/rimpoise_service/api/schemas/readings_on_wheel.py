"""Readings and the wheel they are of: every operation that takes a reading takes both, and resolves them here.

Readings load as they were given. Once all fields are sound they are put on the wheel and judged, and what the
operation's function gets is the reading in our frame, with the doubts about it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, ClassVar

from marshmallow import validates_schema

from ...diagnosis.fitted_piece import FittedPiece
from ...messages.message import Message
from ...model.device import Dialect
from ...model.reading import GivenPlanes, GivenReading, MachineReading
from ...model.resolution import Flaw, Flawed, Path, Resolved, resolve
from ...model.wheel import Wheel
from ...physics.planes import Plane
from ...physics.readings import PointMasses, Reading, Static, StaticCouple, reading_planes
from ...physics.unbalance import PointMass
from ...planning.plausibility import (
    acceptance_doubts,
    acceptance_flaws,
    reading_doubts,
    reading_flaws,
    reading_notes,
)
from ...planning.wheel_plausibility import plane_flaws, weight_doubts, wheel_doubts
from .base import RequestSchema
from .nested_fields import ObjectField
from .rules import Elsewhere, refuse_all
from .wheel import WheelSchema

GIVEN = (GivenPlanes, MachineReading, StaticCouple, PointMasses)
WEIGHTS = ("planes", "fitted", "known_weight", "check_spin")
"""Fields with planes or weights besides the readings, on the same wheel."""
EXAMINED = "examined"
"""Where a request's loaded fields keep what was found of its readings, from the rules until it is made."""


@dataclass(frozen=True, slots=True)
class Examined:
    """A request's readings on their wheel, by their path in it; what can't be, is unlikely, or was derived."""

    resolved: dict[Path, Resolved]
    flaws: tuple[Flaw, ...] = ()
    doubts: tuple[Message, ...] = ()
    derived: tuple[Message, ...] = ()

    @property
    def dialect(self) -> Dialect | None:
        """The words of the balancer that read first, if it has words of its own."""
        return next((r.dialect for r in self.resolved.values() if r.dialect), None)


def read_wheel() -> ObjectField:
    """The wheel of a reading, where it may be left out."""
    return ObjectField(
        WheelSchema, "The wheel that was read: readings may name its places, and are checked against it."
    )


class ReadingsOnWheelSchema(RequestSchema):
    """A request with readings, in ``reading_fields``, and a field ``wheel``.

    Before the readings in ``later_fields`` weights were fitted.
    """

    reading_fields: ClassVar[tuple[str, ...]] = ("reading",)
    later_fields: ClassVar[tuple[str, ...]] = ()
    wheel_field: ClassVar[str] = "wheel"

    place_unknown = Elsewhere("place_unknown")
    planes_come_apart = Elsewhere("planes_apart")
    set_to_matches_shown = Elsewhere("set_to_matches_shown")
    planes_in_order = Elsewhere("planes_in_order")
    planes_on_rim = Elsewhere("planes_on_rim")
    radius_on_rim = Elsewhere("radius_on_rim")
    mass_possible = Elsewhere("mass_possible")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _readings_belong(self, data: dict[str, Any], original: object, **_: object) -> None:
        sent = original.get(self.wheel_field) if isinstance(original, dict) else None  # null is as if absent
        wanted = sent is not None or self.fields[self.wheel_field].required
        if wanted and self.wheel_field not in data:  # what needs no wheel is reported with what is wrong with it
            flaws = [flaw for flaw in self._examine(data, None).flaws if flaw.rule != "place_unknown"]
        else:
            flaws = list(self.examined(data).flaws)
        if flaws:
            raise refuse_all(flaws)

    def _judged_statically(self, data: dict[str, Any], readings: Sequence[Reading], wheel: Wheel | None) -> bool:
        """Whether the static sum alone is held against limits.

        Of a plan where that is asked for, or of a motorcycle's static reading; elsewhere of any static reading.
        """
        if getattr(data.get("preferences"), "correction", None) == "static":
            return True
        two_planes = "preferences" in self.fields and (wheel is None or wheel.vehicle_class != "motorcycle")
        return not two_planes and bool(readings) and all(isinstance(reading, Static) for reading in readings)

    def wheel_of(self, data: dict[str, Any]) -> Wheel | None:
        """The wheel that was read, if one is given."""
        wheel: Wheel | None = data.get(self.wheel_field)
        return wheel

    def examined(self, data: dict[str, Any]) -> Examined:
        """What is found of the readings that are sound, once for all rules."""
        if EXAMINED not in data:
            data[EXAMINED] = self._examine(data, self.wheel_of(data))
        found: Examined = data[EXAMINED]
        return found

    def reading_at(self, data: dict[str, Any], *path: str | int) -> Reading | None:
        """A reading in our frame; None if it isn't there or can't be."""
        resolved = self.examined(data).resolved.get(path)
        return resolved.reading if resolved else None

    def settle(self, data: dict[str, Any]) -> Examined:
        """Put the readings in our frame in place of those given, and return what was found."""
        examined = self.examined(data)
        del data[EXAMINED]
        for name in self.reading_fields:
            if name in data:
                data[name] = _replaced(data[name], (name,), lambda path: examined.resolved[path].reading)
        return examined

    def _examine(self, data: dict[str, Any], wheel: Wheel | None) -> Examined:
        resolved: dict[Path, Resolved] = {}
        flaws: list[Flaw] = []
        doubts: list[Message] = []
        derived: list[Message] = []
        doubts += wheel_doubts(wheel) if wheel else ()
        for path, given in self._readings_given(data):
            try:
                found = resolve(given, wheel)
            except Flawed as flawed:
                flaws += [flaw._replace(path=(*path, *flaw.path)) for flaw in flawed.flaws]
                continue
            resolved[path] = found
            first = path[0] not in self.later_fields
            doubts += [*found.warnings, *reading_doubts(given, found, wheel, first=first)]
            derived += found.derived
            if wheel:
                here = reading_flaws(given, found, wheel)
                flaws += [flaw._replace(path=(*path, *flaw.path)) for flaw in here]
                derived += reading_notes(given, found, wheel)
        planes = next((reading_planes(found.reading) for found in resolved.values()), ())
        for at, weight in (each for name in WEIGHTS for each in _weights_in(data.get(name), (name,))):
            flaws += plane_flaws(weight, at, wheel) if wheel else ()
            if isinstance(weight, FittedPiece):
                doubts += weight_doubts(int(at[-1]) + 1, weight, wheel, planes or data.get("planes") or ())
        static_only = self._judged_statically(data, [found.reading for found in resolved.values()], wheel)
        doubts += acceptance_doubts(data.get("acceptance"), wheel, planes, static_only=static_only)
        flaws += acceptance_flaws(data.get("acceptance"), wheel)
        return Examined(resolved, tuple(flaws), _once(doubts), _once(derived))

    def _readings_given(self, data: dict[str, Any]) -> Iterator[tuple[Path, GivenReading]]:
        for name in self.reading_fields:
            if name in data:
                yield from _readings_in(data[name], (name,))


def _weights_in(value: Any, path: Path) -> Iterator[tuple[Path, Plane | PointMass]]:
    """Every plane and weight in a field: itself, in a list, or in a noun around it."""
    if isinstance(value, Plane | PointMass):
        yield path, value
    elif isinstance(value, tuple):
        for index, each in enumerate(value):
            yield from _weights_in(each, (*path, index))
    elif is_dataclass(value) and not isinstance(value, GIVEN):
        for field in fields(value):
            yield from _weights_in(getattr(value, field.name), (*path, field.name))


def _once(messages: list[Message]) -> tuple[Message, ...]:
    """Each message once, in its first place."""
    return tuple(each for index, each in enumerate(messages) if each not in messages[:index])


def _readings_in(value: Any, path: Path) -> Iterator[tuple[Path, GivenReading]]:
    """Every reading in a field: itself, in a list, or in a noun around it."""
    if isinstance(value, GIVEN):
        yield path, value
    elif isinstance(value, tuple):
        for index, each in enumerate(value):
            yield from _readings_in(each, (*path, index))
    elif is_dataclass(value):
        for field in fields(value):
            yield from _readings_in(getattr(value, field.name), (*path, field.name))


def _replaced(value: Any, path: Path, reading: Callable[[Path], Reading]) -> Any:
    """The same with every reading replaced."""
    if isinstance(value, GIVEN):
        return reading(path)
    if isinstance(value, tuple):
        return tuple(_replaced(each, (*path, index), reading) for index, each in enumerate(value))
    if is_dataclass(value) and not isinstance(value, type):
        names = [field.name for field in fields(value)]
        return replace(value, **{n: _replaced(getattr(value, n), (*path, n), reading) for n in names})
    return value
