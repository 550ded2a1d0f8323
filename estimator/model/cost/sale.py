"""Of the sheet Cost: what a customer pays, and what of it is cost, markup, margin and rounding."""

from __future__ import annotations

import numpy as np

from estimator.rows import Chapter
from estimator.vocabulary import Q, rounded

SALE = Chapter()

SALE.section("Price to a customer")


@SALE.row(
    "Cost of the job",
    "$",
    fmt="#,##0.00",
    note="Material, delivery, hire, fees, tax on what is bought, labour and contingency.",
)
def job_cost(total_cost: Q, overhead_cost: Q, profit_cost: Q) -> Q:
    return rounded(total_cost - overhead_cost - profit_cost, 2)


@SALE.row("Markup", "share", fmt="0.0%", note="Overhead and profit, as a share of the cost.")
def markup_share(overhead_cost: Q, profit_cost: Q, job_cost: Q) -> Q:
    return np.where(job_cost > 0, (overhead_cost + profit_cost) / np.maximum(job_cost, 0.01), 0)


@SALE.row("Rounding of the price", "$", fmt="#,##0.00", note="Upwards, to what Job says.")
def price_rounding(sale_price: Q, total_cost: Q) -> Q:
    return rounded(sale_price - total_cost, 2)


@SALE.row("Price before tax on the sale", "$", fmt="#,##0.00")
def sale_price(total_cost: Q, price_step: Q) -> Q:
    whole = np.ceil(total_cost / np.maximum(price_step, 0.01)) * price_step
    return rounded(np.where(price_step > 0, whole, total_cost), 2)


@SALE.row(
    "Margin", "share", fmt="0.0%", note="Overhead, profit and rounding, as a share of the price."
)
def margin_share(sale_price: Q, job_cost: Q) -> Q:
    return np.where(sale_price > 0, (sale_price - job_cost) / np.maximum(sale_price, 0.01), 0)


@SALE.row("Tax on the sale", "$", fmt="#,##0.00")
def sale_tax(sale_price: Q, sale_tax_share: Q) -> Q:
    return rounded(sale_price * sale_tax_share, 2)


@SALE.row("Price with tax on the sale", "$", fmt="#,##0.00")
def sale_total(sale_price: Q, sale_tax: Q) -> Q:
    return rounded(sale_price + sale_tax, 2)
