"""Wheel or machine? Each check with the fault it is for, and none where there is none; all data invented."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.diagnosis.index_readings import KnownWeight, Turns
from rimpoise_service.diagnosis.machine_check import MachineCheck, MachineCheckRequest, Verdict, check_machine
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.readings import Reports, Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, angle_deg, polar

NOTHING = MachineCheckRequest(None, None, None, ())


def static(vector: complex, reports: Reports = "correction") -> Static:
    """A reading at 200 mm, the vector in g."""
    return Static(PointMass(-45, 200, abs(vector), angle_deg(vector)), reports)


def two(inboard: complex, outboard: complex, reports: Reports = "correction") -> TwoPlane:
    """A reading at −130 and 40 mm."""
    a, b = ((z, 200, abs(v), angle_deg(v)) for z, v in ((-130, inboard), (40, outboard)))
    return TwoPlane((PointMass(*a), PointMass(*b)), reports)


def turned(wheel: complex, machine: complex, count: int, step: int = 1) -> tuple[Static, ...]:
    """A wheel read at equal turns, angles from the shaft."""
    return tuple(static(machine + wheel * polar(1, step * 360 * k / count)) for k in range(count))


def check(request: MachineCheckRequest) -> MachineCheck:
    """The answer; every sentence in it can be said."""
    answer = check_machine(request)
    for remark in (*answer.warnings, *answer.next_steps, *answer.cautions):
        assert text_of(remark)
    return answer


def codes(answer: MachineCheck) -> set[str]:
    """The codes of its warnings."""
    return {w.code for w in answer.warnings}


@pytest.mark.parametrize("count", [2, 3, 4, 12])
@pytest.mark.parametrize(("machine_g", "verdict"), [(4.99, Verdict.PASS), (5.01, Verdict.CENTRE_AGAIN)])
def test_the_machines_part_is_held_to_the_limit(count: int, machine_g: float, verdict: Verdict) -> None:
    answer = check(replace(NOTHING, turns=Turns(turned(0.003j, polar(machine_g, 70), count))))
    (parts,) = answer.turns
    assert answer.verdict is verdict
    assert (parts.machine.mass_g, parts.machine.angle_deg) == pytest.approx((machine_g, 70))
    assert (parts.wheel.mass_g, parts.wheel.angle_deg) == pytest.approx((0.003, 90))
    assert codes(answer) == ({"spread_unknown"} if count == 2 else set())


@given(st.integers(2, 12), st.sampled_from([1, -1]), st.sampled_from(["shaft", "wheel"]))
def test_whichever_way_it_is_reported_the_parts_are_the_same(
    count: int, step: int, angles_from: Literal["shaft", "wheel"]
) -> None:
    """First principles: from the wheel's mark the wheel's part stays, the machine's turns the other way."""
    wheel, machine = polar(20, 40), polar(6, 300)
    readings = turned(wheel, machine, count, step)
    if angles_from == "wheel":
        readings = tuple(static(wheel + machine * polar(1, -step * 360 * k / count)) for k in range(count))
    sense = "clockwise" if step == 1 else "counterclockwise"
    (parts,) = check(replace(NOTHING, turns=Turns(readings, sense, angles_from))).turns  # type: ignore[arg-type]
    assert parts.machine.vector / 200 == pytest.approx(machine)
    assert parts.wheel.vector / 200 == pytest.approx(wheel)


def test_turns_the_other_way_are_found_out() -> None:
    answer = check(replace(NOTHING, turns=Turns(turned(30j, 1 + 0j, 4, -1))))
    assert "turned_other_way" in codes(answer)
    assert "turned_other_way" not in codes(check(replace(NOTHING, turns=Turns(turned(30j, 1 + 0j, 4)))))


def test_readings_that_do_not_follow_the_turns_are_unsteady() -> None:
    readings = list(turned(30j, 1 + 0j, 6))
    readings[2] = static(40 + 0j)
    answer = check(replace(NOTHING, turns=Turns(tuple(readings))))
    assert answer.verdict is Verdict.UNSTEADY
    assert answer.turns[0].worst_g > 5
    assert [s.code for s in answer.next_steps] == ["seat_evenly"]


