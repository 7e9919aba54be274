"""A shop's spreads: by hand, by physics without small angles, and over simulated shops."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spread_blocks import SOURCES, Job, Source, group_block, job_block
from rimpoise_service.diagnosis.spreads import DEFAULTS, Estimate, Outlier, SpreadsRequest, estimate_spreads
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.readings import PointMasses, Reading, Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.acceptance import Acceptance
from tests.bench.spreads import Truth, shop

SEED = 12


def static(mass_g: float, angle_deg: float) -> Static:
    return Static(PointMass(-40, 200, mass_g, angle_deg))


def two_plane(*called: tuple[float, float]) -> TwoPlane:
    first, second = (PointMass(z, 200, *c) for z, c in zip((-130, 50), called, strict=True))
    return TwoPlane((first, second))


def by_name(estimates: tuple[Estimate, ...]) -> dict[str, Estimate]:
    return {e.name: e for e in estimates}


def test_spins_by_hand() -> None:
    """Four wheels read twice, 2 g apart in one component: squares of 8 together, over 8 degrees of freedom."""
    groups = tuple((static(m, 0), static(m + 2, 0)) for m in (10.0, 20.0, 30.0, 40.0))
    found = by_name(estimate_spreads(SpreadsRequest(repeats=groups)).estimates)["machine_sd_g"]
    rounding = 0.1**2 / 12
    assert found.sd == pytest.approx(math.sqrt(1 - rounding), abs=1e-4)
    assert (found.n, found.identified) == (8, True)
    # D = ν (log v + s²/v) with ν = 8, s² = 1
    for end in (found.low, found.high or 0):
        variance = end**2 + rounding
        assert 8 * (math.log(variance) + 1 / variance - 1) == pytest.approx(3.841, abs=3e-3)


def test_centring_by_hand() -> None:
    """An analysis of variance: what a static reading shows after reclamping is both variances' sum."""
    rng = np.random.default_rng(SEED)

    def group(spread: float) -> tuple[Reading, ...]:
        seen = 30 + rng.normal(0, spread, (3, 2)) @ np.array([1, 1j])
        return tuple(static(abs(v), math.degrees(np.angle(v)) % 360) for v in seen)

    repeats, remounts = [tuple(group(sd) for _ in range(20)) for sd in (0.8, 2.0)]
    found = by_name(estimate_spreads(SpreadsRequest(repeats, remounts)).estimates)

    def mean_square(groups: tuple[tuple[Reading, ...], ...]) -> float:
        seen = np.array([[unbalance(r) for r in g] for g in groups]) / 200
        return float((np.abs(seen - seen.mean(axis=1, keepdims=True)) ** 2).sum()) / (20 * 2 * 2)

    machine, both = mean_square(repeats), mean_square(remounts)
    assert found["machine_sd_g"].sd == pytest.approx(math.sqrt(machine - 0.01 / 12), rel=1e-3)
    assert found["centring_sd_g"].sd == pytest.approx(math.sqrt(both - machine), rel=1e-3)


def unbalance(reading: Reading) -> complex:
    return reading.called.static


@pytest.mark.parametrize("source", ["angle_sd_deg", "clip_position_sd_mm", "mass_sd_pct"])
def test_how_a_piece_shows_is_the_difference_of_moved_pieces(source: Source) -> None:
    """A central difference of the piece's own forces and moments."""
    piece = FittedPiece(-80, 190, 40, 70)
    job = Job(two_plane((20, 10), (15, 200)), (piece,), two_plane((1, 0), (1, 0)))
    half = 1e-3
    changes: dict[Source, Callable[[float], PointMass]] = {
        "angle_sd_deg": lambda s: replace(piece, angle_deg=piece.angle_deg + s * half),
        "clip_position_sd_mm": lambda s: replace(piece, position_mm=piece.position_mm + s * half),
        "mass_sd_pct": lambda s: replace(piece, mass_g=piece.mass_g * (1 + s * half / 100)),
    }

    def shown(mass: PointMass) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        moment = mass.vector * (mass.position_mm + 130) / 180
        in_planes = np.array([mass.vector - moment, moment]) / 200
        return np.concatenate([in_planes.real, in_planes.imag])

    effect = (shown(changes[source](1)) - shown(changes[source](-1))) / (2 * half)
    part = job_block(job).parts[SOURCES.index(source)]
    assert part == pytest.approx(np.outer(effect, effect), rel=1e-5, abs=1e-12)


