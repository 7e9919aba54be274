"""A plan's drawing, read back from the SVG, against the plan it is of."""

from __future__ import annotations

import math
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from rimpoise_service.drawing.blocks import blocks_of
from rimpoise_service.drawing.clip import hooked_clip
from rimpoise_service.drawing.page import draw, face_view, section_view
from rimpoise_service.drawing.rim import profile
from rimpoise_service.drawing.subject import Subject, subject_of
from rimpoise_service.model.device import Device, Dialect
from rimpoise_service.planning.fitting_steps import passes
from rimpoise_service.planning.models import Layout, Plan, PlanRequest
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
from tests.factories.drawn import CASES, plan_request


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
        if str(number) in labels:  # else it is one of a block
            at = labels.index(str(number))
            assert labels[at + 1 : at + 3] == expected[:2]
        outermost = max(p.radius_mm for p in layout.pieces if p.position_mm == piece.position_mm)
        assert f"R {round(round(outermost, 6), 1):g}" in dimensions
        assert any(text.startswith(f"{round(round(piece.position_mm, 6), 1):g}") for text in dimensions)
    blocks = blocks_of(subject.parts)
    assert sorted(p.number for block in blocks for p in block.parts) == list(range(1, len(layout.pieces) + 1))
    for block in blocks:
        at = labels.index(block.numbers)
        assert labels[at + 1 : at + 3] == [f"{sum(p.piece.mass_g for p in block.parts):g} g", block.angle]
    assert len(labels) == 3 * len(blocks)
    title = " ".join(words(part(svg, "title-block")))
    left, tries = layout.largest_residual_g, passes(layout.pass_chance_pct)
    rest = f"about {round(left, 0 if left >= 9.95 else 1):g} g" if left >= 0.05 else "next to nothing"
    assert f"{layout.total_mass_g:g} g in all; leaves {rest}." in title
    times = "once" if tries["passes"] == 1 else f"{tries['passes']} times"
    assert f"check spin {times} in {tries['tries']}." in title


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
    for block in blocks_of(subject.parts):
        at = labels.index(block.numbers)
        assert labels[at + 1 : at + 3] == [block.mass, block.angle]
    for number, _ in enumerate(layout.pieces, 1):
        assert part(section, f"section-weight-{number}") is not None
    ids = [e.attrib["id"] for view in (face, section) for e in view.iter() if "id" in e.attrib]
    assert len(ids) == len(set(ids))
    assert spoken(layout.name) in (face[0].text or "")


def test_no_attribute_carries_code_or_an_address(svg: ET.Element) -> None:
    for element in svg.iter():
        for key, value in element.attrib.items():
            assert not key.startswith("on")
            assert "href" not in key
            assert key != "style"
            assert "://" not in value


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


def test_the_balancers_own_words_are_drawn(request_: PlanRequest) -> None:
    """A device that counts the other way round, in ounces: masses in its unit, angles mirrored in a note."""
    device = Device(angle_sense="counterclockwise", mass_unit="oz")
    requested = replace(request_, dialect=Dialect(device))
    plan = make_plan(requested)
    drawn = subject_of(requested, plan)
    for shown in drawn.parts:
        ounces, angle = shown.piece.mass_g / 28.349523125, (360 - shown.piece.angle_deg) % 360
        assert shown.as_called == f"{shown.number}: {round(ounces, 2):g} oz, {angle:.0f}°"
    page = " ".join(words(parsed(draw(drawn))))
    assert all(shown.mass in page for shown in drawn.parts)
    assert "in its own sense" in page
    by_valve = subject_of(replace(requested, dialect=Dialect(device, by_valve=True)), plan)
    assert any(note.code == "drawn_as_called_by_valve" for note in by_valve.notes)
    assert all(":" in shown.as_called.rpartition(", ")[2] for shown in by_valve.parts)
