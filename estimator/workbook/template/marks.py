"""Formulas of the sheet Solved From: marks of the solvers, states in words, snapshot lines."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.formula import quoted
from estimator.rows import MARKS_SHEET, OPTION_KEYS, mark_of
from estimator.workbook.package.a1 import Range, address, column_letters
from estimator.workbook.package.references import absolute, sheet_prefix
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.plans import HEADER_ROW, OPTIONS
from estimator.workbook.template.snapshot import (
    CHANGED_COLUMN,
    CHECKSUM_DIGITS,
    DECISION,
    EVERY,
    GIVEN,
    NOT_CHEAPEST,
    NOW,
    NOW_COLUMN,
    OUT_OF_DATE,
    PRICES_CHANGED,
    SHORT_COLUMN,
    SNAPSHOT_COLUMNS,
    SPOILT,
    STATE_COLUMN,
    THEN,
    TYPED_OVER_MARK,
    UNUSABLE,
    VALUE_COLUMN,
    ComputedLine,
    SnapshotLine,
    checksum_formula,
    reads_name,
)

Cells = Iterator[tuple[tuple[str, str], str]]
FIRST = 3
"""Column of the first option's marks."""


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
    for number, part in enumerate(plan.computed):
        yield from _computed(layout, part, plan.first_row + number)


def _marks(layout: Layout, solver: str, counts_when: str) -> Cells:
    row = layout.snapshot.mark_rows[mark_of(solver)]
    reads = reads_name(solver)
    for option in range(OPTIONS):
        column = column_letters(FIRST + option)
        sheet, key = layout.typed_header(option)
        letters = key.rstrip("0123456789")
        own = f"{sheet_prefix(sheet)}{letters}${HEADER_ROW}"
        used = f'({column}${HEADER_ROW}<>"")'
        wrong, dearer, spoiled = (
            f'SUMIFS(snapshot_changed,{reads},"{letter}",snapshot_option,{own})'
            f'+SUMIFS(snapshot_changed,{reads},"{letter}",snapshot_option,"{EVERY}")*{used}>0'
            for letter in f"xp{GIVEN}"
        )
        # An option that is no longer in use is marked too: its solved cells still show numbers.
        quiet = f'IF({column}${HEADER_ROW}="","",0)'
        never = f'IF({column}${HEADER_ROW}="","",2)'
        solved = f"IF({wrong},2,IF({dearer},1,{quiet}))"
        if counts_when:
            place = layout.places[counts_when]
            now = f"N({sheet_prefix(place.sheet)}{address(*place.cell(option, 0))})"
            changed = address(layout.snapshot.line_row(counts_when, option), CHANGED_COLUMN)
            solved = f"IF(AND({now}=0,{changed}=0),{quiet},{solved})"
        solved = f"IF({spoiled},2,{solved})"
        text = f"IF(COUNTA(snapshot_value)=0,{never},{solved})"
        yield (MARKS_SHEET, f"{column}{row}"), text
    span = _span(row)
    words = f'IF(MAX({span})=2,"{OUT_OF_DATE}",IF(MAX({span})=1,"{NOT_CHEAPEST}","fresh"))'
    yield (MARKS_SHEET, address(row, STATE_COLUMN)), words


def _span(row: int) -> str:
    return f"${column_letters(FIRST)}{row}:${column_letters(FIRST + OPTIONS - 1)}{row}"


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
        f'IF(MAX({_span(at)})={worst},{quoted(solver + ", ")},"")'
        for solver, at in zip(solvers, rows, strict=True)
    )
    words = address(row, layout.snapshot.words_column)
    yield (MARKS_SHEET, words), f'IF({worst}=0,"",{names})'
    said = f'IF({worst}=2,"{OUT_OF_DATE}: ","{NOT_CHEAPEST}: ")&LEFT({words},LEN({words})-2)'
    yield (MARKS_SHEET, address(row, STATE_COLUMN)), f'IF({words}="","",{said})'
    short = f'IF({worst}=2,"{OUT_OF_DATE}",IF({worst}=1,"{PRICES_CHANGED}",""))'
    yield (MARKS_SHEET, address(row, SHORT_COLUMN)), short


