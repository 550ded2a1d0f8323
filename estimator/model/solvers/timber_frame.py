"""Solver of the timber frame of a framed pad, and of the shoulders of an open one."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.errors import EstimatorError, SolveError
from estimator.model.kinds import SLOPED, TIMBERED
from estimator.model.lumber.hardware import TIMBERS as TIMBER_TABLE
from estimator.model.set_out import BENDS, STATIONS, STEPS
from estimator.model.solvers.lot import PLACE_READS, SURVEY_READS, base_corners, lot_ground
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.rows import OPTION_KEYS
from estimator.solve.courses import Frame, FrameSpec, Profile, profile, side_lines, solve_frame
from estimator.solve.surface import Ground
from estimator.units import FT_PER_M, IN_PER_FT

Floats = NDArray[np.float64]
SIDE_NAMES = ("front", "right", "back", "left")
TIMBERS = TIMBER_TABLE.capacity
STATION_STEP_FT, STATION_STEP_M = 2.0, 0.6
DUST_FT = 1e-9
"""A station nearer to the end of a side than this is its end."""
RUN_STEP_FT, RUN_STEP_M = 1.0, 0.3


def _stock_lengths(q: Reads, stock: str) -> tuple[float, ...]:
    category, name = q.column("item_category"), q.column("item_stock")
    length = q.column("item_length_ft")
    found = {
        float(length[i])
        for i in range(len(name))
        if category[i] == "lumber" and str(name[i]).casefold() == stock.casefold() and length[i] > 0
    }
    return tuple(sorted(found))


def _below(line: Profile, top_ft: float, floor_ft: float, strip_ft: float, width: float) -> float:
    """Trench volume along a line: from its bottom up to the lower of ``top`` and the ground.

    Exact where neither changes within a stretch; stretches are split where they cross.
    """
    total = 0.0
    stretches = zip(
        line.start_ft.tolist(),
        line.end_ft.tolist(),
        (line.start_z_ft - strip_ft).tolist(),
        (line.end_z_ft - strip_ft).tolist(),
        strict=True,
    )
    for start, end, z0, z1 in stretches:
        total += _stretch(end - start, z0 - floor_ft, z1 - floor_ft, top_ft - floor_ft)
    return total * width


def _stretch(length: float, h0: float, h1: float, most: float) -> float:
    """Area under min(max(h, 0), most) for h running straight from h0 to h1 over ``length``."""
    cuts = [0.0, 1.0]
    for level in (0.0, most):
        if (h0 - level) * (h1 - level) < 0:
            cuts.append((level - h0) / (h1 - h0))
    cuts.sort()
    area = 0.0
    for a, b in pairwise(cuts):
        ha, hb = (min(max(h0 + t * (h1 - h0), 0.0), most) for t in (a, b))
        area += (b - a) * length * (ha + hb) / 2
    return area


def _shoulder(lines: list[Profile], top_ft: float, strip_ft: float, run: float) -> Floats:
    """Area seen from above, ft2, and stone, ft3, of the slopes round an open pad.

    A triangle of height h and base run x h along each side, quarter cones round the corners:
    closed form on each straight stretch, of which only the part below the top counts.
    """
    total = np.zeros(2)
    for line in lines:
        start = top_ft - line.start_z_ft + strip_ft
        end = top_ft - line.end_z_ft + strip_ft
        gap = np.abs(end - start)
        crosses = start * end < 0
        share = np.where(crosses, np.maximum(start, end) / np.where(crosses, gap, 1), 1)
        length = (line.end_ft - line.start_ft) * share
        h0, h1 = np.maximum(start, 0), np.maximum(end, 0)
        total += [
            float(np.sum(length * run * (h0 + h1) / 2)),
            float(np.sum(length * run / 2 * (h0 * h0 + h0 * h1 + h1 * h1) / 3)),
        ]
        corner = float(h0[0])
        total += [math.pi / 4 * (run * corner) ** 2, math.pi / 12 * run**2 * corner**3]
    return total


def solve_frame_sheet(values: Mapping[str, Any], measure: Measure = "feet") -> Mapping[str, Any]:
    """Courses, pieces, trench and stations of a framed pad; shoulders of an open one."""
    q = Reads(values)
    row = {
        k: zeros()
        for k in (
            "frame_courses",
            "frame_listed",
            "frame_lower_ft",
            "trench_run_ft",
            "trench_ft3",
            "trench_beside_ft3",
            "shoulder_ft2",
            "shoulder_ft3",
            "timber_pieces",
            "timber_run_ft",
            "timber_corners",
            "timber_joints",
        )
    }
    timber = {k: zeros(TIMBERS) for k in ("course", "start_ft", "length_in")}
    side = blanks(TIMBERS)
    station = {k: zeros(STATIONS) for k in ("side", "at_ft", "ground_ft", "courses", "guessed")}
    step = {k: zeros(STEPS) for k in ("side", "course", "start_ft", "end_ft")}
    bend = {k: zeros(BENDS) for k in ("at_ft", "courses")}
    customary = measure == "feet"
    step_ft = STATION_STEP_FT if customary else STATION_STEP_M * FT_PER_M
    run_ft = RUN_STEP_FT if customary else RUN_STEP_M * FT_PER_M
    for option in q.options():
        kind = q.text("option_kind", option)
        ground, corners = lot_ground(q), base_corners(q, option)
        lines = [profile(ground, a, b) for a, b in side_lines(corners)]
        top, strip = q.number("top_ft", option), q.number("strip_ft", option)
        if kind in SLOPED:
            run = q.number("shoulder_run", option)
            area_ft2, stone_ft3 = _shoulder(lines, top, strip, run)
            row["shoulder_ft2"][option], row["shoulder_ft3"][option] = area_ft2, stone_ft3
        if kind not in TIMBERED:
            _put_stations(station, option, lines, None, step_ft)
            _put_bends(bend, option, lines, None)
            continue
        whole = _solve_one_frame(q, option, ground, corners, lines, row, run_ft)
        listed = _that_fits(whole, option)
        _put_pieces(timber, side, row, option, listed)
        _put_stations(station, option, lines, whole, step_ft)
        _put_steps(step, option, listed)
        _put_bends(bend, option, lines, listed)
    return {
        **row,
        **{f"timber_{k}": v for k, v in timber.items()},
        "timber_side": as_texts(side),
        **{f"station_{k}": v for k, v in station.items()},
        **{f"step_{k}": v for k, v in step.items()},
        **{f"bend_{k}": v for k, v in bend.items()},
    }


def _solve_one_frame(
    q: Reads,
    option: int,
    ground: Ground,
    corners: Floats,
    lines: list[Profile],
    row: dict[str, Any],
    run_step_ft: float,
) -> Frame:
    letter = OPTION_KEYS[option]
    top, strip = q.number("top_ft", option), q.number("strip_ft", option)
    stock = q.text("timber_stock", option)
    lengths = _stock_lengths(q, stock)
    if not lengths:
        raise SolveError(
            f"option {letter} wants {stock} timbers and the price book has none.",
            where="Prices",
            cure=f'Add items of category lumber with stock "{stock}" and a length.',
        )
    spec = FrameSpec(
        timber_depth_ft=q.number("timber_depth_in", option) / IN_PER_FT,
        timber_width_ft=q.number("timber_width_in", option) / IN_PER_FT,
        bedding_ft=q.number("bedding_in", option) / IN_PER_FT,
        least_embedment_ft=q.number("embed_in", option) / IN_PER_FT,
        strip_ft=strip,
        reckon="stripped" if q.text("reckoned_from", option) == "stripped" else "original",
        stock_lengths_ft=lengths,
        run_step_ft=run_step_ft,
    )
    try:
        frame = solve_frame(ground, corners, top, spec)
    except EstimatorError as error:
        raise SolveError(
            f"option {letter}: {error.what}", where="Options", cure=error.cure
        ) from error
    row["frame_courses"][option] = frame.courses
    row["frame_lower_ft"][option] = sum(r.end_ft - r.start_ft for r in frame.lower)
    row["trench_run_ft"][option] = sum(line.length_ft for line in lines)
    width = q.number("trench_width_in", option) / IN_PER_FT
    beside = max(width - spec.timber_width_ft, 0.0)
    subgrade = q.number("subgrade_ft", option)
    for number, line in enumerate(lines):
        for a, b, count in _stretches(frame, number, line.length_ft):
            part, bottom = _part(line, a, b), top - count * spec.timber_depth_ft
            row["trench_ft3"][option] += _below(
                part, subgrade, bottom - spec.bedding_ft, strip, width
            )
            row["trench_beside_ft3"][option] += _below(part, subgrade, bottom, strip, beside)
    return frame


def _that_fits(frame: Frame, option: int) -> Frame:
    """The frame, or as many of its courses from the top as the tables have room for.

    A frame that deep is no base to build; the other options are still to be answered.
    """
    for count in range(frame.courses, 0, -1):
        part = frame.upper(count)
        if _has_room(part):
            return part
    raise SolveError(
        f"option {OPTION_KEYS[option]} takes {len(frame.upper(1).pieces)} timbers a course; the"
        f" table holds {TIMBERS}.",
        where="Lumber",
        cure="Use longer timbers.",
    )


def _has_room(frame: Frame) -> bool:
    """Whether the tables hold its pieces, its lower courses and the steps of every side."""
    each = BENDS // len(frame.profiles)
    return (
        len(frame.pieces) <= TIMBERS
        and len(frame.lower) <= STEPS
        and all(
            2 * len(_stretches(frame, side, line.length_ft)) <= each
            for side, line in enumerate(frame.profiles)
        )
    )


def _put_pieces(
    timber: dict[str, Any], side: Any, row: dict[str, Any], option: int, frame: Frame
) -> None:
    """The timbers that are listed, and what is counted of them."""
    row["frame_listed"][option] = frame.courses
    row["timber_pieces"][option] = len(frame.pieces)
    row["timber_run_ft"][option] = sum(p.length_ft for p in frame.pieces)
    row["timber_corners"][option], row["timber_joints"][option] = frame.corners, frame.joints
    for i, piece in enumerate(frame.pieces):
        side[option, i] = SIDE_NAMES[piece.side]
        timber["course"][option, i] = piece.course
        timber["start_ft"][option, i] = piece.start_ft
        timber["length_in"][option, i] = piece.length_ft * IN_PER_FT


def _put_steps(step: dict[str, Any], option: int, frame: Frame) -> None:
    """Where every course below the top one begins and ends."""
    for i, run in enumerate(sorted(frame.lower, key=lambda r: (r.side, r.course, r.start_ft))):
        step["side"][option, i] = run.side + 1
        step["course"][option, i] = run.course
        step["start_ft"][option, i] = run.start_ft
        step["end_ft"][option, i] = run.end_ft


def _stretches(frame: Frame, side: int, length_ft: float) -> list[tuple[float, float, int]]:
    """Start, end and number of courses of every stretch of a side between its steps."""
    lower = [run for run in frame.lower if run.side == side]
    breaks = sorted({0.0, length_ft} | {end for r in lower for end in (r.start_ft, r.end_ft)})
    return [(a, b, int(frame.courses_at(side, (a + b) / 2)[0])) for a, b in pairwise(breaks)]


def _put_bends(
    bend: dict[str, Any], option: int, lines: list[Profile], frame: Frame | None
) -> None:
    """Both ends of every stretch of a side, in its own rows; the last is repeated."""
    each = BENDS // len(lines)
    for number, line in enumerate(lines):
        stretches = [(0.0, line.length_ft, 0)]
        if frame is not None:
            stretches = _stretches(frame, number, line.length_ft)
        rows = slice(number * each, (number + 1) * each)
        places = [place for a, b, _ in stretches for place in (a, b)]
        counts = [count for *_, count in stretches for _ in "ab"]
        bend["at_ft"][option, rows] = places + places[-1:] * (each - len(places))
        bend["courses"][option, rows] = counts + counts[-1:] * (each - len(counts))


def _part(line: Profile, start: float, end: float) -> Profile:
    """The stretch of a profile between two places on it."""
    inside = (line.end_ft > start + 1e-9) & (line.start_ft < end - 1e-9)
    s0, s1 = line.start_ft[inside], line.end_ft[inside]
    z0, z1 = line.start_z_ft[inside], line.end_z_ft[inside]
    slope = (z1 - z0) / (s1 - s0)
    a, b = np.maximum(s0, start), np.minimum(s1, end)
    return Profile(a, b, z0 + slope * (a - s0), z0 + slope * (b - s0), line.guessed[inside])


def _put_stations(
    station: dict[str, Any], option: int, lines: list[Profile], frame: Any, least_ft: float
) -> None:
    """Stations of every side in its own rows; what is left of them repeats the last, unnumbered."""
    longest = max(line.length_ft for line in lines)
    each = STATIONS // len(lines)
    step = least_ft * max(1, math.ceil(longest / (least_ft * (each - 1))))
    for number, line in enumerate(lines):
        places = np.append(np.arange(0.0, line.length_ft - DUST_FT, step), line.length_ft)
        start = number * each
        station["side"][option, start : start + len(places)] = number + 1
        rows = slice(start, start + each)
        filled = np.append(places, np.full(each - len(places), line.length_ft))
        station["at_ft"][option, rows] = filled
        station["ground_ft"][option, rows] = line.at(filled)
        station["guessed"][option, rows] = line.guessed_at(filled)
        if frame is not None:
            station["courses"][option, rows] = frame.courses_at(number, filled)


FRAME = Solver(
    "frame",
    "timber frame and edges",
    (
        *SURVEY_READS,
        *PLACE_READS,
        "option_kind",
        "top_ft",
        "subgrade_ft",
        "strip_ft",
        "reckoned_from",
        "timber_stock",
        "timber_depth_in",
        "timber_width_in",
        "bedding_in",
        "embed_in",
        "trench_width_in",
        "shoulder_run",
        "item_category",
        "item_stock",
        "item_length_ft",
    ),
    solve_frame_sheet,
    by_measure=True,
)
