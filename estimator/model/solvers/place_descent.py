"""A place moved and turned a little while that saves, at the price of the rows themselves."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from estimator.model.solvers.place_prices import PlacePrices

Floats = NDArray[np.float64]
FIRST_MOVE_FT = 0.5
ROUNDS = 6


def descend(
    start: Floats,
    cost: float,
    price: Callable[[Floats], PlacePrices],
    allows: Callable[[Floats], NDArray[np.bool_]],
    *,
    arm_ft: float,
    turning: bool,
) -> tuple[Floats, PlacePrices] | None:
    """The cheapest place that a compass search comes to, and its price; None if nothing saves.

    Args:
        start: (3,) middle, x and y in ft, and turn in degrees.
        cost: What the base costs there.
        price: Prices of places (p, 3).
        allows: Which of them are allowed.
        arm_ft: From the middle to a corner: a turn moves corners as far as a move does.
        turning: Whether it may be turned.
    """
    ways = np.vstack([np.eye(3), -np.eye(3)]) * [1, 1, np.rad2deg(1 / arm_ft)]
    ways = ways if turning else ways[ways[:, 2] == 0]
    move, place, found = FIRST_MOVE_FT, start, None
    tried = np.arange(len(ways))
    for _ in range(ROUNDS):
        tries = place + move * ways[tried]
        fits = allows(tries)
        tries = tries[fits]
        prices = price(tries) if len(tries) else None
        if prices is not None and prices.cost.min() < cost:
            least = int(prices.cost.argmin())
            place, cost, found = tries[least], float(prices.cost[least]), prices.part([least])
            # All ways but the one back.
            back = (tried[fits][least] + len(ways) // 2) % len(ways)
            tried = np.delete(np.arange(len(ways)), back)
        else:
            move, tried = move / 2, np.arange(len(ways))
    return (place, found) if found is not None else None
