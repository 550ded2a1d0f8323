"""Solver of the timber frame of a framed pad, and of the shoulders of an open one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.errors import EstimatorError, OptionError
from estimator.model.kinds import SLOPED, TIMBERED
from estimator.model.lumber.hardware import TIMBERS as TIMBER_TABLE
from estimator.model.set_out import BENDS, STATIONS, STEPS
from estimator.model.solvers.lot import PLACE_READS, SURVEY_READS, base_corners, lot_ground
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.rows import OPTION_KEYS
from estimator.units import FT_PER_M, IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.courses import Frame, FrameSpec, Profile
    from estimator.solve.surface import Ground
    from estimator.solve.trench import TrenchSpec

Floats = NDArray[np.float64]
SIDE_NAMES = ("front", "right", "back", "left")
TIMBERS = TIMBER_TABLE.capacity
STATION_STEP_FT, STATION_STEP_M = 2.0, 0.6
DUST_FT = 1e-9
"""A station nearer to the end of a side than this is its end."""
RUN_STEP_FT, RUN_STEP_M = 1.0, 0.3
SAW_UNITS_IN = 0.125
"""What the saw may lose to its whole units on a board whose ends are squared or that is over-long."""


def stock_lengths(q: Reads, stock: str) -> dict[int, float]:
    """Lengths, ft, that boards of a stock give for timbers, by line of the price book."""
    category, name = q.column("item_category"), q.column("item_stock")
    length = q.column("item_length_ft")
    spare_in = q.number("over_length_in") - q.number("end_trim_in")
    spare_ft = (spare_in - SAW_UNITS_IN if spare_in else 0.0) / IN_PER_FT
    return {
        i: float(length[i]) + spare_ft
        for i in range(len(name))
        if category[i] == "lumber"
        and str(name[i]).casefold() == stock.casefold()
        and length[i] > -min(spare_ft, 0.0)
    }


def solve_frame_sheet(values: Mapping[str, Any], measure: Measure = "feet") -> Mapping[str, Any]:
    """Courses, pieces, trench and stations of a framed pad; shoulders of an open one."""
    from estimator.solve.courses import profiles, side_lines
    from estimator.solve.shoulders import slope_stone

    q = Reads(values)
    row = {
        k: zeros()
        for k in (
            "frame_courses",
            "frame_listed",
            "frame_lower_ft",
            "trench_ft3",
            "trench_bed_ft3",
            "trench_beside_ft3",
            "shoulder_ft2",
            "shoulder_ft3",
            "shoulder_reach_ft",
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
    step_ft = STATION_STEP_FT if measure == "feet" else STATION_STEP_M * FT_PER_M
    run_ft = step_of_runs_ft(measure)
    for option in q.options():
        kind = q.text("option_kind", option)
        ground, corners = lot_ground(q), base_corners(q, option)
        top, strip = q.number("top_ft", option), q.number("strip_ft", option)
        if kind in SLOPED:
            run = q.number("shoulder_run", option)
            slopes = slope_stone(ground, corners, top, strip, run)
            row["shoulder_ft2"][option] = slopes.area_ft2
            row["shoulder_ft3"][option] = slopes.stone_ft3
            row["shoulder_reach_ft"][option] = slopes.reach_ft
        if kind not in TIMBERED:
            lines = profiles(ground, side_lines(corners))
            _put_stations(station, option, lines, None, step_ft)
            _put_bends(bend, option, lines, None)
            continue
        whole = _solve_one_frame(q, option, ground, corners, row, run_ft)
        listed = that_fits(whole, option)
        _put_pieces(timber, side, row, option, listed)
        _put_stations(station, option, whole.profiles, whole, step_ft)
        _put_steps(step, option, listed)
        _put_bends(bend, option, whole.profiles, listed)
    return {
        **row,
        **{f"timber_{k}": v for k, v in timber.items()},
        "timber_side": as_texts(side),
        **{f"station_{k}": v for k, v in station.items()},
        **{f"step_{k}": v for k, v in step.items()},
        **{f"bend_{k}": v for k, v in bend.items()},
    }


def step_of_runs_ft(measure: Measure) -> float:
    """Where lower courses begin and end on a tape of this measure: on multiples of this."""
    return RUN_STEP_FT if measure == "feet" else RUN_STEP_M * FT_PER_M


def frame_spec(q: Reads, option: int, run_step_ft: float) -> FrameSpec:
    """What the frame of an option is made of.

    Raises:
        OptionError: The price book has no timbers of its stock.
    """
    from estimator.solve.courses import FrameSpec

    stock = q.text("timber_stock", option)
    lengths = stock_lengths(q, stock)
    if not lengths:
        raise OptionError(
            f"option {OPTION_KEYS[option]} wants {stock} timbers and the price book has none.",
            option=option,
            where="Prices",
            cure=f'Add items of category lumber with stock "{stock}" and a length.',
        )
    return FrameSpec(
        timber_depth_ft=q.number("timber_depth_in", option) / IN_PER_FT,
        timber_width_ft=q.number("timber_width_in", option) / IN_PER_FT,
        bedding_ft=q.number("bedding_in", option) / IN_PER_FT,
        least_embedment_ft=q.number("embed_in", option) / IN_PER_FT,
        strip_ft=q.number("strip_ft", option),
        reckon="stripped" if q.text("reckoned_from", option) == "stripped" else "original",
        stock_lengths_ft=tuple(sorted(set(lengths.values()))),
        run_step_ft=run_step_ft,
    )


def trench_spec(
    q: Reads, option: int, spec: FrameSpec, top_ft: float | Floats, subgrade_ft: float | Floats
) -> TrenchSpec:
    """How the trench of an option's frame is dug, at heights of its top and of the subgrade."""
    from estimator.solve.trench import TrenchSpec

    return TrenchSpec(
        top_ft=top_ft,
        subgrade_ft=subgrade_ft,
        strip_ft=spec.strip_ft,
        timber_depth_ft=spec.timber_depth_ft,
        timber_width_ft=spec.timber_width_ft,
        bedding_ft=spec.bedding_ft,
        width_ft=q.number("trench_width_in", option) / IN_PER_FT,
    )


