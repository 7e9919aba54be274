"""A request that is valid but odd must not ask for the machine's whole memory."""

from __future__ import annotations

import tracemalloc

import pytest

from tests.api.fixture_types import Ask, Example

MOST_BYTES = 400_000_000


@pytest.mark.slow
def test_limits_that_lie_far_apart(example: Example, ask: Ask) -> None:
    """10 kg a plane and 1 mg static: every whole degree would be a way to fill each plane."""
    body = example("planFitting", "hidden") | {
        "acceptance": {"kind": "masses", "per_plane_g": 9999, "static_g": 0.001}
    }
    tracemalloc.start()
    try:
        answer = ask("/v1/plans", body)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < MOST_BYTES
    assert answer.status_code == 200
    plan = answer.get_json()
    layouts = [plan["recommended"], *plan["alternatives"]]
    assert any(note["code"] == "search_cut_short" for layout in layouts for note in layout["notes"])
