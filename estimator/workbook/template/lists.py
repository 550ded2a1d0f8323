"""Where the sheet Lists keeps its blocks: version, unreadable inputs, limits, choices."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.engine import Model
from estimator.inputs import Field
from estimator.rows import OPTION_KEYS, Section, Table
from estimator.workbook.package.a1 import Range

LISTS_SHEET = "Lists"
LIMITED = ("length", "number", "whole", "share", "date")
"""Kinds of input that have a least and a most."""
OFFERED = 24
"""Lines that a list of part of a table shows."""


@dataclass(frozen=True, slots=True)
class ProblemLine:
    """A count of unreadable inputs: of the sections of a sheet, or of a table."""

    label: str
    sheet: str
    axis: str
    row: int


@dataclass(frozen=True, slots=True)
class ListsPlan:
    """Rows of the sheet.

    Args:
        costs_row: What each option cost at the last refill, an option a column.
        limits: Row by key of a typed table column.
        choices: Defined name and cells by the texts.
        offers: Defined name and cells of the lines of a table that a list shows, by the column of
            their names, the column that tells them and its entry there.
    """

    version_row: int
    costs_row: int
    problems: tuple[ProblemLine, ...]
    unusable_row: int
    total_row: int
    typed_over_row: int
    limits_title_row: int
    limits: Mapping[str, int]
    choices_title_row: int
    choices: Mapping[tuple[str, ...], tuple[str, Range]]
    offers: Mapping[tuple[str, ...], tuple[str, Range]]
    last_row: int
    last_column: int

    def choices_name(self, entry: Field) -> str:
        """Defined name of the range that holds the choices of a field."""
        return self.choices[entry.choices][0]

    def offers_name(self, entry: Field) -> str:
        """Defined name of the range of the lines that the list of a field shows; empty: all."""
        return self.offers[entry.refers, *entry.among][0] if entry.among else ""


def lists_plan(model: Model) -> ListsPlan:
    """Rows of the blocks, in a fixed order."""
    row = 9
    problems: list[ProblemLine] = []
    for sheet in model.sheets:
        typed_rows = any(
            model.quantities[key].role == "input"
            for part in sheet.parts
            if isinstance(part, Section)
            for key in part.keys
        )
        if typed_rows:
            problems.append(ProblemLine(sheet.name, sheet.name, "", row))
            row += 1
    for table in (p for sheet in model.sheets for p in sheet.parts if isinstance(p, Table)):
        if any(model.quantities[key].role == "input" for key in table.keys):
            label = f"{table.sheet.name}: {table.title}"
            problems.append(ProblemLine(label, table.sheet.name, table.axis, row))
            row += 1
    total, unusable, typed_over_row = row, row + 1, row + 2
    row = typed_over_row + 2
    limits_title = row
    row += 2
    limits: dict[str, int] = {}
    for key, item in model.quantities.items():
        if item.field and item.axis and item.field.kind in LIMITED:
            limits[key] = row
            row += 1
    row += 1
    choices_title = row
    first = row + 2
    choices: dict[tuple[str, ...], tuple[str, Range]] = {}
    last = first
    for key, item in model.quantities.items():
        if item.field and item.field.kind == "choice" and item.field.choices not in choices:
            column, end = len(choices) + 1, first + len(item.field.choices) - 1
            choices[item.field.choices] = f"choices_{key}", Range(first, column, end, column)
            last = max(last, end)
    offers: dict[tuple[str, ...], tuple[str, Range]] = {}
    for key, item in model.quantities.items():
        if item.field and item.field.among:
            column, end = len(choices) + len(offers) + 1, first + OFFERED - 1
            place = f"offers_{key}", Range(first, column, end, column)
            if offers.setdefault((item.field.refers, *item.field.among), place) is place:
                last = max(last, end)
    return ListsPlan(
        5,
        6,
        tuple(problems),
        unusable,
        total,
        typed_over_row,
        limits_title,
        limits,
        choices_title,
        choices,
        offers,
        last,
        max(1 + len(OPTION_KEYS), len(choices) + len(offers)),
    )
