"""What a person typed into a workbook of ours, read without the template that made it.

Typed inputs, numbers and formulas over computed cells, and texts and formulas anywhere else on
sheets of ours: each with the place that it has in the workbook and the name that it belongs to. A
formula that lost a reference is nobody's: what it read was deleted.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field

from estimator.rows import OPTION_KEYS
from estimator.workbook.package.a1 import LOST_REFERENCE, Range, tokens
from estimator.workbook.package.moves import Moves, moves_between
from estimator.workbook.package.reading import CellValue, Grid, grid
from estimator.workbook.package.same_formula import matches, spelt_alike
from estimator.workbook.refill.displaced import Displaced, Form, shape
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.option_columns import OptionColumns
from estimator.workbook.refill.port import Content, place_text
from estimator.workbook.template.made_from import (
    FORMULA,
    MadeFrom,
    Spot,
    checksum,
    is_constant,
    is_working,
)
from estimator.workbook.template.names import OPTION_KEY

NOWHERE = (1 << 20, 0)
"""Offset of a number in a table that lost lines, so that it can't be told which was its own."""


@dataclass(frozen=True, slots=True)
class Own:
    """One cell of a person's own.

    Args:
        sheet: Title of the sheet in the workbook.
        spot: Row and column there.
        content: What it holds.
        name: Defined name that it belongs to; empty for a cell of no name.
        offset: Rows and columns from the first cell of the name, options counted from A.
        made: Checksum of the text that the template had there, or :data:`made_from.FORMULA`; empty
            for neither.
    """

    sheet: str
    spot: Spot
    content: Content
    name: str = ""
    offset: Spot = (0, 0)
    made: str = ""

    @property
    def place(self) -> str:
        """Sheet and address."""
        return place_text(self.sheet, *self.spot)

    @property
    def shown(self) -> str:
        """Its content in a few words."""
        if self.content.formula is not None:
            return f"={self.content.formula[:60]}"
        value = self.content.value
        return f"{value:.10g}" if isinstance(value, float) else str(value)[:60]


def typed(port: FilePort) -> Iterator[Own]:
    """Every cell of every typed input, blank ones too.

    Where the letters of the options are gone with their sheet, columns count as they stand.
    """
    lettered = OPTION_KEY in port.ranges()
    columns = OptionColumns(port).typed if lettered else range(len(OPTION_KEYS))
    for name, (sheet, area) in port.ranges().items():
        if not name.startswith("in_"):
            continue
        wide = area.column2 - area.column1 + 1 >= len(OPTION_KEYS)
        offsets = columns if wide else range(area.column2 - area.column1 + 1)
        rows = port.read(sheet, area)
        for row, contents in enumerate(rows):
            for number, offset in enumerate(offsets):
                spot = area.row1 + row, area.column1 + offset
                yield Own(sheet, spot, contents[offset], name, (row, number))


def own_in_blocks(
    port: FilePort,
    made: MadeFrom,
    concerns: Callable[[str, str], bool],
    blocks_there: frozenset[str] = frozenset(),
) -> Iterator[Own]:
    """Numbers typed over formulas, and formulas that a person changed.

    Args:
        port: The workbook.
        made: What its template gave it.
        concerns: Whether it is asked of a sheet's name, by its title and the name.
        blocks_there: Blocks of lines where the cells go, as :func:`blocks_of_lines` names them.
    """
    ranges = port.ranges()
    moved = moves_between(made.ranges, ranges)
    blocks = blocks_of_lines(ranges) | blocks_there
    for name, (home, before) in made.ranges.items():
        if name not in made.formulas or name not in ranges or name in blocks:
            continue
        if is_working(name, home):
            continue
        sheet, area = ranges[name]
        if not concerns(sheet, name):
            continue
        same = _same_size(before, area)
        for row, contents in enumerate(port.read(sheet, area)):
            for column, content in enumerate(contents):
                spot = area.row1 + row, area.column1 + column
                if not same:
                    if content.formula is None and not content.blank:
                        yield Own(sheet, spot, content, name, NOWHERE)
                    continue
                wanted = made.formula(name, before.row1 + row, before.column1 + column)
                if wanted is None or content.blank or _lost(content):
                    continue
                if _unchanged(content, wanted, home, moved):
                    continue
                yield Own(sheet, spot, content, name, (row, column))


def blocks_of_lines(ranges: Mapping[str, tuple[str, Range]]) -> frozenset[str]:
    """Names of blocks whose rows have a name each, which says whose a cell is.

    A row follows its own name where others are added before it; a place in the block does not.
    """
    lines = {(sheet, area) for sheet, area in ranges.values() if area.row1 == area.row2}
    return frozenset(
        name
        for name, (sheet, area) in ranges.items()
        if area.row1 != area.row2
        and all(
            (sheet, area._replace(row1=row, row2=row)) in lines
            for row in range(area.row1, area.row2 + 1)
        )
    )


def _lost(content: Content) -> bool:
    return LOST_REFERENCE in (content.formula or "").upper()


