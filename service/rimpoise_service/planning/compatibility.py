"""Does this weight fit there? The trade's rules of fit, each with its reason (common practice, no source)."""

from __future__ import annotations

from ..messages.message import Message, message
from ..model.stock import ClipOn, Strip
from ..model.wheel import NO_STRIP_FINISHES, Flange, Land, Side, Wheel

UNKNOWN = frozenset(["flange_unmeasured", "height_unknown"])
"""Reasons against a weight that may fit once more is known."""


def wheel_misfits(clip: ClipOn, wheel: Wheel) -> list[Message]:
    """Why a clip-on fits neither flange of a wheel; nothing if it may."""
    reasons = []
    if clip.on_hand == 0:
        reasons.append(message("out_of_stock"))
    if clip.for_materials is not None and wheel.material not in clip.for_materials:
        reasons.append(message("not_for_material", material=wheel.material))
    if clip.for_vehicle_classes is not None and wheel.vehicle_class not in clip.for_vehicle_classes:
        reasons.append(message("not_for_vehicle_class", vehicle_class=wheel.vehicle_class))
    if clip.wire_spokes is not wheel.wire_spokes:
        reasons.append(message("not_for_wire_spokes" if wheel.wire_spokes else "for_wire_spokes"))
    if clip.coated is False and wheel.finish not in (None, "bare"):
        reasons.append(message("not_coated"))
    return reasons


def flange_obstacles(flange: Flange, side: Side, wheel: Wheel) -> list[Message]:
    """Why no clip-on at all holds on a flange, whatever is in stock; nothing if one may."""
    if wheel.wire_spokes:  # nipple weights hang on the spokes, not on the lip
        return []
    reasons = []
    if not flange.present:
        reasons.append(message("flange_absent", side=side))
    if flange.flange_condition == "damaged":
        reasons.append(message("flange_damaged", side=side))
    if flange.lip_covered:
        reasons.append(message("lip_covered", side=side))
    return reasons


def land_obstacles(land: Land, wheel: Wheel) -> list[Message]:
    """Why no strip at all may go on a land, whatever is in stock; nothing if one may."""
    reasons = []
    if wheel.wire_spokes:
        reasons.append(message("no_strip_on_wire_spokes"))
    if land.is_face and wheel.finish in NO_STRIP_FINISHES:
        reasons.append(message("no_strip_on_finish", finish=wheel.finish))
    return reasons


def flange_misfits(clip: ClipOn, flange: Flange) -> list[Message]:
    """Why a clip-on does not fit one flange; nothing if it does.

    A profile named by the shop's own guide or gauge counts first; then the lip's thickness decides.
    """
    reasons, room = [], flange.room_mm
    if room is not None:
        if clip.height_mm is None:
            reasons.append(message("height_unknown"))
        elif clip.height_mm > room:
            reasons.append(message("too_high", max_height_mm=room))
    named = clip.profiles is not None and flange.profile is not None
    if named and flange.profile in (clip.profiles or ()):
        return reasons
    if clip.thickness_mm is not None and flange.thickness_mm is not None:
        if flange.thickness_mm not in clip.thickness_mm:
            reasons.append(message("thickness_misfit", thickness_mm=flange.thickness_mm))
    elif named:
        reasons.append(message("profile_misfit", profile=flange.profile))
    elif clip.thickness_mm is not None or clip.profiles is not None:
        reasons.append(message("flange_unmeasured"))
    return reasons


def strip_misfits(strip: Strip, land: Land) -> list[Message]:
    """Why a strip does not fit a land; nothing if it does."""
    reasons, room = [], land.room_mm
    if strip.on_hand == 0:
        reasons.append(message("out_of_stock"))
    if strip.width_mm > land.width_mm:
        reasons.append(message("too_wide", width_mm=land.width_mm))
    if room is not None and strip.thickness_mm > room:
        reasons.append(message("too_high", max_height_mm=room))
    return reasons
