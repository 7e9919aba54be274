"""The words of readings and of the balancers that show them."""

from __future__ import annotations

from typing import get_args

from ....model.device import LengthUnit, MassUnit, Sense, Sizes, View
from ....physics.readings import Spun
from ..word_set import word_set

DEVICE_SENSES = word_set(
    "DeviceSense",
    get_args(Sense),
    "The sense in which a device's angles grow, seen from where it says.",
    clockwise="as the hands of a clock",
    counterclockwise="against the hands of a clock",
)
VIEWS = word_set(
    "View",
    get_args(View),
    "A side of the wheel, as where one looks from or the way that distances grow.",
    inboard="from, or towards, the vehicle's side",
    outboard="from, or towards, the street's side",
)
MASS_UNITS = word_set("MassUnit", get_args(MassUnit), "A unit of mass.", g="gram", oz="ounce, 28.349523125 g")
LENGTH_UNITS = word_set(
    "LengthUnit", get_args(LengthUnit), "A unit of length.", mm="millimetre", in_="inch, 25.4 mm"
)
SIZES = word_set("Sizes", get_args(Sizes), "What a size is.", diameter="across the wheel", radius="from the axis")
SPUN = word_set(
    "Spun",
    get_args(Spun),
    "What was on the wheel when it was spun.",
    bare="no weights at all",
    old_weights_on="old weights; known ones belong in old_weights",
    unknown="nobody said",
)