def typed_over(layout: Layout, solvers: tuple[str, ...], key: str) -> str:
    """The short state of a solved single value: that it was typed over, or as of any other."""
    first, last = layout.snapshot.singles(key)
    flags = absolute(MARKS_SHEET, Range(first, NOW_COLUMN, last, NOW_COLUMN))
    return f'IF(SUM({flags})>0,"{TYPED_OVER_MARK}",{short_state(layout, solvers)})'


def typed_over_now(layout: Layout) -> str:
    """Formula of how many computed and solved single values are typed over, by usable ones."""
    return _counted(layout, DECISION, NOW)


def spoiled_now(layout: Layout) -> str:
    """Formula of how many of them hold no number where one belongs, and of sheets gone."""
    return _counted(layout, UNUSABLE, SPOILT)


def _counted(layout: Layout, what: int, column: int) -> str:
    plan = layout.snapshot
    first, last = plan.singles()
    flags = absolute(MARKS_SHEET, Range(first, NOW_COLUMN, last, NOW_COLUMN))
    terms = [f"COUNTIF({flags},{what})"] if first else []
    if plan.computed:
        at = plan.weights_column + column
        area = Range(plan.first_row, at, plan.first_row + len(plan.computed) - 1, at)
        terms.append(f"SUM({absolute(MARKS_SHEET, area)})")
    return "+".join(terms) or "0"


def _computed(layout: Layout, line: ComputedLine, row: int) -> Cells:
    """Of the computed cells of a part: how many are typed over, how many hold no number.

    One engine that recalculates can't tell a formula from a number: it takes what the last refill
    counted.
    """
    at = layout.snapshot.weights_column
    gone = f"IF(ISERROR({sheet_prefix(line.sheet)}$A$1),1,0)"
    known = f"_xlfn.ISFORMULA(${column_letters(FIRST)}${HEADER_ROW})"
    areas = _areas(layout, line.numbers)
    # An error that a formula hands on is not typed here: where it began, that is marked.
    typed_in = "+".join(
        f"SUMPRODUCT(ISTEXT({area})+ISBLANK({area})+(1-_xlfn.ISFORMULA({area}))*ISERROR({area}))"
        f"-COUNTBLANK({area})"
        for area in areas
    )
    numbers = "+".join(f'SUMPRODUCT(({area}<>"")*1)-COUNT({area})' for area in areas)
    spoilt = f"IFERROR(IF({known},{typed_in},{numbers}),1)" if areas else gone
    yield (MARKS_SHEET, address(row, at + SPOILT)), spoilt
    typed = [
        f'SUMPRODUCT((1-_xlfn.ISFORMULA({area}))*({area}<>""))'
        for area in _areas(layout, (*line.numbers, *line.texts))
    ]
    then = f"${column_letters(at + THEN)}{row}"
    now = f"IF({known},IFERROR({'+'.join(typed)},0),{then})" if typed else "0"
    yield (MARKS_SHEET, address(row, at + NOW)), now


def _areas(layout: Layout, keys: tuple[str, ...]) -> list[str]:
    """Ranges of the cells of quantities; those right below each other together."""
    runs: list[tuple[str, Range]] = []
    for key in keys:
        place = layout.places[key]
        area = place.area
        if runs and place.axis is None:
            sheet, last = runs[-1]
            same = (last.column1, last.column2) == (area.column1, area.column2)
            if sheet == place.sheet and same and last.row2 == area.row1 - 1:
                runs[-1] = sheet, Range(last.row1, last.column1, area.row2, last.column2)
                continue
        runs.append((place.sheet, area))
    return [absolute(sheet, area) for sheet, area in runs]


def source_reference(layout: Layout, line: SnapshotLine) -> str:
    """What a line watches: the address of a value cell, or the number of rows of a table."""
    if line.size:
        return f"ROWS({line.key})"
    place = layout.places[line.key]
    row, column = place.cell(line.option or 0, line.row or 0)
    return sheet_prefix(place.sheet) + address(row, column)


def option_letter(line: SnapshotLine) -> str:
    """Key of the option that a line belongs to, or the word for all of them."""
    return EVERY if line.option is None else OPTION_KEYS[line.option]


