"""Solvers of the sizes left blank on Options: what each takes, and what was taken first."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.errors import SolveError
from estimator.model.footings import SUPPORTS_MOST
from estimator.model.kinds import PADS, SUPPORTS
from estimator.model.sizes_in_use import EACH, JOIST, ROWS, SKID, SPACING
from estimator.model.solvers.candidates import (
    GRID,
    LEAST_BAY_FT,
    SKIDS,
    YARD_READS,
    Boards,
    Trial,
    fails,
    goal,
    offered,
    spacings,
)
from estimator.model.solvers.lot import SURVEY_READS, base_corners, lot_ground
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.rows import OPTION_KEYS
from estimator.solve.volumes import clip
from estimator.units import IN_PER_FT
from estimator.values import Values

_VARIED = (
    "joist_stock_used",
    "joist_spacing_used_in",
    "skid_count_used",
    "support_rows_used",
    "supports_per_row_used",
    "ground_high_ft",
    "ground_low_ft",
)
_TRIAL = Trial(
    _VARIED,
    (
        "check_joists",
        "check_end_line",
        "check_overhang",
        "check_skids",
        "check_beams",
        "check_bearing",
        "joist_count",
        "joist_length_in",
        "bay_across_ft",
        "bay_along_ft",
    ),
)
_TYPED = ("joist_stock", "joist_spacing_in", "skid_count", "support_rows", "supports_per_row")
_OTHERS = {
    "on_pad",
    "building_length_ft",
    "building_width_ft",
    "site_x_ft",
    "site_y_ft",
    "turn_deg",
    "frame_length_ft",
    "frame_width_ft",
    "sheet_span_in",
    "clear_above_in",
    "joist_clear_in",
    "beam_stock",
    "beam_plies",
    "beam_depth_in",
    "skid_stock",
}
_DECIDES = ("option_used", "option_kind", "sizes_blank")


@dataclass(frozen=True, slots=True)
class Sizes:
    """One candidate for what is left blank."""

    joist: str
    spacing_in: float
    skids: float
    rows: float
    each: float


def solve_sizes(values: Mapping[str, Any], measure: Measure = "feet") -> Mapping[str, Any]:
    """What each blank of every option takes; nothing where it is typed.

    On a pad: least cost of joists, rims and skids together, then fewest skids. On supports: the
    fewest supports, then least cost of joists, rims and beams. At each spacing and number the
    smallest joist that works is the one tried.

    Raises:
        SolveError: If the joist is left blank and the price book has none.
    """
    q = Reads(values)
    joist = blanks()
    spacing, skids, rows, each, none = zeros(), zeros(), zeros(), zeros(), zeros()
    for option in q.options():
        blank = int(q.number("sizes_blank", option))
        if not blank:
            continue
        tried = list(_candidates(q, option, blank, spacings(measure).values()))
        best, works = _best(q, option, blank, tried)
        none[option] = 0 if works else 1
        if blank & JOIST:
            joist[option] = best.joist
        spacing[option] = best.spacing_in if blank & SPACING else 0
        skids[option] = best.skids if blank & SKID else 0
        rows[option] = best.rows if blank & ROWS else 0
        each[option] = best.each if blank & EACH else 0
    return {
        "default_joist": as_texts(joist),
        "default_spacing_in": spacing,
        "default_skids": skids,
        "default_rows": rows,
        "default_per_row": each,
        "default_fails": none,
    }


def _candidates(q: Reads, option: int, blank: int, usual_in: Collection[float]) -> Iterator[Sizes]:
    """Everything to try; of one number and spacing the smallest joist first."""
    joists = [q.text("joist_stock", option)]
    if blank & JOIST:
        joists = offered(q, _treated(q, option))
        if not joists:
            raise SolveError(
                f"option {OPTION_KEYS[option]} leaves the joist blank and the price book has none"
                " to suggest.",
                where="Options",
                cure="Type a joist, or add its lumber to Prices.",
            )
    tried = [q.number("joist_spacing_in", option)]
    if blank & SPACING:
        rating = q.number("sheet_span_in", option)
        tried = [s for s in usual_in if s <= rating + 1e-9] or [min(usual_in)]
    for skids, rows, each in _under(q, option, blank):
        for spacing in tried:
            for joist in joists:
                yield Sizes(joist, spacing, skids, rows, each)


def _under(q: Reads, option: int, blank: int) -> list[tuple[float, float, float]]:
    """Skids, rows of supports and supports in a row to try."""
    if q.text("option_kind", option) not in SUPPORTS:
        return [(s, 0, 0) for s in (SKIDS if blank & SKID else [q.number("skid_count", option)])]
    typed_rows = q.number("support_rows", option)
    typed_each = q.number("supports_per_row", option)
    grids = {
        (rows if blank & ROWS else typed_rows, each if blank & EACH else typed_each)
        for rows, each in GRID
    }
    fit = sorted(g for g in grids if g[0] * g[1] <= SUPPORTS_MOST)
    return [(0, rows, each) for rows, each in fit or sorted(grids)[:1]]


def _treated(q: Reads, option: int) -> str:
    """Treated joists over stone, and over beams that stand nearer to the ground than allowed."""
    clear = q.number("clear_above_in", option) + q.number("beam_depth_in", option)
    near = q.number("on_pad", option) > 0 or clear < q.number("joist_clear_in")
    return "yes" if near else "no"


def _best(q: Reads, option: int, blank: int, tried: Sequence[Sizes]) -> tuple[Sizes, bool]:
    """What is suggested, and whether it works as far as what is left blank decides."""
    goals = _TRIAL.run(_of_one(q.values, _TRIAL.reads, option), _varied(q, option, tried))
    weak_joist = fails({"check_joists": goals["check_joists"]})[:, 0]
    boards = Boards.read(q)
    for failing in (fails(goals)[:, 0], weak_joist):
        found: dict[tuple[float, ...], tuple[tuple[float, ...], Sizes]] = {}
        for i, sizes in enumerate(tried):
            key = (sizes.spacing_in, sizes.skids, sizes.rows, sizes.each)
            bad = key in found or failing[min(i, len(failing) - 1)]
            if not bad and _can_be_cut(q, boards, option, sizes, goals, i):
                found[key] = (_rank(q, boards, option, sizes, goals, i), sizes)
        if found:
            best = min(found.values(), key=lambda pair: pair[0])[1]
            return best, failing is not weak_joist or not blank & (SKID | ROWS | EACH)
        # Skids, beams or soil that fail with every joist are not the joist's fault.
    strongest = max(
        range(len(tried)),
        key=lambda i: (tried[i].skids, tried[i].rows * tried[i].each, -tried[i].spacing_in, i),
    )
    return tried[strongest], False


def _varied(q: Reads, option: int, tried: Sequence[Sizes]) -> dict[str, Any]:
    columns = {
        "joist_stock_used": np.array([s.joist for s in tried]),
        "joist_spacing_used_in": np.array([s.spacing_in for s in tried]),
        "skid_count_used": np.array([s.skids for s in tried], dtype=float),
        "support_rows_used": np.array([s.rows for s in tried], dtype=float),
        "supports_per_row_used": np.array([s.each for s in tried], dtype=float),
    }
    patch = clip(lot_ground(q), base_corners(q, option))
    columns["ground_high_ft"] = np.array([float(patch.high_ft.max())])
    columns["ground_low_ft"] = np.array([float(patch.low_ft.min())])
    return {key: column[:, np.newaxis, np.newaxis] for key, column in columns.items()}


def _of_one(values: Mapping[str, Any], keys: frozenset[str], option: int) -> dict[str, Values]:
    """The values of one option, its axis kept."""
    found: dict[str, Any] = {}
    for key in keys:
        array = np.asarray(values[key])
        at = min(option, array.shape[-2] - 1)
        found[key] = array[..., at : at + 1, :]
    return found


def _can_be_cut(
    q: Reads, boards: Boards, option: int, sizes: Sizes, goals: Mapping[str, Values], at: int
) -> bool:
    """Whether joists come in one piece, beams join over supports, and rows stand apart."""
    joist = boards.longest_in(sizes.joist)
    if joist > 0 and goal(goals, "joist_length_in", at) > joist + 1e-9:
        return False
    if q.text("option_kind", option) in PADS:
        return True
    beam = boards.longest_in(q.text("beam_stock", option))
    bay = goal(goals, "bay_along_ft", at) * IN_PER_FT
    return goal(goals, "bay_across_ft", at) >= LEAST_BAY_FT and (beam <= 0 or bay <= beam + 1e-9)


def _rank(
    q: Reads, boards: Boards, option: int, sizes: Sizes, goals: Mapping[str, Values], at: int
) -> tuple[float, ...]:
    """Least comes first; a candidate without a price after all that have one."""
    length = q.number("building_length_ft") * IN_PER_FT
    floor = boards.price_of(
        sizes.joist,
        [
            (goal(goals, "joist_length_in", at), goal(goals, "joist_count", at)),
            (length, 2),
        ],
    )
    if q.text("option_kind", option) in PADS:
        under = boards.price_of(q.text("skid_stock", option), [(length, sizes.skids)])
        cost = floor + under if floor > 0 and under > 0 else math.inf
        return (cost, sizes.skids, sizes.spacing_in)
    beams = sizes.rows * q.number("beam_plies", option)
    under = boards.price_of(q.text("beam_stock", option), [(length, beams)])
    cost = floor + under if floor > 0 and under > 0 else math.inf
    return (sizes.rows * sizes.each, cost, sizes.rows, sizes.spacing_in)


SIZES = Solver(
    "sizes",
    "sizes left blank",
    _DECIDES,
    solve_sizes,
    prices=tuple(
        sorted(
            (_TRIAL.reads | YARD_READS | _OTHERS | {*_TYPED, *SURVEY_READS, "item_price"})
            - set(_DECIDES)
        )
    ),
    counts_when="sizes_blank",
    by_measure=True,
)


def first_taken(reads: Mapping[str, Any]) -> Mapping[str, Any]:
    """What is suggested, as the first that is taken."""
    return {
        "suggestion_first": np.asarray(reads["suggested_text"]),
        "suggestion_first_of": np.asarray(reads["sizes_blank"]),
    }


def still_taken(reads: Mapping[str, Any], held: Mapping[str, Any]) -> Mapping[str, Any]:
    """What was first suggested for the same blanks; else what is suggested now."""
    now = first_taken(reads)
    first, first_of = np.asarray(held["suggestion_first"]), np.asarray(held["suggestion_first_of"])
    same = (first_of == now["suggestion_first_of"]) & (first != "")
    return {
        "suggestion_first": np.where(same, first, now["suggestion_first"]),
        "suggestion_first_of": now["suggestion_first_of"],
    }


TAKEN = Solver(
    "taken",
    "first suggestions",
    (),
    first_taken,
    prices=("suggested_text", "sizes_blank"),
    live=False,
    worst=1,
    keep=still_taken,
)
