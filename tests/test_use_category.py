"""Use category of treated wood: what a piece asks for, and what is bought for it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from jobs import at, block, changed, demo, on_flat, one_option, solved

from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import FRAMED, PIERS
from estimator.typed_job import METRIC_DEMO_JOB, load_job

USES = ["", "UC3B", "UC4A", "UC4B"]
"""From none to the heaviest (AWPA U1, from memory)."""


def sold_as(stock: str, use: str, *, but: str = "") -> TypedJob:
    """The demo with all boards of a stock of one use category; one of them with another."""
    rows = [
        row for (key, row), name in demo().cells.items() if (key, name) == ("item_stock", stock)
    ]
    assert rows
    return changed(
        demo(), item_use=dict.fromkeys(rows, use or None) | ({rows[0]: but} if but else {})
    )


def skids(use: str, *, but: str = "") -> dict[str, Any]:
    job = one_option(FRAMED, sold_as("4x6 treated", use, but=but), joist_stock="2x6 treated")
    return solved(on_flat(job))


@pytest.mark.parametrize("use", USES)
def test_skids_and_timbers_ask_for_ground_contact(use: str) -> None:
    values = skids(use)
    assert at(values, "bearer_class") == at(values, "timber_class") == "ground contact, UC4A"
    fit = USES.index(use) >= USES.index("UC4A")
    assert at(values, "check_use") == "ok" if fit else at(values, "check_use").startswith("FAIL")
    assert at(values, "option_passes") <= float(fit)


def test_one_board_that_is_not_fit_is_enough() -> None:
    assert at(skids("UC4A"), "check_use") == "ok"
    assert at(skids("UC4A", but="UC3B"), "check_use").startswith("FAIL")


def test_beams_a_foot_above_the_ground_ask_for_less() -> None:
    """Wood 6 in above the ground or lower counts as in contact (AWPA U1, read in summaries)."""
    high = {"clear_above_in": 12, "joist_stock": "2x8 treated"}
    for use, begins in (("UC4A", "ok"), ("UC3B", "ok"), ("", "LOOK")):
        job = one_option(PIERS, sold_as("2x8 treated", use), **high)
        assert at(solved(on_flat(job)), "check_use")[: len(begins)] == begins
    low = one_option(PIERS, sold_as("2x8 treated", "UC3B"), **(high | {"clear_above_in": 5}))
    assert at(solved(on_flat(low)), "check_use").startswith("FAIL")


def test_a_better_use_category_never_fails_where_a_lesser_one_passes() -> None:
    order = ["FAIL", "LOOK", "ok"]
    found = [order.index(at(skids(use), "check_use").split(":")[0]) for use in USES]
    assert found == sorted(found)


def of_treated_wood(name: str) -> list[str]:
    """The parts of an item's name; screws are coated for treated wood, and are none."""
    return name.split(", ")


@pytest.mark.parametrize(("use", "begins"), [("UC4A", "ok"), ("UC3B", "FAIL"), (None, "FAIL")])
def test_sheets_of_a_skirting_reach_the_ground(use: str | None, begins: str) -> None:
    sheet = next(row for (key, row), v in demo().cells.items() if v == "sheet_skirt")
    job = on_flat(one_option(FRAMED, joist_stock="2x6 treated"))
    job = changed(job, item_use={sheet: use})
    skirted = changed(job, skirting="yes", skirt_item="sheet_skirt")
    assert at(solved(skirted), "check_use").startswith(begins)
    assert at(solved(changed(skirted, skirting="no")), "check_use") == "ok"


@pytest.mark.parametrize("measure", ["feet", "metric"])
def test_every_treated_line_of_the_price_book_says_its_use(measure: str) -> None:
    model = build_model()
    job = demo()
    if measure == "metric":
        model = metric(model)
        job = load_job(METRIC_DEMO_JOB, model=model)
    names = {row: str(v) for (key, row), v in job.cells.items() if key == "item_name"}
    uses = {row for (key, row), v in job.cells.items() if key == "item_use" and v in USES[1:]}
    treated = {row for row, name in names.items() if "treated" in of_treated_wood(name)}
    assert treated
    assert treated == uses


def test_the_buy_list_says_the_use_of_what_is_bought() -> None:
    values = solved(demo())
    lines = zip(block(values, "line_item"), block(values, "line_place"), strict=True)
    said = [str(item).partition(", UC") for item, place in lines if place]
    assert any(use == "4A" for _, _, use in said)
    for item, _, use in said:
        assert bool(use) == ("treated" in of_treated_wood(item)), item
    assert np.max(block(values, "wood_unfit")) == 0
