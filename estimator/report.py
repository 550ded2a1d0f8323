"""The answer as plain text: the options side by side, and the checks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from estimator.errors import InputError
from estimator.inputs import DATE_ORIGIN
from estimator.measures import metric_key, metric_unit
from estimator.model.money import BEFORE, CURRENCY, MONEY
from estimator.model.supply import SAYS
from estimator.rows import NOT_PRICED, OPTION_KEYS

DAY = "day"
"""Pattern of a number that is a day."""
LINES = (  # label, unit, key, pattern
    ("Total", "", "total_cost", MONEY + "{:,.2f}"),
    ("Before contingency", "", "before_contingency", MONEY + "{:,.2f}"),
    ("  low of its range", "", "total_low", MONEY + "{:,.0f}"),
    ("  high of its range", "", "total_high", MONEY + "{:,.0f}"),
    ("Material", "", "material_cost", MONEY + "{:,.2f}"),
    ("Labour", "", "labour_cost", MONEY + "{:,.2f}"),
    ("Hours", "", "work_hours", "{:.1f}"),
    ("Days until it is ready", "", "elapsed_days", "{:.0f}"),
    ("Ready to build on", "", "ready_day", DAY),
    ("Machines and delivery", "", "compare_fees", MONEY + "{:,.2f}"),
    ("Stone", "yd3", "stone_order_yd3", "{:.1f}"),
    ("Concrete", "yd3", "concrete_yd3", "{:.2f}"),
    ("Soil moved", "yd3", "soil_moved_yd3", "{:.1f}"),
    ("Courses of timber", "", "frame_courses", "{:.0f}"),
    ("Floor above ground at door", "in", "floor_door_in", "{:.1f}"),
    ("Checks failing", "", "checks_failed", "{:.0f}"),
    ("Checks to look at", "", "checks_look", "{:.0f}"),
)

TOLD = ("choice_fails", "why_compared", "why_first", "why_second", "why_third", "why_rest")
"""Rows of the sheet Start on the choice, and on why the cheapest is cheapest; some may be empty."""

OPEN_POINTS = ("todo_building", "todo_wind", "todo_readings", "todo_kinds", "todo_choice")
"""Rows of the sheet Start that say what is still to be typed, or nothing."""


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
    missing, used, lacking = _to_do(values), used_options(values), not_priced(values)
    if missing and not (used and lacking):
        return "\n".join([*missing, "Then run: estimator refill"])
    rows: list[Sequence[str]] = [
        ["", *(f"{OPTION_KEYS[o]}  {_text(values, 'option_kind', o)}" for o in used)]
    ]
    for label, unit, key, pattern in LINES:
        if key not in values:  # of a metric workbook
            key, unit = metric_key(key, unit), metric_unit(unit).name
            pattern = "{:.0f}" if unit == "mm" else pattern
        pattern = pattern.replace(MONEY, money_sign(values))
        title = f"{label}, {unit}" if unit else label
        rows.append([title, *(_written(_at(values, key, o), pattern) for o in used)])
    rows.append(["", *(_text(values, "compare_mark", o) for o in used)])
    table = _table(rows)
    against = [
        f"{OPTION_KEYS[o]}: {_text(values, 'first_check', o)}"
        for o in used
        if _text(values, "first_check", o)
    ]
    against += [f"{_called(values, o)}: not priced. {why}" for o, why in lacking.items()]
    told = [text for text in (_text(values, key, 0) for key in TOLD) if text]
    if not _text(values, "chosen_option", 0):
        told.insert(0, _text(values, "chosen_title", 0))
    return "\n".join([*missing, table, "", *against, *told]).rstrip()


def open_points(values: Mapping[str, Any]) -> list[str]:
    """What is still to be typed before there is an answer: the same list as on the sheet Start.

    A model without these rows has no open points.
    """
    found = [_text(values, key, 0) for key in OPEN_POINTS if key in values]
    return [text for text in found if text]


def page_foot(values: Mapping[str, Any]) -> tuple[tuple[str, str], str]:
    """What stands at the foot of a page that is carried away: job and place, option; the day."""
    place = ", ".join(t for k in ("job_name", "job_place") if (t := _text(values, k, 0)))
    day = DATE_ORIGIN + dt.timedelta(days=int(_at(values, "estimate_date", 0)))
    return (place, _text(values, "field_title", 0)), f"Estimate of {day.isoformat()}"


def used_options(values: Mapping[str, Any]) -> list[int]:
    """Column numbers, from 0, of the options in use."""
    return [o for o in range(len(OPTION_KEYS)) if _at(values, "option_used", o) > 0]


def not_priced(values: Mapping[str, Any]) -> dict[int, str]:
    """By column number, from 0, why an option can't be supplied, as the last refill found it."""
    if NOT_PRICED not in values:
        return {}
    said = {option: _text(values, NOT_PRICED, option) for option in range(len(OPTION_KEYS))}
    return {option: why for option, why in said.items() if why}


