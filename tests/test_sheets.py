"""Sheet layout. Facts of the trade are common practice, no source; counts worked by hand."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from validated.sheets import LAYOUTS, NOMINAL, TONGUED

from estimator.amounts import in_measure
from estimator.errors import InputError, SolveError
from estimator.solve.floor_sheets import (
    TONGUE,
    Opening,
    SheetRules,
    SheetStock,
    fastener_count,
    plan_sheets,
)
from estimator.solve.joist_layout import joist_layout
from estimator.solve.sheet_plan import Cut, Placed, SheetPlan, cut_list

DUST_IN = 1e-4  # sizes are whole hundred-thousandths of an inch


def lines(length_in: float, spacing_in: float) -> tuple[float, ...]:
    return joist_layout(length_in, spacing_in).sheet_lines_in


def rows_of(plan: SheetPlan) -> list[list[Placed]]:
    rows: dict[int, list[Placed]] = defaultdict(list)
    for p in plan.pieces:
        rows[p.row].append(p)
    return [sorted(rows[r], key=lambda p: p.x_in) for r in sorted(rows)]


def check_layout(
    plan: SheetPlan,
    length_in: float,
    width_in: float,
    joists_in: tuple[float, ...],
    stock: SheetStock,
    rules: SheetRules,
) -> None:
    """Everything that a layout of a floor without openings must satisfy."""
    gap = 0.0 if rules.nominal else rules.gap_in
    row_gap = 0.0 if stock.edges == TONGUE else gap
    true_length = stock.net_length_in or stock.length_in
    cover = stock.net_width_in or stock.width_in
    y = 0.0
    joints: list[set[float]] = []
    for row in rows_of(plan):
        x = 0.0
        for p in row:
            assert p.x_in == pytest.approx(x, abs=DUST_IN)
            assert p.y_in == pytest.approx(y, abs=DUST_IN)
            assert p.width_in == row[0].width_in
            assert p.length_in <= true_length + DUST_IN
            x = p.x_in + p.length_in + gap
        short = length_in - (x - gap)
        assert abs(short) < DUST_IN or (
            0 < short <= gap + DUST_IN and row[-1].length_in == pytest.approx(true_length)
        )
        starts = [p.x_in for p in row[1:]]
        assert all(min(abs(s - c) for c in joists_in) < DUST_IN for s in starts)
        ends = [0.0, *starts, length_in]
        inner = [*(c for c in joists_in if 3 <= c <= length_in - 3), length_in]
        bays = [
            sum(a < c <= b for c in inner) for a, b in itertools.pairwise(e + DUST_IN for e in ends)
        ]
        assert len(row) == 1 or all(b >= rules.min_bays for b in bays)
        joints.append({round(s, 3) for s in starts})
        y += row[0].width_in + row_gap
    covered = width_in - (y - row_gap)
    assert abs(covered) < DUST_IN or 0 < covered <= row_gap + DUST_IN
    widths = [row[0].width_in for row in rows_of(plan)]
    assert len(widths) == 1 or min(widths) >= rules.min_strip_in - DUST_IN
    assert all(w == pytest.approx(cover) for w in widths[1:-1])
    if rules.stagger:
        assert all(not a & b for a, b in itertools.pairwise(joints))
    assert plan.bound <= plan.sheets
    assert plan.proven == (plan.bound == plan.sheets)
    check_sheets(plan, stock, 0.0 if rules.nominal else rules.kerf_in)


def check_sheets(plan: SheetPlan, stock: SheetStock, kerf_in: float) -> None:
    """Pieces lie apart on their sheet by the saw's kerf, and nothing of it is unaccounted for."""
    true_length = stock.net_length_in or stock.length_in
    true_width = stock.width_in if stock.edges == TONGUE else stock.net_width_in or stock.width_in
    sheet = true_length * true_width
    out: dict[int, float] = defaultdict(float)
    for p in (*plan.pieces, *plan.offcuts):
        out[p.sheet_index] += p.length_in * p.width_in
        assert p.length_in > 0
        assert p.width_in > 0
    for p in plan.pieces:
        assert -DUST_IN <= p.cut_x_in <= true_length - p.length_in + DUST_IN
        assert -DUST_IN <= p.cut_y_in <= true_width - p.width_in + DUST_IN
    for p, q in itertools.combinations(plan.pieces, 2):
        if p.sheet_index == q.sheet_index:
            assert (
                p.cut_x_in + p.length_in + kerf_in <= q.cut_x_in + DUST_IN
                or q.cut_x_in + q.length_in + kerf_in <= p.cut_x_in + DUST_IN
                or p.cut_y_in + p.width_in + kerf_in <= q.cut_y_in + DUST_IN
                or q.cut_y_in + q.width_in + kerf_in <= p.cut_y_in + DUST_IN
            )
    assert set(out) == set(range(plan.sheets))
    assert all(area <= sheet + 0.01 for area in out.values())
    used = sum(out.values()) + plan.kerf_area_in2 + plan.tongue_area_in2
    assert used == pytest.approx(plan.sheets * sheet, rel=1e-6)


