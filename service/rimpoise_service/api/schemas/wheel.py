"""The wheel as the shop describes it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any

from ...messages.message import message
from ...model.arcs import FULL_TURN_DEG, Arc
from ...model.wheel import (
    FLANGE_CLEARANCE_MM,
    FLANGE_PLACE,
    SIDES,
    Flange,
    KeepOut,
    Land,
    Valve,
    Wheel,
    even_spokes,
)
from ...physics.planes import MIN_PLANE_DISTANCE_MM
from ...physics.rim_sizes import EXAMPLES, MARKING_PATTERN
from ...planning.wheel_plausibility import wheel_flaws
from . import words
from .base import RequestSchema
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import (
    ANGLE,
    AXIS,
    Angle,
    ArcEnd,
    Clearance,
    Gap,
    Length,
    Offset,
    Position,
    Safety,
    SpokeCount,
    Thickness,
    WheelRadius,
    Width,
)
from .request_fields import Boolean, Choice, Tag, Text
from .rules import Break, most_said, repeated, rule

GEOMETRY = ("lands", "rim_size", "offset_mm", "flanges")
CLEARS = "Greatest height of a weight that clears brake and suspension [mm]; 0: no room, without it: room enough."


class FlangeSchema(RequestSchema):
    """A rim flange. What is not measured is worked out from the rim size, and the answer says so."""

    makes = Flange
    present = Boolean("Whether there is a flange that takes clip-ons.", load_default=True)
    thickness_mm = Thickness("Thickness of the lip, measured [mm].")
    profile = Text("The shop's own name for the flange, from its own guide or gauge.")
    position_mm = Position(f"Position of a weight's middle, measured [mm], {AXIS}.")
    radius_mm = WheelRadius("Radius of a weight's middle, measured from the wheel's axis [mm].")
    max_height_mm = Clearance(CLEARS)
    gap_mm = Gap("Distance measured from the flange to the nearest part of brake or suspension [mm].")
    clearance_mm = Safety("Part of gap_mm that must stay free [mm].", load_default=FLANGE_CLEARANCE_MM)
    flange_condition = Choice(words.FLANGE_CONDITIONS, "Condition of the lip.", load_default="good")
    lip_covered = Boolean("Whether the tyre's rim protector leaves no room for a clip-on.", load_default=False)


class FlangesSchema(RequestSchema):
    """The rim's two flanges; one that is left out is unknown, which is not the same as absent."""

    inboard = ObjectField(FlangeSchema, "The flange towards the vehicle.")
    outboard = ObjectField(FlangeSchema, "The flange towards the street.")

    @rule("flanges_in_order", "inboard", "outboard")
    def _in_order(self, data: dict[str, Any]) -> Iterator[Break]:
        inner, outer = (getattr(data.get(side), "position_mm", None) for side in SIDES)
        if inner is not None and outer is not None and outer - inner < MIN_PLANE_DISTANCE_MM:
            said = message("flange_not_outboard", sent_mm=outer, inboard_mm=inner)
            yield Break(("outboard", "position_mm"), said)


class LandSchema(RequestSchema):
    """A smooth band inside the barrel for adhesive weights."""

    makes = Land
    name = Text("Name of the land, for keep-outs and the answer.", required=True)
    side = Choice(words.SIDES, "Side of the wheel that weights on the land correct.", required=True)
    position_mm = Position(f"Position of the land's middle [mm], {AXIS}.", required=True)
    radius_mm = WheelRadius("Radius of the land's surface [mm], measured from the wheel's axis.", required=True)
    width_mm = Length("Width of the land along the axis, in which strips have to fit [mm].", required=True)
    behind_spokes = Boolean("Whether spokes cover the land.", required=True)
    visible = Boolean("Whether the land can be seen from outboard, also between the spokes.", required=True)
    max_height_mm = Clearance(CLEARS)
    gap_mm = Gap("Distance measured from the land to the nearest part of brake, steering or suspension [mm].")
    clearance_mm = Safety("Part of gap_mm that must stay free [mm]; without it, 3 mm, or 5 mm to moving parts.")
    clearance_to = Choice(words.CLEARED_PARTS, "Part that a strip must clear.", load_default="fixed")


