"""What follows the choice: quiet where that is not in use, the cheapest where none is typed."""

from __future__ import annotations

import pytest
from books import edited, opened, refilled
from libreoffice import faults, recalculated, shown_otherwise
from office import needs_office

from estimator.keys import CHOSEN
from estimator.model import build_model
from estimator.workbook.template.writer import after_choice

pytestmark = pytest.mark.slow


@needs_office
def test_what_follows_the_chosen_option_is_quiet_while_that_is_not_in_use(demo_book: bytes) -> None:
    shown = recalculated(edited(demo_book, {"in_chosen_option": "F"}))
    assert "NOT VALID" in shown["Start"]["A3"].value
    assert faults(shown) == []
    places = opened(demo_book).names
    for key in ("chosen_total", "buy_title", "field_strip"):
        target = places[key]
        assert shown[target.sheet][target.ref].value in (None, ""), key


@needs_office
@pytest.mark.parametrize("letter", ["F", "B", None])
def test_a_refill_shows_what_the_formulas_give_whatever_is_chosen(
    demo_book: bytes, letter: str | None
) -> None:
    assert shown_otherwise(refilled(edited(demo_book, {"in_chosen_option": letter})).data) == []


@needs_office
def test_where_none_is_chosen_the_cheapest_that_passes_is_taken_and_said_so(
    demo_book: bytes,
) -> None:
    shown = recalculated(edited(demo_book, {"in_chosen_option": None}))
    places = opened(demo_book).names

    def cell(key: str) -> object:
        return shown[places[key].sheet][places[key].ref.partition(":")[0].replace("$", "")].value

    assert not shown["Start"]["A3"].value.startswith(("NOT VALID", "TO DO"))
    assert cell("chosen_total") == cell("least_total")
    assert cell("chosen_failed") == 0
    assert str(cell("chosen_title")).startswith(f"{cell('cheapest_name')} ")
    assert str(cell("chosen_title")).endswith(": none is typed, so the cheapest that passes")


def test_rows_that_compare_all_options_do_not_wait_for_the_choice() -> None:
    waiting = after_choice(build_model())
    assert {"chosen_total", "buy_packs", "field_strings", "floor_joist"} <= waiting
    assert not {"cheapest_name", "total_cost", CHOSEN} & waiting
