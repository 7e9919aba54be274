"""A layout's name is one text for programs and a message for people; neither is read back from the other."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.messages.reader import Language, Reader
from rimpoise_service.planning.layout_name import LayoutName, StyleAt, Way, said_of
from rimpoise_service.planning.models import STYLES, Piece
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import request, two_plane, wheel

INNER, OUTER = StyleAt("clip_on", "inboard_flange"), StyleAt("clip_on", "outboard_flange")
BEHIND = StyleAt("adhesive", "front band", behind_spokes=True)
PLACES = (INNER, BEHIND, OUTER)
PLAN = make_plan(request(two_plane(30, 40, 20, 210), wheel()))
PIECE = PLAN.layouts[0].pieces[0]


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en-GB", "clip-on, inner flange + adhesive, front band, behind the spokes"),
        ("en-US", "clip-on, inner side + stick-on, front band, behind the spokes"),
        ("de", "Schlaggewichte, Felgenhorn innen + Klebegewichte, front band, hinter den Speichen"),
        ("es", "contrapesos de grapa, pestaña interior + contrapesos adhesivos, front band, detrás de los radios"),
    ],
)
def test_it_is_said_in_the_readers_language(language: Language, said: str) -> None:
    named = LayoutName("two_planes", (INNER, BEHIND))
    assert text_of(named.in_words, Reader(language)) == said
    assert named.text == "clip-on on inboard flange + adhesive on front band behind the spokes"


def test_a_motorcycles_are_left_and_right() -> None:
    named = LayoutName("halves", (INNER, OUTER))
    assert text_of(named.in_words, Reader(rider=True)) == (
        "static, half on each side: clip-on, left flange + clip-on, right flange"
    )
    assert named.text == "static, half each: clip-on on inboard flange + clip-on on outboard flange"


def test_no_two_names_are_the_same() -> None:
    parts = [StyleAt(s, p, b) for s, p, b in product(STYLES, ("a", "b"), (False, True))]
    pairs = [pair for pair in product(parts, parts) if pair[0] != pair[1]]
    ways: tuple[Way, Way] = ("two_planes", "halves")
    names = [LayoutName(way, pair) for way, pair in product(ways, pairs)]
    names += [LayoutName("one_plane", (part,)) for part in parts]
    assert len({n.text for n in names}) == len({text_of(n.in_words) for n in names}) == len(names)


def fitted(part: StyleAt) -> Piece:
    """A piece of the plan there."""
    return replace(PIECE, style=part.style, place=part.place, window="5–1" if part.behind_spokes else None)


def test_by_its_pieces() -> None:
    """Their places in order; the way that was given where it goes with so many."""
    named = {
        way: [said and text_of(said) for n in range(4) for said in [said_of(way, map(fitted, PLACES[:n]))]]
        for way in ("", "one_plane", "two_planes", "halves")
    }
    one, two = "clip-on, inner flange", "clip-on, inner flange + adhesive, front band, behind the spokes"
    three = "inner flange, front band, outer flange"
    assert named[""] == named["two_planes"] == [None, one, two, three]
    assert named["one_plane"] == [None, f"static only: {one}", two, three]
    assert named["halves"] == [None, one, f"static, half on each side: {two}", three]


def test_a_place_is_behind_the_spokes_if_all_of_its_pieces_are() -> None:
    pieces = [fitted(BEHIND), replace(fitted(BEHIND), window=None)]
    assert said_of("", pieces) == LayoutName("place", (replace(BEHIND, behind_spokes=False),)).in_words


def test_a_plan_names_its_layouts_both_ways() -> None:
    best = PLAN.layouts[0]
    assert best.name == best.named.text
    assert best.in_words.code == "layout_two_planes"
    assert all(out.in_words.code.startswith("layout_") for out in PLAN.ruled_out)
