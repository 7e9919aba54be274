"""What to fetch from the shelf and what goes to recycling, counted again from the job."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.workshop.invoice_models import (
    ChargedPiece,
    InvoiceRequest,
    JobWheel,
    PricedItem,
    PriceList,
    RemovedWeight,
)
from rimpoise_service.workshop.pick_list import Cut, Pick, Picking, pick_list, recycling
from tests.factories.invoices import MATERIALS, random_job
from tests.workshop.bookkeeper import request_of

seeds = st.integers(0, 10**9)


@given(seeds)
def test_every_piece_is_picked(seed: int) -> None:
    request = request_of(random_job(seed))
    fitted: Counter[str] = Counter()
    for wheel in request.wheels:
        for piece in wheel.pieces:
            fitted[piece.sku] += piece.count * (piece.segments or 1)
    picked: Counter[str] = Counter()
    for picking in pick_list(request):
        for pick in picking.picks:
            picked[pick.sku] += pick.segments or pick.pieces
            assert (pick.segments is None) == (pick.cuts == ())
            if pick.segments is not None:
                assert sum(c.segments * c.pieces for c in pick.cuts) == pick.segments
                assert sum(c.pieces for c in pick.cuts) == pick.pieces
    assert picked == fitted


@given(seeds)
def test_the_tally_counts_all_that_came_off(seed: int) -> None:
    body = random_job(seed)
    off = [old for wheel in body["wheels"] for old in wheel["removed"]]
    tally = {row.material: row for row in recycling(request_of(body))}
    assert [m for m in MATERIALS if m in tally] == list(tally)
    assert tally.keys() == {old["material"] for old in off}
    for material, row in tally.items():
        alike = [old for old in off if old["material"] == material]
        assert row.count == sum(old["count"] for old in alike)
        assert float(row.mass_g) == pytest.approx(sum(old["count"] * old.get("mass_g", 0) for old in alike))
        assert row.unweighed == sum(old["count"] for old in alike if "mass_g" not in old)


def test_the_list_goes_by_place_then_by_sku() -> None:
    """The piece's own place counts before the price list's; the list's label before the piece's."""
    left = JobWheel(
        "left",
        pieces=(
            ChargedPiece("S-5", segments=3, location="drawer 2", label="strip"),
            ChargedPiece("C-20", count=2),
            ChargedPiece("A-1"),
        ),
        removed=(RemovedWeight("zinc", 2, 12.5),),
    )
    right = JobWheel("right", pieces=(ChargedPiece("S-5", segments=5), ChargedPiece("S-5", segments=3, count=2)))
    prices = PriceList(
        (PricedItem("S-5", location="drawer 2"), PricedItem("C-20", label="clip", location="drawer 1"))
    )
    request = InvoiceRequest("EUR", (right, left), prices)
    strip = Pick("S-5", "strip", 4, 14, (Cut(5, 1), Cut(3, 3)), ("left", "right"))
    assert pick_list(request) == (
        Picking("drawer 1", (Pick("C-20", "clip", 2, None, (), ("left",)),)),
        Picking("drawer 2", (strip,)),
        Picking(None, (Pick("A-1", None, 1, None, (), ("left",)),)),
    )
