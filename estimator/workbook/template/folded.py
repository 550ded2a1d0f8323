"""Folded groups of inputs: their lines are hidden until opened, their values stand in words."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.engine import Model
from estimator.errors import RowError
from estimator.formula import quoted
from estimator.inputs import Field
from estimator.rows import Section
from estimator.workbook.package.a1 import address
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.plans import OPTIONS, SectionPlan, SheetPlan
from estimator.workbook.template.terms import term_formula

HERE = "#"
"""Stands for the value in what a folded group says of an entry."""
UNREAD = "An entry here can't be read: open the group. "
BY_OPTION, NOTHING = "by option", "none"


def refuse_folded(model: Model) -> None:
    """Refuse a folded group that hides what is looked for, or doesn't say what it hides.

    Raises:
        RowError: If its words are not those of its inputs, one each with one value, or a link
            leads into it.
    """
    led = {item.mended_at for item in model.quantities.values()}
    for sheet in model.sheets:
        for part in sheet.parts:
            if not isinstance(part, Section) or not part.folded:
                continue
            where = f"{sheet.name}, {part.title}"
            typed = [key for key in part.keys if model.quantities[key].role == "input"]
            if not typed == part.keys == list(part.folded):
                raise RowError("a folded group has words for its inputs, in order.", where=where)
            if any(words.count(HERE) != 1 for words in part.folded.values()):
                raise RowError("words of a folded group have one # each.", where=where)
            if hidden := led.intersection(typed):
                raise RowError(f"a link leads to {hidden.pop()}, which is folded.", where=where)


def words_cell(plan: SheetPlan, part: SectionPlan) -> tuple[int, int]:
    """Row and column of the words of a folded group, beside its heading."""
    return part.title_row, plan.columns.typed


def phrase_cell(plan: SheetPlan, row: int) -> tuple[int, int]:
    """Row and column of what is said of one entry, among the workings of the sheet."""
    return row, plan.helper + 2 * (OPTIONS if plan.kind == "options" else 1)


def words_formulas(
    layout: Layout, plan: SheetPlan, part: SectionPlan
) -> Iterator[tuple[tuple[int, int], str]]:
    """Formulas of the words of a folded group by row and column.

    Every value is told, after a sentence if one can't be read. Of options that differ, the least
    and the most are told.
    """
    rows = sorted(part.rows.values())
    for key, words in part.section.folded.items():
        row = part.rows[key]
        yield phrase_cell(plan, row), _phrase(layout, plan, key, words, row)
    checks = ":".join(address(row, plan.columns.check) for row in (rows[0], rows[-1]))
    unread = f'IF(COUNTIF({checks},"ok")<{len(rows)},{quoted(UNREAD)},"")'
    said = '&"; "&'.join(address(*phrase_cell(plan, row)) for row in rows)
    yield words_cell(plan, part), f"{unread}&{said}"


def _phrase(layout: Layout, plan: SheetPlan, key: str, words: str, row: int) -> str:
    before, after = words.split(HERE)
    entry = layout.entry(key)
    if layout.quantity(key).by_option:
        first, last = (address(row, plan.columns.typed + option) for option in (0, OPTIONS - 1))
        value = _of_options(layout, entry, f"{first}:{last}")
    else:
        cell = address(row, plan.columns.read)
        number = f"IFERROR({_number(entry, cell)}&{_unit(layout, entry)},{cell})"
        text = f'IF({cell}="","{NOTHING}",{cell})'
        value = text if entry.value_kind == "text" else number
    parts = [quoted(before) if before else "", value, quoted(after) if after else ""]
    return "&".join(text for text in parts if text)


def _of_options(layout: Layout, entry: Field, typed: str) -> str:
    """What is typed for the options: one value, the least to the most, or that it differs."""
    if entry.value_kind == "text":
        found = quoted(BY_OPTION)
        for choice in reversed(entry.choices):
            name = quoted(choice)
            found = f"IF(COUNTIF({typed},{name})=COUNTA({typed}),{name},{found})"
        return found
    least, most = (_number(entry, f"{which}({typed})") for which in ("MIN", "MAX"))
    several = f'IF(MIN({typed})=MAX({typed}),""," to "&{most})'
    told = f"{least}&{several}&{_unit(layout, entry)}"
    return f'IF(COUNT({typed})<COUNTA({typed}),"{BY_OPTION}",{told})'


def _number(entry: Field, value: str) -> str:
    """A number as it is told."""
    return f"ROUND({value}*100,2)" if entry.kind == "share" else f"ROUND({value},3)"


def _unit(layout: Layout, entry: Field) -> str:
    """Formula of the unit behind a number, with the job's own sign of money."""
    if entry.kind == "share":
        return '"%"'
    text = f" {entry.unit}" if entry.unit else ""
    return term_formula(layout, text) or quoted(text)
