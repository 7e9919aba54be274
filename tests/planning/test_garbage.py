"""What a plan was found with is gone when the plan is: nothing waits in circles for the garbage collector."""

from __future__ import annotations

import gc
import weakref

import numpy as np
import pytest

from rimpoise_service.model.arcs import WHOLE_CIRCLE
from rimpoise_service.planning.placements import BlockSet, Circle
from rimpoise_service.planning.planner import make_plan
from tests.factories.drawn import plan_request
from tests.factories.seeded import shop_job
from tests.planning.invented_places import strip


@pytest.mark.parametrize("seed", [20, 25, 58])
def test_blocks_do_not_outlive_their_plan(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks are the largest things of a search: tens of megabytes in a heavy one."""
    kept: list[weakref.ref[BlockSet]] = []
    of = BlockSet.of

    def followed(options: list[object]) -> BlockSet:
        made = of(options)  # type: ignore[arg-type]
        kept.append(weakref.ref(made))
        return made

    monkeypatch.setattr(BlockSet, "of", followed)
    gc.disable()
    try:
        make_plan(shop_job(seed))
        assert kept
        assert [found for found in kept if found() is not None] == []
    finally:
        gc.enable()


def test_a_plan_leaves_nothing_behind() -> None:
    request = plan_request("5_spokes", 4)
    make_plan(request)  # what is made once for all
    gc.collect()
    gc.disable()
    try:
        plan = make_plan(request)
        assert plan.layouts
        del plan
        assert gc.collect() == 0
    finally:
        gc.enable()


def test_blocks_are_kept_once() -> None:
    """Each option has its part of the row that all are in: the same memory, end to end."""
    whole = Circle(200.0, (WHOLE_CIRCLE,), (strip(5.0), strip(2.5)), 2).all_blocks
    parts = [option.blocks.size for option in whole.options]
    assert [len(part) for part in parts] == np.bincount(whole.option).tolist()
    assert np.concatenate(parts).tolist() == whole.blocks.size.tolist()
    assert all(np.shares_memory(part, whole.blocks.size) for part in parts)
