"""Live answers about the ground: heights, cut and fill, courses of a timber frame.

Arguments are as ``convert`` gives them: tables as tuples of rows, blanks as None. Every error is
an :class:`~estimator.errors.EstimatorError`; the caller turns it into a cell's text.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.errors import InputError
from estimator.live.convert import (
    OK,
    Block,
    Cell,
    Line,
    block,
    filled,
    length_ft,
    lines,
    plain,
    word,
)
from estimator.solve.courses import FrameSpec, solve_frame, string_height_ft
from estimator.solve.surface import Ground, fit_ground
from estimator.solve.volumes import clip, cut_ft3, fill_ft3
from estimator.units import FT3_PER_YD3, IN_PER_FT

Floats = NDArray[np.float64]
SIDES = ("front", "right", "back", "left")
MEASURED, GUESSED = "measured", "guessed"
GROUNDS = 16
"""Fitted surfaces kept: several functions of one sheet ask about the same readings."""


def ground_at(points: Any, places: Any) -> Block:
    """Heights at places, and whether each lies within the readings."""
    spots = lines(places, "places", 2)
    heights, guessed = _ground(points).at(_plan(spots))
    rows = zip(heights.tolist(), (GUESSED if g else MEASURED for g in guessed), strict=True)
    return block(OK, ("Height from",), list(rows))


def ground_grid(points: Any, along: Any, back: Any) -> Block:
    """Heights where every ``along`` crosses every ``back``."""
    xs, ys = _lengths(along, "along"), _lengths(back, "back")
    grid = np.array([(x, y) for y in ys for x in xs])
    heights = _ground(points).at(grid)[0].reshape(len(ys), len(xs))
    head: tuple[Cell, ...] = (OK, *xs)
    return (head, *((y, *row) for y, row in zip(ys, heights.tolist(), strict=True)))


def cut_fill(points: Any, corners: Any, heights: Any, strip: Any) -> Block:
    """Cut and fill of a footprint for each subgrade height, yd3, after stripping."""
    patch = clip(_ground(points), _plan(lines(corners, "corners", 2)))
    levels = _lengths(heights, "heights")
    bare = patch.lowered(length_ft(strip, "strip", default=0.0))
    cut_yd3 = (cut_ft3(bare, levels) / FT3_PER_YD3).tolist()
    fill_yd3 = (fill_ft3(bare, levels) / FT3_PER_YD3).tolist()
    share = patch.guessed_ft2 / patch.area_ft2
    heads = ("Cut, bank yd3", "Fill, compacted yd3", "Area ft2", "Share guessed")
    return block(
        OK,
        heads,
        [
            (z, c, f, patch.area_ft2, share)
            for z, c, f in zip(levels, cut_yd3, fill_yd3, strict=True)
        ],
    )


def courses(
    points: Any,
    corners: Any,
    string: Any,
    depth: Any,
    width: Any,
    bedding: Any,
    embedment: Any,
    strip: Any,
    stock: Any,
    spacing: Any,
    side: Any,
) -> Block:
    """Courses and trench depths at stations along the sides of a timber frame."""
    places = _plan(lines(corners, "corners", 2))
    if places.shape != (4, 2):
        raise InputError(f"the frame has {len(places)} corners, not 4.", where="corners")
    ground = _ground(points)
    asked = plain(side, "side")
    wanted = None if asked is None else _side(asked)
    spec = FrameSpec(
        timber_depth_ft=length_ft(depth, "depth", "in"),
        timber_width_ft=length_ft(width, "width", "in"),
        bedding_ft=length_ft(bedding, "bedding", "in"),
        least_embedment_ft=length_ft(embedment, "embedment", "in", 0.0),
        strip_ft=length_ft(strip, "strip", "ft", 0.0),
    )
    if any(filled(stock, "stock")):
        spec = replace(spec, stock_lengths_ft=tuple(_lengths(stock, "stock")))
    top = plain(string, "string")
    level = (
        string_height_ft(ground, places, strip_ft=spec.reckoned_strip_ft)
        if top is None
        else length_ft(top, "string")
    )
    frame = solve_frame(ground, places, level, spec)
    found = frame.stations(length_ft(spacing, "spacing", default=2.0))
    heads = (
        "At, ft",
        "Ground, ft",
        "Courses",
        "Trench below string, in",
        "Trench below ground, in",
        "Wall above ground, in",
        "Ground from",
    )
    rows = [
        (
            SIDES[s.side],
            s.at_ft,
            s.ground_ft,
            float(s.courses),
            s.trench_below_string_ft * IN_PER_FT,
            s.trench_below_ground_ft * IN_PER_FT,
            s.exposed_ft * IN_PER_FT,
            GUESSED if s.guessed else MEASURED,
        )
        for s in found
        if wanted is None or s.side == wanted
    ]
    return block(f"{OK}: string {level:.3f} ft, {len(frame.pieces)} timbers", heads, rows)


def _lengths(table: Any, name: str) -> list[float]:
    found = [length_ft(value, where) for where, value in filled(table, name)]
    if not found:
        raise InputError("the range is blank.", where=name)
    return found


def _ground(points: Any) -> Ground:
    """The surface of readings: x, y, height, or a name before them."""
    found = lines(points, "points", 3)
    named = max(len(line.cells) for line in found) > 3
    first = 1 if named else 0
    return _fit(
        tuple(
            (line.text(0) if named and line.has(0) else f"row {line.row}",
             *(line.length_ft(first + i) for i in range(3)))
            for line in found
        )
    )  # fmt: skip


@lru_cache(maxsize=GROUNDS)
def _fit(readings: tuple[tuple[str, float, float, float], ...]) -> Ground:
    return fit_ground(
        [(x, y) for _, x, y, _ in readings],
        [z for *_, z in readings],
        [f"point {name}" for name, *_ in readings],
    )


def _plan(found: tuple[Line, ...]) -> Floats:
    return np.array([(line.length_ft(0), line.length_ft(1)) for line in found])


def _side(asked: Any) -> int:
    if isinstance(asked, float) and asked in (1, 2, 3, 4):
        return int(asked) - 1
    return SIDES.index(word(asked, "side", SIDES, SIDES[0]))
