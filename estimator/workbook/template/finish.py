"""What is said by colour besides words, and how the sheets scroll and print."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from openpyxl.formatting.rule import Rule
from openpyxl.worksheet.header_footer import HeaderFooterItem, _HeaderFooterPart
from openpyxl.worksheet.properties import PageSetupProperties

from estimator.appearance import Charts
from estimator.keys import KIND
from estimator.rows import MARKS_SHEET
from estimator.workbook.package.a1 import Range, address, column_letters, range_text
from estimator.workbook.template.column_looks import carry_blanks
from estimator.workbook.template.entries import add_validations
from estimator.workbook.template.grid import LANDSCAPE, PORTRAIT
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.lists import LISTS_SHEET
from estimator.workbook.template.names import OPTION_KEY
from estimator.workbook.template.painter import GAP_PT, Painter
from estimator.workbook.template.plans import (
    FOOTER,
    HEADER_ROW,
    HELPERS,
    SectionPlan,
    SheetPlan,
    TableColumn,
    TablePlan,
)
from estimator.workbook.template.snapshot import (
    CHANGED_COLUMN,
    NOT_CHEAPEST,
    OUT_OF_DATE,
    SHORT_COLUMN,
    STATE_COLUMN,
    WIDTH,
    level_name,
    upstream_solvers,
)
from estimator.workbook.template.styles import MARKS, TABS, UNSEEN, differential

_DIFFERENTIAL = {mark.name: differential(mark) for mark in MARKS}


@dataclass(frozen=True, slots=True)
class _Paper:
    """A size of paper: its code, the characters of columns that an upright and a lying page take
    at full size, and the height in points of what is printed on them, with some to spare."""

    code: int
    upright: float
    lying: float
    long_pt: float
    short_pt: float


_PAPERS: Mapping[str, _Paper] = {
    "feet": _Paper(1, PORTRAIT, LANDSCAPE, 705.0, 525.0),
    "metric": _Paper(9, PORTRAIT * 537 / 554, LANDSCAPE * 784 / 734, 755.0, 508.0),
}
"""By system of measure: US Letter, A4."""
_KEPT, _KEPT_OTHER = 0.35, 0.6
"""A part that does not fit, a section or another, moves to a new page if that leaves no more than
this share of a page blank."""
_SPARE = 0.04
"""A part that is longer than a page by no more than this share still ends on it."""
_LEAST_SCALE = 0.842
"""Share of full size down to which the least of texts is still to be read on paper: 8 points."""


def finish_sheets(painters: Mapping[str, Painter], layout: Layout) -> None:
    """Add validation, conditional formats, widths, panes and print settings to every sheet."""
    add_validations(painters, layout)
    paper = _PAPERS[layout.model.measure]
    shown = {sheet.name: sheet.shows for sheet in layout.model.sheets}
    for name, painter in painters.items():
        painter.apply_sizes()
        if name in layout.sheets:
            plan = layout.sheets[name]
            _flag_rule(painter, _flag_width(plan, shown[name].charts))
            _input_rules(painter, layout, plan)
            tables = [p for p in plan.parts if isinstance(p, TablePlan)]
            plain = [part for part in tables if not part.table.shows.colour_scale]
            blocks = [(part, block) for part in plain for block in _blocks(part)]
            for part in tables:
                _no_headings(painter, part)
            for part, block in blocks:
                _not_in_use(painter, layout, part, block)
            _stale_rules(painter, layout, plan)
            for part in plain:
                _heads(painter, layout, part)
            if shown[name].dimmed:
                _dim(painter, layout, plan, shown[name].dimmed)
            for part, block in blocks:
                _in_use(painter, layout, part, block)
            starts = {p.title_row: not isinstance(p, SectionPlan) for p in plan.parts}
            whole = shown[name].one_page
            pages = {} if whole else starts
            # The decision stands on one page, beside whose options notes would be small anyway.
            upright = plan.role == "answer"
            _page(painter, list(plan.printed), plan.titles, pages, paper, upright=upright)
            painter.sheet.page_setup.fitToHeight = int(whole)
            _view(painter, _freeze(plan), TABS[plan.role])
        _leave_out_empty(painter)
        if name in layout.sheets:
            _cover_below(painter, carry_blanks(painter, layout.sheets[name]))
    lists, snapshot = layout.lists, layout.snapshot
    _flag_rule(painters[LISTS_SHEET], 4)
    choices = lists.choices_title_row
    starts = {lists.limits_title_row: True}
    _page(painters[LISTS_SHEET], [Range(1, 1, choices - 1, 4)], (1, 3), starts, paper)
    _view(painters[LISTS_SHEET], "A4", TABS["trust"])
    top = Range(1, 1, snapshot.title_row - 1, SHORT_COLUMN)
    _flag_rule(painters[MARKS_SHEET], SHORT_COLUMN)
    _page(painters[MARKS_SHEET], [top], (1, HEADER_ROW), {}, paper)
    _view(painters[MARKS_SHEET], f"A{HEADER_ROW + 1}", TABS["trust"])
    marks = Range(HEADER_ROW + 1, 1, snapshot.title_row - 2, SHORT_COLUMN)
    state = f"${address(marks.row1, STATE_COLUMN)}"
    _rule(
        painters[MARKS_SHEET],
        range_text(marks),
        f'OR(LEFT({state},3)="{OUT_OF_DATE[:3]}",LEFT({state},3)="{NOT_CHEAPEST[:3]}")',
        "stale",
    )
    lines = Range(snapshot.first_row, 1, snapshot.last_row, CHANGED_COLUMN + WIDTH - 1)
    first, last = (column_letters(c) for c in (CHANGED_COLUMN, CHANGED_COLUMN + WIDTH - 1))
    changed = f"MAX(${first}{lines.row1}:${last}{lines.row1})>0"
    _rule(painters[MARKS_SHEET], range_text(lines), changed, "stale")


def finish_record(painter: Painter, first: int) -> None:
    """Widths and panes of a hidden sheet of plain lines, of which ``first`` is the first row.

    It has no print area, with which some programs would print it though it is hidden.
    """
    painter.apply_sizes()
    _view(painter, f"A{first}", TABS["trust"])


def _rule(painter: Painter, area: str, formula: str, mark: str, *, last: bool = False) -> None:
    """Add a look; with ``last`` none of those that are added later joins it."""
    stop = last or None
    rule = Rule(type="expression", dxf=_DIFFERENTIAL[mark], formula=[formula], stopIfTrue=stop)
    painter.sheet.conditional_formatting.add(area, rule)


def _leave_out_empty(painter: Painter) -> None:
    """Draw the lines and bands of cells that hold nothing without these cells."""
    for style, places in painter.without_empty({*_DIFFERENTIAL, *UNSEEN}).items():
        if style not in UNSEEN:
            _rule(painter, _areas(_rectangles(places)), "TRUE", style)


def _cover_below(painter: Painter, carried: tuple[Range, int] | None) -> None:
    """Show nothing of the looks that columns have below the last row of a sheet.

    The rule begins at the first row, which nobody deletes, and so is known again.
    """
    if carried:
        columns, last = carried
        first = address(columns.row1, columns.column1)
        test = f'AND({first}="",ROW({first})>ROW($A${last}))'
        _rule(painter, range_text(columns), test, "below a table")


def _rectangles(places: Iterable[tuple[int, int]]) -> list[Range]:
    """Places by row and column as ranges, from the left."""
    runs: list[Range] = []
    for row, column in sorted(places):
        last = runs[-1] if runs else None
        if last and last.row1 == row and last.column2 == column - 1:
            runs[-1] = last._replace(column2=column)
        else:
            runs.append(Range(row, column, row, column))
    return sorted(runs, key=lambda run: (run.column1, run.column2, run.row1))


def _flag_width(plan: SheetPlan, charts: Charts | None) -> int:
    """Columns that the flag runs over: what is printed, or the charts of a sheet of those."""
    last = max(area.column2 for area in plan.printed)
    return max(last, charts.columns) if charts else last


def _flag_rule(painter: Painter, last: int) -> None:
    area = range_text(Range(3, 1, 3, last))
    _rule(painter, area, 'LEFT($A$3,2)="OK"', "good")
    _rule(painter, area, 'LEFT($A$3,4)="LOOK"', "stale")
    _rule(painter, area, 'AND($A$3<>"",LEFT($A$3,2)<>"OK",LEFT($A$3,4)<>"LOOK")', "bad")


def _input_rules(painter: Painter, layout: Layout, plan: SheetPlan) -> None:
    reads: list[Range] = []
    checks: list[Range] = []
    unused: dict[tuple[str, ...], list[Range]] = {}
    for part in plan.parts:
        if isinstance(part, TablePlan):
            for each in part.columns:
                area = Range(part.first_row, each.column, part.last_row, each.column)
                if each.role == "read":
                    reads.append(area)
                elif each.role == "check":
                    checks.append(area)
        elif isinstance(part, SectionPlan):
            for key, row in part.rows.items():
                entry = layout.quantity(key).field
                if entry is None:
                    continue
                reads.append(layout.places[key].area)
                check = plan.columns.check
                checks.append(Range(row, check, row, check))
                typed = layout.places[key].typed
                if plan.kind == "options" and typed and key != KIND:
                    unused.setdefault(entry.kinds, []).append(typed)
    for found, test in ((reads, '{0}="?"'), (checks, 'AND({0}<>"",{0}<>"ok")')):
        for areas in _by_column(found):
            first = address(areas[0].row1, areas[0].column1)
            _rule(painter, _areas(areas), test.format(first), "bad")
    if KIND in layout.places and layout.places[KIND].sheet == plan.name:
        row, column = layout.places[KIND].cell()
        kind = f"{column_letters(column)}${row}"
        for kinds, areas in unused.items():
            tests = ",".join(f'{kind}<>"{name}"' for name in kinds)
            _rule(painter, _areas(areas), f"AND({tests})" if kinds else f'{kind}=""', "unused")


def _dim(painter: Painter, layout: Layout, plan: SheetPlan, key: str) -> None:
    """Show the columns of options in grey for which a row is above 0."""
    area = layout.places[key].area
    for part in plan.parts:
        if isinstance(part, SectionPlan):
            rows = [row for k, row in part.rows.items() if layout.quantity(k).by_option]
            if rows:
                block = Range(rows[0], area.column1, rows[-1], area.column2)
                test = f"{column_letters(area.column1)}${area.row1}"
                _rule(painter, range_text(block), f"AND(ISNUMBER({test}),N({test})>0)", "unused")


def _by_column(areas: list[Range]) -> list[list[Range]]:
    """The areas by their first column: programs differ on what others' cells are relative to."""
    found: dict[int, list[Range]] = {}
    for area in areas:
        found.setdefault(area.column1, []).append(area)
    return list(found.values())


