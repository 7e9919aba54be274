"""Spreads of readings that are means of spins, or rounded to a display's steps; all data invented."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.diagnosis.spread_blocks import Job, job_block, step_seen_g
from rimpoise_service.diagnosis.spreads import SpreadsRequest, estimate_spreads
from rimpoise_service.physics.readings import Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from tests.bench.spreads import Truth, shop
from tests.diagnosis.test_spreads import SEED, by_name, static


def test_a_mean_of_four_spins_is_no_machine_twice_as_good() -> None:
    """What is read is alike, once of single spins, once of means: there a spin of its own strays twice as far."""
    groups = tuple((static(m, 0), static(m + 2, 0)) for m in (10.0, 20.0, 30.0, 40.0))
    means = tuple(tuple(replace(r, spins=4) for r in group) for group in groups)
    one, four = (
        by_name(estimate_spreads(SpreadsRequest(repeats=g)).estimates)["machine_sd_g"] for g in (groups, means)
    )
    assert one.sd is not None
    assert four.sd == pytest.approx(2 * one.sd, rel=1e-3)
    assert four.low == pytest.approx(2 * one.low, rel=1e-3)
    job = Job(means[0][0], (), groups[0][1])
    assert job_block(job).parts[0] == pytest.approx(1.25 * np.eye(2))


@pytest.mark.parametrize("stated", [True, False])
def test_a_display_in_steps_makes_no_outliers(stated: bool) -> None:
    """Ten shops, fifteen wheels read three times, in steps of 5 g; the machines stray by 0.7 g."""
    rng = np.random.default_rng(SEED)

    def shown(mass_g: float) -> Static:
        seen = complex(*rng.normal((mass_g, 0), 0.7))
        reading = static(5.0 * round(abs(seen) / 5), math.degrees(np.angle(seen)))
        return replace(reading, step_g=5.0 if stated else 0.0)

    shops = [[[shown(mass_g) for _ in range(3)] for mass_g in rng.uniform(20, 60, 15)] for _ in range(10)]
    results = [estimate_spreads(SpreadsRequest(repeats=tuple(map(tuple, groups)))) for groups in shops]
    assert np.mean([r.spread["machine_sd_g"] for r in results]) == pytest.approx(0.7, rel=0.1)
    assert sum(len(r.outliers) for r in results) <= 1
    coarse = {str(w.values["step"]) for r in results for w in r.warnings if w.code == "ask_fine_display"}
    assert coarse == (set() if stated else {"5 g"})


@pytest.mark.parametrize("step_deg", [15.0, 30.0])
def test_a_machine_that_shows_coarse_angles_is_no_worse(step_deg: float) -> None:
    """Ten shops, fifteen wheels read three times, to half or whole hours of a clock; the machines stray by 0.7 g.

    A wheel that is read now at one step, now at the next, may be left out; taken as read, one of eight was.
    """
    rng = np.random.default_rng(SEED)

    def shown(vector: complex) -> Static:
        seen = vector + complex(*rng.normal(0, 0.7, 2))
        return static(abs(seen), step_deg * round(math.degrees(np.angle(seen)) / step_deg))

    def wheel() -> tuple[Static, ...]:
        bare = complex(*rng.normal(0, 30, 2))
        return shown(bare), shown(bare), shown(bare)

    results = [estimate_spreads(SpreadsRequest(repeats=tuple(wheel() for _ in range(15)))) for _ in range(10)]
    assert np.mean([r.spread["machine_sd_g"] for r in results]) == pytest.approx(0.7, rel=0.1)
    assert sum(len(r.outliers) for r in results) <= 150 / 14
    said = {w.values["step_deg"] for r in results for w in r.warnings if w.code == "ask_fine_angles"}
    assert said == {step_deg}


def test_a_shown_zero_is_not_nothing() -> None:
    """A shop whose balancer shows no less than 8 g: where check spins show 0, the weights weren't 8 % off."""
    truth = Truth((0.7, 1.5, 3.0, 1.0, 4.0, 3.0), repeats=8, remounts=0, jobs=60)
    history = shop(truth, np.random.default_rng(0))

    def hidden(reading: TwoPlane) -> TwoPlane:
        first, second = (replace(m, mass_g=m.mass_g if m.mass_g > 8 else 0.0) for m in reading.planes)
        return replace(reading, planes=(first, second), zero_below_g=8.0)

    jobs = tuple(replace(j, after=hidden(j.after)) for j in history.jobs if isinstance(j.after, TwoPlane))
    found = estimate_spreads(replace(history, jobs=jobs))
    assert not found.outliers
    assert found.spread["machine_sd_g"] == pytest.approx(0.7, rel=0.1)
    assert found.spread["mass_sd_pct"] == pytest.approx(3, rel=0.3)


@pytest.mark.parametrize(("shown", "in_planes"), [("static_zero", (4.0, 4.0)), ("couple_zero", (16.0, -16.0))])
def test_a_zero_of_static_or_couple_is_not_nothing(shown: str, in_planes: tuple[float, float]) -> None:
    """Up to 8 g, so 8²/4 g² a component: of a static mass half in each plane, of a couple all, opposed."""
    planes = (PointMass(-130, 215, 20, 0), PointMass(45, 215, 20, 180))
    plain = TwoPlane(planes, zero_below_g=8.0)
    zero = replace(plain, **{shown: True})  # type: ignore[arg-type]
    more = job_block(Job(plain, (), zero)).known - job_block(Job(plain, (), plain)).known
    own, shared = in_planes
    assert more[:2, :2] == pytest.approx(np.array([[own, shared], [shared, own]]))


def test_steps_in_ounces_are_seen_in_grams() -> None:
    history = [static(28.349523125 * ounces, 0) for ounces in (0, 1.25, 2)]
    assert step_seen_g(history) == pytest.approx(7.087381)
    for fine in (28.349523125 * 1.3, 36.0):
        assert step_seen_g([*history, static(fine, 0)]) == 0
    assert step_seen_g([static(0, 0)]) == 0
