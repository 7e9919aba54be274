"""Arcs against brute-force membership: which directions of a fine circle lie inside."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rimpoise_service.model.arcs import WHOLE_CIRCLE, Arc, merged, subtract
from rimpoise_service.model.wheel import even_spokes
from tests.factories.strategies import angles, arcs, separate_arcs

DIRECTIONS = np.arange(1, 7200, 2)
"""Directions in twentieths of a degree: ends lie on tenths, so each is in or out without doubt."""

Members = NDArray[np.bool_]


def inside(arc: Arc) -> Members:
    """Which directions an arc holds, in whole numbers."""
    off = (DIRECTIONS - 2 * round(arc.start_deg * 10)) % 7200
    members: Members = off < 2 * round(arc.width_deg * 10)
    return members


def union(arcs: Iterable[Arc]) -> Members:
    """Which directions any of the arcs holds."""
    members: Members = np.logical_or.reduce([inside(a) for a in arcs] or [np.zeros(len(DIRECTIONS), dtype=bool)])
    return members


@given(arcs(), st.lists(arcs(), max_size=4))
@example(Arc(350, 20), [Arc(355, 10)])
@example(Arc(350, 20), [Arc(340, 20), Arc(5, 350)])
@example(Arc(0, 360), [Arc(350, 20)])
@example(Arc(90, 0), [])
@example(Arc(10, 100), [Arc(0, 360)])
def test_subtraction_is_set_difference(arc: Arc, taken: list[Arc]) -> None:
    free = subtract(arc, taken)
    expected = inside(arc) & ~union(taken)
    assert (union(free) == expected).all()
    assert sum(piece.width_deg for piece in free) == pytest.approx(expected.sum() / 10, abs=1e-6)


@given(st.lists(arcs(), max_size=4))
def test_subtraction_from_the_whole_circle(taken: list[Arc]) -> None:
    free = subtract(WHOLE_CIRCLE, taken)
    assert (union(free) == ~union(taken)).all()
    assert any(arc.endless for arc in free) == (not taken)


@given(arcs(), st.lists(arcs(), max_size=4))
def test_no_free_stretch_reaches_over_a_keep_out(arc: Arc, taken: list[Arc]) -> None:
    """Not even over a point: no keep-out begins or ends strictly inside what is left."""
    for piece in subtract(arc, taken):
        assert 0 <= piece.start_deg < 360
        assert piece.width_deg > 0 or not taken
        for out in taken:
            for end in (out.start_deg, out.start_deg + out.width_deg):
                ahead = (end - piece.start_deg + 1e-9) % 360 - 1e-9
                assert ahead < 1e-9 or ahead > piece.width_deg - 1e-9


@given(st.integers(0, 3599), st.integers(1, 3599))
def test_a_point_cuts_in_two(start: int, width: int) -> None:
    arc = Arc(start / 10, width / 10, "spoke")
    middle = Arc((start / 10 + width / 20) % 360, 0.0)
    free = subtract(arc, [middle])
    assert [piece.width_deg for piece in free] == pytest.approx([width / 20, width / 20])
    assert {piece.name for piece in free} == {"spoke"}


def test_a_point_opens_the_whole_circle() -> None:
    """Then a piece may go anywhere but over that point."""
    (opened,) = subtract(WHOLE_CIRCLE, [Arc(90, 0)])
    assert (opened.start_deg, opened.width_deg, opened.endless) == (90, 360, False)
    assert [a.width_deg for a in subtract(WHOLE_CIRCLE, [Arc(90, 0), Arc(180, 0)])] == [90, 270]


def test_a_point_at_an_end_changes_nothing() -> None:
    assert subtract(Arc(10, 20), [Arc(10, 0), Arc(30, 0)]) == (Arc(10, 20),)


def test_everything_taken() -> None:
    assert subtract(WHOLE_CIRCLE, [Arc.between(0, 360)]) == ()
    assert subtract(WHOLE_CIRCLE, [Arc(10, 200), Arc(200, 200)]) == ()
    assert subtract(Arc(350, 20), [Arc(340, 40)]) == ()


@given(arcs(), st.permutations([Arc(350, 15), Arc(100, 0), Arc(200, 45.5)]))
def test_the_order_of_keep_outs_does_not_matter(arc: Arc, taken: list[Arc]) -> None:
    assert (union(subtract(arc, taken)) == union(subtract(arc, taken[::-1]))).all()


@given(angles, st.floats(0, 360))
def test_centred(centre: float, width: float) -> None:
    arc = Arc.centred(centre, width)
    assert 0 <= arc.start_deg < 360
    assert abs((arc.centre_deg - centre + 180) % 360 - 180) < 1e-9


@pytest.mark.parametrize(
    ("from_deg", "to_deg", "width"),
    [(0, 360, 360), (90, 90, 0), (350, 10, 20), (10, 350, 340), (360, 10, 10), (270, 0, 90), (270, 360, 90)],
)
def test_between(from_deg: float, to_deg: float, width: float) -> None:
    arc = Arc.between(from_deg, to_deg)
    assert arc.width_deg == width
    assert arc.start_deg == from_deg % 360


@given(arcs(), arcs())
@example(Arc(0, 90), Arc(90, 90))
@example(Arc(350, 20), Arc(355, 1))
def test_overlap_is_a_shared_direction(one: Arc, other: Arc) -> None:
    if (inside(one) & inside(other)).any():
        assert one.overlaps(other)
        assert other.overlaps(one)
    elif one.width_deg and other.width_deg:
        assert not one.overlaps(other)
        assert not other.overlaps(one)


@given(separate_arcs(8))
def test_separate_windows_are_separate(windows: tuple[Arc, ...]) -> None:
    assert not any(a.overlaps(b) for a in windows for b in windows if a is not b)


@given(st.integers(1, 20), angles)
def test_spokes_that_fill_the_circle_touch_but_do_not_overlap(count: int, first: float) -> None:
    """Whatever rounding does to 360 / 7."""
    spokes = even_spokes(count, first, 360 / count)
    assert not any(a.overlaps(b) for a in spokes for b in spokes if a is not b)
    assert all(a.overlaps(a) for a in spokes)


@given(st.integers(1, 20), angles, st.floats(1, 15))
def test_even_spokes(count: int, first: float, width: float) -> None:
    spokes = even_spokes(count, first, width)
    assert [s.name for s in spokes] == [str(i + 1) for i in range(count)]
    for i, spoke in enumerate(spokes):
        assert abs((spoke.centre_deg - first - 360 * i / count + 180) % 360 - 180) < 1e-9
        assert spoke.width_deg == width


@given(arcs(), arcs())
def test_containing_is_containing_every_direction(outer: Arc, inner: Arc) -> None:
    if inner.width_deg == 0:
        return
    every = bool((inside(outer) | ~inside(inner)).all())
    # A full turn that is not endless has two ends, over which nothing inside it may reach.
    if every and outer.width_deg < 360:
        assert outer.contains(inner)
    if not every:
        assert not outer.contains(inner)
    assert WHOLE_CIRCLE.contains(inner)


@given(st.lists(arcs().filter(lambda a: a.width_deg > 0), max_size=6))
@example([Arc(0, 200), Arc(200, 160)])
@example([Arc(0, 180), Arc(180, 180)])
@example([Arc(0, 20), Arc(0, 20)])
@example([Arc(300, 100), Arc(20, 10), Arc(35, 1)])
@example([Arc(90, 360)])
def test_merged_arcs_cover_the_same_and_never_touch(some: list[Arc]) -> None:
    covers = merged(some)
    assert (union(covers) == union(some)).all()
    assert any(c.endless for c in covers) == bool(union(some).all())
    for one in covers:
        for other in covers:
            ahead = (other.start_deg - one.start_deg - one.width_deg + 1e-6) % 360 - 1e-6
            assert one.endless or ahead > 1e-6


@given(st.permutations([Arc(350, 20, "a"), Arc(10, 5, "b"), Arc(15, 40, "c"), Arc(100, 5, "d"), Arc(105, 5, "e")]))
def test_merged_arcs_are_named_from_the_first_to_the_last(some: list[Arc]) -> None:
    assert {c.name for c in merged(some)} == {"a to c", "d and e"}


@given(st.integers(2, 40), angles)
def test_spokes_that_fill_the_circle_are_one_cover_without_a_seam(count: int, first: float) -> None:
    (cover,) = merged(even_spokes(count, first, 360 / count))
    assert cover.endless
    assert cover.name == ("1 and 2" if count == 2 else f"1 to {count}")


@given(st.integers(1, 20), angles, st.floats(1, 15))
def test_spokes_apart_stay_as_they_are(count: int, first: float, width: float) -> None:
    spokes = even_spokes(count, first, width)
    assert sorted(merged(spokes), key=str) == sorted(spokes, key=str)