def _solve_one_frame(
    q: Reads,
    option: int,
    ground: Ground,
    corners: Floats,
    row: dict[str, Any],
    run_step_ft: float,
) -> Frame:
    from estimator.solve.courses import solve_frame
    from estimator.solve.trench import dig_trench

    top = q.number("top_ft", option)
    spec = frame_spec(q, option, run_step_ft)
    try:
        frame = solve_frame(ground, corners, top, spec)
    except EstimatorError as error:
        raise OptionError(
            f"option {OPTION_KEYS[option]}: {error.what}",
            option=option,
            where="Options",
            cure=error.cure,
        ) from error
    row["frame_courses"][option] = frame.courses
    row["frame_lower_ft"][option] = frame.lower_ft
    sides = [stretches(frame, number, line.length_ft) for number, line in enumerate(frame.profiles)]
    digs = trench_spec(q, option, spec, top, q.number("subgrade_ft", option))
    trench = dig_trench(ground, corners, sides, digs)
    row["trench_ft3"][option] = trench.dug_ft3
    row["trench_bed_ft3"][option] = trench.bedding_ft3
    row["trench_beside_ft3"][option] = trench.back_ft3
    return frame


def that_fits(frame: Frame, option: int) -> Frame:
    """The frame, or as many of its courses from the top as the tables have room for.

    A frame that deep is no base to build; the other options are still to be answered.
    """
    for count in range(frame.courses, 0, -1):
        part = frame.upper(count)
        if _has_room(part):
            return part
    raise OptionError(
        f"option {OPTION_KEYS[option]} takes {len(frame.upper(1).pieces)} timbers a course; the"
        f" table holds {TIMBERS}.",
        option=option,
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
            2 * len(stretches(frame, side, line.length_ft)) <= each
            for side, line in enumerate(frame.profiles)
        )
    )


def _put_pieces(
    timber: dict[str, Any], side: Any, row: dict[str, Any], option: int, frame: Frame
) -> None:
    """The timbers that are listed, and what is counted of them."""
    row["frame_listed"][option] = frame.courses
    row["timber_pieces"][option] = len(frame.pieces)
    row["timber_run_ft"][option] = frame.run_ft
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


def stretches(frame: Frame, side: int, length_ft: float) -> list[tuple[float, float, int]]:
    """Start, end and number of courses of every stretch of a side between its steps."""
    lower = [run for run in frame.lower if run.side == side]
    breaks = sorted({0.0, length_ft} | {end for r in lower for end in (r.start_ft, r.end_ft)})
    counts = frame.courses_at(side, [(a + b) / 2 for a, b in pairwise(breaks)]).tolist()
    return [(a, b, count) for (a, b), count in zip(pairwise(breaks), counts, strict=True)]


def _put_bends(
    bend: dict[str, Any], option: int, lines: Sequence[Profile], frame: Frame | None
) -> None:
    """Both ends of every stretch of a side, in its own rows; the last is repeated."""
    each = BENDS // len(lines)
    for number, line in enumerate(lines):
        found = [(0.0, line.length_ft, 0)]
        if frame is not None:
            found = stretches(frame, number, line.length_ft)
        rows = slice(number * each, (number + 1) * each)
        places = [place for a, b, _ in found for place in (a, b)]
        counts = [count for *_, count in found for _ in "ab"]
        bend["at_ft"][option, rows] = places + places[-1:] * (each - len(places))
        bend["courses"][option, rows] = counts + counts[-1:] * (each - len(counts))


def _put_stations(
    station: dict[str, Any], option: int, lines: Sequence[Profile], frame: Any, least_ft: float
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
        "over_length_in",
        "end_trim_in",
    ),
    solve_frame_sheet,
    by_measure=True,
)
