"""Sheet Pictures: what the charts of the chosen option are drawn from."""

from __future__ import annotations

import math
from functools import reduce

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.model.charts import CHARTS
from estimator.model.quick_survey import STAKE_NAMES
from estimator.model.set_out import BENDS, GRID, GUESSED, STATIONS
from estimator.model.siting_sheet import BOUNDS, KEEP_OUTS, PLACES
from estimator.model.survey import POINTS
from estimator.model.tape import tape
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, nth, one_of, pick

PICTURES = Sheet(
    "Pictures",
    "Pictures: the sides and the plan",
    "For the chosen option. Sides: brown the ground, dashed the top of the base, dotted the bottom of courses, stone or edge.",
    shows=SheetAppearance(role="take-along", reader="lot", charts=CHARTS, one_page=True),
)
SIDES = 4
CONTOURS = 160
"""Dots along the contours."""
HOUSE_POINTS = 12
MARKS = GRID
"""Contours that bear their height."""
NAME_HIGH, LETTER_WIDE, AIR_WIDE = 0.05, 0.0155, 0.015
"""Shares of the plan's width that names on it take: their height with air, the width of a letter as
measured on a page, and of the air beside them; they lie level however the base is turned."""
FRONT, BACK, LEFT = "front, ", "back", "left"
"""What sides are called; that of the front stands before its length, the right has its length alone."""
ROOM = 52
"""Rows left for the charts."""
PICTURES.notes("Sides of the base, and the lot from above", *("",) * ROOM)

PROFILE = PICTURES.table(
    "station",
    "Behind the sides",
    STATIONS,
    "From the top of the base, negative below it; ten stations a side, the last repeated.",
    shows=Appearance(workings=True),
)


@PROFILE.column("From its corner", "ft")
def line_at_ft(station_at_ft: Q, chosen_no: Q) -> Q:
    return pick(station_at_ft, chosen_no)


@PROFILE.column("Ground", "in", fmt="0.0")
def line_ground_in(station_ground_ft: Q, chosen_no: Q, top_ft: Q) -> Q:
    return (pick(station_ground_ft, chosen_no) - pick(top_ft, chosen_no)) * IN_PER_FT


@PROFILE.column("Top of the base", "in", fmt="0.0")
def line_string_in(line_at_ft: Q) -> Q:
    return 0 * line_at_ft  # heights count from the top: 0 at every station of the table


BOTTOM = PICTURES.table(
    "bend",
    "Behind the sides: line under the courses, the stone, or the edge of a slab",
    BENDS,
    "From the top of the base; level along a course and upright where one ends, straight along an edge.",
    index=True,
    shows=Appearance(workings=True),
)


@BOTTOM.column("From its corner", "ft")
def bottom_at_ft(bend_at_ft: Q, chosen_no: Q) -> Q:
    return pick(bend_at_ft, chosen_no)


@BOTTOM.column("Corner that it begins or ends at", fmt="0")
def bottom_corner(bend_no: Q, bottom_at_ft: Q) -> Q:
    side = np.ceil(bend_no / (BENDS / SIDES))
    following = np.where(side == SIDES, 1, side + 1)
    return np.where(bottom_at_ft > 0, following, side)


@BOTTOM.column("Bottom of courses, stone or edge", "in", fmt="0.0")
def bottom_in(
    bend_courses: Q,
    chosen_no: Q,
    timber_depth_in: Q,
    stone_depth_in: Q,
    bottom_corner: Q,
    slab_chosen_in: Q,
    slab_thick_used_in: Q,
) -> Q:
    courses = pick(bend_courses, chosen_no)
    stone = np.where(
        courses > 0, -courses * pick(timber_depth_in, chosen_no), -pick(stone_depth_in, chosen_no)
    )
    edge = nth(slab_chosen_in, bottom_corner)
    return np.where(edge > 0, pick(slab_thick_used_in, chosen_no) - edge, stone)