def test_ten_by_twelve_floor_takes_four_square_edged_sheets_at_nominal_rips() -> None:
    plan = plan_sheets(144, 120, lines(144, 16), rules=NOMINAL)
    assert (plan.sheets, plan.bound, plan.proven) == (4, 4, True)
    assert [(o.length_in, o.width_in) for o in plan.offcuts] == [(48, 24)]
    check_layout(plan, 144, 120, lines(144, 16), SheetStock(), NOMINAL)


@pytest.mark.parametrize(
    ("stock", "rules", "sheets"),
    [*(layout[1:] for layout in LAYOUTS), (TONGUED, NOMINAL, 5)],
    ids=[*(layout[0] for layout in LAYOUTS), "tongue and groove, nominal rips"],
)
def test_kerf_gap_and_tongue_decide_whether_a_fifth_sheet_is_needed(
    stock: SheetStock, rules: SheetRules, sheets: int
) -> None:
    plan = plan_sheets(144, 120, lines(144, 16), stock, rules)
    assert (plan.sheets, plan.proven) == (sheets, True)
    check_layout(plan, 144, 120, lines(144, 16), stock, rules)


def test_sheets_sized_for_gaps_go_down_whole() -> None:
    stock = SheetStock(net_length_in=95.875, net_width_in=47.875)
    plan = plan_sheets(192, 96, lines(192, 19.2), stock, SheetRules(stagger=False))
    assert plan.sheets == 4
    assert plan.offcuts == ()
    assert plan.kerf_area_in2 == 0


def test_a_spacing_that_does_not_divide_the_sheet_cuts_it_back_to_the_joist_before() -> None:
    plan = plan_sheets(216, 96, lines(216, 18), rules=NOMINAL)
    assert max(p.length_in for p in plan.pieces) == 90
    note = in_measure(plan.notes[0], "feet")
    assert "18 in on centre" in note
    assert "cut back to 90 in" in note
    assert plan_sheets(192, 96, lines(192, 16), rules=NOMINAL).notes == ()


@pytest.mark.parametrize("spacing_in", [12, 16, 19.2, 24])
def test_a_spacing_that_divides_sheet_and_gap_leaves_sheets_whole(spacing_in: float) -> None:
    plan = plan_sheets(192, 108, lines(192, spacing_in), TONGUED, SheetRules())
    assert max(p.length_in for p in plan.pieces) == pytest.approx(96, abs=0.125)
    assert plan.notes == ()


@pytest.mark.parametrize("spacing_in", [60, 49])
def test_no_legal_layout_names_the_spacing(spacing_in: float) -> None:
    with pytest.raises(SolveError, match=f"Joists {spacing_in} in on centre") as caught:
        plan_sheets(spacing_in * 6, 96, lines(spacing_in * 6, spacing_in), rules=NOMINAL)
    assert caught.value.cure


def test_a_bay_longer_than_the_sheet_is_said() -> None:
    with pytest.raises(SolveError, match="bay longer than a 96 in sheet"):
        plan_sheets(400, 96, lines(400, 100), rules=NOMINAL)


def test_joints_that_cannot_be_staggered_are_said_and_allowed_without_stagger() -> None:
    with pytest.raises(SolveError, match=r"Joists 48 in on centre .* staggered"):
        plan_sheets(192, 96, lines(192, 48), rules=NOMINAL)
    plan = plan_sheets(192, 96, lines(192, 48), rules=SheetRules(nominal=True, stagger=False))
    assert plan.sheets == 4


def test_a_narrow_last_strip_is_avoided_by_ripping_the_first_row_too() -> None:
    plan = plan_sheets(192, 98, lines(192, 16), rules=NOMINAL)
    widths = [row[0].width_in for row in rows_of(plan)]
    assert sum(widths) == 98
    assert min(widths) >= 12
    # 2 rows of over half a width take a sheet each 8 ft; the third gives two or more strips.
    assert (plan.sheets, plan.proven) == (5, True)
    check_layout(plan, 192, 98, lines(192, 16), SheetStock(), NOMINAL)


def test_strips_of_a_narrow_floor_come_side_by_side_from_one_sheet() -> None:
    plan = plan_sheets(288, 12, lines(288, 16), rules=NOMINAL)
    assert (plan.sheets, plan.proven) == (1, True)
    assert sum(o.length_in * o.width_in for o in plan.offcuts) == 96 * 12


