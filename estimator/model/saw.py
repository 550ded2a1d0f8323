"""Solver of the saw: boards cut at least cost."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Any

import numpy as np

from estimator.amounts import either
from estimator.errors import EstimatorError, SolveError
from estimator.model.cut_plan import BOARDS, OFFCUTS
from estimator.model.prices import ITEMS
from estimator.model.reads import Reads, as_texts, blanks, zeros
from estimator.rows import OPTION_KEYS
from estimator.solve.cutting import Board, CutPlan, Piece, Saw, Stock, blocking_from_offcuts, cut
from estimator.units import IN_PER_FT, format_feet_inches, format_mm

LABELS = ("joist", "rim", "skid", "beam board")
RIM_WAYS = 12
BAR_WIDTH = 48
PIECE_MARKS, OFFCUT_MARK = "█▓", "░"


def solve_cutting(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Boards by item for every option, and what is cut from each."""
    q = Reads(values)
    row = {
        k: zeros()
        for k in ("cut_cost", "cut_bound", "cut_boards", "blocks_from_offcuts", "cut_waste_ft")
    }
    proof, joints = blanks(), blanks()
    boards = zeros(ITEMS)
    listed: list[tuple[str, str, float, int, str, float, str]] = []
    kept: Counter[tuple[str, float, str]] = Counter()
    for option in q.options():
        ways = _rim_ways(q, option)
        rim_stock = q.text("piece_stock", option, LABELS.index("rim"))
        wanted = _pieces(q, option, ways[0])
        proven = True
        for stock in sorted(wanted):
            plan, blocks = _cut_stock(q, option, stock, wanted[stock])
            if stock == rim_stock:
                joints[option] = _running(ways[0])
                for way in ways[1:]:
                    other = _cut_stock(q, option, stock, _pieces(q, option, way)[stock])
                    if other[0].cost < plan.cost:
                        (plan, blocks), joints[option] = other, _running(way)
            proven = proven and plan.proven
            row["cut_cost"][option] += plan.cost
            row["cut_bound"][option] += plan.bound
            row["cut_boards"][option] += len(plan.boards)
            row["blocks_from_offcuts"][option] += blocks
            row["cut_waste_ft"][option] += sum(b.offcut_in for b in plan.boards) / IN_PER_FT
            _count_boards(q, plan, boards, option)
            listed += _list_boards(q, plan, OPTION_KEYS[option])
            kept.update(
                (OPTION_KEYS[option], round(board.offcut_in, 4), stock)
                for board in plan.boards
                if board.offcut_in >= q.number("block_reuse_in")
            )
        proof[option] = "least cost, proven" if proven else "best found; see the bound"
    if len(listed) > BOARDS:
        raise SolveError(
            f"the cut plan has {len(listed)} lines; the table holds {BOARDS}.",
            where="Cut Plan",
            cure="Compare fewer options at a time.",
        )
    return {
        **row,
        "cut_proven": as_texts(proof),
        "rim_joints": as_texts(joints),
        "item_boards": boards,
        **_board_table(listed),
        **_kept_table(kept),
    }


def _kept_table(kept: Counter[tuple[str, float, str]]) -> dict[str, Any]:
    """Off-cuts to keep, option by option, longest first; what the table can't hold is counted.

    A line is every off-cut alike of an option. The longest lines of every option come first where
    the table is short, so that no option loses its list to those before it.
    """
    option, item = (np.full((1, OFFCUTS), "", dtype=object) for _ in range(2))
    count, length = np.zeros((1, OFFCUTS)), np.zeros((1, OFFCUTS))
    order = sorted(kept.items(), key=lambda k: (k[0][0], -k[0][1], k[0][2]))
    ranks: Counter[str] = Counter()
    by_rank = []
    for line in order:
        by_rank.append((ranks[line[0][0]], line))
        ranks[line[0][0]] += 1
    listed = {id(line) for _, line in sorted(by_rank, key=lambda pair: pair[0])[:OFFCUTS]}
    unlisted, unlisted_ft = zeros(), zeros()
    for (letter, size, _), n in (line for line in order if id(line) not in listed):
        unlisted[OPTION_KEYS.index(letter)] += n
        unlisted_ft[OPTION_KEYS.index(letter)] += n * size / IN_PER_FT
    for i, ((letter, size, stock), n) in enumerate(line for line in order if id(line) in listed):
        option[0, i], item[0, i], count[0, i], length[0, i] = letter, stock, n, size
    return {
        "offcuts_unlisted": unlisted,
        "offcuts_unlisted_ft": unlisted_ft,
        "offcut_option": as_texts(option),
        "offcut_item": as_texts(item),
        "offcut_count": count,
        "offcut_length_in": length,
    }


