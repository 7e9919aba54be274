"""POST /v1/drawings: what is drawn, read back from the SVG, against the answer of /v1/plans to the same request.

Geometry: coordinates grow right and down, so an angle clockwise from the top is atan2(x, -y); no more is needed.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

Ask = Callable[[str, object], TestResponse]
Example = Callable[[str, str], Any]

NS = {"s": "http://www.w3.org/2000/svg"}
HOSTILE = "</text><script>alert('&amp;')</script><!-- \u202e\ufffe ]]>"


def drawn(response: TestResponse) -> ET.Element:
    """The SVG's root, after a look at its head."""
    assert response.status_code == 200, response.text
    assert response.content_type == "image/svg+xml"
    root = ET.fromstring(response.data)  # noqa: S314 (our own)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    return root


def part(root: ET.Element, name: str) -> ET.Element:
    """The group of that id."""
    (found,) = root.findall(f".//*[@id='{name}']")
    return found


def words(element: ET.Element) -> list[str]:
    """Its texts, in order."""
    return [text.text or "" for text in element.iter(f"{{{NS['s']}}}text")]


def points(d: str) -> list[tuple[float, float]]:
    """The ends of a path's steps; of an arc the last two of its numbers."""
    steps = re.findall(r"([MLAZ])([^MLAZ]*)", d)
    numbers = [[float(n) for n in step.split()] for _, step in steps if step.strip()]
    return [(n[-2], n[-1]) for n in numbers]


def clockwise_deg(at: tuple[float, float], centre: tuple[float, float]) -> float:
    """The angle of a point clockwise from straight up."""
    return math.degrees(math.atan2(at[0] - centre[0], centre[1] - at[1])) % 360


def apart(a_deg: float, b_deg: float) -> float:
    """How far apart two directions are."""
    return abs(math.remainder(a_deg - b_deg, 360))


def centre_of(root: ET.Element) -> tuple[float, float]:
    """The middle of the wheel: where its circles are."""
    circle = part(root, "face-wheel").find("s:circle", NS)
    assert circle is not None
    return float(circle.attrib["cx"]), float(circle.attrib["cy"])


def reduction(root: ET.Element, view: str) -> float:
    """What a view's head says: wheel over paper."""
    head = next(text for text in words(part(root, view)) if "1:" in text)
    return float(head.rpartition("1:")[2])


WHEELS: dict[str, dict[str, Any]] = {
    "3_spokes": {"spokes": {"count": 3, "first_deg": 17, "width_deg": 50}},
    "5_spokes": {},
    "10_spokes": {"spokes": {"count": 10, "first_deg": 0, "width_deg": 16}},
    "15_spokes": {"spokes": {"count": 15, "first_deg": 5, "width_deg": 9}},
    "close_together": {},
    "no_spokes": {"spokes": ...},
    "no_rim": {"rim_size": ..., "flanges": ...},
    "no_offset": {"rim_size": "7Jx17"},
    "measured_flanges": {
        "rim_size": "7Jx17",
        "flanges": {
            "inboard": {"present": True, "thickness_mm": 3, "position_mm": -130, "radius_mm": 221},
            "outboard": {"present": True, "thickness_mm": 3, "position_mm": 42, "radius_mm": 222},
        },
    },
}


PARAMS = [*((wheel, 2) for wheel in WHEELS), ("5_spokes", 1), ("15_spokes", 4), ("3_spokes", 3)]


@pytest.fixture(scope="module", params=PARAMS, ids=lambda p: f"{p[0]}-{p[1]}")
def body(request: pytest.FixtureRequest, example: Example) -> Any:
    """A plan request: a wheel, and up to so many pieces a plane, some close together, some long."""
    wheel, most = request.param
    body = example("drawPlan", "plan_request")
    for key, value in WHEELS[wheel].items():
        if value is ...:
            body["wheel"].pop(key)
        else:
            body["wheel"][key] = value
    body["preferences"] = {"appearance": "out_of_sight", "max_pieces_per_plane": most}
    if wheel == "close_together":
        body["preferences"]["styles"] = ["clip_on"]
        for plane, angle in zip(body["reading"]["planes"], (8, 12), strict=True):
            plane["angle_deg"] = angle
    if most > 2:
        body["preferences"]["styles"] = ["adhesive"]
        for plane, mass in zip(body["reading"]["planes"], (110, 95), strict=True):
            plane["mass_g"] = mass
    return body


