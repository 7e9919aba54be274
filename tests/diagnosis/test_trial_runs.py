"""What trial runs are reported to be worth: the verdict, the warnings and the one-plane answers."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.diagnosis.trial_runs import TrialRuns, TrialRunsRequest, Verdict, evaluate_trial_runs
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.influence import Trial
from rimpoise_service.physics.unbalance import polar


def job_of(rows: list[list[complex]], unbalance: list[complex]) -> TrialRunsRequest:
    """Exact runs of a linear rotor with that influence matrix, a trial weight of 10 in each plane in turn."""
    initial = [sum(a * u for a, u in zip(row, unbalance, strict=True)) for row in rows]
    trials = tuple(
        Trial(k, 10 + 0j, tuple(v + row[k] * 10 for v, row in zip(initial, rows, strict=True)))
        for k in range(len(unbalance))
    )
    names = ("near", "far")[: len(unbalance)]
    return TrialRunsRequest(names, tuple(initial), trials, "removed", (1.0,) * len(rows), phases=True)


def reported(answer: TrialRuns) -> set[str]:
    """The codes of its warnings; every sentence can be said."""
    for remark in (*answer.warnings, *answer.next_steps, *answer.cautions):
        assert text_of(remark)
    return {w.code for w in answer.warnings}


def apart(epsilon: float) -> list[list[complex]]:
    """A symmetric matrix whose condition number is (2 + ε)/ε, by its eigenvalues 2 + ε and ε."""
    return [[1 + epsilon, 1], [1, 1 + epsilon]]


@pytest.mark.parametrize(
    ("condition", "verdict", "warned"),
    [
        (5, Verdict.GOOD, set[str]()),
        (9.9, Verdict.GOOD, set[str]()),
        (10.1, Verdict.DOUBTFUL, {"ill_conditioned"}),
        (19.9, Verdict.DOUBTFUL, {"ill_conditioned"}),
        (20.1, Verdict.ILL_CONDITIONED, {"ill_conditioned"}),
        (1e12, Verdict.ILL_CONDITIONED, {"planes_alike"}),
    ],
)
def test_the_verdict_follows_the_condition_number(condition: float, verdict: Verdict, warned: set[str]) -> None:
    """The marks 10 and 20 are common practice, no source; the condition number is by its definition."""
    answer = evaluate_trial_runs(job_of(apart(2 / (condition - 1)), [5 + 0j, 5j]))
    assert answer.verdict is verdict
    assert reported(answer) == warned
    assert len(answer.single_plane) == (2 if verdict is Verdict.ILL_CONDITIONED else 0)
    if condition < 1e6:
        assert answer.influence.condition_number == pytest.approx(condition, rel=1e-6)


def test_one_plane_alone_is_the_best_it_can_do() -> None:
    """By hand, least squares: sensors that answer 1 and 1 to either plane, 1 and 3 to be undone, ask for −2."""
    request = job_of(apart(1e-12), [0j, 0j])
    request = replace(
        request, initial=(1 + 0j, 3 + 0j), trials=tuple(Trial(k, 1 + 0j, (2 + 0j, 4 + 0j)) for k in (0, 1))
    )
    answer = evaluate_trial_runs(request)
    assert [p.weight.plane for p in answer.single_plane] == ["near", "far"]
    for alone in answer.single_plane:
        assert alone.weight.mass_g == pytest.approx(2)
        assert alone.weight.angle_deg == pytest.approx(180)
        assert alone.solution.left == pytest.approx((-1, 1))
        assert alone.solution.left_share == pytest.approx((2 / 10) ** 0.5)


def test_no_response_is_said() -> None:
    answer = evaluate_trial_runs(job_of([[0j], [0j]], [1 + 0j]))
    assert answer.verdict is Verdict.NO_RESPONSE
    assert "no_response" in reported(answer)
    assert [s.code for s in answer.next_steps] == ["try_heavier"]


def test_a_weak_trial_is_reported_by_its_number() -> None:
    request = job_of([[1 + 0j, 0], [0, 1 + 0j]], [20 + 0j, 10 + 0j])
    answer = evaluate_trial_runs(request)
    assert [w.values["number"] for w in answer.warnings if w.code == "weak_trial"] == []
    second = Trial(1, 1 + 0j, (20 + 0j, 11 + 0j))
    answer = evaluate_trial_runs(replace(request, trials=(request.trials[0], second)))
    assert [(w.values["number"], w.values["share_pct"]) for w in answer.warnings if w.code == "weak_trial"] == [
        (2, 30.0)
    ]
    assert answer.verdict is Verdict.DOUBTFUL


@pytest.mark.parametrize("rows", [[[1 + 0j]], [[1 + 0j, 0], [0, 1 + 0j]]])
def test_a_trial_that_changed_nothing_is_never_good(rows: list[list[complex]]) -> None:
    """Its runs show what was there before, give or take a thousandth."""
    request = job_of(rows, [20 + 0j] * len(rows))
    still = tuple(replace(t, responses=tuple(v * 1.001 for v in request.initial)) for t in request.trials)
    assert evaluate_trial_runs(replace(request, trials=still)).verdict is not Verdict.GOOD


def test_a_sensor_that_shows_nothing_is_no_response() -> None:
    """By hand: 5 units become 5.01, and 0 stay 0."""
    trial = Trial(0, 5 + 0j, (5.01 + 0j, 0j))
    runs = TrialRunsRequest(("hub",), (5 + 0j, 0j), (trial,), "removed", (1.0, 1.0), phases=True)
    answer = evaluate_trial_runs(runs)
    assert (answer.verdict, reported(answer)) == (Verdict.DOUBTFUL, {"weak_trial"})


def test_redundant_runs_that_disagree_are_doubtful() -> None:
    """Three runs in one plane: 10 g at 0°, 120°, 240°; one sensor read 30 % wrong in the last."""
    weights = [polar(10, 120 * k) for k in range(3)]
    runs = [Trial(0, w, (20 + 2 * w,)) for w in weights]
    good = evaluate_trial_runs(TrialRunsRequest(("hub",), (20 + 0j,), tuple(runs), "removed", (1.0,), phases=True))
    assert good.verdict is Verdict.GOOD
    assert good.influence.disagreement == pytest.approx((0,), abs=1e-12)
    runs[2] = replace(runs[2], responses=(runs[2].responses[0] * 1.3,))
    bad = evaluate_trial_runs(TrialRunsRequest(("hub",), (20 + 0j,), tuple(runs), "removed", (1.0,), phases=True))
    assert bad.verdict is Verdict.DOUBTFUL
    assert "runs_disagree" in reported(bad)


def test_with_weights_left_on_a_trial_is_held_against_the_run_before_it() -> None:
    """By hand: from 20 to 40 is much, then from 40 to 41 is little, though far from 20."""
    trials = (Trial(0, 20 + 0j, (40 + 0j,)), Trial(0, 1 + 0j, (41 + 0j,)))
    answer = evaluate_trial_runs(TrialRunsRequest(("hub",), (20 + 0j,), trials, "left_on", (1.0,), phases=True))
    assert [w.values["number"] for w in answer.warnings if w.code == "weak_trial"] == [2]


def test_left_on_or_removed_the_reader_is_told_what_to_do_with_the_trial_weights() -> None:
    request = job_of([[1 + 0j]], [5 + 0j])
    assert evaluate_trial_runs(request).next_steps[0].code == "take_off_trial_weights"
    assert (
        evaluate_trial_runs(replace(request, trial_weights="left_on")).next_steps[0].code == "leave_trial_weights"
    )


def four_runs(*amplitudes: float, initial: float = 5.0) -> TrialRuns:
    """Trials with 10 g at 0°, 120° and 240°, amplitudes alone."""
    trials = tuple(Trial(0, polar(10, 120 * k), (complex(a),)) for k, a in enumerate(amplitudes))
    return evaluate_trial_runs(
        TrialRunsRequest(("hub",), (complex(initial),), trials, "removed", (1.0,), phases=False)
    )


def test_circles_that_meet_are_good() -> None:
    """By hand: see test_influence; 5 units and as much again at right angles."""
    answer = four_runs(7.0711, 2.5882, 9.6593)
    assert (answer.verdict, reported(answer)) == (Verdict.GOOD, set())
    assert answer.corrections[0].mass_g == pytest.approx(10, rel=1e-4)
    assert answer.corrections[0].angle_deg == pytest.approx(90, abs=0.01)


def test_trials_that_hardly_change_an_amplitude_are_doubtful() -> None:
    """By hand: 10 g make 0.1 of 5 units, so the circles meet exactly, and a fiftieth is mostly noise."""
    weak = four_runs(*(abs(5 + polar(0.1, 120 * k)) for k in range(3)))
    assert weak.influence.closure == pytest.approx((1,), rel=1e-3)
    assert (weak.verdict, reported(weak)) == (Verdict.DOUBTFUL, {"weak_trial"})
    assert len(weak.warnings) == 3


def test_circles_that_do_not_meet_are_doubtful() -> None:
    answer = four_runs(7.0711, 2.5882, 11.6)
    assert (answer.verdict, reported(answer)) == (Verdict.DOUBTFUL, {"circles_open"})


def test_amplitudes_that_contradict_each_other_have_no_closure() -> None:
    """Three trials all round that all make it quieter than any weight could: |α|² comes out negative."""
    answer = four_runs(1.0, 2.0, 1.5)
    assert answer.influence.closure == (None,)
    assert "closure_unknown" in reported(answer)


def test_nothing_to_undo_gives_no_direction() -> None:
    answer = four_runs(3.0, 3.0, 3.0, initial=0.0)
    assert answer.verdict is Verdict.NO_RESPONSE
    assert answer.corrections[0].mass_g == 0
