"""Boards are cut from stocked lengths at the least cost, and no board is over-cut."""

from __future__ import annotations

import itertools
import math
import random
from collections import Counter

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from estimator.errors import InputError, SolveError
from estimator.solve.cutting import (
    CutPlan,
    Piece,
    Saw,
    Stock,
    blocking_from_offcuts,
    cut,
    one_plan_with,
)

# Invented prices; only the lengths are those of a yard.
YARD = (
    Stock("8 ft", 96, 6.20),
    Stock("10 ft", 120, 8.10),
    Stock("12 ft", 144, 9.70),
    Stock("16 ft", 192, 13.90),
)
SAW = Saw()


def usable_in(stock: Stock, saw: Saw) -> float:
    return stock.length_in + saw.over_length_in - saw.end_trim_in


def check_plan(plan: CutPlan, pieces: list[Piece], stocks: list[Stock], saw: Saw) -> None:
    """The demand exactly, no board over-cut, cost the sum of the boards, bound not above it."""
    wanted = Counter()
    for p in pieces:
        wanted[p.label, p.length_in] += p.count
    assert Counter(itertools.chain(*(b.pieces for b in plan.boards))) == +wanted
    by_item = {s.item: s for s in stocks}
    for b in plan.boards:
        room = usable_in(by_item[b.item], saw)
        used = sum(length for _, length in b.pieces)
        n = len(b.pieces)
        assert n > 0
        assert used + (n - 1) * saw.kerf_in <= room
        assert b.offcut_in == max(0, room - used - n * saw.kerf_in)
    used_items = Counter(b.item for b in plan.boards)
    for s in stocks:
        assert s.available is None or used_items[s.item] <= s.available
    assert plan.cost == pytest.approx(sum(by_item[b.item].price for b in plan.boards), abs=1e-9)
    assert plan.bound <= plan.cost
    assert plan.proven == (plan.bound == plan.cost)
    assert plan.gap == (0 if plan.proven else pytest.approx((plan.cost - plan.bound) / plan.cost))


def exhaustive(pieces: list[Piece], stocks: list[Stock], saw: Saw) -> tuple[int, int, float] | None:
    """Least (cents, boards, minus longest off-cut) by trying every way to group the pieces."""
    lengths = [p.length_in for p in pieces for _ in range(p.count)]
    best: tuple[int, int, float] | None = None

    def close(groups: list[list[float]]) -> None:
        nonlocal best
        choices = [
            [s for s in stocks if sum(g) + (len(g) - 1) * saw.kerf_in <= usable_in(s, saw)]
            for g in groups
        ]
        for pick in itertools.product(*choices):
            used = Counter(s.item for s in pick)
            if any(s.available is not None and used[s.item] > s.available for s in stocks):
                continue
            longest = max(
                max(0.0, usable_in(s, saw) - sum(g) - len(g) * saw.kerf_in)
                for s, g in zip(pick, groups, strict=True)
            )
            key = (sum(round(s.price * 100) for s in pick), len(pick), -longest)
            best = key if best is None else min(best, key)

    def place(k: int, groups: list[list[float]]) -> None:
        if k == len(lengths):
            close(groups)
            return
        for g in groups:
            g.append(lengths[k])
            place(k + 1, groups)
            g.pop()
        groups.append([lengths[k]])
        place(k + 1, groups)
        groups.pop()

    place(0, [])
    return best


eighths = st.integers(min_value=8, max_value=8 * 60).map(lambda n: n / 8)
prices = st.integers(min_value=100, max_value=900).map(lambda n: n / 100)


@st.composite
def tiny_jobs(draw: st.DrawFn) -> tuple[list[Piece], list[Stock], Saw]:
    # Lengths and prices close to one another leave many plans of equal cost.
    near = draw(st.booleans())
    length = (
        st.sampled_from([14.75, 15.0, *(26 + n / 8 for n in range(-4, 5))]) if near else eighths
    )
    price = st.sampled_from([1.0, 1.01, 1.02]) if near else prices
    lengths = draw(st.lists(length, min_size=1, max_size=6))
    pieces = [Piece(f"p{k}", length, 1) for k, length in enumerate(lengths)]
    n = draw(st.integers(1, 3))
    stocks = [
        Stock(
            f"s{k}",
            draw(st.integers(40, 96)),
            draw(price),
            draw(st.one_of(st.none(), st.integers(0, 3))),
        )
        for k in range(n)
    ]
    saw = Saw(draw(st.sampled_from([0.0, 0.125, 0.25])), draw(st.sampled_from([0.0, 1.0])), 0.5)
    return pieces, stocks, saw


