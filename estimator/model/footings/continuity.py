"""Sheet Footings: spans that a board covers in one piece, and what its middle support gets."""

from __future__ import annotations

import numpy as np

from estimator.model.kinds import PADS, SUPPORTS, where_kind
from estimator.rows import Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

CONTINUITY = Chapter()
MOMENTS = "Equation of three moments, equal spans; shares on Factors (derived)"
JOINTS = "A piece ends over a support: there the floor is no longer continuous."

CONTINUITY.section("Boards in one piece over several spans")


@CONTINUITY.row("Longest beam board, usable", "in", fmt="0.0")
def beam_longest_in(
    beam_stock: Q, item_stock: Q, item_length_ft: Q, over_length_in: Q, end_trim_in: Q
) -> Q:
    boards = np.where(item_stock == beam_stock, item_length_ft, 0)
    return np.max(boards) * IN_PER_FT + over_length_in - end_trim_in


@CONTINUITY.row("Longest joist board, usable", "in", fmt="0.0")
def joist_longest_in(
    joist_stock_used: Q, item_stock: Q, item_length_ft: Q, over_length_in: Q, end_trim_in: Q
) -> Q:
    boards = np.where(item_stock == joist_stock_used, item_length_ft, 0)
    return np.max(boards) * IN_PER_FT + over_length_in - end_trim_in


@CONTINUITY.row("Spans that a beam board covers", "spans", fmt="0", note=JOINTS)
def beam_spans(option_kind: Q, supports_per_row_used: Q, bay_along_ft: Q, beam_longest_in: Q) -> Q:
    bays = np.maximum(supports_per_row_used - 1, 1)
    return where_kind(option_kind, SUPPORTS, _covered(bays, bay_along_ft, beam_longest_in))


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


@CONTINUITY.row("Spans that a joist covers", "spans", fmt="0", note=JOINTS)
def joist_spans(
    option_kind: Q, joist_bays: Q, skid_spacing_in: Q, bay_across_ft: Q, joist_longest_in: Q
) -> Q:
    pads = where_kind(option_kind, PADS, skid_spacing_in / IN_PER_FT)
    bay = where_kind(option_kind, SUPPORTS, bay_across_ft, pads)
    return _covered(joist_bays, bay, joist_longest_in)


@CONTINUITY.row("Spans of the last joist in a line", "spans", fmt="0")
def joist_spans_left(joist_bays: Q, joist_spans: Q) -> Q:
    return _left(joist_bays, joist_spans)


def _covered(bays: Q, bay_ft: Q, longest_in: Q) -> Q:
    """All bays where no board is known: nothing is joined then."""
    whole = np.floor(longest_in / np.maximum(bay_ft * IN_PER_FT, 1e-6))
    return np.where(longest_in > 0, np.minimum(bays, np.maximum(whole, 1)), bays)


def _left(bays: Q, covered: Q) -> Q:
    return bays - np.floor(bays / covered) * covered


def _larger(spans: Q, left: Q, spans_no: Q, column: Q) -> Q:
    return np.maximum(lookup(spans, spans_no, column, 1), lookup(left, spans_no, column, 1))


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
    return dead + (live - dead) * floor_live_psf / floor_psf


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
    return dead + (live - dead) * floor_live_psf / floor_psf


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
    return dead + (live - dead) * floor_live_psf / floor_psf


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