def refuse_unsupplied(values: Mapping[str, Any]) -> None:
    """Refuse orders, plans and quotes where the option that is chosen can't be supplied.

    Raises:
        InputError: With the reason, and what to do.
    """
    for option, why in not_priced(values).items():
        if _text(values, "chosen_option", 0) == OPTION_KEYS[option]:
            raise InputError(
                f"option {OPTION_KEYS[option]} is chosen and not priced: {why.removeprefix(SAYS)}",
                where="Start",
                cure="Or choose another option.",
            )


def _called(values: Mapping[str, Any], option: int) -> str:
    return f"{OPTION_KEYS[option]}, {_text(values, 'option_kind', option)}"


def against(values: Mapping[str, Any], option: int) -> list[str]:
    """Every check of an option that does not pass."""
    return [str(t) for t in np.asarray(values["check_text"])[option] if str(t) not in ("", "ok")]


def checks(book: CheckedBook) -> tuple[str, bool]:
    """Every check that does not pass, and whether any of the used options fails one."""
    values = book.values
    lines = _to_do(values)
    failing = False
    for option in used_options(values):
        found = against(values, option)
        failing = failing or any(t.startswith("FAIL") for t in found)
        lines.append(f"Option {_called(values, option)}:")
        lines += [f"  {t}" for t in found] or ["  nothing found"]
    for option, why in not_priced(values).items():
        failing = True
        lines += [f"Option {_called(values, option)}, not priced:", f"  {why}"]
    for solver, level in book.stale.items():
        words = "out of date" if level == 2 else "valid, may no longer be cheapest"
        lines.append(f"{book.labels.get(solver, solver)}: {words}; run: estimator refill")
    lines += book.typed_over
    if book.damage:
        lines.insert(0, f"DAMAGED: {book.damage}")
    return "\n".join(lines), failing or bool(book.damage)


def sentence(values: Mapping[str, Any]) -> str:
    """The answer in short: what is chosen, what it costs, and what fails of it."""
    missing = open_points(values)
    if missing:
        return f"To do: {'; '.join(missing)}."
    used = used_options(values)
    failing = [OPTION_KEYS[o] for o in used if _at(values, "checks_failed", o) > 0]
    fails = f"fails: {', '.join(failing)}" if failing else "no option fails"
    if lacking := not_priced(values):
        fails += f", not priced: {', '.join(OPTION_KEYS[o] for o in lacking)}"
    title, total = _text(values, "chosen_title", 0), _at(values, "chosen_total", 0)
    return f"{title}, {money_sign(values)}{total:,.2f}; {len(used)} options, {fails}."


def money_sign(values: Mapping[str, Any]) -> str:
    """What stands before amounts of money."""
    sign = _text(values, CURRENCY, 0)
    return sign if not sign or sign in BEFORE else f"{sign} "


def _to_do(values: Mapping[str, Any]) -> list[str]:
    return [f"To do: {text}" for text in open_points(values)]


def _written(number: float, pattern: str) -> str:
    if pattern == DAY:
        return (DATE_ORIGIN + dt.timedelta(days=number)).isoformat()
    return pattern.format(number)


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
