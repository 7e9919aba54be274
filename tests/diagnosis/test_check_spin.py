"""Why a check spin failed: faults put into wheels by other means (``tests.bench.check_spin``), and found again."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rimpoise_service.diagnosis.check_spin import MOST_TOLD, explain
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest, Whitening
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.readings import StaticCouple, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.acceptance import Acceptance
from tests.bench.check_spin import FAULTS, THREE_TIMES, inject, table, vector, wheel
from tests.diagnosis.two_pieces import PIECES, A, B, spin_of, two_plane

seeds = st.integers(0, 10**6)


@pytest.mark.slow
def test_the_injected_fault_is_ranked_first() -> None:
    """Of effects over three times the machine's repeatability: at least 90 % of all, twins included; and of each
    fault at least 90 % of those that physics does not make indistinguishable. Seed fixed in the bench's call."""
    rows = table(120, seed=20)
    right = sum(row.first[fault] for fault, row in rows.items())
    assert right >= 0.9 * 120 * len(FAULTS)
    for fault, row in rows.items():
        assert row.apart_right >= 0.9 * (120 - row.twins), fault
        assert row.twins < 60, fault


@pytest.mark.parametrize("fault", FAULTS)
@settings(max_examples=25)
@given(seeds)
def test_without_error_the_size_is_exact(fault: str, seed: int) -> None:
    """A machine of 0.01 g: the fault comes first with its size, or another cause does exactly the same."""
    injected = inject(fault, np.random.default_rng(seed), sd_g=0.01)
    if injected.effect <= THREE_TIMES:
        return
    told = explain(injected.clean).explanations
    ours = next(e for e in told if (e.hypothesis.cause, e.hypothesis.piece) == (fault, injected.piece))
    assert ours.explains
    assert ours.unexplained_g < 1e-6
    if fault in ("piece_shifted", "piece_light", "piece_heavy", "plane_distance"):
        assert ours.hypothesis.size == pytest.approx(injected.size, rel=1e-6)
    if fault == "centring":
        assert ours.hypothesis.size == pytest.approx(injected.size, rel=1e-6)
    assert told[0] is ours or injected.has_twin


def test_a_shift_by_hand() -> None:
    """40 g that sit 14° too far clockwise leave 2 · 40 g · sin 7° (chord of the circle)."""
    found = explain(spin_of((replace(PIECES[0], angle_deg=126), PIECES[1])))
    assert found.verdict == "adjust"
    assert found.measured.planes[0].mass_g == pytest.approx(80 * math.sin(math.radians(7)))
    best = found.explanations[0]
    assert (best.hypothesis.cause, best.hypothesis.piece, best.hypothesis.size_unit) == ("piece_shifted", 0, "deg")
    assert best.hypothesis.size == pytest.approx(14)
    assert best.odds == 1
    assert text_of(best.action).startswith("Move piece 1 (40 g) 14° anticlockwise")
    cure, trim = found.adjustments
    assert cure.moves[0].from_deg == pytest.approx(126)
    assert cure.moves[0].to_deg == 112
    assert cure.leaves.static_g < 1e-9
    assert cure.within_acceptance
    assert [w.mass_g for w in trim.weights] == pytest.approx([p.mass_g for p in found.measured.planes])


def test_a_wrong_distance_by_exact_fractions() -> None:
    """Set to 200 mm where 160 mm are right, it shows F_b · 160/200 in b, the rest of the sum in a (moments)."""
    planes = [(0.0, 200.0), (160.0, 200.0)]
    pieces = (PointMass(0, 200, 30, 0), PointMass(160, 200, 50, 0))
    share = Fraction(160, 200)
    shown = [30 + (1 - share) * 50, share * 50]
    masses = [PointMass(z, r, float(m), 0) for (z, r), m in zip(planes, shown, strict=True)]
    nothing = [PointMass(z, r, 0, 0) for z, r in planes]
    spin = CheckSpinRequest(
        TwoPlane((nothing[0], nothing[1]), "unbalance"), pieces, TwoPlane((masses[0], masses[1]), "unbalance")
    )
    found = explain(spin)
    best = found.explanations[0]
    assert found.verdict == "recheck_setup"
    assert (best.hypothesis.cause, best.hypothesis.size_unit) == ("plane_distance", "mm")
    assert best.hypothesis.size == pytest.approx(40)
    assert "200 mm instead of 160 mm" in text_of(best.action)


