"""From where on a reading or a wheel is doubted or refused. No source named: common practice, no source."""

from __future__ import annotations

from ..model.device import MassUnit
from ..model.wheel import VehicleClass

FAR_OFF_RIM_MM = 60.0
"""No weight sits further outside the rim than this; further out another datum was meant [mm]."""

OFF_PLACES_MM = 15.0
"""A plane further from every place than half a strip and a gauge's error is another place's [mm]."""

RADIUS_REFUSED = (0.6, 1.3)
"""Shares of the rim's radius: a radius sent as a diameter is 2 ×, another unit or another rim is under or over."""

RADIUS_DOUBTED = (0.8, 1.15)
"""The deepest lands are at 0.8 of the rim's radius, the lip's edge at 1.1."""

LIP_EDGE_MM = 3.0
"""A radius that near the lip's edge was probably measured there, not at the weight's middle [mm]."""

LAND_OUTSIDE_MM = 5.0
"""A ruler laid into a barrel errs by so much [mm]."""

LAND_DEPTH = 0.5
"""No barrel is deeper than half of the rim's radius."""

FLANGES_DIFFER_MM = 25.4
"""Weights hang up to half an inch off the marked width; an inch is another rim, or another datum [mm]."""

OFFSET_DIFFERS_MM = 5.0
"""A spacer is 5 mm or more; under that it is how offset was measured [mm]."""

WIDTH_DIFFERS_IN = 0.5
"""Rims come in steps of half an inch [in]."""

SIZE_DIFFERS_IN = 0.5
"""The specified diameter is up to 0.2 in over its code; half an inch off is as near to another code [in]."""

MOST_G: dict[VehicleClass, float] = {
    "motorcycle": 300,
    "car": 500,
    "light_truck": 800,
    "van": 800,
    "trailer": 800,
    "heavy_truck": 2500,
    "bus": 2500,
}
"""More than this at a flange is no wheel's unbalance: a unit or a radius is wrong [g]."""

OUNCES_MOST, OUNCES_STEP = 8.0, 0.05
"""Ounces are small and shown in steps of 0.05 or 0.25; grams mostly whole."""

LOOSE_MASSES = 2.0
"""Times the usual limit that a shop may set without a word: 10 g a side of a car is published (Wang, ed., Vehicle
Noise and Vibration Refinement, Woodhead 2010, table 16.1)."""

ASSEMBLY_KG: dict[VehicleClass, tuple[float, float]] = {
    "motorcycle": (2, 40),
    "car": (6, 60),
    "light_truck": (6, 100),
    "van": (6, 100),
    "trailer": (6, 100),
    "heavy_truck": (20, 300),
    "bus": (20, 300),
}
"""What wheel and tyre together weigh [kg]."""

SENSOR_G, SENSOR_DEG = (15.0, 50.0), 30.0
"""A sensor of 25 to 40 g with its valve, less what the wheel's maker balanced away; and how near to the valve."""

COARSE_STEP_G = 5.0
"""From this display step on, rounding is most of a reading's error; 5 g and 1/4 oz are usual [g]."""

COARSE_STEPS: dict[MassUnit, float] = {"g": 5.0, "oz": 0.25}
"""What a coarse display shows multiples of, in its unit; its fine one has 1 g or 0.05 oz."""

ROLLING_SHARES = (1.0, 3.0)
"""A tyre is larger than its rim; the largest on the smallest rims roll on nearly three times the rim's radius."""
