"""A plan's drawing, read back from the SVG, against the plan it is of."""

from __future__ import annotations

import math
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from rimpoise_service.drawing.clip import hooked_clip
from rimpoise_service.drawing.given import GivenPiece
from rimpoise_service.drawing.page import draw, face_view, section_view
from rimpoise_service.drawing.part import Part
from rimpoise_service.drawing.rim import profile
from rimpoise_service.drawing.runs import runs_of
from rimpoise_service.drawing.subject import Subject, UnknownLayout, subject_of
from rimpoise_service.messages.catalogue import CATALOGUE
from rimpoise_service.messages.reader import Reader, reading_as
from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.device import Device, Dialect
from rimpoise_service.model.stock import Stock
from rimpoise_service.model.wheel import KeepOut
from rimpoise_service.planning.fitting_steps import passes
from rimpoise_service.planning.models import Decision, Layout, Plan, PlanRequest
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
from tests.factories.drawn import ALLOY, CASES, plan_request, two_plane
from tests.factories.seeded import shop_job

HOSTILE = "</text><script>alert('&amp;')</script><!-- \u202e\ufffe ]]>"


@pytest.fixture(scope="module", params=CASES, ids=lambda p: f"{p[0]}-{p[1]}")
def request_(request: pytest.FixtureRequest) -> PlanRequest:
    """A plan request."""
    return plan_request(*request.param)


@pytest.fixture(scope="module")
def plan(request_: PlanRequest) -> Plan:
    """Its plan."""
    return make_plan(request_)


@pytest.fixture(scope="module")
def layout(plan: Plan) -> Layout:
    """The layout that is drawn."""
    assert plan.recommended is not None
    return plan.recommended


@pytest.fixture(scope="module")
def subject(request_: PlanRequest, plan: Plan) -> Subject:
    """What is drawn."""
    return subject_of(request_, plan)


@pytest.fixture(scope="module")
def svg(subject: Subject) -> ET.Element:
    """The drawing."""
    return parsed(draw(subject))


def test_every_weight_is_where_the_plan_has_it(svg: ET.Element, layout: Layout) -> None:
    centre, scale = centre_of(svg), reduction(svg, "face")
    for number, piece in enumerate(layout.pieces, 1):
        path = part(svg, f"face-weight-{number}").find("s:path", NS)
        assert path is not None
        start, end, *inner = points(path.attrib["d"])
        first, last = clockwise_deg(start, centre), clockwise_deg(end, centre)
        assert apart(first, piece.angle_deg - piece.arc_deg / 2) < 0.01
        assert apart(last, piece.angle_deg + piece.arc_deg / 2) < 0.01
        middle = (math.dist(start, centre) + math.dist(inner[0], centre)) / 2
        assert middle * scale == pytest.approx(piece.radius_mm, abs=0.01)
        assert ("stroke-dasharray" in path.attrib) == piece.hidden


def test_every_spoke_is_where_the_wheel_has_it(svg: ET.Element, request_: PlanRequest) -> None:
    centre = centre_of(svg)
    for path, spoke in zip(sectors(svg), request_.wheel.spokes, strict=True):
        start, end, *_ = points(path.attrib["d"])
        assert apart(clockwise_deg(start, centre), spoke.start_deg) < 0.01
        assert apart(clockwise_deg(end, centre), spoke.start_deg + spoke.width_deg) < 0.01


def test_every_keep_out_is_where_the_wheel_has_it(svg: ET.Element, request_: PlanRequest) -> None:
    """The same arc for the same reason is one sign, over all its places."""
    arcs = list(dict.fromkeys((k.arc, k.reason) for k in request_.wheel.keep_out))
    for number, (arc, _) in enumerate(arcs, 1):
        path = part(svg, f"face-K{number}").find("s:path", NS)
        assert path is not None
        start, end, *_ = points(path.attrib["d"])
        assert apart(clockwise_deg(start, centre_of(svg)), arc.start_deg) < 0.02
        assert apart(clockwise_deg(end, centre_of(svg)), arc.start_deg + arc.width_deg) < 0.02
    legend = " ".join(words(part(svg, "legend")))
    assert all(f"K{number}" in legend for number in range(1, len(arcs) + 1))


