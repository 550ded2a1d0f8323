"""Solver of the saw: boards cut at least cost."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice, takewhile
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import either
from estimator.engine import Solver
from estimator.errors import SolveError
from estimator.model.cut_plan import BOARDS, DRAWN_WIDE, MARKS_LONG, OFFCUTS
from estimator.model.lumber.boards_cut import SAW_CUTS
from estimator.model.prices import ITEMS
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.model.solvers.stock_cuts import OptionPieces, cut_stock, saw_of
from estimator.model.solvers.wanted import Kind, Wanted, kind_of
from estimator.rows import OPTION_KEYS
from estimator.solve.cutting import Board, CutPlan, Saw
from estimator.units import IN_PER_FT, format_feet_inches, format_inches, format_mm


def cutting(wanted: Wanted) -> Solver:
    """The solver of the saw, for what the assemblies want cut."""
    return Solver(
        "cutting",
        "cut plan",
        ("option_used", *wanted.reads(), *YARD),
        partial(solve_cutting, wanted),
        prices=("item_paid",),
    )


YARD = (
    "kerf_in",
    "end_trim_in",
    "over_length_in",
    "block_reuse_in",
    "cull_share",
    "cull_boards",
    "item_name",
    "item_category",
    "item_stock",
    "item_length_ft",
    "item_limit",
    "stock_name",
    "stock_treated",
    "stock_width_in",
    "stock_depth_in",
)
_MARK = re.compile(r"([A-Z]+)(\d+)(.*)")
DRAWN_LETTERS = 100
"""Letters that the drawing is wide."""
MOST_LETTERS = 14
"""Letters of marks in the drawing; some programs break longer ones into lines."""
_DUST_IN = 1e-6
"""An off-cut shorter than this is none."""


def solve_cutting(wanted: Wanted, values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Boards by item for every option, and what is cut from each."""
    q = Reads(values)
    row = {
        k: zeros()
        for k in ("cut_cost", "cut_bound", "cut_boards", "blocks_from_offcuts", "cut_waste_ft")
    }
    row |= {k: zeros() for k in ("ends_coated", "cut_waste_ft3", "culls", "longest_board_ft")}
    proof, joints = blanks(), blanks()
    boards = zeros(ITEMS)
    first, lines, undrawn = zeros(), zeros(), zeros()
    drawn, named = zeros(SAW_CUTS), blanks(SAW_CUTS)
    listed: list[Line] = []
    kept: Counter[tuple[str, float, str]] = Counter()
    for option in q.options():
        asked = OptionPieces.of(q, option, wanted)
        joined = asked.first()
        proven, late, left = True, False, 0
        plans: list[tuple[str, CutPlan]] = []
        for stock in sorted({*asked.pieces, *asked.blocks}):
            cuts_of = cut_stock(asked, stock, joined)
            plan, joined = cuts_of.plan, cuts_of.joints
            left = max(left, cuts_of.joinings)
            proven, late = proven and plan.proven, late or plan.timed_out
            row["cut_cost"][option] += plan.cost
            row["cut_bound"][option] += plan.bound
            row["cut_boards"][option] += len(plan.boards)
            row["blocks_from_offcuts"][option] += cuts_of.given
            if _treated(q, stock):
                trim = q.number("end_trim_in")
                row["ends_coated"][option] += sum(sawn_ends(b, trim) for b in plan.boards)
            waste_in = sum(b.offcut_in for b in plan.boards)
            row["cut_waste_ft"][option] += waste_in / IN_PER_FT
            row["cut_waste_ft3"][option] += waste_in * _section_in2(q, stock) / IN_PER_FT**3
            _count_boards(q, plan, boards, option)
            plans.append((stock, plan))
            kept.update(
                (OPTION_KEYS[option], round(board.offcut_in, 4), stock)
                for board in plan.boards
                if board.offcut_in >= q.number("block_reuse_in")
            )
        over = _culls(q, boards[option])
        boards[option] += over
        row["culls"][option] = over.sum()
        own = option_lines(
            OPTION_KEYS[option], plans, wanted.marks_of(q, option, joined), saw_of(q)
        )
        first[option] = 1 + sum(len(line.texts) for line in listed)
        lines[option] = sum(len(line.texts) for line in own)
        listed += own
        longest = max((line.board.length_in for line in own), default=0.0)
        row["longest_board_ft"][option] = longest / IN_PER_FT
        cuts = cuts_drawn(own, DRAWN_WIDE * longest)
        undrawn[option] = max(len(cuts) - SAW_CUTS, 0)
        for i, (at, marks) in enumerate(cuts[:SAW_CUTS]):
            drawn[option, i], named[option, i] = at, marks
        dearer = row["cut_cost"][option, 0] - row["cut_bound"][option, 0]
        proof[option] = "least cost, proven" if proven else _unproven(dearer, left, late)
        joints[option] = "; ".join(_running(way) for way in joined.values() if way)
    needed = sum(len(line.texts) for line in listed)
    if needed > BOARDS:
        raise SolveError(
            f"the cut plan has {needed} lines; the table holds {BOARDS}.",
            where="Cut Plan",
            cure="Compare fewer options at a time.",
        )
    return {
        **row,
        "cut_proven": as_texts(proof),
        "rim_joints": as_texts(joints),
        "item_boards": boards,
        "saw_first": first,
        "saw_lines": lines,
        "saw_cut_at": drawn,
        "saw_cut_marks": as_texts(named),
        "cuts_undrawn": undrawn,
        **_board_table(listed),
        **_kept_table(kept),
    }


