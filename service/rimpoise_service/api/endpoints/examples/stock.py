"""An invented shop's stock."""

from __future__ import annotations

from typing import Any

STRIP: dict[str, Any] = {
    "sku": "A-105",
    "label": "strip, 5 g segments",
    "material": "steel",
    "segment_mass_g": 5,
    "segment_length_mm": 16,
    "width_mm": 19,
    "thickness_mm": 3.6,
    "max_segments": 12,
    "on_hand": 240,
    "unit_price": "0.18",
    "location": "drawer 3",
}

SHOP_STOCK: dict[str, Any] = {
    "kind": "own",
    "clip_ons": [
        {
            "sku": f"C-{mass}",
            "mass_g": mass,
            "material": "zinc",
            "thickness_mm": {"min": 2.5, "max": 4},
            "for_materials": ["alloy"],
            "length_mm": 14 + 0.8 * mass,
            "height_mm": 10,
            "on_hand": on_hand,
            "unit_price": "0.90",
            "location": "rack 1",
        }
        for mass, on_hand in ((10, 24), (20, 16), (30, 0), (40, 9))
    ],
    "strips": [STRIP],
}