class ValveSchema(RequestSchema):
    """The valve. Its stem keeps strips off lands near the outboard flange; of a motorcycle, in the middle, too."""

    makes = Valve
    angle_deg = Angle(f"Angle of the valve's middle [deg], {ANGLE}.", required=True)
    sensor = Choice(words.SENSORS, "Pressure sensor inside the tyre.", load_default="none")


class EvenSpokesSchema(RequestSchema):
    """Spokes of one width, evenly spaced; they are named "1", "2" and so on, clockwise."""

    kind = Tag("even")
    count = SpokeCount("Number of spokes.", required=True)
    first_deg = Angle(f"Angle of the first spoke's middle [deg], {ANGLE}.", required=True)
    width_deg = Width("Part of the circle that each spoke covers [deg].", required=True)

    @rule("windows_fit_circle", "count", "width_deg")
    def _fit(self, data: dict[str, Any]) -> Iterator[Break]:
        count, width = data["count"], data["width_deg"]
        if count * width > FULL_TURN_DEG:
            most = most_said(FULL_TURN_DEG / count)
            said = message("spokes_too_wide", spokes=count, sent_deg=width, all_deg=count * width, most_deg=most)
            yield Break(("width_deg",), said)

    def make(self, data: dict[str, Any]) -> tuple[Arc, ...]:
        """The arcs."""
        return even_spokes(data["count"], data["first_deg"], data["width_deg"])


class SpokeWindowSchema(RequestSchema):
    """An arc behind which a piece can't be seen."""

    name = Text("Name of the window, repeated in the answer.", required=True)
    centre_deg = Angle(f"Angle of the window's middle [deg], {ANGLE}.", required=True)
    width_deg = Width("Part of the circle that the window covers [deg].", required=True)

    def make(self, data: dict[str, Any]) -> Arc:
        """The arc."""
        return Arc.centred(data["centre_deg"], data["width_deg"], data["name"])


class SpokeWindowsSchema(RequestSchema):
    """Spokes one by one."""

    kind = Tag("windows")
    windows = ListField(ObjectField(SpokeWindowSchema), "Windows in any order.", least=1, most=40, required=True)

    @rule("names_unique", "windows")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated(w.name for w in data["windows"]):
            yield Break(("windows", index, "name"), message("window_called_twice", called=name))

    @rule("windows_apart", "windows")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        for (_, one), (index, other) in combinations(enumerate(data["windows"]), 2):
            if one.overlaps(other):
                yield Break(("windows", index), message("windows_overlap", called=one.name))

    def make(self, data: dict[str, Any]) -> tuple[Arc, ...]:
        """The arcs."""
        return tuple(data["windows"])


SPOKES = Variants(
    "Spokes",
    "What can hide a piece: spokes of one width, evenly spaced, or windows one by one.",
    '{"kind": "even", "count": 5, "first_deg": 36, "width_deg": 32}',
    EvenSpokesSchema,
    SpokeWindowsSchema,
)


def spokes_field(**kwargs: Any) -> UnionField:
    """Spokes, in either form."""
    return UnionField(SPOKES, "Spokes or windows that can hide a piece.", **kwargs)


class KeepOutArcSchema(RequestSchema):
    """An arc that no piece may touch, clockwise from one angle to the other; 0 to 360 is the whole circle."""

    from_deg = ArcEnd(f"Angle at which the arc begins [deg], {ANGLE}.", required=True)
    to_deg = ArcEnd(f"Angle at which the arc ends, clockwise of its beginning [deg], {ANGLE}.", required=True)
    reason = Text("Reason to keep off, like valve, pressure sensor, weld or damage.", required=True)

    def make(self, data: dict[str, Any]) -> Arc:
        """The arc; its name is the reason."""
        return Arc.between(data["from_deg"], data["to_deg"], data["reason"])