@given(st.sampled_from(["correction", "unbalance"]), st.sampled_from(["correction", "unbalance"]))
def test_all_is_reported_in_the_sense_of_the_first_reading(first: Reports, second: Reports) -> None:
    """A call of 10 g at 0° is a heavy side of 10 g at 180°: half the sum of two, reported as the first."""
    other = static(-10 + 0j if first != second else 10 + 0j, second)
    (parts,) = check(replace(NOTHING, turns=Turns((static(10 + 0j, first), other)))).turns
    assert parts.machine.vector / 200 == pytest.approx(10)


@pytest.mark.parametrize(("seen", "verdict"), [(4.9, Verdict.PASS), (5.1, Verdict.CHECK_MACHINE)])
def test_an_empty_shaft_should_read_nothing(seen: float, verdict: Verdict) -> None:
    answer = check(replace(NOTHING, empty_shaft=two(0.5 + 0j, polar(seen, 20))))
    assert answer.verdict is verdict
    assert [v.plane.name for v in answer.empty_shaft] == ["inboard", "outboard"]


@pytest.mark.parametrize("reports", ["correction", "unbalance"])
def test_a_known_weight_is_called_back_opposite(reports: Reports) -> None:
    """Car makers' manuals, from memory: the same mass, half a turn away; as the heavy side, where it is."""
    weight, sign = PointMass(40, 200, 85, 90), (-1 if reports == "correction" else 1)
    before = two(3 + 0j, 2j, reports)
    after = two(3 + 0j, 2j + sign * 85j, reports)
    answer = check(replace(NOTHING, known_weight=KnownWeight(weight, after, before)))
    assert answer.verdict is Verdict.PASS
    assert [k.off_g for k in answer.known_weight] == pytest.approx([0, 0], abs=1e-9)
    alone = check(replace(NOTHING, known_weight=KnownWeight(weight, two(0j, sign * 80j, reports))))
    assert [k.off_g for k in alone.known_weight] == pytest.approx([0, 5])


def test_a_weight_between_the_planes_is_shared_by_them() -> None:
    """By hand, levers: 60 g a third of the way from inboard to outboard count 40 and 20."""
    weight = PointMass(-130 + 170 / 3, 200, 60, 0)
    answer = check(replace(NOTHING, known_weight=KnownWeight(weight, two(-40 + 0j, -20 + 0j))))
    assert [k.expected.mass_g for k in answer.known_weight] == pytest.approx([40, 20])
    assert [k.off_g for k in answer.known_weight] == pytest.approx([0, 0], abs=1e-9)


@pytest.mark.parametrize(
    ("before", "reading"),
    [(None, two(0j, 85j)), (two(20 + 0j, 15 + 0j), two(20 + 0j, 15 + 85j))],
)
def test_a_weight_called_on_its_own_side_is_a_mixed_up_sense(before: TwoPlane | None, reading: TwoPlane) -> None:
    """On a wheel that was out of balance as well, whose own part the same machine called on that side."""
    weight = PointMass(40, 200, 85, 90)
    answer = check(replace(NOTHING, known_weight=KnownWeight(weight, reading, before)))
    assert answer.verdict is Verdict.CHECK_REPORTS
    assert codes(answer) == {"called_same_side"}
    assert [s.code for s in answer.next_steps] == ["send_heavy_side"]


def test_one_plane_that_is_off_is_no_mixed_up_sense() -> None:
    """The weight counts 81 g outboard, called right, and 4 g inboard, where 6 g too many are called."""
    weight = PointMass(40 - 170 * 4 / 85, 200, 85, 0)
    answer = check(replace(NOTHING, known_weight=KnownWeight(weight, two(2 + 0j, -81 + 0j))))
    assert [k.off_g for k in answer.known_weight] == pytest.approx([6, 0])
    assert (answer.verdict, codes(answer)) == (Verdict.CHECK_MACHINE, set())


