"""The polar drawing of run-out, measured back from its SVG."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET  # (ours, no strangers)

import pytest

from rimpoise_service.drawing.run_out import DrawnTrace, DrawnTurn, draw_run_out
from rimpoise_service.physics.run_out import Harmonic, fit_shape

SVG = "{http://www.w3.org/2000/svg}"
READINGS = (0.0, 0.01, 0.03, 0.05, 0.04, 0.02, 0.0, 0.0)
ANGLES = tuple(45.0 * i for i in range(8))
Line = list[tuple[float, ...]]


def traced(
    readings: tuple[float, ...], angles: tuple[float, ...], limit: float | None, *, ignore_jumps: bool = False
) -> DrawnTrace:
    shape = fit_shape(angles, readings, ignore_jumps=ignore_jumps)
    return DrawnTrace("Hub, radial", angles, readings, shape, limit)


def drawn(*traces: DrawnTrace, turn: DrawnTurn | None = None) -> ET.Element:
    return ET.fromstring(draw_run_out(traces, turn, "A person decides."))  # noqa: S314 (ours)


def group(root: ET.Element, name: str) -> ET.Element:
    (found,) = (g for g in root.iter(f"{SVG}g") if g.get("id") == name)
    return found


def rings(part: ET.Element) -> list[tuple[float, float, float]]:
    return [tuple(float(c.get(n, 0)) for n in ("cx", "cy", "r")) for c in part.iter(f"{SVG}circle")]  # type: ignore[misc]


def lines(part: ET.Element) -> list[Line]:
    found = (path.get("d") or "" for path in part.iter(f"{SVG}path"))
    return [[tuple(map(float, p)) for p in re.findall(r"[ML] ?(-?[\d.]+)[ ,](-?[\d.]+)", d)] for d in found]


def test_readings_are_where_they_are() -> None:
    """The centre of each cross, back in mm and degrees: the two circles are the limit apart."""
    part = group(drawn(traced(READINGS, ANGLES, 0.05)), "trace-0")
    (cx, cy, zero), (_, _, limit) = rings(part)
    enlarged = (limit - zero) / 0.05
    level = [p for p in lines(part) if len(p) == 2 and p[0][1] == p[1][1]]
    crosses = [(a, b) for a, b in level if b[0] - a[0] == pytest.approx(1.4)]
    centres = [((a[0] + b[0]) / 2 - cx, cy - a[1]) for a, b in crosses]
    found = [((math.hypot(x, y) - zero) / enlarged, math.degrees(math.atan2(x, y)) % 360) for x, y in centres]
    assert [r for r, _ in found] == pytest.approx(list(READINGS), abs=1e-4)
    assert [a for _, a in found] == pytest.approx(list(ANGLES), abs=0.1)


def test_the_curve_is_the_harmonics_and_the_arrow_points_at_the_high_spot() -> None:
    angles = tuple(10.0 * i for i in range(36))
    readings = tuple(0.5 * math.cos(math.radians(a - 70)) for a in angles)
    part = group(drawn(traced(readings, angles, 1.5)), "trace-0")
    (cx, cy, zero), (_, _, limit) = rings(part)
    enlarged = (limit - zero) / 1.5
    (curve,) = [p for p in lines(part) if len(p) > 100]
    for x, y in curve:
        angle = math.degrees(math.atan2(x - cx, cy - y))
        height = (math.hypot(x - cx, y - cy) - zero) / enlarged - 0.5
        assert height == pytest.approx(0.5 * math.cos(math.radians(angle - 70)), abs=1e-3)
    tail, tip = next(p for p in lines(part) if len(p) == 2 and math.dist(*p) == pytest.approx(5.3, abs=0.01))
    assert math.degrees(math.atan2(tip[0] - cx, cy - tip[1])) == pytest.approx(70, abs=0.1)
    assert math.hypot(tail[0] - cx, tail[1] - cy) > math.hypot(tip[0] - cx, tip[1] - cy)


def test_jumps_are_rings() -> None:
    angles = tuple(10.0 * i for i in range(36))
    readings = tuple(0.3 * math.cos(math.radians(a)) + (0.9 if a == 90 else 0) for a in angles)
    with_jump = group(drawn(traced(readings, angles, 1.5, ignore_jumps=True)), "trace-0")
    (cx, cy, _), _, (x, y, _) = rings(with_jump)
    assert math.degrees(math.atan2(x - cx, cy - y)) == pytest.approx(90, abs=0.1)


def test_the_plot_of_turns_is_lowest_at_the_best_turn() -> None:
    turn = DrawnTurn([Harmonic(1, 0.4, 100, 0)], [Harmonic(1, 0.5, 130, 0)], 150, 1.5, 0.8)
    part = group(drawn(traced(READINGS, ANGLES, None), turn=turn), "turn")
    (curve,) = [p for p in lines(part) if len(p) > 100]
    lowest = max(curve, key=lambda p: p[1])
    ((x, y, _),) = rings(part)
    assert lowest == pytest.approx((x, y), abs=0.05)
    share = (lowest[0] - curve[0][0]) / (curve[-1][0] - curve[0][0])
    assert 360 * share == pytest.approx(150, abs=0.5)


def test_no_run_out_and_no_limit_are_drawn_too() -> None:
    root = drawn(*(traced((0.0,) * 8, ANGLES, limit) for limit in (None, 0.05)))
    said = " ".join(t.text or "" for t in root.iter(f"{SVG}text"))
    assert "no limit known" in said
    assert "A person decides." in said
    desc = root.find(f"{SVG}desc")
    assert desc is not None
    assert "limit 0.05 mm" in (desc.text or "")


def test_the_same_every_time_and_long_enough_for_all() -> None:
    few, many = ([traced(READINGS, ANGLES, 0.05)] * n for n in (2, 16))
    assert draw_run_out(few, None, "x") == draw_run_out(few, None, "x")
    heights = [float((drawn(*some).get("viewBox") or "").split()[3]) for some in (few, many)]
    assert heights[1] - heights[0] == pytest.approx(7 * 92)


def test_what_the_marks_mean_is_written_above_the_traces() -> None:
    root = drawn(traced(READINGS, ANGLES, 0.05))
    trace = group(root, "trace-0")
    inside = set(trace.iter(f"{SVG}text"))
    head = [t for t in root.iter(f"{SVG}text") if t not in inside]
    said = " ".join("".join(t.itertext()) for t in head)
    assert all(mark in said for mark in ("Inner circle", "Outer circle", "Cross", "Ring", "Arrow"))
    top = min(float(t.get("y", 0)) for t in inside)
    assert max(float(t.get("y", 0)) for t in head) < top