HOUSE = PICTURES.table(
    "house",
    "Behind the building from the front",
    HOUSE_POINTS,
    "From the base up along the left, the floor, the roof, and down along the right.",
    index=True,
    shows=Appearance(workings=True),
)


@HOUSE.column("From the first corner of the base", "ft")
def house_at_ft(
    house_no: Q,
    chosen_no: Q,
    frame_length_ft: Q,
    building_length_ft: Q,
    roof_bears_on: Q,
    roof_eave_in: Q,
) -> Q:
    gable = roof_bears_on == "left and right"  # then a gable faces the front
    past = roof_eave_in / IN_PER_FT
    right = np.where((house_no == 3) | (house_no > 8), building_length_ft, 0)
    left_ridge = np.where(gable, building_length_ft / 2, -past)
    right_ridge = np.where(gable, building_length_ft / 2, building_length_ft + past)
    ridge = np.where(house_no == 7, left_ridge, np.where(house_no == 8, right_ridge, right))
    eaves = np.where(house_no == 6, -past, np.where(house_no == 9, past, 0))
    return (pick(frame_length_ft, chosen_no) - building_length_ft) / 2 + ridge + eaves


@HOUSE.column("Above the top of the base", "in", fmt="0.0")
def house_in(
    house_no: Q,
    floor_top_ft: Q,
    chosen_no: Q,
    top_ft: Q,
    wall_height_ft: Q,
    roof_height_ft: Q,
) -> Q:
    floor = pick(floor_top_ft, chosen_no) - pick(top_ft, chosen_no)
    roof = np.where((house_no == 7) | (house_no == 8), roof_height_ft, 0)
    walls = np.where((house_no > 4) & (house_no < 11), wall_height_ft, 0)
    above = np.where((house_no > 1) & (house_no < 12), floor, 0)
    return (above + walls + roof) * IN_PER_FT


PLAN = PICTURES.table(
    "outline",
    "Behind the plan: outlines",
    GRID,
    "Corners 1 to 4 and back to 1; a place that was not found repeats the base.",
    index=True,
    shows=Appearance(workings=True),
)


def _corner(number: Q) -> tuple[Q, Q]:
    """1 at the right, and 1 at the back, else 0, for a corner of an outline."""
    right = np.where((number == 2) | (number == 3), 1, 0)
    back = np.where((number == 3) | (number == 4), 1, 0)
    return right, back


def _east(number: Q, x: Q, turn_deg: Q, length: Q, width: Q, out_x: Q, out_y: Q) -> Q:
    right, back = _corner(number)
    along = right * (length + 2 * out_x) - out_x
    across = back * (width + 2 * out_y) - out_y
    angle = turn_deg * math.pi / 180
    return x + along * np.cos(angle) - across * np.sin(angle)


def _north(number: Q, y: Q, turn_deg: Q, length: Q, width: Q, out_x: Q, out_y: Q) -> Q:
    right, back = _corner(number)
    along = right * (length + 2 * out_x) - out_x
    across = back * (width + 2 * out_y) - out_y
    angle = turn_deg * math.pi / 180
    return y + along * np.sin(angle) + across * np.cos(angle)


@PLAN.column("Base, x", "ft")
def base_x_ft(
    outline_no: Q,
    site_x_ft: Q,
    turn_deg: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    chosen_no: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
) -> Q:
    out_x = (pick(frame_length_ft, chosen_no) - building_length_ft) / 2
    out_y = (pick(frame_width_ft, chosen_no) - building_width_ft) / 2
    return _east(
        outline_no, site_x_ft, turn_deg, building_length_ft, building_width_ft, out_x, out_y
    )


@PLAN.column("Base, y", "ft")
def base_y_ft(
    outline_no: Q,
    site_y_ft: Q,
    turn_deg: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    chosen_no: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
) -> Q:
    out_x = (pick(frame_length_ft, chosen_no) - building_length_ft) / 2
    out_y = (pick(frame_width_ft, chosen_no) - building_width_ft) / 2
    return _north(
        outline_no, site_y_ft, turn_deg, building_length_ft, building_width_ft, out_x, out_y
    )


