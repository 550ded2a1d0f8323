"""Time to the sizes left blank: the demo job with six options that leave all of them blank.

Prints seconds for a first search and for the next ones, whose cut plans are known, and what each
option takes. Asserts nothing.

    python scripts/bench_sizes.py
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS
from estimator.typed_job import DEMO_JOB, default_cells, load_job, read_inputs

KINDS = (FRAMED, OPEN, PIERS, BLOCKS, PIERS, BLOCKS)


def main() -> None:
    """Print the times."""
    model = build_model()
    job = load_job(DEMO_JOB, model=model)
    cells = {c: v for c, v in job.cells.items() if not model.quantities[c[0]].by_option}
    for (key, option), value in default_cells(model, options=True).items():
        if model.quantities[key].by_option:
            cells[key, option] = value
    cells |= {("option_kind", option): kind for option, kind in enumerate(KINDS)}
    values = evaluate(model, read_inputs(model, TypedJob(cells, job.where)))
    solver = model.solvers["blank_sizes"]
    reads = {key: values[key] for key in (*solver.reads, *solver.prices)}
    for run in range(3):
        start, cpu = time.perf_counter(), time.process_time()
        solver.function(reads)
        took, used = time.perf_counter() - start, time.process_time() - cpu
        print(f"run {run + 1}: {took:.2f} s, {used:.2f} s of the processor")
    for option, kind in enumerate(KINDS):
        text, how = (values[k][option, 0] for k in ("suggested_text", "suggested_how"))
        print(f"{kind}: {text}; {how}")


if __name__ == "__main__":
    main()
