"""Formula text of every computed cell of the template, one pattern along a row or down a column."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from estimator.engine import Model
from estimator.errors import RowError
from estimator.formula import emit, quoted
from estimator.inputs import Field
from estimator.keys import CHOSEN, INPUTS_OK, KIND, NOT_VALID, OPTION_NAME, OVERALL
from estimator.length_formula import length_formula, normal_formula
from estimator.rows import USED, Quantity
from estimator.workbook.package.a1 import Range, address, column_letters
from estimator.workbook.package.references import absolute, sheet_prefix
from estimator.workbook.template.folded import refuse_folded, words_formulas
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.length_cells import feet_column, table_of, unit_given
from estimator.workbook.template.lists import LIMITED, LISTS_SHEET
from estimator.workbook.template.marks import (
    short_state,
    snapshot_formulas,
    spoiled_now,
    state_cell,
    typed_over_now,
    typed_over_words,
)
from estimator.workbook.template.names import limit_cells
from estimator.workbook.template.offered import offer_formulas
from estimator.workbook.template.plans import (
    HEADER_ROW,
    OPTIONS,
    Place,
    SectionPlan,
    SheetPlan,
    TablePlan,
)
from estimator.workbook.template.read_as import (
    EntryCells,
    job_check,
    option_formula,
    options_check,
    read_formula,
    table_length,
)
from estimator.workbook.template.row_flags import RowEntry, flag_formula, working_formula
from estimator.workbook.template.snapshot import upstream_solvers

Cells = Iterator[tuple[tuple[str, str], str]]


def formulas(model: Model, layout: Layout) -> Mapping[tuple[str, str], str]:
    """Formula text, without the leading ``=``, of every computed cell by sheet and address.

    Covers headings, read-as and checks of inputs, the model's rows, states of solved numbers,
    counts of unreadable inputs, lists of part of a table, marks and snapshot. Cells of solved
    quantities hold no formula.

    Raises:
        RowError: If a row reads something that can't be seen from where it stands, or a group is
            folded that hides what is looked for.
    """
    refuse_folded(model)
    found: dict[tuple[str, str], str] = {}
    free = unguarded(model)
    for plan in layout.sheets.values():
        found.update(_headings(layout, plan))
        for part in plan.parts:
            if isinstance(part, SectionPlan):
                found.update(_section(layout, plan, part, free))
            elif isinstance(part, TablePlan):
                found.update(_table(layout, plan, part, free))
    found.update(_problems(layout))
    found.update(offer_formulas(layout))
    found.update(snapshot_formulas(layout, OVERALL))
    return found


def unguarded(model: Model) -> frozenset[str]:
    """Keys of the rows that are worked out even where the inputs can't be read.

    They are what ``inputs_ok`` and ``option_used`` read, themselves, rows that tell why an option
    is not in use, and the overall flag with its first reason, which have to speak when nothing else
    does.
    """
    waiting = [key for key in (INPUTS_OK, USED) if key in model.quantities]
    found: set[str] = {OVERALL, NOT_VALID, *(model.spoken - set(waiting))}
    while waiting:
        key = waiting.pop()
        if key in found:
            continue
        found.add(key)
        item = model.quantities[key]
        waiting.extend(item.reads or model.stacks.get(key, ()))
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class _At:
    """Where quantities stand, seen from one cell; rows of its own table are left open.

    A formula that stands once calls a single cell by its name; one that stands on every row of a
    table gives its address, which the recalculation engine finds many times as fast.
    """

    layout: Layout
    sheet: str
    option: int | None
    axis: str | None

    def cell(self, key: str) -> str:
        place = self.layout.places[key]
        if place.axis is None and not place.by_option:
            area = place.area
            alone = f"${column_letters(area.column1)}${area.row1}"
            return f"{self._prefix(place)}{alone}" if self.axis else key
        column = column_letters(place.area.column1 + self._option(place))
        if place.axis is not None:
            if place.axis != self.axis:
                raise RowError(f"reads one row of {key!r} from outside its table.")
            dollar = "" if place.by_option else "$"
            return f"{self._prefix(place)}{dollar}{column}{_open_row(place)}"
        return f"{self._prefix(place)}{column}{'$' if self.axis else ''}{place.area.row1}"

    def block(self, key: str) -> str:
        place = self.layout.places[key]
        if not place.by_option:
            return key
        column = column_letters(place.area.column1 + self._option(place))
        area = place.area
        return f"{self._prefix(place)}{column}${area.row1}:{column}${area.row2}"

    def options(self, key: str) -> str:
        place = self.layout.places[key]
        first = column_letters(place.area.column1)
        last = column_letters(place.area.column2)
        row = f"${place.area.row1}"
        if place.axis is not None:
            if place.axis != self.axis:
                raise RowError(f"reads one row of {key!r} from outside its table.")
            row = _open_row(place)
        return f"{self._prefix(place)}${first}{row}:${last}{row}"

    def area(self, key: str) -> str:
        place = self.layout.places[key]
        first, last = place.area.column1, place.area.column2
        start, end = (
            f"${column_letters(column)}${row}"
            for column, row in ((first, place.area.row1), (last, place.area.row2))
        )
        return f"{self._prefix(place)}{start}:{end}"

    def _option(self, place: Place) -> int:
        if not place.by_option:
            return 0
        if self.option is None:
            raise RowError(f"reads one option of {place.key!r} from a row of the whole job.")
        return self.option

    def _prefix(self, place: Place) -> str:
        return "" if place.sheet == self.sheet else sheet_prefix(place.sheet)


_OPEN_ROW = re.compile("\x01([0-9]+)\x02")


def _open_row(place: Place) -> str:
    """A row that is known once the block row is: the first row of the block, marked."""
    return f"\x01{place.area.row1}\x02"


def _fill_row(text: str, row: int) -> str:
    return _OPEN_ROW.sub(lambda match: str(int(match[1]) + row), text)


def _expression(layout: Layout, item: Quantity, at: _At) -> str:
    node = layout.model.expressions[item.key]
    text = emit(node, at)
    return f"IF({text},1,0)" if node.kind == "flag" else text


def _guarded(at: _At, key: str, text: str, header: str, free: frozenset[str]) -> str:
    """The formula behind its one test: an unused option and a job that can't be read are quiet.

    So is everything that reads the chosen option while that is not in use; a job that can't be
    read has none in use.
    """
    if key in free:
        return text
    chosen = key in after_choice(at.layout.model)
    if header:
        quiet = f'OR({header}="",{at.cell(CHOSEN)}<>1)' if chosen else f'{header}=""'
        return f'IF({quiet},"",{text})'
    if chosen:
        return f'IF({at.cell(CHOSEN)}=1,{text},"")'
    return f'IF({at.cell(INPUTS_OK)}=1,{text},"")' if INPUTS_OK in at.layout.places else text


@cache
def after_choice(model: Model) -> frozenset[str]:
    """Keys of the rows that read the chosen option, themselves or through others."""
    if CHOSEN not in model.quantities:
        return frozenset()
    before, waiting = set[str](), [CHOSEN]
    while waiting:
        key = waiting.pop()
        if key not in before:
            before.add(key)
            waiting.extend(model.quantities[key].reads or ())
    which = {n.args[1] for n in model.expressions[CHOSEN].walk() if n.op == "pick"}
    found: set[str] = set()
    for key in model.order:
        node = model.expressions.get(key)
        if node is None or key in before:
            continue
        reads = model.quantities[key].reads or ()
        picks = any(n.op == "pick" and n.args[1] in which for n in node.walk())
        if picks or found.intersection(reads):
            found.add(key)
    return frozenset(found)


def _headings(layout: Layout, plan: SheetPlan) -> Cells:
    if OVERALL in layout.places:
        yield (plan.name, "A3"), OVERALL
    if plan.kind == "options":
        for option in range(OPTIONS):
            yield layout.used_header(option), _used_heading(layout, plan.name, option)
    elif plan.kind == "computed" and plan.by_option:
        for option in range(OPTIONS):
            cell = address(plan.header_row, plan.columns.value + option)
            yield (plan.name, cell), heading_reference(layout, plan.name, option, "")


def heading_reference(layout: Layout, sheet: str, option: int, dollar: str) -> str:
    """Reference to the heading of an option as another cell shows it."""
    owner, cell = layout.used_header(option)
    letters = cell.rstrip("0123456789")
    prefix = "" if owner == sheet else sheet_prefix(owner)
    return f"{prefix}{letters}{dollar}{HEADER_ROW}"


def _used_heading(layout: Layout, sheet: str, option: int) -> str:
    letter = layout.typed_header(option)[1]
    at = _At(layout, sheet, option, None)
    tests = [f"{at.cell(USED)}=1"] if USED in layout.places else []
    if INPUTS_OK in layout.places:
        tests.insert(0, f"{INPUTS_OK}=1")
    shown = f'TRIM({letter}&" "&{at.cell(OPTION_NAME)})' if OPTION_NAME in layout.places else letter
    return f'IFERROR(IF(AND({",".join(tests)}),{shown},""),"")' if tests else shown


def _section(layout: Layout, plan: SheetPlan, part: SectionPlan, free: frozenset[str]) -> Cells:
    if part.section.folded:
        for cell, text in words_formulas(layout, plan, part):
            yield (plan.name, address(*cell)), text
    for key, row in part.rows.items():
        item = layout.quantity(key)
        if item.role == "input":
            yield from _typed_row(layout, plan, item, row)
        elif item.role == "row":
            yield from _computed_row(layout, plan, item, free)
        solvers = upstream_solvers(layout.model, key)
        if solvers:
            state = min(plan.columns.state, part.last)
            own = item.role == "solved"
            words = typed_over_words(layout, solvers, key) if own else short_state(layout, solvers)
            yield (plan.name, address(row, state)), words


def _computed_row(layout: Layout, plan: SheetPlan, item: Quantity, free: frozenset[str]) -> Cells:
    place = layout.places[item.key]
    for option in range(OPTIONS) if item.by_option else (None,):
        at = _At(layout, plan.name, option, None)
        text = _expression(layout, item, at)
        row, column = place.cell(option or 0)
        heading = column
        if plan.kind == "options":  # what is used stands over what is read
            heading += plan.columns.read - plan.columns.typed
        header = f"{column_letters(heading)}${plan.header_row}" if item.by_option else ""
        cell = (plan.name, address(row, column))
        yield cell, _guarded(at, item.key, text, header, free)


def entry_cells(layout: Layout, key: str, option: int = 0, row: int = 0) -> EntryCells:
    """References to the cells of a typed entry, as formulas in the same row write them."""
    entry, place = layout.entry(key), layout.places[key]
    at, column = place.typed_cell(option, row)
    plan = layout.sheets[place.sheet]
    least = most = feet = ""
    if place.axis is not None:
        dollar = "$"
        if entry.kind in LIMITED:
            least, most = limit_cells(layout, key)
        if entry.kind == "length":
            feet = "$" + address(at, table_of(layout, key).find("feet", key).column)
    else:
        dollar = ""
        if entry.kind in LIMITED:
            least = f"${address(at, plan.columns.least)}"
            most = f"${address(at, plan.columns.most)}"
        if entry.kind == "length":
            feet = address(at, feet_column(layout, plan, key) + option)
    listed = offered = ""
    if entry.kind == "choice":
        listed = layout.lists.choices_name(entry)
    elif entry.kind == "key":
        listed = f"in_{entry.refers}"
        offered = layout.lists.offers_name(entry)
    return EntryCells(f"{dollar}{address(at, column)}", least, most, feet, listed, offered)


def _in_base_unit(entry: Field, normal: str) -> str:
    """Formula of a typed length in feet, or in metres where the entry is metric."""
    return length_formula(normal, entry.bare_unit, gives=unit_given(entry))


def _typed_row(layout: Layout, plan: SheetPlan, item: Quantity, row: int) -> Cells:
    entry, place = layout.entry(item.key), layout.places[item.key]
    reads, headers = [], []
    for option in range(OPTIONS if item.by_option else 1):
        cells = entry_cells(layout, item.key, option)
        read = address(*place.cell(option))
        reads.append(read)
        if entry.kind == "length":
            length = address(row, feet_column(layout, plan, item.key) + option)
            normal = address(row, plan.helper + option)
            yield (plan.name, normal), normal_formula(cells.typed)
            yield (plan.name, length), _in_base_unit(entry, normal)
        if item.by_option:
            headers.append(f"{column_letters(plan.columns.typed + option)}${HEADER_ROW}")
            kind = address(*layout.places[KIND].cell(option)) if KIND in layout.places else '"x"'
            text = option_formula(entry, cells, kind, is_kind=item.key == KIND)
        else:
            text = read_formula(entry, cells)
        yield (plan.name, read), text
    check = (plan.name, address(row, plan.columns.check))
    if item.by_option:
        yield check, options_check(entry, headers, reads)
    else:
        yield check, job_check(entry, entry_cells(layout, item.key), reads[0])


def _table(layout: Layout, plan: SheetPlan, part: TablePlan, free: frozenset[str]) -> Cells:
    solvers = upstream_solvers(layout.model, *part.table.keys)
    if part.state_row:
        yield (plan.name, address(part.state_row, part.left)), state_cell(layout, solvers)
    if part.more_row:
        yield (plan.name, address(part.more_row, part.left)), _more(part)
    headed = part.table.shows.headed
    if headed is not None:
        yield (plan.name, address(part.title_row, part.left)), _by_case(part, headed.titles)
        for key, cases in headed.columns.items():
            cell = address(part.header_row, part.find("value", key).column)
            yield (plan.name, cell), _by_case(part, cases)
    for column in part.columns:
        if part.option_row and column.option is not None:
            cell = address(part.option_row, column.column)
            heading = heading_reference(layout, plan.name, column.option, "$")
            yield (plan.name, cell), f"LEFT({heading})"
        make = _column_formula(layout, plan, part, column.key, column.role, column.option, free)
        if make is None:
            continue
        for row in range(part.table.capacity):
            yield (plan.name, address(part.first_row + row, column.column)), make(row)


def _by_case(part: TablePlan, cases: Mapping[str, str]) -> str:
    """Formula of the text of the case that a table is in, or of none."""
    headed, text = part.table.shows.headed, '""'
    if headed is None:
        return text
    by = headed.by
    for said in dict.fromkeys(cases.values()):
        tests = [f"{by}={quoted(case)}" for case, words in cases.items() if words == said]
        test = f"OR({','.join(tests)})" if len(tests) > 1 else tests[0]
        text = f"IF({test},{quoted(said)},{text})"
    if not headed.filled:
        return text
    first = address(part.first_row, part.find("value", headed.filled).column)
    return f'IF({first}="","",{text})'


MORE = "More rows are in use below than are printed: widen the print area, or check it on screen."


def _more(part: TablePlan) -> str:
    """Formula of the line that tells when rows that are not printed are in use."""
    runs: list[list[int]] = []
    filled = (
        c
        for c in part.columns
        if c.role in ("value", "typed") and c.option is None and c.key not in part.table.shows.aside
    )
    for column in sorted(c.column for c in filled):
        if runs and runs[-1][1] == column - 1:
            runs[-1][1] = column
        else:
            runs.append([column, column])
    hidden = [
        f"{address(part.printed_row + 1, first)}:{address(part.last_row, last)}"
        for first, last in runs
    ]
    used = "+".join(f'SUMPRODUCT(({area}<>"")*({area}<>0))' for area in hidden)
    return f'IF({used}>0,{quoted(MORE)},"")'


def _column_formula(
    layout: Layout,
    plan: SheetPlan,
    part: TablePlan,
    key: str,
    role: str,
    option: int | None,
    free: frozenset[str],
) -> Callable[[int], str] | None:
    """What writes a table column's formula for a block row; None if the column has none."""
    if role == "check":
        return lambda row: _row_flag(layout, part, row)
    if role == "part":
        return lambda row: _row_working(layout, part, key, row)
    if role in ("index", "typed"):
        return None
    item = layout.quantity(key)
    if role == "value":
        if item.role != "row":
            return None
        at = _At(layout, plan.name, option, part.table.axis)
        text = _expression(layout, item, at)
        place = layout.places[key]
        column = place.area.column1 + (option or 0)
        header = f"{column_letters(column)}${part.option_row}" if item.by_option else ""
        whole = _guarded(at, key, text, header, free)
        return lambda row: _fill_row(whole, row)
    entry = layout.entry(key)
    normal = column_letters(part.find("normal", key).column)
    if role == "normal":
        return lambda row: normal_formula(entry_cells(layout, key, 0, row).typed)
    if role == "feet":
        pattern = _in_base_unit(entry, f"${normal}\x01{part.first_row}\x02")
        return lambda row: _fill_row(pattern, row)
    first = part.typed_keys[0]
    return lambda row: table_length(
        entry,
        entry_cells(layout, key, 0, row),
        f"${address(*layout.places[first].typed_cell(0, row))}",
    )


