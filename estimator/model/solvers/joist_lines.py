"""Solver of the floor frame: where joists stand, doubled and framed round openings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from estimator.engine import Solver
from estimator.errors import EstimatorError, OptionError
from estimator.model.floor_inputs import OPENING_LINES
from estimator.model.lumber.hardware import JOIST_LINES, SHORT_BLOCKS
from estimator.model.solvers.board_cuts import inches
from estimator.model.solvers.openings import (
    OPENING_READS,
    block_rows_in,
    blocks_set,
    by_header,
    headers,
    openings,
    trimmers_in,
)
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.rows import OPTION_KEYS
from estimator.solve.joist_layout import DUST_IN, JoistLayout, joist_layout
from estimator.units import IN_PER_FT

_ALIKE_IN = 1 / 32
"""Blocks that differ by less are cut alike."""


def solve_joists(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Marks of the joists of every option, doubled ones among them."""
    q = Reads(values)
    doubled, touching = zeros(), zeros()
    near, used = zeros(JOIST_LINES), zeros(JOIST_LINES)
    names = q.column("double_what")
    typed = [q.number("double_at_ft", 0, i) * IN_PER_FT for i in range(len(names)) if str(names[i])]
    header = {k: zeros(OPENING_LINES) for k in ("count", "length_in", "tails")}
    rows, blocks, clashes = zeros(), zeros(), zeros()
    short = blanks(SHORT_BLOCKS)
    framed = [o for o in openings(q) if o.framed]
    length = q.number("building_length_ft") * IN_PER_FT
    deep = q.number("building_width_ft") * IN_PER_FT
    for option in q.options():
        if q.number("floor_framed", option) == 0:
            continue
        width = q.number("joist_width_in", option)
        places = typed + [x for o in framed for x in trimmers_in(o, length, width)]
        spacing = q.number("joist_spacing_used_in", option)
        try:
            layout = joist_layout(length, spacing, width, doubled_at_in=places)
            if q.number("end_joists_used", option) > 1:
                layout = joist_layout(
                    length, spacing, width, doubled_at_in=(*places, *_single_ends(layout))
                )
        except EstimatorError as error:
            where = "Floor" if places else "Options"
            letter = OPTION_KEYS[option]
            raise OptionError(
                f"option {letter}: {error.what}", option=option, where=where, cure=error.cure
            ) from error
        count = layout.count
        if count > JOIST_LINES:
            raise OptionError(
                f"option {OPTION_KEYS[option]} has {count} joists; the table holds {JOIST_LINES}.",
                option=option,
                where="Options",
                cure="Space the joists farther apart.",
            )
        doubled[option] = len(layout.extra_centres_in)
        touching[option] = count - 1 - len(layout.clear_bays_in)
        near[option, :count] = layout.near_edges_in
        used[option, :count] = 1
        for found in framed:
            number, size, tails = headers(found, layout, deep)
            header["count"][option, found.line] = number
            header["length_in"][option, found.line] = size
            header["tails"][option, found.line] = tails
        meet = _meet_in(q, option)
        clashes[option] = sum(by_header(found, meet, deep, width) for found in framed)
        set_at = block_rows_in(
            int(q.number("blocking_rows", option)), _seams_in(q, option), meet, deep, width
        )
        rows[option] = len(set_at)
        blocks[option] = blocks_set(set_at, layout, openings(q))
        listed = _short_blocks(layout, set_at, q)
        short[option, : len(listed)] = listed
    return {
        **{f"header_{k}": v for k, v in header.items()},
        "joints_by_headers": clashes,
        "joist_doubled": doubled,
        "joist_touching": touching,
        "joist_near_in": near,
        "joist_on": used,
        "block_rows": rows,
        "blocking_count": blocks,
        "short_blocks": as_texts(short),
    }


def _single_ends(layout: JoistLayout) -> list[float]:
    """Ends of the floor where one joist more has room; elsewhere one stands under the wall anyway."""
    centres, beside = layout.all_centres_in, 2 * layout.joist_width_in - DUST_IN
    ends = [0.0] if centres[1] - centres[0] >= beside else []
    return [*ends, layout.length_in] if centres[-1] - centres[-2] >= beside else ends


def _short_blocks(layout: JoistLayout, rows_in: Sequence[float], q: Reads) -> list[str]:
    """Blocks of bays that are narrower than the widest, bay by bay from corner 1; of what the list
    has no room for, how many bays."""
    bays = layout.clear_bays_in
    widest = max((wide for _, wide in bays), default=0.0)
    number = {
        round(near + layout.joist_width_in, 4): n for n, near in enumerate(layout.near_edges_in, 1)
    }
    found = []
    for at, wide in bays:
        if widest - wide <= _ALIKE_IN:
            continue
        here = replace(layout, centres_in=_beside(layout, at, wide), extra_centres_in=())
        if count := blocks_set(rows_in, here, openings(q)):
            joist = number[round(at, 4)]
            found.append(f"{count} of {inches(wide)} between J{joist} and J{joist + 1}")
    over = len(found) - SHORT_BLOCKS
    if over > 0:
        found[SHORT_BLOCKS - 1 :] = [f"and in {over + 1} more bays: measure these"]
    return found


def _beside(layout: JoistLayout, at: float, wide: float) -> tuple[float, float]:
    """Centres of the joists beside a bay."""
    half = layout.joist_width_in / 2
    return at - half, at + wide + half


def _seams_in(q: Reads, option: int) -> list[float]:
    """Seams under which blocks are set; none where the option wants none."""
    count = int(q.number("seam_rows", option)) if q.text("seam_blocks", option) == "yes" else 0
    return [float(y) for y in q.column("seam_in", option)[:count]]


def _meet_in(q: Reads, option: int) -> list[float]:
    """Where the parts of joists meet, back from the front (in)."""
    first, step = (q.number(key, option) for key in ("bearer_first_in", "bearer_step_in"))
    spans, parts = (int(q.number(key, option)) for key in ("joist_spans", "joist_parts"))
    return [first + part * spans * step for part in range(1, parts)]


JOISTS = Solver(
    "joists",
    "floor frame",
    (
        "option_used",
        "building_length_ft",
        "joist_spacing_used_in",
        "joist_width_in",
        "end_joists_used",
        "floor_framed",
        "building_width_ft",
        "double_what",
        "double_at_ft",
        "blocking_rows",
        "seam_blocks",
        "seam_rows",
        "seam_in",
        "bearer_first_in",
        "bearer_step_in",
        "joist_parts",
        "joist_spans",
        *OPENING_READS,
    ),
    solve_joists,
)
