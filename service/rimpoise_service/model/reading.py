"""A reading as it was given: by position, by place, or in a balancer's own words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..physics.readings import PointMasses, Reports, Spun, StaticCouple
from ..physics.unbalance import PointMass
from .device import Device, Direction, LengthUnit


@dataclass(frozen=True, slots=True)
class AtPlace:
    """A mass [g] at an angle [deg] at a place by name; touched: whether the balancer touched that place."""

    place: str
    mass_g: float
    angle_deg: float
    touched: bool = False


GivenPlane = AtPlace | PointMass


@dataclass(frozen=True, slots=True)
class GivenPlanes:
    """One or two planes, each by place or by position, as a static or two-plane reading has them."""

    planes: tuple[GivenPlane, ...]
    reports: Reports = "correction"
    old_weights: tuple[PointMass, ...] = ()
    spins: int = 1
    spun: Spun = "unknown"


@dataclass(frozen=True, slots=True)
class ShownVector:
    """A mass and an angle as shown, or where the valve stands instead of the angle."""

    mass: float
    direction: float | Direction


@dataclass(frozen=True, slots=True)
class ShownPlanes:
    """A mass in each plane."""

    inboard: ShownVector
    outboard: ShownVector


@dataclass(frozen=True, slots=True)
class ShownStatic:
    """One mass."""

    static: ShownVector


@dataclass(frozen=True, slots=True)
class ShownStaticCouple:
    """A static mass, and a couple's two equal and opposite masses; its angle is that of the outboard one."""

    static: ShownVector
    couple: ShownVector


Shown = ShownPlanes | ShownStatic | ShownStaticCouple


def shown_vectors(shown: Shown) -> tuple[ShownVector, ...]:
    """The masses and directions shown, inboard first."""
    match shown:
        case ShownPlanes(inboard=a, outboard=b):
            return a, b
        case ShownStatic(static=a):
            return (a,)
        case ShownStaticCouple(static=a, couple=b):
            return a, b


@dataclass(frozen=True, slots=True)
class TiedToPlace:
    """The inboard (or the only) plane is at this place."""

    place: str


@dataclass(frozen=True, slots=True)
class TiedToFace:
    """The mounting face is at this distance, in the device's unit, from where it counts."""

    distance: float


Tied = TiedToPlace | TiedToFace


@dataclass(frozen=True, slots=True)
class SetToPlaces:
    """Planes at places of the wheel, inboard first, or one; touched: whether the balancer touched them."""

    places: tuple[str, ...]
    touched: bool = False


@dataclass(frozen=True, slots=True)
class Dialled:
    """Planes as dialled, inboard first, or one: distances and sizes in the device's units.

    width: dialled instead of the second distance.
    """

    distances: tuple[float, ...]
    sizes: tuple[float, ...]
    tied: Tied
    width: float | None = None


SetTo = SetToPlaces | Dialled


def dialled_names(dialled: Dialled) -> tuple[tuple[str, str], ...]:
    """What the distance and the size of each plane are called, inboard first.

    >>> dialled_names(Dialled((104.0,), (17.0, 17.0), TiedToFace(0.0), width=7.0))
    (('distance', 'inboard_size'), ('width', 'outboard_size'))
    """
    if len(dialled.sizes) == 1:
        return (("distance", "size"),)
    one = dialled.width is not None
    first, second = ("distance", "width") if one else ("inboard_distance", "outboard_distance")
    return (first, "inboard_size"), (second, "outboard_size")


def dialled_lengths(set_to: SetTo, device: Device) -> Iterator[tuple[tuple[str, ...], float, LengthUnit]]:
    """Every length that was dialled, with where it stands in what the device was set to, and its unit."""
    if isinstance(set_to, SetToPlaces):
        return
    along = (*set_to.distances, *(() if set_to.width is None else (set_to.width,)))
    for (distance, size), a, b in zip(dialled_names(set_to), along, set_to.sizes, strict=True):
        yield (distance,), a, device.width_unit if distance == "width" else device.distance_unit
        yield (size,), b, device.size_unit
    if isinstance(set_to.tied, TiedToFace):
        yield ("tied", "distance"), set_to.tied.distance, device.distance_unit


@dataclass(frozen=True, slots=True)
class MachineReading:
    """What a balancer shows and what it was set to, in its own words."""

    device: Device
    shown: Shown
    set_to: SetTo
    old_weights: tuple[PointMass, ...] = ()
    spins: int = 1
    spun: Spun = "unknown"


GivenReading = GivenPlanes | MachineReading | StaticCouple | PointMasses
