"""Cutting boards from stocked lengths at the least cost, proven.

Lengths are whole 1/32 in inside, or whole 1/2 mm where more of them are that: pieces and kerf are
rounded up, stock down, so no board is over-cut. Costs are whole cents. ``n`` pieces on a board take
``n`` cuts, or ``n - 1`` when they fill it to the end; both are the one rule *pieces, a kerf with
each, within length plus one kerf*.

Least cost first; among plans of equal cost the fewest boards; among those the longest single
off-cut, so that what is left over is worth keeping. The same job gives the same plan, whatever the
order in which pieces and stocks are listed, on every machine: searches are limited by counted
work. The time limit is a last resort, and a plan that met it says so (``timed_out``). A search for
the off-cut that does not end is left out.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimator.errors import InputError, SolveError
from estimator.solve.cutting_finish import finish
from estimator.solve.cutting_master import least
from estimator.solve.cutting_patterns import Problem

_GRIDS_PER_IN = (32.0, 50.8)
"""Whole units that lengths are counted in: 32nds of an inch, or half millimetres."""
# Half a thousandth of a unit: swallows binary noise in typed lengths such as 0.1 ft.
_NOISE = 0.0005


class NotEnoughError(SolveError):
    """No plan within the boards in stock.

    Args:
        bound: Dollars that a plan costs at least, if there is one; infinite where there is none.
    """

    def __init__(
        self, what: str, *, where: str = "", cure: str = "", bound: float = math.inf
    ) -> None:
        super().__init__(what, where=where, cure=cure)
        self.bound = bound


@dataclass(frozen=True, slots=True)
class Piece:
    """Pieces wanted: a label for the saw, the finished length in inches, and how many."""

    label: str
    length_in: float
    count: int


@dataclass(frozen=True, slots=True)
class Stock:
    """A stocked board: price book item, nominal length in inches, price in dollars, and how many
    the yard has (None: as many as needed)."""

    item: str
    length_in: float
    price: float
    available: int | None = None


@dataclass(frozen=True, slots=True)
class Saw:
    """How boards are cut.

    Attributes:
        kerf_in: Width that one cut turns to dust.
        end_trim_in: Length lost from each board to squaring its ends, both ends together, the
            kerf of those cuts included.
        over_length_in: What a board measures beyond its nominal length; a 12 ft board often
            measures 12 ft 1 in (common practice, no source). Counted as usable, so leave it 0
            unless the boards at hand were measured.
    """

    kerf_in: float = 0.125
    end_trim_in: float = 0.0
    over_length_in: float = 0.0


@dataclass(frozen=True, slots=True)
class Board:
    """One board to buy and cut: its true length, the pieces in cutting order, and what is left."""

    item: str
    length_in: float
    pieces: tuple[tuple[str, float], ...]
    offcut_in: float


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Boards to buy and how to cut them.

    Attributes:
        boards: Longest stock first; a pattern that repeats stands together.
        cost: Dollars, the sum of the boards' prices.
        bound: Dollars; no plan costs less.
        proven: The cost is the least there is.
        gap: (cost - bound) / cost; 0 when proven.
        ties_settled: Also proven: fewest boards, then longest off-cut, at this cost.
        timed_out: The time limit was met, so that a faster machine may find another plan.
    """

    boards: tuple[Board, ...]
    cost: float
    bound: float
    proven: bool
    gap: float
    ties_settled: bool = True
    timed_out: bool = False


