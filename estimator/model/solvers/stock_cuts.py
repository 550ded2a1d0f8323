"""Boards of one stock, and where what is longer than every board is joined, at least cost."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache

from estimator.errors import EstimatorError, OptionError, SolveError
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.wanted import Wanted, stocks_of
from estimator.rows import OPTION_KEYS
from estimator.solve.cutting import (
    CutPlan,
    NotEnoughError,
    Piece,
    Saw,
    Stock,
    blocking_from_offcuts,
    cut,
    one_plan_with,
)
from estimator.solve.joint_ways import Joined, Way, Ways, ways_below

WAYS = 160
"""Ways to join a piece that are cut, at most."""
_ways = lru_cache(maxsize=512)(ways_below)
"""Other options and other ground want the same joined."""


@dataclass(frozen=True, slots=True)
class OptionPieces:
    """What an option wants cut, read once.

    Args:
        q, option, wanted: Where it is read.
        joined: As :meth:`Wanted.joined` says.
        pieces: Pieces by stock, joined as they are at first.
        blocks: Pieces by stock that off-cuts give first.
    """

    q: Reads
    option: int
    wanted: Wanted
    joined: Mapping[str, tuple[str, Joined, Way]]
    pieces: Mapping[str, Sequence[Piece]]
    blocks: Mapping[str, Sequence[Piece]]

    @classmethod
    def of(cls, q: Reads, option: int, wanted: Wanted) -> OptionPieces:
        """Of one option."""
        joined = wanted.joined(q, option)
        pieces = wanted.pieces_of(q, option, _first_ways(joined))
        return cls(q, option, wanted, joined, pieces, wanted.blocks_of(q, option))

    def first(self) -> dict[str, Way]:
        """Where each piece is joined at first."""
        return _first_ways(self.joined)

    def plan(
        self, stock: str, pieces: Sequence[Piece], below: float = math.inf
    ) -> tuple[CutPlan, int]:
        """Plan of these pieces and the blocks of a stock; see :func:`_plan`."""
        return _cut_stock(self.q, self.option, stock, pieces, self.blocks.get(stock, ()), below)

    def joined_so(self, stock: str, joints: Mapping[str, Way]) -> Sequence[Piece]:
        """Pieces of a stock, joined there."""
        return self.wanted.pieces_of(self.q, self.option, joints).get(stock, ())

    def ways(self, stock: str, joints: Mapping[str, Way], keys: Sequence[str], cost: float) -> Ways:
        """Ways to join a piece that may cost less than a known cost, the others joined as they are.

        Args:
            keys: That piece; and those that are left out, since they may be joined otherwise too.
        """
        whole = self.wanted.where(lambda piece: piece.key not in keys)
        others = whole.pieces_of(self.q, self.option, joints).get(stock, [])
        others += self.blocks.get(stock, ())
        long, stocks = self.joined[keys[0]][1], stocks_of(self.q, stock)
        return _ways(long, tuple(others), tuple(stocks), saw_of(self.q), cost, WAYS)


def _first_ways(joined: Mapping[str, tuple[str, Joined, Way]]) -> dict[str, Way]:
    return {key: way for key, (_, _, way) in joined.items()}


@dataclass(frozen=True, slots=True)
class StockCuts:
    """How the boards of one stock are cut.

    Args:
        plan: Its bound is one for every way to join.
        given: Blocks that its off-cuts give.
        joints: Where each piece is joined.
        joinings: In how many ways to join a piece boards were cut, where others might cost less.
    """

    plan: CutPlan
    given: int
    joints: dict[str, Way]
    joinings: int


def cut_stock(own: OptionPieces, stock: str, joints: dict[str, Way]) -> StockCuts:
    """The boards of one stock and where its pieces are joined, at the least cost found.

    Args:
        own: What the option wants.
        stock: Of which stock.
        joints: Where each piece is joined; those of this stock as at first.

    Raises:
        OptionError: No board of the stock, no price, a piece too long or not enough boards.
    """
    try:
        return _least(own, stock, joints)
    except SolveError as error:
        raise OptionError.of(error, own.option) from error


def _least(own: OptionPieces, stock: str, joints: dict[str, Way]) -> StockCuts:
    keys = [key for key, (of, _, way) in own.joined.items() if of == stock and way]
    plan, given, joints = _first_plan(own, stock, joints, keys)
    joinings = 0
    for key in keys:
        best = _joined_best(own, stock, joints, key, plan, given)
        plan, given, joints = best.plan, best.given, {**joints, key: best.way}
        joinings = max(joinings, best.tried if best.more else 0)
    if len(keys) > 1:  # each was joined with the others joined as they were
        free = own.ways(stock, joints, keys, plan.cost).bound
        plan = _bounded(plan, min(plan.bound, free))
    return StockCuts(plan, given, joints, joinings)


def saw_of(q: Reads) -> Saw:
    return Saw(q.number("kerf_in"), q.number("end_trim_in"), q.number("over_length_in"))


@dataclass(frozen=True, slots=True)
class _Best:
    """The plan of the way to join that was found to cost least.

    Args:
        plan: Its bound is one for every way to join.
        given: Blocks that its off-cuts give.
        way: Where the piece is joined.
        tried: How many ways were.
        more: Whether others might cost less.
    """

    plan: CutPlan
    given: int
    way: Way
    tried: int
    more: bool


def _first_plan(
    own: OptionPieces, stock: str, joints: dict[str, Way], keys: Sequence[str]
) -> tuple[CutPlan, int, dict[str, Way]]:
    """Plan of a stock, the blocks that its off-cuts give, and where its pieces are joined: as at
    first, or in the first way found for which the yard has enough boards.

    Args:
        keys: Which pieces of this stock are joined.
    """
    try:
        return (*own.plan(stock, own.pieces.get(stock, ())), joints)
    except NotEnoughError as error:
        tried, every = 1, len(keys) < 2 and math.isinf(error.bound)
        for key in keys:
            may = own.ways(stock, joints, (key,), math.inf)
            every = every and may.every
            for other in may.ways:
                way = {**joints, key: other}
                try:
                    return (*own.plan(stock, own.joined_so(stock, way)), way)
                except NotEnoughError as again:
                    tried, every = tried + 1, every and math.isinf(again.bound)
        if every:
            raise
        raise SolveError(
            f"option {OPTION_KEYS[own.option]}, {stock}: no plan within the boards in stock was"
            f" found in {tried} ways to join what is longer than every board.",
            where=error.where,
            cure=error.cure,
        ) from error


def _joined_best(
    own: OptionPieces,
    stock: str,
    joints: Mapping[str, Way],
    key: str,
    plan: CutPlan,
    given: int,
) -> _Best:
    """Tries the ways to join a piece of which it is not known that they cost no less.

    Args:
        joints: Where each piece is joined.
        key: Which piece is to be joined otherwise.
        plan, given: What was found for its joints there.
    """
    way = joints[key]
    may = own.ways(stock, joints, (key,), plan.cost)
    least, tried = plan.bound, 1
    for other in may.ways:
        if plan.cost <= may.bound:
            break
        tried += 1
        try:
            pieces = own.joined_so(stock, {**joints, key: other})
            found, gives = own.plan(stock, pieces, plan.cost)
        except NotEnoughError as error:
            least = min(least, error.bound)
            continue
        least = min(least, found.bound)
        if found.cost < plan.cost:
            plan, given, way = found, gives, other
    more = not may.every and plan.cost > may.bound
    bound = min(plan.cost, may.bound if more else max(least, may.bound))
    return _Best(_bounded(plan, bound), given, way, tried, more)


def _bounded(plan: CutPlan, bound: float) -> CutPlan:
    """The plan where no way to join costs less than a bound."""
    proven = bound == plan.cost
    gap = 0.0 if proven else (plan.cost - bound) / plan.cost
    return replace(plan, bound=bound, proven=proven, gap=gap)


def _cut_stock(
    q: Reads,
    option: int,
    stock: str,
    pieces: Sequence[Piece],
    blocks: Sequence[Piece],
    below: float = math.inf,
) -> tuple[CutPlan, int]:
    """Plan of one stock, and how many blocks its off-cuts give; only one of fewer dollars than
    ``below`` is of use."""
    saw, stocks = saw_of(q), stocks_of(q, stock)
    letter = OPTION_KEYS[option]
    if not stocks:
        raise SolveError(
            f"option {letter} wants {stock} and the price book has none.",
            where="Prices",
            cure=f'Add items of category lumber with stock "{stock}" and a length.',
        )
    free = [s.item for s in stocks if s.price <= 0]
    if free:
        raise SolveError(
            f"there is no price for {free[0]}, which option {letter} may use.",
            where="Prices",
            cure="Type the price of a pack, or clear the line.",
        )
    try:
        reuse_in = q.number("block_reuse_in")
        return _plan(tuple(pieces), tuple(stocks), saw, tuple(blocks), reuse_in, below)
    except EstimatorError as error:
        what = f"option {letter}, {stock}: {error.what}"
        if isinstance(error, NotEnoughError):
            raise NotEnoughError(
                what, where="Prices", cure=error.cure, bound=error.bound
            ) from error
        raise SolveError(what, where="Prices", cure=error.cure) from error


@lru_cache(maxsize=512)
def _plan(
    pieces: tuple[Piece, ...],
    stocks: tuple[Stock, ...],
    saw: Saw,
    blocks: tuple[Piece, ...],
    reuse_in: float,
    below: float,
) -> tuple[CutPlan, int]:
    """Plan of one stock; blocks come from off-cuts, or are cut with the rest if those fall short.

    Cut with the rest, all blocks go into the plan: with other boards the off-cuts are others too.
    """
    every = [*pieces, *blocks]
    if not blocks or not pieces:
        return cut(every, stocks, saw, below=below), 0
    whole = None
    if below < math.inf and one_plan_with(blocks, pieces, stocks, saw):
        with suppress(NotEnoughError):
            whole = cut(every, stocks, saw, below=below)
        if whole and whole.bound >= below:
            return whole, 0
    plan = cut(pieces, stocks, saw, below=below)
    if plan.bound >= below:
        return plan, 0
    if all(block.length_in >= reuse_in for block in blocks):
        for block in blocks:
            taken, left = blocking_from_offcuts(plan, block.length_in, block.count, saw.kerf_in)
            if left:
                break
            plan = _with_blocks(plan, block, taken, saw.kerf_in)
        else:
            return plan, sum(block.count for block in blocks)
    return whole or cut(every, stocks, saw, below=below), 0


def _with_blocks(
    plan: CutPlan, block: Piece, taken: tuple[tuple[str, int], ...], kerf_in: float
) -> CutPlan:
    """The plan with the blocks drawn on the boards whose off-cuts give them."""
    boards = list(plan.boards)
    for name, count in taken:
        at = int(name.rpartition("#")[2]) - 1
        used = count * (block.length_in + kerf_in)
        boards[at] = replace(
            boards[at],
            pieces=boards[at].pieces + ((block.label, block.length_in),) * count,
            offcut_in=max(boards[at].offcut_in - used, 0.0),
        )
    return replace(plan, boards=tuple(boards))
