"""Sheet Footings: spans that a board covers in one piece, and what its middle support gets."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from estimator.model.footings.loads import STATICS
from estimator.model.kinds import PADS, SUPPORTS, where_kind
from estimator.rows import YES_OR_NO, Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

CONTINUITY = Chapter()
MOMENTS = "Equation of three moments, equal spans; shares on Factors (derived)"
JOINTS = "A piece ends over a support: there the floor is no longer continuous."

CONTINUITY.section("Boards in one piece over several spans")


@CONTINUITY.row("Boards are longer than their name by", "ft", note="Over-length less end trim.")
def board_spare_ft(over_length_in: Q, end_trim_in: Q) -> Q:
    return (over_length_in - end_trim_in) / IN_PER_FT


@CONTINUITY.row(
    "Spans that a beam board could cover, of two to five",
    "spans",
    fmt="0",
    note="By the longest board of its stock on Prices; 5 where none is known.",
)
def beam_spans_fit(
    option_kind: Q,
    beam_stock: Q,
    bay_along_ft: Q,
    board_spare_ft: Q,
    item_stock: Q,
    item_length_ft: Q,
) -> Q:
    longer = _fitting(
        (2, 3, 4, 5), beam_stock, bay_along_ft, board_spare_ft, item_stock, item_length_ft
    )
    known = np.any(item_stock == beam_stock)
    return where_kind(option_kind, SUPPORTS, np.where(known, 1 + longer, 5))


@CONTINUITY.row(
    "Spans that a beam board covers",
    "spans",
    fmt="0",
    note=f"{JOINTS} All of the row where no board is known.",
)
def beam_spans(
    option_kind: Q,
    supports_per_row_used: Q,
    beam_spans_fit: Q,
    beam_stock: Q,
    bay_along_ft: Q,
    board_spare_ft: Q,
    item_stock: Q,
    item_length_ft: Q,
) -> Q:
    longer = _fitting(
        (6, 7, 8, 9), beam_stock, bay_along_ft, board_spare_ft, item_stock, item_length_ft
    )
    known = np.any(item_stock == beam_stock)
    fit = beam_spans_fit + np.where(known, longer, 4)
    covered = np.minimum(np.maximum(supports_per_row_used - 1, 1), fit)
    return where_kind(option_kind, SUPPORTS, covered)


def _fitting(
    counts: Sequence[int], stock: Q, bay_ft: Q, spare_ft: Q, item_stock: Q, item_length_ft: Q
) -> Q:
    """How many of these numbers of bays some board of the stock reaches over."""
    found: Q = 0
    for count in counts:
        long = item_length_ft >= count * bay_ft - spare_ft
        found = found + np.where(np.any((item_stock == stock) & long), 1, 0)
    return found


@CONTINUITY.row(
    "Spans of the last beam board", "spans", fmt="0", note="What is left of the row; 0 if nothing."
)
def beam_spans_left(option_kind: Q, supports_per_row_used: Q, beam_spans: Q) -> Q:
    left = _left(np.maximum(supports_per_row_used - 1, 1), beam_spans)
    return where_kind(option_kind, SUPPORTS, left)


@CONTINUITY.row("Spans across, between skids or beams", "spans", fmt="0")
def joist_bays(option_kind: Q, skid_count_used: Q, support_rows_used: Q) -> Q:
    pads = where_kind(option_kind, PADS, skid_count_used - 1)
    return np.maximum(where_kind(option_kind, SUPPORTS, support_rows_used - 1, pads), 1)


@CONTINUITY.row(
    "Walls and roof on left and right",
    "plf",
    fmt="0",
    source=f"{STATICS}; moment of a triangular load on a simple span, w L^2 / 12",
    note="On the end joists: wall and gable, or the roof where it rests there. Over one span a gable bends as two thirds of its height would, and what it has at the beams; else it counts at the ridge's.",
)
def end_plf(
    option_kind: Q,
    roof_on_front: Q,
    wall_plf: Q,
    gable_plf: Q,
    roof_plf: Q,
    joist_bays: Q,
    building_width_ft: Q,
    support_inset_in: Q,
) -> Q:
    inset = where_kind(option_kind, SUPPORTS, support_inset_in / IN_PER_FT)
    part = (2 + 2 * inset / building_width_ft) / 3
    gable = (gable_plf - wall_plf) * np.where(joist_bays > 1, 1, part)
    return wall_plf + np.where(roof_on_front == 1, gable, roof_plf)


@CONTINUITY.row(
    "Joists in one piece",
    fmt=YES_OR_NO,
    note="yes: some board of their stock is long enough, or none is known. no: they come in parts.",
)
def joist_whole(
    joist_stock_used: Q,
    joist_length_in: Q,
    board_spare_ft: Q,
    item_stock: Q,
    item_length_ft: Q,
) -> Q:
    long = item_length_ft >= joist_length_in / IN_PER_FT - board_spare_ft
    fits = np.any((item_stock == joist_stock_used) & long)
    return np.where(fits | ~np.any(item_stock == joist_stock_used), 1, 0)


@CONTINUITY.row(
    "Outer skid or beam, beyond the joist's end",
    "ft",
    note="Its centre; the first and the last part of a joist are so much longer than their spans.",
)
def joist_past_ft(bearer_first_in: Q, joist_width_in: Q) -> Q:
    return (bearer_first_in - joist_width_in) / IN_PER_FT


@CONTINUITY.row(
    "Spans that a part of a joist could cover, of one to three",
    "spans",
    fmt="0",
    note="By the longest board of its stock on Prices.",
)
def joist_spans_fit(
    joist_stock_used: Q,
    bearer_step_in: Q,
    joist_past_ft: Q,
    board_spare_ft: Q,
    item_stock: Q,
    item_length_ft: Q,
) -> Q:
    bay, spare = bearer_step_in / IN_PER_FT, board_spare_ft - joist_past_ft
    return _fitting((1, 2, 3), joist_stock_used, bay, spare, item_stock, item_length_ft)


@CONTINUITY.row("Spans that a part of a joist could cover, of one to six", "spans", fmt="0")
def joist_spans_most(
    joist_spans_fit: Q,
    joist_stock_used: Q,
    bearer_step_in: Q,
    joist_past_ft: Q,
    board_spare_ft: Q,
    item_stock: Q,
    item_length_ft: Q,
) -> Q:
    bay, spare = bearer_step_in / IN_PER_FT, board_spare_ft - joist_past_ft
    longer = _fitting((4, 5, 6), joist_stock_used, bay, spare, item_stock, item_length_ft)
    return joist_spans_fit + longer


@CONTINUITY.row(
    "Parts of a joist, from front to back",
    "parts",
    fmt="0",
    note="They meet over a skid or beam. 0: none stands where boards on Prices would meet.",
)
def joist_parts(floor_framed: Q, joist_whole: Q, joist_spans_most: Q, joist_bays: Q) -> Q:
    covered = np.minimum(joist_spans_most, joist_bays - 1)
    several = np.where(covered > 0, np.ceil(joist_bays / np.maximum(covered, 1)), 0)
    return np.where(floor_framed == 1, np.where(joist_whole == 1, 1, several), 0)


@CONTINUITY.row("Spans that a part of a joist covers", "spans", fmt="0", note=JOINTS)
def joist_spans(joist_bays: Q, joist_parts: Q) -> Q:
    return np.ceil(joist_bays / np.maximum(joist_parts, 1))


@CONTINUITY.row(
    "Spans of the last part of a joist",
    "spans",
    fmt="0",
    note="What is left of them; 0 where all parts are alike.",
)
def joist_spans_left(joist_bays: Q, joist_spans: Q) -> Q:
    return _left(joist_bays, joist_spans)


def _left(bays: Q, covered: Q) -> Q:
    return bays - np.floor(bays / np.maximum(covered, 1)) * covered


def _larger(spans: Q, left: Q, spans_no: Q, column: Q) -> Q:
    return np.maximum(lookup(spans, spans_no, column, 1), lookup(left, spans_no, column, 1))


def _of_floor(dead: Q, live: Q, floor_live_psf: Q, floor_psf: Q) -> Q:
    """A share for dead and one for live load, in the proportion of the floor's loads."""
    return dead + (live - dead) * floor_live_psf / floor_psf