def test_the_section_has_every_weight_at_its_plane_and_radius(svg: ET.Element, layout: Layout) -> None:
    scale = reduction(svg, "section")
    at = []
    for number, _ in enumerate(layout.pieces, 1):
        *_, level, upright = part(svg, f"section-weight-{number}").findall("s:path", NS)  # the mass centre's cross
        (left, y), (right, _) = points(level.attrib["d"])
        assert [x for x, _ in points(upright.attrib["d"])] == pytest.approx([(left + right) / 2] * 2)
        at.append(((left + right) / 2, y))
    first = layout.pieces[0]
    for (x, y), piece in zip(at, layout.pieces, strict=True):
        assert (x - at[0][0]) * scale == pytest.approx(piece.position_mm - first.position_mm, abs=0.01)
        assert (at[0][1] - y) * scale == pytest.approx(piece.radius_mm - first.radius_mm, abs=0.01)


def test_every_number_is_the_plans(svg: ET.Element, layout: Layout, subject: Subject) -> None:
    labels, rows = words(part(svg, "face-labels")), words(part(svg, "parts"))
    dimensions = [text.replace("−", "-") for text in words(part(svg, "section-dimensions"))]
    for number, piece in enumerate(layout.pieces, 1):
        expected = [f"{piece.mass_g:g} g", f"{round(piece.angle_deg)}°", piece.clock]
        at = rows.index(str(number))
        assert rows[at + 1 : at + 4] == expected
        if str(number) in labels:  # else it is one of a run
            at = labels.index(str(number))
            assert labels[at + 1 : at + 3] == expected[:2]
        assert f"R {round(round(piece.radius_mm, 6), 1):g}" in dimensions
        assert any(text.startswith(f"{round(round(piece.position_mm, 6), 1):g}") for text in dimensions)
    runs = runs_of(subject.parts)
    assert sorted(p.number for run in runs for p in run.parts) == list(range(1, len(layout.pieces) + 1))
    for run in runs:
        at = labels.index(run.numbers)
        assert labels[at + 1 : at + 3] == [f"{sum(p.piece.mass_g for p in run.parts):g} g", run.angle]
    assert len(labels) == 3 * len(runs)
    block = " ".join(words(part(svg, "title-block")))
    left, tries = layout.residual.static_g, passes(layout.pass_chance_pct)
    rest = f"about {round(left, 0 if left >= 9.95 else 1):g} g" if left >= 0.05 else "next to nothing"
    assert f"{layout.total_mass_g:g} g in all; leaves {rest}." in block
    assert f"check spin {tries['passes']} times in {tries['tries']}." in block


def test_title_and_description_are_the_drawing_in_words(svg: ET.Element, layout: Layout) -> None:
    title, desc = svg[0], svg[1]
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-labelledby"].split() == [title.attrib["id"], desc.attrib["id"]]
    assert spoken(layout.name) in (title.text or "")
    for piece in layout.pieces:
        assert f"{piece.mass_g:g} g, {piece.sku}" in (desc.text or "")
        assert f"{round(piece.angle_deg)}°, {piece.clock}" in (desc.text or "")


