"""What the weights of the built-in sets are called, in words; their labels in the stock are stable English names.

A label is looked up as a whole, like a code.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..messages.message import Message, message
from .stock import BUILTIN, ClipOn, Strip

SLIM_MM = 15.0
"""Strips narrower than this are called slim [mm]."""


def _said(item: ClipOn | Strip) -> Message:
    if isinstance(item, ClipOn):
        return message("generic_spoke_weight" if item.wire_spokes else "generic_clip", mass_g=item.mass_g)
    code = "generic_slim_strip" if item.width_mm < SLIM_MM else "generic_strip"
    return message(code, mass_g=item.segment_mass_g)


ITEMS: tuple[ClipOn | Strip, ...] = tuple(
    item for stock in BUILTIN.values() for items in (stock.clip_ons, stock.strips) for item in items
)
"""Of all built-in sets."""

GENERIC_LABELS: Mapping[str, Message] = {item.label: _said(item) for item in ITEMS if item.label is not None}
"""Label → the same for people; a shop's own labels are not in it."""
