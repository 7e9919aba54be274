"""Places found once for the same objects, and no more of them kept than are wanted."""

from __future__ import annotations

from dataclasses import replace

from rimpoise_service.model.stock import Stock
from rimpoise_service.planning.models import Preferences
from rimpoise_service.planning.places import KEPT, PlaceCache, find_places
from tests.factories.by_hand import clips, wheel

SHELF = Stock(clips(10, 20))
FREE = Preferences()


def test_the_same_objects_are_looked_at_once() -> None:
    found, on = PlaceCache(), wheel()
    first = found(on, SHELF, FREE)
    assert [p.name for p in first.places] == [p.name for p in find_places(on, SHELF, FREE).places]
    assert found(on, SHELF, FREE) is first
    assert found(on, SHELF, Preferences(max_pieces_per_plane=1)) is not first
    assert found(replace(on), SHELF, FREE) is not first
    assert found(on, replace(SHELF), FREE) is not first


def test_those_used_last_are_kept() -> None:
    found, wheels = PlaceCache(), [wheel() for _ in range(KEPT + 1)]
    first = [found(each, SHELF, FREE) for each in wheels[:KEPT]]
    assert found(wheels[0], SHELF, FREE) is first[0]  # used again, so that the second is now the oldest
    found(wheels[KEPT], SHELF, FREE)
    assert found(wheels[0], SHELF, FREE) is first[0]
    assert found(wheels[1], SHELF, FREE) is not first[1]
