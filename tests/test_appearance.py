"""How sheets and tables look stands where they are; the file code names none of them."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from estimator.appearance import Appearance, Chart, Charts, Line, SheetAppearance
from estimator.engine import Model
from estimator.errors import RowError
from estimator.metric import metric
from estimator.model import build_model
from estimator.rows import Sheet
from estimator.vocabulary import Q
from estimator.workbook.template.plans import ColumnRole

WORKBOOK = Path(__file__).resolve().parent.parent / "estimator" / "workbook"
WORDS = {
    *(("template", word) for word in get_args(ColumnRole)),  # a column's part in a table
    ("refill/usable_rows.py", "check"),  # such a part, too
    ("template/snapshot.py", "fresh"),  # what a line of Solved From says of its state
    ("package/cells.py", "grid"),  # a name that the module exports
    ("package/cells.py", "item"),  # a method of numpy's numbers
    ("package/parts.py", "sheets"),  # an element of the file format
    ("package/cells.py", "spans"),  # an attribute of the file format
    ("carry/one_sheet.py", "spans"),  # an attribute of the file format
    ("template/build.py", "outline"),  # an element of the file format
    ("template", "list"),  # a kind of rule on entries of the file format
    ("template/sheet_texts.py", "Job"),  # a heading: what holds for the whole job
}
"""Plain words of the file code that the model happens to call something by, and where."""


def _named() -> frozenset[str]:
    """Keys, axes and names of sheets of the model, in both measures."""
    names: set[str] = set()
    for model in (build_model(), metric(build_model())):
        names |= {*model.quantities, *model.tables, *(sheet.name for sheet in model.sheets)}
        names |= {item.axis for item in model.quantities.values() if item.axis}
    return frozenset(names)


def _literals(source: str) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


def _allowed(place: str, word: str) -> bool:
    return any(word == known and place.startswith(where) for where, known in WORDS)


def test_the_file_code_names_no_key_axis_or_sheet_of_the_model() -> None:
    named = _named()
    found = []
    for path in sorted(WORKBOOK.rglob("*.py")):
        place = path.relative_to(WORKBOOK).as_posix()
        for line, word in _literals(path.read_text(encoding="utf-8")):
            if word in named and not _allowed(place, word):
                found.append(f"{place}:{line}: {word}")
    assert found == []


def test_a_key_in_the_code_would_be_found() -> None:
    source = 'WIDTHS = {"board_item": 22, "Cut Plan": 3, "any": 1}\n'
    named = _named()
    assert [word for _, word in _literals(source) if word in named] == ["board_item", "Cut Plan"]


def _sheet(shows: Appearance, sheet_shows: SheetAppearance | None = None) -> Sheet:
    sheet = Sheet("Steps", "Steps", "", shows=sheet_shows)
    table = sheet.table("step", "Steps", 4, index=True, shows=shows)

    @table.column("Rise", "in")
    def rise_in(step_no: Q) -> Q:
        return 7 * step_no

    return sheet


@pytest.mark.parametrize(
    "shows",
    [
        Appearance(characters={"rise_ft": 8}),
        Appearance(aside=("rise_inn",)),
        Appearance(colour_scale=("rise_in", "run_in")),
    ],
)
def test_a_look_of_what_is_not_there_is_refused_naming_the_sheet(shows: Appearance) -> None:
    with pytest.raises(RowError, match="Steps"):
        Model([_sheet(shows)], [])


def _charts(y: str) -> SheetAppearance:
    line = Line("Rise", "step_no", y, "000000")
    chart = Chart("Steps", "No.", "Rise, {in}", "In {inches|millimetres}.", (line,), 10, 5, 10)
    return SheetAppearance(charts=Charts(((chart,),), 6, 8, 12.5))


def test_a_chart_of_what_is_not_there_is_refused_naming_the_sheet() -> None:
    with pytest.raises(RowError, match=r"Steps.*run_in"):
        Model([_sheet(Appearance(), _charts("run_in"))], [])


def test_looks_and_charts_follow_the_keys_and_words_of_the_measure() -> None:
    shows = Appearance(characters={"rise_in": 8}, colour_scale=("rise_in",), aside=("rise_in",))
    feet = Model([_sheet(shows, _charts("rise_in"))], [])
    for model, key, title, told in (
        (feet, "rise_in", "Rise, in", "In inches."),
        (metric(feet), "rise_mm", "Rise, mm", "In millimetres."),
    ):
        (sheet,) = model.sheets
        assert model.tables["step"].shows.colour_scale == (key,)
        assert dict(model.tables["step"].shows.characters) == {key: 8}
        assert model.tables["step"].shows.aside == (key,)
        assert sheet.shows.charts is not None
        ((chart,),) = sheet.shows.charts.pages
        assert (chart.y_title, chart.description) == (title, told)
        assert [(line.x, line.y) for line in chart.lines] == [("step_no", key)]
