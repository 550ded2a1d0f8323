"""What contributions want cut: pieces by stock, joined as each says."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any

import numpy as np

from estimator.model import adds
from estimator.model.solvers.reads import Reader, Reads
from estimator.solve.cutting import Piece, Stock
from estimator.solve.joint_ways import Joined, Way
from estimator.units import IN_PER_FT

PART_READS = ("joist_parts", "joist_front_in", "joist_middle_in", "joist_back_in")
"""How many parts a joist comes in, and their lengths."""
Joints = Mapping[str, tuple[float, ...]]
"""By key of a piece that is joined on joists, where, in from corner 1; nowhere if it is whole."""
Longest = Mapping[str, float]
"""Usable length of the longest board of every stock, in, by the stock in small letters."""
Kind = tuple[str, str, float]
"""Stock, what a piece is called, and its length, in: pieces that are alike to the saw."""
Problem = tuple[str, tuple[tuple[float, int], ...], float, tuple[Any, ...]]
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
        return (*dict.fromkeys(lines), *beside, *PART_READS)

    def where(self, asked: Callable[[adds.Piece], bool]) -> Wanted:
        """The same with those single pieces alone of which this is true."""
        return Wanted(tuple(filter(asked, self.pieces)), self.lists)

    def pieces_of(self, q: Reads, option: int, joints: Joints) -> dict[str, list[Piece]]:
        """Pieces by stock, but those that off-cuts may give."""
        found: dict[str, list[Piece]] = {}
        longest = longest_of(q)
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if stock and one.joined != adds.FROM_OFFCUTS:
                most = longest.get(stock.casefold(), 0.0)
                parts = _parts(q, option, one, piece, joints.get(one.key, ()), most)
                found.setdefault(stock, []).extend(parts)
        for each in self.lists:
            stock = q.text(each.line("stock"), option)
            sizes = _listed(q, option, each)
            if stock and sizes:
                found.setdefault(stock, []).extend(
                    Piece(each.mark, length, count) for length, count in sorted(sizes.items())
                )
        return found

    def problems(self, q: Reader, option: int, longest: Longest) -> tuple[Problem, ...]:
        """What is cut, by stock: all that decides how, and first what no plan does without.

        Each is the stock, in small letters; length and number of pieces, blocks that off-cuts may
        give left out; length of what is joined on joists, all together; and what else decides.

        Args:
            longest: As :func:`longest_of` says.
        """
        sizes: defaultdict[str, Counter[float]] = defaultdict(Counter)
        loose: defaultdict[str, float] = defaultdict(float)
        rest: dict[str, list[Any]] = {}
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if not stock:
                continue
            key = stock.casefold()
            most = longest.get(key, 0.0)
            more = rest.setdefault(key, [])
            if one.joined == adds.FROM_OFFCUTS:
                more.append((one.mark, piece.length_in, piece.count))
            elif one.joined == adds.ON_JOISTS and 0 < most < piece.length_in:
                loose[key] += piece.length_in * piece.count
                more.append((piece.length_in, piece.count, _middles(q, option)))
            else:
                _, lengths = _in_order(q, option, one, piece.length_in, (), most)
                for size in lengths:
                    sizes[key][size] += piece.count
        for each in self.lists:
            stock = q.text(each.line("stock"), option)
            if stock:
                rest.setdefault(stock.casefold(), [])
                sizes[stock.casefold()].update(_listed(q, option, each))
        return tuple(
            (stock, tuple(sorted(sizes[stock].items())), loose[stock], tuple(more))
            for stock, more in sorted(rest.items())
            if more or sizes[stock]
        )

    def blocks_of(self, q: Reads, option: int) -> dict[str, list[Piece]]:
        """Pieces by stock that off-cuts give first."""
        found: dict[str, list[Piece]] = {}
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if stock and one.joined == adds.FROM_OFFCUTS:
                found.setdefault(stock, []).append(piece)
        return found

    def marks_of(self, q: Reads, option: int, joints: Joints) -> dict[Kind, list[str]]:
        """Marks of the pieces: a letter or two, then the number of the piece, as the other sheets
        count it; of one in parts also that of the part, from its beginning."""
        found: defaultdict[Kind, list[str]] = defaultdict(list)
        counted: Counter[str] = Counter()
        longest = longest_of(q)
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if not stock:
                continue
            most = longest.get(stock.casefold(), 0.0)
            way = joints.get(one.key, ())
            label, lengths = _in_order(q, option, one, piece.length_in, way, most)
            for _ in range(piece.count):
                counted[one.code] += 1
                for part, size in enumerate(lengths, 1):
                    end = f".{part}" if len(lengths) > 1 else ""
                    found[kind_of(stock, label, size)].append(f"{one.code}{counted[one.code]}{end}")
        for each in self.lists:
            stock = q.text(each.line("stock"), option)
            for line, (size, count) in enumerate(_lines(q, option, each), 1):
                for number in range(1, int(count) + 1) if stock and size > 0 else ():
                    end = f".{number}" if each.counts else ""
                    found[kind_of(stock, each.mark, size)].append(f"{each.code}{line}{end}")
        return dict(found)

    def joined(self, q: Reads, option: int) -> dict[str, tuple[str, Joined, Way]]:
        """By key of a piece that is joined on joists: its stock, where it may be joined, and where
        it is at first; nowhere where it comes in one piece."""
        found: dict[str, tuple[str, Joined, Way]] = {}
        longest = longest_of(q)
        for one in self.pieces:
            stock, piece = _single(q, option, one)
            if stock and one.joined == adds.ON_JOISTS:
                most = longest.get(stock.casefold(), 0.0)
                middles = _middles(q, option)
                first = _first_way(piece.length_in, middles, most)
                may = Joined(piece.length_in, piece.count, middles, len(first) + 1)
                found[one.key] = stock, may, first
        return found


def kind_of(stock: str, label: str, size: float) -> Kind:
    """Pieces that differ by less than a saw can cut are alike."""
    return stock, label, round(float(size), 4)


def _single(q: Reader, option: int, one: adds.Piece) -> tuple[str, Piece]:
    """Stock and pieces of one contribution; no stock where none are wanted."""
    count = int(q.number(one.line("count"), option))
    if count > 0:
        stock, length = q.text(one.line("stock"), option), q.number(one.line("length_in"), option)
        if stock and length > 0:
            return stock, Piece(one.mark, length, count)
    return "", Piece(one.mark, 0.0, 0)


def _listed(q: Reader, option: int, each: adds.PieceList) -> Counter[float]:
    """Number of pieces of each length of a list."""
    sizes: Counter[float] = Counter()
    for length, count in _lines(q, option, each):
        if length > 0 and count > 0:
            sizes[length] += int(count)
    return sizes


def _lines(q: Reader, option: int, each: adds.PieceList) -> Iterator[tuple[float, float]]:
    """Length and number of pieces on every line of a list."""
    lengths = q.column(each.lengths, option).tolist()
    counts = q.column(each.counts, option).tolist() if each.counts else [1] * len(lengths)
    return zip(lengths, counts, strict=True)


def stocks_of(q: Reads, stock: str) -> list[Stock]:
    """Boards of a stock in the price book."""
    lumber = np.flatnonzero(q.column("item_category") == "lumber")
    names, name = q.column("item_stock")[lumber].tolist(), stock.casefold()
    found = []
    for i, each in zip(lumber.tolist(), names, strict=True):
        if each.casefold() != name:
            continue
        limit = q.number("item_limit", 0, i)
        found.append(
            Stock(
                q.text("item_name", 0, i),
                q.number("item_length_ft", 0, i) * IN_PER_FT,
                q.number("item_paid", 0, i),
                int(limit) if limit > 0 else None,
            )
        )
    return found


def longest_of(q: Reads) -> Longest:
    """Usable length of the longest board of every stock that the price book has."""
    found: dict[str, float] = {}
    extra = q.number("over_length_in") - q.number("end_trim_in")
    lumber = q.column("item_category") == "lumber"
    names, lengths_ft = (q.column(f"item_{key}")[lumber].tolist() for key in ("stock", "length_ft"))
    for stock, length in zip(names, lengths_ft, strict=True):
        key = stock.casefold()
        found[key] = max(found.get(key, 0.0), length * IN_PER_FT + extra)
    return found


def _parts(
    q: Reader,
    option: int,
    one: adds.Piece,
    piece: Piece,
    joints: tuple[float, ...],
    longest: float,
) -> list[Piece]:
    """Pieces that may be joined are cut into parts no longer than the longest board."""
    label, lengths = _in_order(q, option, one, piece.length_in, joints, longest)
    return [Piece(label, size, n * piece.count) for size, n in sorted(Counter(lengths).items())]


def _in_order(
    q: Reader,
    option: int,
    one: adds.Piece,
    length: float,
    joints: tuple[float, ...],
    longest: float,
) -> tuple[str, list[float]]:
    """What a piece of this length, or each of its parts, is called, and the lengths of those from
    its beginning to its end."""
    part = f"{one.mark} part"
    if one.joined in (adds.WHOLE, adds.FROM_OFFCUTS) or length <= longest or longest <= 0:
        return one.mark, [length]
    if one.joined == adds.OVER_SUPPORTS:
        bay = q.number("bay_along_ft", option) * IN_PER_FT
        bays = max(1, math.floor(longest / bay + 1e-9))
        whole = round(length / bay)
        rest = [whole % bays * bay] if whole % bays else []
        return one.mark, [bays * bay] * (whole // bays) + rest
    if one.joined == adds.OVER_BEARERS and q.number("joist_parts", option) > 0:
        return part, [round(size, 6) for size in _joist_parts(q, option)]
    if one.joined == adds.ON_JOISTS:
        return part, [round(size, 6) for size in _between(joints, length)]
    parts_each = math.ceil(length / longest - 1e-9)
    return part, [length / parts_each] * parts_each


def _joist_parts(q: Reader, option: int) -> list[float]:
    """Lengths of the parts that a joist comes in, from front to back (in)."""
    parts = int(q.number("joist_parts", option))
    front, middle, back = (q.number(key, option) for key in PART_READS[1:])
    return [front, *[middle] * (parts - 2), back] if parts > 1 else [front]


def _between(joints: Sequence[float], length: float) -> list[float]:
    stops = [0.0, *joints, length]
    return [b - a for a, b in pairwise(stops)]


def _middles(q: Reader, option: int) -> Way:
    """Middles of the joists but the outer ones, in from corner 1."""
    on = q.column("joist_on", option) > 0
    half = q.number("joist_width_in", option) / 2
    return tuple(float(x) + half for x in q.column("joist_near_in", option)[on][1:-1])


def _first_way(length: float, joists: Way, longest: float) -> Way:
    """In as few parts as the longest board allows, the longest parts first."""
    if length <= longest or longest <= 0:
        return ()
    for joints in range(math.ceil(length / longest - 1e-9) - 1, len(joists) + 1):
        found: dict[tuple[float, ...], Way] = {}
        for way in combinations(joists, joints):
            parts = sorted((round(p, 4) for p in _between(way, length)), reverse=True)
            if parts[0] <= longest + 1e-9:
                found.setdefault(tuple(parts), way)
        if found:
            return found[max(found)]
    return ()
