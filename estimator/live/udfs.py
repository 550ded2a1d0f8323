"""The functions that a cell can call on Windows, through xlwings: thin layers over the engine.

Each takes whole ranges and gives one rectangle, which spills. The first cell of a table is its
status: it begins with ``OK`` or the table is no result, so a total checks it first (see
``docs/live_link.md``). An error is a text in the cell that begins with ``ERROR: ``.

Spreadsheet functions know no upper or lower case: ``=BASE_GROUND(...)`` calls ``base_ground``.
Every argument keeps cell errors as texts (``err_to_str``), as they would read as blanks otherwise.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import xlwings as xw

from estimator.live import ground, lengths, lumber, solved
from estimator.live.convert import Block, answer

CATEGORY = "Outbuilding base"
F = TypeVar("F", bound=Callable[..., Any])

POINTS = "Readings: x, y, height in ft, a name before them if you like; lengths as you type them."
CORNERS = "Corners in order, one a row: x and y in ft."
PIECES = "Pieces wanted: label, length (a bare number is inches), count."
STOCK = "Boards sold: item, length (a bare number is feet), price in $, number at hand if limited."
KERF = "Width of a saw cut; a bare number is inches. 1/8 in if left out."
END_TRIM = "Lost to squaring the ends of a board, both together; inches. 0 if left out."
OVER_LENGTH = "What a board measures beyond its nominal length; inches. 0 if left out."


def _table(name: str, help_text: str) -> Callable[[F], F]:
    found: Callable[[F], F] = xw.arg(name, ndim=2, err_to_str=True, doc=help_text)
    return found


def _cell(name: str, help_text: str) -> Callable[[F], F]:
    found: Callable[[F], F] = xw.arg(name, err_to_str=True, doc=help_text)
    return found


@xw.func(category=CATEGORY)
@_table("points", POINTS)
@_table("places", "Places asked about, one a row: x and y in ft.")
def base_ground(points: Any, places: Any) -> Block:
    """Height of the ground at places, ft, and whether it was measured or guessed."""
    return answer(ground.ground_at, points, places)


@xw.func(category=CATEGORY)
@_table("points", POINTS)
@_table("along", "Distances along x, ft: the columns of the grid.")
@_table("back", "Distances along y, ft: the rows of the grid.")
def base_ground_grid(points: Any, along: Any, back: Any) -> Block:
    """Height of the ground on a grid, ft: x in the first row, y in the first column."""
    return answer(ground.ground_grid, points, along, back)


@xw.func(category=CATEGORY)
@_table("points", POINTS)
@_table("corners", CORNERS)
@_table("heights", "Subgrade heights to try, ft on the survey's datum.")
@_cell("strip", "Sod and topsoil taken off first, ft. 0 if left out.")
def base_cut_fill(points: Any, corners: Any, heights: Any, strip: Any = None) -> Block:
    """Cut (bank yd3) and fill (compacted yd3) of a footprint for each subgrade height."""
    return answer(ground.cut_fill, points, corners, heights, strip)


@xw.func(category=CATEGORY)
@_table("points", POINTS)
@_table("corners", "The four outer corners of the frame in order: x and y in ft.")
@_cell("string_height", "Top of the timbers, ft on the survey's datum; blank: flush, high side.")
@_cell("timber_depth", "Dressed depth of a timber; a bare number is inches.")
@_cell("timber_width", "Dressed width of a timber; a bare number is inches.")
@_cell("bedding", "Stone under the lowest course; a bare number is inches.")
@_cell("embedment", "Least depth of the lowest course in the ground; inches. 0 if left out.")
@_cell("strip", "Sod and topsoil taken off first, ft. 0 if left out.")
@_table("stock", "Stocked timber lengths, ft. 8, 10, 12 and 16 if left out.")
@_cell("station_spacing", "Stations every so many ft. 2 if left out.")
@_cell("side", "1 to 4, or front, right, back, left; blank: all sides.")
def base_courses(
    points: Any,
    corners: Any,
    string_height: Any,
    timber_depth: Any,
    timber_width: Any,
    bedding: Any,
    embedment: Any = None,
    strip: Any = None,
    stock: Any = None,
    station_spacing: Any = None,
    side: Any = None,
) -> Block:
    """Courses and trench depths at stations along the sides of a timber frame."""
    return answer(
        ground.courses,
        points,
        corners,
        string_height,
        timber_depth,
        timber_width,
        bedding,
        embedment,
        strip,
        stock,
        station_spacing,
        side,
    )


@xw.func(category=CATEGORY)
@_table("pieces", PIECES)
@_table("stock", STOCK)
@_cell("kerf", KERF)
@_cell("end_trim", END_TRIM)
@_cell("over_length", OVER_LENGTH)
def base_cut_plan(
    pieces: Any, stock: Any, kerf: Any = None, end_trim: Any = None, over_length: Any = None
) -> Block:
    """Boards to buy at the least cost and what to cut from each."""
    return answer(lumber.cut_plan, pieces, stock, kerf, end_trim, over_length)


@xw.func(category=CATEGORY)
@_table("pieces", PIECES)
@_table("stock", STOCK)
@_cell("kerf", KERF)
@_cell("end_trim", END_TRIM)
@_cell("over_length", OVER_LENGTH)
def base_boards_cost(
    pieces: Any, stock: Any, kerf: Any = None, end_trim: Any = None, over_length: Any = None
) -> Block:
    """Dollars of the cheapest boards for the pieces."""
    return answer(lumber.boards_cost, pieces, stock, kerf, end_trim, over_length)


@xw.func(category=CATEGORY)
@_cell("floor_length", "Floor length, along which the joists are spaced, ft.")
@_cell("floor_width", "Floor width, along the joists, ft.")
@_cell("joist_spacing", "Joists on centre; a bare number is inches.")
@_cell("joist_width", "Thickness of a joist; inches. 1 1/2 in if left out.")
@_cell("sheet_length", "Sheet length; inches. 96 if left out.")
@_cell("sheet_width", "Sheet width; inches. 48 if left out.")
@_cell("edges", "square, or tongue and groove. square if left out.")
@_cell("net_width", "Width that one sheet covers; inches. Its width if left out.")
@_cell("gap", "Gap between sheets; inches. 1/8 if left out.")
@_cell("kerf", KERF)
def base_sheets(
    floor_length: Any,
    floor_width: Any,
    joist_spacing: Any,
    joist_width: Any = None,
    sheet_length: Any = None,
    sheet_width: Any = None,
    edges: Any = None,
    net_width: Any = None,
    gap: Any = None,
    kerf: Any = None,
) -> Block:
    """Floor sheets laid with as few as can be: every piece, its place and its sheet."""
    return answer(
        lumber.sheet_pieces,
        floor_length,
        floor_width,
        joist_spacing,
        joist_width,
        sheet_length,
        sheet_width,
        edges,
        net_width,
        gap,
        kerf,
    )


@xw.func(category=CATEGORY)
@_table(
    "members",
    "Joists, one a row: species, grade, size (2x8), spacing in inches, live psf, dead psf,"
    " treated or blank.",
)
def base_span(members: Any) -> Block:
    """Clear span allowed for floor joists, ft, and how their design values were obtained."""
    return answer(lumber.spans, members)


@xw.func(category=CATEGORY)
@_table("loads", "One footing a row: load in lb with its own weight, bearing in psf or a soil.")
@_cell("pier", "Diameter of the pier on it; inches. 12 if left out.")
def base_footing(loads: Any, pier: Any = None) -> Block:
    """Footing for each load: diameter if round, side if square, thickness, pressure."""
    return answer(lumber.footings, loads, pier)


@xw.func(category=CATEGORY)
@_table("typed", "Lengths as builders type them: 12' 6 1/2\", 12-6, 150 in, 3.81 m.")
@_cell("unit", "Unit of a bare number: ft, in, m, cm, mm. ft if left out.")
def base_feet(typed: Any, unit: Any = None) -> Block:
    """Lengths in decimal feet, in the shape of the range."""
    return answer(lengths.feet, typed, unit)


@xw.func(category=CATEGORY)
@_table("decimal_feet", "Lengths in decimal feet.")
@_cell("parts", "Parts of an inch to round to. 16 if left out.")
def base_feet_inches(decimal_feet: Any, parts: Any = None) -> Block:
    """Lengths as a tape reads, 15 ft 7 7/16 in, in the shape of the range."""
    return answer(lengths.feet_inches, decimal_feet, parts)


@xw.func(category=CATEGORY)
@_cell("block", "First and last quantity of the block, such as cut_cost:cut_waste_ft.")
@_table("reads", "All that the block is solved from, in the order of the copy with live functions.")
def base_block(block: Any, *reads: Any) -> Block:
    """A solved block of the workbook, as a refill would write it."""
    return solved.solved_block(block, *reads)