def test_nothing_is_off_the_paper_and_no_label_on_another(svg: ET.Element) -> None:
    _, _, width, height = map(float, svg.attrib["viewBox"].split())
    labels, placed = set(words(part(svg, "face-labels"))), []
    for text in svg.iter(f"{{{NS['s']}}}text"):
        size, x, y = (float(text.attrib[k]) for k in ("font-size", "x", "y"))
        assert size >= 2.5  # the smallest height of lettering of ISO 3098, from memory
        wide = 0.5 * size * len(text.text or "")
        left = x - {"start": 0, "middle": wide / 2, "end": wide}[text.attrib["text-anchor"]]
        assert left >= 10
        assert left + wide <= width - 10
        assert 10 <= y <= height - 10
        if text.text in labels:
            placed.append((left, y - 0.7 * size, left + wide, y, text.text))
    for i, a in enumerate(placed):
        for b in placed[i + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (a, b)


def test_only_black_white_and_grey(svg: ET.Element) -> None:
    colours = {element.attrib[k] for element in svg.iter() for k in ("fill", "stroke") if k in element.attrib}
    colours -= {"none", "url(#face-hatch)", "url(#section-hatch)"}
    assert colours <= {"#000", "#fff", "#aaa", "rgba(0,0,0,.12)"}


def test_each_view_stands_alone(subject: Subject, layout: Layout) -> None:
    """In a page, with ids of its own and the labels below their numbers."""
    face, section = parsed(face_view(subject)), parsed(section_view(subject))
    labels = words(part(face, "face-labels"))
    for run in runs_of(subject.parts):
        at = labels.index(run.numbers)
        assert labels[at + 1 : at + 3] == [run.mass, run.angle]
    for number, _ in enumerate(layout.pieces, 1):
        assert part(section, f"section-weight-{number}") is not None
    ids = [e.attrib["id"] for view in (face, section) for e in view.iter() if "id" in e.attrib]
    assert len(ids) == len(set(ids))
    assert spoken(layout.name) in (face[0].text or "")


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
        assert len(words(part(svg, "face-labels"))) == 3 * len(runs_of(subject.parts))
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


def test_no_attribute_carries_code_or_an_address(svg: ET.Element) -> None:
    for element in svg.iter():
        for key, value in element.attrib.items():
            assert not key.startswith("on")
            assert "href" not in key
            assert key != "style"
            assert "://" not in value


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


def test_a_clip_on_hangs_on_the_lip_outside_the_metal(subject: Subject) -> None:
    """No corner of body or hook is in the rim's contour; the hook reaches over the lip's edge."""
    rim, hung = profile(subject), [h for p in subject.parts if (h := hooked_clip(p, subject))]
    clips_on_flanges = [p for p in subject.parts if p.piece.style == "clip_on"]
    assert len(hung) == (len(clips_on_flanges) if rim else 0)
    for clip in hung:
        assert rim is not None
        contour = [*rim.outer, *reversed(rim.inner)]
        corners = [(z, r) for z in clip.positions_mm for r in clip.radii_mm]
        assert not any(inside(corner, contour) for corner in (*corners, *clip.hook))
        (edge, _), _, (over, top) = clip.hook
        lip = min((z for z, _ in contour), key=lambda z: abs(z - edge))
        assert abs(over - edge) > abs(over - lip) > 0
        assert top > max(r for _, r in contour)


def inside(point: tuple[float, float], contour: list[tuple[float, float]]) -> bool:
    """Whether a point lies in a polygon, by the edges that a ray outward from it crosses."""
    z, r = point
    crossed = False
    for (z1, r1), (z2, r2) in zip(contour, [*contour[1:], contour[0]], strict=True):
        if (z1 > z) != (z2 > z) and r < r1 + (z - z1) / (z2 - z1) * (r2 - r1):
            crossed = not crossed
    return crossed


def test_strips_end_to_end_are_one_run_and_others_are_not() -> None:
    ended = [Part(n, strip(at_deg), 4.0, 19.0) for n, at_deg in ((1, 355.0), (2, 5.0), (3, 15.0), (4, 40.0))]
    joined, alone = runs_of(ended)
    assert (joined.numbers, joined.mass, joined.angle) == ("1–3", "60 g", "5°")
    assert (alone.numbers, alone.angle) == ("4", "40°")
    apart_ = [Part(1, strip(0.0), 4.0, 19.0), Part(2, strip(10.0, place="outer land"), 4.0, 19.0)]
    assert [run.numbers for run in runs_of(apart_)] == ["1", "2"]
    clips_ = [Part(n, replace(strip(10.0 * n), style="clip_on"), 4.0, 19.0) for n in (1, 2)]
    assert len(runs_of(clips_)) == 2


def test_strips_all_round_are_one_run() -> None:
    ring = [Part(n, replace(strip(90.0 * n), arc_deg=90.0), 4.0, 19.0) for n in (1, 2, 3, 4)]
    (run,) = runs_of(ring)
    assert run.numbers == "1–4"


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


def test_the_balancers_own_words_are_drawn(request_: PlanRequest) -> None:
    """A device that counts the other way round, in ounces: masses in its unit, angles mirrored in a note."""
    device = Device(angle_sense="counterclockwise", mass_unit="oz")
    asked = replace(request_, dialect=Dialect(device))
    drawn = subject_of(asked, make_plan(asked))
    for shown in drawn.parts:
        ounces, angle = shown.piece.mass_g / 28.349523125, (360 - shown.piece.angle_deg) % 360
        assert shown.as_called == f"{shown.number}: {round(ounces, 2):g} oz, {angle:.0f}°"
    page = " ".join(words(parsed(draw(drawn))))
    assert all(shown.mass in page for shown in drawn.parts)
    assert "in its own sense" in page
    by_valve = subject_of(replace(asked, dialect=Dialect(device, by_valve=True)), make_plan(asked))
    assert any(note.code == "drawn_as_called_by_valve" for note in by_valve.notes)
    assert all(":" in shown.as_called.rpartition(", ")[2] for shown in by_valve.parts)


@pytest.mark.parametrize(("job", "beside"), [(6, True), (1, False)])
def test_a_sign_in_the_hub_takes_the_place_of_the_words_there(job: int, beside: bool) -> None:
    """Of these wheels the first has a keep-out whose sign has no other room; the Spanish word is short enough."""
    with reading_as(Reader("es")):
        drawn = face_view(subject_of(shop_job(job), make_plan(shop_job(job))))
    assert (">horario<" in drawn) is not beside
