"""A formula that an accident made is told from one that a person wrote."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from estimator.workbook.package.moves import Moves
from estimator.workbook.refill.displaced import Displaced

COST = {
    (row, 4): f'IF($B{row}="","",ROUND($C{row}*Prices!$F{row + 10},2))' for row in range(5, 9)
} | {(12, 4): "SUM(D5:D8)*(1+Job!C7)"}
SAME = Moves({}, {}, {}, none=True)


READ = {
    (row, 4): f'IF(TRIM($B{row})="",0,IF(ISNUMBER($U{row}),IF($U{row}>=0,$U{row},"?"),"?"))'
    for row in range(5, 9)
}


def displaced(gone: Mapping[tuple[str, tuple[int, int]], bool] | None = None) -> Displaced:
    """The sheet Cost, every cell of which is intact but those named."""
    return Displaced({"Cost": COST}, SAME, lambda sheet, spot: (sheet, spot) not in (gone or {}))


@pytest.mark.parametrize(
    ("text", "spot"),
    [
        pytest.param(COST[7, 4], (6, 4), id="the cells below shifted up"),
        pytest.param('IF($B6="","",ROUND($C6*Prices!$F17,2))', (6, 4), id="its line was dragged"),
        pytest.param("SUM(D5:D8)*(1+#REF!)", (12, 4), id="what it read was deleted"),
    ],
)
def test_a_formula_of_another_cell_or_without_its_reference_is_an_accident(
    text: str, spot: tuple[int, int]
) -> None:
    assert displaced().by_accident("Cost", spot, text, spot)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("SUM(D5:D8)*1.15", id="another number"),
        pytest.param("MAX(D5:D8)*(1+Job!C7)", id="another function"),
        pytest.param("SUM(D5:D8)*(1+Job!C9)", id="another cell, the first still as it was"),
    ],
)
def test_what_a_person_wrote_is_theirs(text: str) -> None:
    assert not displaced().by_accident("Cost", (12, 4), text, (12, 4))


def test_a_long_formula_of_another_cell_that_reads_half_of_its_line_is_an_accident() -> None:
    """A column shifted by a cell: its references went along, and those to other columns not."""
    two = {(5, 4): READ[5, 4], (6, 4): READ[6, 4].replace("IF($U6>=0", "IF(0<=$U6")}
    telling = Displaced({"Survey": two}, SAME, lambda _, __: True)
    assert telling.by_accident("Survey", (6, 4), READ[5, 4].replace("$B5", "$B$4"), (6, 4))


def test_a_reference_that_followed_a_cell_dragged_away_is_an_accident() -> None:
    gone = {("Job", (7, 3)): True}
    assert displaced(gone).by_accident("Cost", (12, 4), "SUM(D5:D8)*(1+Job!C9)", (12, 4))


def test_a_line_dragged_without_its_helper_cells_reads_the_helper_of_another_line() -> None:
    telling = Displaced({"Survey": READ}, SAME, lambda _, __: True)
    behind = READ[7, 4].replace("$U7", "$U5")
    assert telling.by_accident("Survey", (7, 4), behind, (7, 4))
    one_changed = READ[7, 4].replace('$U7,"?"', '$U5,"?"')
    assert not telling.by_accident("Survey", (7, 4), one_changed, (7, 4))
    no_line = READ[7, 4].replace("$U7", "$U20")
    assert not telling.by_accident("Survey", (7, 4), no_line, (7, 4))


def test_a_short_formula_in_a_free_cell_is_a_persons() -> None:
    assert not displaced().by_accident("Cost", None, "D5*2", (20, 9))
    assert displaced().by_accident("Cost", None, COST[5, 4], (20, 9))
