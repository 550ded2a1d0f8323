"""How a sheet and its tables are shown, where what they hold doesn't say it.

Declared where the sheet or the table is; what is not declared gets a look by what it consists of.
Widths are in characters of the sheet's texts, columns are counted from 1.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

SheetRole = Literal["answer", "input", "computed", "take-along", "trust"]
Reader = Literal["lot", "yard", "saw", "customer"]
"""Where a page is carried to, and read."""
Dash = Literal["solid", "dash", "sysDot", "sysDash", "lgDash", "lgDashDot", "none"]
Marker = Literal["none", "diamond", "square", "triangle", "circle", "plus", "x"]


@dataclass(frozen=True, slots=True)
class Headed:
    """Title and headings of a table that shows something else in each of several cases.

    In a case that it does not know it has neither, and no band of headings.

    Args:
        by: Key of a text of the whole job that tells the cases apart.
        titles: By case, the table's title.
        columns: By key of a column, its heading in each case; in others it has none.
        filled: Key of a column; where its first line is blank there are none either.
    """

    by: str
    titles: Mapping[str, str]
    columns: Mapping[str, Mapping[str, str]]
    filled: str = ""

    def renamed(self, name: Callable[[str], str]) -> Headed:
        """The same for a table whose keys are called otherwise."""
        columns = {name(key): cases for key, cases in self.columns.items()}
        filled = name(self.filled) if self.filled else ""
        return replace(self, by=name(self.by), columns=columns, filled=filled)

    def worded(self, read: Callable[[str], str]) -> Headed:
        """The same with what it says read otherwise; cases are called as they are."""
        titles = {case: read(text) for case, text in self.titles.items()}
        columns = {
            key: {case: read(text) for case, text in cases.items()}
            for key, cases in self.columns.items()
        }
        return replace(self, titles=titles, columns=columns)


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
        aside: Columns that stand at the right end, outside of what is printed.
        standing: Columns that say something also in lines where nothing is typed, or else is said.
        letters: What the numbers of its lines stand behind.
        headed: Title and headings, where they are not always the same.
        heads: Key of a column that is above 0 on lines which head those below them: of such a line
            the first text stands alone, in bold.
        head_day: Key of a column that in such a line is a day, and is seen.
        head_sum: Key of a column that is seen in such a line too.
        apart: Key of a column: on the pages of the sheet's reader a page of its own begins with
            every such line below which any of it is above 0. On top of each stand the section
            before the table and the table's headings, and nothing else of the sheet is there.
        gaps: Whether cells of the job that a solver leaves without a number, and whole rows where
            it gives nothing, are blank: a line of a chart ends there.
    """

    beside: int = 0
    workings: bool = False
    printed_rows: int = 0
    colour_scale: tuple[str, ...] = ()
    characters: Mapping[str, float] = field(default_factory=dict)
    aside: tuple[str, ...] = ()
    standing: tuple[str, ...] = ()
    letters: str = ""
    headed: Headed | None = None
    heads: str = ""
    head_day: str = ""
    head_sum: str = ""
    apart: str = ""
    gaps: bool = False

    def printed(self, capacity: int) -> int:
        """Rows that are printed of a table with so many."""
        return self.printed_rows or capacity

    def keys(self) -> Iterator[str]:
        """Keys of the columns that it speaks of."""
        yield from (
            *self.colour_scale,
            *self.characters,
            *self.aside,
            *self.standing,
            *(self.headed.columns if self.headed else ()),
            *filter(None, self._of_heads()),
        )

    def worded(self, read: Callable[[str], str]) -> Appearance:
        """The same with what its headings say read otherwise."""
        return replace(self, headed=self.headed.worded(read) if self.headed else None)

    def _of_heads(self) -> tuple[str, str, str, str]:
        return self.heads, self.head_day, self.head_sum, self.apart

    def renamed(self, name: Callable[[str], str]) -> Appearance:
        """The same for a table whose keys are called otherwise."""
        heads, head_day, head_sum, apart = (name(k) if k else "" for k in self._of_heads())
        return replace(
            self,
            colour_scale=tuple(map(name, self.colour_scale)),
            characters={name(key): wide for key, wide in self.characters.items()},
            aside=tuple(map(name, self.aside)),
            standing=tuple(map(name, self.standing)),
            headed=self.headed.renamed(name) if self.headed else None,
            heads=heads,
            head_day=head_day,
            head_sum=head_sum,
            apart=apart,
        )


