"""Joints of pieces longer than every board: held against cutting every way there is."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations, pairwise

import pytest
from jobs import at, block, changed, demo, on_flat, one_option, solved

from estimator.model.kinds import OPEN
from estimator.solve.cutting import Piece, Saw, Stock, cut
from estimator.solve.joint_ways import Joined, Way, ways_below

SAW = Saw(kerf_in=0.125)


def parts_of(joined: Joined, way: Way) -> list[Piece]:
    ends = (0.0, *way, joined.length_in)
    return [Piece("part", b - a, joined.count) for a, b in pairwise(ends)]


def every_way(joined: Joined, longest_in: float) -> list[Way]:
    """All ways whose parts fit a board, each set of parts once."""
    found: dict[tuple[float, ...], Way] = {}
    for way in combinations(joined.marks_in, joined.parts - 1):
        parts = [round(p.length_in, 4) for p in parts_of(joined, way)]
        if max(parts) <= longest_in:
            found.setdefault(tuple(sorted(parts)), way)
    return list(found.values())


def cost_of(joined: Joined, way: Way, pieces: Sequence[Piece], stocks: Sequence[Stock]) -> float:
    plan = cut([*pieces, *parts_of(joined, way)], stocks, SAW)
    assert plan.proven
    return plan.cost


@pytest.mark.parametrize("seed", range(8))
def test_no_way_of_all_costs_less_than_the_bound_or_than_the_best_of_those_returned(
    seed: int,
) -> None:
    chance = random.Random(seed)
    step = chance.choice([16.0, 19.2, 24.0])
    feet = chance.choice([13, 14, 16])
    marks = tuple(step * n for n in range(1, int(feet * 12 / step - 0.01) + 1))
    joined = Joined(feet * 12, chance.choice([1, 2, 4]), marks, chance.choice([3, 4]))
    lengths = sorted(chance.sample([72, 84, 96, 108, 120, 144], 3))
    stocks = [Stock(f"{n} in", n, round(n * chance.uniform(0.06, 0.09), 2), None) for n in lengths]
    pieces = [
        Piece(f"p{n}", chance.randint(20, int(lengths[0])), chance.randint(1, 6))
        for n in range(chance.randint(1, 3))
    ]
    ways = every_way(joined, lengths[-1])
    cost = {way: cost_of(joined, way, pieces, stocks) for way in ways}
    first = ways[0]
    found = ways_below(joined, pieces, stocks, SAW, cost[first], 1000)
    assert found.every
    assert found.bound <= min(cost.values()) + 1e-9
    best = min([cost[first], *(cost_of(joined, w, pieces, stocks) for w in found.ways)])
    assert best == pytest.approx(min(cost.values()), abs=1e-9)


def test_ways_that_are_left_out_are_told() -> None:
    joined = Joined(240, 2, tuple(24.0 * n for n in range(1, 10)), 5)
    stocks = [Stock("8 ft", 96, 6.0), Stock("12 ft", 144, 9.5)]
    pieces = [Piece("joist", 47, 9)]
    dear = cost_of(joined, (48.0, 96.0, 144.0, 192.0), pieces, stocks)
    all_of_them = ways_below(joined, pieces, stocks, SAW, dear + 30, 1000)
    assert all_of_them.every
    some = ways_below(joined, pieces, stocks, SAW, dear + 30, 2)
    assert len(some.ways) == 2 < len(all_of_them.ways)
    assert not some.every
    assert some.bound == all_of_them.bound


def test_a_known_cost_that_attains_the_bound_leaves_no_way_to_try() -> None:
    # Two of 16 ft from boards of 8 ft: four boards, which the length alone asks for.
    joined = Joined(192, 2, (96.0,), 2)
    found = ways_below(joined, [], [Stock("8 ft", 96, 5.0)], SAW, 20.0, 10)
    assert found == found.__class__(20.0, (), True)


def test_boards_of_less_than_half_a_cent_leave_every_way_open() -> None:
    joined = Joined(192, 2, (96.0,), 2)
    found = ways_below(joined, [], [Stock("8 ft", 96, 0.004)], SAW, 0.02, 10)
    assert (found.bound, found.every) == (0.0, False)


@pytest.mark.parametrize(
    ("length_ft", "width_ft", "spacing_in", "skids", "cost"),
    [(34, 10, 16, 4, 424.30), (36, 8, 12, 4, 448.30), (33, 9, 16, 4, 374.80)],
)
def test_rims_are_joined_where_boards_cost_least_and_only_that_is_called_proven(
    length_ft: int, width_ft: int, spacing_in: int, skids: int, cost: float
) -> None:
    # With twelve ways to join tried, $424.90, $448.90 and $375.40 were called least.
    job = changed(on_flat(demo()), building_length_ft=length_ft, building_width_ft=width_ft)
    values = solved(
        one_option(
            OPEN,
            job,
            species="Southern pine No.2",
            joist_stock="2x6 treated",
            joist_spacing_in=spacing_in,
            skid_count=skids,
        )
    )
    bought = block(values, "item_boards") * block(values, "item_paid")
    paid = bought[block(values, "item_stock") == "2x6 treated"].sum()
    assert paid == pytest.approx(cost, abs=1e-6)
    assert at(values, "cut_proven") == "least cost, proven"
    assert at(values, "cut_bound") == pytest.approx(at(values, "cut_cost"), abs=1e-6)


@pytest.mark.parametrize(
    ("length_ft", "width_ft", "spacing_in", "limits"),
    [(36, 8, 12, (7, 6, 7, 13)), (36, 8, 12, (6, 6, 10, 11)), (34, 10, 16, (6, 14, 12, 5))],
)
def test_rims_are_joined_otherwise_where_the_yard_has_not_the_boards_for_one_way(
    length_ft: int, width_ft: int, spacing_in: int, limits: tuple[int, ...]
) -> None:
    # A way that the boards in stock do not give had the whole job refused.
    job = changed(on_flat(demo()), building_length_ft=length_ft, building_width_ft=width_ft)
    rows = [row for (key, row), v in job.cells.items() if (key, v) == ("item_stock", "2x6 treated")]
    has = dict(zip(rows, limits, strict=True))
    values = solved(
        one_option(
            OPEN,
            changed(job, item_limit=has),
            species="Southern pine No.2",
            joist_stock="2x6 treated",
            joist_spacing_in=spacing_in,
            skid_count=4,
        )
    )
    assert at(values, "cut_proven") == "least cost, proven"
    bought = block(values, "item_boards")
    assert all(bought[row] <= most for row, most in has.items())
