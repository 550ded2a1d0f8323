"""Time and proofs of saw and sheets over the jobs that the product itself makes.

Jobs: all that the saw of a random building takes, of 6 to 40 ft and every kind, at the price book's
lengths, and for every second one from six lengths of each stock at prices varied. Sheets: floors of
whole feet up to 24 x 16 ft, and of quarter feet up to 24 x 24 ft with openings. Prints the median,
the longest, how many are proven within 2 s of one core, and by how much all others together may be
over the least. Asserts nothing. With ``--beside`` another checkout answers the same questions in
the same run. With ``--hard`` they are cutting problems drawn like the published hard ones instead
(from memory; not the published files): triplets that fill a board, many small pieces of uniform
lengths, narrow bands, boards of six lengths cut without waste, 200 pieces.

    python scripts/bench_saw.py [--jobs N] [--floors N] [--beside FOLDER] [--hard]
"""

from __future__ import annotations

import argparse
import json
import random
import statistics
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(
    0, sys.argv[sys.argv.index("--answer") + 1] if "--answer" in sys.argv else str(ROOT)
)

from estimator.api import Job  # noqa: E402
from estimator.engine import Declared  # noqa: E402
from estimator.errors import EstimatorError  # noqa: E402
from estimator.evaluation import evaluate  # noqa: E402
from estimator.inputs import TypedJob  # noqa: E402
from estimator.model import build_model  # noqa: E402
from estimator.model.kinds import KIND_NAMES  # noqa: E402
from estimator.model.prices import ITEMS  # noqa: E402
from estimator.model.solvers import stock_cuts  # noqa: E402
from estimator.solve.cutting import Piece, Saw, Stock, cut  # noqa: E402
from estimator.solve.floor_sheets import Opening, SheetStock, plan_sheets  # noqa: E402
from estimator.solve.joist_layout import joist_layout  # noqa: E402
from estimator.typed_job import read_inputs  # noqa: E402

YARD = {8: 8.9, 10: 11.4, 12: 13.9, 14: 16.5, 16: 19.2, 20: 25.6}
"""Invented prices by length, ft."""


def buildings(count: int) -> Iterator[TypedJob]:
    """So many random buildings; for every second one the yard has six lengths of every stock, at
    prices varied."""
    chance = random.Random(14)
    demo = Job.demo().typed
    for number in range(count):
        width = chance.randint(24, 96) / 4
        cells = {k: v for k, v in demo.cells.items() if k[0] != "option_kind"}
        cells |= {
            ("building_length_ft", 0): chance.randint(int(4 * width), 160) / 4,
            ("building_width_ft", 0): width,
            ("option_kind", 0): chance.choice(list(KIND_NAMES)),
            ("joist_spacing_in", 0): chance.choice([12, 16, 19.2, 24]),
            ("blocking_rows", 0): chance.randint(0, 3),
            ("door_way", 0): chance.choice(["steps", "ramp", "none"]),
            ("skirting", 0): chance.choice(["yes", "no"]),
            ("siting_wanted", 0): "no",
        }
        yield TypedJob(_six_lengths(cells, chance) if number % 2 else cells, demo.where)


def _six_lengths(cells: dict[tuple[str, int], Any], chance: random.Random) -> dict[Any, Any]:
    """The price book with lengths added to stocks that have fewer than six, while it has room."""
    found = dict(cells)
    lumber = [at for (key, at), v in cells.items() if key == "item_category" and v == "lumber"]
    free = iter(sorted(set(range(ITEMS)) - {at for key, at in cells if key == "item_name"}))
    stocks = sorted({cells["item_stock", at] for at in lumber})
    for stock in chance.sample(stocks, len(stocks)):
        have = {
            cells["item_length_ft", at]: at for at in lumber if cells["item_stock", at] == stock
        }
        for feet in [f for f in YARD if f not in have][: 6 - len(have)]:
            like, place = have[min(have, key=lambda f: abs(f - feet))], next(free, None)
            if place is None:
                return found
            for (key, at), value in cells.items():
                if at == like and key.startswith("item_"):
                    found[key, place] = value
            price = cells["item_price", like] * feet / cells["item_length_ft", like]
            price = round(price * chance.uniform(0.95, 1.05), 2)
            found |= {
                ("item_key", place): f"more_{place}",
                ("item_name", place): f"{stock} x {feet} ft, more",
                ("item_length_ft", place): feet,
                ("item_low", place): price,
                ("item_price", place): price,
                ("item_high", place): price,
            }
    return found


def sawn(count: int) -> list[Any]:
    """Seconds of the saw, cost and what no plan goes below, of random buildings."""
    model = build_model()
    solver = model.solvers["cutting"]
    found = []
    for job in buildings(count):
        try:
            values = evaluate(model, read_inputs(model, job))
        except EstimatorError:
            continue  # a building that the price book has no boards for
        asked = Declared("cutting", {key: values[key] for key in (*solver.reads, *solver.prices)})
        stock_cuts._plan.cache_clear()
        start = time.process_time()
        plan = solver.function(asked)
        seconds = time.process_time() - start
        found.append((seconds, *(float(plan[key][0, 0]) for key in ("cut_cost", "cut_bound"))))
    return found


def floors() -> list[Any]:
    """Length, width and spacing of floors of whole feet, a share of all."""
    every = [
        (12.0 * long, 12.0 * wide, spacing)
        for long in range(4, 25)
        for wide in range(4, min(long, 16) + 1)
        for spacing in (12, 16, 19.2, 24)
    ]
    return random.Random(14).sample(every, 80)