def _pieces(q: Reads, option: int, joints: tuple[float, ...]) -> dict[str, list[Piece]]:
    """Pieces wanted by stock, timbers and headers included, the rims joined at ``joints``."""
    found: dict[str, list[Piece]] = {}
    for i, label in enumerate(LABELS):
        stock, count = q.text("piece_stock", option, i), int(q.number("piece_count", option, i))
        length = q.number("piece_length", option, i)
        if stock and count > 0 and length > 0:
            found.setdefault(stock, []).extend(
                _joined(q, option, stock, label, length, count, joints)
            )
    stock = q.text("joist_stock_used", option)
    for count, length in zip(
        q.column("header_count", option), q.column("header_length_in", option), strict=True
    ):
        if count > 0 and length > 0:
            found.setdefault(stock, []).append(Piece("header", float(length), int(count)))
    stock = q.text("timber_stock", option)
    lengths = Counter(float(x) for x in q.column("timber_length_in", option) if x > 0)
    if stock and lengths:
        found.setdefault(stock, []).extend(
            Piece("timber", length, count) for length, count in sorted(lengths.items())
        )
    return found


def _stocks(q: Reads, stock: str) -> list[tuple[int, Stock]]:
    category, name = q.column("item_category"), q.column("item_stock")
    rows = []
    for i in range(len(name)):
        if category[i] != "lumber" or str(name[i]).casefold() != stock.casefold():
            continue
        limit = q.number("item_limit", 0, i)
        rows.append(
            (
                i,
                Stock(
                    q.text("item_key", 0, i),
                    q.number("item_length_ft", 0, i) * IN_PER_FT,
                    q.number("item_price", 0, i),
                    int(limit) if limit > 0 else None,
                ),
            )
        )
    return rows


