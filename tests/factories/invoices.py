"""Random jobs of a workshop as request bodies, with every oddity that a price list may have. All data invented."""

from __future__ import annotations

import random
from typing import Any

CURRENCIES = ["EUR", "USD", "JPY", "KWD", "CLF"]
KINDS = ["alloy", "steel", "large"]
MATERIALS = ["lead", "zinc", "steel", "other"]

LARGEST: dict[str, Any] = {
    "currency": "CLF",
    "wheels": [
        {"name": str(n), "pieces": [{"kind": "item", "sku": "S", "segments": 60, "count": 1000}] * 64}
        for n in range(32)
    ],
    "price_list": {"items": [{"sku": "S", "unit_price": "999999999.9999"}]},
    "tax_rates": [{"line_type": "weights", "rate_pct": "999.9999"}],
}
"""The job with the largest amounts that the schema admits."""


def random_job(seed: int) -> dict[str, Any]:
    """A job of up to six wheels with every oddity that a price list may have."""
    rng = random.Random(seed)

    def price(most: int = 4) -> str:
        return f"{rng.randint(0, 99)}.{rng.randint(0, 10 ** (n := rng.randint(1, most)) - 1):0{n}d}"

    clips, strips = [f"C-{n}" for n in range(5)], [f"S-{n}" for n in range(3)]
    body: dict[str, Any] = {
        "currency": rng.choice(CURRENCIES),
        "wheels": [_wheel(rng, f"wheel {n}", clips, strips) for n in range(rng.randint(1, 6))],
        "price_list": {
            "items": [
                {"sku": sku} | ({"unit_price": price()} if rng.random() < 0.9 else {})
                for sku in rng.sample(clips + strips, rng.randint(2, 8))
            ],
            "labour": [{"wheel_type": k, "unit_price": price()} for k in rng.sample(KINDS, rng.randint(0, 3))]
            + [{"unit_price": price()}] * rng.randint(0, 1),
            "disposal": [
                {"material": material, "unit_price": price(), "per": rng.choice(["piece", "kg"])}
                for material in rng.sample(MATERIALS, rng.randint(0, 4))
            ],
            "per_vehicle": [
                {"code": f"V-{n}", "unit_price": price(), "quantity": rng.randint(1, 3)}
                for n in range(rng.randint(0, 2))
            ],
        },
        "rounding": {"where": rng.choice(["line", "total"]), "how": rng.choice(["half_up", "half_even"])},
        "tax_rates": [
            {"line_type": kind, "rate_pct": rng.choice(["0", "7.7", "8.875", "19", "20", "25"])}
            for kind in rng.sample(["weights", "labour", "disposal", "per_vehicle"], rng.randint(0, 4))
        ],
        "prices_include_tax": rng.random() < 0.5,
    }
    return body


def _wheel(rng: random.Random, name: str, clips: list[str], strips: list[str]) -> dict[str, Any]:
    item = {"kind": "item"}
    by_hand = [item | {"sku": rng.choice(clips), "count": rng.randint(1, 3)} for _ in range(rng.randint(0, 3))]
    stuck = [item | {"sku": rng.choice(strips), "segments": rng.randint(1, 12)} for _ in range(rng.randint(0, 2))]
    removed = [
        {"material": rng.choice(MATERIALS), "count": rng.randint(1, 4)}
        | ({"mass_g": rng.choice([5, 12.5, 33.3, 60])} if rng.random() < 0.8 else {})
        for _ in range(rng.randint(0, 3))
    ]
    return {"name": name, "pieces": by_hand + stuck, "removed": removed} | (
        {"wheel_type": rng.choice(KINDS)} if rng.random() < 0.8 else {}
    )
