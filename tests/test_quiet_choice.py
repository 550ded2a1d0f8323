"""With a chosen option that is not in use the workbook says so, and shows no error anywhere."""

from __future__ import annotations

import pytest
from books import edited, opened
from libreoffice import faults, needs_libreoffice, recalculated

from estimator.keys import CHOSEN
from estimator.model import build_model
from estimator.workbook.template.writer import after_choice

pytestmark = pytest.mark.slow


@needs_libreoffice
@pytest.mark.parametrize("choice", ["F", None])
def test_what_follows_the_chosen_option_is_quiet_while_that_is_not_in_use(
    demo_book: bytes, choice: str | None
) -> None:
    shown = recalculated(edited(demo_book, {"in_chosen_option": choice}))
    assert "NOT VALID" in shown["Start"]["A3"].value
    assert faults(shown) == []
    places = opened(demo_book).names
    for key in ("chosen_total", "buy_title", "field_lifts"):
        target = places[key]
        assert shown[target.sheet][target.ref].value in (None, ""), key


def test_rows_that_compare_all_options_do_not_wait_for_the_choice() -> None:
    waiting = after_choice(build_model())
    assert {"chosen_total", "buy_packs", "field_string_ft", "floor_joist"} <= waiting
    assert not {"cheapest_name", "total_cost", CHOSEN} & waiting