@dataclass(frozen=True, slots=True)
class Reach:
    """A straight stroke from each point of a line of a chart.

    Args:
        axis: Along which axis.
        length: Key of a column of lengths; or a number, half of it to either side; or nothing: back
            to zero.
        width_pt: Width of the stroke.
        back: Whether a stroke of a column's length goes back from its point, not on.
    """

    axis: Literal["x", "y"]
    length: str | float = ""
    width_pt: float = 1.25
    back: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One series of a chart: its two columns, and how it is told from the others.

    Args:
        name: What the legend calls it; of several with one name the first stands in the legend.
        x, y: Keys of its columns.
        colour: Red, green and blue in hexadecimal.
        legend: Whether it stands in the legend.
        share: Which of how many equal parts of its columns it draws, from 0.
        reach: A stroke from each of its points.
        texts: Key of a column, of which each entry stands beside its point.
        side: On which side of it, or over it.
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
    share: tuple[int, int] = (0, 1)
    reach: Reach | None = None
    texts: str = ""
    side: Literal["left", "right", "over"] = "left"

    def keys(self) -> Iterator[str]:
        """Keys of the quantities that it draws."""
        yield from (self.x, self.y)
        if self.texts:
            yield self.texts
        if self.reach is not None and isinstance(self.reach.length, str) and self.reach.length:
            yield self.reach.length

    def renamed(self, name: Callable[[str], str]) -> Line:
        """The same over columns that are called otherwise."""
        reach = self.reach
        if reach is not None and isinstance(reach.length, str) and reach.length:
            reach = replace(reach, length=name(reach.length))
        texts = name(self.texts) if self.texts else ""
        return replace(self, x=name(self.x), y=name(self.y), reach=reach, texts=texts)


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of lines over the columns of tables of its sheet.

    Args:
        description: What it shows, for those who can't see it.
        sheet_rows: Rows of the sheet that it takes.
        from_zero: Axes that begin at 0.
        x_most: Where its x axis ends; 0: as its numbers ask.
        low_labels: Axes whose labels stay at the edge where lines cross zero.
        downward: Whether y grows downward, as lines of a table do.
        unlabelled: Axes without figures.
        squared: Whether a net of whole numbers is drawn.
        text_pt: Size of its texts where it stands in a band, or beside another.
        beside: Whether it stands right of the chart before it.
    """

    title: str
    x_title: str
    y_title: str
    description: str
    lines: tuple[Line, ...]
    width_cm: float
    height_cm: float
    sheet_rows: int
    from_zero: tuple[Literal["x", "y"], ...] = ()
    low_labels: tuple[Literal["x", "y"], ...] = ("x", "y")
    downward: bool = False
    unlabelled: tuple[Literal["x", "y"], ...] = ()
    squared: bool = False
    text_pt: float = 9.8
    beside: bool = False
    x_most: float = 0.0

    def keys(self) -> Iterator[str]:
        """Keys of the quantities that it draws."""
        for line in self.lines:
            yield from line.keys()

    def rewritten(self, name: Callable[[str], str], read: Callable[[str], str]) -> Chart:
        """The same with other keys, or with what it says read otherwise."""
        return replace(
            self,
            title=read(self.title),
            x_title=read(self.x_title),
            y_title=read(self.y_title),
            description=read(self.description),
            lines=tuple(line.renamed(name) for line in self.lines),
        )


@dataclass(frozen=True, slots=True)
class Bar:
    """A row of the options as bars, or as marks over them.

    Args:
        name: What the legend calls it.
        key: Of the row.
        colour: Red, green and blue in hexadecimal; empty: not drawn, so that the next stands on it.
    """

    name: str
    key: str
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Bars:
    """A chart of rows of its sheet, a bar an option, each row on top of the one before.

    Args:
        description: What it shows, for those who can't see it.
        marks: Rows shown as marks, not as bars.
    """

    title: str
    y_title: str
    description: str
    bars: tuple[Bar, ...]
    width_cm: float
    height_cm: float
    marks: tuple[Bar, ...] = ()

    def keys(self) -> Iterator[str]:
        """Keys of the quantities that it draws."""
        yield from (bar.key for bar in (*self.bars, *self.marks))

    def rewritten(self, name: Callable[[str], str], read: Callable[[str], str]) -> Bars:
        """The same with other keys, or with what it says read otherwise."""
        return replace(
            self,
            title=read(self.title),
            y_title=read(self.y_title),
            description=read(self.description),
            bars=tuple(replace(bar, key=name(bar.key)) for bar in self.bars),
            marks=tuple(replace(bar, key=name(bar.key)) for bar in self.marks),
        )


@dataclass(frozen=True, slots=True)
class Band:
    """Charts side by side, in the room of a part of blank notes.

    Args:
        part: Title of that part.
        legends: Whether charts of lines have one, which takes the room of the lines.
    """

    part: str
    charts: tuple[Chart | Bars, ...]
    legends: bool = False


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
        charts: What is drawn on it, where it consists of charts.
        band: What is drawn in one of its parts.
        upright: Whether columns of options are slim, so that its pages can stand.
        dimmed: Key of a row; an option for which it is above 0 is shown in grey.
        reader: Where its pages are carried to, if they are.
        one_page: Whether all that is printed of it stands on one page.
        told_by: Key of a quantity; where it is blank or 0 the sheet has nothing to tell its reader,
            and is none of the pages that are carried there.
        notes_by: By title of a part of notes a key; where that is blank or 0 the part is not
            printed with the pages of a reader, or with those that are kept.
    """

    role: SheetRole | None = None
    reader: Reader | None = None
    large: bool = False
    upright: bool = False
    one_page: bool = False
    told_by: str = ""
    notes_by: Mapping[str, str] = field(default_factory=dict)
    dimmed: str = ""
    widths: tuple[float, ...] = ()
    label_columns: int = 0
    characters: Mapping[str, int] = field(default_factory=dict)
    charts: Charts | None = None
    band: Band | None = None

    def keys(self) -> Iterator[str]:
        """Keys of the quantities that it speaks of."""
        yield from self.characters
        yield from self.notes_by.values()
        yield from filter(None, (self.dimmed, self.told_by))
        for page in self.charts.pages if self.charts else ():
            for chart in page:
                yield from chart.keys()
        for drawn in self.band.charts if self.band else ():
            yield from drawn.keys()

    def rewritten(
        self, *, name: Callable[[str], str] = str, read: Callable[[str], str] = str
    ) -> SheetAppearance:
        """The same with other keys, or with what charts say read otherwise."""

        charts, band = self.charts, self.band
        if charts is not None:
            pages = tuple(tuple(c.rewritten(name, read) for c in page) for page in charts.pages)
            charts = replace(charts, pages=pages)
        if band is not None:
            drawn = tuple(chart.rewritten(name, read) for chart in band.charts)
            band = replace(band, charts=drawn)
        characters = {name(key): wide for key, wide in self.characters.items()}
        dimmed, told_by = (name(key) if key else "" for key in (self.dimmed, self.told_by))
        return replace(
            self,
            characters=characters,
            charts=charts,
            band=band,
            dimmed=dimmed,
            told_by=told_by,
            notes_by={read(title): name(key) for title, key in self.notes_by.items()},
        )


def unknown(spoken_of: Iterable[str], keys: Collection[str]) -> str:
    """The first key that is spoken of and is none of these; empty where there is none."""
    return next((key for key in spoken_of if key not in keys), "")