def _unproven(dearer: float, joinings: int, late: bool) -> str:
    """How far a plan may be from the least, and why that is not known."""
    found = f"best of {joinings} joinings" if joinings else "best found"
    stopped = ", stopped by the clock" if late else ""
    return f"{found}{stopped}: at most {dearer:,.2f} over the least"


def _row_of(q: Reads, stock: str) -> int | None:
    """The line of a stock on Factors."""
    names = [str(name).casefold() for name in q.column("stock_name")]
    return names.index(stock.casefold()) if stock.casefold() in names else None


def _treated(q: Reads, stock: str) -> bool:
    """Whether a stock is treated."""
    row = _row_of(q, stock)
    return row is not None and q.text("stock_treated", 0, row) == "yes"


def _section_in2(q: Reads, stock: str) -> float:
    """Dressed section of a stock."""
    row = _row_of(q, stock)
    sides = ("stock_width_in", "stock_depth_in")
    return 0.0 if row is None else math.prod(q.number(side, 0, row) for side in sides)


def sawn_ends(board: Board, end_trim_in: float) -> int:
    """Ends of a board's pieces that the saw made; those of the off-cut are not counted.

    A board that is not squared begins with its factory end, and ends with the other where no
    off-cut is left.
    """
    squared = end_trim_in > _DUST_IN
    factory = 0 if squared else 1 + int(board.offcut_in <= _DUST_IN)
    return 2 * len(board.pieces) - factory


def _kept_table(kept: Counter[tuple[str, float, str]]) -> dict[str, Any]:
    """Off-cuts to keep, option by option, longest first; what the table can't hold is counted.

    A line is every off-cut alike of an option. The longest lines of every option come first where
    the table is short, so that no option loses its list to those before it.
    """
    option, item, tape = (np.full((1, OFFCUTS), "", dtype=object) for _ in range(3))
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
        tape[0, i] = inches(size)
    return {
        "offcuts_unlisted": unlisted,
        "offcuts_unlisted_ft": unlisted_ft,
        "offcut_option": as_texts(option),
        "offcut_item": as_texts(item),
        "offcut_length": as_texts(tape),
        "offcut_count": count,
        "offcut_length_in": length,
    }


def _running(joints: Sequence[float]) -> str:
    """Joints as running measurements from corner 1."""
    return ", ".join(inches(x) for x in joints)


def _culls(q: Reads, boards: NDArray[np.float64]) -> NDArray[np.float64]:
    """Boards over of each item that is bought: a share, rounded up, and so many."""
    share = np.ceil(np.round(boards * q.number("cull_share"), 9))
    return np.where(boards > 0, share + q.number("cull_boards"), 0.0)


def _count_boards(q: Reads, plan: CutPlan, boards: Any, option: int) -> None:
    names = q.column("item_name").tolist()
    for item, count in Counter(board.item for board in plan.boards).items():
        boards[option, names.index(item)] += count


@dataclass(frozen=True, slots=True)
class Line:
    """Boards that are cut alike: a line of the list for the saw, or several.

    Args:
        option: Letter of the option.
        board: One of them.
        count: How many.
        pieces: How many of what, and how long.
        marks: Marks of each piece of the board, from the squared end.
        ends_in: How far from the squared end each piece ends, in.
        texts: Marks, and where their pieces end, on as many lines as it takes.
    """

    option: str
    board: Board
    count: int
    pieces: str
    marks: tuple[str, ...]
    ends_in: tuple[float, ...]
    texts: tuple[str, ...]