def _line(layout: Layout, line: SnapshotLine, row: int) -> Cells:
    if line.holds != "single":
        yield from _column(layout, line, row)
        return
    then = f"${column_letters(VALUE_COLUMN)}{row}"
    if not line.given:
        yield (MARKS_SHEET, address(row, CHANGED_COLUMN)), _differs(layout, line, then)
        return
    source = source_reference(layout, line)
    number = layout.quantity(line.key).kind == "number"
    marks = len(SNAPSHOT_COLUMNS) + 1 + line.marks.index(GIVEN)
    watched = f'${column_letters(marks)}{row}="{GIVEN}"'
    typed = _typed_number(source, then) if number else _typed_text(source, then)
    yield (MARKS_SHEET, address(row, NOW_COLUMN)), f"IF({watched},{typed},0)"
    cleared = f'IF(ISERROR({source}),0,IF({source}="",IF({then}="",0,1),0))'
    yield (MARKS_SHEET, address(row, CHANGED_COLUMN)), cleared


def _column(layout: Layout, line: SnapshotLine, row: int) -> Cells:
    """Of a column of a list: more than 0 where it differs from what it was."""
    if not line.group:
        return
    place = layout.places[line.key]
    column = place.area.column1 + (line.option or 0)
    cells = absolute(place.sheet, Range(place.area.row1, column, place.area.row2, column))
    then, now = (f"${column_letters(c)}{row}" for c in (VALUE_COLUMN, NOW_COLUMN))
    if line.holds == "texts":
        kept = column_letters(VALUE_COLUMN)
        texts = f"${kept}${row}:${kept}${row + line.group - 1}"
        kind = f"(ISNUMBER({cells})<>ISNUMBER({texts}))"
        others = f'SUMPRODUCT(1-EXACT({cells}&"",{texts}&"")+{kind})'
    else:
        first, letters = layout.snapshot.first_row, column_letters(layout.snapshot.weights_column)
        rows = f"${letters}${first}:${letters}${first + (line.row or 0) - 1}"
        yield (MARKS_SHEET, address(row, NOW_COLUMN)), checksum_formula(cells, rows)
        others = f"IF(ROUND({now}-{then},{CHECKSUM_DIGITS})=0,0,1)"
    if not line.given and _by_formula(layout, line):
        others += f"+SUMPRODUCT(ISBLANK({cells})*1)"
    yield (MARKS_SHEET, address(row, CHANGED_COLUMN)), f"IFERROR({others},1)"


def _by_formula(layout: Layout, line: SnapshotLine) -> bool:
    """Whether formulas stand in the cells: one that was emptied is something else than a blank."""
    place = layout.places[line.key]
    return layout.quantity(line.key).role != "solved" and place.typed != place.area


def _typed_number(source: str, then: str) -> str:
    """1 for a number that the solver did not give, 2 for what is none, 0 for its own or a blank."""
    other = f"IF(ISNUMBER({then}),IF(ROUND({source}-{then},9)=0,0,1),1)"
    usable = f"AND(ISNUMBER({source}),NOT(ISLOGICAL({source})))"
    return f'IF(ISERROR({source}),{UNUSABLE},IF({source}="",0,IF({usable},{other},{UNUSABLE})))'


def _typed_text(source: str, then: str) -> str:
    same = f'EXACT({source}&"",{then}&"")'
    return f'IF(ISERROR({source}),{UNUSABLE},IF({source}="",0,IF({same},0,{DECISION})))'


def _differs(layout: Layout, line: SnapshotLine, then: str) -> str:
    """1 where a source is another than it was: in kind, as a number or by a letter of its text.

    An empty text is a blank to the engine. A computed cell that was emptied is something else.
    """
    source = source_reference(layout, line)
    if line.size:
        return f"IF(ISERROR({source}),1,IF({source}={then},0,1))"
    wrong = f"ISERROR({source})"
    if _by_formula(layout, line):
        wrong = f"OR({wrong},ISBLANK({source}))"
    return (
        f"IF({wrong},1,IF(ISNUMBER({source})<>ISNUMBER({then}),1,IF(ISNUMBER({source}),"
        f"IF(ROUND({source}-{then},9)=0,0,1),IF(EXACT({source},{then}),0,1))))"
    )