def test_the_plan_kept_and_passed() -> None:
    found = explain(spin_of(PIECES))
    assert (found.verdict, found.adjustments) == ("pass", ())
    assert found.explanations[0].hypothesis.cause == "as_planned"


def test_a_piece_that_fell_off() -> None:
    found = explain(spin_of((replace(PIECES[0], mass_g=0), PIECES[1])))
    best = found.explanations[0]
    assert (best.hypothesis.cause, best.action.code) == ("piece_light", "piece_missing")
    assert best.hypothesis.size == pytest.approx(40)


def test_two_equal_pieces_side_by_side_are_told_as_two() -> None:
    """Physics can't say which of two pieces at one place is light."""
    planned = (PIECES[0], PIECES[0], PIECES[1])
    a, b = (p.mass_g * cmath.exp(1j * math.radians(p.angle_deg)) for p in PIECES)
    after = two_plane(-12 * a / 40, 0)
    found = explain(CheckSpinRequest(two_plane(-2 * a, -b), planned, after))
    first, second = found.explanations[:2]
    assert {first.hypothesis.piece, second.hypothesis.piece} == {0, 1}
    assert first.hypothesis.cause == second.hypothesis.cause == "piece_light"
    assert first.hypothesis.size == pytest.approx(12)
    assert second.odds == pytest.approx(1)
    assert found.ambiguous
    assert "ambiguous" in {w.code for w in found.warnings}
    assert [a.kind for a in found.adjustments][:2] == ["cure", "cure"]


def test_nothing_single_explains_two_faults() -> None:
    both = (replace(PIECES[0], angle_deg=152), replace(PIECES[1], mass_g=2))
    found = explain(spin_of(both))
    assert found.verdict == "recheck_setup"
    assert not any(e.explains for e in found.explanations)
    assert [a.kind for a in found.adjustments] == ["trim"]
    assert "nothing_explains" in {w.code for w in found.warnings}


@pytest.mark.parametrize(
    ("real", "code"),
    [
        (tuple(replace(p, angle_deg=p.angle_deg + 180) for p in PIECES), "all_turned"),
        (tuple(replace(p, angle_deg=-p.angle_deg) for p in PIECES), "all_mirrored"),
    ],
)
def test_all_pieces_wrong_alike_is_hinted_at(real: tuple[PointMass, ...], code: str) -> None:
    """Weights on the heavy side double the fault; angles from the wrong side mirror it."""
    found = explain(spin_of(real))
    assert found.verdict == "recheck_setup"
    assert code in {w.code for w in found.warnings}


def test_centring_is_a_set_up_fault() -> None:
    """10 g of static, half in each plane: the same force, at the middle."""
    clean = spin_of(PIECES)
    spin = replace(clean, after=two_plane(10j * 215 / 220 / 2, 10j * 215 / 210 / 2))
    found = explain(spin)
    assert found.verdict == "recheck_setup"
    best = found.explanations[0].hypothesis
    assert (best.cause, best.size_unit) == ("centring", "g")
    assert best.size == pytest.approx(10)
    assert best.angle_deg == pytest.approx(90)


def test_static_readings_tell_nothing_of_planes() -> None:
    injected = inject("piece_light", np.random.default_rng(2), static=True)
    found = explain(injected.clean)
    told = {e.hypothesis.cause for e in found.explanations}
    assert not told & {"piece_on_other_plane", "planes_swapped", "plane_distance"}
    assert "piece_light" in told
    assert found.measured.planes == ()
    assert found.measured.couple_gmm2 == 0


