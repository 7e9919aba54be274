"""Does this weight fit there? The trade's rules of fit, each with its reason (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterator

from .remarks import Remark, remark
from .stock import ClipOn, Strip
from .wheel import Flange, Land, Wheel


def clip_misfits(clip: ClipOn, flange: Flange, wheel: Wheel) -> Iterator[Remark]:
    """Why a clip-on does not fit a flange; nothing if it does."""
    if clip.on_hand == 0:
        yield remark("out_of_stock")
    if clip.for_materials is not None and wheel.material not in clip.for_materials:
        yield remark("not_for_material", material=wheel.material)
    if clip.for_vehicles is not None and wheel.vehicle not in clip.for_vehicles:
        yield remark("not_for_vehicle", vehicle=wheel.vehicle.replace("_", " "))
    if flange.max_height_mm is not None:
        if clip.height_mm is None:
            yield remark("height_unknown")
        elif clip.height_mm > flange.max_height_mm:
            yield remark("too_high", max_height_mm=flange.max_height_mm)
    yield from _lip_misfits(clip, flange)


def _lip_misfits(clip: ClipOn, flange: Flange) -> Iterator[Remark]:
    """A profile named by the shop's own guide or gauge is the surer sign; then the lip's thickness decides."""
    named = clip.profiles is not None and flange.profile is not None
    if named and flange.profile in (clip.profiles or ()):
        return
    if clip.thickness_mm is not None and flange.thickness_mm is not None:
        if flange.thickness_mm not in clip.thickness_mm:
            yield remark("thickness_misfit", thickness_mm=flange.thickness_mm)
    elif named:
        yield remark("profile_misfit", profile=flange.profile)
    elif clip.thickness_mm is not None or clip.profiles is not None:
        yield remark("flange_unmeasured")


def strip_misfits(strip: Strip, land: Land) -> Iterator[Remark]:
    """Why a strip does not fit a land; nothing if it does."""
    if strip.on_hand == 0:
        yield remark("out_of_stock")
    if strip.width_mm > land.width_mm:
        yield remark("too_wide", width_mm=land.width_mm)
    if land.max_height_mm is not None and strip.thickness_mm > land.max_height_mm:
        yield remark("too_high", max_height_mm=land.max_height_mm)
