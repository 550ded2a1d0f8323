"""A quick lower bound on what boards cost, to tell designs apart before any is cut.

A worth is given to each piece so that no board can yield more worth than it costs; then no plan
costs less than the worth of all pieces (duality of linear programs; the cutting problem of Gilmore
and Gomory, 1961, from memory). Worths by length alone are one way; others take the sizes in turn,
each as high as those before it leave room for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import permutations

Sizes = Sequence[tuple[float, int]]
"""Length and number of pieces."""
Boards = Sequence[tuple[float, float]]
"""Usable length and price of each board stocked."""

_MOST_SIZES = 4
"""Sizes taken in turn; the rest, of which there is least, count nothing there."""
_MOST_WAYS = 400
"""Ways to fill a board that are looked through for one worth; above it the worth is 0."""
_DUST = 1e-9
_SLACK = 0.01
"""Added to every board, since the saw's plan counts lengths in whole units, with a little noise."""


def least_cost(pieces: Sizes, boards: Boards, kerf: float, loose: float = 0.0) -> float:
    """A cost that no plan is below; infinite where a piece is longer than every board.

    Args:
        pieces: What is wanted whole.
        boards: What can be bought, as many as needed.
        kerf: Width of a cut, in the unit of the lengths.
        loose: Length of what may be joined anywhere, all together.
    """
    wanted = [(length + kerf, count) for length, count in pieces if count > 0 and length > 0]
    room = [(length + kerf + _SLACK, price) for length, price in boards]
    if not wanted and loose <= 0:
        return 0.0
    longest = max((length for length, _ in room), default=0.0)
    if longest <= 0 or any(size > longest + _DUST for size, _ in wanted):
        return math.inf
    rate = min(price / length for length, price in room)
    best = rate * (sum(size * count for size, count in wanted) + loose)
    large = sorted(wanted, key=lambda piece: -piece[0] * piece[1])[:_MOST_SIZES]
    for order in permutations(large, min(len(large), 3)):
        best = max(best, _in_turn(order, room))
    return best


def _in_turn(order: Sizes, room: Boards) -> float:
    """The bound by worths set one size after the other."""
    worth: list[tuple[float, float]] = []
    total = 0.0
    for size, count in order:
        value = _room_left(worth, size, room)
        worth.append((size, value))
        total += value * count
    return total


def _room_left(worth: Sequence[tuple[float, float]], size: float, room: Boards) -> float:
    """Most that a piece may be worth beside those that have their worth."""
    least = math.inf
    for length, price in room:
        for way, (rest, used) in enumerate(_fillings(worth, length)):
            if way >= _MOST_WAYS:
                return 0.0
            fits = math.floor(rest / size + _DUST)
            if fits:
                least = min(least, (price - used) / fits)
    return max(least, 0.0) if math.isfinite(least) else 0.0


def _fillings(worth: Sequence[tuple[float, float]], length: float) -> Iterator[tuple[float, float]]:
    """Length left and worth used of every way to fill a board with these sizes."""
    if not worth:
        yield length, 0.0
        return
    size, value = worth[-1]
    for count in range(math.floor(length / size + _DUST) + 1):
        for rest, used in _fillings(worth[:-1], length - count * size):
            yield rest, used + count * value
