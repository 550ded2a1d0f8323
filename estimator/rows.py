"""Sheets made of rows: the registry that lets a plain function be a row of the workbook.

A module of ``estimator/model`` makes one :class:`Sheet`; its functions, top to bottom, are the
sheet's rows. A function's parameter names are the keys of the quantities that it reads. The sheets
are joined and worked out by :mod:`estimator.engine`.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal, TypeVar

from estimator.errors import RowError
from estimator.expression import Kind, Ref, quantity
from estimator.inputs import Field

Role = Literal["input", "row", "solved", "stack", "mark", "index"]
F = TypeVar("F", bound=Callable[..., Any])

USED = "option_used"
"""Key of the quantity (1 or 0 an option) that keeps a blank option quiet."""

OPTION_KEYS = ("A", "B", "C", "D", "E", "F")
"""Keys of the option columns."""

MARKS_SHEET = "Solved From"
"""Sheet of the snapshot: what every solver read, then and now."""


PROBLEMS = "input_problems"
"""Key of the number of inputs that the workbook can't read (0 in the engine: it refuses them)."""


TYPED_OVER = "typed_over_now"
"""Key of the number of computed and solved single values over which a person typed another."""

SPOILED = "typed_over_spoiled"
"""Key of the number of those that hold what is no number where one belongs, and of sheets that are
gone (0 in the engine: it refuses them)."""


def mark_of(solver: str) -> str:
    """Key of a solver's mark: 0 fresh, 1 valid but perhaps no longer cheapest, 2 out of date."""
    return f"stale_{solver}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """One named quantity: a row, or a column of a table, of one sheet."""

    key: str
    label: str
    unit: str
    sheet: str
    role: Role
    fmt: str = "0.00"
    note: str = ""
    source: str = ""
    kind: Kind = "number"
    axis: str | None = None
    by_option: bool = False
    reads: tuple[str, ...] = ()
    function: Callable[..., Any] | None = None
    solver: str = ""
    field: Field | None = None

    def ref(self) -> Ref:
        """The quantity as a symbolic reference."""
        return quantity(self.key, kind=self.kind, axis=self.axis, by_option=self.by_option)


@dataclass(frozen=True, slots=True)
class Section:
    """Rows under one heading; with ``stack`` the rows together are also one column block."""

    title: str
    keys: list[str] = field(default_factory=list)
    stack: str = ""


@dataclass(frozen=True, slots=True)
class Notes:
    """Paragraphs of fixed text under a heading."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A block of ``capacity`` rows whose columns are quantities along ``axis``."""

    axis: str
    title: str
    capacity: int
    sheet: Sheet
    note: str = ""
    keys: list[str] = field(default_factory=list)

    def column(
        self,
        label: str,
        unit: str = "",
        *,
        fmt: str = "0.00",
        note: str = "",
        source: str = "",
        kind: Kind = "number",
        by_option: bool = False,
    ) -> Callable[[F], F]:
        """Make a function a computed column of the table."""

        def register(function: F) -> F:
            self._add(
                Quantity(
                    function.__name__,
                    label,
                    unit,
                    self.sheet.name,
                    "row",
                    fmt,
                    note,
                    source,
                    kind,
                    self.axis,
                    by_option,
                    _parameters(function),
                    function,
                )
            )
            return function

        return register

    def solved(
        self,
        key: str,
        label: str,
        unit: str = "",
        *,
        solver: str,
        fmt: str = "0.00",
        note: str = "",
        source: str = "",
        kind: Kind = "number",
        by_option: bool = False,
    ) -> None:
        """Add a column whose values a solver writes."""
        self._add(
            Quantity(
                key,
                label,
                unit,
                self.sheet.name,
                "solved",
                fmt,
                note,
                source,
                kind,
                self.axis,
                by_option,
                solver=solver,
            )
        )

    def typed(self, entry: Field) -> None:
        """Add a column of inputs."""
        self._add(_input(entry, self.sheet.name, self.axis, by_option=False))

    def _add(self, item: Quantity) -> None:
        self.sheet.add(item)
        self.keys.append(item.key)


