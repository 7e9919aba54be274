"""The client and the real application, with HTTP between them: single steps, tables and problems.

All numbers are worked out here by other means; the wheel is invented.
"""

from __future__ import annotations

import json
import textwrap
from dataclasses import replace
from math import radians, sin
from pathlib import Path
from typing import Any

import pytest

import rimpoise
from rimpoise import (
    BadRequest,
    Client,
    CorrectionsRequest,
    EvenSpokes,
    KeepOutArc,
    MassAcceptance,
    NotFound,
    Plane,
    PointMass,
    PositionPlane,
    RoundingRequest,
    RoundingTarget,
    RuleBroken,
    SplitRequest,
    SplitTarget,
    SpokeWindow,
    SpokeWindows,
    StaticReading,
    TooLarge,
    two_plane,
)
from rimpoise.decoding import from_json
from tests.client.invented import (
    INBOARD,
    OUTBOARD,
    QUESTION,
    READING,
    ROUNDED,
    STRIP,
    of_masses,
    vector,
)

CASES = json.loads((Path(__file__).parents[1] / "cases" / "corrections.json").read_text("utf-8"))


# --- corrections


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_the_cited_cases_come_through_the_client(live: Client, case: dict[str, Any]) -> None:
    answer = live.corrections(from_json(CorrectionsRequest, case["inputs"]))
    for expected in case["expected"]["corrections"]:
        (found,) = [c for c in answer.corrections if c.plane == expected["plane"]]
        within = case["tolerance"]["mass_rel"] * expected["mass_g"] + ROUNDED
        assert found.mass_g == pytest.approx(expected["mass_g"], abs=within)
        apart = (found.angle_deg - expected["angle_deg"] + 180) % 360 - 180
        assert abs(apart) <= case["tolerance"]["angle_deg"] + ROUNDED


def test_two_corrections_leave_neither_force_nor_moment(live: Client) -> None:
    planes = [Plane("inner land", -110, 203.2), Plane("outer land", -5, 196.2)]
    old = PointMass(-133.9, 222, 15, 95)
    reading = replace(READING, old_weights=[old])
    answer = live.corrections(CorrectionsRequest(reading, planes))
    called_force, called_moment = of_masses([INBOARD, OUTBOARD])
    old_force, old_moment = of_masses([old])
    fitted = [
        PointMass(plane.position_mm, plane.radius_mm, c.mass_g, c.angle_deg)
        for plane, c in zip(planes, answer.corrections, strict=True)
    ]
    force, moment = of_masses(fitted)
    assert abs(force - (called_force + old_force)) < 0.01
    assert abs(moment - (called_moment + old_moment)) < 1
    assert [c.unbalance_gmm for c in answer.corrections] == pytest.approx([m.mass_g * m.radius_mm for m in fitted])
    read = sum(m.mass_g * m.radius_mm for m in (INBOARD, OUTBOARD, old))
    assert answer.gain == pytest.approx(sum(c.unbalance_gmm for c in answer.corrections) / read)
    assert answer.residual.static_gmm == pytest.approx(0, abs=0.01)


def test_one_correction_leaves_the_couple(live: Client) -> None:
    answer = live.corrections(CorrectionsRequest(READING, [Plane("middle", -45, 200)]))
    force, moment = of_masses([INBOARD, OUTBOARD])
    assert answer.corrections[0].unbalance_gmm == pytest.approx(abs(force))
    assert answer.residual.couple_gmm2 == pytest.approx(abs(moment + 45 * force))
    assert "couple_stays" in {warning.code for warning in answer.warnings}


def test_nothing_read_has_no_gain(live: Client) -> None:
    answer = live.corrections(CorrectionsRequest(StaticReading(PositionPlane(0, 200, 0, 0)), [Plane("a", 0, 200)]))
    assert (answer.gain, answer.corrections[0].mass_g) == (None, 0.0)


# --- splits


def as_strip(mass_g: float, angle_deg: float, arc_deg: float, land_radius_mm: float) -> complex:
    """What a strip does: mass at half its thickness off the land, as the centroid of its arc."""
    half = radians(arc_deg) / 2
    return vector(mass_g * (land_radius_mm - STRIP.thickness_mm / 2) * sin(half) / half, angle_deg)


def test_a_split_hides_strips_that_do_the_works_share(live: Client) -> None:
    target = SplitTarget(mass_g=60, angle_deg=80, radius_mm=198)
    answer = live.split(SplitRequest(target, EvenSpokes(5, first_deg=44, width_deg=40), STRIP))
    done = sum(as_strip(p.mass_g, p.angle_deg, p.arc_deg, 198) for p in answer.pieces)
    left = done - vector(60 * 198, 80)
    assert answer.residual.unbalance_gmm == pytest.approx(abs(left), abs=0.02)
    assert answer.residual.mass_g == pytest.approx(abs(left) / 198, abs=1e-4)
    assert abs(left) < 5 * 198 / 2
    assert answer.proven_optimal
    for piece in answer.pieces:
        assert piece.mass_g == piece.segments * 5
        assert piece.length_mm == piece.segments * 16
        centre = 44 + 72 * (int(piece.window or "0") - 1)
        assert abs(piece.angle_deg - centre) <= (40 - piece.arc_deg) / 2 + ROUNDED


