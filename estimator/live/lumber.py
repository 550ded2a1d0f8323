"""Live answers about what is bought and what carries: boards, floor sheets, spans, footings.

Arguments are as ``convert`` gives them: tables as tuples of rows, blanks as None. Every error is
an :class:`~estimator.errors.EstimatorError`; the caller turns it into a cell's text.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from estimator import reference
from estimator.errors import InputError
from estimator.live.convert import (
    OK,
    Block,
    Cell,
    Line,
    block,
    length_ft,
    lines,
    plain,
    row_by_row,
    word,
)
from estimator.solve import bearing, design
from estimator.solve.cutting import CutPlan, Piece, Saw, Stock, cut
from estimator.solve.floor_sheets import SQUARE, TONGUE, SheetRules, SheetStock, plan_sheets
from estimator.solve.joist_layout import joist_layout
from estimator.units import IN_PER_FT

REPETITIVE_MOST_IN = 24.0
"""Joists further apart share no load (NDS 2018 4.3.9)."""
SHEETS_EFFORT = 0.3
"""Share of the looks at a floor's sheets that a refill takes: those of a cell stay under 50 ms."""
_NOT_PROVEN = (
    "not proven the fewest, no layout takes fewer than {}: a refill looks longer, with this floor"
    " on Job"
)
CLOSEST_IN = 8.0
"""Joists closer than that nobody builds (common practice, no source); Options takes none either."""


def cut_plan(pieces: Any, stock: Any, kerf: Any, end_trim: Any, over_length: Any) -> Block:
    """Boards to buy and what is cut from each, equal ones counted together."""
    plan = _plan_boards(pieces, stock, kerf, end_trim, over_length)
    heads = ("Length, ft", "Boards alike", "Cut", "Off-cut, in")
    rows = [
        (board.item, board.length_in / IN_PER_FT, float(count), _cuts(board.pieces),
         board.offcut_in)
        for board, count in Counter(plan.boards).items()
    ]  # fmt: skip
    over = f"at most ${plan.cost - plan.bound:,.2f} over the least"
    proof = "least cost, proven" if plan.proven else over
    return block(f"{OK}: ${plan.cost:,.2f}, {len(plan.boards)} boards, {proof}", heads, rows)


def boards_cost(pieces: Any, stock: Any, kerf: Any, end_trim: Any, over_length: Any) -> Block:
    """Dollars of the cheapest boards for the pieces."""
    return ((_plan_boards(pieces, stock, kerf, end_trim, over_length).cost,),)


def sheet_pieces(
    length: Any,
    width: Any,
    spacing: Any,
    joist: Any,
    sheet_length: Any,
    sheet_width: Any,
    edges: Any,
    covers: Any,
    gap: Any,
    kerf: Any,
) -> Block:
    """Every piece of floor sheet: where it lies, its size, the sheet that it is cut from."""
    long_in = length_ft(length, "length") * IN_PER_FT
    spacing_in = length_ft(spacing, "spacing", "in") * IN_PER_FT
    if 0 < spacing_in < CLOSEST_IN:
        raise InputError(
            f"joists {spacing_in:g} in apart are too close: no floor is framed so.",
            where="spacing",
            cure=f"Give {CLOSEST_IN:g} in or more.",
        )
    joists = joist_layout(long_in, spacing_in, _inches(joist, "joist", 1.5))
    tongued = word(edges, "edges", (SQUARE, TONGUE), SQUARE)
    cover = plain(covers, "covers")
    stock = SheetStock(
        _inches(sheet_length, "sheet_length", 96.0),
        _inches(sheet_width, "sheet_width", 48.0),
        net_width_in=None if cover is None else _inches(cover, "covers", 0.0),
        edges=tongued,
    )
    rules = SheetRules(gap_in=_inches(gap, "gap", 0.125), kerf_in=_inches(kerf, "kerf", 0.125))
    plan = plan_sheets(
        long_in,
        length_ft(width, "width") * IN_PER_FT,
        joists.sheet_lines_in,
        stock,
        rules,
        effort=SHEETS_EFFORT,
        programs=False,
    )
    rows = [
        (float(p.sheet_index + 1), p.x_in, p.y_in, p.length_in, p.width_in) for p in plan.pieces
    ]
    proof = "fewest, proven" if plan.proven else _NOT_PROVEN.format(plan.bound)
    heads = ("Along, in", "Back, in", "Long, in", "Wide, in")
    return block(f"{OK}: {plan.sheets} sheets, {proof}", heads, rows)


