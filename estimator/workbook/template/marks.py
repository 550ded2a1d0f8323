"""Formulas of the sheet Solved From: marks of the solvers, states in words, snapshot lines."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.formula import quoted
from estimator.rows import MARKS_SHEET, mark_of
from estimator.workbook.package.a1 import Range, address, column_letters
from estimator.workbook.package.references import absolute, sheet_prefix
from estimator.workbook.template.checksums import (
    CHECKSUM_DIGITS,
    answers_formula,
    checksum_formula,
    given_formula,
    joined_formula,
    sum_formula,
    texts_formula,
)
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.plans import HEADER_ROW, OPTIONS
from estimator.workbook.template.snapshot import (
    AMISS,
    CHANGED_COLUMN,
    DECISION,
    FIRST,
    FRESH,
    GIVEN,
    NOT_CHEAPEST,
    NOW,
    OFF,
    OUT_OF_DATE,
    PRICES_CHANGED,
    SHORT_COLUMN,
    SPOILT,
    STATE_COLUMN,
    SWITCH_COLUMN,
    THEN,
    TYPED_OVER_MARK,
    UNUSABLE,
    VALUE_COLUMN,
    WIDTH,
    ComputedLine,
    SnapshotLine,
    SnapshotPlan,
    offset,
)

Cells = Iterator[tuple[tuple[str, str], str]]


def state_cell(layout: Layout, solvers: tuple[str, ...]) -> str:
    """Reference to the words on the state of what depends on these solvers."""
    row = layout.snapshot.states[solvers]
    return absolute(MARKS_SHEET, Range(row, STATE_COLUMN, row, STATE_COLUMN))


def short_state(layout: Layout, solvers: tuple[str, ...]) -> str:
    """Reference to the same in a word or two, for a narrow column beside the numbers."""
    row = layout.snapshot.states[solvers]
    return absolute(MARKS_SHEET, Range(row, SHORT_COLUMN, row, SHORT_COLUMN))


def snapshot_formulas(layout: Layout, overall: str) -> Cells:
    """Formulas of the whole sheet; see ``formulas`` of the writer."""
    plan = layout.snapshot
    if overall in layout.places:
        yield (MARKS_SHEET, "A3"), overall
    for option in range(OPTIONS):
        sheet, cell = layout.used_header(option)
        yield (MARKS_SHEET, address(HEADER_ROW, FIRST + option)), sheet_prefix(sheet) + cell
    for solver in plan.solvers:
        yield from _marks(layout, solver, plan.counts_when.get(solver, ""))
    for solvers, row in plan.states.items():
        yield from _states(layout, solvers, row)
    for number, line in enumerate(plan.lines):
        yield from _line(layout, line, plan.first_row + number)
    if plan.computed:
        yield errors_cell(plan), _errors_count(layout)
    for number, part in enumerate(plan.computed):
        yield from _computed(layout, part, plan.first_row + number)


def _marks(layout: Layout, solver: str, counts_when: str) -> Cells:
    plan = layout.snapshot
    row = plan.mark_rows[mark_of(solver)]
    switch = f'${column_letters(SWITCH_COLUMN)}{row}="{OFF}"'
    for option in range(OPTIONS):
        column = column_letters(FIRST + option)
        used = f'({column}${HEADER_ROW}<>"")'
        wrong, dearer, spoiled = (_said(plan, solver, mark, option, used) for mark in f"xp{GIVEN}")
        # An option that is no longer in use is marked too: its solved cells still show numbers.
        quiet = f'IF({column}${HEADER_ROW}="","",0)'
        never = f'IF({column}${HEADER_ROW}="","",2)'
        solved = f"IF(IFERROR({wrong},1)>0,2,IF(IFERROR({dearer},1)>0,1,{quiet}))"
        if counts_when:
            place = layout.places[counts_when]
            now = f"N({sheet_prefix(place.sheet)}{address(*place.cell(option, 0))})"
            changed = address(*plan.changed_cell(counts_when, option))
            solved = f"IF(AND({now}=0,{changed}=0),{quiet},{solved})"
        solved = f"IF({switch},{quiet},IF({spoiled},2,{solved}))"
        text = f"IF(COUNTA(snapshot_value)=0,{never},{solved})"
        yield (MARKS_SHEET, f"{column}{row}"), text
    span = _span(row)
    words = f'IF(MAX({span})=2,"{OUT_OF_DATE}",IF(MAX({span})=1,"{NOT_CHEAPEST}","{FRESH}"))'
    yield (MARKS_SHEET, address(row, STATE_COLUMN)), words


def _said(plan: SnapshotPlan, solver: str, mark: str, option: int, used: str) -> str:
    """More than 0 where a line that has this mark for the solver says that something changed.

    Of what a solver gave a line may say less than 0, which is no change.
    """
    terms = []
    for by_option, of in ((True, option), (False, None)):
        letters, fixed = column_letters(CHANGED_COLUMN + offset(of)), "" if by_option else "$"
        areas = [
            f"{fixed}{letters}${first}" + (f":{fixed}{letters}${last}" if last > first else "")
            for first, last in plan.runs(solver, mark, by_option=by_option)
        ]
        if not areas:
            continue
        counts = [f'COUNTIF({area},">0")' for area in areas]
        said = "+".join(counts) if mark == GIVEN else f"SUM({','.join(areas)})"
        terms.append(said if by_option else f"({said})*{used}")
    return "+".join(terms) or "0"


def _span(row: int) -> str:
    return f"${column_letters(FIRST)}{row}:${column_letters(FIRST + OPTIONS - 1)}{row}"


def _row(row: int) -> str:
    return _span(row).replace("$", "")


def _states(layout: Layout, solvers: tuple[str, ...], row: int) -> Cells:
    rows = [layout.snapshot.mark_rows[mark_of(solver)] for solver in solvers]
    for option in range(OPTIONS):
        column = column_letters(FIRST + option)
        marks = ",".join(f"{column}{at}" for at in rows)
        quiet = f'AND({column}${HEADER_ROW}="",MAX({marks})=0)'
        text = f'IF({quiet},"",MAX({marks}))'
        yield (MARKS_SHEET, f"{column}{row}"), text
    worst = f"MAX({_span(row)})"
    names = "&".join(
        f'IF(MAX({_row(at)})=MAX({_row(row)}),{quoted(solver + ", ")},"")'
        for solver, at in zip(solvers, rows, strict=True)
    )
    words = address(row, layout.snapshot.words_column)
    yield (MARKS_SHEET, words), f'IF({worst}=0,"",{names})'
    said = f'IF({worst}=2,"{OUT_OF_DATE}: ","{NOT_CHEAPEST}: ")&LEFT({words},LEN({words})-2)'
    yield (MARKS_SHEET, address(row, STATE_COLUMN)), f'IF({words}="","",{said})'
    short = f'IF({worst}=2,"{OUT_OF_DATE}",IF({worst}=1,"{PRICES_CHANGED}",""))'
    yield (MARKS_SHEET, address(row, SHORT_COLUMN)), short


def typed_over_words(layout: Layout, solvers: tuple[str, ...], key: str) -> str:
    """The short state of a solved single value: that it was typed over, or as of any other."""
    flags = _flags(*layout.snapshot.singles(key))
    over = f'COUNTIF({flags},"<0")'
    return f'IF({over}>0,"{TYPED_OVER_MARK}",{short_state(layout, solvers)})'


def _flags(first: int, last: int) -> str:
    area = Range(first, CHANGED_COLUMN, last, CHANGED_COLUMN + WIDTH - 1)
    return absolute(MARKS_SHEET, area)


def typed_over_now(layout: Layout) -> str:
    """Formula of how many computed and solved single values are typed over, by usable ones."""
    return _counted(layout, DECISION, NOW)


def spoiled_now(layout: Layout) -> str:
    """Formula of how many of them hold no number where one belongs, and of sheets gone."""
    return _counted(layout, UNUSABLE, SPOILT)


def _counted(layout: Layout, what: int, column: int) -> str:
    plan = layout.snapshot
    first, last = plan.singles()
    terms = [f"COUNTIF({_flags(first, last)},{what})"] if first else []
    if plan.computed:
        at = plan.weights_column + column
        area = Range(plan.first_row, at, plan.first_row + len(plan.computed) - 1, at)
        terms.append(f"SUM({absolute(MARKS_SHEET, area)})")
    return "+".join(terms) or "0"


_KNOWN = f"_xlfn.ISFORMULA(${column_letters(FIRST)}${HEADER_ROW})"
"""Whether an engine can tell a formula from a number."""


def errors_cell(plan: SnapshotPlan) -> tuple[str, str]:
    """Sheet and cell of whether an error that a formula gives is one in itself."""
    return MARKS_SHEET, address(plan.title_row, plan.weights_column + SPOILT)


def _errors_count(layout: Layout) -> str:
    """1 where an error that a formula gives counts as no number, else 0.

    One that it hands on is told where it began; where nothing is out of date and all inputs can
    be read no formula of the model's gives one.
    """
    rows = layout.snapshot.mark_rows.values()
    stale = f"MAX($C${min(rows)}:$H${max(rows)})=2" if rows else "FALSE"
    return f"IF(AND({_KNOWN},{stale}),0,1)"


def _computed(layout: Layout, line: ComputedLine, row: int) -> Cells:
    """Of the computed cells of a part: how many are typed over, how many hold no number.

    One engine that recalculates can't tell a formula from a number: it takes what the last refill
    counted.
    """
    at = layout.snapshot.weights_column
    gone = f"IF(ISERROR({sheet_prefix(line.sheet)}$A$1),1,0)"
    errors_count = f"${column_letters(at + SPOILT)}${layout.snapshot.title_row}"
    areas = _areas(layout, line.numbers)
    # One engine takes a formula that gives a blank for the number 0 and for no text at once.
    # A text is greater than any number.
    numbers = "+".join(f'SUMPRODUCT(({area}<>"")*({area}>9E+307))' for area in areas)
    amiss = "+".join(
        f"SUMPRODUCT((1-_xlfn.ISFORMULA({area}))*(1-ISNUMBER({area})-ISBLANK({area})))"
        for area in areas
    )
    # Where an error stands, what is typed there and no number counts by itself.
    if areas:
        yield (MARKS_SHEET, address(row, at + AMISS)), f"IF({_KNOWN},IFERROR({amiss},1),0)"
        gone = f"IFERROR({numbers},${column_letters(at + AMISS)}{row}+{errors_count})"
    yield (MARKS_SHEET, address(row, at + SPOILT)), gone
    typed = [
        f'SUMPRODUCT((1-_xlfn.ISFORMULA({area}))*({area}<>""))'
        for area in _areas(layout, (*line.numbers, *line.texts))
    ]
    then = f"${column_letters(at + THEN)}{row}"
    now = f"IF({_KNOWN},IFERROR({'+'.join(typed)},0),{then})" if typed else "0"
    yield (MARKS_SHEET, address(row, at + NOW)), now


def _areas(layout: Layout, keys: tuple[str, ...]) -> list[str]:
    """Ranges of the cells of quantities; those right below or beside each other together."""
    runs: list[tuple[str, Range]] = []
    for key in keys:
        place = layout.places[key]
        whole = runs[-1][1].with_next(place.area) if runs and runs[-1][0] == place.sheet else None
        if whole is not None:
            runs[-1] = place.sheet, whole
        else:
            runs.append((place.sheet, place.area))
    return [absolute(sheet, area) for sheet, area in runs]


def source_reference(layout: Layout, line: SnapshotLine, option: int | None) -> str:
    """What a line watches: the address of a value cell, or the number of rows of a table."""
    return f"ROWS({line.key})" if line.size else _value_cell(layout, line.key, option)


def _value_cell(layout: Layout, key: str, option: int | None) -> str:
    place = layout.places[key]
    return sheet_prefix(place.sheet) + address(*place.cell(option or 0, 0))


def _line(layout: Layout, line: SnapshotLine, row: int) -> Cells:
    for option in line.options:
        then = f"${column_letters(VALUE_COLUMN + offset(option))}{row}"
        if line.holds == "single":
            text = _single(layout, line, option, then)
        elif line.holds == "answers":
            text = _answers(layout, line, option, then)
        elif line.members:
            text = _together(layout, line, option, then)
        else:
            text = _column(layout, line, option, then)
        yield (MARKS_SHEET, address(row, CHANGED_COLUMN + offset(option))), text


def _single(layout: Layout, line: SnapshotLine, option: int | None, then: str) -> str:
    source = source_reference(layout, line, option)
    if not line.given:
        return _differs(layout, line, source, then)
    number = layout.quantity(line.key).kind == "number"
    plan = layout.snapshot
    solver = plan.solvers[line.marks.index(GIVEN)]
    switch = f"${column_letters(SWITCH_COLUMN)}${plan.mark_rows[mark_of(solver)]}"
    watched = f'{switch}<>"{OFF}"'
    cleared = f'IF({then}="",0,1)'
    typed = _typed_number(source, then) if number else _typed_text(source, then)
    spoilt = f"IF({watched},{UNUSABLE},0)"
    return f'IF(ISERROR({source}),{spoilt},IF({source}="",{cleared},IF({watched},{typed},0)))'


def _together(layout: Layout, line: SnapshotLine, option: int | None, then: str) -> str:
    """Of single values kept together: 1 where one of them differs from what it was."""
    cells = [_value_cell(layout, key, option) for key in line.members]
    if line.holds == "texts":
        computed = [_by_formula(layout, key) for key in line.members]
        now = texts_formula(list(zip(cells, computed, strict=True)))
        return f"IFERROR(IF(EXACT({now},{then}),0,1),1)"
    top, column = layout.snapshot.first_row, column_letters(layout.snapshot.weights_column)
    weights = [f"${column}${top + at}" for at in range(len(cells))]
    return f"IFERROR(IF(ROUND({sum_formula(cells, weights)}-{then},{CHECKSUM_DIGITS})=0,0,1),1)"


def _column(layout: Layout, line: SnapshotLine, option: int | None, then: str) -> str:
    """Of a column of a list: more than 0 where it differs from what it was."""
    place = layout.places[line.key]
    column, first = place.area.column1 + (option or 0), place.area.row1 + line.first
    if line.holds == "texts":
        prefix = sheet_prefix(place.sheet)
        cells = [prefix + address(first + at, column) for at in range(line.rows)]
        same = f"EXACT({joined_formula(cells)},{then})"
        if line.given:
            area = absolute(place.sheet, Range(first, column, first + line.rows - 1, column))
            same = given_formula(cells, area, then)
        return f"IFERROR(IF({same},0,1),1)"
    area = absolute(place.sheet, Range(first, column, first + line.rows - 1, column))
    now = checksum_formula(area, _row_weights(layout, line), texts=line.holds == "beside texts")
    others = f"IF(ROUND({now}-{then},{CHECKSUM_DIGITS})=0,0,1)"
    if not line.given and _by_formula(layout, line.key):
        others += f"+SUMPRODUCT(ISBLANK({area})*1)"
    return f"IFERROR({others},1)"


def _answers(layout: Layout, line: SnapshotLine, option: int | None, then: str) -> str:
    """Of what a solver gave columns of a table: more than 0 where one of them holds another."""
    columns = []
    for key in line.members:
        place = layout.places[key]
        column, first = place.area.column1 + (option or 0), place.area.row1
        area = Range(first, column, first + line.rows - 1, column)
        columns.append(absolute(place.sheet, area))
    top, letters = layout.snapshot.first_row, column_letters(layout.snapshot.weights_column)
    weights = [f"${letters}${top + at}" for at in range(len(columns))]
    now = answers_formula(columns, weights, _row_weights(layout, line))
    return f"IFERROR(IF(ROUND({now}-{then},{CHECKSUM_DIGITS})=0,0,1),1)"


def _row_weights(layout: Layout, line: SnapshotLine) -> str:
    top, letters = layout.snapshot.first_row, column_letters(layout.snapshot.weights_column)
    return f"${letters}${top}:${letters}${top + line.rows - 1}"


def _by_formula(layout: Layout, key: str) -> bool:
    """Whether formulas stand in the cells: one that was emptied is something else than a blank."""
    place = layout.places[key]
    return layout.quantity(key).role != "solved" and place.typed != place.area


def _typed_number(source: str, then: str) -> str:
    """What is said of a number that the solver did not give, and of what is no number."""
    other = f"IF(ISNUMBER({then}),IF(ROUND({source}-{then},9)=0,0,{DECISION}),{DECISION})"
    return f"IF(AND(ISNUMBER({source}),NOT(ISLOGICAL({source}))),{other},{UNUSABLE})"


def _typed_text(source: str, then: str) -> str:
    return f'IF(EXACT({source}&"",{then}&""),0,{DECISION})'


def _differs(layout: Layout, line: SnapshotLine, source: str, then: str) -> str:
    """1 where a source is another than it was: in kind, as a number or by a letter of its text.

    An empty text is a blank to the engine. A computed cell that was emptied is something else.
    """
    if line.size:
        return f"IF(ISERROR({source}),1,IF({source}={then},0,1))"
    wrong = f"ISERROR({source})"
    if _by_formula(layout, line.key):
        wrong = f"OR({wrong},ISBLANK({source}))"
    return (
        f"IF({wrong},1,IF(ISNUMBER({source})<>ISNUMBER({then}),1,IF(ISNUMBER({source}),"
        f"IF(ROUND({source}-{then},9)=0,0,1),IF(EXACT({source},{then}),0,1))))"
    )
