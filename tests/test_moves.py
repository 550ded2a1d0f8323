"""References follow cells that moved, and a sum over a table that was mended covers it again."""

from __future__ import annotations

import pytest

from estimator.workbook.package.a1 import Range
from estimator.workbook.package.moves import Block, Moves, moves_between

TABLE = Range(8, 2, 27, 2)


def after(now: Range, lines: dict[int, int] | None, title: str = "Prices") -> Moves:
    """Prices, of which one column stood on the rows 8 to 27."""
    block = Block(TABLE, title, now, lines)
    return Moves({"Prices": "Prices"}, {}, {}, none=False, blocks={"Prices": (block,)})


def read(moves: Moves, text: str, sheet: str) -> str:
    return "".join(piece for _, piece in moves.pieces(text, sheet))


def test_a_sum_over_a_table_that_lost_a_line_covers_all_of_it_again() -> None:
    whole = after(Range(8, 2, 28, 2), {line: line for line in range(20)})
    assert read(whole, "SUM(Prices!B8:B27)", "Mine") == "SUM(Prices!B8:B28)"
    assert read(whole, "SUM(Prices!$B$8:$B$12)", "Mine") == "SUM(Prices!$B$8:$B$12)"


def test_a_line_that_moved_up_is_followed_and_one_that_is_gone_is_not_known() -> None:
    shorter = after(Range(8, 2, 26, 2), {n: n - (n > 5) for n in range(20) if n != 5})
    assert read(shorter, "Prices!B20*2", "Mine") == "Prices!B19*2"
    assert read(shorter, "Prices!B13*2", "Mine") == "Prices!B?*2"
    assert read(shorter, "SUM(Prices!B10:B13)", "Mine") == "SUM(Prices!B10:B12)"


def test_a_table_that_is_back_on_its_sheet_is_read_there() -> None:
    back = Moves(
        {"Prices": "Prices"},
        {},
        {},
        none=False,
        blocks={"Elsewhere": (Block(Range(3, 1, 22, 1), "Prices", TABLE),)},
    )
    assert read(back, "SUM(Elsewhere!A3:A22)+Elsewhere!B9", "Mine") == (
        "SUM(Prices!B8:B27)+Elsewhere!B9"
    )
    assert read(back, "A4+1", "Elsewhere") == "Prices!B9+1"


@pytest.mark.parametrize("moved", ["in_a", "in_b"])
def test_one_name_that_was_dragged_to_another_sheet_takes_no_other_cell_along(moved: str) -> None:
    before = {"in_a": ("Job", Range(5, 3, 5, 3)), "in_b": ("Job", Range(6, 3, 6, 3))}
    there = {**before, moved: ("Mine", Range(1, 1, 1, 1))}
    assert moves_between(before, there).spot("Job", 9, 3) == (9, 3)


def test_what_reached_the_end_of_a_sheet_still_does() -> None:
    """A spreadsheet leaves it there where rows came or went above."""
    before = {"in_a": ("Job", Range(5, 3, 5, 3))}
    moves = moves_between(before, {"in_a": ("Job", Range(7, 3, 7, 3))})
    assert moves.spot("Job", 1_048_576, 9) == (1_048_576, 9)
    assert read(moves, "SUM(C6:C1048576)+C9", "Job") == "SUM(C8:C1048576)+C11"
