"""Bin-packing jobs drawn by a published recipe, so that their optimum is known."""

from __future__ import annotations

import random

import pytest
from validated.cutting import plan as bins

from estimator.solve.cutting import CutPlan


def counted(items: list[int]) -> dict[int, int]:
    return {w: items.count(w) for w in items}


def check_bins(plan: CutPlan, capacity: int, demand: dict[int, int], optimum: int) -> None:
    cut_out = [label for b in plan.boards for label, _ in b.pieces]
    assert {int(w): cut_out.count(w) for w in set(cut_out)} == demand
    assert all(sum(length for _, length in b.pieces) <= capacity for b in plan.boards)
    assert (plan.cost, plan.bound, plan.proven) == (optimum, optimum, True)
    assert len(plan.boards) == optimum


def triplets(n: int, seed: int) -> list[int]:
    """n items by the published recipe: a large one of 380 to 490, then two that fill 1000."""
    rng = random.Random(seed)
    items = []
    for _ in range(n // 3):
        large = rng.randint(380, 490)
        second = rng.randint(250, (1000 - large) // 2)
        items += [large, second, 1000 - large - second]
    return items


@pytest.mark.parametrize("n", [60, 120, pytest.param(249, marks=pytest.mark.slow)])
def test_triplets_drawn_by_the_published_recipe_fill_a_third_as_many_bins(n: int) -> None:
    """Optimum n/3 by construction: every bin full (recipe: Falkenauer 1996, from memory)."""
    for seed in (1, 2):
        demand = counted(triplets(n, seed))
        check_bins(bins(1000, demand), 1000, demand, n // 3)


@pytest.mark.parametrize("n", [120, 250])
def test_uniform_jobs_drawn_by_the_published_recipe_reach_the_length_bound(n: int) -> None:
    """Sizes of 20 to 100 in bins of 150 nearly always reach the total length over 150, rounded
    up, which no plan can beat (recipe: Falkenauer 1996, from memory)."""
    rng = random.Random(n)
    items = [rng.randint(20, 100) for _ in range(n)]
    demand = counted(items)
    check_bins(bins(150, demand), 150, demand, -(-sum(items) // 150))