def _place_columns(number: int) -> None:
    """Outline of best place ``number``: x and y of its corners."""

    def x(
        outline_no: Q,
        place_x_ft: Q,
        place_turn_deg: Q,
        place_cost: Q,
        base_x_ft: Q,
        building_length_ft: Q,
        building_width_ft: Q,
        chosen_no: Q,
        frame_length_ft: Q,
        frame_width_ft: Q,
    ) -> Q:
        found = _east(
            outline_no,
            nth(place_x_ft, number),
            nth(place_turn_deg, number),
            building_length_ft,
            building_width_ft,
            (pick(frame_length_ft, chosen_no) - building_length_ft) / 2,
            (pick(frame_width_ft, chosen_no) - building_width_ft) / 2,
        )
        return np.where(nth(place_cost, number) > 0, found, base_x_ft)

    def y(
        outline_no: Q,
        place_y_ft: Q,
        place_turn_deg: Q,
        place_cost: Q,
        base_y_ft: Q,
        building_length_ft: Q,
        building_width_ft: Q,
        chosen_no: Q,
        frame_length_ft: Q,
        frame_width_ft: Q,
    ) -> Q:
        found = _north(
            outline_no,
            nth(place_y_ft, number),
            nth(place_turn_deg, number),
            building_length_ft,
            building_width_ft,
            (pick(frame_length_ft, chosen_no) - building_length_ft) / 2,
            (pick(frame_width_ft, chosen_no) - building_width_ft) / 2,
        )
        return np.where(nth(place_cost, number) > 0, found, base_y_ft)

    x.__name__, y.__name__ = f"best_{number}_x_ft", f"best_{number}_y_ft"
    PLAN.column(f"Place {number}, x", "ft")(x)
    PLAN.column(f"Place {number}, y", "ft")(y)


for _number in range(1, PLACES + 1):
    _place_columns(_number)


def _least(*places: Q) -> Q:
    return reduce(np.minimum, [np.min(each) for each in places])


def _span(*places: Q) -> Q:
    return reduce(np.maximum, [np.max(each) for each in places]) - _least(*places)


@PLAN.column("Extent, x", "ft", note="A square round everything.")
def square_x_ft(
    outline_no: Q,
    dot_x_ft: Q,
    stake_dot_x_ft: Q,
    lot_x_ft: Q,
    base_x_ft: Q,
    dot_y_ft: Q,
    stake_dot_y_ft: Q,
    lot_y_ft: Q,
    base_y_ft: Q,
) -> Q:
    x, y = (
        (dot_x_ft, stake_dot_x_ft, lot_x_ft, base_x_ft),
        (dot_y_ft, stake_dot_y_ft, lot_y_ft, base_y_ft),
    )
    return _least(*x) + np.where(outline_no == 1, 0, np.maximum(_span(*x), _span(*y)))


@PLAN.column("Extent, y", "ft")
def square_y_ft(
    outline_no: Q,
    dot_x_ft: Q,
    stake_dot_x_ft: Q,
    lot_x_ft: Q,
    base_x_ft: Q,
    dot_y_ft: Q,
    stake_dot_y_ft: Q,
    lot_y_ft: Q,
    base_y_ft: Q,
) -> Q:
    x, y = (
        (dot_x_ft, stake_dot_x_ft, lot_x_ft, base_x_ft),
        (dot_y_ft, stake_dot_y_ft, lot_y_ft, base_y_ft),
    )
    return _least(*y) + np.where(outline_no == 1, 0, np.maximum(_span(*x), _span(*y)))


PLAN.solved("named_away_ft", "Sides, named: outside of the side", "ft", solver="outlines")
PLAN.solved("named_aside_ft", "Sides, named: off its middle", "ft", solver="outlines")