@pytest.fixture(scope="module")
def plan(body: Any, ask: Ask) -> Any:
    """The answer to the same request."""
    return ask("/v1/plans", {k: v for k, v in body.items() if k not in ("paper", "layout")}).get_json()


@pytest.fixture(scope="module")
def svg(body: Any, ask: Ask) -> ET.Element:
    """The drawing."""
    return drawn(ask("/v1/drawings", body))


def test_every_weight_is_where_the_answer_says(svg: ET.Element, plan: Any) -> None:
    centre, scale = centre_of(svg), reduction(svg, "face")
    for number, piece in enumerate(plan["recommended"]["pieces"], 1):
        path = part(svg, f"face-weight-{number}").find("s:path", NS)
        assert path is not None
        start, end, *inner = points(path.attrib["d"])
        first, last = clockwise_deg(start, centre), clockwise_deg(end, centre)
        assert apart(first, piece["angle_deg"] - piece["arc_deg"] / 2) < 0.01
        assert apart(last, piece["angle_deg"] + piece["arc_deg"] / 2) < 0.01
        middle = (math.dist(start, centre) + math.dist(inner[0], centre)) / 2
        assert middle * scale == pytest.approx(piece["radius_mm"], abs=0.01)
        assert ("stroke-dasharray" in path.attrib) == piece["hidden"]


def test_every_spoke_is_where_the_request_says(svg: ET.Element, body: Any) -> None:
    spokes = body["wheel"].get("spokes")
    sectors = part(svg, "face-wheel").findall("s:path", NS)
    sectors = [path for path in sectors if path.attrib["d"].count("A") == 2]
    if spokes is None:
        assert sectors == []
        return
    assert len(sectors) == spokes["count"]
    for index, path in enumerate(sectors):
        start, end, *_ = points(path.attrib["d"])
        middle = spokes["first_deg"] + 360 / spokes["count"] * index
        assert apart(clockwise_deg(start, centre_of(svg)), middle - spokes["width_deg"] / 2) < 0.01
        assert apart(clockwise_deg(end, centre_of(svg)), middle + spokes["width_deg"] / 2) < 0.01


def test_the_section_has_every_weight_at_its_plane_and_radius(svg: ET.Element, plan: Any) -> None:
    pieces, scale = plan["recommended"]["pieces"], reduction(svg, "section")
    at = []
    for number, _ in enumerate(pieces, 1):
        rect = part(svg, f"section-weight-{number}").find("s:rect", NS)
        assert rect is not None
        x, y, w, h = (float(rect.attrib[k]) for k in ("x", "y", "width", "height"))
        at.append((x + w / 2, y + h / 2))
    for (x, y), piece in zip(at, pieces, strict=True):
        assert (x - at[0][0]) * scale == pytest.approx(piece["position_mm"] - pieces[0]["position_mm"], abs=0.01)
        assert (at[0][1] - y) * scale == pytest.approx(piece["radius_mm"] - pieces[0]["radius_mm"], abs=0.01)


def test_every_number_is_the_answers(svg: ET.Element, plan: Any) -> None:
    layout = plan["recommended"]
    labels, rows = words(part(svg, "face-labels")), words(part(svg, "parts"))
    dimensions = [text.replace("−", "-") for text in words(part(svg, "section-dimensions"))]
    for number, piece in enumerate(layout["pieces"], 1):
        told = [f"{piece['mass_g']:g} g", f"{piece['angle_deg']:.1f}°", piece["clock"]]
        at = labels.index(str(number))
        assert labels[at + 1 : at + 4] == told
        row = rows.index(str(number))
        assert rows[row + 1 : row + 4] == told
        assert f"R {piece['radius_mm']:.1f}" in dimensions
        assert f"{piece['position_mm']:g}" in dimensions
    block = " ".join(words(part(svg, "title-block")))
    assert f"{layout['total_mass_g']:g} g in all. {layout['residual']['static_g']:.1f} g static" in block
    assert f"spin: {layout['pass_chance_pct']:.0f} %" in block


