"""The quote: a rounded price with tax, payments that add up, no costs or hours shown."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs import at, block, changed, demo, one_option, solved

from estimator.model.cost import sale
from estimator.model.kinds import FRAMED, OPEN
from estimator.model.quote import PARTS, QUOTE, STAGES, offer_option, stage_first, stage_share
from estimator.rows import OPTION_KEYS, Table

cents = st.integers(0, 5_000_000).map(lambda n: n / 100)
shares = st.integers(0, 100).map(lambda n: n / 100)


def number(value: Any) -> float:
    """The one number of a row."""
    return float(np.ravel(value)[0])


@given(cents, cents, st.sampled_from([0.0, 0.05, 1.0, 5.0, 10.0, 100.0]))
def test_the_price_is_the_total_rounded_up_by_less_than_a_step(
    cost: float, more: float, step: float
) -> None:
    total = round(cost + more, 2)
    price = number(sale.sale_price(total, step))
    assert price >= total - 1e-9
    assert price - total < max(step, 0.01)
    if step:
        assert math.isclose(price / step, round(price / step), abs_tol=1e-6)
    assert number(sale.price_rounding(price, total)) == pytest.approx(price - total, abs=0.005)


def test_markup_is_told_of_the_cost_and_margin_of_the_price() -> None:
    """By hand: cost 1,000, overhead 100, profit 110; 1,210 rounded up to 1,220."""
    cost = number(sale.job_cost(1210.0, 100.0, 110.0))
    assert cost == 1000.0
    assert number(sale.markup_share(100.0, 110.0, cost)) == pytest.approx(0.21)
    price = number(sale.sale_price(1210.0, 20.0))
    assert price == 1220.0
    assert number(sale.margin_share(price, cost)) == pytest.approx(220 / 1220)
    assert number(sale.sale_tax(price, 0.07)) == 85.40
    assert number(sale.sale_total(price, 85.40)) == 1305.40


@given(cents, shares, shares)
def test_the_payments_add_up_to_the_price_and_none_is_negative(
    total: float, deposit: float, delivery: float
) -> None:
    lines = np.array([[1.0, 2.0, 3.0]])
    parts = stage_share(lines, np.array([[deposit]]), np.array([[delivery]]))
    whole = np.array([[total, 0.0]])
    paid = stage_first(lines, whole, np.array([[deposit]]), np.array([[delivery]]))
    assert math.fsum(np.asarray(parts)[0].tolist()) == pytest.approx(1.0)
    amounts = np.asarray(paid)[0].tolist()
    assert len(amounts) == len(STAGES)
    assert round(math.fsum(amounts), 2) == total
    assert min(amounts) >= 0


def test_two_options_are_offered_at_their_own_totals() -> None:
    job = changed(demo(), chosen_option="B", second_option="A", sale_tax_share=0.06, price_step=5)
    values = solved(job)
    for line, letter in enumerate("BA"):
        option = OPTION_KEYS.index(letter)
        total = float(at(values, "total_cost", option))
        price = 5 * math.ceil(total / 5 - 1e-9)
        tax = round(price * 0.06, 2)
        assert block(values, "offer_price")[line] == price
        assert block(values, "offer_tax")[line] == pytest.approx(tax, abs=0.0051)
        whole = block(values, "offer_total")[line]
        paid = block(values, ("stage_first", "stage_second")[line])
        assert round(float(np.sum(paid)), 2) == round(float(whole), 2)


def test_a_sale_without_tax_says_nought_and_a_second_line_without_an_offer_says_nothing() -> None:
    job = changed(demo(), chosen_option="B", second_option="", sale_tax_share=0)
    assert block(solved(job), "offer_tax").tolist() == [0, 0]
    assert QUOTE.quantities["offer_tax"].fmt == "#,##0.00"  # a line in use shows its noughts


@pytest.mark.parametrize(("second", "number"), [("", 0), ("B", 0), ("F", 0), ("A", 1)])
def test_the_chosen_option_again_or_one_that_is_not_in_use_is_no_second_offer(
    second: str, number: int
) -> None:
    used = np.array([[1.0], [1.0], [1.0], [0.0], [0.0], [0.0]])
    lines, two = np.array([[1.0, 2.0]]), np.array([[2.0]])
    offered = offer_option(lines, np.array([[1.0]]), two, np.array([[second]]), used)
    assert offered.tolist() == [[2, number]]


def test_the_second_offer_has_a_column_only_where_there_is_one() -> None:
    one = at(solved(one_option(FRAMED)), "quote_offers")
    two = at(solved(changed(demo(), chosen_option="B", second_option="A")), "quote_offers")
    parts = [part for part in QUOTE.parts if isinstance(part, Table) and part.shows.headed]
    headings = [part.shows.headed.columns for part in parts if part.shows.headed]
    second = [cases for columns in headings for key, cases in columns.items() if "second" in key]
    assert len(second) == 2
    for cases in second:
        assert str(one) not in cases
        assert cases[str(two)] == "Second offer"


def test_what_is_in_the_price_is_what_the_option_pays_for() -> None:
    own = solved(changed(one_option(FRAMED), wage_per_h=0, door_way="none"))
    paid = solved(one_option(OPEN))
    for values, labour in ((own, "not included"), (paid, "included")):
        said = dict(zip(PARTS, map(str, block(values, "scope_first")), strict=True))
        assert said["Labour"] == labour
        assert said["Crushed stone"] == "included"
        assert said["Skirting round the floor"] == "not included"
    said = dict(zip(PARTS, map(str, block(own, "scope_first")), strict=True))
    assert said["Steps or a ramp at the door"] == "not included"


def test_a_quote_of_an_option_that_fails_says_that_it_is_a_draft() -> None:
    values = solved(changed(one_option(OPEN), floor_live_psf=250))
    assert at(values, "checks_failed") > 0
    assert str(at(values, "quote_state")) == "draft: an option fails a check, see Checks"


def test_no_hours_cost_or_margin_stand_on_the_quote() -> None:
    told = " ".join([item.label for item in QUOTE.quantities.values()] + list(PARTS)).lower()
    for word in ("hour", "wage", "markup", "margin", "overhead", "profit", "contingency", "cost"):
        assert word not in told
