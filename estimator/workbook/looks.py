"""What is said by colour besides words, and how the sheets scroll and print."""

from __future__ import annotations

from collections.abc import Mapping

from openpyxl.formatting.rule import Rule
from openpyxl.worksheet.header_footer import HeaderFooterItem, _HeaderFooterPart
from openpyxl.worksheet.properties import PageSetupProperties

from estimator.rows import MARKS_SHEET
from estimator.workbook.a1 import Range, address, column_letters, range_text
from estimator.workbook.entries import add_validations
from estimator.workbook.layout import Layout
from estimator.workbook.lists import LISTS_SHEET
from estimator.workbook.names import OPTION_KEY
from estimator.workbook.painter import Painter
from estimator.workbook.plans import HEADER_ROW, KIND, SectionPlan, SheetPlan, TablePlan
from estimator.workbook.snapshot import level_name, upstream_solvers
from estimator.workbook.styles import ACCENT, MARKS, differential

_LETTER = 1
"""Paper size code of US Letter."""
_DIFFERENTIAL = {mark.name: differential(mark) for mark in MARKS}


def finish_sheets(painters: Mapping[str, Painter], layout: Layout) -> None:
    """Add validation, conditional formats, widths, panes and print settings to every sheet."""
    add_validations(painters, layout)
    for name, painter in painters.items():
        _flag_rule(painter)
        painter.apply_sizes()
        if name in layout.sheets:
            plan = layout.sheets[name]
            _input_rules(painter, layout, plan)
            _stale_rules(painter, layout, plan)
            _page(painter, printed_areas(plan), _title_rows(plan))
            painter.sheet.freeze_panes = _freeze(plan)
        if any(layout.quantity(k).role == "input" for k in _keys(layout, name)):
            painter.sheet.sheet_properties.tabColor = f"FF{ACCENT}"
    lists, snapshot = layout.lists, layout.snapshot
    _page(painters[LISTS_SHEET], [Range(1, 1, lists.last_row, lists.last_column)], 3)
    painters[LISTS_SHEET].sheet.freeze_panes = "A4"
    top = Range(1, 1, snapshot.title_row - 1, snapshot.last_column)
    _page(painters[MARKS_SHEET], [top], HEADER_ROW)
    painters[MARKS_SHEET].sheet.freeze_panes = f"A{HEADER_ROW + 1}"
    changed = f"A{snapshot.first_row}:H{snapshot.last_row}"
    _rule(painters[MARKS_SHEET], changed, f"$H{snapshot.first_row}=1", "stale")


def _keys(layout: Layout, sheet: str) -> list[str]:
    return [key for key, place in layout.places.items() if place.sheet == sheet]


def _rule(painter: Painter, area: str, formula: str, mark: str) -> None:
    rule = Rule(type="expression", dxf=_DIFFERENTIAL[mark], formula=[formula])
    painter.sheet.conditional_formatting.add(area, rule)


def _flag_rule(painter: Painter) -> None:
    _rule(painter, "A3:H3", 'LEFT($A$3,2)="OK"', "good")
    _rule(painter, "A3:H3", 'AND($A$3<>"",LEFT($A$3,2)<>"OK")', "bad")


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
    for areas, test in ((reads, '{0}="?"'), (checks, 'AND({0}<>"",{0}<>"ok")')):
        if areas:
            first = address(areas[0].row1, areas[0].column1)
            _rule(painter, _areas(areas), test.format(first), "bad")
    if KIND in layout.places and layout.places[KIND].sheet == plan.name:
        row, column = layout.places[KIND].cell()
        kind = f"{column_letters(column)}${row}"
        for kinds, areas in unused.items():
            tests = ",".join(f'{kind}<>"{name}"' for name in kinds)
            _rule(painter, _areas(areas), f"AND({tests})" if kinds else f'{kind}=""', "unused")


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
    found: dict[tuple[tuple[str, ...], int], list[Range]] = {}
    for part in plan.parts:
        keys = part.rows if isinstance(part, SectionPlan) else ()
        header = plan.header_row
        if isinstance(part, TablePlan):
            keys, header = dict.fromkeys(part.table.keys, 0), part.option_row
        for key in keys:
            solvers = upstream_solvers(layout.model, key)
            if solvers:
                by_option = layout.quantity(key).by_option
                area = layout.places[key].area
                found.setdefault((solvers, header if by_option else 0), []).append(area)
    for (solvers, header), areas in found.items():
        level = level_name(solvers)
        test = f"MAX({level})>=1"
        if header:
            letter = f"LEFT({column_letters(areas[0].column1)}${header})"
            test = f"INDEX({level},1,MATCH({letter},{OPTION_KEY},0))>=1"
        _rule(painter, _areas(areas), test, "stale")


SCROLLED_ROWS = 15
"""Section rows from which on the column headings of a sheet with tables stay in view."""
PRINTED_COLUMNS = 14
"""Tables wider than this are workings on a sheet of rows, and are left out of the print."""


def _title_rows(plan: SheetPlan) -> int:
    """Last of the rows that stay in view and are repeated on every page."""
    tables = [part for part in plan.parts if isinstance(part, TablePlan)]
    if not plan.header_row:
        return tables[0].first_row - 1 if len(plan.parts) == 1 and tables else 3
    rows = sum(len(part.rows) for part in plan.parts if isinstance(part, SectionPlan))
    return plan.header_row if rows >= SCROLLED_ROWS or not tables else 3


def _freeze(plan: SheetPlan) -> str:
    column = {"job": "B", "options": "C", "computed": "C", "plain": "A"}[plan.kind]
    return f"{column}{_title_rows(plan) + 1}"


def printed_areas(plan: SheetPlan) -> list[Range]:
    """What is printed: all but wide tables on a sheet that has rows too."""
    working = plan.header_row and _title_rows(plan) == plan.header_row
    most = max(plan.columns.last, PRINTED_COLUMNS) if working else plan.last_column
    areas: list[Range] = []
    first, last, width = 1, HEADER_ROW, plan.columns.last
    for part in plan.parts:
        if isinstance(part, TablePlan):
            end = max(c.column for c in part.columns if c.column < plan.helper)
            if end > most:
                areas.append(Range(first, 1, last, width))
                first, last, width = part.last_row + 2, part.last_row, plan.columns.last
                continue
            last, width = part.last_row, max(width, end)
        elif isinstance(part, SectionPlan):
            last = part.title_row + len(part.rows)
        else:
            last = part.title_row + len(part.lines)
    areas.append(Range(first, 1, last, width))
    return [area for area in areas if area.row2 >= area.row1]


def _page(painter: Painter, areas: list[Range], titles: int) -> None:
    sheet = painter.sheet
    sheet.print_area = ",".join(range_text(area) for area in areas)
    sheet.print_title_rows = f"1:{titles}"
    last_column = max(area.column2 for area in areas)
    width = sum(painter.widths.get(c, 8.43) for c in range(1, last_column + 1))
    sheet.page_setup.orientation = "landscape" if width > 95 else "portrait"
    sheet.page_setup.paperSize = _LETTER
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top = 0.5
    sheet.page_margins.bottom = 0.75
    sheet.page_margins.footer = 0.35
    sheet.oddFooter = HeaderFooterItem(
        left=_HeaderFooterPart("&A"), right=_HeaderFooterPart("Page &P of &N")
    )
    sheet.sheet_view.showGridLines = False
