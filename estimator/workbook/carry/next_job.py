"""The next job from the last workbook: prices, rates, looks and own sheets stay."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from estimator.engine import Model
from estimator.errors import FileError, InputError
from estimator.inputs import Cell, TypedJob
from estimator.metric import suited
from estimator.typed_job import demo_job, load_job, read_inputs
from estimator.workbook.carry.actuals import take_actuals
from estimator.workbook.carry.unsolved import unsolved, unsolved_bytes
from estimator.workbook.package.cells import patched
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.book import read_book
from estimator.workbook.refill.file import Report, refill_package, seen_at, typed_edits
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.live_blocks import refuse_live
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.price_list import PriceBook
from estimator.workbook.refill.refill import Refill
from estimator.workbook.refill.save import write_atomically


def start_next(
    old: Path,
    new: Path,
    model: Model,
    cleared: frozenset[str],
    job: Path | None = None,
    *,
    demo: bool = False,
    prices: Path | None = None,
    replace: bool = False,
    actuals: dt.date | None = None,
    told: Callable[[str], object] | None = None,
) -> Report | None:
    """Make the next job's workbook from an old one.

    Args:
        old: The workbook to start from; it stays as it is.
        new: The workbook to make.
        model: The rows.
        cleared: Keys of the inputs that belong to the old job alone.
        job: TOML file with the new job's inputs; None leaves them to be typed: blank, or as a
            new workbook has them where a blank would be refused.
        demo: Whether to take the invented demo job, in the measure of the old workbook.
        prices: Price book to use with the TOML file, in the place of the old workbook's.
        replace: Whether a file of the new one's name may be replaced.
        actuals: Take the hours and prices typed into the finished job, which are of this day, as
            rates and prices; None leaves them.
        told: Gets a sentence on each trade and item of which they are taken.

    Returns:
        The report of the refill, or None where inputs are still to be typed: the workbook says
        which, and shows no number until then.

    Raises:
        FileError: If the new file exists, or a file can't be read or written.
        InputError: If the TOML file holds something that can't be used.
    """
    with locked(new):
        seen = seen_at(new)
        if seen.digest and not replace:
            raise FileError(
                "there is a file of that name already.", where=str(new), cure="Choose another name."
            )
        data, refill, notes = _next_bytes(
            old, new.name, model, cleared, job, demo, prices, actuals, told
        )
        write_atomically(new, data, seen=seen)
    return None if refill is None else Report(new, refill, notes)


def _next_bytes(
    old: Path,
    label: str,
    model: Model,
    cleared: frozenset[str],
    job: Path | None,
    demo: bool,
    prices: Path | None,
    actuals: dt.date | None,
    told: Callable[[str], object] | None,
) -> tuple[bytes, Refill | None, tuple[str, ...]]:
    """Bytes of the next job's workbook; no refill where inputs are still to be typed."""
    package = Package.open(read_file(old), label=old.name)
    port = FilePort(package)
    model = suited(model, port.ranges())
    job = demo_job(model) if demo else job
    refuse_live(port)
    cleared = frozenset(model.name(key) for key in cleared)
    book = read_book(port, model)
    if book.typed_over:
        raise InputError(
            "numbers are typed over computed cells and may not suit the next job.",
            where=port.label,
            cure="Clear them there and refill, then start the next job.",
        )
    kept = {cell: value for cell, value in book.typed.cells.items() if cell[0] not in cleared}
    kept.update(_as_new(model, cleared))
    if actuals is not None:
        taken = take_actuals(PriceBook(port, model, book), actuals)
        kept.update(taken.typed)
        if told is not None:
            for sentence in taken.notes:
                told(sentence)
    typed = (
        TypedJob(kept, book.typed.where)
        if job is None
        else load_job(job, prices, over=kept, model=model)
    )
    edits = typed_edits(port, model, typed)
    if job is not None:
        read_inputs(model, typed)
        edits.update(unsolved(port, model))
        return refill_package(patched(package, edits).changed({}, label=label), model)
    return unsolved_bytes(patched(package, edits), model), None, ()


def _as_new(model: Model, cleared: frozenset[str]) -> Iterator[tuple[Cell, Any]]:
    """What a new workbook has in those cleared cells whose blank would be refused."""
    for key in cleared:
        item = model.quantities[key]
        field = item.field
        if field and field.needed and field.default is not None and item.axis is None:
            yield (key, 0), field.default