def test_the_ideal_is_the_target_on_its_two_neighbours(live: Client) -> None:
    centres = {"long": 180, "left": 236, "right": 124}
    spokes = SpokeWindows([SpokeWindow(name, centre, 44) for name, centre in centres.items()])
    question = SplitRequest(SplitTarget(35, 200, 222), spokes, STRIP, land_radius_mm=198, max_pieces=3)
    answer = live.split(replace(question, keep_out=[KeepOutArc(172, 185, "pressure sensor")]))
    assert {ideal.window for ideal in answer.ideal} == {"long", "left"}
    total = sum(vector(ideal.mass_g, centres[ideal.window or ""]) for ideal in answer.ideal)
    assert abs(total - vector(abs(total), 200)) < 1e-4
    for piece in answer.pieces:
        from_deg, to_deg = piece.angle_deg - piece.arc_deg / 2, piece.angle_deg + piece.arc_deg / 2
        assert to_deg <= 172 + ROUNDED or from_deg >= 185 - ROUNDED


# --- roundings


def test_nearest_rounds_each_plane_and_tells_what_stays(live: Client) -> None:
    targets = [
        RoundingTarget("inner", -120, 210, 23, 40),
        RoundingTarget("outer", 40, 222, 17.4, 305),
    ]
    answer = live.rounding(RoundingRequest(targets, step_g=5, max_mass_g=60))
    assert [w.mass_g for w in answer.weights] == [25, 15]
    assert [w.angle_deg for w in answer.weights] == [40, 305]
    assert [p.mass_g for p in answer.residual.planes] == pytest.approx([2, 2.4])
    assert [p.angle_deg for p in answer.residual.planes] == pytest.approx([40, 125])  # too much, and too little
    static = vector(2 * 210, 40) + vector(2.4 * 222, 125)
    assert answer.residual.static_gmm == pytest.approx(abs(static))


def test_static_first_leaves_no_more_static_than_nearest(live: Client) -> None:
    targets = [RoundingTarget("a", -80, 200, 22, 10), RoundingTarget("b", 80, 200, 22, 20)]
    question = RoundingRequest(targets, masses_g=[10, 20, 25, 30])
    nearest = live.rounding(question)
    together = live.rounding(replace(question, aim="static_first", per_plane_g=5))
    assert [w.mass_g for w in nearest.weights] == [20, 20]
    assert sorted(w.mass_g for w in together.weights) == [20, 25]
    assert together.residual.static_gmm < nearest.residual.static_gmm


# --- the rest


def test_the_example_of_the_package_runs(url: str) -> None:
    doc = rimpoise.__doc__ or ""
    lines = [line for line in doc.splitlines() if line.startswith("    ")]
    code = textwrap.dedent("\n".join(lines)).replace("http://localhost:8080", url)
    names: dict[str, Any] = {}
    exec(code, names)  # noqa: S102 (our own docstring)
    assert names["plan"].decision == "fit"


def test_the_reference_tables(live: Client) -> None:
    reference = live.reference()
    assert reference.stock.metric.strips
    assert {height.contour for height in reference.flange_heights.values} >= {"J"}
    assert {d.code: d.diameter_mm for d in reference.rim_diameters.values}[17] == pytest.approx(436.6)
    assert reference.defaults.acceptance.metric == MassAcceptance(5, 5)
    assert all(row.text and row.source for row in reference.guidance)
    assert "planes_apart" in {rule.rule for rule in reference.rules}


def test_health(live: Client) -> None:
    assert live.health().status == "ok"


def test_a_broken_schema_tells_every_pointer(live: Client) -> None:
    question = CorrectionsRequest(
        two_plane(replace(INBOARD, mass_g=-5), replace(OUTBOARD, angle_deg=400)), [Plane("", 0, 200)]
    )
    with pytest.raises(BadRequest, match="#/planes/0/name") as raised:
        live.corrections(question)
    assert {fault.pointer for fault in raised.value.errors} == {
        "#/reading/planes/0/mass_g",
        "#/reading/planes/1/angle_deg",
        "#/planes/0/name",
    }
    assert raised.value.instance


def test_a_broken_rule_tells_its_name(live: Client) -> None:
    with pytest.raises(RuleBroken, match=r"#/planes/1/position_mm: .* \(planes_apart\)") as raised:
        live.corrections(CorrectionsRequest(READING, [Plane("a", 0, 200), Plane("b", 0.5, 200)]))
    (fault,) = raised.value.errors
    assert fault.rule == "planes_apart"


def test_a_wrong_base_url_is_not_found(url: str) -> None:
    with Client(url + "/elsewhere", retries=0) as lost, pytest.raises(NotFound):
        lost.health()


def test_a_question_beyond_all_bounds_is_too_large(live: Client) -> None:
    with pytest.raises(TooLarge):
        live.plan(replace(QUESTION, reference="x" * (1024 * 1024)))