def _areas(areas: list[Range]) -> str:
    """Reference of several ranges; neighbours one below the other are joined."""
    joined: list[Range] = []
    for area in areas:
        last = joined[-1] if joined else None
        if (
            last
            and last.row2 + 1 == area.row1
            and (last.column1, last.column2) == (area.column1, area.column2)
        ):
            joined[-1] = last._replace(row2=area.row2)
        else:
            joined.append(area)
    return " ".join(range_text(area) for area in joined)


def _stale_rules(painter: Painter, layout: Layout, plan: SheetPlan) -> None:
    """Mark numbers that rest on a stale solver, option by option, by their columns' headings."""
    found: dict[tuple[tuple[str, ...], int, int], list[Range]] = {}
    for part in plan.parts:
        keys = part.rows if isinstance(part, SectionPlan) else ()
        header, spans = plan.header_row, dict[str, int]()
        if isinstance(part, TablePlan):
            keys, header = dict.fromkeys(part.table.keys, 0), part.option_row
            spans = {c.key: c.span - 1 for c in part.columns if c.role == "value"}
        for key in keys:
            solvers = upstream_solvers(layout.model, key)
            if solvers:
                by_option = layout.quantity(key).by_option
                area = layout.places[key].area
                area = area._replace(column2=area.column2 + spans.get(key, 0))
                at = (header, area.column1) if by_option else (0, 0)
                found.setdefault((solvers, *at), []).append(area)
    for (solvers, header, column), areas in found.items():
        level = level_name(solvers)
        test = f"MAX({level})>=1"
        if header:
            letter = column_letters(column)
            by_key = f"INDEX({level},1,MATCH(LEFT({letter}${header}),{OPTION_KEY},0))"
            by_place = (
                f"INDEX({level},1,COLUMNS(${letter}$1:{letter}$1))"  # an option no longer in use
            )
            test = f"N(IFERROR({by_key},{by_place}))>=1"
        _rule(painter, _areas(areas), test, "stale")