def test_the_machine_shows_as_it_does_in_many_draws() -> None:
    """The two readings are in different planes: their errors compared in the later one's."""
    before = TwoPlane((PointMass(-150, 180, 20, 0), PointMass(30, 210, 10, 90)))
    after = TwoPlane((PointMass(-120, 200, 1, 0), PointMass(60, 190, 1, 0)))
    rng = np.random.default_rng(SEED)
    shown = []
    for _ in range(20_000):
        total = Unbalance()
        for reading, sign in ((before, -1), (after, 1)):
            for p in reading.planes:
                error = complex(*rng.normal(size=2)) * p.radius_mm
                total += Unbalance.at(p.position_mm, sign * error)
        in_b = total.about(-120) / 180
        shown.append([(total.static - in_b).real / 200, in_b.real / 190])
    part = job_block(Job(before, (), after)).parts[0]
    assert part[:2, :2] == pytest.approx(np.cov(np.array(shown).T), rel=0.05, abs=0.02)
    assert part[2:, 2:] == pytest.approx(part[:2, :2])


def test_off_centre_is_a_static_vector_in_both_planes() -> None:
    planes = (PointMass(-120, 180, 20, 0), PointMass(60, 220, 10, 0))
    part = group_block([TwoPlane(planes), TwoPlane(planes)], remounted=True).parts[1]
    masses = np.sqrt(np.diag(part)[:2])
    assert masses @ [180, 220] == pytest.approx(200)  # 1 g at the mean radius
    assert masses[0] * 180 == pytest.approx(masses[1] * 220)


@pytest.mark.slow
def test_simulated_shops_are_found_out() -> None:
    """Ten shops: the truth is inside nine intervals in ten, and estimates are near it on average.

    The coverage of 1,000 shops is measured by ``python -m tests.bench spreads``.
    """
    truth, rng = Truth(jobs=120), np.random.default_rng(SEED)
    results = [estimate_spreads(shop(truth, rng)) for _ in range(10)]
    inside = [
        e.low <= true <= (e.high or math.inf)
        for r in results
        for e, true in zip(r.estimates, truth.sds, strict=True)
    ]
    assert sum(inside) >= 0.9 * len(inside)
    for name, true in zip(SOURCES, truth.sds, strict=True):
        reported = [e.sd for r in results if (e := by_name(r.estimates)[name]).identified and e.sd]
        assert np.mean(reported) == pytest.approx(true, rel=0.15)
    assert sum(len(r.outliers) for r in results) <= 1


def test_the_spread_holds_what_is_identified_and_no_more() -> None:
    rng = np.random.default_rng(SEED)
    history = shop(Truth(), rng)
    found = estimate_spreads(SpreadsRequest(repeats=history.repeats))
    assert list(found.spread) == ["machine_sd_g"]
    estimates = by_name(found.estimates)
    assert estimates["angle_sd_deg"] == Estimate("angle_sd_deg", 2.0, 0.0, None, 0, identified=False)
    assert estimates["centring_sd_g"].sd is None
    assert found.warnings == ()
    whole = estimate_spreads(history)
    assert "centring_sd_g" not in whole.spread
    assert whole.spread == {e.name: e.sd for e in whole.estimates if e.identified and DEFAULTS[e.name] is not None}


def test_what_few_data_cannot_tell_keeps_the_default_and_says_so() -> None:
    history = shop(Truth(repeats=2, remounts=1, jobs=4), np.random.default_rng(SEED))
    found = estimate_spreads(history)
    unsure = [e for e in found.estimates if not e.identified and e.n]
    assert unsure
    assert all(e.sd == DEFAULTS[e.name] for e in unsure)
    reported = {w.values["name"]: w.code for w in found.warnings}
    assert reported == {e.name: "spread_default_kept" if e.sd else "centring_not_told" for e in unsure}
    assert "spread_default_kept" in reported.values()
    assert reported["centring_sd_g"] == "centring_not_told"


def test_no_more_is_sent_than_a_plan_takes() -> None:
    """Hands that err by 30° are a mistake in the history: the estimate says so, the spread stops at 15°."""
    found = estimate_spreads(shop(Truth((0.8, 1.5, 30.0, 4.0, 8.0, 4.0), jobs=60), np.random.default_rng(SEED)))
    estimated = by_name(found.estimates)["angle_sd_deg"].sd
    assert estimated is not None
    assert estimated > found.spread["angle_sd_deg"] == 15.0
    (said,) = [w for w in found.warnings if w.code == "spread_unlikely" and w.values["name"] == "angle_sd_deg"]
    assert (said.values["sd_deg"], said.values["most_deg"]) == (estimated, 15.0)


def test_who_clamped_again_learns_how_little_clamping_can_stray() -> None:
    """Twelve wheels clamped three times, on a seat that is true: told to do so once more, none would be wiser."""
    true_seat = Truth((0.8, 0.0, 3.0, 4.0, 8.0, 4.0), repeats=12, remounts=12, jobs=0)
    found = estimate_spreads(shop(true_seat, np.random.default_rng(SEED)))
    (said,) = [w for w in found.warnings if w.code == "centring_not_told"]
    most = by_name(found.estimates)["centring_sd_g"].high
    assert said.values["high_g"] == most
    assert most is not None
    assert most < 2
    assert "but it is at most" in text_of(said)