@PLAN.column("Sides, named: x", "ft", note="Off the middles of sides 1 to 4, the last again.")
def named_x_ft(
    outline_no: Q,
    site_x_ft: Q,
    turn_deg: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    chosen_no: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
    named_away_ft: Q,
    named_aside_ft: Q,
) -> Q:
    along = building_length_ft / 2 + _off(
        outline_no, 2, 4, pick(frame_length_ft, chosen_no), named_away_ft, named_aside_ft
    )
    across = building_width_ft / 2 + _off(
        outline_no, 3, 1, pick(frame_width_ft, chosen_no), named_away_ft, named_aside_ft
    )
    angle = turn_deg * math.pi / 180
    return site_x_ft + along * np.cos(angle) - across * np.sin(angle)


@PLAN.column("Sides, named: y", "ft")
def named_y_ft(
    outline_no: Q,
    site_y_ft: Q,
    turn_deg: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    chosen_no: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
    named_away_ft: Q,
    named_aside_ft: Q,
) -> Q:
    along = building_length_ft / 2 + _off(
        outline_no, 2, 4, pick(frame_length_ft, chosen_no), named_away_ft, named_aside_ft
    )
    across = building_width_ft / 2 + _off(
        outline_no, 3, 1, pick(frame_width_ft, chosen_no), named_away_ft, named_aside_ft
    )
    angle = turn_deg * math.pi / 180
    return site_y_ft + along * np.sin(angle) + across * np.cos(angle)


def _off(number: Q, far: int, near: int, size_ft: Q, away_ft: Q, aside_ft: Q) -> Q:
    """How far from the middle of the base a name stands along its length or width.

    Off the far and the near side outward, off the others along them.
    """
    last = near + (near == SIDES)  # the line behind that of the last side repeats it
    out = size_ft / 2 + away_ft
    return np.where(
        number == far, out, np.where((number >= near) & (number <= last), -out, aside_ft)
    )


@PLAN.column("Sides, named", kind="text", note="?: at a corner of it the ground is guessed.")
def named_text(
    outline_no: Q, chosen_no: Q, frame_length_ft: Q, frame_width_ft: Q, stake_guessed: Q
) -> Q:
    front = join(FRONT, tape(pick(frame_length_ft, chosen_no) * IN_PER_FT))
    right = tape(pick(frame_width_ft, chosen_no) * IN_PER_FT)
    others = one_of((BACK, LEFT, LEFT), np.maximum(outline_no, 3) - 3)
    name = np.where(outline_no == 1, front, np.where(outline_no == 2, right, others))
    side = np.minimum(outline_no, SIDES)
    after = np.where(side == SIDES, 1, side + 1)
    # Corners stand behind both stakes of each.
    first, last = (pick(stake_guessed, chosen_no, 2 * SIDES + corner) for corner in (side, after))
    return join(name, np.where(first + last > 0, GUESSED, ""))


@PLAN.column("Extent of the sides", "ft", note="As long as the longest: one scale for all four.")
def side_extent_ft(outline_no: Q, line_at_ft: Q, bottom_at_ft: Q) -> Q:
    longest = np.maximum(np.max(line_at_ft), np.max(bottom_at_ft))
    return np.where(outline_no == 1, 0, longest)


@PLAN.column("Extent of the sides, height", "in", fmt="0.0", note="From the lowest to the highest.")
def side_extent_in(outline_no: Q, line_ground_in: Q, bottom_in: Q) -> Q:
    low = np.minimum(np.min(line_ground_in), np.min(bottom_in))
    return np.where(outline_no == 1, low, np.maximum(np.max(line_ground_in), 0))


PLAN.solved("number_x_ft", "Numbers of places: x", "ft", solver="outlines")
PLAN.solved("number_y_ft", "Numbers of places: y", "ft", solver="outlines")


@PLAN.column(
    "Places, named: x",
    "ft",
    note="On the outline of each; of one not found, where side 4 is named.",
)
def found_x_ft(outline_no: Q, number_x_ft: Q, place_cost: Q, named_x_ft: Q) -> Q:
    return np.where(nth(place_cost, outline_no) > 0, number_x_ft, nth(named_x_ft, SIDES))