def _blocks(part: TablePlan) -> list[list[TableColumn]]:
    """Computed columns that are blank together: those of the job, and of each block of options."""
    shown = [c for c in part.columns if c.role not in (*HELPERS, "typed")]
    job = [c for c in shown if c.option is None]
    blocks: dict[str, list[TableColumn]] = {}
    for column in shown:
        if column.option is not None:
            blocks.setdefault(column.key, []).append(column)
    return [block for block in (job, *blocks.values()) if block]


def _not_in_use(
    painter: Painter, layout: Layout, part: TablePlan, columns: list[TableColumn]
) -> None:
    """Show no zeros, and nothing else, in rows that hold nothing."""
    used = _use_test(layout, part, by_option=columns[0].option is not None)
    kept = ("check", "index") if part.typed_keys else ("check",)
    standing = part.table.shows.standing
    columns = [c for c in columns if c.role not in kept and c.key not in standing]
    if used and columns:
        areas = _joined([_rows(part, column) for column in columns])
        text = " ".join(range_text(area) for area in areas)
        _rule(painter, text, f"NOT({used})", "not in use", last=True)


def _no_headings(painter: Painter, part: TablePlan) -> None:
    """Show nothing of a table whose headings change where it has none, nor of its last column."""
    headed = part.table.shows.headed
    if headed is not None:
        aside = part.table.shows.aside
        last = max(c.column + c.span - 1 for c in part.columns if c.key not in aside)
        band = Range(part.header_row, part.left, part.last_row, last)
        column = part.find("value", next(iter(headed.columns))).column
        cell = f"${column_letters(column)}${part.header_row}"
        _rule(painter, range_text(band), f'{cell}=""', "no headings", last=True)
        end = next(c for c in part.columns if c.column + c.span - 1 == last)
        if len(headed.columns.get(end.key, headed.titles)) < len(headed.titles):
            cell = f"${column_letters(end.column)}${part.header_row}"
            band = band._replace(column1=end.column)
            _rule(painter, range_text(band), f'{cell}=""', "no headings", last=True)


