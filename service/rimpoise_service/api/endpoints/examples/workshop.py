"""Worked requests around the invoice; shop, prices and tax rates are invented."""

from __future__ import annotations

from typing import Any

from ...http.endpoint import Example
from .plans import ALLOY_WHEEL, STEEL_WHEEL, TWO_PLANE
from .stock import SHOP_STOCK

PLANNED_PIECE: dict[str, Any] = {
    "kind": "planned",
    "place": "inner land",
    "side": "inboard",
    "style": "adhesive",
    "sku": "A-105",
    "label": "strip, 5 g segments",
    "material": "steel",
    "mass_g": 35,
    "segments": 7,
    "position_mm": -110,
    "radius_mm": 203.2,
    "effective_gmm": 7022.4,
    "angle_deg": 114.2,
    "clock": "3:48",
    "window": None,
    "arc_deg": 31.3,
    "length_mm": 112,
    "hidden": True,
    "location": "drawer 3",
}

FOUR_WHEELS: dict[str, Any] = {
    "currency": "EUR",
    "wheels": [
        {
            "name": "front left",
            "wheel_type": "alloy",
            "pieces": [PLANNED_PIECE],
            "removed": [{"material": "zinc", "count": 2, "mass_g": 25}, {"material": "lead", "mass_g": 40}],
        },
        {
            "name": "front right",
            "wheel_type": "alloy",
            "pieces": [
                {"kind": "item", "sku": "A-105", "segments": 4},
                {"kind": "item", "sku": "C-20", "location": "rack 1"},
            ],
            "removed": [{"material": "zinc", "count": 3}],
        },
        {"name": "rear left", "wheel_type": "alloy", "pieces": [{"kind": "item", "sku": "C-20", "count": 2}]},
        {"name": "rear right", "wheel_type": "alloy"},
    ],
    "price_list": {
        "items": [
            {"sku": "A-105", "unit_price": "0.185", "label": "adhesive weight, per 5 g segment"},
            {"sku": "C-20", "unit_price": "1.10", "material": "zinc", "location": "rack 1"},
        ],
        "labour": [{"wheel_type": "alloy", "unit_price": "9.75"}, {"unit_price": "8.00"}],
        "disposal": [
            {"material": "lead", "unit_price": "2.40", "per": "kg"},
            {"material": "zinc", "unit_price": "0.05"},
        ],
        "per_vehicle": [{"code": "TORQUE", "label": "re-check of the wheel nuts", "unit_price": "4.00"}],
    },
    "tax_rates": [
        {"line_type": "weights", "rate_pct": "20"},
        {"line_type": "labour", "rate_pct": "20"},
        {"line_type": "disposal", "rate_pct": "7.5"},
        {"line_type": "per_vehicle", "rate_pct": "20"},
    ],
    "lead_ban": "EU 2000/53/EC",
    "reference": "job 1047",
}

FINE_STRIP: dict[str, Any] = {
    "sku": "F-25",
    "material": "steel",
    "segment_mass_g": 2.5,
    "segment_length_mm": 10,
    "width_mm": 19,
    "thickness_mm": 3.6,
    "max_segments": 20,
    "unit_price": "0.14",
}

EXAMPLES: dict[str, dict[str, Example]] = {
    "computeCharges": {
        "four_wheels": Example("Four wheels, one with a plan's piece as it was answered, with tax", FOUR_WHEELS),
        "no_minor_unit": Example(
            "A currency without a minor unit, prices with tax, rounded on the total, half to even",
            {
                "currency": "JPY",
                "wheels": [
                    {
                        "name": "1",
                        "pieces": [
                            {"kind": "item", "sku": "A-105", "segments": 7},
                            {"kind": "item", "sku": "X-9"},
                        ],
                    }
                ],
                "price_list": {"items": [{"sku": "A-105", "unit_price": "27.5"}, {"sku": "X-9"}]},
                "tax_rates": [{"line_type": "weights", "rate_pct": "10"}],
                "prices_include_tax": True,
                "rounding": {"where": "total", "how": "half_even"},
            },
        ),
    },
    "forecastDemand": {
        "fine_strip": Example(
            "Three wheels with the shop's stock, and with a strip of 2.5 g segments besides or nothing else",
            {
                "plans": [
                    {"reading": TWO_PLANE, "wheel": ALLOY_WHEEL, "stock": SHOP_STOCK},
                    {"reading": TWO_PLANE | {"reports": "unbalance"}, "wheel": ALLOY_WHEEL, "stock": SHOP_STOCK},
                    {"reading": TWO_PLANE, "wheel": STEEL_WHEEL, "stock": {"kind": "builtin", "name": "metric"}},
                ],
                "shelves": [
                    {
                        "name": "with 2.5 g",
                        "stock": SHOP_STOCK | {"kind": "own", "strips": [*SHOP_STOCK["strips"], FINE_STRIP]},
                    },
                    {"name": "2.5 g alone", "stock": {"kind": "own", "strips": [dict(FINE_STRIP)]}},
                ],
            },
        ),
    },
}
