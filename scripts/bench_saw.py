"""Time and proofs of saw and sheets over the jobs that the product itself makes.

Boards: what is asked of the saw for random buildings of 6 to 40 ft of every kind, at the price
book's lengths, and once more from six lengths at prices varied. Sheets: floors of whole feet up to
24 x 16 ft. Prints the median, the longest and how many are proven within 2 s of one core. Asserts
nothing. With ``--beside`` another checkout answers the same questions in the same run.

    python scripts/bench_saw.py [--jobs N] [--beside FOLDER]
"""

from __future__ import annotations

import argparse
import json
import random
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
YARD = {8: 8.9, 10: 11.4, 12: 13.9, 14: 16.5, 16: 19.2, 20: 25.6}
"""Invented prices by length, ft."""


def asked_of_the_saw(count: int) -> list[Any]:
    """Pieces, boards and kerf of every problem of so many random buildings."""
    from estimator.api import Job, estimate
    from estimator.errors import EstimatorError
    from estimator.inputs import TypedJob
    from estimator.model.kinds import KIND_NAMES
    from estimator.model.solvers import board_cuts

    chance = random.Random(14)
    asked: list[Any] = []
    plain = board_cuts.cut

    def noted(pieces: Any, stocks: Any, saw: Any) -> Any:
        wanted = [(p.label, p.length_in, p.count) for p in pieces]
        asked.append((wanted, [(s.item, s.length_in, s.price) for s in stocks], saw.kerf_in))
        return plain(pieces, stocks, saw)

    board_cuts.cut = noted
    demo = Job.demo().typed
    for _ in range(count):
        width = chance.randint(6, 24)
        cells = {k: v for k, v in demo.cells.items() if k[0] != "option_kind"}
        cells |= {
            ("building_length_ft", 0): chance.randint(width, 40),
            ("building_width_ft", 0): width,
            ("option_kind", 0): chance.choice(list(KIND_NAMES)),
            ("joist_spacing_in", 0): chance.choice([12, 16, 19.2, 24]),
            ("siting_wanted", 0): "no",
        }
        try:
            estimate(Job(TypedJob(cells, demo.where)))
        except EstimatorError:
            continue  # a building that the price book has no boards for
    board_cuts.cut = plain
    from_six = [
        (
            wanted,
            [
                (f"{n} ft", 12.0 * n, round(p * chance.uniform(0.93, 1.07), 2))
                for n, p in YARD.items()
            ],
            kerf,
        )
        for wanted, _, kerf in asked
    ]
    return asked + from_six


def floors() -> list[Any]:
    """Length, width and spacing of floors of whole feet, a share of all."""
    every = [
        (12.0 * long, 12.0 * wide, spacing)
        for long in range(4, 25)
        for wide in range(4, min(long, 16) + 1)
        for spacing in (12, 16, 19.2, 24)
    ]
    return random.Random(14).sample(every, 80)


def answers(problems: dict[str, Any]) -> dict[str, list[Any]]:
    """Seconds, cost or sheets, and whether proven, of each problem."""
    from estimator.solve.cutting import Piece, Saw, Stock, cut
    from estimator.solve.floor_sheets import SheetStock, plan_sheets
    from estimator.solve.joist_layout import joist_layout

    cut([Piece("a", 10, 1)], [Stock("b", 96, 1.0)], Saw())
    found: dict[str, list[Any]] = {"boards": [], "sheets": []}
    for wanted, stocks, kerf in problems["boards"]:
        start = time.process_time()
        plan = cut([Piece(*p) for p in wanted], [Stock(*s) for s in stocks], Saw(kerf))
        found["boards"].append((time.process_time() - start, plan.cost, plan.proven))
    for long, wide, spacing in problems["sheets"]:
        joists = joist_layout(long, spacing).sheet_lines_in
        start = time.process_time()
        laid = plan_sheets(long, wide, joists, SheetStock(net_length_in=95.875))
        found["sheets"].append((time.process_time() - start, laid.sheets, laid.proven))
    return found


def told(name: str, found: dict[str, list[Any]]) -> None:
    """A line for boards and one for sheets."""
    for what, each in found.items():
        seconds = [s for s, _, _ in each]
        soon = sum(proven and s < 2 for s, _, proven in each)
        total = sum(value for _, value, _ in each)
        print(
            f"{name}: {len(each)} {what}: median {statistics.median(seconds):.3f} s, longest"
            f" {max(seconds):.2f} s, {soon} proven within 2 s, in all {total:.2f}"
        )


def main() -> None:
    """Ask, answer here and beside, and tell."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=60, help="random buildings")
    parser.add_argument("--beside", type=Path, help="another checkout")
    parser.add_argument("--answer", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    sys.path.insert(0, str(options.answer or ROOT))
    if options.answer:
        json.dump(answers(json.load(sys.stdin)), sys.stdout)
        return
    problems = {"boards": asked_of_the_saw(options.jobs), "sheets": floors()}
    for folder in filter(None, (ROOT, options.beside)):
        run = [sys.executable, __file__, "--answer", str(folder.resolve())]
        done = subprocess.run(run, input=json.dumps(problems), text=True, capture_output=True)
        if done.returncode:
            raise SystemExit(done.stderr)
        told(folder.resolve().name, json.loads(done.stdout))


if __name__ == "__main__":
    main()
