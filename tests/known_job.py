"""The job whose numbers tests know: an invented one that stays when the shipped demo changes."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from estimator.engine import Model
from estimator.inputs import Cell, TypedJob
from estimator.item_names import keyed, named
from estimator.model import build_model
from estimator.typed_job import BOOK_TABLES, default_cells, load_job

DATA = Path(__file__).resolve().parent / "data"
KNOWN_JOB = DATA / "known_job.toml"
METRIC_KNOWN_JOB = DATA / "known_job_metric.toml"
KNOWN_BOOK = DATA / "price_book"
METRIC_KNOWN_BOOK = DATA / "price_book_metric"
AS_NEW = {
    ("job_name", 0): "New outbuilding",
    ("wall_height_ft", 0): 8,
    ("roof_height_ft", 0): 3,
}
"""What stands in cells of the old job that may not be blank, once a new one is begun."""


def known_job(model: Model | None = None) -> TypedJob:
    """The job at its own prices, in a model's measure; feet where none is given."""
    model = model or build_model()
    path = METRIC_KNOWN_JOB if model.measure == "metric" else KNOWN_JOB
    return load_job(path, over=known_cells(model), model=model)


def known_cells(model: Model) -> dict[Cell, Any]:
    """Defaults of a new workbook with the prices of the known job.

    A line or a column that its price book lacks is as in the shipped one.
    """
    cells = keyed(model, default_cells(model))
    book = METRIC_KNOWN_BOOK if model.measure == "metric" else KNOWN_BOOK
    for name, axis in BOOK_TABLES.items():
        with (book / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            kept = list(csv.DictReader(file))
        first = next(iter(kept[0]))
        shipped = _lines(model, cells, axis, first)
        for key, place in [c for c in cells if model.quantities[c[0]].axis == axis]:
            del cells[key, place]
        lines = {row[first]: shipped.get(row[first], {}) | _typed(model, row) for row in kept}
        lines |= {key: line for key, line in shipped.items() if key not in lines}
        for place, line in enumerate(lines.values()):
            cells |= {(key, place): entry for key, entry in line.items()}
    return named(model, cells)


def _lines(
    model: Model, cells: dict[Cell, Any], axis: str, first: str
) -> dict[str, dict[str, Any]]:
    """Entries of a table's lines by column, by the name of the line."""
    lines: dict[int, dict[str, Any]] = {}
    for (key, place), entry in cells.items():
        if model.quantities[key].axis == axis:
            lines.setdefault(place, {})[key] = entry
    return {str(line[first]): line for _, line in sorted(lines.items())}


def _typed(model: Model, row: dict[str, str]) -> dict[str, Any]:
    """Entries of a line of a file, as a price book is read."""
    found: dict[str, Any] = {}
    for key, text in row.items():
        field = model.quantities[key].field
        assert field is not None
        if text.strip():
            number = field.kind in ("number", "whole", "share")
            found[key] = float(text) if number else text
    return found
