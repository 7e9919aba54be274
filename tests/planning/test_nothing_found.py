"""Why no weights are recommended: each sentence exactly where it is true, in every language."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.messages.message import message
from rimpoise_service.messages.reader import LANGUAGES, Language, Reader, reading_as
from rimpoise_service.model.stock import Stock
from rimpoise_service.model.wheel import Flange
from rimpoise_service.planning import layout_search
from rimpoise_service.planning.models import Decision, PlanRequest, Preferences
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import (
    NO_FLANGE,
    clips,
    codes,
    land,
    request,
    static,
    strip,
    two_plane,
    wheel,
)

CALLED = two_plane(30, 40, 20, 210)
SIX, SIXTY = static(6, 0), Stock(clips(60))
"""6 g called, and nothing but 60 g on the shelf."""
ALONE = Preferences(correction="static", max_pieces_per_plane=1)
CLIPS_ALONE = Preferences(correction="static", max_pieces_per_plane=1, styles=("clip_on",))

CASES: dict[str, tuple[str, PlanRequest]] = {
    "nothing described": ("places_unknown", request(CALLED, wheel(inboard=None, outboard=None))),
    "a static reading, nothing described": ("places_unknown", request(SIX, wheel(inboard=None, outboard=None))),
    "no lips, lands not described": (
        "places_unknown",
        request(CALLED, wheel(inboard=NO_FLANGE, outboard=NO_FLANGE)),
    ),
    "clips go by a thickness not known": (
        "places_unknown",
        request(CALLED, wheel(inboard=Flange(True), outboard=Flange(True)), preferences=CLIPS_ALONE),
    ),
    "an empty shelf": ("no_place", request(CALLED, wheel(), Stock())),
    "an empty shelf, nothing described": (
        "no_place",
        request(CALLED, wheel(inboard=None, outboard=None), Stock()),
    ),
    "no lips, no strips on the shelf": (
        "no_place",
        request(CALLED, wheel(inboard=NO_FLANGE, outboard=NO_FLANGE), SIXTY),
    ),
    "no lips, strips wider than the land": (
        "no_place",
        request(
            CALLED,
            wheel(inboard=NO_FLANGE, outboard=NO_FLANGE, lands=(land("narrow", 0, width_mm=5.0),)),
            Stock((), (strip(),)),
        ),
    ),
    "too heavy on every flange": ("none_possible", request(SIX, wheel(), SIXTY, preferences=ALONE)),
    "too heavy where the other side has no lip": (
        "none_possible",
        request(SIX, wheel(outboard=NO_FLANGE), SIXTY, preferences=ALONE),
    ),
    "too heavy on one flange, the other unknown": (
        "none_at_known_places",
        request(SIX, wheel(outboard=None), SIXTY, preferences=ALONE),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_the_headline_says_what_is_so(name: str) -> None:
    expected, requested = CASES[name]
    plan = make_plan(requested)
    assert (plan.decision, plan.layouts) == (Decision.NONE_POSSIBLE, ())
    assert plan.headline == message(f"headline_{expected}")


@pytest.mark.parametrize(
    ("name", "places"),
    [
        ("an empty shelf", ["inboard_flange", "outboard_flange"]),
        ("no lips, strips wider than the land", ["narrow"]),
        ("no lips, no strips on the shelf", []),
        ("too heavy on every flange", []),
    ],
)
def test_where_no_weight_in_stock_fits_others_are_to_be_had(name: str, places: list[str]) -> None:
    steps = make_plan(CASES[name][1]).next_steps
    assert [s.values["places"] for s in steps if s.code == "get_fitting_weights"] == [tuple(places)] * bool(places)


def test_what_was_not_searched_is_not_said_to_be_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same wheel with enough work, and without any."""
    requested = CASES["too heavy on every flange"][1]
    assert make_plan(requested).headline.code == "headline_none_possible"
    monkeypatch.setattr(layout_search, "PLAN_WORK", 0)
    plan = make_plan(requested)
    assert plan.decision is Decision.NONE_POSSIBLE
    assert {code for out in plan.ruled_out for code in codes(out.reasons)} == {"search_cut_short"}
    assert plan.headline.code == "headline_none_found"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_reader_learns_which(language: Language) -> None:
    with reading_as(Reader(language)):
        texts = {text_of(make_plan(requested).headline) for _, requested in CASES.values()}
    assert len(texts) == len({code for code, _ in CASES.values()})


def test_where_other_places_are_needed_those_without_weights_in_stock_are_named() -> None:
    """60 g on a land of 60 mm is out of the reach of strips; the lip would take a clip, and the shelf has none."""
    lands = wheel(outboard=NO_FLANGE, lands=(land("small", 0, radius_mm=60),))
    shelf = Stock((), (replace(strip(2.0, max_segments=12), segment_length_mm=24.0),))
    plan = make_plan(request(static(60, 60), lands, shelf))
    assert (plan.decision, codes(plan.reasons)) == (Decision.BEST_EFFORT, ["other_places_needed"])
    assert [s.values["places"] for s in plan.next_steps if s.code == "get_fitting_weights"] == [
        ("inboard_flange",)
    ]
