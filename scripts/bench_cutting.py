"""Time to the proven cheapest cut plan, beside two plain ways of doing it.

Prints, for random jobs of 30 to 200 pieces from 3 to 6 stocked lengths: seconds to the proven
optimum here; seconds and cost of the textbook assignment model (which piece on which board) given
plainly to one general-purpose solver with a time cap; and the cost of first-fit decreasing.
Asserts nothing. With ``--hard`` it also runs bin-packing jobs drawn like the published hard ones
(160 to 200 pieces of 1 to 800 in bins of 1000); they are drawn anew, not the published files,
which are not kept here. Who has those names their folder with ``--instances``: text files of one
number a line, number of pieces, size of a bin, then the pieces.

    python scripts/bench_cutting.py [--cap SECONDS] [--jobs N] [--hard] [--instances FOLDER]
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from estimator.solve.cutting import Piece, Saw, Stock, cut

# Invented prices, dollars by length in feet: dearer per foot when long, none of them a quote.
PRICES = {8: 6.2, 10: 8.1, 12: 9.7, 14: 12.2, 16: 13.9, 20: 18.8}
SAW = Saw(kerf_in=0.125)


def job(count: int, seed: int) -> tuple[list[Piece], list[Stock]]:
    """A random job: up to 30 lengths in 1/8 in, stocked lengths with prices that vary by 10 %."""
    rng = random.Random(1000 * count + seed)
    feet = sorted(rng.sample(sorted(PRICES), rng.randint(3, 6)))
    stocks = [Stock(f"{f} ft", 12.0 * f, round(PRICES[f] * rng.uniform(0.9, 1.1), 2)) for f in feet]
    lengths = [rng.randint(64, int(12 * feet[-1] * 0.8 * 8)) / 8 for _ in range(30)]
    wanted: dict[float, int] = {}
    for _ in range(count):
        length = rng.choice(lengths)
        wanted[length] = wanted.get(length, 0) + 1
    return [Piece(f"{length:g}", length, n) for length, n in sorted(wanted.items())], stocks


def first_fit_cost(pieces: list[Piece], stocks: list[Stock]) -> float:
    """First-fit decreasing into the stocked length that comes out cheapest, over all of them."""
    longest = max(stocks, key=lambda s: s.length_in)
    costs = []
    for stock in stocks:
        rooms: list[float] = []
        cost = 0.0
        for p in sorted(pieces, key=lambda p: -p.length_in):
            need = p.length_in + SAW.kerf_in
            for _ in range(p.count):
                place = next((b for b, r in enumerate(rooms) if r >= need), None)
                if place is None:
                    own = stock if stock.length_in >= p.length_in else longest
                    rooms.append(own.length_in + SAW.kerf_in)
                    cost += own.price
                    place = len(rooms) - 1
                rooms[place] -= need
        costs.append(cost)
    return min(costs)


def assignment(
    pieces: list[Piece], stocks: list[Stock], boards: int, cap_s: float
) -> tuple[float, float, bool]:
    """The textbook model in scipy.milp: piece-to-board and board-to-stock choices, all binary."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import lil_matrix

    sizes = [p.length_in + SAW.kerf_in for p in pieces for _ in range(p.count)]
    n, k = len(sizes), len(stocks)
    columns = n * boards + k * boards
    cost = np.zeros(columns)
    place = lil_matrix((n, columns))
    fit = lil_matrix((boards, columns))
    one = lil_matrix((boards, columns))
    for b in range(boards):
        for i, size in enumerate(sizes):
            place[i, b * n + i] = 1
            fit[b, b * n + i] = size
        for j, s in enumerate(stocks):
            column = n * boards + b * k + j
            cost[column] = s.price
            fit[b, column] = -(s.length_in + SAW.kerf_in)
            one[b, column] = 1
    start = time.perf_counter()
    result = milp(
        cost,
        constraints=[
            LinearConstraint(place.tocsr(), 1, 1),
            LinearConstraint(fit.tocsr(), -np.inf, 0),
            LinearConstraint(one.tocsr(), -np.inf, 1),
        ],
        integrality=np.ones(columns),
        bounds=Bounds(0, 1),
        options={"time_limit": cap_s, "mip_rel_gap": 0},
    )
    value = np.nan if result.x is None else float(result.fun)
    return time.perf_counter() - start, value, result.status == 0


def bins(label: str, capacity: int, items: list[int]) -> None:
    """Solve one bin-packing instance and print bins, bound and time."""
    counts = {w: items.count(w) for w in items}
    start = time.perf_counter()
    plan = cut(
        [Piece(str(w), w, n) for w, n in counts.items()],
        [Stock("bin", capacity, 1.0)],
        Saw(kerf_in=0),
        effort=10,
    )
    took = time.perf_counter() - start
    print(
        f"{label}: {len(items)} pieces {len(plan.boards)} bins, bound"
        f" {plan.bound:g}, {took:.2f} s, proven {plan.proven}",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cap", type=float, default=20.0, help="seconds for the plain solver")
    parser.add_argument("--jobs", type=int, default=3, help="jobs of each size")
    parser.add_argument("--hard", action="store_true", help="also hard bin-packing jobs")
    parser.add_argument("--instances", type=Path, help="folder of bin-packing files, *.txt")
    options = parser.parse_args()
    warm = [Piece("a", 10, 1)], [Stock("b", 96, 1.0)]
    cut(*warm, SAW)
    print(
        "pieces lengths | here: s   cost  proven | assignment: s   cost  proven |"
        " first-fit cost | time ratio  first-fit/here"
    )
    for count in (30, 60, 120, 200):
        for seed in range(options.jobs):
            pieces, stocks = job(count, seed)
            start = time.perf_counter()
            plan = cut(pieces, stocks, SAW)
            took = time.perf_counter() - start
            plain_s, plain, proven = assignment(pieces, stocks, len(plan.boards) + 3, options.cap)
            greedy = first_fit_cost(pieces, stocks)
            print(
                f"{count:6} {len(stocks):7} | {took:7.2f} {plan.cost:8.2f} {plan.proven!s:5} |"
                f" {plain_s:7.2f} {plain:8.2f} {proven!s:5} | {greedy:8.2f} |"
                f" {'' if proven else '>'}{plain_s / took:6.1f}  {greedy / plan.cost:6.3f}",
                flush=True,
            )
    if options.hard:
        for seed in range(28):
            rng = random.Random(seed)
            items = [rng.randint(1, 800) for _ in range(rng.choice((160, 180, 200)))]
            bins(f"hard-like {seed:2}", 1000, items)
    if options.instances:
        for path in sorted(options.instances.glob("*.txt")):
            count, capacity, *items = map(int, path.read_text().split())
            bins(path.stem, capacity, items[:count])


if __name__ == "__main__":
    main()