def test_a_machine_that_is_off_is_not_told_to_change_its_sense() -> None:
    """The empty shaft shows 9 g: whatever the known weight was called as, the machine comes first."""
    weight = PointMass(40, 200, 85, 90)
    answer = check(replace(NOTHING, empty_shaft=two(9 + 0j, 0j), known_weight=KnownWeight(weight, two(0j, 85j))))
    assert answer.verdict is Verdict.CHECK_MACHINE
    assert "called_same_side" not in codes(answer)
    assert [s.code for s in answer.next_steps] == ["check_machine"]


def test_repeats_are_held_to_the_limit_and_their_spread_is_reported() -> None:
    """By hand: 10 ± 1 g along one direction; mean 10, variance 2 over 2·(2) components."""
    answer = check(replace(NOTHING, repeats=tuple(static(v + 0j) for v in (9, 10, 11))))
    (repeats,) = answer.repeats
    assert answer.verdict is Verdict.PASS
    assert (repeats.mean.mass_g, repeats.worst_g) == pytest.approx((10, 1))
    assert repeats.repeatability_g == pytest.approx((2 / 4) ** 0.5)
    assert check(replace(NOTHING, repeats=(static(0j), static(10.1 + 0j)))).verdict is Verdict.UNSTEADY


@pytest.mark.parametrize(("span_g", "verdict"), [(6.9, Verdict.PASS), (7.1, Verdict.UNSTEADY)])
def test_five_spins_of_a_test_weight_vary_by_no_more_than_the_limit(span_g: float, verdict: Verdict) -> None:
    """A test of a balancer (Chevrolet Blazer 2WD, service manual 2000): 85 g, varies by 7 g at most."""
    spins = tuple(static(85 + share * span_g + 0j) for share in (-0.5, 0, 0.5, 0.1, -0.1))
    answer = check(replace(NOTHING, repeats=spins, limit_g=7))
    assert answer.repeats[0].span_g == pytest.approx(span_g)
    assert answer.verdict is verdict


@pytest.mark.parametrize(("machine_g", "verdict"), [(3.4, Verdict.PASS), (3.6, Verdict.CENTRE_AGAIN)])
def test_masses_at_four_positions_vary_by_no_more_than_the_limit(machine_g: float, verdict: Verdict) -> None:
    """The same test of a balancer: 85 g at four positions 90° apart, varies by 7 g at most. By hand: a machine's
    part in line with the weight's adds to one reading and takes from the one half a turn on."""
    answer = check(replace(NOTHING, turns=Turns(turned(85 + 0j, machine_g + 0j, 4)), limit_g=7))
    assert answer.turns[0].span_g == pytest.approx(2 * machine_g)
    assert answer.verdict is verdict


@pytest.mark.parametrize(("count", "verdict"), [(2, Verdict.PASS), (3, Verdict.PASS), (4, Verdict.CENTRE_AGAIN)])
def test_fewer_positions_show_the_machines_part_alone(count: int, verdict: Verdict) -> None:
    """3 g of the machine's beside 10 g of the wheel's: within 5 g, though two readings differ by 6 g."""
    assert check(replace(NOTHING, turns=Turns(turned(10 + 0j, 3 + 0j, count)))).verdict is verdict


def test_the_machine_is_doubted_first() -> None:
    off = replace(NOTHING, turns=Turns(turned(30j, 9 + 0j, 4)), repeats=(static(0j), static(30 + 0j)))
    assert check(off).verdict is Verdict.UNSTEADY
    assert check(replace(off, empty_shaft=static(9 + 0j))).verdict is Verdict.CHECK_MACHINE
    assert check(replace(off, limit_g=30)).verdict is Verdict.PASS


def test_old_weights_are_taken_off_and_cautioned() -> None:
    """By definition: an old weight where the reading says heavy accounts for all of it."""
    old = replace(static(-20 + 0j), old_weights=(PointMass(-45, 200, 20, 0),))
    answer = check(replace(NOTHING, empty_shaft=old))
    assert answer.empty_shaft[0].mass_g == pytest.approx(0, abs=1e-9)
    assert "old_weights_guess" in {c.code for c in answer.cautions}
