"""What is called proven, held against exact programs of another formulation (OR-tools' CP-SAT).

Boards: which board each piece lies on, board by board. Sheets: which piece of which row comes from
which sheet and lane. Neither has patterns, arcs or bounds in common with the engine. And limits
count work, so a machine on which time runs faster gives the same plans.
"""

from __future__ import annotations

import contextlib
import itertools
import math
import os
import random
import subprocess
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence

import pytest
from ortools.sat.python import cp_model

from estimator.errors import SolveError
from estimator.solve import cutting_master
from estimator.solve.cutting import CutPlan, Piece, Saw, Stock, cut
from estimator.solve.floor_sheets import SQUARE, TONGUE, Opening, SheetStock, plan_sheets
from estimator.solve.joist_layout import joist_layout
from estimator.solve.sheet_plan import SheetPlan

KERF_IN = GAP_IN = 0.125
YARD_FT = (8, 10, 12, 14, 16, 20)


def least(model: cp_model.CpModel) -> float:
    """The least of a program, which must be proven; infinite where it has no solution."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = 60
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else math.inf


def job(seed: int) -> tuple[list[Piece], list[Stock]]:
    """Few pieces in eighths of an inch, from one to six lengths of board at invented prices."""
    chance = random.Random(seed)
    feet = sorted(chance.sample(YARD_FT, chance.randint(1, 6)))
    stocks = [Stock(f"{f} ft", 12.0 * f, round(f * chance.uniform(1.0, 1.25), 2)) for f in feet]
    longest = 8 * 12 * feet[-1]
    sizes = {chance.randint(longest // 9, longest) for _ in range(chance.randint(3, 5))}
    pieces = [Piece(f"p{size}", size / 8, chance.randint(1, 4)) for size in sorted(sizes)]
    return pieces, stocks


def least_cents(pieces: Sequence[Piece], stocks: Sequence[Stock]) -> float:
    """Cents that the boards cost at least: each piece stands on one board, all in eighths."""
    model = cp_model.CpModel()
    lengths = sorted((p.length_in for p in pieces for _ in range(p.count)), reverse=True)
    used = [[model.new_bool_var("") for _ in stocks] for _ in lengths]
    on = [[model.new_bool_var("") for _ in lengths[: n + 1]] for n in range(len(lengths))]
    for choice in used:
        model.add_at_most_one(choice)
    for n, places in enumerate(on):  # a piece may lie on its own board or on an earlier one
        model.add_exactly_one(places)
        for board in range(n):
            model.add_implication(places[board], on[board][board])
    for board, choice in enumerate(used):
        room = sum(
            y * round(8 * (s.length_in + KERF_IN)) for y, s in zip(choice, stocks, strict=True)
        )
        taken = [
            round(8 * (lengths[n] + KERF_IN)) * on[n][board] for n in range(board, len(lengths))
        ]
        model.add(sum(taken) <= room)
    model.minimize(
        sum(
            y * round(s.price * 100) for choice in used for y, s in zip(choice, stocks, strict=True)
        )
    )
    return least(model)


@pytest.mark.parametrize("seed", range(40))
def test_boards_called_least_cost_are_by_an_exact_program_of_its_own(seed: int) -> None:
    pieces, stocks = job(seed)
    plan = cut(pieces, stocks, Saw(KERF_IN))
    assert plan.proven
    cents = least_cents(pieces, stocks)
    assert round(plan.cost * 100) == cents
    # Where only a cheaper plan is of use, one is found if there is any, and else shown not to be.
    for below in (cents + 1, cents + 400):
        assert cut(pieces, stocks, Saw(KERF_IN), below=below / 100).cost == plan.cost
    for below in (cents, cents - 1):
        found = cut(pieces, stocks, Saw(KERF_IN), below=below / 100)
        assert below <= round(found.bound * 100) <= cents <= round(found.cost * 100)


STARVED = (
    {"_FEW_PATTERNS": 0, "_EASY_PATTERNS": 3, "_MOST_PATTERNS": 5, "_MOST_ARCS": 0, "_WORK": 1},
    {"_FEW_PATTERNS": 0, "_EASY_PATTERNS": 20, "_MOST_PATTERNS": 60, "_MOST_ARCS": 40, "_WORK": 1},
)
"""Limits of the search for boards so low that it ends early, each time elsewhere."""


@pytest.mark.parametrize("limits", STARVED)
def test_a_search_cut_short_claims_no_more_than_the_boards_that_the_pieces_were_cut_from(
    limits: Mapping[str, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, limit in limits.items():
        monkeypatch.setattr(cutting_master, name, limit)
    for seed in range(6):
        pieces, stocks, cents = perfect_fits(seed)
        for below in (math.inf, cents):
            plan = cut(pieces, stocks, Saw(KERF_IN), below=below / 100)
            assert round(plan.bound * 100) <= cents
            assert plan.proven == (plan.bound == plan.cost)


def perfect_fits(seed: int) -> tuple[list[Piece], list[Stock], int]:
    """Pieces that so many boards of a few lengths are cut into without waste, and their cents."""
    chance = random.Random(seed)
    yard = [(f, round(95 * f * chance.uniform(0.97, 1.03))) for f in chance.sample(YARD_FT, 3)]
    sizes: Counter[float] = Counter()
    cents = 0
    for _ in range(chance.randint(4, 9)):
        feet, price = chance.choice(yard)
        cents += price
        room = round(8 * (12 * feet + KERF_IN))
        ends = sorted(chance.sample(range(60, room - 60, 4), 2))
        parts = itertools.pairwise((0, *ends, room))
        sizes.update((b - a) / 8 - KERF_IN for a, b in parts if b - a > 8)
    pieces = [Piece(f"p{size}", size, count) for size, count in sorted(sizes.items())]
    return pieces, [Stock(f"{f} ft", 12.0 * f, price / 100) for f, price in yard], cents


PER_IN = 40
"""Units in which joists at 19.2 in and gaps of an eighth are whole."""


def ways_of_rows(width_in: float, edges: str) -> list[list[float]]:
    """Widths of the rows: full ones, and what is left; or, where that is under 12 in, first and
    last ripped, the last to each sixteenth of an inch that leaves both 12."""
    cover, between = (47.5, 0.0) if edges == TONGUE else (48.0, GAP_IN)
    whole = math.floor((width_in + between) / (cover + between))
    rest = width_in - whole * (cover + between)
    if rest <= 0 or rest >= 12 or not whole:
        return [[cover] * whole + [rest] * (rest > 0)]
    lasts = [12 + n / 16 for n in range(math.floor(16 * (cover + rest - 24)) + 1)]
    return [[cover + rest - last, *[cover] * (whole - 1), last] for last in lasts]


def lanes_of(rows_in: Sequence[float], edges: str) -> list[int]:
    """How many strips of each row lie beside each other on a sheet; with tongues and several rows,
    a strip needs its own factory edge."""
    cover, lone = (47.5, len(rows_in) == 1) if edges == TONGUE else (48.0, True)
    return [math.floor((cover + KERF_IN) / (wide + KERF_IN)) if lone else 1 for wide in rows_in]


def rows_open(rows_in: Sequence[float], edges: str, opening: Opening) -> list[bool]:
    """Which rows an opening holds, from one of their edges to the other."""
    between = 0.0 if edges == TONGUE else GAP_IN
    fronts = itertools.accumulate((wide + between for wide in rows_in), initial=0.0)
    return [
        opening.y_in <= front and front + wide <= opening.y_in + opening.width_in + 1e-6
        for front, wide in zip(fronts, rows_in, strict=False)
    ]


def fewest_sheets(
    length_in: float,
    width_in: float,
    joists_in: Sequence[float],
    edges: str,
    openings: Sequence[Opening] = (),
) -> float:
    """Sheets that a floor takes at least, however its rows are ripped.

    Rows of as many lanes each, in the same openings, are cut from the same sheets.
    """
    alike = {}
    for rows in ways_of_rows(width_in, edges):
        held = [row for opening in openings for row in rows_open(rows, edges, opening)]
        alike[*lanes_of(rows, edges), *held] = rows
    return min(least_sheets(length_in, rows, joists_in, edges, openings) for rows in alike.values())


def least_sheets(
    length_in: float,
    rows_in: Sequence[float],
    joists_in: Sequence[float],
    edges: str,
    openings: Sequence[Opening] = (),
) -> float:
    """Sheets that a floor takes at least whose rows are so wide.

    Rows run along the floor; a piece ends on a joist, spans two bays or the whole row, and stands a
    gap from the next; no joist has joints of two rows beside each other. What lies within an
    opening is left out. On a sheet, pieces of full width lie end to end; what is left beyond them
    may be ripped into lanes.
    """
    model = cp_model.CpModel()
    rows = lanes_of(rows_in, edges)
    within = [rows_open(rows_in, edges, o) for o in openings]
    sheet, kerf = round(PER_IN * (96 - GAP_IN)), round(PER_IN * KERF_IN)
    stops = [round(PER_IN * x) for x in joists_in]
    last = len(stops) - 1
    wanted: Mapping[tuple[int, int, float], list[cp_model.IntVar]] = defaultdict(list)
    ends: list[dict[int, cp_model.IntVar]] = []
    for row, (lanes, wide) in enumerate(zip(rows, rows_in, strict=True)):
        into: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        out: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        laid: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        for i, j in itertools.combinations(range(last + 1), 2):
            size = stops[j] - stops[i] - (round(PER_IN * GAP_IN) if j < last else 0)
            if j == last and 0 < size - sheet <= round(PER_IN * GAP_IN):
                size = sheet
            chosen: cp_model.IntVar | None = None
            left_out = any(
                open_[row]
                and PER_IN * o.x_in <= stops[i]
                and stops[i] + size <= PER_IN * (o.x_in + o.length_in)
                for o, open_ in zip(openings, within, strict=True)
            )
            if left_out or (size <= sheet and (j - i >= 2 or j - i == last)):
                chosen = model.new_bool_var("")
                out[i].append(chosen)
                into[j].append(chosen)
            if chosen is not None and not left_out:
                wanted[lanes, size, wide].append(chosen)
                laid[i].append(chosen)
                laid[j].append(chosen)
        model.add(sum(out[0]) == 1)
        for j in range(1, last):
            model.add(sum(into[j]) == sum(out[j]))
        joints = {j: model.new_bool_var("") for j in range(1, last)}
        for j, joint in joints.items():  # only where two pieces meet
            model.add(joint >= sum(laid[j]) - 1)
        ends.append(joints)
    for one, two in itertools.pairwise(ends):
        for j in range(1, last):
            model.add(one[j] + two[j] <= 1)
    most = len(rows) * math.ceil(length_in / 48)
    used = [model.new_bool_var("") for _ in range(most)]
    given: Mapping[tuple[int, int, float], list[cp_model.IntVar]] = defaultdict(list)
    for k in range(most):
        full = []
        by_lane: list[list[cp_model.LinearExpr]] = [[] for _ in range(max(rows))]
        for lanes, size, wide in wanted:
            for lane in range(lanes):
                count = model.new_int_var(0, sheet // size, "")
                given[lanes, size, wide].append(count)
                (full if lanes == 1 else by_lane[lane]).append((size + kerf) * count)
        for lane in by_lane:
            model.add(sum(full) + sum(lane) <= (sheet + kerf) * used[k])
        if k:
            model.add(used[k] <= used[k - 1])
    for key, chosen in wanted.items():
        model.add(sum(given[key]) == sum(chosen))
    model.minimize(sum(used))
    return least(model)


def floor(seed: int) -> tuple[float, float, tuple[float, ...], SheetStock]:
    """A small floor whose last row is no narrow strip."""
    chance = random.Random(seed)
    edges = chance.choice([SQUARE, TONGUE])
    cover = 47.5 if edges == TONGUE else 48 + GAP_IN
    width = chance.choice([0, 1, 2]) * cover + chance.randint(13, 46)
    length = 12.0 * chance.randint(5, 13)
    layout = joist_layout(length, chance.choice([12, 16, 19.2, 24]))
    stock = SheetStock(96, 48, 96 - GAP_IN, 47.5 if edges == TONGUE else None, edges)
    return length, width, layout.sheet_lines_in, stock


@pytest.mark.parametrize("seed", range(20))
def test_sheets_called_fewest_are_by_an_exact_program_of_its_own(seed: int) -> None:
    length, width, joists, stock = floor(seed)
    plan = plan_sheets(length, width, joists, stock)
    assert plan.proven
    assert plan.sheets == fewest_sheets(length, width, joists, stock.edges)


OPENED = int(os.environ.get("OPENED", "6"))
"""How many floors with openings are held against the exact program."""


def opened(seed: int) -> tuple[float, float, tuple[float, ...], SheetStock, list[Opening]]:
    """A small floor of quarter feet with one to three openings, which may lie in each other."""
    chance = random.Random(seed)
    length, width = 3.0 * chance.randint(20, 52), 3.0 * chance.randint(14, 42)
    edges = chance.choice([SQUARE, TONGUE])
    joists = joist_layout(length, chance.choice([12, 16, 19.2, 24])).sheet_lines_in

    def side(of: float) -> tuple[float, float]:
        size = 3.0 * chance.randint(4, max(4, round(of / 6)))
        size = min(size, of)
        inside = 3.0 * chance.randint(0, int((of - size) / 3))
        return chance.choice([0.0, of - size, inside]), size

    openings = []
    for _ in range(chance.randint(1, 3)):
        (x, long), (y, wide) = side(length), side(width)
        openings.append(Opening(x, y, long, wide))
    stock = SheetStock(96, 48, 96 - GAP_IN, 47.5 if edges == TONGUE else None, edges)
    return length, width, joists, stock, openings


@pytest.mark.parametrize("seed", range(OPENED))
def test_sheets_round_openings_called_fewest_are_by_an_exact_program_of_its_own(seed: int) -> None:
    length, width, joists, stock, openings = opened(seed)
    fewest = fewest_sheets(length, width, joists, stock.edges, openings)
    try:
        plan = plan_sheets(length, width, joists, stock, openings=openings)
    except SolveError:
        assert math.isinf(fewest)
        return
    assert plan.proven
    assert plan.sheets == fewest


@pytest.mark.parametrize(
    ("length", "width", "spacing", "edges", "openings", "last", "sheets"),
    [
        (84, 100, 24, SQUARE, [Opening(0, 0, 24, 36), Opening(60, 0, 24, 100)], 23.9375, 2),
        (84, 100, 24, SQUARE, [Opening(0, 64, 24, 36), Opening(60, 0, 24, 100)], 36, 2),
    ],
)
def test_a_row_that_fits_into_an_opening_is_a_way_to_rip_the_first_and_the_last(
    length: float,
    width: float,
    spacing: float,
    edges: str,
    openings: list[Opening],
    last: float,
    sheets: int,
) -> None:
    # Of strips that only suit the sheet, three sheets were called fewest.
    joists = joist_layout(length, spacing).sheet_lines_in
    stock = SheetStock(96, 48, 96 - GAP_IN, 47.5 if edges == TONGUE else None, edges)
    plan = plan_sheets(length, width, joists, stock, openings=openings)
    (rows,) = (rows for rows in ways_of_rows(width, edges) if rows[-1] == last)
    assert least_sheets(length, rows, joists, edges, openings) == sheets
    assert plan.proven
    assert plan.sheets == sheets


def hurried(patch: pytest.MonkeyPatch, seconds: float) -> None:
    """Each look at the clock finds it so much later, as on a machine busy with other work."""
    looks = itertools.count()
    clock = time.monotonic
    patch.setattr(time, "monotonic", lambda: clock() + seconds * next(looks))


def test_a_slower_machine_cuts_the_same_boards(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = random.Random(6)
    chance.choice(YARD_FT)
    pieces = [Piece(f"p{n}", chance.randint(350, 520) / 8, chance.randint(1, 3)) for n in range(40)]
    stocks = [Stock(f"{f} ft", 12.0 * f, p) for f, p in ((8, 8.9), (12, 13.9), (16, 19.2))]

    def plan() -> CutPlan:
        return cut(pieces, stocks, Saw(KERF_IN), effort=1e-6)

    calm = plan()
    assert not calm.proven  # the search ends at its limit
    assert not calm.timed_out
    hurried(monkeypatch, 2.0)
    assert plan() == calm


def test_a_slower_machine_lays_the_same_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    # Rows that take turns need a sheet more, so that the program of every row is asked.
    joists, stock = joist_layout(168.0, 12).sheet_lines_in, SheetStock(net_length_in=95.875)
    calm = plan_sheets(168, 156, joists, stock)
    assert not calm.timed_out
    hurried(monkeypatch, 2.0)
    assert plan_sheets(168, 156, joists, stock) == calm


BUSY = int(os.environ.get("BUSY", "0"))
"""Other programs that keep the processors busy while plans are made again."""


@contextlib.contextmanager
def busy(programs: int) -> Iterator[None]:
    """So many programs that do nothing but run."""
    loops = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(programs)]
    try:
        yield
    finally:
        for loop in loops:
            loop.kill()
            loop.wait()


@pytest.mark.slow
@pytest.mark.skipif(not BUSY, reason="by hand: BUSY=4")
def test_busy_processors_give_the_same_boards_and_sheets() -> None:
    def plans() -> tuple[list[CutPlan], list[SheetPlan]]:
        boards = [cut(*job(seed), Saw(KERF_IN)) for seed in range(400, 440)]
        floors = [plan_sheets(*floor(seed)) for seed in range(400, 420)]
        return boards, floors

    calm = plans()
    with busy(BUSY):
        assert plans() == calm