def opened(count: int) -> list[Any]:
    """Length, width and spacing of so many floors of quarter feet, and their one to three openings:
    from corner 1 along and back, then their sizes; at the floor's edges as often as within."""
    chance = random.Random(14)

    def side(of: int) -> tuple[float, float]:
        size = min(of, chance.randint(4, max(4, of // 2)))
        return 3.0 * chance.choice([0, of - size, chance.randint(0, of - size)]), 3.0 * size

    found = []
    for _ in range(count):
        long = chance.randint(16, 96)
        wide = chance.randint(16, long)
        sides = [(*side(long), *side(wide)) for _ in range(chance.randint(1, 3))]
        holes = [(x, y, length, width) for x, length, y, width in sides]
        found.append((3.0 * long, 3.0 * wide, chance.choice([12, 16, 19.2, 24]), holes))
    return found


def hard(kind: str, chance: random.Random) -> Any:
    """Pieces, boards and kerf of one problem of a hard kind."""
    yard = [
        (f"{n} ft", 12.0 * n, round(p * chance.uniform(0.93, 1.07), 2)) for n, p in YARD.items()
    ]
    name, _, count = kind.partition(" ")
    sizes: list[float] = []
    stocks, kerf = yard, 0.125
    if name == "triplets":  # in quarter inches, a board of 250 in
        stocks, kerf = [("board", 250.0, 10.0)], 0.0
        for _ in range(int(count) // 3):
            one = chance.randint(380, 490)
            two = chance.randint(250, (1000 - one) // 2)
            sizes += [one / 4, two / 4, (1000 - one - two) / 4]
    elif name == "uniform":
        stocks, kerf = [("board", 150.0, 10.0)], 0.0
        sizes = [float(chance.randint(20, 100)) for _ in range(int(count))]
    elif name == "bands":
        middle = chance.choice([33, 41, 58, 77])
        sizes = [middle + chance.randint(-24, 24) / 8 for _ in range(int(count))]
    elif name == "fits":
        for _ in range(int(count) // 3):
            room = chance.choice(yard)[1] + kerf
            ends = sorted(chance.sample(range(160, int(room * 8) - 160), 2))
            steps = zip([0, *ends], [*ends, room * 8], strict=True)
            sizes += [(b - a) / 8 - kerf for a, b in steps if b - a > 8]
    else:
        few = [chance.randint(64, 1536) / 8 for _ in range(30)]
        sizes = [chance.choice(few) for _ in range(int(count))]
    return [(f"{s:g}", s, n) for s, n in sorted(Counter(sizes).items())], stocks, kerf


HARD = (
    "triplets 60", "triplets 120", "triplets 249", "uniform 120", "uniform 250",
    "bands 60", "fits 60", "pieces 200",
)  # fmt: skip


def answers(problems: dict[str, Any]) -> dict[str, list[Any]]:
    """Seconds, cost or sheets, and what no plan goes below, of each problem."""
    cut([Piece("a", 10, 1)], [Stock("b", 96, 1.0)], Saw())
    found: dict[str, list[Any]] = {what: [] for what in problems}
    for what in problems:
        if what == "jobs":
            found[what] = sawn(problems[what])
            continue
        for problem in problems[what]:
            start = time.process_time()
            if what in ("sheets", "sheets round openings"):
                long, wide, spacing, *holes = problem
                joists = joist_layout(long, spacing).sheet_lines_in
                openings = [Opening(*hole) for hole in (*holes, ())[0]]
                stock = SheetStock(net_length_in=95.875)
                laid = plan_sheets(long, wide, joists, stock, openings=openings)
                value, least = float(laid.sheets), float(laid.bound)
            else:
                wanted, stocks, kerf = problem
                plan = cut([Piece(*p) for p in wanted], [Stock(*s) for s in stocks], Saw(kerf))
                value, least = plan.cost, plan.bound
            found[what].append((time.process_time() - start, value, least))
    return found


def told(name: str, found: dict[str, list[Any]]) -> None:
    """A line for each sort of problem."""
    for what, each in found.items():
        seconds = [s for s, _, _ in each]
        soon = sum(value == least and s < 2 for s, value, least in each)
        total = sum(value for _, value, _ in each)
        gap = total - sum(least for _, _, least in each)
        print(
            f"{name}: {len(each)} {what}: median {statistics.median(seconds):.3f} s, longest"
            f" {max(seconds):.2f} s, {soon} proven within 2 s, in all {total:.2f}, at most"
            f" {gap:.2f} over the least"
        )


def main() -> None:
    """Ask, answer here and beside, and tell."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=160, help="random buildings")
    parser.add_argument("--floors", type=int, default=200, help="random floors with openings")
    parser.add_argument("--beside", type=Path, help="another checkout")
    parser.add_argument("--hard", action="store_true", help="drawn like published hard ones")
    parser.add_argument("--answer", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.answer:
        json.dump(answers(json.load(sys.stdin)), sys.stdout)
        return
    problems: dict[str, Any] = {}
    if options.hard:
        chance = random.Random(14)
        problems = {kind: [hard(kind, chance) for _ in range(3)] for kind in HARD}
    else:
        problems = {"jobs": options.jobs, "sheets": floors()}
        problems["sheets round openings"] = opened(options.floors)
    for folder in filter(None, (ROOT, options.beside)):
        run = [sys.executable, __file__, "--answer", str(folder.resolve())]
        done = subprocess.run(run, input=json.dumps(problems), text=True, capture_output=True)
        if done.returncode:
            raise SystemExit(done.stderr)
        told(folder.resolve().name, json.loads(done.stdout))


if __name__ == "__main__":
    main()