def _joined(
    q: Reads,
    option: int,
    stock: str,
    label: str,
    length: float,
    count: int,
    joints: tuple[float, ...],
) -> list[Piece]:
    """Pieces that may be joined are cut into parts no longer than the longest board.

    Rims are joined on a joist, beam boards over a support; skids lap on the stone, in equal parts.
    """
    longest = _longest_in(q, stock)
    if label == "joist" or length <= longest or longest <= 0:
        return [Piece(label, length, count)]
    if label == "beam board":
        bay = q.number("bay_along_ft", option) * IN_PER_FT
        bays = max(1, math.floor(longest / bay + 1e-9))
        whole = round(length / bay)
        parts = [bays * bay] * (whole // bays) + ([whole % bays * bay] if whole % bays else [])
        sizes = Counter(parts)
        return [Piece(label, size, n * count) for size, n in sorted(sizes.items())]
    if label == "rim":
        sizes = Counter(round(part, 6) for part in _between(joints, length))
        return [Piece("rim part", size, n * count) for size, n in sorted(sizes.items())]
    parts_each = math.ceil(length / longest - 1e-9)
    return [Piece(f"{label} part", length / parts_each, parts_each * count)]


def _running(joints: Sequence[float]) -> str:
    """Joints as running measurements from corner 1."""
    return ", ".join(inches(x) for x in joints)


def _between(joints: Sequence[float], length: float) -> list[float]:
    stops = [0.0, *joints, length]
    return [b - a for a, b in pairwise(stops)]


def _rim_ways(q: Reads, option: int) -> tuple[tuple[float, ...], ...]:
    """Where a rim may be joined, from corner 1, each way on the middle of joists (in).

    In as few parts as the longest board allows, each set of part lengths once, the longest parts
    first and no more than ``RIM_WAYS``; the cut plan settles which is cheapest. One empty way
    where a rim comes in one piece.
    """
    row = LABELS.index("rim")
    stock, length = q.text("piece_stock", option, row), q.number("piece_length", option, row)
    longest = _longest_in(q, stock)
    on = q.column("joist_on", option) > 0
    half = q.number("joist_width_in", option) / 2
    joists = [float(x) + half for x in q.column("joist_near_in", option)[on][1:-1]]
    if length <= longest or longest <= 0:
        return ((),)
    for joints in range(math.ceil(length / longest - 1e-9) - 1, len(joists) + 1):
        found: dict[tuple[float, ...], tuple[float, ...]] = {}
        for way in combinations(joists, joints):
            parts = sorted((round(p, 4) for p in _between(way, length)), reverse=True)
            if parts[0] <= longest + 1e-9:
                found.setdefault(tuple(parts), way)
        if found:
            return tuple(found[parts] for parts in sorted(found, reverse=True)[:RIM_WAYS])
    return ((),)


def _longest_in(q: Reads, stock: str) -> float:
    longest = max((s.length_in for _, s in _stocks(q, stock)), default=0.0)
    return longest + q.number("over_length_in") - q.number("end_trim_in")


def _cut_stock(q: Reads, option: int, stock: str, pieces: list[Piece]) -> tuple[CutPlan, int]:
    """Plan of one stock, and the blocks that its off-cuts give."""
    saw = Saw(q.number("kerf_in"), q.number("end_trim_in"), q.number("over_length_in"))
    stocks = [s for _, s in _stocks(q, stock)]
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
    wanted = (
        int(q.number("blocking_count", option))
        if stock == q.text("joist_stock_used", option)
        else 0
    )
    block = q.number("block_length_in", option)
    reuse = block >= q.number("block_reuse_in")
    try:
        return _plan(tuple(pieces), tuple(stocks), saw, Piece("block", block, wanted), reuse)
    except EstimatorError as error:
        raise SolveError(
            f"option {letter}, {stock}: {error.what}", where="Prices", cure=error.cure
        ) from error


@lru_cache(maxsize=64)
def _plan(
    pieces: tuple[Piece, ...], stocks: tuple[Stock, ...], saw: Saw, block: Piece, reuse: bool
) -> tuple[CutPlan, int]:
    """Plan of one stock; blocks come from off-cuts, or are cut with the rest if those fall short.

    Cut with the rest, all blocks go into the plan: with other boards the off-cuts are others too.
    """
    plan = cut(pieces, stocks, saw)
    if block.count == 0 or block.length_in <= 0:
        return plan, 0
    if reuse:
        taken, left = blocking_from_offcuts(plan, block.length_in, block.count, saw.kerf_in)
        if not left:
            return _with_blocks(plan, block, taken, saw.kerf_in), block.count
    return cut([*pieces, block], stocks, saw), 0


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


def _count_boards(q: Reads, plan: CutPlan, boards: Any, option: int) -> None:
    keys = [str(k) for k in q.column("item_key")]
    for board in plan.boards:
        boards[option, keys.index(board.item)] += 1


def _list_boards(
    q: Reads, plan: CutPlan, letter: str
) -> list[tuple[str, str, float, int, str, float, str]]:
    keys = [str(k) for k in q.column("item_key")]
    alike: dict[Board, list[Board]] = {}
    for board in plan.boards:  # lengths that differ by less than a saw can cut are alike
        sizes = tuple((label, round(size, 4)) for label, size in board.pieces)
        shown = replace(board, pieces=sizes, offcut_in=round(board.offcut_in, 4))
        alike.setdefault(shown, []).append(board)
    lines = []
    for board, count in ((boards[0], len(boards)) for boards in alike.values()):
        cuts = Counter((label, round(size, 4)) for label, size in board.pieces)
        text = ", ".join(f"{n} {label} {inches(size)}" for (label, size), n in cuts.items())
        lines.append(
            (
                letter,
                q.text("item_name", 0, keys.index(board.item)),
                board.length_in / IN_PER_FT,
                count,
                text,
                board.offcut_in,
                _bar(board.length_in, [size for _, size in board.pieces]),
            )
        )
    return lines


def inches(size: float) -> str:
    """A length in inches as a tape reads: in each measure its own."""
    return either(format_feet_inches(size / IN_PER_FT), format_mm(size / IN_PER_FT))


def _bar(length: float, pieces: list[float]) -> str:
    """A board as a bar of text in true proportion; pieces alternate, the off-cut is dotted."""
    bar, done = "", 0.0
    for number, size in enumerate(pieces):
        done += size
        stop = max(round(BAR_WIDTH * done / length), len(bar) + 1)
        bar = bar.ljust(stop, PIECE_MARKS[number % 2])
    return bar.ljust(BAR_WIDTH, OFFCUT_MARK)


def _board_table(listed: list[tuple[str, str, float, int, str, float, str]]) -> dict[str, Any]:
    texts = {k: np.full((1, BOARDS), "", dtype=object) for k in ("option", "item", "pieces", "bar")}
    numbers = {k: np.zeros((1, BOARDS)) for k in ("length_ft", "count", "offcut_in")}
    for i, (letter, item, length, count, pieces, offcut, bar) in enumerate(listed):
        texts["option"][0, i], texts["item"][0, i] = letter, item
        texts["pieces"][0, i], texts["bar"][0, i] = pieces, bar
        numbers["length_ft"][0, i], numbers["count"][0, i] = length, count
        numbers["offcut_in"][0, i] = offcut
    return {f"board_{k}": as_texts(v) for k, v in texts.items()} | {
        f"board_{k}": v for k, v in numbers.items()
    }
