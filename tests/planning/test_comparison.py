"""What an alternative gains and costs: the numbers re-derived from both layouts, the sentence read."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.planning.comparison import compare
from rimpoise_service.planning.effort import EffortParts
from rimpoise_service.planning.layout_name import LayoutName, StyleAt
from rimpoise_service.planning.models import Layout, Piece
from rimpoise_service.planning.tolerance_check import Residual

PIECE = Piece(
    place="outboard_flange",
    side="outboard",
    style="clip_on",
    sku="HOOK-20",
    label=None,
    material="zinc",
    mass_g=20.0,
    segments=None,
    position_mm=44.0,
    radius_mm=215.0,
    effective_gmm=4290.0,
    angle_deg=10.0,
    window=None,
    arc_deg=6.0,
    length_mm=22.0,
    hidden=False,
    location=None,
)
BEST = Layout(
    named=LayoutName("two_planes", (StyleAt("clip_on", "best"),)),
    required=(),
    pieces=(PIECE,),
    residual=Residual((), 0j, 0j, 210.0),
    within_acceptance=True,
    limit_ratio=0.4,
    largest_residual_g=2.0,
    probability=0.9,
    pass_chance_pct=90.0,
    effort_parts=EffortParts(1.0, 0.0, 0.2, 0.0, 0.0),
    least_possible_min=1.2,
    proven_optimal=True,
    price=Decimal("1.20"),
)


def sentence(other: Layout) -> str:
    return ", ".join(text_of(r) for r in compare(other, BEST).said)


def test_every_difference_is_reported_with_its_sign() -> None:
    other = replace(
        BEST,
        pieces=(replace(PIECE, hidden=True, mass_g=15.0), replace(PIECE, hidden=True, mass_g=15.0)),
        largest_residual_g=1.5,
        pass_chance_pct=83.0,
        effort_parts=EffortParts(2.0, 0.6, 0.7, 0.0, 0.0),
        price=Decimal("3.45"),
    )
    found = compare(other, BEST)
    assert found.effort_min == pytest.approx(2.1)
    assert (found.pieces, found.visible_pieces, found.price) == (1, -1, Decimal("2.25"))
    assert found.largest_residual_g == pytest.approx(-0.5)
    assert found.pass_chance_pct == pytest.approx(-7)
    assert found.total_mass_g == pytest.approx(10)
    assert sentence(other) == (
        "takes about 2 min longer, leaves 0.5 g less, passes 83 times in 100 instead of 90, 1 weight more, "
        "1 fewer in sight, 10 g heavier, 2.25 dearer"
    )


def test_the_other_way_round() -> None:
    other = replace(BEST, pieces=(), largest_residual_g=4.0, pass_chance_pct=95.0, price=Decimal("0.20"))
    assert sentence(other) == (
        "leaves 2 g more, passes 95 times in 100 instead of 90, 1 weight fewer, 1 fewer in sight, "
        "20 g lighter, 1 cheaper"
    )
    many = replace(BEST, pieces=(PIECE,) * 4)
    assert "3 weights more" in sentence(many)
    assert "3 more in sight" in sentence(many)


@pytest.mark.parametrize(
    ("marks_min", "said"),
    [
        (0.04, "about the same"),
        (0.06, "takes about 10 s longer"),
        (0.5, "takes about 30 s longer"),
        (1.2, "takes about 1 min longer"),
        (-0.5, "takes about 30 s less"),
        (-1.2, "takes about 1 min less"),
        (-2.6, "takes about 3 min less"),
    ],
)
def test_minutes_come_first(marks_min: float, said: str) -> None:
    other = replace(BEST, effort_parts=EffortParts(1.0, marks_min, 0.2, 0.0, 0.0))
    assert sentence(other).startswith(said)


def test_a_minute_is_a_minute_and_not_sixty_seconds() -> None:
    """Powers of two, so that the difference is exactly one."""
    shorter, longer = (replace(BEST, effort_parts=EffortParts(m, 0.0, 0.25, 0.0, 0.0)) for m in (1.0, 2.0))
    said = [text_of(compare(*pair).said[0]) for pair in ((longer, shorter), (shorter, longer))]
    assert said == ["takes about 1 min longer", "takes about 1 min less"]


def test_a_missing_price_is_not_compared() -> None:
    assert compare(replace(BEST, price=None), BEST).price is None
    assert compare(BEST, replace(BEST, price=None)).price is None
    assert "dearer" not in sentence(replace(BEST, price=None))


def test_no_difference_is_said_too() -> None:
    assert sentence(replace(BEST, named=LayoutName("place", ()), largest_residual_g=2.01)) == "about the same"


def test_the_first_of_all_is_what_the_others_are_compared_with() -> None:
    """As where a cause is looked for first, and nothing is recommended."""
    assert [m.code for m in compare(BEST, BEST).said] == ["comes_first"]


def test_no_minutes_of_what_hardly_ever_passes() -> None:
    """Fitted again and again a hundred times: nobody would."""
    hopeless = replace(BEST, probability=0.001, effort_parts=EffortParts(1.0, 0.0, 297.0, 0.0, 0.0))
    assert compare(hopeless, BEST).effort_min == pytest.approx(296.8)
    assert [m.code for m in compare(hopeless, BEST).said] == ["no_difference"]
