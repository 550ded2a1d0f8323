"""Sheets made of rows: the registry that lets a plain function be a row of the workbook.

A module of ``estimator/model`` makes one :class:`Sheet`; its functions, top to bottom, are the
sheet's rows. A long sheet is a package: each module makes a :class:`Chapter`, and the package's
``__init__`` makes the sheet of them, in order. A function's parameter names are the keys of the
quantities that it reads. The sheets are joined by :mod:`estimator.engine`.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from types import FunctionType
from typing import Any, Literal, TypeVar

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.contributions import Contribution, Gather, GatherColumn, Linked, Order
from estimator.errors import RowError
from estimator.expression import Kind, Ref, quantity
from estimator.inputs import Field
from estimator.vocabulary import pick

Role = Literal["input", "row", "solved", "stack", "mark", "index", "state"]
F = TypeVar("F", bound=Callable[..., Any])

USED = "option_used"
"""Key of the quantity (1 or 0 an option) that keeps a blank option quiet."""

NOT_PRICED = "not_priced"
"""Key of the solved text that says why an option can't be supplied; empty for one that can."""

OPTION_KEYS = ("A", "B", "C", "D", "E", "F")
"""Keys of the option columns."""

YES_OR_NO = '"yes";;"no"'
"""Number format of a row that is 1 where something holds, and else 0."""

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
    mended_at: str = ""
    """Key of the input that changes what it says, to which its label is a link; empty: none."""

    def ref(self) -> Ref:
        """The quantity as a symbolic reference."""
        return quantity(self.key, kind=self.kind, axis=self.axis, by_option=self.by_option)


@dataclass(frozen=True, slots=True)
class Section:
    """Rows under one heading; with ``stack`` the rows together are also one column block.

    With ``gather`` lines are still to come, one a contribution. With ``folded`` its lines, inputs
    that few change, are hidden until a person opens the group; it says for each key what stands
    beside the heading meanwhile, with "#" for the value.
    """

    title: str
    keys: list[str] = field(default_factory=list)
    stack: str = ""
    gather: Gather | None = None
    folded: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Notes:
    """Paragraphs of fixed text under a heading.

    With ``contents`` they are a line and a link to every other sheet of the workbook.
    """

    title: str
    lines: tuple[str, ...]
    contents: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A block of ``capacity`` rows whose columns are quantities along ``axis``.

    The columns ``gathered`` are still to come; a capacity of 0 is as many rows as there are
    contributions of the kind ``counts``.
    """

    axis: str
    title: str
    capacity: int
    owner: Chapter
    note: str = ""
    keys: list[str] = field(default_factory=list)
    shows: Appearance = field(default_factory=Appearance)
    gathered: list[GatherColumn] = field(default_factory=list)
    counts: type[Contribution] = Contribution

    @property
    def sheet(self) -> Sheet:
        """The sheet that the table stands on.

        Raises:
            RowError: If its chapter has not been put on a sheet.
        """
        if not isinstance(self.owner, Sheet):
            raise RowError("the table's chapter is on no sheet.", where=self.axis)
        return self.owner

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
                    self.owner.name,
                    "row",
                    fmt,
                    note,
                    source,
                    kind,
                    self.axis,
                    by_option,
                    parameters(function),
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
                self.owner.name,
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

    def gathers(self, how: GatherColumn) -> None:
        """Add a column that is made of contributions."""
        self.gathered.append(how)
        self.keys.append(how.key)

    def typed(self, entry: Field) -> None:
        """Add a column of inputs."""
        self._add(_input(entry, self.owner.name, self.axis, by_option=False))

    def _add(self, item: Quantity) -> None:
        self.owner.add(item)
        self.keys.append(item.key)


class Chapter:
    """Sections, tables and notes in the order they are added: what one module gives a sheet."""

    def __init__(self) -> None:
        self.name = ""
        self.parts: list[Section | Table | Notes] = []
        self.quantities: dict[str, Quantity] = {}
        self.contributions: list[Contribution] = []
        self.closed = False

    def section(
        self,
        title: str,
        *,
        stack: str = "",
        kind: Kind = "number",
        folded: Mapping[str, str] | None = None,
    ) -> None:
        """Begin a section. With ``stack`` its rows are also one block under that key and axis.

        For ``folded`` see :class:`Section`.
        """
        self._section(Section(title, stack=stack, folded=folded or {}), kind)

    def _section(self, part: Section, kind: Kind) -> None:
        self.parts.append(part)
        if part.stack:
            axis = part.stack.rsplit("_", 1)[0]
            self.add(
                Quantity(
                    part.stack,
                    part.title,
                    "",
                    self.name,
                    "stack",
                    kind=kind,
                    axis=axis,
                    by_option=True,
                )
            )

    def adds(self, *items: Contribution) -> None:
        """Declare what the assembly adds to the whole, beside its rows.

        Raises:
            RowError: If the sheet of this chapter is already made.
        """
        for item in items:
            if self.closed:
                raise RowError("the sheet of this chapter is already made.", where=item.where)
            self.contributions.append(item)

    def gathers(
        self,
        title: str,
        *kinds: type[Contribution],
        stack: str,
        suffix: str,
        word: str = "",
        unit: str = "",
        fmt: str = "0.00",
        like: str = "",
        given: str = "",
        shows: str = "",
        says: str = "",
        kind: Kind = "number",
        order: Order | None = None,
        linked: Linked | None = None,
    ) -> Callable[[F], F]:
        """Begin a section with a line for each contribution of these kinds, worked out alike.

        The lines together are also one block, under the key ``stack``. See
        :class:`~estimator.contributions.Gather` for the arguments.
        """

        def register(function: F) -> F:
            how = Gather(
                kinds,
                suffix,
                word,
                unit,
                fmt,
                like,
                given,
                shows,
                says,
                function,
                order,
                linked,
            )
            self._section(Section(title, stack=stack, gather=how), kind)
            return function

        return register

    def gathers_rows(
        self,
        title: str,
        *kinds: type[Contribution],
        stack: str,
        kind: Kind = "number",
        order: Order | None = None,
    ) -> None:
        """Begin a section of the rows that contributions of these kinds bring themselves."""
        self._section(Section(title, stack=stack, gather=Gather(kinds, order=order)), kind)

    def table(
        self,
        axis: str,
        title: str,
        capacity: int,
        note: str = "",
        *,
        index: bool = False,
        shows: Appearance | None = None,
        counts: type[Contribution] = Contribution,
    ) -> Table:
        """Begin a table of ``capacity`` rows; ``index`` numbers them from 1.

        A capacity of 0 is as many rows as there are contributions of the kind ``counts``.

        A later table on the same axis adds columns to the same rows, on another sheet.
        """
        table = Table(axis, title, capacity, self, note, [], shows or Appearance(), [], counts)
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
        mend: str = "",
    ) -> Callable[[F], F]:
        """Make a function a computed row: one number an option, or one for the whole job.

        Args:
            mend: Key of the input to type on account of it, to which its label is a link.
        """

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
                    parameters(function),
                    function,
                    mended_at=mend,
                )
            )
            return function

        return register

    def mirror(
        self,
        key: str,
        of: str,
        label: str,
        unit: str = "",
        *,
        fmt: str = "0.00",
        note: str = "",
        kind: Kind = "number",
        empty: str = "",
        chosen: str = "",
        scope: Literal["option", "job"] = "option",
    ) -> None:
        """Add a row that shows another sheet's.

        Args:
            of: Key of the row shown.
            empty: What is shown in place of an empty text.
            chosen: Key of an option's number: the row shows that option's value, for the job.
        """
        reads = (of, chosen) if chosen else (of,)
        self._put(
            Quantity(
                key,
                label,
                unit,
                self.name,
                "row",
                fmt,
                note,
                kind=kind,
                by_option=scope == "option" and not chosen,
                reads=reads,
                function=partial(_mirrored, of, chosen, empty),
            )
        )

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

    def state(
        self,
        key: str,
        label: str,
        *,
        note: str = "",
        scope: Literal["option", "job"] = "option",
    ) -> None:
        """Add a row of the worst of all solvers' marks; the model makes it of those that it has."""
        by_option = scope == "option"
        self._put(Quantity(key, label, "", self.name, "state", "0", note, by_option=by_option))

    def notes(self, title: str, *lines: str) -> None:
        """Add paragraphs of fixed text."""
        self.parts.append(Notes(title, lines))

    def contents(self, title: str) -> None:
        """Add a line and a link to every other sheet."""
        self.parts.append(Notes(title, (), contents=True))

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
        if self.closed:
            raise RowError("the sheet of this chapter is already made.", where=item.key)
        if item.key in self.quantities:
            raise RowError("two rows have this key.", where=f"{self.name}.{item.key}")
        self.quantities[item.key] = item


