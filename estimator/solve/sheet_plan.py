"""A sheet layout as it is handed on: pieces on the floor and on their sheets, off-cuts, proof."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from estimator.solve.sheet_rows import PER_IN, Floor, Kind, Laid


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece on the floor: corner, size (cover, without tongue), its sheet and row (from 0).

    ``cut_x_in`` and ``cut_y_in`` are its corner on the sheet that it is cut from, measured from
    the sheet's end and from its starting edge (the groove edge, where there is one).
    """

    x_in: float
    y_in: float
    length_in: float
    width_in: float
    sheet_index: int
    row: int
    cut_x_in: float
    cut_y_in: float


@dataclass(frozen=True, slots=True)
class Offcut:
    """A rectangle left of a sheet (in)."""

    sheet_index: int
    length_in: float
    width_in: float


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """A sheet layout.

    Attributes:
        pieces: Pieces by row, then along the floor.
        sheets: Sheets to cut.
        offcuts: What is left of them, slivers included.
        bound: No layout within the rules takes fewer sheets than this.
        proven: Whether ``sheets`` equals ``bound``.
        gap: ``(sheets - bound) / sheets``, 0 when proven.
        timed_out: The time limit was met, so that a faster machine may find another plan.
        kerf_area_in2: Area turned to sawdust.
        tongue_area_in2: Area of tongues that lie inside the next row's groove.
        seams_in: Where the rows meet (in across the floor), the middle of the gap.
        notes: Sentences for the builder, such as sheets cut back to a joist; amounts are marked.
    """

    pieces: tuple[Placed, ...]
    sheets: int
    offcuts: tuple[Offcut, ...]
    bound: int
    proven: bool
    gap: float
    timed_out: bool
    kerf_area_in2: float
    tongue_area_in2: float
    seams_in: tuple[float, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """A line of the cut list: so many pieces of a size, and the sheets that they come from."""

    count: int
    length_in: float
    width_in: float
    sheet_indexes: tuple[int, ...]


def read_plan(f: Floor, laid: Laid, bound: int, notes: tuple[str, ...], late: bool) -> SheetPlan:
    """The plan of rows and sheets: each piece's place on both, and what is left of the sheets.

    Args:
        f: The floor.
        laid: Its rows and the sheets that they are cut from.
        bound: Sheets that no layout goes below.
        notes: Sentences for the builder.
        late: Whether the time limit was met.
    """
    strip = next((row.kind for row in laid.rows if row.kind.across > 1), None)
    source: dict[tuple[int, Kind], list[tuple[int, int, int]]] = defaultdict(list)
    offcuts: list[tuple[int, int, int]] = []
    kerf_area = tongue_area = 0

    def cut_row(taken: int, lengths: Sequence[int], p: int) -> int:
        """Crosscuts along a strip of the given width; gives where the rest begins."""
        nonlocal kerf_area
        for length in lengths:
            end = p + length
            p = min(end + f.kerf, f.sheet_length)
            kerf_area += (p - end) * taken
        return p

    for index, sheet in enumerate(laid.sheets):
        p = 0
        for length, kind in sheet.whole:
            # A ripped strip that needs the tongue comes off the sheet's far edge.
            edge = f.sheet_width - kind.taken if kind.taken > kind.cover else 0
            source[length, kind].append((index, p, edge))
            side = f.sheet_width - kind.taken
            saw = min(f.kerf, side)
            kerf_area += saw * length
            tongue_area += (kind.taken - kind.cover) * length
            if side > saw:
                offcuts.append((index, length, side - saw))
            p += length + f.kerf
        rest = cut_row(f.sheet_width, [length for length, _ in sheet.whole], 0)
        if strip is None or not sheet.lanes:
            if rest < f.sheet_length:
                offcuts.append((index, f.sheet_length - rest, f.sheet_width))
            continue
        for n, lane in enumerate(sheet.lanes):
            q = p
            for length in lane:
                source[length, strip].append((index, q, n * (strip.taken + f.kerf)))
                q += length + f.kerf
            end = cut_row(strip.taken, lane, p)
            if end < f.sheet_length:
                offcuts.append((index, f.sheet_length - end, strip.taken))
        used = len(sheet.lanes)
        side = f.sheet_width - used * strip.taken - (used - 1) * f.kerf
        saw = min(f.kerf, side)
        kerf_area += ((used - 1) * f.kerf + saw) * (f.sheet_length - p)
        if side > saw:
            offcuts.append((index, f.sheet_length - p, side - saw))

    pieces: list[Placed] = []
    for r, (row, path) in enumerate(zip(laid.rows, laid.paths, strict=True)):
        for i, j in path:
            x, length = f.span(i, j)
            index, *on_sheet = source[length, row.kind].pop(0)
            x_in, y_in, length_in, width_in, cut_x_in, cut_y_in = (
                v / PER_IN for v in (x, row.y, length, row.kind.cover, *on_sheet)
            )
            pieces.append(Placed(x_in, y_in, length_in, width_in, index, r, cut_x_in, cut_y_in))
    seams = tuple((row.y - f.row_gap / 2) / PER_IN for row in laid.rows[1:])
    sheets = len(laid.sheets)
    return SheetPlan(
        pieces=tuple(pieces),
        sheets=sheets,
        offcuts=tuple(Offcut(i, length / PER_IN, width / PER_IN) for i, length, width in offcuts),
        bound=bound,
        proven=bound == sheets,
        gap=(sheets - bound) / sheets if sheets else 0.0,
        timed_out=late,
        kerf_area_in2=kerf_area / PER_IN**2,
        tongue_area_in2=tongue_area / PER_IN**2,
        seams_in=seams,
        notes=notes,
    )


def cut_list(plan: SheetPlan) -> tuple[Cut, ...]:
    """Pieces of equal size counted together, widest first, then longest."""
    sizes: dict[tuple[float, float], list[int]] = defaultdict(list)
    for p in plan.pieces:
        sizes[(p.width_in, p.length_in)].append(p.sheet_index)
    return tuple(
        Cut(len(found), length, width, tuple(sorted(set(found))))
        for (width, length), found in sorted(sizes.items(), reverse=True)
    )
