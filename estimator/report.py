"""The answer as plain text: the options side by side, and the checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from estimator.measures import metric_key, metric_words
from estimator.rows import OPTION_KEYS

LINES = (
    ("Total", "total_cost", "${:,.2f}"),
    ("  low of its range", "total_low", "${:,.0f}"),
    ("  high of its range", "total_high", "${:,.0f}"),
    ("Material", "material_cost", "${:,.2f}"),
    ("Labour", "labour_cost", "${:,.2f}"),
    ("Hours", "work_hours", "{:.1f}"),
    ("Machines and delivery", "compare_fees", "${:,.2f}"),
    ("Stone, yd3", "stone_order_yd3", "{:.1f}"),
    ("Concrete, yd3", "concrete_yd3", "{:.2f}"),
    ("Soil moved, yd3", "soil_moved_yd3", "{:.1f}"),
    ("Courses of timber", "frame_courses", "{:.0f}"),
    ("Floor above ground at door, in", "floor_door_in", "{:.1f}"),
    ("Checks failing", "checks_failed", "{:.0f}"),
    ("Checks to look at", "checks_look", "{:.0f}"),
)


@dataclass(frozen=True, slots=True)
class CheckedBook:
    """What a workbook says of itself as it stands.

    Args:
        values: Every quantity for the inputs as they stand, solved parts from the file.
        stale: Solvers whose inputs changed, by name: 2 out of date, 1 prices changed.
        typed_over: Sentences on numbers typed over and formulas changed.
        labels: What each solver gives, in words, by its name.
        damage: A sentence on formulas that no longer read what belongs there; empty for none.
    """

    values: Mapping[str, Any]
    stale: Mapping[str, int]
    typed_over: tuple[str, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)
    damage: str = ""


def answer(values: Mapping[str, Any]) -> str:
    """The options side by side."""
    used = [o for o in range(len(OPTION_KEYS)) if _at(values, "option_used", o) > 0]
    if not used:
        return "No option has a kind yet: type one on the sheet Options, then refill."
    rows: list[Sequence[str]] = [
        ["", *(f"{OPTION_KEYS[o]}  {_text(values, 'option_kind', o)}" for o in used)]
    ]
    for label, key, pattern in LINES:
        if key not in values:  # of a metric workbook
            label, key = metric_words(label), metric_key(key, label.rpartition(", ")[2])
            pattern = "{:.0f}" if key.endswith("_mm") else pattern
        rows.append([label, *(pattern.format(_at(values, key, o)) for o in used)])
    rows.append(["", *(_text(values, "compare_mark", o) for o in used)])
    table = _table(rows)
    against = [
        f"{OPTION_KEYS[o]}: {_text(values, 'first_check', o)}"
        for o in used
        if _text(values, "first_check", o)
    ]
    return "\n".join([table, "", *against]).rstrip()


def checks(book: CheckedBook) -> tuple[str, bool]:
    """Every check that does not pass, and whether any of the used options fails one."""
    lines: list[str] = []
    values = book.values
    labels = np.asarray(values["check_text"])
    failing = False
    for option, key in enumerate(OPTION_KEYS):
        if _at(values, "option_used", option) == 0:
            continue
        found = [str(t) for t in labels[option] if str(t) not in ("", "ok")]
        failing = failing or any(t.startswith("FAIL") for t in found)
        lines.append(f"Option {key}, {_text(values, 'option_kind', option)}:")
        lines += [f"  {t}" for t in found] or ["  nothing found"]
    for solver, level in book.stale.items():
        words = "out of date" if level == 2 else "valid, may no longer be cheapest"
        lines.append(f"{book.labels.get(solver, solver)}: {words}; run: estimator refill")
    lines += book.typed_over
    if book.damage:
        lines.insert(0, f"DAMAGED: {book.damage}")
    return "\n".join(lines), failing or bool(book.damage)


def _at(values: Mapping[str, Any], key: str, option: int) -> float:
    array = np.asarray(values[key])
    return float(array[min(option, array.shape[0] - 1), 0])


def _text(values: Mapping[str, Any], key: str, option: int) -> str:
    array = np.asarray(values[key])
    return str(array[min(option, array.shape[0] - 1), 0])


def _table(rows: Sequence[Sequence[str]]) -> str:
    widths = [max(len(row[c]) for row in rows) for c in range(len(rows[0]))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if c == 0 else cell.rjust(width)
            for c, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )
