"""Several workbooks at once, as of a folder of jobs: a sentence for each, side by side."""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from estimator.errors import EstimatorError

_LOG = logging.getLogger(__name__)

Told = tuple[int, str]
"""An exit code, as the command has them, and a sentence."""


def each(work: Callable[[Path], Told], paths: Sequence[Path]) -> Iterator[Told]:
    """What came of every workbook, in their order, as soon as it is known.

    Args:
        work: :func:`refilled` or :func:`checked`.
        paths: The workbooks; one that is named twice is worked on once.
    """
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    once = list(dict.fromkeys(path.resolve() for path in paths))
    shown = {path.resolve(): path for path in reversed(paths)}
    # Not forked: the caller may have threads, which a forked process does not take along.
    workers = min(len(once), os.cpu_count() or 1)
    _LOG.info("Working on %d workbooks", len(once))
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        for done, told in enumerate(pool.map(work, [shown[path] for path in once])):
            _LOG.info("Done with %d of %d workbooks", done + 1, len(once))
            yield told


def refilled(path: Path) -> Told:
    """Refill a workbook in place: 0, or 2 and why it can't be."""
    from estimator.model import build_model
    from estimator.report import sentence
    from estimator.since import told
    from estimator.workbook.refill.file import refill_workbook

    try:
        report = refill_workbook(path, build_model())
    except EstimatorError as error:
        return 2, str(error)
    noted = f" {len(report.notes)} notes: refill it alone to read them." if report.notes else ""
    word = "refilled" if report.changed else "up to date"
    values = report.refill.values
    since = "; ".join(told(report.refill.costs_then, values, reasons=False))
    changed = f" Since the last refill: {since}." if since and report.changed else ""
    return 0, f"{path}: {word}. {sentence(values)}{changed}{noted}"


def checked(path: Path) -> Told:
    """Check a workbook: 0, 1 if something fails or is damaged, or 2 and why it can't be."""
    from estimator.model import build_model
    from estimator.report import checks, sentence
    from estimator.workbook.refill.file import check_workbook

    try:
        found = check_workbook(path, build_model())
    except EstimatorError as error:
        return 2, str(error)
    _, failing = checks(found)
    old = " Out of date: refill it." if 2 in found.stale.values() else ""
    damaged = " DAMAGED: check it alone." if found.damage else ""
    return int(failing), f"{path}: {sentence(found.values)}{old}{damaged}"