@st.composite
def yard_jobs(draw: st.DrawFn) -> tuple[list[Piece], list[Stock]]:
    lengths = draw(
        st.lists(st.integers(64, 8 * 150).map(lambda n: n / 8), min_size=1, max_size=6, unique=True)
    )
    pieces = [Piece(f"p{k}", length, draw(st.integers(1, 6))) for k, length in enumerate(lengths)]
    lengths_ft = draw(st.lists(st.sampled_from([8, 10, 12, 14]), unique=True, max_size=3))
    stocks = [Stock(f"{f} ft", 12 * f, draw(prices)) for f in lengths_ft]
    return pieces, [*stocks, Stock("16 ft", 192, draw(prices))]


@settings(max_examples=60, deadline=None)
@given(tiny_jobs())
@example(
    # Two plans of equal cost whose longest off-cuts differ by an eighth.
    (
        [Piece(f"p{k}", x, 1) for k, x in enumerate((14.75, 25.875, 26.0, 26.0, 26.125))],
        [Stock("s0", 66, 1.01), Stock("s1", 40, 1.00)],
        Saw(kerf_in=0.0, end_trim_in=0.0, over_length_in=0.5),
    )
)
@example(
    # The only board long enough is not in stock without a limit.
    (
        [Piece(f"p{k}", x, 1) for k, x in enumerate((25.375, 49.75, 7.375, 30.75))],
        [Stock("s0", 72, 1.00, 2), Stock("s1", 91, 1.00, 0)],
        Saw(kerf_in=0.25, end_trim_in=0.0, over_length_in=0.5),
    )
)
def test_small_jobs_match_every_way_of_cutting_tried_by_hand(
    job: tuple[list[Piece], list[Stock], Saw],
) -> None:
    pieces, stocks, saw = job
    best = exhaustive(pieces, stocks, saw)
    if best is None:
        with pytest.raises(SolveError):
            cut(pieces, stocks, saw)
        return
    plan = cut(pieces, stocks, saw)
    check_plan(plan, pieces, stocks, saw)
    assert plan.proven
    assert plan.ties_settled
    found = (
        round(plan.cost * 100),
        len(plan.boards),
        -max(b.offcut_in for b in plan.boards),
    )
    assert found == best


@settings(max_examples=25, deadline=None)
@given(yard_jobs())
def test_plan_covers_the_demand_and_no_board_is_over_cut(
    job: tuple[list[Piece], list[Stock]],
) -> None:
    pieces, stocks = job
    check_plan(cut(pieces, stocks, SAW), pieces, stocks, SAW)


@settings(max_examples=20, deadline=None)
@given(yard_jobs(), st.data())
def test_cheaper_stock_or_another_length_never_raises_the_cost_and_a_wider_kerf_never_lowers_it(
    job: tuple[list[Piece], list[Stock]], data: st.DataObject
) -> None:
    pieces, stocks = job
    plan = cut(pieces, stocks, SAW)
    k = data.draw(st.integers(0, len(stocks) - 1))
    cheaper = list(stocks)
    cheaper[k] = Stock(stocks[k].item, stocks[k].length_in, round(stocks[k].price * 0.9, 2))
    more = [*stocks, Stock("18 ft", 216, data.draw(prices))]
    # A bound of one plan against the cost of the other: true even when a proof was cut short.
    assert cut(pieces, cheaper, SAW).bound <= plan.cost
    assert cut(pieces, more, SAW).bound <= plan.cost
    assert cut(pieces, stocks, Saw(kerf_in=0.25)).cost >= plan.bound


def test_ten_foot_joists_from_twelve_foot_boards_leave_two_foot_blocks_less_the_kerf() -> None:
    """Common practice, no source: 144 - 120 = 24 in, less one 1/8 in kerf."""
    plan = cut([Piece("joist", 120, 9)], [Stock("12 ft", 144, 9.70)], SAW)
    assert [b.offcut_in for b in plan.boards] == [23.875] * 9
    taken, still = blocking_from_offcuts(plan, 14.5, 12, SAW.kerf_in)
    assert taken == tuple((f"12 ft #{k}", 1) for k in range(1, 10))
    assert still == 3
    assert blocking_from_offcuts(plan, 11.875, 4, SAW.kerf_in) == (
        (("12 ft #1", 2), ("12 ft #2", 2)),
        0,
    )