class Sheet(Chapter):
    """One sheet: its chapters in order, then what is added to it itself.

    Raises:
        RowError: If a key is taken, or a chapter is already on a sheet.
    """

    def __init__(
        self,
        name: str,
        title: str,
        purpose: str,
        *chapters: Chapter,
        shows: SheetAppearance | None = None,
    ) -> None:
        super().__init__()
        self.shows = shows or SheetAppearance()
        self.name = name
        self.title = title
        self.purpose = purpose
        for chapter in chapters:
            self.take(chapter)

    def take(self, chapter: Chapter, *, before: str = "") -> None:
        """Add a chapter.

        Args:
            before: Title of the part that it stands above; empty: below all.

        Raises:
            RowError: If a key or the chapter is taken, or no part has the title.
        """
        if chapter.closed:
            raise RowError("a chapter is on two sheets.", where=self.name)
        titles = [part.title for part in self.parts]
        if before and before not in titles:
            raise RowError(f"there is no part {before!r} to stand above.", where=self.name)
        chapter.closed = True
        self.contributions += chapter.contributions
        for item in chapter.quantities.values():
            self.add(replace(item, sheet=self.name))
        at = titles.index(before) if before else len(titles)
        self.parts[at:at] = [
            replace(part, owner=self) if isinstance(part, Table) else part for part in chapter.parts
        ]


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


def _mirrored(of: str, chosen: str, empty: str, **read: Any) -> Any:
    """Function of a mirror."""
    value = pick(read[of], read[chosen]) if chosen else read[of]
    return np.where(value == "", empty, value) if empty else value


def parameters(function: Callable[..., Any]) -> tuple[str, ...]:
    """Names of a function's parameters, in their order."""
    if isinstance(function, FunctionType):  # for most a signature takes its time to no end
        code = function.__code__
        if not code.co_flags & (inspect.CO_VARARGS | inspect.CO_VARKEYWORDS):
            return code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
    return tuple(inspect.signature(function).parameters)


Part = Section | Table | Notes