def test_a_mirrored_piece_is_an_outlier_and_is_left_out() -> None:
    history = shop(Truth(jobs=60), np.random.default_rng(SEED))
    clean = by_name(estimate_spreads(history).estimates)
    jobs = list(history.jobs)
    wrong = jobs[7]
    mirrored = tuple(replace(p, angle_deg=-p.angle_deg % 360) for p in wrong.fitted)
    jobs[7] = replace(wrong, fitted=mirrored)
    spoiled = estimate_spreads(replace(history, jobs=tuple(jobs)))
    assert spoiled.outliers == (Outlier("jobs", 7),)
    assert [w.values for w in spoiled.warnings if w.code == "entries_left_out"] == [{"count": 1}]
    assert by_name(spoiled.estimates)["angle_sd_deg"].sd == pytest.approx(clean["angle_sd_deg"].sd, rel=0.1)


def test_turning_every_wheel_changes_nothing() -> None:
    history = shop(Truth(repeats=4, remounts=4, jobs=15), np.random.default_rng(SEED))

    def turn(mass: PointMass) -> PointMass:
        return replace(mass, angle_deg=(mass.angle_deg + 77) % 360)

    def turned(reading: Reading) -> Reading:
        assert isinstance(reading, TwoPlane)
        first, second = map(turn, reading.planes)
        return TwoPlane((first, second))

    moved = SpreadsRequest(
        tuple(tuple(map(turned, g)) for g in history.repeats),
        tuple(tuple(map(turned, g)) for g in history.remounts),
        tuple(
            Job(
                turned(j.before),
                tuple(replace(p, angle_deg=(p.angle_deg + 77) % 360) for p in j.fitted),
                turned(j.after),
            )
            for j in history.jobs
        ),
    )
    pairs = zip(estimate_spreads(history).estimates, estimate_spreads(moved).estimates, strict=True)
    for one, other in pairs:
        assert (one.low, one.high or 0) == pytest.approx((other.low, other.high or 0), rel=1e-2, abs=1e-3)


def test_first_passes_and_chances() -> None:
    good, bad = two_plane((1, 0), (2, 90)), two_plane((9, 0), (2, 90))
    before = two_plane((20, 0), (15, 90))
    jobs = [Job(before, (), good, 90.0)] * 3 + [Job(before, (), bad, 90.0)] + [Job(before, (), bad)]
    found = estimate_spreads(SpreadsRequest(jobs=tuple(jobs)))
    assert found.calibration.first_pass_pct == 60
    assert [(b.n, b.happened_pct) for b in found.calibration.bins] == [(4, 75)]
    wider = estimate_spreads(SpreadsRequest(jobs=tuple(jobs), acceptance=Acceptance(10, 10)))
    assert wider.calibration.first_pass_pct == 100


@pytest.mark.parametrize(
    ("reported", "code"), [(95.0, "chances_too_high"), (20.0, "chances_too_low"), (75.0, None)]
)
def test_untrue_chances_are_said(reported: float, code: str | None) -> None:
    before = two_plane((20, 0), (15, 90))
    after = [two_plane((1, 0), (2, 90))] * 15 + [two_plane((9, 0), (2, 90))] * 5
    found = estimate_spreads(SpreadsRequest(jobs=tuple(Job(before, (), a, reported) for a in after)))
    said = [w for w in found.warnings if w.code.startswith("chances")]
    assert [w.code for w in said] == ([code] if code else [])
    assert all(w.values == {"told_pct": reported, "happened_pct": 75.0} for w in said)


@pytest.mark.parametrize(("count", "code"), [(1, "spread_not_shown"), (5, "send_spread")])
def test_a_spread_is_to_be_sent_only_if_there_is_one(count: int, code: str) -> None:
    """Chances of 95 % that never came true; one job of four numbers can't tell a machine within a factor of 4."""
    job = Job(two_plane((20, 0), (15, 90)), (), two_plane((9, 0), (2, 90)), 95.0)
    found = estimate_spreads(SpreadsRequest(jobs=(job,) * count))
    assert bool(found.spread) == (code == "send_spread")
    assert [w.code for w in found.warnings][-2:] == ["chances_too_high", code]


def test_identical_readings_show_no_spread() -> None:
    found = estimate_spreads(SpreadsRequest(repeats=((static(10, 5), static(10, 5)),) * 10))
    machine = by_name(found.estimates)["machine_sd_g"]
    assert not machine.identified
    assert machine.sd == DEFAULTS["machine_sd_g"]
    assert found.spread == {}


def test_readings_without_planes_are_refused() -> None:
    reading = PointMasses((PointMass(0, 200, 10, 0),))
    with pytest.raises(ValueError, match="without planes"):
        estimate_spreads(SpreadsRequest(repeats=((reading, reading),)))


def test_nothing_given_nothing_reported() -> None:
    found = estimate_spreads(SpreadsRequest())
    assert (found.spread, found.outliers, found.calibration.first_pass_pct) == ({}, (), None)
    assert [e.n for e in found.estimates] == [0] * len(SOURCES)
