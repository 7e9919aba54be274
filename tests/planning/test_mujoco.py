"""A wheel spun in a general rigid-body simulator: what its bearing feels is what our vectors predict.

The simulator knows masses and places, nothing of unbalance. A symmetric rotor turns about z at a constant speed;
the unbalance and the weights are small masses fixed to it. The bearing must hold it with the force U ω² and,
about the datum, with the moment that the vectors make times their positions. (MuJoCo; Todorov et al., 2012.)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import mujoco  # type: ignore[import-untyped]
import numpy as np
import pytest

from rimpoise_service.model.stock import Strip
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.physics.planes import Plane, PlaneVector, correct
from rimpoise_service.physics.unbalance import PointMass, Unbalance, force_n, polar
from rimpoise_service.planning.strip_split import SplitRequest, split

TURNS_PER_S = 14.0  # a car's wheel at 100 km/h
SPEED_RAD_S = TURNS_PER_S * 2 * math.pi


@dataclass(frozen=True)
class Felt:
    """What the wheel does to its bearing, turning with it: force [N] and moment about the datum [N·mm]."""

    force: complex
    moment: complex


def _geom(mass: PointMass) -> str:
    angle, radius = math.radians(mass.angle_deg), mass.radius_mm / 1000
    place = f"{radius * math.cos(angle)!r} {-radius * math.sin(angle)!r} {mass.position_mm / 1000!r}"
    return f'<geom type="sphere" size="0.0001" mass="{mass.mass_g / 1000!r}" pos="{place}"/>'


def spin(masses: Sequence[PointMass], turn_rad: float = 0.0) -> Felt:
    """Spin a balanced 20 kg rotor with these masses on it; angles clockwise as seen from outboard, from +z.

    Seen from there x × y turns the other way, so a mass at θ lies at (r cos θ, −r sin θ).
    """
    geoms = "".join(_geom(m) for m in masses)
    model = mujoco.MjModel.from_xml_string(
        f"""<mujoco><option gravity="0 0 0"/><worldbody><body>
        <joint type="hinge" axis="0 0 1"/><site name="datum" pos="0 0 0"/>
        <geom type="cylinder" size="0.2 0.1" mass="20" contype="0" conaffinity="0"/>{geoms}
        </body></worldbody><sensor><force site="datum"/><torque site="datum"/></sensor></mujoco>"""
    )
    data = mujoco.MjData(model)
    data.qpos[0], data.qvel[0] = turn_rad, SPEED_RAD_S
    mujoco.mj_forward(model, data)
    assert abs(data.qacc[0]) < 1e-9  # the speed is constant
    # The sensors give what holds the wheel; the bearing feels the opposite.
    force, torque = -np.array(data.sensordata[:3]), -np.array(data.sensordata[3:])
    assert abs(force[2]) < 1e-9
    # Back to the clockwise view: a force (fx, fy) at z has the torque (−z fy, z fx), and z (fx − i fy) is wanted.
    return Felt(complex(force[0], -force[1]), 1000 * complex(torque[1], torque[0]))


def predicted(unbalance: Unbalance) -> Felt:
    """F = U ω², and so for the moment."""
    newton = force_n(1.0, SPEED_RAD_S)
    return Felt(unbalance.static * newton, unbalance.moment * newton)


def agree(felt: Felt, expected: Felt, masses: Sequence[PointMass]) -> None:
    """To a millionth of what the masses could do if they all pulled together."""
    most = sum(abs(m.vector) for m in masses) * force_n(1.0, SPEED_RAD_S)
    assert abs(felt.force - expected.force) <= 1e-6 * max(abs(expected.force), 1e-3 * most)
    assert abs(felt.moment - expected.moment) <= 1e-6 * max(abs(expected.moment), 0.1 * most)


def as_masses(weights: Sequence[PlaneVector]) -> list[PointMass]:
    """Weights as they are fitted: a mass at a plane's radius."""
    return [PointMass(w.plane.position_mm, w.plane.radius_mm, w.mass_g, w.angle_deg) for w in weights]


def random_masses(seed: int) -> list[PointMass]:
    rng = np.random.default_rng(seed)
    return [
        PointMass(rng.uniform(-150, 80), rng.uniform(150, 320), rng.uniform(1, 120), rng.uniform(0, 360))
        for _ in range(rng.integers(1, 6))
    ]


