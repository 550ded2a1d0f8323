"""What contributions want cut: pieces by stock, joined as each says."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any

from estimator.model import adds
from estimator.model.solvers.reads import Reads
from estimator.solve.cutting import Piece, Stock
from estimator.units import IN_PER_FT

WAYS = 12
"""Most sets of joints that are tried for one piece."""
Joints = Mapping[str, tuple[float, ...]]
"""By key of a piece that is joined on joists, where, in from corner 1; nowhere if it is whole."""
Problem = tuple[str, tuple[tuple[float, int], ...], float, tuple[Any, ...], tuple[Any, ...]]
"""What is cut from one stock; see :meth:`Wanted.problems`."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the assemblies want cut, in the order in which they add it."""

    pieces: tuple[adds.Piece, ...]
    lists: tuple[adds.PieceList, ...]

    def reads(self) -> tuple[str, ...]:
        """Keys that :meth:`pieces_of`, :meth:`blocks_of` and :meth:`ways` read."""
        lines = [p.line(end) for p in self.pieces for end in ("stock", "length_in", "count")]
        for each in self.lists:
            lines += [each.line("stock"), each.lengths, *filter(None, (each.counts,))]
        beside = ("joist_on", "joist_near_in", "joist_width_in", "bay_along_ft")
        return (*dict.fromkeys(lines), *beside)

    def pieces_of(self, q: Reads, option: int, joints: Joints) -> dict[str, list[Piece]]:
        """Pieces by stock, but those that off-cuts may give."""
        found: dict[str, list[Piece]] = {}
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if stock and one.joined != adds.FROM_OFFCUTS:
                parts = _parts(q, option, one, stock, piece, joints.get(one.key, ()))
                found.setdefault(stock, []).extend(parts)
        for each in self.lists:
            stock = q.text(each.line("stock"), option)
            lengths = q.column(each.lengths, option)
            counts = q.column(each.counts, option) if each.counts else [1] * len(lengths)
            sizes: Counter[float] = Counter()
            for length, count in zip(lengths, counts, strict=True):
                if stock and length > 0 and count > 0:
                    sizes[float(length)] += int(count)
            if sizes:
                found.setdefault(stock, []).extend(
                    Piece(each.mark, length, count) for length, count in sorted(sizes.items())
                )
        return found

    def problems(self, q: Reads, option: int) -> tuple[Problem, ...]:
        """What is cut, by stock: all that decides how, and first what no plan does without.

        Each is the stock, in small letters; length and number of pieces, blocks that off-cuts may
        give left out; length of what is joined on joists, all together; and what else decides.
        """
        ways, blocks = self.ways(q, option), self.blocks_of(q, option)
        pieces = self.pieces_of(q, option, {})
        joined = {key: stock for key, (stock, sets) in ways.items() if sets[0]}
        loose: Counter[str] = Counter()
        sizes = {stock: Counter({p.length_in: 0 for p in each}) for stock, each in pieces.items()}
        for stock, each in pieces.items():
            for piece in each:
                sizes[stock][piece.length_in] += piece.count
        for one in self.pieces:
            if one.key in joined:
                stock, piece = _single(q, option, one)
                sizes[stock][round(piece.length_in, 6)] -= piece.count
                loose[stock] += piece.length_in * piece.count
        return tuple(
            (
                stock.casefold(),
                tuple(sorted((size, n) for size, n in sizes.get(stock, Counter()).items() if n)),
                float(loose[stock]),
                tuple((b.length_in, b.count) for b in blocks.get(stock, ())),
                tuple(ways[key][1] for key in joined if joined[key] == stock),
            )
            for stock in sorted({*pieces, *blocks})
        )

    def blocks_of(self, q: Reads, option: int) -> dict[str, list[Piece]]:
        """Pieces by stock that off-cuts give first."""
        found: dict[str, list[Piece]] = {}
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if stock and one.joined == adds.FROM_OFFCUTS:
                found.setdefault(stock, []).append(piece)
        return found

    def ways(self, q: Reads, option: int) -> dict[str, tuple[str, Sequence[tuple[float, ...]]]]:
        """By key of a piece that is joined on joists: its stock, and where it may be joined."""
        found: dict[str, tuple[str, Sequence[tuple[float, ...]]]] = {}
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if stock and one.joined == adds.ON_JOISTS:
                found[one.key] = stock, _ways(q, option, piece.length_in, longest_in(q, stock))
        return found


def _single(q: Reads, option: int, one: adds.Piece) -> tuple[str, Piece]:
    """Stock and pieces of one contribution; no stock where none are wanted."""
    stock, count = q.text(one.line("stock"), option), int(q.number(one.line("count"), option))
    length = q.number(one.line("length_in"), option)
    if not stock or count <= 0 or length <= 0:
        return "", Piece(one.mark, 0.0, 0)
    return stock, Piece(one.mark, length, count)


def stocks_of(q: Reads, stock: str) -> list[Stock]:
    """Boards of a stock in the price book."""
    category, name = q.column("item_category"), q.column("item_stock")
    found = []
    for i in range(len(name)):
        if category[i] != "lumber" or str(name[i]).casefold() != stock.casefold():
            continue
        limit = q.number("item_limit", 0, i)
        found.append(
            Stock(
                q.text("item_key", 0, i),
                q.number("item_length_ft", 0, i) * IN_PER_FT,
                q.number("item_price", 0, i),
                int(limit) if limit > 0 else None,
            )
        )
    return found


def longest_in(q: Reads, stock: str) -> float:
    """Usable length of the longest board of a stock, in."""
    longest = max((s.length_in for s in stocks_of(q, stock)), default=0.0)
    return longest + q.number("over_length_in") - q.number("end_trim_in")


def _parts(
    q: Reads,
    option: int,
    one: adds.Piece,
    stock: str,
    piece: Piece,
    joints: tuple[float, ...],
) -> list[Piece]:
    """Pieces that may be joined are cut into parts no longer than the longest board."""
    longest, length, count = longest_in(q, stock), piece.length_in, piece.count
    if one.joined == adds.WHOLE or length <= longest or longest <= 0:
        return [piece]
    if one.joined == adds.OVER_SUPPORTS:
        bay = q.number("bay_along_ft", option) * IN_PER_FT
        bays = max(1, math.floor(longest / bay + 1e-9))
        whole = round(length / bay)
        parts = [bays * bay] * (whole // bays) + ([whole % bays * bay] if whole % bays else [])
        sizes = Counter(parts)
        return [Piece(one.mark, size, n * count) for size, n in sorted(sizes.items())]
    if one.joined == adds.ON_JOISTS:
        sizes = Counter(round(part, 6) for part in _between(joints, length))
        return [Piece(f"{one.mark} part", size, n * count) for size, n in sorted(sizes.items())]
    parts_each = math.ceil(length / longest - 1e-9)
    return [Piece(f"{one.mark} part", length / parts_each, parts_each * count)]


def _between(joints: Sequence[float], length: float) -> list[float]:
    stops = [0.0, *joints, length]
    return [b - a for a, b in pairwise(stops)]


def _ways(q: Reads, option: int, length: float, longest: float) -> tuple[tuple[float, ...], ...]:
    """Where a piece along the front may be joined, each way on the middle of joists (in).

    In as few parts as the longest board allows, each set of part lengths once, the longest parts
    first and no more than ``WAYS``; the cut plan settles which is cheapest. One empty way where
    it comes in one piece.
    """
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
            return tuple(found[parts] for parts in sorted(found, reverse=True)[:WAYS])
    return ((),)
