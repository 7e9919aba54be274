"""What requests with two readings of one wheel share: the planes they are compared in, and the rules."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...messages.message import message
from ...physics.planes import Plane
from ...physics.readings import Reading, Static, reading_planes
from .corrections import NamedPlanesSchema, PlaneSchema
from .nested_fields import ListField, ObjectField
from .readings_on_wheel import ReadingsOnWheelSchema
from .rules import Break, Path


class Compared(NamedPlanesSchema, ReadingsOnWheelSchema):
    """Two readings and, where neither names its planes, the planes in which to report what is left."""

    planes = ListField(
        ObjectField(PlaneSchema),
        "Planes in which to report what is left; needed where neither reading is two_plane or static, "
        "and refused elsewhere.",
        most=2,
        load_default=(),
    )


def alike(first: Reading | None, second: Reading | None, at: Path) -> Iterator[Break]:
    """The break of the rule ``readings_alike``; ``at`` is the second reading. None: it can't be read at all."""
    if first and second and isinstance(first, Static) != isinstance(second, Static):
        yield Break((*at, "kind"), message("readings_of_two_kinds"))


def static_after_static(first: Reading | None, second: Reading | None, at: Path) -> Iterator[Break]:
    """The break of the rule ``static_after_static``; ``at`` is the second reading. None: it can't be read at all.

    Of a reading in two planes the static part is known, so that a static one can be held against it.
    """
    if isinstance(first, Static):
        yield from alike(first, second, at)


def planes_needed(first: Reading | None, second: Reading | None, planes: Sequence[Plane]) -> Iterator[Break]:
    """The break of the rule ``planes_where_needed``."""
    if first is None or second is None:
        return
    named = bool(reading_planes(first) or reading_planes(second))
    if named and planes:
        yield Break(("planes",), message("planes_not_wanted"))
    if not named and not planes:
        yield Break(("planes",), message("planes_wanted"))