def _same_size(one: Range, other: Range) -> bool:
    return (one.row2 - one.row1, one.column2 - one.column1) == (
        other.row2 - other.row1,
        other.column2 - other.column1,
    )


def _unchanged(content: Content, wanted: str, home: str, moved: Moves) -> bool:
    if content.formula is None:
        return False
    if moved.none and spelt_alike(content.formula, wanted):
        return True
    return matches(moved.pieces(wanted, home), tokens(content.formula))


def over_formulas(
    port: FilePort, template: FilePort, new_name: Callable[[str], str]
) -> Iterator[Own]:
    """Numbers where the template has formulas, of a workbook that kept no record.

    Args:
        port: The workbook.
        template: The template.
        new_name: What the template calls a name of the workbook.
    """
    new = template.ranges()
    blocks = blocks_of_lines(port.ranges()) | blocks_of_lines(new)
    for name, (sheet, area) in port.ranges().items():
        home = new.get(new_name(name))
        if home is None or name in blocks or name.startswith("in_"):
            continue
        if is_working(new_name(name), home[0]):
            continue
        for row, contents in enumerate(port.read(sheet, area)):
            for column, content in enumerate(contents):
                spot = home[1].row1 + row, home[1].column1 + column
                if content.formula is None and not content.blank and home[1].holds(*spot):
                    there = grid(template.package, home[0]).value(*spot)
                    if there.formula is not None:
                        at = area.row1 + row, area.column1 + column
                        yield Own(sheet, at, content, name, (row, column))


@dataclass(frozen=True, slots=True)
class _Away:
    """What the template put into cells without a name of a sheet, and is not there any more.

    Args:
        texts: Checksums of texts.
        shapes: Formulas without their references, of cells that can't be told any more.
        origins: Cells of the template by where they stand now.
    """

    texts: frozenset[str] = frozenset()
    shapes: frozenset[Form] = frozenset()
    origins: Mapping[Spot, Spot] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        home: str,
        made: Mapping[Spot, str],
        nameless: Mapping[Spot, str],
        moved: Moves,
        cells: Grid,
    ) -> _Away:
        """What is away from a sheet of the template, by its texts and formulas without a name."""
        texts = set()
        for spot, what in made.items():
            there = moved.spot(home, *spot)
            if there is None or checksum(cells.value(*there).value) != what:
                texts.add(what)
        shapes, origins = set(), {}
        for spot, text in nameless.items():
            there = moved.spot(home, *spot)
            if there is None:
                shapes.add(shape(tokens(text)))
            else:
                origins[there] = spot
        return cls(frozenset(texts - {FORMULA}), frozenset(shapes), origins)

    def has(self, found: CellValue) -> bool:
        """Whether a cell holds one of them."""
        if found.formula is not None:
            return bool(self.shapes) and shape(tokens(found.formula)) in self.shapes
        return checksum(found.value) in self.texts


def others(
    port: FilePort,
    made: MadeFrom,
    replaced: Collection[str],
    displaced: Displaced | None = None,
) -> Iterator[Own]:
    """Cells of no input and no computed row that the template did not fill so.

    Args:
        port: The workbook.
        made: What it was made with.
        replaced: Titles of the sheets that are looked at.
        displaced: Tells what an accident put there, which is left out: formulas of ours. So are
            texts of ours that are missing where they belong.
    """
    ranges = port.ranges()
    moved = moves_between(made.ranges, ranges)
    titles = {sheet.name for sheet in port.package.sheets}
    covered: dict[str, set[Spot]] = {}
    for name, (home, _) in made.ranges.items():
        if name in ranges and not is_constant(name, home):
            sheet, area = ranges[name]
            covered.setdefault(sheet, set()).update(area.cells())
    for home, texts in made.texts.items():
        title = moved.sheets.get(home, home)
        if title not in titles or title not in replaced:
            continue
        expected: dict[Spot, str] = {}
        for spot, what in texts.items():
            now = moved.spot(home, *spot)
            if now is not None:
                expected[now] = what
        nameless = made.nameless_formulas(home)
        formulas = {
            now: text
            for spot, text in nameless.items()
            if (now := moved.spot(home, *spot)) is not None
        }
        cells = grid(port.package, title)
        away = _Away.of(home, texts, nameless, moved, cells) if displaced is not None else _Away()
        for spot in cells.cells:
            if spot in covered.get(title, ()):
                continue
            found = cells.value(*spot)
            if found.formula is None and found.value in (None, ""):
                continue
            before = expected.get(spot, "")
            if found.formula is None and checksum(found.value) == before:
                continue
            content = port.read(title, Range(*spot, *spot))[0][0]
            if away.has(found) or (
                displaced is not None
                and found.formula is not None
                and displaced.by_accident(home, away.origins.get(spot), found.formula, spot)
            ):
                continue
            if before == FORMULA and (
                spot not in formulas
                or _lost(content)
                or _unchanged(content, formulas[spot], home, moved)
            ):
                continue
            yield Own(title, spot, content, made=before)