class Sheet:
    """One sheet under construction: sections and tables in the order they are added."""

    def __init__(self, name: str, title: str, purpose: str) -> None:
        self.name = name
        self.title = title
        self.purpose = purpose
        self.parts: list[Section | Table | Notes] = []
        self.quantities: dict[str, Quantity] = {}

    def section(self, title: str, *, stack: str = "", kind: Kind = "number") -> None:
        """Begin a section. With ``stack`` its rows are also one block under that key and axis."""
        self.parts.append(Section(title, stack=stack))
        if stack:
            axis = stack.rsplit("_", 1)[0]
            self.add(
                Quantity(stack, title, "", self.name, "stack", kind=kind, axis=axis, by_option=True)
            )

    def table(
        self, axis: str, title: str, capacity: int, note: str = "", *, index: bool = False
    ) -> Table:
        """Begin a table of ``capacity`` rows; ``index`` numbers them from 1.

        A later table on the same axis adds columns to the same rows, on another sheet.
        """
        table = Table(axis, title, capacity, self, note)
        self.parts.append(table)
        if index:
            item = Quantity(f"{axis}_no", "No.", "", self.name, "index", fmt="0", axis=axis)
            self.add(item)
            table.keys.append(item.key)
        return table

    def row(
        self,
        label: str,
        unit: str = "",
        *,
        fmt: str = "0.00",
        note: str = "",
        source: str = "",
        kind: Kind = "number",
        scope: Literal["option", "job"] = "option",
    ) -> Callable[[F], F]:
        """Make a function a computed row: one number an option, or one for the whole job."""

        def register(function: F) -> F:
            self._put(
                Quantity(
                    function.__name__,
                    label,
                    unit,
                    self.name,
                    "row",
                    fmt,
                    note,
                    source,
                    kind,
                    None,
                    scope == "option",
                    _parameters(function),
                    function,
                )
            )
            return function

        return register

    def solved(
        self,
        key: str,
        label: str,
        unit: str = "",
        *,
        solver: str,
        fmt: str = "0.00",
        note: str = "",
        source: str = "",
        kind: Kind = "number",
        scope: Literal["option", "job"] = "option",
    ) -> None:
        """Add a row whose values a solver writes."""
        by_option = scope == "option"
        self._put(
            Quantity(
                key,
                label,
                unit,
                self.name,
                "solved",
                fmt,
                note,
                source,
                kind,
                None,
                by_option,
                solver=solver,
            )
        )

    def typed(self, entry: Field, *, scope: Literal["option", "job"]) -> None:
        """Add a row of inputs: one cell an option, or one for the whole job."""
        self._put(_input(entry, self.name, None, by_option=scope == "option"))

    def notes(self, title: str, *lines: str) -> None:
        """Add paragraphs of fixed text."""
        self.parts.append(Notes(title, lines))

    def _put(self, item: Quantity) -> None:
        if not self.parts or not isinstance(self.parts[-1], Section):
            raise RowError("a row stands outside any section.", where=f"{self.name}.{item.key}")
        self.parts[-1].keys.append(item.key)
        self.add(item)

    def add(self, item: Quantity) -> None:
        """Register a quantity of this sheet.

        Raises:
            RowError: If the key is taken.
        """
        if item.key in self.quantities:
            raise RowError("two rows have this key.", where=f"{self.name}.{item.key}")
        self.quantities[item.key] = item


def _input(entry: Field, sheet: str, axis: str | None, *, by_option: bool) -> Quantity:
    return Quantity(
        entry.key,
        entry.label,
        entry.unit,
        sheet,
        "input",
        entry.fmt,
        entry.note,
        kind=entry.value_kind,
        axis=axis,
        by_option=by_option,
        field=entry,
    )


def _parameters(function: Callable[..., Any]) -> tuple[str, ...]:
    return tuple(inspect.signature(function).parameters)


Part = Section | Table | Notes