def _heads(painter: Painter, layout: Layout, part: TablePlan) -> None:
    """Let lines that head others stand out: their first text alone, in bold."""
    key = part.table.shows.heads
    if key:
        shown = [
            c for c in part.columns if c.role == "value" and c.key not in part.table.shows.aside
        ]
        first = next(c for c in shown if layout.quantity(c.key).kind == "text")
        looks = {part.table.shows.head_day: "heads, day", part.table.shows.head_sum: "heads"}
        told = [c for c in shown if c.key in looks]
        others = [c for c in shown if c is not first and c not in told]
        others += [c for c in part.columns if c.role == "index"]
        test = f"${address(part.first_row, part.find('value', key).column)}>0"
        _rule(painter, range_text(_rows(part, first)), test, "heads", last=True)
        for column in told:
            _rule(painter, range_text(_rows(part, column)), test, looks[column.key], last=True)
        areas = _joined([_rows(part, column) for column in others])
        _rule(painter, " ".join(map(range_text, areas)), test, "heads, alone", last=True)


def _in_use(painter: Painter, layout: Layout, part: TablePlan, columns: list[TableColumn]) -> None:
    """Draw a line under rows that hold something.

    They never have the very reference of another rule: the two would be joined to one entry,
    whose place among the others decides in some programs which of them is seen.
    """
    used = _use_test(layout, part, by_option=columns[0].option is not None)
    solved = [c for c in columns if c.key and layout.quantity(c.key).role == "solved"]
    plain = [c for c in columns if c not in solved]
    for group, mark in ((plain, "in use"), (solved, "in use, solved")):
        areas = _joined([_rows(part, column) for column in group])
        tops = [area._replace(row2=area.row1) for area in areas]
        rests = [area._replace(row1=area.row1 + 1) for area in areas]
        if used and areas:
            _rule(painter, " ".join(range_text(area) for area in (*tops, *rests)), used, mark)


def _rows(part: TablePlan, column: TableColumn) -> Range:
    return Range(part.first_row, column.column, part.last_row, column.column + column.span - 1)


def _joined(areas: list[Range]) -> list[Range]:
    """Ranges of the same rows; neighbours are joined."""
    joined: list[Range] = []
    for area in sorted(areas, key=lambda area: area.column1):
        whole = joined[-1].with_next(area) if joined else None
        joined = [*joined[:-1], whole] if whole else [*joined, area]
    return joined