def test_blocks_come_from_the_shortest_offcut_that_yields_one() -> None:
    plan = cut([Piece("long", 100, 1), Piece("rim", 120, 1)], [Stock("12 ft", 144, 9.0)], SAW)
    assert sorted(b.offcut_in for b in plan.boards) == [23.875, 43.875]
    taken, still = blocking_from_offcuts(plan, 20, 1, SAW.kerf_in)
    assert [n for _, n in taken] == [1]
    board = int(taken[0][0].split("#")[1]) - 1
    assert plan.boards[board].offcut_in == 23.875
    assert still == 0


@example([91.3, 33.3], 12.4, 2, 0.125)
@given(
    lengths=st.lists(st.integers(200, 1900).map(lambda n: n / 10), min_size=1, max_size=4),
    block_in=st.sampled_from([12.0, 14.5, 17.7, 359.5 / 25.4]),
    blocks=st.integers(1, 3),
    kerf_in=st.sampled_from([0.125, 3.0 / 25.4, 0.1]),
)
@settings(max_examples=40)
def test_blocks_from_offcuts_are_a_plan_of_all_together_where_all_are_counted_alike(
    lengths: list[float], block_in: float, blocks: int, kerf_in: float
) -> None:
    pieces = [Piece(f"joist {n}", length, 2) for n, length in enumerate(lengths)]
    block, saw = Piece("block", block_in, blocks), Saw(kerf_in)
    plan = cut(pieces, YARD, saw)
    _, left = blocking_from_offcuts(plan, block_in, blocks, kerf_in)
    if not left and one_plan_with([block], pieces, YARD, saw):
        assert cut([*pieces, block], YARD, saw).bound <= plan.cost


def test_half_millimetres_beside_inches_are_not_counted_alike() -> None:
    joists = [Piece("joist", 120, 4), Piece("rim", 90, 2)]
    assert one_plan_with([Piece("block", 14.5, 4)], joists, YARD, SAW)
    two = [Piece("block", 14.03, 4), Piece("block of the rim", 11.03, 1)]
    assert not one_plan_with(two, joists, YARD, SAW)
    yard, mill = [Stock("3 m", 3000 / 25.4, 7.0)], Saw(3 / 25.4)
    beam = [Piece("beam", 2500 / 25.4, 1)]
    assert one_plan_with([Piece("block", 370 / 25.4, 4)], beam, yard, mill)
    assert not one_plan_with([Piece("block", 14.5, 4)], beam, yard, mill)


def test_pieces_that_fill_a_board_to_its_end_need_one_cut_less() -> None:
    halves = (96 - 0.125) / 2
    plan = cut([Piece("half", halves, 2)], [Stock("8 ft", 96, 6.2)], SAW)
    assert len(plan.boards) == 1
    assert plan.boards[0].offcut_in == 0
    assert len(cut([Piece("half", halves + 1 / 32, 2)], [Stock("8 ft", 96, 6.2)], SAW).boards) == 2


def test_true_over_length_and_end_trim_count_when_they_are_entered() -> None:
    pieces, stock = [Piece("stud", 48, 2)], [Stock("8 ft", 96, 6.2)]
    assert len(cut(pieces, stock, SAW).boards) == 2
    over = cut(pieces, stock, Saw(over_length_in=1.0))
    assert len(over.boards) == 1
    assert over.boards[0].length_in == 97
    assert over.boards[0].offcut_in == 0.75
    assert len(cut(pieces, stock, Saw(over_length_in=1.0, end_trim_in=1.0)).boards) == 2


def test_equal_costs_are_settled_by_fewest_boards_then_by_the_longest_offcut() -> None:
    """Price by the foot: one 16 ft costs two 8 ft. Four 40 in pieces fill either alike."""
    by_foot = [Stock("8 ft", 96, 8.0), Stock("16 ft", 192, 16.0)]
    plan = cut([Piece("p", 40, 4)], by_foot, SAW)
    assert plan.cost == 16.0
    assert [b.item for b in plan.boards] == ["16 ft"]
    # Two 8 ft either way: both blocks on one board leave 35.875 in whole on the other.
    plan = cut([Piece("a", 60, 2), Piece("b", 16, 2)], [Stock("8 ft", 96, 8.0)], SAW)
    assert sorted(b.offcut_in for b in plan.boards) == [3.625, 35.875]
    assert plan.ties_settled


