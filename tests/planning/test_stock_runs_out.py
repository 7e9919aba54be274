"""What a shelf runs out of, where more of it would make a wheel pass."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.stock import Stock
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import NO_FLANGE, ONE_PIECE, clips, land, request, strip, two_plane, wheel

OTHERS = "It would pass with more masses in stock to choose from."


@pytest.mark.parametrize(
    ("on_hand", "texts"),
    [
        ({35: 1, 5: 9}, ["It would pass with 2 pieces of 35 g on the shelf instead of 1.", OTHERS]),
        ({35: 0, 25: 9}, ["It would pass with 2 pieces of 35 g on the shelf instead of 0.", OTHERS]),
        ({60: 1, 20: 1}, [OTHERS]),
    ],
)
def test_what_a_shelf_runs_out_of(on_hand: dict[int, int], texts: list[str]) -> None:
    """35 g on each side: pieces of a mass that is there are no finer masses."""
    shelf = Stock(tuple(replace(clips(g)[0], sku=f"{g} g", on_hand=n) for g, n in on_hand.items()))
    plan = make_plan(request(two_plane(35, 80, 35, 255), wheel(), shelf, preferences=ONE_PIECE))
    assert [text_of(said) for said in plan.reasons] == texts


def test_all_that_the_shelf_runs_out_of() -> None:
    """35 and 20 g with one mass of each short; a strip is counted in segments."""
    short = Stock(tuple(replace(clips(g)[0], sku=f"{g} g", on_hand=n) for g, n in {35: 0, 20: 0, 10: 2}.items()))
    plan = make_plan(request(two_plane(35, 80, 20, 255), wheel(), short, preferences=ONE_PIECE))
    *of_shelves, others = plan.reasons
    assert [said.values["sku"] for said in of_shelves] == ["35 g", "20 g"]
    assert all(text_of(s).endswith(", if there is enough of the others named here too.") for s in of_shelves)
    assert text_of(others) == OTHERS
    lands = wheel(inboard=NO_FLANGE, outboard=NO_FLANGE, lands=(land("a", -100), land("b", 100)))
    plan = make_plan(request(two_plane(35, 80, 35, 255), lands, Stock((), (strip(5.0, on_hand=6),))))
    assert plan.reasons[0].values.items() >= {"segments": 14, "on_hand": 6}.items()