FLANGES = [Plane("inboard", -133.9, 216.0), Plane("outboard", 43.9, 218.0)]


def test_one_mass_pulls_outwards() -> None:
    """5 g at 165 mm, 90° clockwise, 50 mm outboard: m r ω², a force at 3 o'clock."""
    mass = PointMass(50, 165, 5, 90)
    felt = spin([mass])
    assert felt.force == pytest.approx(1j * 0.005 * 0.165 * SPEED_RAD_S**2)
    assert felt.moment == pytest.approx(felt.force * 50)


@pytest.mark.parametrize("seed", range(12))
def test_unbalance_is_what_the_bearing_feels(seed: int) -> None:
    masses = random_masses(seed)
    for turn in (0.0, 1.0, 4.4):
        agree(spin(masses, turn), predicted(Unbalance.of(masses)), masses)


@pytest.mark.parametrize("seed", range(12))
def test_exact_corrections_leave_the_bearing_in_peace(seed: int) -> None:
    masses = random_masses(seed)
    weights = as_masses(correct(Unbalance.of(masses), FLANGES))
    felt = spin([*masses, *weights])
    agree(felt, Felt(0j, 0j), [*masses, *weights])


@pytest.mark.parametrize("seed", range(12))
def test_whole_grams_leave_what_is_predicted(seed: int) -> None:
    """Both flanges' corrections rounded to whole grams and degrees."""
    masses = random_masses(seed)
    exact = as_masses(correct(Unbalance.of(masses), FLANGES))
    weights = [PointMass(w.position_mm, w.radius_mm, round(w.mass_g), round(w.angle_deg)) for w in exact]
    left = Unbalance.of(masses) + Unbalance.of(weights)
    assert abs(left.static) > 1  # something is left to be felt
    agree(spin([*masses, *weights]), predicted(left), [*masses, *weights])


@pytest.mark.parametrize("seed", range(6))
def test_one_plane_leaves_the_couple(seed: int) -> None:
    masses = random_masses(seed)
    unbalance = Unbalance.of(masses)
    weights = as_masses(correct(unbalance, FLANGES[:1]))
    felt = spin([*masses, *weights])
    couple = unbalance.moment - unbalance.static * FLANGES[0].position_mm
    agree(felt, predicted(Unbalance(0j, couple)), [*masses, *weights])


@pytest.mark.parametrize("seed", range(4))
def test_split_strips_leave_what_they_say(seed: int) -> None:
    """Strips laid out as many small masses along their arc: the simulator does the adding up."""
    rng = np.random.default_rng(seed)
    radius, thickness = 195.0, 3.6
    target = PlaneVector(Plane("land", -20.0, radius), polar(rng.uniform(20, 80) * radius, rng.uniform(0, 360)))
    strip = Strip("s", "steel", 5.0, 16.0, 19.0, thickness, 12)
    answer = split(SplitRequest(target, radius, even_spokes(5, 10, 40), strip))
    assert answer.pieces
    heavy = PointMass(-20.0, radius, target.mass_g, target.angle_deg + 180)
    grains = 300
    laid = [
        PointMass(
            -20.0,
            radius - thickness / 2,
            p.mass_g / grains,
            p.angle_deg + p.arc_deg * ((i + 0.5) / grains - 0.5),
        )
        for p in answer.pieces
        for i in range(grains)
    ]
    felt = spin([heavy, *laid])
    expected = predicted(Unbalance.at(-20.0, answer.residual.vector))
    scale = abs(predicted(Unbalance.of([heavy])).force)
    assert abs(felt.force - expected.force) < 1e-6 * scale  # grains stand for a line to within 1e-7
    assert abs(felt.moment - expected.moment) < 1e-6 * scale * 20


def test_the_simulator_can_disagree() -> None:
    """A weight on the heavy side, the classic trap, doubles the force."""
    mass = PointMass(0, 200, 30, 10)
    (weight,) = as_masses(correct(Unbalance.of([mass]), [Plane("p", 0, 200)]))
    wrong = PointMass(0, 200, weight.mass_g, weight.angle_deg + 180)
    assert abs(spin([mass, wrong]).force) == pytest.approx(2 * abs(spin([mass]).force))
    assert abs(spin([mass, weight]).force) < 1e-9