def test_stock_limits_are_kept_even_where_a_dearer_length_must_help() -> None:
    limited = [Stock("12 ft", 144, 9.0, available=2), Stock("16 ft", 192, 20.0, available=5)]
    plan = cut([Piece("joist", 120, 4)], limited, SAW)
    check_plan(plan, [Piece("joist", 120, 4)], limited, SAW)
    assert Counter(b.item for b in plan.boards) == {"12 ft": 2, "16 ft": 2}
    assert plan.cost == 58.0


def test_stock_that_runs_out_is_one_clear_sentence() -> None:
    with pytest.raises(SolveError, match="not enough"):
        cut([Piece("joist", 120, 4)], [Stock("12 ft", 144, 9.0, available=3)], SAW)


def test_a_piece_longer_than_every_board_is_named_with_what_would_do() -> None:
    with pytest.raises(SolveError, match=r"skid.*Stock a longer board") as error:
        cut([Piece("skid", 240, 2)], list(YARD), SAW)
    assert "longer board" in str(error.value)


def test_same_plan_whatever_the_order_of_the_lists() -> None:
    pieces = [Piece("joist", 117, 11), Piece("rim", 144, 2), Piece("block", 14.5, 20)]
    first = cut(pieces, YARD, SAW)
    assert cut(pieces[::-1], YARD[::-1], SAW) == first
    split = [Piece("joist", 117, 5), *pieces[1:], Piece("joist", 117, 6)]
    assert cut(split, YARD, SAW) == first


def test_a_proof_cut_short_still_gives_a_whole_plan_with_its_gap() -> None:
    rng = random.Random(5)
    lengths = [rng.randint(64, 1200) / 8 for _ in range(60)]
    pieces = [Piece(f"p{k}", length, 3) for k, length in enumerate(lengths)]
    plan = cut(pieces, YARD, SAW, time_limit_s=0.01)
    check_plan(plan, pieces, list(YARD), SAW)
    assert not plan.proven
    assert 0 < plan.gap < 1
    assert plan.timed_out


def test_no_pieces_make_an_empty_plan() -> None:
    assert cut([Piece("none", 10, 0)], YARD, SAW) == CutPlan((), 0.0, 0.0, True, 0.0)


@pytest.mark.parametrize(
    ("pieces", "stocks", "saw", "named"),
    [
        ([Piece("rim", 0, 1)], YARD, SAW, "rim"),
        ([Piece("rim", -4, 1)], YARD, SAW, "rim"),
        ([Piece("rim", math.nan, 1)], YARD, SAW, "rim"),
        ([Piece("rim", math.inf, 1)], YARD, SAW, "rim"),
        ([Piece("rim", 10, -1)], YARD, SAW, "rim"),
        ([Piece("rim", 10, 1)], [Stock("8 ft", 0, 5.0)], SAW, "8 ft"),
        ([Piece("rim", 10, 1)], [Stock("8 ft", 96, -5.0)], SAW, "8 ft"),
        ([Piece("rim", 10, 1)], [Stock("8 ft", 96, math.nan)], SAW, "8 ft"),
        ([Piece("rim", 10, 1)], [Stock("8 ft", 96, 5.0, -1)], SAW, "8 ft"),
        ([Piece("rim", 10, 1)], YARD, Saw(kerf_in=-0.125), "kerf"),
        ([Piece("rim", 10, 1)], YARD, Saw(end_trim_in=-1), "end trim"),
        ([Piece("rim", 10, 1)], YARD, Saw(over_length_in=math.nan), "over-length"),
    ],
)
def test_lengths_counts_and_prices_that_cannot_be_are_named(
    pieces: list[Piece], stocks: list[Stock], saw: Saw, named: str
) -> None:
    with pytest.raises(InputError, match=named):
        cut(pieces, stocks, saw)


def test_no_stock_at_all_says_so() -> None:
    with pytest.raises(SolveError, match="rim"):
        cut([Piece("rim", 10, 1)], [], SAW)


def test_metric_boards_are_used_to_their_very_end() -> None:
    """Whole millimetres are not whole 32nds of an inch: rounded to those none of these fits."""
    board = Stock("4.8 m", 4800 / 25.4, 20.0)
    saw = Saw(kerf_in=3 / 25.4)
    whole = cut([Piece("timber", 4800 / 25.4, 1)], [board], saw)
    assert len(whole.boards) == 1
    assert whole.boards[0].offcut_in == 0
    thirds = cut([Piece("post", 1598 / 25.4, 3)], [board], saw)  # 3 * 1598 + 2 * 3 = 4800
    assert len(thirds.boards) == 1
    assert len(cut([Piece("post", 1599 / 25.4, 3)], [board], saw).boards) == 2