def test_pieces_wholly_inside_an_opening_are_left_out() -> None:
    joists = lines(192, 16)
    opening = Opening(96, 0, 96, 48)
    plan = plan_sheets(192, 96, joists, rules=NOMINAL, openings=[opening])
    assert (plan.sheets, plan.proven) == (3, True)
    assert all(p.x_in < 96 for p in plan.pieces if p.row == 0)
    check_sheets(plan, SheetStock(), 0)
    nothing = plan_sheets(192, 96, joists, rules=NOMINAL, openings=[Opening(0, 0, 192, 96)])
    assert (nothing.sheets, nothing.pieces, nothing.bound) == (0, (), 0)
    assert fastener_count(nothing, joists) == 0


def test_an_opening_over_two_rows_needs_no_stagger_at_its_edge() -> None:
    opening = Opening(96, 0, 96, 96)
    plan = plan_sheets(192, 144, lines(192, 16), rules=NOMINAL, openings=[opening])
    assert [p.length_in for p in plan.pieces if p.row < 2] == [96, 96]
    assert (plan.sheets, plan.proven) == (4, True)


def test_cut_list_counts_equal_pieces_together() -> None:
    plan = plan_sheets(144, 120, lines(144, 16), rules=NOMINAL)
    cuts = cut_list(plan)
    assert [(c.count, c.length_in, c.width_in) for c in cuts] == [
        (2, 96, 48),
        (2, 48, 48),
        (1, 96, 24),
        (1, 48, 24),
    ]
    assert sum(c.count for c in cuts) == len(plan.pieces)
    assert isinstance(cuts[0], Cut)
    assert len(cuts[0].sheet_indexes) == 2


def test_one_sheet_on_seven_joists_takes_43_screws_and_24_more_on_its_rims() -> None:
    """By hand: two ends of 48/6 + 1 = 9, five joists of 48/12 + 1 = 5, six bays of two a side."""
    plan = plan_sheets(96, 48, lines(96, 16), rules=NOMINAL)
    assert fastener_count(plan, lines(96, 16), rims=False) == 2 * 9 + 5 * 5
    assert fastener_count(plan, lines(96, 16)) == 43 + 2 * 6 * 2
    assert fastener_count(plan, joist_layout(96, 16).centres_in) == 67


def test_screws_on_two_sheets_meeting_on_a_joist_stand_in_two_lines() -> None:
    joists = lines(192, 16)
    plan = plan_sheets(192, 48, joists, rules=NOMINAL)
    assert fastener_count(plan, joists, rims=False) == 2 * 43


def test_blocked_seams_take_edge_screws_on_both_sheets() -> None:
    joists = lines(96, 16)
    plan = plan_sheets(96, 96, joists, rules=NOMINAL)
    assert fastener_count(plan, joists, rims=True, blocked_seams=False) == 2 * (43 + 12)
    assert fastener_count(plan, joists, rims=True, blocked_seams=True) == 2 * (43 + 24)
    assert plan.seams_in == (48,)


def fewest_by_trying_all(bays: int, rows: int, per_sheet: int, rules: SheetRules) -> int:
    """Full-width rows only, whole bays: every row pattern, every way of sharing sheets."""

    def compositions(n: int) -> list[tuple[int, ...]]:
        if n == 0:
            return [()]
        return [
            (k, *rest)
            for k in range(rules.min_bays, min(n, per_sheet) + 1)
            for rest in compositions(n - k)
        ]

    def joints(pattern: tuple[int, ...]) -> set[int]:
        return set(itertools.accumulate(pattern[:-1]))

    def bins(pieces: list[int]) -> int:
        best = len(pieces)

        def place(k: int, loads: list[int]) -> None:
            nonlocal best
            if len(loads) >= best:
                return
            if k == len(pieces):
                best = len(loads)
                return
            for load in sorted(set(loads)):
                if load + pieces[k] <= per_sheet:
                    place(
                        k + 1,
                        [*loads[: (at := loads.index(load))], load + pieces[k], *loads[at + 1 :]],
                    )
            place(k + 1, [*loads, pieces[k]])

        place(0, [])
        return best

    return min(
        bins(sorted(itertools.chain(*choice), reverse=True))
        for choice in itertools.product(compositions(bays), repeat=rows)
        if all(not joints(a) & joints(b) for a, b in itertools.pairwise(choice))
    )


@pytest.mark.parametrize(("bays", "rows"), [(7, 2), (8, 3), (9, 3), (10, 2), (11, 2), (13, 2)])
def test_sheet_count_agrees_with_trying_all_layouts_of_full_rows(bays: int, rows: int) -> None:
    plan = plan_sheets(bays * 16, rows * 48, lines(bays * 16, 16), rules=NOMINAL)
    assert plan.proven
    assert plan.sheets == fewest_by_trying_all(bays, rows, 6, NOMINAL)