def cut(
    pieces: Sequence[Piece],
    stocks: Sequence[Stock],
    saw: Saw,
    *,
    effort: float = 1.0,
    time_limit_s: float = 60.0,
    below: float = math.inf,
) -> CutPlan:
    """The cheapest way to cut the pieces from the stocked lengths.

    Args:
        pieces: What is wanted; a count of 0 is allowed.
        stocks: What can be bought.
        saw: Kerf, end trim and over-length, inches.
        effort: How much work is allowed, in multiples of what a job usually takes: a quantity
            counted, not timed. Beyond it the best plan so far is returned with its gap.
        time_limit_s: Seconds after which that is done in any case.
        below: Only a plan of fewer dollars is of use: the search ends where there is none, with a
            plan that is not the least and a bound of no less than this.

    Returns:
        The plan; ``proven`` says whether its cost is the least. Without pieces, an empty plan.

    Raises:
        InputError: A length, price, count or limit that can't be.
        SolveError: A piece longer than every board.
        NotEnoughError: Not enough boards in stock.
    """
    deadline = _check(pieces, stocks, saw, time_limit_s) + time_limit_s
    wanted = sorted((p for p in pieces if p.count), key=lambda p: (-p.length_in, p.label))
    if not wanted:
        return CutPlan((), 0.0, 0.0, True, 0.0)
    grid = _grid(
        [saw.kerf_in, *(p.length_in for p in wanted)],
        [s.length_in + saw.over_length_in for s in stocks],
    )
    kerf = grid.up(saw.kerf_in)
    trim = grid.up(saw.end_trim_in)
    usable = {s: grid.down(s.length_in + saw.over_length_in) - trim for s in stocks}
    demand: dict[int, int] = {}
    for p in wanted:
        size = grid.up(p.length_in) + kerf
        demand[size] = demand.get(size, 0) + p.count
    longest = max(usable.values(), default=0) + kerf
    for p in wanted:
        if grid.up(p.length_in) + kerf > longest:
            raise SolveError(
                f"{p.label} is {_inches(p.length_in)} long, and the longest board at hand gives"
                f" {_inches(max(0, longest - kerf) / grid.per_in)}.",
                cure="Stock a longer board, or bring the supports that it is joined over closer.",
            )
    kept = _worth_stocking(stocks, usable, min(demand) - kerf)
    if not kept:
        raise _not_enough()
    cents = {s: round(s.price * 100) for s in kept}
    total = sum(demand.values())
    # One objective for cost, then boards: a cent outweighs every board that a plan can have.
    boards_factor = total + 1
    weights = [cents[s] * boards_factor + 1 for s in kept]
    capacity = [usable[s] + kerf for s in kept]
    limits = [None if s.available is None else min(s.available, total) for s in kept]
    never = total * max(weights) + 1
    if all(a is not None or c < max(demand) for a, c in zip(limits, capacity, strict=True)):
        # A board that no yard has, dearer than any plan, shows whether the limits leave a plan.
        weights.append(never)
        capacity.append(longest)
        limits.append(None)
    sizes = sorted(demand, reverse=True)
    unit = math.gcd(*sizes)
    problem = Problem(
        sizes=tuple(w // unit for w in sizes),
        demand=tuple(demand[w] for w in sizes),
        capacity=tuple(c // unit for c in capacity),
        weight=tuple(weights),
        limit=tuple(limits),
    )
    enough = below if math.isinf(below) else round(below * 100) * boards_factor
    answer = least(problem, deadline=deadline, effort=effort, below=enough)
    bound = max(0, -(-(answer.bound - total) // boards_factor))
    if answer.bound >= never:
        raise _not_enough()
    if answer.weight >= never:
        raise NotEnoughError(
            "No plan within the boards in stock was found with the work allowed.",
            cure="Raise what is in stock, or stock another length.",
            bound=bound / 100,
        )
    rooms = [usable[s] for s in kept]
    useful = answer.weight < enough
    plan, longest_proven = finish(problem, answer, rooms, unit, deadline=deadline, settle=useful)
    boards = [(kept[s], counts) for s, counts in plan]
    cost = sum(cents[s] for s, _ in boards)
    bound = min(cost, bound)
    proven = bound == cost
    return CutPlan(
        boards=_labelled(boards, sizes, wanted, usable, saw, grid),
        cost=cost / 100,
        bound=bound / 100,
        proven=proven,
        gap=0.0 if proven else (cost - bound) / cost,
        ties_settled=answer.bound == answer.weight and longest_proven,
        timed_out=time.monotonic() > deadline,
    )


def one_plan_with(
    blocks: Sequence[Piece], pieces: Sequence[Piece], stocks: Sequence[Stock], saw: Saw
) -> bool:
    """Whether a plan of pieces whose off-cuts give the blocks is one of both cut together.

    It is where all are counted in the same units: the pieces alone and beside the blocks, and the
    blocks on off-cuts. Those are whole in units of the plan, until blocks are taken that are not.
    """
    boards = [s.length_in + saw.over_length_in for s in stocks]
    own = [saw.kerf_in, *(p.length_in for p in blocks if p.count)]
    alone = [saw.kerf_in, *(p.length_in for p in pieces if p.count)]
    grid = _grid(alone, boards)
    alike = not grid.off(own) or (len(blocks) == 1 and grid == _grid(own, ()))
    return alike and grid == _grid([*alone, *own], boards)


def blocking_from_offcuts(
    plan: CutPlan, block_length_in: float, wanted: int, kerf_in: float
) -> tuple[tuple[tuple[str, int], ...], int]:
    """Blocks that the off-cuts of a plan yield before a board is bought for them.

    Args:
        plan: A cut plan; the off-cut of a board has been cut off already.
        block_length_in: Finished length of a block, inches.
        wanted: Blocks wanted.
        kerf_in: Width of a cut, inches.

    Returns:
        Board by board (``"12 ft #3"``: item and its place in the plan, counted from 1) the blocks
        taken, shortest sufficient off-cuts first so that long ones stay whole; and the number
        still wanted.

    Raises:
        InputError: A length that is not positive, a negative count or kerf.
    """
    _positive(block_length_in, "The block length")
    _not_negative(kerf_in, "The kerf")
    if wanted < 0:
        raise InputError(f"The number of blocks is {wanted}.", cure="Enter 0 or more.")
    grid = _grid([block_length_in, kerf_in], [board.offcut_in for board in plan.boards])
    size = grid.up(block_length_in) + grid.up(kerf_in)
    taken = []
    order = sorted(range(len(plan.boards)), key=lambda b: (plan.boards[b].offcut_in, b))
    for b in order:
        fits = (grid.down(plan.boards[b].offcut_in) + grid.up(kerf_in)) // size
        n = min(wanted, fits)
        if n > 0:
            taken.append((f"{plan.boards[b].item} #{b + 1}", n))
            wanted -= n
    return tuple(taken), wanted


def _not_enough() -> NotEnoughError:
    return NotEnoughError(
        "The boards in stock are not enough for the pieces.",
        cure="Raise what is in stock, or stock another length.",
    )


@dataclass(frozen=True, slots=True)
class _Grid:
    """Whole units of length, so many to the inch."""

    per_in: float

    def up(self, length_in: float) -> int:
        """Units that hold a length."""
        return math.ceil(length_in * self.per_in - _NOISE)

    def down(self, length_in: float) -> int:
        """Units that a length holds."""
        return math.floor(length_in * self.per_in + _NOISE)

    def off(self, lengths_in: Iterable[float]) -> int:
        """How many of the different lengths are not whole."""
        return sum(self.up(x) != self.down(x) for x in {*lengths_in})


def _grid(wanted_in: Sequence[float], boards_in: Sequence[float]) -> _Grid:
    """The grid on which most of the lengths are whole: rounding to the other costs boards."""
    lengths = {*wanted_in, *boards_in}
    return min(map(_Grid, _GRIDS_PER_IN), key=lambda grid: grid.off(lengths))


def _inches(length_in: float) -> str:
    return f"{{{length_in:g} in}}"


def _positive(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{what} is {value:g}.", cure="Enter a length above 0.")


def _not_negative(value: float, what: str) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise InputError(f"{what} is {value:g}.", cure="Enter 0 or more.")


def _check(
    pieces: Iterable[Piece], stocks: Iterable[Stock], saw: Saw, time_limit_s: float
) -> float:
    """Refuse what can't be; returns the time on the clock that deadlines use."""
    for p in pieces:
        _positive(p.length_in, f"The length of {p.label}")
        _not_negative(p.count, f"The number of {p.label}")
        if p.count != int(p.count):
            raise InputError(f"The number of {p.label} is {p.count}.", cure="Enter a whole number.")
    for s in stocks:
        _positive(s.length_in, f"The length of {s.item}")
        _not_negative(s.price, f"The price of {s.item}")
        if s.available is not None:
            _not_negative(s.available, f"The number of {s.item} in stock")
    _not_negative(saw.kerf_in, "The kerf")
    _not_negative(saw.end_trim_in, "The end trim")
    _not_negative(saw.over_length_in, "The over-length")
    _positive(time_limit_s, "The time limit")
    return time.monotonic()


def _worth_stocking(
    stocks: Iterable[Stock], usable: dict[Stock, int], shortest: int
) -> list[Stock]:
    """Stocks in a fixed order, without those that another stock without a limit makes pointless."""
    order = sorted(
        stocks,
        key=lambda s: (-usable[s], s.available is not None, s.price, s.item, s.available or 0),
    )
    kept: list[Stock] = []
    for s in order:
        if usable[s] < shortest or s.available == 0:
            continue
        if any(k.available is None and round(k.price * 100) <= round(s.price * 100) for k in kept):
            continue
        kept.append(s)
    return kept


def _labelled(
    boards: Sequence[tuple[Stock, tuple[int, ...]]],
    sizes: Sequence[int],
    wanted: Sequence[Piece],
    usable: dict[Stock, int],
    saw: Saw,
    grid: _Grid,
) -> tuple[Board, ...]:
    """Boards in a fixed order, the pieces of each with their labels and finished lengths."""
    kerf = grid.up(saw.kerf_in)
    names: dict[int, list[tuple[str, float]]] = {w: [] for w in sizes}
    for p in wanted:
        names[grid.up(p.length_in) + kerf] += [(p.label, p.length_in)] * p.count
    queues = {w: iter(v) for w, v in names.items()}
    done = []
    for stock, counts in sorted(
        boards, key=lambda b: (-usable[b[0]], b[0].item, tuple(-a for a in b[1]))
    ):
        cut_off = sum(a * w for a, w in zip(counts, sizes, strict=True))
        pieces = tuple(
            next(queues[w]) for a, w in zip(counts, sizes, strict=True) for _ in range(a)
        )
        done.append(
            Board(
                stock.item,
                stock.length_in + saw.over_length_in,
                pieces,
                max(0, usable[stock] - cut_off) / grid.per_in,
            )
        )
    return tuple(done)
