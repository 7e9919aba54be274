"""Short ways to write a reading."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, cast

from .decoding import from_json
from .encoding import Mismatch, field_names, key_of, to_json
from .errors import QuestionError
from .models.shared import AtPlane, Device, MachineReading, PointMass, PositionPlane, ReadingPlane, TwoPlaneReading
from .models.words import ReportsInput
from .values import Value


def two_plane(
    first: PointMass | ReadingPlane,
    second: PointMass | ReadingPlane,
    *,
    reports: ReportsInput = "correction",
    old_weights: Sequence[PointMass] = (),
) -> TwoPlaneReading:
    """The usual reading, plane by plane, in any order; a PointMass is a plane by position.

    >>> two_plane(AtPlane("inboard_flange", 35, 62), AtPlane("outboard_flange", 20, 198)).planes[1].mass_g
    20
    """
    return TwoPlaneReading((_plane(first), _plane(second)), reports, old_weights)


def _plane(plane: PointMass | ReadingPlane) -> ReadingPlane:
    if isinstance(plane, AtPlane | PositionPlane):
        return plane
    return PositionPlane(plane.position_mm, plane.radius_mm, plane.mass_g, plane.angle_deg)


def from_machine(values: Mapping[str, Any], device: Device | None = None) -> MachineReading:
    """A reading from a dictionary as a balancer's driver has it, spelled as in the contract: nothing is converted.

    device: instead of one in the dictionary. Raises QuestionError, with its pointer, for what a machine reading
    doesn't have.

    >>> from_machine({"shown": {"kind": "static", "mass": 30, "angle": 40},
    ...               "set_to": {"kind": "place", "place": "inboard_flange"}}).shown.mass
    30.0
    """
    own = {} if device is None else {"device": to_json(device)}
    try:
        reading = from_json(MachineReading, {"kind": "machine", **values, **own})
        for unknown in _unknown(reading):
            raise unknown
    except Mismatch as mismatch:
        raise QuestionError(mismatch.pointer, mismatch.reason) from None
    return reading


def _unknown(value: object, *path: str | int) -> Iterator[Mismatch]:
    """What was said beyond the fields, which is not sent: of a setting that is misspelt nobody would know.

    path: to the value, from the inside out.
    """
    if isinstance(value, Value):
        names = field_names(cast(Any, type(value)))
        for key in getattr(value, "_extra", ()):
            known = ", ".join(map(key_of, names))
            yield Mismatch(f'unknown field "{key}"; known fields are {known}', key, *path)
        for name in names:
            yield from _unknown(getattr(value, name), key_of(name), *path)
    elif isinstance(value, tuple):
        for index, each in enumerate(value):
            yield from _unknown(each, index, *path)