@PLAN.column("Places, named: y", "ft")
def found_y_ft(outline_no: Q, number_y_ft: Q, place_cost: Q, named_y_ft: Q) -> Q:
    return np.where(nth(place_cost, outline_no) > 0, number_y_ft, nth(named_y_ft, SIDES))


@PLAN.column("Places, named", kind="text", note="Of one not found: the name of side 4 again.")
def found_text(outline_no: Q, place_cost: Q, named_text: Q) -> Q:
    number = join("", outline_no)
    return np.where(nth(place_cost, outline_no) > 0, number, nth(named_text, SIDES))


PLAN.solved("contour_mark_x_ft", "Contours, named: x", "ft", solver="outlines")
PLAN.solved("contour_mark_y_ft", "Contours, named: y", "ft", solver="outlines")
PLAN.solved("contour_mark", "Contours, named", solver="outlines", kind="text")

READINGS = PICTURES.table(
    "point",
    "Behind the plan: readings",
    POINTS,
    "A blank line repeats the first reading, or the first stake where there is none.",
    shows=Appearance(workings=True),
)


def _or_first(name: Q, place: Q, point_name: Q, point_place: Q, stake_place: Q) -> Q:
    """The place of a reading; of a blank line, that of the first reading there may be."""
    first = np.where(nth(point_name, 1) == "", nth(stake_place, 1), nth(point_place, 1))
    return np.where(name == "", first, place)


@READINGS.column("x", "ft")
def dot_x_ft(point_name: Q, point_x_ft: Q, quick_x_ft: Q) -> Q:
    return _or_first(point_name, point_x_ft, point_name, point_x_ft, quick_x_ft)


@READINGS.column("y", "ft")
def dot_y_ft(point_name: Q, point_y_ft: Q, quick_y_ft: Q) -> Q:
    return _or_first(point_name, point_y_ft, point_name, point_y_ft, quick_y_ft)


READ_STAKES = PICTURES.table(
    "quick",
    "Behind the plan: stakes that were read",
    len(STAKE_NAMES),
    "One that was not repeats the first reading.",
    shows=Appearance(workings=True),
)


@READ_STAKES.column("x", "ft")
def stake_dot_x_ft(quick_name: Q, quick_x_ft: Q, point_name: Q, point_x_ft: Q) -> Q:
    return _or_first(quick_name, quick_x_ft, point_name, point_x_ft, quick_x_ft)


@READ_STAKES.column("y", "ft")
def stake_dot_y_ft(quick_name: Q, quick_y_ft: Q, point_name: Q, point_y_ft: Q) -> Q:
    return _or_first(quick_name, quick_y_ft, point_name, point_y_ft, quick_y_ft)


AREAS = PICTURES.table(
    "bound",
    "Behind the plan: property line, setback line and keep-out areas",
    BOUNDS,
    "Closed outlines; one that is not there is a dot at corner 1 of the building.",
    shows=Appearance(workings=True, gaps=True),
)
AREAS.solved("lot_x_ft", "Property x", "ft", solver="outlines")
AREAS.solved("lot_y_ft", "Property y", "ft", solver="outlines")
AREAS.solved("setback_x_ft", "Setback x", "ft", solver="outlines")
AREAS.solved("setback_y_ft", "Setback y", "ft", solver="outlines")
for _number in range(1, KEEP_OUTS + 1):
    AREAS.solved(f"keep_{_number}_x_ft", f"Keep-out {_number}, x", "ft", solver="outlines")
    AREAS.solved(f"keep_{_number}_y_ft", f"Keep-out {_number}, y", "ft", solver="outlines")

CONTOUR = PICTURES.table(
    "contour",
    "Behind the plan: dots along the contours",
    CONTOURS,
    "At each round height; some bear theirs.",
    shows=Appearance(workings=True),
)
CONTOUR.solved("contour_x_ft", "x", "ft", solver="readings")
CONTOUR.solved("contour_y_ft", "y", "ft", solver="readings")