def _use_test(layout: Layout, part: TablePlan, *, by_option: bool) -> str:
    """Test of the first row (of the first option): whether anything stands in it."""
    row = part.first_row
    if part.typed_keys and not by_option:
        first = layout.places[part.typed_keys[0]].typed_cell()
        return f'TRIM(${address(*first)})<>""'
    tests = []
    standing = part.table.shows.standing
    telling = [column for column in part.columns if column.key not in standing] or part.columns
    for column in telling:
        if column.role != "value" or (column.option is not None) != by_option or column.option:
            continue
        if column.key in part.table.shows.aside:
            continue
        cell = address(row, column.column)
        cell = cell if by_option else f"${cell}"
        text = layout.quantity(column.key).kind == "text"
        tests.append(f'{cell}<>""' if text else f"N({cell})<>0")
    return f"OR({','.join(tests)})" if tests else ""


def _freeze(plan: SheetPlan) -> str:
    """First cell that scrolls: below the headings that stay in view, right of the labels."""
    free = plan.kind == "plain" or plan.label_runs
    column = "A" if free else "B" if plan.kind == "job" else "C"
    row = plan.titles[1] if plan.titles[0] == 1 else 3
    return f"{column}{row + 1}"


def _view(painter: Painter, freeze: str, tab: str) -> None:
    sheet = painter.sheet
    sheet.freeze_panes = freeze
    sheet.sheet_view.zoomScale = sheet.sheet_view.zoomScaleNormal = 100
    sheet.sheet_view.showGridLines = False
    for selection in sheet.sheet_view.selection:
        selection.activeCell = selection.sqref = freeze
    sheet.sheet_properties.tabColor = f"FF{tab}"


def _page(
    painter: Painter,
    areas: list[Range],
    titles: tuple[int, int],
    starts: Mapping[int, bool],
    paper: _Paper,
    *,
    upright: bool = False,
) -> None:
    """Set paper, margins and what is printed.

    A page can't be broken by hand where the width is fitted, so that a part which would be cut in
    two begins an area, and with it a page, of its own.
    """
    sheet = painter.sheet
    last_column = max(area.column2 for area in areas)
    width = sum(painter.widths.get(c, 8.43) for c in range(1, last_column + 1))
    upright = upright or width * _LEAST_SCALE <= paper.upright
    sheet.page_setup.orientation = "portrait" if upright else "landscape"
    scale = min(1.0, (paper.upright if upright else paper.lying) / width)
    height = (paper.long_pt if upright else paper.short_pt) / scale
    headed = areas[0].row1 <= titles[0]
    heads = sum(painter.height(row) for row in range(titles[0], titles[1] + 1)) if headed else 0.0
    pages = _split(painter, areas, starts, height, heads)
    sheet.print_area = ",".join(range_text(area) for area in pages)
    if headed:
        sheet.print_title_rows = f"{titles[0]}:{titles[1]}"
    sheet.page_setup.paperSize = paper.code
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top = 0.4
    sheet.page_margins.bottom = 0.7
    sheet.page_margins.footer = 0.3
    left, right = FOOTER
    sheet.oddFooter = HeaderFooterItem(left=_HeaderFooterPart(left), right=_HeaderFooterPart(right))


def _split(
    painter: Painter, areas: list[Range], starts: Mapping[int, bool], page: float, heads: float
) -> list[Range]:
    """The areas, cut before every part that does not fit on what is left of a page."""
    found: list[Range] = []
    for area in areas:
        inside = [row for row in starts if area.row1 < row <= area.row2]
        ends = [*(row - 1 for row in inside), area.row2]
        first, left = area.row1, page - (heads if found else 0.0)
        for start, end in zip([area.row1, *inside], ends, strict=True):
            need = sum(painter.height(row) for row in range(start, end + 1))
            need -= 0 if end == area.row2 else GAP_PT
            whole = starts.get(start) and need <= page - heads
            kept = _KEPT_OTHER if whole else _KEPT
            if start > first and need > left and left < kept * page:
                found.append(area._replace(row1=first, row2=start - 1))
                first, left = start, page - heads
            left -= need + GAP_PT
            if -_SPARE * page < left < 0:
                left = 0.0
            while left < 0:
                left += page - heads
        found.append(area._replace(row1=first))
    return found