def spans(members: Any) -> Block:
    """Span allowed for each member, ft; a row that can't be read has its own error."""
    return row_by_row(members, "members", 6, ("From",), _span)


def footings(loads: Any, pier: Any) -> Block:
    """Footing for each load and soil: diameter, side, thickness; the pressure under the round."""
    pier_in = _inches(pier, "pier", 12.0)

    def size(line: Line) -> tuple[Cell, ...]:
        load_lb = line.number(0)
        if load_lb <= 0:
            raise InputError(f"{load_lb:g} lb is no load.", where=line.where(0))
        soil_psf = _bearing_psf(line)
        across_in = float(bearing.footing_diameter_in(load_lb, soil_psf))
        return (
            across_in,
            float(bearing.footing_side_in(load_lb, soil_psf)),
            float(bearing.footing_thickness_in(across_in, pier_in)),
            float(bearing.round_pressure_psf(load_lb, across_in)),
        )

    heads = ("Square, in", "Thick, in", "Pressure, psf")
    return row_by_row(loads, "loads", 2, heads, size)


def _inches(value: Any, where: str, default: float) -> float:
    return length_ft(value, where, "in", default / IN_PER_FT) * IN_PER_FT


def _plan_boards(pieces: Any, stock: Any, kerf: Any, end_trim: Any, over_length: Any) -> CutPlan:
    wanted = [
        Piece(line.text(0), line.length_ft(1, "in") * IN_PER_FT, line.count(2))
        for line in lines(pieces, "pieces", 3)
    ]
    boards = [
        Stock(
            line.text(0),
            line.length_ft(1) * IN_PER_FT,
            line.number(2),
            line.count(3) if line.has(3) else None,
        )
        for line in lines(stock, "stock", 3)
    ]
    free = [b.item for b in boards if b.price <= 0]
    if free:
        raise InputError(
            f"{free[0]} has no price.", where="stock", cure="Type it, or clear the row."
        )
    saw = Saw(
        _inches(kerf, "kerf", 0.125),
        _inches(end_trim, "end_trim", 0.0),
        _inches(over_length, "over_length", 0.0),
    )
    return cut(wanted, boards, saw)


def _cuts(pieces: tuple[tuple[str, float], ...]) -> str:
    sizes = Counter((label, round(size, 4)) for label, size in pieces)
    return ", ".join(f"{n} {label} {size:g} in" for (label, size), n in sizes.items())


def _span(line: Line) -> tuple[Cell, ...]:
    """Allowed span by the NDS, adjusted as the line says: dry or treated joists of a floor."""
    species, grade, size = (line.text(i) for i in range(3))
    spacing_in = line.length_ft(3, "in") * IN_PER_FT
    live_psf, dead_psf = line.number(4), line.number(5)
    if min(spacing_in, live_psf) <= 0 or dead_psf < 0:
        raise InputError("spacing and live load must be above zero.", where=line.where(3))
    treated = line.has(6) and word(
        line.cells[6], line.where(6), ("treated", "untreated"), "untreated"
    ) == "treated"  # fmt: skip
    values = reference.design_values(species, grade, size)
    width_in, depth_in = reference.dressed_size(size)
    incised = treated and bool(
        reference.value("species", species=species, property="treated_by_incising")
    )

    def incising(target: str) -> float:
        return _factor("incising", target) if incised else 1.0

    joined = spacing_in <= REPETITIVE_MOST_IN + 1e-9
    share = spacing_in / IN_PER_FT
    allowed = design.joist_span_ft(
        width_in,
        depth_in,
        design.adjusted_bending_psi(
            values.bending_psi,
            size=values.size_factor,
            repetitive=_factor("repetitive_member", "bending") if joined else 1.0,
            incising=incising("bending"),
        ),
        design.adjusted_shear_psi(values.shear_psi, incising=incising("shear")),
        design.adjusted_bearing_psi(values.bearing_psi, incising=incising("bearing")),
        design.adjusted_modulus_psi(values.modulus_psi, incising=incising("modulus")),
        live_psf * share,
        dead_psf * share,
    )
    return float(allowed), values.how_obtained


def _factor(name: str, target: str) -> float:
    return reference.value("adjustment_factors", factor=name, property=target)


def _bearing_psf(line: Line) -> float:
    value = line.cells[1] if line.has(1) else None
    if isinstance(value, str):
        try:
            found = float(value)
        except ValueError:
            found = reference.soil(value.strip(), "presumptive_bearing_psf")
    else:
        found = line.number(1)
    if found <= 0:
        raise InputError("this soil has no presumptive bearing.", where=line.where(1))
    return found