class KeepOutSchema(KeepOutArcSchema):
    """An arc of a place that no piece may touch, clockwise from one angle to the other, across 0 if need be."""

    place = Text(
        "Place on the wheel, which is inboard_flange, outboard_flange or the name of a land.", required=True
    )

    def make(self, data: dict[str, Any]) -> Any:
        """The arc, its place and its reason."""
        return KeepOut(data["place"], Arc.between(data["from_deg"], data["to_deg"]), data["reason"])


class WheelSchema(RequestSchema):
    """A wheel, as far as it is known. Measured positions and radii win over those worked out from the rim size."""

    shared = True
    rim_size = Text(f"Rim size as marked, like {EXAMPLES}.", pattern=MARKING_PATTERN, hint="rim_marking")
    offset_mm = Offset(
        "Distance of the mounting face outboard of the rim's centre line [mm], if not marked; of a motorcycle "
        "without it, 0."
    )
    material = Choice(words.WHEEL_MATERIALS, "Material of the wheel.", required=True)
    origin = Choice(words.ORIGINS, "Who the wheel comes from.", required=True)
    vehicle_class = Choice(words.VEHICLE_CLASSES, "Class of vehicle that the wheel runs on.", required=True)
    axle = Choice(
        words.AXLES, "Axle of a heavy truck or bus; a steered one has the stricter limits.", load_default="steered"
    )
    # marshmallow takes the fields out of the class, so that the hook of this name stays what it is
    finish = Choice(words.FINISHES, "Finish of the wheel's face; without it, unknown.")  # type: ignore[assignment]
    valve = ObjectField(ValveSchema, "Valve of the wheel; without it, its place is unknown.")
    wire_spokes = Boolean("Whether the wheel has wire spokes, which take nipple weights only.", load_default=False)
    flanges = ObjectField(FlangesSchema, "What is known of the rim's flanges.")
    lands = ListField(ObjectField(LandSchema), "Bands for adhesive weights.", most=8, load_default=())
    spokes = spokes_field()
    keep_out = ListField(ObjectField(KeepOutSchema), "Arcs that no piece may touch.", most=32, load_default=())

    @rule("names_unique", "lands")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated(land.name for land in data["lands"]):
            yield Break(("lands", index, "name"), message("land_called_twice", called=name))

    @rule("lands_in_rim", *GEOMETRY)
    def _in_rim(self, data: dict[str, Any]) -> Iterator[Break]:
        return self._flawed(data, "lands_in_rim")

    @rule("flanges_on_rim", "flanges", "rim_size")
    def _flanges_on_rim(self, data: dict[str, Any]) -> Iterator[Break]:
        return self._flawed(data, "flanges_on_rim")

    @rule("lands_in_order", "lands")
    def _lands_in_order(self, data: dict[str, Any]) -> Iterator[Break]:
        return self._flawed(data, "lands_in_order")

    def _flawed(self, data: dict[str, Any], name: str) -> Iterator[Break]:
        geometry = {name: data[name] for name in GEOMETRY if name in data and name != "flanges"}
        # These flaws are geometry's alone: what else is said of the wheel may still be unsound.
        wheel = Wheel("alloy", "aftermarket", "car", **data.get("flanges", {}), **geometry)
        for flaw in wheel_flaws(wheel):
            if flaw.rule == name:
                yield Break(flaw.path, flaw.said)

    @rule("reserved_names", "lands")
    def _not_reserved(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, land in enumerate(data["lands"]):
            if land.name in FLANGE_PLACE.values():
                yield Break(("lands", index, "name"), message("land_called_flange", called=land.name))

    @rule("keep_out_place_known", "lands", "keep_out")
    def _known(self, data: dict[str, Any]) -> Iterator[Break]:
        known = (*FLANGE_PLACE.values(), *(land.name for land in data["lands"]))
        for index, keep_out in enumerate(data["keep_out"]):
            if keep_out.place not in known:
                said = message("no_such_place", called=keep_out.place, known=known)
                yield Break(("keep_out", index, "place"), said)

    def make(self, data: dict[str, Any]) -> Wheel:
        """The wheel, its flanges by side."""
        flanges = data.pop("flanges", {})
        return Wheel(**flanges, **data)
