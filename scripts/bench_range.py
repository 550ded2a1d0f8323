"""Time to the range of costs: six options, one of each kind and a wider pad.

Prints seconds of the processor for 10,000 draws on the rows of money, for 200 drawn surveys solved
at once beside as many whole jobs of another survey worked out one by one (told from a few), and for
the range as a whole. Asserts nothing.

    python scripts/bench_range.py
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from estimator.engine import Declared
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS, SLAB
from estimator.model.solvers.cost_range import DRAWS, GROUNDS, SEED, drawn, spreads_of
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.range_rows import RangeRows, lines_of
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.scenarios import Scenarios
from estimator.model.solvers.trial import Rows
from estimator.typed_job import DEMO_JOB, default_cells, load_job, read_inputs

KINDS = (FRAMED, OPEN, PIERS, BLOCKS, SLAB, FRAMED)
ONE_BY_ONE = 3
"""Jobs of another survey that are worked out whole."""


def _seconds(work: Callable[[], Any]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    """Print the times."""
    model = build_model()
    job = load_job(DEMO_JOB, model=model)
    cells = {c: v for c, v in job.cells.items() if not model.quantities[c[0]].by_option}
    for (key, option), value in default_cells(model, options=True).items():
        if model.quantities[key].by_option:
            cells[key, option] = value
    cells |= {("option_kind", option): kind for option, kind in enumerate(KINDS)}
    cells["margin_in", len(KINDS) - 1] = 18
    inputs = read_inputs(model, TypedJob(cells, job.where))
    values = evaluate(model, inputs)
    solver = model.solvers["range"]
    reads = Declared("range", {key: values[key] for key in solver.reads})
    rows = RangeRows(Rows(model.quantities, model.stacks), lines_of(model.sheets), OwnUnits())
    options = range(len(KINDS))
    spreads = spreads_of(Reads(values))
    for run in (1, 2):
        plain = Scenarios(rows, model, reads, options)
        cases = drawn(spreads, plain.costs, 0, DRAWS, GROUNDS, SEED)
        draws = _seconds(lambda plain=plain, cases=cases: plain.outcome(cases))
        at_once = _seconds(
            lambda: Scenarios(rows, model, reads, options, surveys=GROUNDS, seed=SEED)
        )
        whole = _seconds(lambda: solver.function(reads))
        print(f"run {run}: {DRAWS} draws {draws:.2f} s, {GROUNDS} surveys {at_once:.2f} s")
        print(f"run {run}: the range as a whole {whole:.2f} s")
    chance = np.random.default_rng(SEED)
    each = 0.0
    for _ in range(ONE_BY_ONE):
        reading = np.asarray(inputs["point_reading_ft"])
        other = inputs | {"point_reading_ft": reading + chance.uniform(-0.03, 0.03, reading.shape)}
        each += _seconds(lambda other=other: evaluate(model, other)) / ONE_BY_ONE
    ratio = each * GROUNDS / at_once
    print(f"{GROUNDS} jobs one by one {each * GROUNDS:.0f} s, {ratio:.0f} times as long")


if __name__ == "__main__":
    main()