@CONTINUITY.row(
    "Beam: a middle support gets, over a simple span's share",
    "-",
    fmt="0.000",
    source=MOMENTS,
    note="Dead load on all spans, live load where it makes most, in the proportion of the floor's.",
)
def beam_middle_share(
    beam_spans: Q,
    beam_spans_left: Q,
    spans_no: Q,
    spans_dead: Q,
    spans_live: Q,
    floor_live_psf: Q,
    floor_psf: Q,
) -> Q:
    dead = _larger(beam_spans, beam_spans_left, spans_no, spans_dead)
    live = _larger(beam_spans, beam_spans_left, spans_no, spans_live)
    return _of_floor(dead, live, floor_live_psf, floor_psf)


@CONTINUITY.row("Beam: shear by a support, over a simple span's", "-", fmt="0.000", source=MOMENTS)
def beam_shear_share(
    beam_spans: Q,
    beam_spans_left: Q,
    spans_no: Q,
    spans_shear_dead: Q,
    spans_shear_live: Q,
    floor_live_psf: Q,
    floor_psf: Q,
) -> Q:
    dead = _larger(beam_spans, beam_spans_left, spans_no, spans_shear_dead)
    live = _larger(beam_spans, beam_spans_left, spans_no, spans_shear_live)
    return _of_floor(dead, live, floor_live_psf, floor_psf)


@CONTINUITY.row(
    "Joists: an inner skid or beam gets, over a simple span's share",
    "-",
    fmt="0.000",
    source=MOMENTS,
    note="Live load on the spans that make it most.",
)
def joist_middle_share(
    joist_spans: Q,
    joist_spans_left: Q,
    spans_no: Q,
    spans_dead: Q,
    spans_live: Q,
    floor_live_psf: Q,
    floor_psf: Q,
) -> Q:
    dead = _larger(joist_spans, joist_spans_left, spans_no, spans_dead)
    live = _larger(joist_spans, joist_spans_left, spans_no, spans_live)
    return _of_floor(dead, live, floor_live_psf, floor_psf)


@CONTINUITY.row(
    "Lever of an overhang on the outer beam",
    "-",
    fmt="0.000",
    source=MOMENTS,
    note="What its moment adds there, over moment by span.",
)
def outer_lever(joist_spans: Q, joist_spans_left: Q, spans_no: Q, spans_lever: Q) -> Q:
    return _larger(joist_spans, joist_spans_left, spans_no, spans_lever)


@CONTINUITY.row(
    "Lift of an overhang off the next beam",
    "-",
    fmt="0.000",
    source=MOMENTS,
    note="What its moment takes off there, over moment by span.",
)
def next_lift(joist_spans: Q, joist_spans_left: Q, spans_no: Q, spans_lift: Q) -> Q:
    return _larger(joist_spans, joist_spans_left, spans_no, spans_lift)
