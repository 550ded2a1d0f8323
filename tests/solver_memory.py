"""What solvers gave, kept for the whole run of the tests: the same reads are not solved again.

Solvers are pure functions of what they read (``test_solvers.py``, which asks them anew, holds them
to that), and the tests solve the jobs that they share hundreds of times. An answer is kept in a
file in the folder of the run, under a checksum of the solver, of its measure, of every value that
it reads and of what it is told is typed over, for all of the run's workers; none outlives the run.

A test asks anew where it is marked ``anew``, and wherever it puts something else in the place of
what solvers work with: with ``monkeypatch``, or with a model of its own, which has no memory.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from estimator.engine import Model, Solve, Solver

WORTH_S = 0.01
"""Working time from which on an answer is kept: a shorter one is as soon worked out as read."""


def lend_memory(model: Model, folder: Path, active: Callable[[], bool]) -> None:
    """Let the solvers of a model remember, in a folder, as long as that is active."""
    folder.mkdir(exist_ok=True)
    model.solvers = {
        name: replace(solver, function=_remembering(solver, model.measure, folder, active))
        for name, solver in model.solvers.items()
    }


def _remembering(solver: Solver, measure: str, folder: Path, active: Callable[[], bool]) -> Solve:
    def solve(reads: Mapping[str, Any]) -> Mapping[str, Any]:
        key = _key(solver, measure, reads) if active() else ""
        if not key:
            return solver.function(reads)
        kept = folder / key
        if kept.exists():
            found: Mapping[str, Any] = pickle.loads(kept.read_bytes())
            return found
        began = time.process_time()
        answer = solver.function(reads)
        if time.process_time() - began >= WORTH_S:
            beside = kept.with_suffix(f".{os.getpid()}-{threading.get_ident()}")
            beside.write_bytes(pickle.dumps(dict(answer)))
            beside.replace(kept)
        return answer

    return solve


def _key(solver: Solver, measure: str, reads: Mapping[str, Any]) -> str:
    """Checksum of all that an answer rests on; empty where it can't be told."""
    typed_over = {k: sorted(v.items()) for k, v in getattr(reads, "typed_over", {}).items()}
    found = hashlib.sha256(f"{solver.name} {measure} {sorted(typed_over.items())}".encode())
    for name in (*solver.reads, *solver.prices):
        if name not in reads:
            return ""
        array = np.ascontiguousarray(np.asarray(reads[name]))
        if array.dtype.hasobject:
            return ""
        found.update(f"\0{name} {array.dtype.str} {array.shape} ".encode())
        found.update(array.tobytes())
    return found.hexdigest()
