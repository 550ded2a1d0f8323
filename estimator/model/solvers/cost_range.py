"""Low, middle and high cost before contingency, by simulation with a fixed seed.

Three things are drawn: the level of prices of material, that of machines and delivery, and the
hours. Prices of one kind rise and fall together, as they do from season to season and yard to yard
(common practice, no source); that also gives a wider range than items drawn one by one. In half
the draws each of the three lies below the estimate. So in at least one draw in eight all three do,
and in one in eight none does: an estimate between low (one draw in ten below) and high (one in ten
above) is no accident of the draws.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import Any

import numpy as np

from estimator.engine import Solver
from estimator.model.solvers.reads import zeros
from estimator.vocabulary import rounded

DRAWS = 2000
SEED = 20260401
HOURS_LOW, HOURS_HIGH = 0.8, 1.4
"""Spread of hours about the estimate (common practice, no source)."""
MATERIAL, MACHINES, HOURS = range(3)
"""What is drawn."""

COST_READS = (
    "option_used",
    "item_name",
    "item_category",
    "item_brought_no",
    "item_price",
    "item_low",
    "item_high",
    "item_cost",
    "supplier_delivery",
    "supplier_fee",
    "material_cost",
    "delivery_cost",
    "rental_cost",
    "taxed_hire",
    "tax_cost",
    "labour_cost",
    "before_contingency",
    "total_cost",
)


def simulate(values: Mapping[str, Any], seed: int = SEED) -> Mapping[str, Any]:
    """Cost before contingency at which one draw in ten, half, and nine in ten lie below.

    Each part of the estimate is scaled by what was drawn for it, overhead and profit with the sum
    of the parts, so that the estimate itself is what all three draws at their middle give. Also
    the share of draws that the total, contingency included, is enough for.
    """
    q = {key: np.asarray(values[key]) for key in COST_READS}
    used = q["option_used"][:, 0] > 0
    drawn = _levels(seed)
    price = q["item_price"][0]
    known = np.where(price > 0, price, 1.0)
    low = np.where(q["item_low"][0] > 0, np.minimum(q["item_low"][0], price), price) / known
    high = np.where(q["item_high"][0] > 0, np.maximum(q["item_high"][0], price), price) / known
    low, high = np.where(price > 0, low, 1.0), np.where(price > 0, high, 1.0)
    material = _about(drawn[:, MATERIAL, None], low, high)
    machines = _about(drawn[:, MACHINES, None], low, high)
    trips = _of_items(machines, q["supplier_delivery"][0], q["item_name"][0])
    hours = _about(drawn[:, HOURS], HOURS_LOW, HOURS_HIGH)
    category = q["item_category"][0]
    answer = {key: zeros() for key in ("total_low", "total_middle", "total_high", "total_covers")}
    for option in np.flatnonzero(used):

        def cost(key: str, option: int = int(option)) -> Any:
            return np.nan_to_num(q[key][min(option, len(q[key]) - 1)])

        item = cost("item_cost")
        fees = np.where((category == "delivery") | (category == "fee"), item, 0.0)
        paid = {
            "material_cost": _scale(material, np.where(q["item_brought_no"][0] > 0, item, 0.0)),
            "rental_cost": _scale(machines, np.where(category == "rental", item, 0.0)),
            "delivery_cost": _scale(
                np.hstack([machines, trips]), np.concatenate([fees, cost("supplier_fee")])
            ),
            "labour_cost": hours,
        }
        parts = [float(cost(key)[0]) for key in ("material_cost", "taxed_hire")]
        taxed = np.stack([paid["material_cost"], paid["rental_cost"]], axis=1)
        paid["tax_cost"] = _scale(taxed, np.asarray(parts))
        base = sum(float(cost(key)[0]) for key in paid)
        draws = sum(cost(key)[0] * scale for key, scale in paid.items())
        before = float(cost("before_contingency")[0])
        scenarios = rounded(before * draws / base if base > 0 else np.full(DRAWS, before), 2)
        for key, share in (("total_low", 0.1), ("total_middle", 0.5), ("total_high", 0.9)):
            answer[key][option] = rounded(np.quantile(scenarios, share), 2)
        answer["total_covers"][option] = np.mean(scenarios <= cost("total_cost")[0])
    return answer


def _levels(seed: int) -> Any:
    """Draws between 0 and 1 of what is drawn, shape (draws, 3), each with its seven mirror images.

    The images make the halves of each exactly equal, and the eighths of all three together.
    """
    some = np.random.default_rng(seed).random((DRAWS // 8, 3))
    sides = np.asarray(list(product((False, True), repeat=3)))
    return np.where(sides[:, None, :], 1 - some, some).reshape(-1, 3)


def _about(u: Any, low: Any, high: Any) -> Any:
    """Factors about 1 by inversion: below it in half the draws, densest at it on either side.

    Args:
        u: Draws between 0 and 1.
        low, high: Least and greatest factor, at most and at least 1.
    """
    below = low + (1 - low) * np.sqrt(2 * np.minimum(u, 0.5))
    above = high - (high - 1) * np.sqrt(2 * np.minimum(1 - u, 0.5))
    return np.where(u < 0.5, below, above)


def _of_items(factors: Any, wanted: Any, names: Any) -> Any:
    """Columns of factors of these items; 1 for an item that is not on the list."""
    columns = [np.flatnonzero((names == name) & (name != "")) for name in wanted]
    one = np.ones(len(factors))
    return np.stack([factors[:, c[0]] if c.size else one for c in columns], axis=1)


def _scale(factors: Any, costs: Any) -> Any:
    """By how much a sum of costs is scaled in each draw."""
    total = np.sum(costs)
    return factors @ costs / total if total > 0 else np.ones(len(factors))


RANGE = Solver(
    "range",
    "range of cost",
    COST_READS,
    simulate,
    worst=1,
)