def test_it_tells_those_who_cannot_see_it(svg: ET.Element, plan: Any) -> None:
    title, desc = svg[0], svg[1]
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-labelledby"].split() == [title.attrib["id"], desc.attrib["id"]]
    assert plan["recommended"]["name"] in (title.text or "")
    for piece in plan["recommended"]["pieces"]:
        assert f"{piece['mass_g']:g} g, {piece['sku']}" in (desc.text or "")
        assert f"{piece['angle_deg']:.1f}°, {piece['clock']}" in (desc.text or "")


def test_nothing_is_off_the_paper_and_no_label_on_another(svg: ET.Element) -> None:
    _, _, width, height = map(float, svg.attrib["viewBox"].split())
    boxes = []
    for text in svg.iter(f"{{{NS['s']}}}text"):
        size, x, y = (float(text.attrib[k]) for k in ("font-size", "x", "y"))
        assert size >= 2.5  # the smallest height of lettering of ISO 3098, from memory
        wide = 0.5 * size * len(text.text or "")
        left = x - {"start": 0, "middle": wide / 2, "end": wide}[text.attrib["text-anchor"]]
        assert left >= 10
        assert left + wide <= width - 10
        assert 10 <= y <= height - 10
        boxes.append((left, y - 0.7 * size, left + wide, y, text.text))
    labels = set(words(part(svg, "face-labels")))
    placed = [box for box in boxes if box[4] in labels]
    for i, a in enumerate(placed):
        for b in placed[i + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (a, b)


def test_only_black_white_and_grey(svg: ET.Element) -> None:
    colours = {element.attrib[k] for element in svg.iter() for k in ("fill", "stroke") if k in element.attrib}
    colours -= {"none", "url(#face-hatch)", "url(#section-hatch)"}
    assert colours <= {"#000", "#fff", "#aaa", "rgba(0,0,0,.12)"}


@pytest.mark.parametrize(("paper", "size"), [("a4", ("210.0mm", "297.0mm")), ("letter", ("215.9mm", "279.4mm"))])
def test_the_paper(paper: str, size: tuple[str, str], example: Example, ask: Ask) -> None:
    """ISO 216; ANSI/ASME Y14.1."""
    svg = drawn(ask("/v1/drawings", example("drawPlan", "plan_request") | {"paper": paper}))
    assert (svg.attrib["width"], svg.attrib["height"]) == size


def test_the_layout_that_was_asked_for(example: Example, ask: Ask) -> None:
    body = example("planFitting", "hidden")
    for layout in ask("/v1/plans", body).get_json()["alternatives"]:
        svg = drawn(ask("/v1/drawings", body | {"layout": layout["name"]}))
        assert layout["name"] in (svg[0].text or "")
        assert len(words(part(svg, "face-labels"))) == 4 * len(layout["pieces"])


@pytest.mark.parametrize("name", ["hidden", "own_stock", "steel_wheel"])
def test_an_answer_sent_back_is_drawn_as_the_request_is(name: str, example: Example, ask: Ask) -> None:
    body = example("planFitting", name)
    answer = ask("/v1/plans", body).get_json()
    asked = drawn(ask("/v1/drawings", body))
    given = drawn(ask("/v1/drawings", {"plan": answer, "wheel": body["wheel"]}))
    for view in ("face-labels", "parts", "section-dimensions", "title-block"):
        assert words(part(given, view)) == words(part(asked, view))
    bare = drawn(ask("/v1/drawings", answer))
    assert words(part(bare, "face-labels")) == words(part(asked, "face-labels"))
    assert "The wheel was not described" in " ".join(words(part(bare, "legend")))


@pytest.mark.parametrize("decision", ["fit", "already_within", "best_effort", "repair_first", "none_possible"])
def test_no_decision_is_cut_short(decision: str, example: Example, ask: Ask, client: FlaskClient) -> None:
    said = {row["code"]: row["text"] for row in client.get("/v1/reference").get_json()["guidance"]}
    answer = example("drawPlan", "answer") | {"decision": decision, "reference": "a" * 100}
    block = " ".join(words(part(drawn(ask("/v1/drawings", answer)), "title-block")))
    assert said[f"decision_{decision}"] in block
    assert said["trained_person"] in block


@pytest.mark.parametrize("name", ["repair_first", "hidden"])
def test_a_plan_without_weights_is_drawn_too(name: str, example: Example, ask: Ask) -> None:
    body = example("planFitting", name)
    for plane in body["reading"]["planes"]:
        plane["mass_g"] = 1
    svg = drawn(ask("/v1/drawings", body))
    assert "No weights." in words(part(svg, "parts"))


def test_the_same_request_gets_the_same_bytes(example: Example, ask: Ask) -> None:
    body = example("drawPlan", "plan_request")
    assert ask("/v1/drawings", body).data == ask("/v1/drawings", body).data


def test_hostile_texts_stay_texts(example: Example, ask: Ask) -> None:
    body = example("planFitting", "own_stock") | {"reference": HOSTILE}
    wheel = body["wheel"]
    wheel["lands"][0]["name"] = wheel["keep_out"][0]["place"] = HOSTILE
    wheel["keep_out"][0]["reason"] = HOSTILE
    wheel["spokes"] = {"windows": [{"name": HOSTILE, "centre_deg": 80, "width_deg": 40}]}
    for item in (*body["stock"]["clip_ons"], *body["stock"]["strips"]):
        item["sku"] = item["label"] = item["location"] = f"{item['sku']}<script>"
    response = ask("/v1/drawings", body)
    svg = drawn(response)
    assert not list(svg.iter(f"{{{NS['s']}}}script"))
    assert "<script" not in response.text
    assert "</text><script>" in " ".join(words(svg))
    for way in ("/v1/plans", "/v1/drawings"):
        assert ask(way, {"surplus": HOSTILE}).status_code == 400


def test_no_attribute_carries_code_or_an_address(example: Example, ask: Ask) -> None:
    svg = drawn(ask("/v1/drawings", example("drawPlan", "plan_request")))
    for element in svg.iter():
        for key, value in element.attrib.items():
            assert not key.startswith("on")
            assert "href" not in key
            assert key != "style"
            assert "://" not in value


def test_a_browser_is_told_to_run_and_load_nothing(example: Example, ask: Ask) -> None:
    headers = ask("/v1/drawings", example("drawPlan", "plan_request")).headers
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "script-src" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("accept", "status"),
    [("image/svg+xml", 200), ("image/*", 200), ("*/*", 200), ("text/html,*/*;q=0.1", 200), ("image/png", 406)],
)
def test_what_is_accepted(accept: str, status: int, example: Example, client: FlaskClient) -> None:
    body = json.dumps(example("drawPlan", "plan_request"))
    response = client.post("/v1/drawings", data=body, content_type="application/json", headers={"Accept": accept})
    assert response.status_code == status
    if status == 406:
        assert response.content_type == "application/problem+json"
        assert "image/svg+xml" in response.get_json()["detail"]


def test_many_keep_outs_are_listed_as_far_as_there_is_room(example: Example, ask: Ask) -> None:
    body = example("drawPlan", "plan_request")
    body["wheel"]["keep_out"] = [
        {"place": "inner land", "from_deg": 11 * i, "to_deg": 11 * i + 3, "reason": f"weld number {i}"}
        for i in range(32)
    ]
    legend = words(part(drawn(ask("/v1/drawings", body)), "legend"))
    (more,) = [text for text in legend if re.fullmatch(r"and \d+ more", text)]
    shown = sum(text.startswith("K") and text != "Keep clear" for text in legend)
    assert shown + int(more.split()[1]) == 32