jobs = st.tuples(
    st.integers(8 * 5, 8 * 20).map(lambda n: n * 1.5),
    st.integers(8 * 4, 8 * 14).map(lambda n: n * 1.5),
    st.sampled_from([12.0, 16.0, 19.2, 24.0]),
    st.sampled_from([SheetStock(), TONGUED, SheetStock(net_length_in=95.875)]),
    st.sampled_from([NOMINAL, SheetRules(), SheetRules(gap_in=0), SheetRules(kerf_in=0.09375)]),
)


@given(jobs)
@settings(max_examples=25, deadline=None)
def test_pieces_tile_the_floor_on_joists_staggered_and_sheets_are_never_overfilled(
    job: tuple[float, float, float, SheetStock, SheetRules],
) -> None:
    length_in, width_in, spacing_in, stock, rules = job
    joists = lines(length_in, spacing_in)
    plan, refusal = None, ""
    try:
        plan = plan_sheets(length_in, width_in, joists, stock, rules)
    except SolveError as error:
        refusal = str(error)
    if plan is None:
        assert "in on centre" in refusal
        return
    check_layout(plan, length_in, width_in, joists, stock, rules)
    area = sum(p.length_in * p.width_in for p in plan.pieces)
    assert plan.sheets >= math.ceil(area / (96 * 48) - 1e-6)


@given(jobs)
@settings(max_examples=6, deadline=None)
def test_a_wider_saw_kerf_never_takes_fewer_sheets(
    job: tuple[float, float, float, SheetStock, SheetRules],
) -> None:
    length_in, width_in, spacing_in, stock, _ = job
    joists = lines(length_in, spacing_in)
    try:
        counts = [
            plan_sheets(length_in, width_in, joists, stock, SheetRules(kerf_in=k))
            for k in (0.0, 0.125, 0.5)
        ]
    except SolveError:
        return
    for thin, wide in itertools.pairwise(counts):
        assert not thin.proven or thin.sheets <= wide.sheets


def test_the_same_floor_gives_the_same_plan() -> None:
    one, two = (plan_sheets(200, 130, lines(200, 16)) for _ in range(2))
    assert one == two


def test_a_large_floor_is_proven_within_seconds() -> None:
    plan = plan_sheets(384, 192, lines(384, 16), rules=NOMINAL)
    assert (plan.sheets, plan.proven, plan.gap) == (16, True, 0)


def test_a_plan_comes_back_with_its_bound_when_time_runs_out() -> None:
    joists, stock = lines(168, 12), SheetStock(net_length_in=95.875)
    plan = plan_sheets(168, 156, joists, stock, time_limit_s=1e-4)
    check_layout(plan, 168, 156, joists, stock, SheetRules())
    assert plan.bound >= math.ceil(166 * 154 / (96 * 48.0))
    assert plan.gap == (plan.sheets - plan.bound) / plan.sheets
    assert plan.timed_out


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: plan_sheets(0, 96, (0, 0)), "Floor length is 0"),
        (lambda: plan_sheets(96, -1, lines(96, 16)), "Floor width is -1"),
        (lambda: plan_sheets(96, 96, (16, 120)), "off the floor"),
        (lambda: plan_sheets(96, 96, (47, 48)), "less than 3 in apart"),
        (lambda: plan_sheets(96, 96, (math.nan,)), "off the floor"),
        (lambda: plan_sheets(96, 96, (), SheetStock(edges="lap")), "unknown"),
        (lambda: plan_sheets(96, 96, (), SheetStock(net_width_in=49)), "exceeds"),
        (lambda: plan_sheets(96, 96, (), rules=SheetRules(min_strip_in=30)), "over half"),
        (lambda: plan_sheets(96, 96, (), rules=SheetRules(kerf_in=-1)), "kerf is -1"),
        (lambda: plan_sheets(96, 96, (), rules=SheetRules(min_bays=0)), "at least one bay"),
        (lambda: plan_sheets(96, 96, (), openings=[Opening(90, 0, 9, 9)]), "beyond the floor"),
        (lambda: plan_sheets(96, 96, (), openings=[Opening(0, 0, 0, 9)]), "Opening length"),
    ],
)
def test_bad_sheet_input_gets_one_clear_sentence(call: object, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()  # type: ignore[operator]
    assert caught.value.cure


def test_metric_sheets_land_on_joists_400_mm_apart_wherever_they_begin() -> None:
    """7.2 by 2.4 m takes six sheets of 2.4 by 1.2 m; the second row begins with part of one."""
    mm = 1 / 25.4
    sheet = SheetStock(2400 * mm, 1200 * mm)
    joists = joist_layout(7200 * mm, 400 * mm, 45 * mm).sheet_lines_in
    plan = plan_sheets(7200 * mm, 2400 * mm, joists, sheet, NOMINAL)
    assert (plan.sheets, plan.proven, plan.notes) == (6, True, ())
    assert {round(p.length_in / mm, 3) for p in plan.pieces} <= {800, 1200, 1600, 2000, 2400}