def option_lines(
    letter: str,
    plans: Sequence[tuple[str, CutPlan]],
    marks: Mapping[Kind, Sequence[str]],
    saw: Saw,
) -> list[Line]:
    """The lines of an option, stock by stock; marks are given out in their order."""
    queues = {kind: iter(each) for kind, each in marks.items()}
    lines = []
    for stock, plan in plans:
        alike: Counter[Board] = Counter()
        for board in plan.boards:  # lengths that differ by less than a saw can cut are alike
            sizes = tuple((label, round(size, 4)) for label, size in board.pieces)
            alike[replace(board, pieces=sizes, offcut_in=round(board.offcut_in, 4))] += 1
        for board, count in alike.items():
            cuts = Counter(board.pieces)
            text = ", ".join(f"{n} {label} {inches(size)}" for (label, size), n in cuts.items())
            ends, end, given = [], 0.0, []
            for label, size in board.pieces:
                end += size
                ends.append(end)
                given.append(list(islice(queues[kind_of(stock, label, size)], count)))
                end += saw.kerf_in
            marked = tuple(running_marks(each) for each in given)
            texts = _in_lines(_told(board.pieces, given, ends))
            lines.append(Line(letter, board, count, text, marked, tuple(ends), texts))
    return lines


def _told(
    pieces: Sequence[tuple[str, float]], marks: Sequence[Sequence[str]], ends_in: Sequence[float]
) -> Iterator[tuple[str, int]]:
    """Marks of pieces alike that follow each other, a colon, and where each ends, in words that a
    line may end behind; each with its length in feet and inches."""
    each = list(zip(pieces, marks, ends_in, strict=True))
    while each:
        run = list(takewhile(lambda piece: piece[0] == each[0][0], each))
        del each[: len(run)]
        *others, last = running_marks([mark for _, given, _ in run for mark in given]).split(", ")
        yield from ((f"{mark},", len(mark) + 1) for mark in others)
        for place, (_, _, end) in enumerate(run, 1):
            before = "" if place > 1 else f"{last}: "
            after = "," if place < len(run) else ";" if each else ""
            feet = end / IN_PER_FT
            tape = either(format_inches(feet), format_mm(feet).removesuffix(" mm"))
            yield f"{before}{tape}{after}", len(f"{before}{format_inches(feet)}{after}")


def _in_lines(words: Iterable[tuple[str, int]]) -> tuple[str, ...]:
    """Words, each with its length, on lines of no more than the page has room for."""
    lines: list[str] = []
    room = 0
    for word, long in words:
        if lines and long < room:
            lines[-1] += f" {word}"
            room -= long + 1
        else:
            lines.append(word)
            room = MARKS_LONG - long
    return tuple(lines)


def running_marks(marks: Sequence[str]) -> str:
    """Marks of pieces that are alike, those that run on put together: J1-J4, J7."""
    runs: list[list[tuple[str, str]]] = []
    for mark in marks:
        head, number, tail = _MARK.fullmatch(mark).groups()  # type: ignore[union-attr]
        last = runs[-1][-1] if runs else None
        if last is not None and last == (head + tail, str(int(number) - 1)):
            runs[-1].append((head + tail, number))
        else:
            runs.append([(head + tail, number)])
    names = iter(marks)
    texts = []
    for run in runs:
        each = list(islice(names, len(run)))
        texts.append(each[0] if len(each) == 1 else f"{each[0]}-{each[-1]}")
    return ", ".join(texts)


def cuts_drawn(lines: Sequence[Line], wide: float) -> list[tuple[float, str]]:
    """The cuts of the lines, each as the number of its line and, behind the point, how far it is
    from the squared end, as a share of what the drawing is wide; and the marks that stand there."""
    found, number = [], 1
    for line in lines:
        begin = 0.0
        for end, marks in zip(line.ends_in, line.marks, strict=True):
            found.append((number + end / wide, _short(marks, (end - begin) / wide)))
            begin = end
        number += len(line.texts)
    return found


def _short(marks: str, share: float) -> str:
    """Marks as the drawing has room for them on such a share of its width: all, the first and two
    dots, or two dots."""
    room = share * DRAWN_LETTERS
    if len(marks) <= min(room, MOST_LETTERS):
        return marks
    first = re.split("-|, ", marks, maxsplit=1)[0]
    return ".." if len(first) > room else first if first == marks else f"{first}.."


def inches(size: float) -> str:
    """A length in inches as a tape reads: in each measure its own."""
    return either(format_feet_inches(size / IN_PER_FT), format_mm(size / IN_PER_FT))


def _board_table(listed: Sequence[Line]) -> dict[str, Any]:
    keys = ("option", "item", "pieces", "marks")
    texts = {k: np.full((1, BOARDS), "", dtype=object) for k in keys}
    numbers = {k: np.zeros((1, BOARDS)) for k in ("count", "offcut_in")}
    i, before = 0, ""
    for line in listed:
        board = line.board
        if line.option != before:
            before = texts["option"][0, i] = line.option
        texts["item"][0, i], texts["pieces"][0, i] = board.item, line.pieces
        numbers["count"][0, i], numbers["offcut_in"][0, i] = line.count, board.offcut_in
        for marks in line.texts:
            texts["marks"][0, i] = marks
            i += 1
    return {f"board_{k}": as_texts(v) for k, v in texts.items()} | {
        f"board_{k}": v for k, v in numbers.items()
    }
