"""Solver of the floor sheets: laid out, cut and screwed."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from estimator.engine import Solver
from estimator.errors import EstimatorError, OptionError
from estimator.model.sheathing import PANEL_PIECES, SEAMS, SHEET_CUTS
from estimator.model.solvers.board_cuts import inches
from estimator.model.solvers.openings import OPENING_READS, openings
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.rows import OPTION_KEYS
from estimator.units import IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.sheet_plan import SheetPlan

A_ROW = 4
"""Sheets in a row of the drawing."""
PIECE_NUMBERS = ("x_in", "y_in", "long_in", "wide_in", "sheet", "far_x", "far_y")


def solve_sheets(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Layout of the floor sheets of every option."""
    from estimator.solve.sheet_plan import cut_list

    q = Reads(values)
    row = {
        k: zeros()
        for k in ("sheet_count", "sheet_bound", "sheet_pieces", "sheet_offcut_ft2", "screw_count")
    }
    row |= {k: zeros() for k in ("seam_rows", "cuts_unlisted", "cuts_unlisted_ft2")}
    proof, text, note = blanks(), blanks(), blanks()
    piece = {k: zeros(PANEL_PIECES) for k in PIECE_NUMBERS}
    lines = {k: zeros(SHEET_CUTS) for k in ("count", "long_in", "wide_in")}
    sources, cut_at, seams = blanks(SHEET_CUTS), blanks(PANEL_PIECES), zeros(SEAMS)
    for option in q.options():
        if q.number("floor_framed", option) == 0:
            continue
        letter = OPTION_KEYS[option]
        case = _sheet_case(q, option)
        try:
            plan, screws = _lay(case)
        except EstimatorError as error:
            where = "Floor" if "opening" in error.what else "Options"
            raise OptionError(
                f"option {letter}: {error.what}", option=option, where=where, cure=error.cure
            ) from error
        if len(plan.pieces) > PANEL_PIECES:
            raise OptionError(
                f"option {letter} lays {len(plan.pieces)} pieces; the table holds {PANEL_PIECES}.",
                option=option,
                where="Sheet Layout",
                cure="Use larger sheets.",
            )
        row["sheet_count"][option] = plan.sheets
        row["sheet_bound"][option] = plan.bound
        row["sheet_pieces"][option] = len(plan.pieces)
        row["sheet_offcut_ft2"][option] = sum(o.length_in * o.width_in for o in plan.offcuts) / 144
        row["screw_count"][option] = screws
        proof[option] = _proof(plan)
        cuts = cut_list(plan)
        text[option] = "; ".join(
            f"{c.count} of {inches(c.length_in)} x {inches(c.width_in)}" for c in cuts
        )
        note[option] = " ".join(plan.notes)
        row["seam_rows"][option] = 0 if _tongued(case) else len(plan.seams_in)
        seams[option, : len(plan.seams_in)] = plan.seams_in
        for i, c in enumerate(cuts[:SHEET_CUTS]):
            lines["count"][option, i] = c.count
            lines["long_in"][option, i], lines["wide_in"][option, i] = c.length_in, c.width_in
            sources[option, i] = ", ".join(str(n + 1) for n in c.sheet_indexes)
        for c in cuts[SHEET_CUTS:]:
            row["cuts_unlisted"][option] += c.count
            row["cuts_unlisted_ft2"][option] += c.count * c.length_in * c.width_in / 144
        sheet_long, sheet_wide = case[4], case[5]
        for i, p in enumerate(plan.pieces):
            piece["x_in"][option, i], piece["y_in"][option, i] = p.x_in, p.y_in
            piece["long_in"][option, i], piece["wide_in"][option, i] = p.length_in, p.width_in
            piece["sheet"][option, i] = p.sheet_index + 1
            row_no, place = divmod(p.sheet_index, A_ROW)
            piece["far_x"][option, i] = place + (p.cut_x_in + p.length_in) / sheet_long
            piece["far_y"][option, i] = row_no + (p.cut_y_in + p.width_in) / sheet_wide
            cut_at[option, i] = f"{inches(p.cut_x_in)} / {inches(p.cut_y_in)}"
    return {
        **row,
        "sheet_proof": as_texts(proof),
        "sheet_text": as_texts(text),
        "sheet_note": as_texts(note),
        "cut_from": as_texts(sources),
        "piece_cut": as_texts(cut_at),
        "seam_in": seams,
        **{f"cut_{k}": v for k, v in lines.items()},
        **{f"piece_{k}": v for k, v in piece.items()},
    }


def _proof(plan: SheetPlan) -> str:
    """Whether the sheets are the fewest, and else by how many they may be too many."""
    if plan.proven:
        return "fewest sheets, proven"
    stopped = ", stopped by the clock" if plan.timed_out else ""
    return f"best found{stopped}: at most {plan.sheets - plan.bound} over the fewest"


def _sheet_case(q: Reads, option: int) -> tuple[Any, ...]:
    item = q.text("sheet_item", option).casefold()
    names = [str(n).casefold() for n in q.column("panel_item")]
    r = names.index(item)
    return (
        q.number("building_length_ft") * IN_PER_FT,
        q.number("building_width_ft") * IN_PER_FT,
        q.number("joist_spacing_used_in", option),
        q.number("joist_width_in", option),
        q.number("panel_length_in", 0, r),
        q.number("panel_width_in", 0, r),
        q.number("panel_cover_in", 0, r),
        q.number("panel_gap_in", 0, r),
        q.text("nominal_rips", option) == "yes",
        q.text("seam_blocks", option) == "yes",
        tuple(o.area for o in openings(q)),
        q.number("kerf_in"),
        q.number("screw_edge_in"),
        q.number("screw_field_in"),
    )


def _tongued(case: tuple[Any, ...]) -> bool:
    _, _, _, _, _, sheet_w, cover, *_ = case
    return bool(cover < sheet_w)


@lru_cache(maxsize=64)
def _lay(case: tuple[Any, ...]) -> tuple[SheetPlan, int]:
    from estimator.solve.floor_sheets import (
        SQUARE,
        TONGUE,
        SheetRules,
        SheetStock,
        fastener_count,
        plan_sheets,
    )
    from estimator.solve.joist_layout import joist_layout

    length, width, spacing, joist, sheet_l, sheet_w, cover, gap, nominal, blocked, holes, *saw = (
        case
    )
    kerf, edge, field = saw
    layout = joist_layout(length, spacing, joist)
    tongue = _tongued(case)
    stock = SheetStock(
        sheet_l,
        sheet_w,
        net_length_in=sheet_l if nominal else sheet_l - gap,
        net_width_in=cover if tongue else None,
        edges=TONGUE if tongue else SQUARE,
    )
    rules = SheetRules(gap_in=gap, kerf_in=kerf, nominal=nominal)
    plan = plan_sheets(length, width, layout.sheet_lines_in, stock, rules, holes)
    screws = fastener_count(
        plan,
        layout.centres_in,
        edge,
        field,
        blocked_seams=blocked and not tongue,
    )
    return plan, screws


SHEETS = Solver(
    "sheets",
    "sheet layout",
    (
        "option_used",
        "building_length_ft",
        "building_width_ft",
        "joist_spacing_used_in",
        "joist_width_in",
        "sheet_item",
        "nominal_rips",
        "seam_blocks",
        "kerf_in",
        "panel_item",
        "panel_length_in",
        "panel_width_in",
        "panel_cover_in",
        "panel_gap_in",
        "screw_edge_in",
        "screw_field_in",
        "floor_framed",
        *OPENING_READS,
    ),
    solve_sheets,
)
