"""Low, middle and high cost by simulation over the rows of Cost, with a fixed seed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from estimator.engine import Solver
from estimator.model.cost import money
from estimator.model.solvers.reads import zeros

DRAWS = 2000
SEED = 20260401
HOURS_LOW, HOURS_HIGH = 0.8, 1.4
"""Spread of hours about the estimate (common practice, no source)."""

COST_READS = (
    "option_used",
    "item_packs",
    "item_category",
    "item_price",
    "item_low",
    "item_high",
    "delivery_cost",
    "work_hours",
    "wage_per_h",
    "tax_share",
    "contingency_share",
    "overhead_share",
    "profit_share",
)


def simulate(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Total at which one draw in ten, half, and nine in ten lie below, for every option.

    Prices are drawn item by item between low and high, triangular about the price; hours between
    0.8 and 1.4 times the estimate. Money follows the very rows of the sheet Cost.
    """
    q = {key: np.asarray(values[key]) for key in COST_READS}
    used = q["option_used"][:, 0] > 0
    price = q["item_price"][0]
    low = np.where(q["item_low"][0] > 0, np.minimum(q["item_low"][0], price), price)
    high = np.where(q["item_high"][0] > 0, np.maximum(q["item_high"][0], price), price)
    random = np.random.default_rng(SEED)
    drawn = _triangular(random.random((DRAWS, len(price))), low, price, high)
    hours = _triangular(
        random.random((DRAWS, 1)), np.float64(HOURS_LOW), np.float64(1.0), np.float64(HOURS_HIGH)
    )
    packs = np.where(used[:, None], np.nan_to_num(q["item_packs"]), 0.0)
    category = q["item_category"][0]
    rental_items = category == "rental"
    fee_items = rental_items | (category == "delivery")
    material = (drawn * ~fee_items) @ packs.T
    rental = (drawn * rental_items) @ packs.T
    delivery = np.nan_to_num(q["delivery_cost"][:, 0])
    labour = money.labour_cost(hours * np.nan_to_num(q["work_hours"][:, 0]), q["wage_per_h"][0])
    tax = money.tax_cost(material, q["tax_share"][0])
    spare = money.contingency_cost(
        material, delivery, rental, tax, labour, q["contingency_share"][0]
    )
    overhead = money.overhead_cost(
        material, delivery, rental, tax, labour, spare, q["overhead_share"][0]
    )
    profit = money.profit_cost(
        material, delivery, rental, tax, labour, spare, overhead, q["profit_share"][0]
    )
    total = money.total_cost(material, delivery, rental, tax, labour, spare, overhead, profit)
    answer = {}
    for key, share in (("total_low", 0.1), ("total_middle", 0.5), ("total_high", 0.9)):
        row = zeros()
        row[:, 0] = np.quantile(np.asarray(total), share, axis=tuple(range(total.ndim - 1)))
        answer[key] = np.where(used[:, None], row, 0.0)
    return answer


def _triangular(u: Any, low: Any, mode: Any, high: Any) -> Any:
    """Triangular draws by inversion; a point where low and high meet."""
    width = np.where(high > low, high - low, 1.0)
    left = (mode - low) / width
    rising = low + np.sqrt(u * width * np.maximum(mode - low, 0))
    falling = high - np.sqrt((1 - u) * width * np.maximum(high - mode, 0))
    return np.where(high > low, np.where(u < left, rising, falling), mode)


RANGE = Solver(
    "range",
    "range of cost",
    COST_READS,
    simulate,
    worst=1,
)
