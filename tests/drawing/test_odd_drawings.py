"""Drawings of what is rare: other papers, no weights, full circles, hostile texts, weights without a length."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from rimpoise_service.drawing.blocks import blocks_of
from rimpoise_service.drawing.given import GivenPiece
from rimpoise_service.drawing.page import draw, face_view
from rimpoise_service.drawing.part import Part
from rimpoise_service.drawing.subject import Subject, UnknownLayout, subject_of
from rimpoise_service.messages.catalogue import CATALOGUE
from rimpoise_service.messages.reader import LANGUAGES, Language, Reader, reading_as
from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import Stock
from rimpoise_service.model.wheel import KeepOut
from rimpoise_service.planning.models import Decision, PlanRequest
from rimpoise_service.planning.planner import make_plan
from tests.drawing.svg_reading import (
    NS,
    apart,
    centre_of,
    clockwise_deg,
    parsed,
    part,
    points,
    reduction,
    sectors,
    spoken,
    words,
)
from tests.factories.by_hand import clips
from tests.factories.drawn import ALLOY, plan_request, two_plane
from tests.factories.seeded import shop_job

HOSTILE = "</text><script>alert('&amp;')</script><!-- \u202e\ufffe ]]>"


@pytest.mark.parametrize(("paper", "size"), [("a4", ("210mm", "297mm")), ("letter", ("215.9mm", "279.4mm"))])
def test_the_paper(paper: str, size: tuple[str, str]) -> None:
    """ISO 216; ANSI/ASME Y14.1."""
    request = plan_request()
    svg = parsed(draw(subject_of(request, make_plan(request)), paper))  # type: ignore[arg-type]
    assert (svg.attrib["width"], svg.attrib["height"]) == size


def test_any_layout_is_drawn_by_its_name() -> None:
    request = plan_request()
    plan = make_plan(request)
    for layout in plan.layouts:
        subject = subject_of(request, plan, layout.name)
        svg = parsed(draw(subject))
        assert spoken(layout.name) in (svg[0].text or "")
        assert len(words(part(svg, "face-labels"))) == 3 * len(blocks_of(subject.parts))
    with pytest.raises(UnknownLayout, match=r"write one of '.*'") as caught:
        subject_of(request, plan, "elsewhere")
    assert caught.value.names == tuple(layout.name for layout in plan.layouts)


@pytest.mark.parametrize("decision", list(Decision))
def test_no_decision_is_cut_short(decision: Decision) -> None:
    request = plan_request(reference="a" * 100)
    subject = replace(subject_of(request, make_plan(request)), decision=decision)
    block = " ".join(words(part(parsed(draw(subject)), "title-block")))
    assert CATALOGUE[f"decision_{decision}"].text in block
    assert CATALOGUE["trained_person"].text in block


def test_a_plan_without_weights_is_drawn_too() -> None:
    request = replace(plan_request(), reading=two_plane(1.0, 0.0, 1.0, 90.0))
    plan = make_plan(request)
    assert plan.decision is Decision.ALREADY_WITHIN
    svg = parsed(draw(subject_of(request, plan)))
    assert "No weights." in words(part(svg, "parts"))
    assert svg[0].text == "Balance weights: nothing to fit"
    with pytest.raises(UnknownLayout, match="the plan has none"):
        subject_of(request, plan, "elsewhere")


def test_nothing_known_is_drawn_too() -> None:
    """No wheel, no weights: a circle for the wheel and the datum."""
    svg = parsed(draw(Subject(Decision.NONE_POSSIBLE, None, (), None, None, None)))
    assert "Wheel not described" in " ".join(words(part(svg, "legend")))
    assert "mounting face, 0" in words(part(svg, "section-dimensions"))


def test_a_full_circle_of_spokes_and_long_strips_stay_arcs() -> None:
    """An arc of 360° would end where it begins and not be drawn at all."""
    request = plan_request()
    wheel = replace(request.wheel, spokes=(Arc(0.0, 360.0, "disc"),))
    svg = parsed(draw(subject_of(replace(request, wheel=wheel), make_plan(request))))
    (spoke,) = sectors(svg)
    start, end, *_ = points(spoke.attrib["d"])
    assert 0 < apart(clockwise_deg(start, centre_of(svg)), clockwise_deg(end, centre_of(svg))) < 0.02


def test_the_same_plan_gets_the_same_bytes() -> None:
    request = plan_request()
    plan = make_plan(request)
    assert draw(subject_of(request, plan)) == draw(subject_of(request, plan))


def test_hostile_texts_stay_texts() -> None:
    lands = tuple(replace(land, name=f"{HOSTILE}{i}") for i, land in enumerate(ALLOY.lands))
    keep_out = (KeepOut(lands[0].name, Arc(0.0, 20.0), HOSTILE),)
    spokes = tuple(replace(spoke, name=HOSTILE) for spoke in ALLOY.spokes)
    request = plan_request(reference=HOSTILE)
    request = replace(request, wheel=replace(ALLOY, lands=lands, keep_out=keep_out, spokes=spokes))
    text = draw(subject_of(request, make_plan(request)))
    assert not list(parsed(text).iter(f"{{{NS['s']}}}script"))
    assert "<script" not in text
    assert "</text><script>" in " ".join(words(parsed(text)))


def test_many_keep_outs_are_listed_as_far_as_there_is_room() -> None:
    keep_out = tuple(KeepOut("inner land", Arc(11.0 * i, 3.0), f"weld number {i}") for i in range(32))
    request = replace(plan_request(), wheel=replace(ALLOY, keep_out=keep_out))
    legend = words(part(parsed(draw(subject_of(request, make_plan(request)))), "legend"))
    (more,) = [text for text in legend if text.startswith("and ") and text.endswith(" more")]
    shown = sum(text.startswith("K") and text != "Keep clear" for text in legend)
    assert shown + int(more.split()[1]) == 32


def test_a_weight_of_unknown_length_is_a_point() -> None:
    """And a note says so: a circle at its angle and radius."""
    stock = Stock(clips(*range(5, 65, 5), length_mm=None))
    request = PlanRequest(two_plane(38.0, 112.0, 26.0, 250.0), ALLOY, stock)
    plan = make_plan(request)
    svg = parsed(draw(subject_of(request, plan)))
    assert plan.recommended is not None
    centre, scale = centre_of(svg), reduction(svg, "face")
    for number, piece in enumerate(plan.recommended.pieces, 1):
        circle = part(svg, f"face-weight-{number}").find("s:circle", NS)
        assert circle is not None
        at = float(circle.attrib["cx"]), float(circle.attrib["cy"])
        assert apart(clockwise_deg(at, centre), piece.angle_deg) < 0.02
        assert math.dist(at, centre) * scale == pytest.approx(piece.radius_mm, abs=0.01)
    assert "Length" in " ".join(words(part(svg, "legend")))


def test_strips_end_to_end_are_one_block_and_others_are_not() -> None:
    ended = [Part(n, strip(at_deg), 4.0, 19.0) for n, at_deg in ((1, 355.0), (2, 5.0), (3, 15.0), (4, 40.0))]
    joined, alone = blocks_of(ended)
    assert (joined.numbers, joined.mass, joined.angle) == ("1–3", "60 g", "5°")
    assert (alone.numbers, alone.angle) == ("4", "40°")
    apart_ = [Part(1, strip(0.0), 4.0, 19.0), Part(2, strip(10.0, place="outer land"), 4.0, 19.0)]
    assert [block.numbers for block in blocks_of(apart_)] == ["1", "2"]
    clips_ = [Part(n, replace(strip(10.0 * n), style="clip_on"), 4.0, 19.0) for n in (1, 2)]
    assert len(blocks_of(clips_)) == 2


def test_strips_all_round_are_one_block() -> None:
    ring = [Part(n, replace(strip(90.0 * n), arc_deg=90.0), 4.0, 19.0) for n in (1, 2, 3, 4)]
    (block,) = blocks_of(ring)
    assert block.numbers == "1–4"


def strip(angle_deg: float, place: str = "inner land") -> GivenPiece:
    """20 g over 10 degrees."""
    return GivenPiece(place, "adhesive", "S", 20.0, 4, -110.0, 203.0, angle_deg, None, 10.0, True)


def test_a_motorcycles_sides_are_left_and_right() -> None:
    request = plan_request()
    request = replace(request, wheel=replace(request.wheel, vehicle_class="motorcycle"))
    with reading_as(Reader(rider=True)):
        svg = parsed(draw(subject_of(request, make_plan(request))))
    said = " ".join(words(svg))
    assert "Seen from the right" in said
    assert {"left", "right"} <= set(words(part(svg, "section")))
    assert "board flange" not in " ".join(words(part(svg, "parts")))


@pytest.mark.parametrize(("job", "beside"), [(6, True), (1, False)])
def test_a_sign_in_the_hub_takes_the_place_of_the_words_there(job: int, beside: bool) -> None:
    """Of these wheels the first has a keep-out whose sign has no other room; the Spanish word is short enough."""
    with reading_as(Reader("es")):
        drawn = face_view(subject_of(shop_job(job), make_plan(shop_job(job))))
    assert (">horario<" in drawn) is not beside


def test_no_sign_stands_on_another() -> None:
    """So many reasons to keep clear of nearly the same spot: one behind the other there are too few places."""
    keep_out = tuple(KeepOut("outer land", Arc(345.0 + i, 20.0), f"reason {i}") for i in range(8))
    request = replace(plan_request(), wheel=replace(ALLOY, keep_out=keep_out))
    svg = parsed(face_view(subject_of(request, make_plan(request))))
    texts = part(svg, "face-signs").iter(f"{{{NS['s']}}}text")
    at = [(float(t.attrib["x"]), float(t.attrib["y"])) for t in texts if (t.text or "").startswith("K")]
    assert len(at) == 8
    for i, (x, y) in enumerate(at):
        assert all(abs(x - u) > 4 or abs(y - v) > 3 for u, v in at[i + 1 :])


@pytest.mark.parametrize("sku", ["STRIP-0.25OZ", "a strip with a number that is much longer than its column"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_parts_list_says_how_many_segments_and_the_whole_mass(sku: str, language: Language) -> None:
    request, piece = plan_request(), replace(strip(40.0), sku=sku, mass_g=300.0, segments=12)
    with reading_as(Reader(language, "us")):
        svg = parsed(draw(replace(subject_of(request, make_plan(request)), parts=(Part(1, piece, None, None),))))
        _, mass, *_, weight = words(part(svg, "parts"))[-6:]
    assert mass.endswith("oz (300 g)")
    assert " 12 " in weight
    assert (sku in weight) == (len(sku) < 20)


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_of_ours_is_cut(language: Language) -> None:
    """Neither a note nor the decision, whose end says how often it fails; all of it stays in the title block."""
    request = plan_request("close_together", reference="job 17")
    plan = replace(make_plan(request), decision=Decision.BEST_EFFORT)
    with reading_as(Reader(language, "us")):
        svg = parsed(draw(subject_of(request, plan)))
    for name in ("legend", "title-block"):
        assert not [line for line in words(part(svg, name)) if line.endswith("…")]
    lowest = max(float(text.attrib["y"]) for text in part(svg, "title-block").iter(f"{{{NS['s']}}}text"))
    assert lowest < 297 - 10 - 0.6