def _row_entries(layout: Layout, part: TablePlan, row: int) -> list[RowEntry]:
    return [
        RowEntry(
            layout.entry(key),
            entry_cells(layout, key, 0, row),
            f"${address(*layout.places[key].cell(0, row))}",
        )
        for key in part.typed_keys
    ]


def _row_flag(layout: Layout, part: TablePlan, row: int) -> str:
    at = part.first_row + row
    told = [c for c in part.columns if c.role == "part"]
    own = part.typed_keys.index(told[0].key) if told else len(part.typed_keys)
    workings = [f"${address(at, c.column)}" for c in told]
    return flag_formula(_row_entries(layout, part, row), own, workings)


def _row_working(layout: Layout, part: TablePlan, key: str, row: int) -> str:
    """What a cell of the workings says of the entries from one on."""
    first = part.typed_keys.index(key)
    starts = [part.typed_keys.index(c.key) for c in part.columns if c.role == "part"]
    last = min((at for at in starts if at > first), default=len(part.typed_keys))
    entries = _row_entries(layout, part, row)
    return working_formula(entries[0], entries[first:last])


def _problems(layout: Layout) -> Cells:
    lists = layout.lists
    for line in lists.problems:
        plan = layout.sheets[line.sheet]
        if line.axis:
            table = next(
                p for p in plan.parts if isinstance(p, TablePlan) and p.table.axis == line.axis
            )
            column = table.find("check").column
            area = Range(table.first_row, column, table.last_row, column)
            text = f'SUMPRODUCT(({absolute(line.sheet, area)}<>"")*1)'
        else:
            terms = (f'SUMPRODUCT(({area}="?")*1)' for area in _read_areas(layout, plan))
            text = "+".join(terms)
        yield (LISTS_SHEET, f"B{line.row}"), f"IFERROR({text},1)"
    first, last = lists.problems[0].row, lists.problems[-1].row
    yield (LISTS_SHEET, f"B{lists.total_row}"), f"SUM(B{first}:B{last})"
    yield (LISTS_SHEET, f"B{lists.unusable_row}"), spoiled_now(layout)
    yield (LISTS_SHEET, f"B{lists.typed_over_row}"), typed_over_now(layout)
    if OVERALL in layout.places:
        yield (LISTS_SHEET, "A3"), OVERALL


def _read_areas(layout: Layout, plan: SheetPlan) -> Iterator[str]:
    """Ranges of read-as cells: neighbouring typed rows of one section together."""
    columns = plan.columns
    for part in plan.parts:
        if not isinstance(part, SectionPlan):
            continue
        runs: list[list[int]] = []
        for key, row in part.rows.items():
            if layout.quantity(key).role != "input":
                continue
            if runs and runs[-1][1] == row - 1:
                runs[-1][1] = row
            else:
                runs.append([row, row])
        width = OPTIONS if plan.kind == "options" else 1
        for first, last in runs:
            area = Range(first, columns.read, last, columns.read + width - 1)
            yield absolute(plan.name, area)