def test_readings_without_planes_are_told_at_the_planes_given() -> None:
    planes = (Plane("a", *A), Plane("b", *B))
    spin = spin_of((replace(PIECES[0], angle_deg=126), PIECES[1]))
    told = []
    for reading in (spin.before, spin.after):
        static, moment = _sums(reading)
        told.append(StaticCouple(0.0, static, moment, "unbalance"))
    found = explain(CheckSpinRequest(told[0], PIECES, told[1], planes=planes))
    assert found.explanations[0].hypothesis.size == pytest.approx(14)
    assert [p.plane.name for p in found.measured.planes] == ["a", "b"]


def _sums(reading: Any) -> tuple[complex, complex]:
    return sum(vector(m) for m in reading.planes), sum(vector(m) * m.position_mm for m in reading.planes)


@given(seeds, st.floats(-180, 180), st.floats(-300, 300))
@settings(max_examples=30)
def test_the_mark_and_the_datum_are_the_callers(seed: int, turn: float, shift: float) -> None:
    """Turned and moved along the axis, the odds stay, mirrored pieces aside: a mirror has its own axis."""
    spin = inject("piece_shifted", np.random.default_rng(seed)).spin

    def moved(m: PointMass) -> PointMass:
        return PointMass(m.position_mm + shift, m.radius_mm, m.mass_g, (m.angle_deg + turn) % 360)

    def moved_reading(reading: Any) -> TwoPlane:
        a, b = map(moved, reading.planes)
        return TwoPlane((a, b), reading.reports)

    again = CheckSpinRequest(moved_reading(spin.before), tuple(map(moved, spin.fitted)), moved_reading(spin.after))
    was, now = (
        {
            (e.hypothesis.cause, e.hypothesis.piece): e.hypothesis.fit.log_evidence
            for e in explain(s).explanations
            if e.hypothesis.cause != "piece_mirrored"
        }
        for s in (spin, again)
    )
    assert now == pytest.approx({key: was[key] for key in now}, rel=1e-6, abs=1e-6)


def test_the_gauge_is_what_two_machines_errors_do() -> None:
    """Errors drawn in each reading's own planes and told at the second's: whitened, they have a spread of 1."""
    rng = np.random.default_rng(11)
    here = (Plane("a", *A), Plane("b", *B))
    there = ((-100.0, 180.0), (20.0, 230.0))
    readings = [
        TwoPlane((PointMass(*there[0], 0, 0), PointMass(*there[1], 0, 0))),
        TwoPlane((PointMass(*A, 0, 0), PointMass(*B, 0, 0))),
    ]
    whitening = Whitening.of(here, readings, 1.5)
    seen = []
    for _ in range(4000):
        errors = []
        for planes in (there, (A, B)):
            draws = rng.normal(size=(2, 2)) * 1.5
            errors += [
                PointMass(z, r, float(np.hypot(*d)), math.degrees(math.atan2(d[1], d[0])))
                for (z, r), d in zip(planes, draws, strict=True)
            ]
        seen.append(whitening(Unbalance.of(errors)).view(float))
    assert np.cov(np.array(seen).T) == pytest.approx(np.eye(4), abs=0.08)


def test_many_pieces_are_told_in_part() -> None:
    rng = np.random.default_rng(3)
    on = wheel(rng)
    pieces = tuple(replace(on.fitted[0], angle_deg=float(a)) for a in rng.uniform(0, 360, 64))
    injected = inject("centring", rng)
    found = explain(replace(injected.spin, fitted=pieces, acceptance=Acceptance(1, 1)))
    assert len(found.explanations) == MOST_TOLD
    odds = [e.odds for e in found.explanations]
    assert odds == sorted(odds, reverse=True)


def test_no_pieces_at_all() -> None:
    """A repeated spin of the bare wheel."""
    spin = spin_of(PIECES)
    found = explain(CheckSpinRequest(spin.before, (), spin.before))
    assert found.verdict == "adjust"
    assert {e.hypothesis.cause for e in found.explanations} == {"as_planned"}
