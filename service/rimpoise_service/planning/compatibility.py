"""Does this weight fit there? The trade's rules of fit, each with its reason (common practice, no source)."""

from __future__ import annotations

from ..messages.message import Message, message
from ..model.stock import ClipOn, Strip
from ..model.wheel import Flange, Land, Wheel


def wheel_misfits(clip: ClipOn, wheel: Wheel) -> list[Message]:
    """Why a clip-on fits neither flange of a wheel; nothing if it may."""
    reasons = []
    if clip.on_hand == 0:
        reasons.append(message("out_of_stock"))
    if clip.for_materials is not None and wheel.material not in clip.for_materials:
        reasons.append(message("not_for_material", material=wheel.material))
    if clip.for_vehicles is not None and wheel.vehicle not in clip.for_vehicles:
        reasons.append(message("not_for_vehicle", vehicle=wheel.vehicle.replace("_", " ")))
    return reasons


def flange_misfits(clip: ClipOn, flange: Flange) -> list[Message]:
    """Why a clip-on does not fit one flange; nothing if it does.

    A profile named by the shop's own guide or gauge is the surer sign; then the lip's thickness decides.
    """
    reasons = []
    if flange.max_height_mm is not None:
        if clip.height_mm is None:
            reasons.append(message("height_unknown"))
        elif clip.height_mm > flange.max_height_mm:
            reasons.append(message("too_high", max_height_mm=flange.max_height_mm))
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
    reasons = []
    if strip.on_hand == 0:
        reasons.append(message("out_of_stock"))
    if strip.width_mm > land.width_mm:
        reasons.append(message("too_wide", width_mm=land.width_mm))
    if land.max_height_mm is not None and strip.thickness_mm > land.max_height_mm:
        reasons.append(message("too_high", max_height_mm=land.max_height_mm))
    return reasons
