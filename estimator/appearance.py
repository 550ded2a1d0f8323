"""How a sheet and its tables are shown, where what they hold doesn't say it.

Declared where the sheet or the table is; what is not declared gets a look by what it consists of.
Widths are in characters of the sheet's texts, columns are counted from 1.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

SheetRole = Literal["answer", "input", "computed", "take-along", "trust"]
Drawing = Literal["bar", "drawing"]
Dash = Literal["solid", "dash", "sysDot", "sysDash", "lgDashDot", "none"]
Marker = Literal["none", "diamond", "square", "triangle", "circle", "plus", "x"]


@dataclass(frozen=True, slots=True)
class Appearance:
    """How a table is shown.

    Args:
        beside: First sheet column, where the table stands beside the part before it; 0 below it.
        workings: Whether it serves formulas and charts alone, so that it is not printed. A block
            with a column an option is, on every sheet that has rows.
        printed_rows: How many rows of a long table are printed, 0 all; a line over it tells when
            more are in use.
        colour_scale: Columns that share one scale of colours round zero. Such a table is always
            full: what tells lines in use from others would hide the colours.
        characters: Characters that the texts of a column have, by its key.
        drawings: Columns of drawings made of letters, which must all be equally wide.
        aside: Columns that stand at the right end, outside of what is printed.
        standing: Columns that say something also in lines where nothing is typed.
    """

    beside: int = 0
    workings: bool = False
    printed_rows: int = 0
    colour_scale: tuple[str, ...] = ()
    characters: Mapping[str, float] = field(default_factory=dict)
    drawings: Mapping[str, Drawing] = field(default_factory=dict)
    aside: tuple[str, ...] = ()
    standing: tuple[str, ...] = ()

    def printed(self, capacity: int) -> int:
        """Rows that are printed of a table with so many."""
        return self.printed_rows or capacity

    def keys(self) -> Iterator[str]:
        """Keys of the columns that it speaks of."""
        yield from (
            *self.colour_scale,
            *self.characters,
            *self.drawings,
            *self.aside,
            *self.standing,
        )

    def renamed(self, name: Callable[[str], str]) -> Appearance:
        """The same for a table whose keys are called otherwise."""
        return replace(
            self,
            colour_scale=tuple(map(name, self.colour_scale)),
            characters={name(key): wide for key, wide in self.characters.items()},
            drawings={name(key): style for key, style in self.drawings.items()},
            aside=tuple(map(name, self.aside)),
            standing=tuple(map(name, self.standing)),
        )


@dataclass(frozen=True, slots=True)
class Line:
    """One series of a chart: its two columns, and how it is told from the others.

    Args:
        name: What the legend calls it; of several with one name the first stands in the legend.
        x, y: Keys of its columns.
        colour: Red, green and blue in hexadecimal.
        legend: Whether it stands in the legend.
    """

    name: str
    x: str
    y: str
    colour: str
    dash: Dash = "solid"
    width_pt: float = 1.75
    marker: Marker = "none"
    size: int = 5
    legend: bool = True


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of lines over the columns of tables of its sheet.

    Args:
        description: What it shows, for those who can't see it.
        sheet_rows: Rows of the sheet that it takes.
        share: Which of how many equal parts of its columns it draws, from 0.
        from_zero: Whether its x axis begins at 0.
        low_labels: Axes whose labels stay at the edge where lines cross zero.
    """

    title: str
    x_title: str
    y_title: str
    description: str
    lines: tuple[Line, ...]
    width_cm: float
    height_cm: float
    sheet_rows: int
    share: tuple[int, int] = (0, 1)
    from_zero: bool = False
    low_labels: tuple[Literal["x", "y"], ...] = ("x", "y")


@dataclass(frozen=True, slots=True)
class Charts:
    """The charts of a sheet, one below the other, a page of paper for each group.

    Args:
        first_row: Row of the sheet where the first stands.
        columns: Columns of the sheet that they run over, each ``column_width`` wide.
    """

    pages: tuple[tuple[Chart, ...], ...]
    first_row: int
    columns: int
    column_width: float


@dataclass(frozen=True, slots=True)
class SheetAppearance:
    """How a sheet is shown.

    Args:
        role: What it is for; None: input where something is typed on it, else computed.
        large: Whether it is read at arm's length, with boots on.
        widths: Widths of its columns where tables stand side by side, whatever they hold.
        label_columns: Columns that the labels of the rows of such a sheet run over.
        characters: Characters of texts that a solver writes beside a label, by key.
        charts: What is drawn on it.
        upright: Whether its pages stand, though its texts get small, so that more is on one.
        dimmed: Key of a row; an option for which it is above 0 is shown in grey.
    """

    role: SheetRole | None = None
    large: bool = False
    upright: bool = False
    dimmed: str = ""
    widths: tuple[float, ...] = ()
    label_columns: int = 0
    characters: Mapping[str, int] = field(default_factory=dict)
    charts: Charts | None = None

    def keys(self) -> Iterator[str]:
        """Keys of the quantities that it speaks of."""
        yield from self.characters
        if self.dimmed:
            yield self.dimmed
        for chart in self._drawn():
            for line in chart.lines:
                yield from (line.x, line.y)

    def _drawn(self) -> Iterator[Chart]:
        for page in self.charts.pages if self.charts else ():
            yield from page

    def rewritten(
        self, *, name: Callable[[str], str] = str, read: Callable[[str], str] = str
    ) -> SheetAppearance:
        """The same with other keys, or with what charts say read otherwise."""

        def chart(old: Chart) -> Chart:
            return replace(
                old,
                title=read(old.title),
                x_title=read(old.x_title),
                y_title=read(old.y_title),
                description=read(old.description),
                lines=tuple(replace(e, x=name(e.x), y=name(e.y)) for e in old.lines),
            )

        charts = self.charts
        if charts is not None:
            pages = tuple(tuple(map(chart, page)) for page in charts.pages)
            charts = replace(charts, pages=pages)
        characters = {name(key): wide for key, wide in self.characters.items()}
        dimmed = name(self.dimmed) if self.dimmed else ""
        return replace(self, characters=characters, charts=charts, dimmed=dimmed)


def unknown(spoken_of: Iterator[str], keys: Collection[str]) -> str:
    """The first key that is spoken of and is none of these; empty where there is none."""
    return next((key for key in spoken_of if key not in keys), "")
