"""What is refused and what is doubted of planes, lands and rims, on both sides of every threshold."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.device import Device
from rimpoise_service.model.reading import (
    AtPlace,
    Dialled,
    GivenPlanes,
    MachineReading,
    ShownPlanes,
    ShownVector,
    TiedToPlace,
)
from rimpoise_service.model.resolution import resolve
from rimpoise_service.model.wheel import Land, Wheel
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.plausibility import reading_flaws, reading_notes
from rimpoise_service.planning.wheel_plausibility import wheel_doubts, wheel_flaws
from tests.planning.doubts import INNER_MM, OUTER_MM, RADIUS_MM, WHEEL, doubts, flaws, planes


def test_a_usual_reading_is_neither() -> None:
    assert flaws(planes()) == doubts(planes()) == []


@pytest.mark.parametrize(
    ("inner_mm", "outer_mm", "rules"),
    [
        (105.0, 283.0, ["planes_on_rim"]),  # as measured from the balancer's body
        (44.0, 60.0, ["planes_on_rim"]),
        (43.8, 60.0, []),
        (-150.0, -134.0, ["planes_on_rim"]),
        (-150.0, -133.8, []),
        (INNER_MM - 59.9, OUTER_MM, []),
        (INNER_MM - 60.1, OUTER_MM, ["planes_on_rim"]),
        (INNER_MM, OUTER_MM + 59.9, []),
        (INNER_MM, OUTER_MM + 60.1, ["planes_on_rim"]),
    ],
)
def test_planes_outside_the_rim(inner_mm: float, outer_mm: float, rules: list[str]) -> None:
    """Both on one side, or one by more than 60 mm; 7 in, ET45: the rim is from -133.9 to 43.9 mm."""
    assert flaws(planes(inner_mm, outer_mm)) == rules


def test_whoever_is_refused_reads_where_the_rim_is() -> None:
    """Both planes outside it, one of them, or a land: from -133.9 to 43.9 mm, and how far off."""
    land = replace(LANDED.lands[0], position_mm=60.0)
    refused = [
        *(reading_flaws(g, resolve(g, WHEEL), WHEEL) for g in (planes(44.0, 60.0), planes(INNER_MM, 120.0))),
        wheel_flaws(replace(WHEEL, lands=(land,))),
    ]
    said = [text_of(flaw.said) for (flaw,) in map(list, refused)]
    assert said[0].startswith("both planes are outside the rim, which is from -133.9 to 43.9 mm;")
    assert said[1].startswith("120 mm is 76 mm outside the rim (-133.9 to 43.9 mm);")
    assert said[2].startswith("60 mm is outside the rim, which is from -133.9 to 43.9 mm;")


@pytest.mark.parametrize(
    ("share", "refused", "doubted"),
    [
        (2.0, True, True),
        (1.301, True, True),
        (1.299, False, True),
        (1.151, False, True),
        (1.149, False, False),
        (0.801, False, False),
        (0.799, False, True),
        (0.601, False, True),
        (0.599, True, True),
        (1 / 25.4, True, True),
    ],
)
def test_radii_against_the_rims(share: float, refused: bool, doubted: bool) -> None:
    """A diameter is 2 ×, inches sent as millimetres a 25th."""
    given = planes(radius_mm=share * RADIUS_MM, mass_g=10)
    assert ("radius_on_rim" in flaws(given)) is refused
    assert ("radius_unlikely" in doubts(given)) is doubted


@pytest.mark.parametrize(("radius_mm", "noted"), [(232.7, False), (232.9, True), (238.7, True), (238.9, False)])
def test_the_lips_edge_is_noted(radius_mm: float, noted: bool) -> None:
    """218.3 and a J flange of 17.5 mm: 235.8, within 3 mm."""
    given = GivenPlanes((PointMass(OUTER_MM, radius_mm, 30, 80),))
    found = [m.code for m in reading_notes(given, resolve(given, WHEEL), WHEEL)]
    assert found == ["radius_is_lip_edge"] * noted


LANDED = replace(WHEEL, lands=(Land("spoke land", "outboard", -20.0, 196.0, 40.0, True, True),))


@pytest.mark.parametrize(
    ("outer_mm", "wheel", "doubted"),
    [
        (OUTER_MM + 14.9, WHEEL, False),
        (OUTER_MM + 15.1, WHEEL, True),
        (OUTER_MM - 15.1, WHEEL, True),
        (-20.0, WHEEL, True),
        (-20.0, LANDED, False),
        (-35.1, LANDED, True),
        (-34.9, LANDED, False),
    ],
)
def test_planes_at_no_place(outer_mm: float, wheel: Wheel, doubted: bool) -> None:
    assert doubts(planes(outer_mm=outer_mm), wheel) == ["plane_off_places"] * doubted


@pytest.mark.parametrize(
    ("position_mm", "doubted"), [((INNER_MM + OUTER_MM) / 2, False), (OUTER_MM - 16, False), (OUTER_MM + 16, True)]
)
def test_a_static_plane_may_be_anywhere_between_the_flanges(position_mm: float, doubted: bool) -> None:
    """Narrow wheels are read in their middle, where no flange is."""
    given = GivenPlanes((PointMass(position_mm, RADIUS_MM, 20.0, 70.0),))
    assert doubts(given) == ["plane_off_places"] * doubted


def test_a_plane_by_place_needs_no_look() -> None:
    given = GivenPlanes((AtPlace("inboard_flange", 30, 80), AtPlace("spoke land", 30, 80)))
    assert doubts(given, LANDED) == []


def dialled(width_in: float = 7, size_in: float = 17.2, wheel: Wheel = WHEEL) -> list[str]:
    """The warnings about a machine dialled so."""
    shown = ShownPlanes(ShownVector(30.0, 80.0), ShownVector(20.0, 260.0))
    set_to = Dialled((104.0,), (size_in, size_in), TiedToPlace("inboard_flange"), width_in)
    return doubts(MachineReading(Device(), shown, set_to), wheel)


@pytest.mark.parametrize(
    ("width_in", "size_in", "codes"),
    [
        (7, 17.2, []),
        (7.49, 17.2, []),
        (7.5, 17.2, ["width_differs"]),
        (6.51, 17.2, []),
        (6.5, 17.2, ["width_differs"]),
        (7, 16.51, []),
        (7, 16.0, ["size_differs"]),
        (7, 16.5, ["size_differs"]),
        (7, 17.49, []),
        (7, 17.5, ["size_differs"]),
        (7, 18, ["size_differs"]),
    ],
)
def test_what_was_dialled_against_the_marking(width_in: float, size_in: float, codes: list[str]) -> None:
    """Half an inch of width or of size, as another inch code is."""
    assert [code for code in dialled(width_in, size_in) if code.endswith("differs")] == codes


@pytest.mark.parametrize(
    ("width_in", "size_in", "codes"),
    [(4.48, 15.4, []), (4.48, 17.2, ["width_differs"]), (5.5, 15.4, ["width_differs"]), (7, 17.2, [])],
)
def test_the_distance_to_a_land_is_not_the_rims_width(width_in: float, size_in: float, codes: list[str]) -> None:
    """From the inner flange at −133.9 to the land at −20 mm are 4.48 in; its size says that it is meant."""
    found = dialled(width_in, size_in, wheel=LANDED)
    assert [code for code in found if code == "width_differs"] == codes


def test_a_lands_size_is_not_the_rims() -> None:
    """The land at 196 mm is 15.4 in across."""
    assert "size_differs" not in dialled(size_in=15.4, wheel=LANDED)
    assert "size_differs" in dialled(size_in=15.4)


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        ({}, []),
        ({"position_mm": OUTER_MM + 4.9}, []),
        ({"position_mm": OUTER_MM + 5.1}, ["lands_in_rim"]),
        ({"position_mm": INNER_MM - 4.9}, []),
        ({"position_mm": INNER_MM - 5.1}, ["lands_in_rim"]),
        ({"radius_mm": 235.7}, []),
        ({"radius_mm": 235.9}, ["lands_in_rim"]),
        ({"radius_mm": 109.2}, []),
        ({"radius_mm": 109.1}, ["lands_in_rim"]),
    ],
)
def test_lands_where_the_barrel_has_none(change: dict[str, Any], rules: list[str]) -> None:
    wheel = replace(WHEEL, lands=(replace(LANDED.lands[0], **change),))
    assert [flaw.rule for flaw in wheel_flaws(wheel)] == rules


@pytest.mark.parametrize(("inner_mm", "rules"), [(-20.0, []), (-19.9, ["lands_in_order"])])
def test_an_inboard_land_is_not_outboard_of_an_outboard_one(inner_mm: float, rules: list[str]) -> None:
    inner = Land("inner land", "inboard", inner_mm, 196.0, 40.0, False, False)
    assert [flaw.rule for flaw in wheel_flaws(replace(WHEEL, lands=(*LANDED.lands, inner)))] == rules


@pytest.mark.parametrize(("width_mm", "doubted"), [(17.8, False), (18.2, True)])
def test_a_land_wider_than_the_rim(width_mm: float, doubted: bool) -> None:
    """4 mm inside the flange, so that half of 18 mm reaches 5 mm out."""
    land = replace(LANDED.lands[0], position_mm=OUTER_MM - 4, width_mm=width_mm)
    codes = [m.code for m in wheel_doubts(replace(WHEEL, lands=(land,)))]
    assert codes == ["land_wider_than_rim"] * doubted


@pytest.mark.parametrize(("offset_mm", "doubted"), [(40, False), (39.9, True), (50, False), (50.1, True)])
def test_an_offset_that_is_not_the_markings(offset_mm: float, doubted: bool) -> None:
    codes = [m.code for m in wheel_doubts(replace(WHEEL, offset_mm=offset_mm))]
    assert codes == ["offset_differs"] * doubted
