"""Sheet Field Sheet: what to set out, dig and set, for the chosen option; its first page."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from estimator.appearance import Appearance, Headed, SheetAppearance
from estimator.contributions import GatherColumn
from estimator.model.adds import Step, steps_of
from estimator.model.grading import CORNER_NAMES
from estimator.model.kinds import (
    FLOORS,
    GRADED,
    KIND_NAMES,
    ON_BLOCKS,
    ON_PIERS,
    SUPPORTS,
    TIMBERED,
    MoreCases,
    by_kind,
    is_kind,
    kinds_that,
)
from estimator.model.option_names import titled
from estimator.model.set_out import GRID, GUESSED, SET_TO
from estimator.model.tape import inches, tape
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, amount, as_text, join, nth, one_of, pick

DUG_TO = 4
"""Parts of an inch that a shovel works to."""
PADS_WITHOUT_TIMBERS = kinds_that(edge="slopes", carries="pad")
MOST_STEPS = 6
"""Lines of the order of work of one kind."""
CORNERS_NO = len(CORNER_NAMES)
CORNERS = "Corners: x and y of the survey, tapes from its points 1 and 2"
SIGNED = "+0.0;-0.0;0.0"
FIELD_SHEET = Sheet(
    "Field Sheet",
    "Field Sheet: stakes, strings, depths, order of work",
    "For the chosen option. Sides anticlockwise: 1 front, 2 right, 3 back, 4 left. Grade: before stripping; fill: from stripped ground. ?: ground guessed.",
    shows=SheetAppearance(
        role="take-along",
        reader="lot",
        large=True,
        widths=(6.4, 12.3, 12.3, 8.6, 8.6, 8.0, 1.0, 6.4, 12.3, 12.3, 8.6, 8.6, 8.0, 2.0),
        label_columns=2,
    ),
)

FIELD_SHEET.section("First the call; then heights and depths")


@FIELD_SHEET.row("Before digging", kind="text", scope="job")
def field_call(notice_days: Q) -> Q:
    return join(
        "call the utility locating service; wait ",
        as_text(notice_days, "0"),
        " days; hand-dig near marks; lines overhead; septic, wells",
    )


@FIELD_SHEET.row("Option", kind="text", scope="job")
def field_title(option_name: Q, option_kind: Q, chosen_no: Q, chosen_used: Q) -> Q:
    return np.where(chosen_used == 1, titled(option_name, option_kind, chosen_no), "")


@FIELD_SHEET.row("Water", kind="text", scope="job")
def field_water(
    uphill_sides: Q,
    uphill_water: Q,
    uphill_run_ft: Q,
    outlet_used: Q,
    chosen_no: Q,
    chosen_used: Q,
) -> Q:
    run = pick(uphill_run_ft, chosen_no)
    round_it = join(
        pick(uphill_water, chosen_no),
        ", ",
        amount(run, "ft", "0"),
        ", on the sides uphill: ",
        pick(uphill_sides, chosen_no),
    )
    outlet = np.where(
        pick(outlet_used, chosen_no) == 1,
        "; drain outlet at the lowest corner",
        "; no drain outlet",
    )
    told = join(np.where(run > 0, round_it, "nothing to lead off uphill"), outlet)
    return np.where(chosen_used == 1, told, "")


@FIELD_SHEET.row("Ground guessed", kind="text", scope="job")
def field_guessed(guessed_share: Q, readings_far: Q, chosen_no: Q) -> Q:
    share, far = pick(guessed_share, chosen_no), pick(readings_far, chosen_no)
    return np.where(
        share > 0,
        join(
            as_text(np.maximum(100 * share, 1), "0"),
            " % of the base lies outside the readings: read there first. Marked ? below, not in the grid.",
        ),
        np.where(far == "", "none", join("none, but ", far, ": read there first")),
    )


@FIELD_SHEET.row("Outside", kind="text", scope="job")
def field_outside(frame_length_ft: Q, frame_width_ft: Q, frame_diagonal_ft: Q, chosen_no: Q) -> Q:
    return join(
        tape(pick(frame_length_ft, chosen_no) * IN_PER_FT),
        " x ",
        tape(pick(frame_width_ft, chosen_no) * IN_PER_FT),
        "; both diagonals ",
        tape(pick(frame_diagonal_ft, chosen_no) * IN_PER_FT),
    )


@FIELD_SHEET.row("Building", kind="text", scope="job")
def field_building(
    frame_length_ft: Q,
    frame_width_ft: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    floor_diagonal_in: Q,
    chosen_no: Q,
) -> Q:
    along = (pick(frame_length_ft, chosen_no) - building_length_ft) / 2
    across = (pick(frame_width_ft, chosen_no) - building_width_ft) / 2
    inside = join(
        tape(along * IN_PER_FT),
        " inside the sides, ",
        tape(across * IN_PER_FT),
        " inside front and back",
    )
    place = np.where((along == 0) & (across == 0), "as the outside", inside)
    return join(place, "; diagonals ", tape(pick(floor_diagonal_in, chosen_no)))


@FIELD_SHEET.row("Stakes, strings", kind="text", scope="job")
def field_strings(
    stake_off_ft: Q, string_offset_in: Q, chosen_no: Q, chosen_base: Q, more_cases: MoreCases
) -> Q:
    over = pick(string_offset_in, chosen_no)
    of = by_kind(
        chosen_base,
        {
            TIMBERED: "the timbers",
            PADS_WITHOUT_TIMBERS: "the pad",
            SUPPORTS: "the supports",
        },
        more_cases,
    )
    told = join(
        tape(stake_off_ft * IN_PER_FT),
        " out, A on front and back, B on the sides; strings ",
        np.where(over > 0, join(inches(over), " above "), "level with "),
        of,
    )
    return np.where(chosen_base == "", "", told)


def _mark(used: Q, name: Q, without: str) -> Q:
    """What heights are told from: the bench mark, or else the ground at a point."""
    return np.where(used == 1, np.where(name == "", "the bench mark", name), without)


@FIELD_SHEET.row("Points", kind="text", scope="job")
def field_points(
    tie_name: Q,
    tie_height_ft: Q,
    bench_used: Q,
    bench_name: Q,
    bench_height_ft: Q,
    string_ft: Q,
    chosen_no: Q,
    chosen_base: Q,
) -> Q:
    mark_ft = np.where(bench_used == 1, bench_height_ft, nth(tie_height_ft, 1))
    over = (pick(string_ft, chosen_no) - mark_ft) * IN_PER_FT
    told = join(
        "1: ",
        nth(tie_name, 1),
        "; 2: ",
        nth(tie_name, 2),
        ". Strings ",
        inches(np.absolute(over), SET_TO),
        np.where(over < 0, " below ", " above "),
        _mark(bench_used, bench_name, "the ground at 1"),
    )
    return np.where((nth(tie_name, 1) == "") | (chosen_base == ""), "", told)


@FIELD_SHEET.row("Rod", kind="text", scope="job")
def field_rod(
    survey_method: Q,
    setup_height_ft: Q,
    tie_name: Q,
    tie_height_ft: Q,
    bench_used: Q,
    bench_name: Q,
    bench_height_ft: Q,
    string_ft: Q,
    chosen_no: Q,
    chosen_base: Q,
) -> Q:
    mark_ft = np.where(bench_used == 1, bench_height_ft, nth(tie_height_ft, 1))
    there = nth(setup_height_ft, 1) - mark_ft
    strings = nth(setup_height_ft, 1) - pick(string_ft, chosen_no)
    told = join(
        "where it reads ",
        amount(there, "ft", "0.00"),
        " at ",
        _mark(bench_used, bench_name, "point 1"),
        ", it reads ",
        amount(strings, "ft", "0.00"),
        " at the strings",
    )
    rod = (survey_method == "rod readings") & (nth(tie_name, 1) != "") & (chosen_base != "")
    return np.where(rod, told, "")


@FIELD_SHEET.row("Sod, topsoil", kind="text", scope="job")
def field_strip(
    strip_ft: Q,
    chosen_no: Q,
    chosen_base: Q,
    trench_width_in: Q,
    timber_width_in: Q,
    work_room_in: Q,
    shoulder_reach_ft: Q,
) -> Q:
    depth = pick(strip_ft, chosen_no) * IN_PER_FT
    trench = (pick(trench_width_in, chosen_no) - pick(timber_width_in, chosen_no)) / 2
    slope = pick(shoulder_reach_ft, chosen_no) * IN_PER_FT
    room = np.maximum(trench, 0) + work_room_in
    out = np.where(is_kind(chosen_base, TIMBERED), room, slope)
    off = join(inches(depth, DUG_TO), " off, as far as ", inches(out, DUG_TO))
    told = np.where(depth > 0, join(off, " beyond the outside"), "none comes off")
    return np.where(is_kind(chosen_base, GRADED), told, "")


@FIELD_SHEET.row("Subgrade", kind="text", scope="job")
def field_subgrade(
    string_ft: Q,
    subgrade_ft: Q,
    stone_depth_in: Q,
    lifts: Q,
    stone_fill_lifts: Q,
    chosen_no: Q,
    chosen_base: Q,
) -> Q:
    below = (pick(string_ft, chosen_no) - pick(subgrade_ft, chosen_no)) * IN_PER_FT
    told = join(
        inches(below, SET_TO),
        " below the strings; lifts of soil ",
        as_text(pick(lifts, chosen_no), "0"),
        ", of stone ",
        as_text(pick(stone_fill_lifts, chosen_no), "0"),
        "; then ",
        inches(pick(stone_depth_in, chosen_no)),
        " of stone",
    )
    return np.where(is_kind(chosen_base, GRADED), told, "")


@FIELD_SHEET.row("Trench, hole, slab", kind="text", scope="job")
def field_trench(
    trench_told: Q,
    pier_diameter_in: Q,
    footing_diameter_used_in: Q,
    footing_thick_in: Q,
    block_pad_in: Q,
    block_bed_in: Q,
    slab_thick_used_in: Q,
    slab_edge_used_in: Q,
    shoulder_slope: Q,
    chosen_no: Q,
    chosen_base: Q,
    more_cases: MoreCases,
) -> Q:
    def size(key_in: Q) -> Q:
        return inches(pick(key_in, chosen_no), SET_TO)

    piers = join(
        "piers ",
        size(pier_diameter_in),
        "; footings ",
        size(footing_diameter_used_in),
        " wide, ",
        size(footing_thick_in),
        " thick",
    )
    blocks = join(size(block_pad_in), " square; bed of stone ", size(block_bed_in))
    slab = join(
        size(slab_thick_used_in),
        " thick; edges ",
        size(slab_edge_used_in),
        " wide at the bottom; ",
    )
    told = {
        TIMBERED: trench_told,
        PADS_WITHOUT_TIMBERS: "",
        ON_PIERS: piers,
        ON_BLOCKS: blocks,
        FLOORS: slab,
    }
    whole = join(by_kind(chosen_base, told, more_cases), pick(shoulder_slope, chosen_no))
    return np.where(chosen_base == "", "", whole)


@FIELD_SHEET.row("Stone, concrete", kind="text", scope="job")
def field_material(
    stone_order_yd3: Q, concrete_yd3: Q, curing_days: Q, chosen_no: Q, chosen_base: Q
) -> Q:
    concrete, order = pick(concrete_yd3, chosen_no), pick(stone_order_yd3, chosen_no)
    stone = np.where(order > 0, join(amount(order, "yd3", "0.0"), " of stone"), "")
    cast = join(
        np.where(order > 0, "; ", ""),
        amount(concrete, "yd3", "0.00"),
        " of concrete, cures ",
        as_text(curing_days, "0"),
        " days before framing",
    )
    return np.where(chosen_base == "", "", join(stone, np.where(concrete > 0, cast, "")))


CORNER_LINES = FIELD_SHEET.table(
    "stake",
    "",
    len(CORNER_NAMES),
    index=True,
    shows=Appearance(
        characters={"stake_tie_1": 13, "stake_tie_2": 13, "stake_edge": 8},
        headed=Headed(
            "chosen_base",
            dict.fromkeys(KIND_NAMES, CORNERS)
            | dict.fromkeys(FLOORS, f"{CORNERS}; edge below the strings"),
            {
                key: dict.fromkeys(KIND_NAMES, heading)
                for key, heading in (
                    ("stake_name", "Corner"),
                    ("stake_x_ft", "x"),
                    ("stake_y_ft", "y"),
                    ("stake_tie_1", "Tape 1{|, mm}"),
                    ("stake_tie_2", "Tape 2{|, mm}"),
                )
            }
            | {"stake_edge": dict.fromkeys(FLOORS, "Edge, {in}")},
        ),
    ),
)


@CORNER_LINES.column("Corner", kind="text")
def stake_name(stake_no: Q) -> Q:
    return one_of(CORNER_NAMES, stake_no - 1)


def _right(number: Q) -> Q:
    """1 for a corner at the right, else 0."""
    return np.where((number == 2) | (number == 3), 1, 0)


def _back(number: Q) -> Q:
    """1 for a corner at the back, else 0."""
    return np.where((number == 3) | (number == 4), 1, 0)


def _along(number: Q, frame: Q, building: Q) -> Q:
    """Right of the building's corner 1."""
    return _right(number) * frame - (frame - building) / 2


def _across(number: Q, frame: Q, building: Q) -> Q:
    """Back of the building's corner 1."""
    return _back(number) * frame - (frame - building) / 2


@CORNER_LINES.column("x", "ft")
def stake_x_ft(
    stake_no: Q,
    site_x_ft: Q,
    turn_deg: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    chosen_no: Q,
) -> Q:
    angle = turn_deg * math.pi / 180
    along = _along(stake_no, pick(frame_length_ft, chosen_no), building_length_ft)
    across = _across(stake_no, pick(frame_width_ft, chosen_no), building_width_ft)
    return site_x_ft + along * np.cos(angle) - across * np.sin(angle)


@CORNER_LINES.column("y", "ft")
def stake_y_ft(
    stake_no: Q,
    site_y_ft: Q,
    turn_deg: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    chosen_no: Q,
) -> Q:
    angle = turn_deg * math.pi / 180
    along = _along(stake_no, pick(frame_length_ft, chosen_no), building_length_ft)
    across = _across(stake_no, pick(frame_width_ft, chosen_no), building_width_ft)
    return site_y_ft + along * np.sin(angle) + across * np.cos(angle)


def _tied(x_ft: Q, y_ft: Q, name: Q, tie_x_ft: Q, tie_y_ft: Q) -> Q:
    run = np.sqrt((x_ft - tie_x_ft) ** 2 + (y_ft - tie_y_ft) ** 2)
    return np.where(name == "", "", tape(run * IN_PER_FT, SET_TO, headed=True))


@CORNER_LINES.column("Tape from 1", kind="text")
def stake_tie_1(stake_x_ft: Q, stake_y_ft: Q, tie_name: Q, tie_x_ft: Q, tie_y_ft: Q) -> Q:
    return _tied(stake_x_ft, stake_y_ft, nth(tie_name, 1), nth(tie_x_ft, 1), nth(tie_y_ft, 1))


@CORNER_LINES.column("Tape from 2", kind="text")
def stake_tie_2(stake_x_ft: Q, stake_y_ft: Q, tie_name: Q, tie_x_ft: Q, tie_y_ft: Q) -> Q:
    return _tied(stake_x_ft, stake_y_ft, nth(tie_name, 2), nth(tie_x_ft, 2), nth(tie_y_ft, 2))


STAKES = FIELD_SHEET.table(
    "stake",
    "Strings above the ground, at stakes and corners",
    len(CORNER_NAMES),
    shows=Appearance(characters={"stake_corner": 11, "stake_a": 7, "stake_b": 7, "stake_at": 7}),
)


@STAKES.column("Corner", kind="text")
def stake_corner(stake_name: Q) -> Q:
    return stake_name


def _above(number: Q, string_ft: Q, ground_ft: Q, guessed: Q, chosen_no: Q) -> Q:
    """Strings above the ground at a place of the table of stakes, marked where it is guessed."""
    depth = pick(string_ft, chosen_no) - pick(ground_ft, chosen_no, number)
    unsure = pick(guessed, chosen_no, number) > 0
    return join(inches(depth * IN_PER_FT, DUG_TO, headed=True), np.where(unsure, GUESSED, ""))


@STAKES.column("A, {in}", kind="text")
def stake_a(stake_no: Q, string_ft: Q, stake_ground_ft: Q, stake_guessed: Q, chosen_no: Q) -> Q:
    return _above(stake_no, string_ft, stake_ground_ft, stake_guessed, chosen_no)


@STAKES.column("B, {in}", kind="text")
def stake_b(stake_no: Q, string_ft: Q, stake_ground_ft: Q, stake_guessed: Q, chosen_no: Q) -> Q:
    return _above(stake_no + CORNERS_NO, string_ft, stake_ground_ft, stake_guessed, chosen_no)


@STAKES.column("At it, {in}", kind="text")
def stake_at(stake_no: Q, string_ft: Q, stake_ground_ft: Q, stake_guessed: Q, chosen_no: Q) -> Q:
    return _above(stake_no + 2 * CORNERS_NO, string_ft, stake_ground_ft, stake_guessed, chosen_no)


HEAT = FIELD_SHEET.table(
    "grid",
    "",
    GRID,
    shows=Appearance(
        beside=8,
        characters={"heat_row": 4},
        colour_scale=("heat_1_in", "heat_2_in", "heat_3_in", "heat_4_in", "heat_5_in"),
        headed=Headed(
            "chosen_base",
            dict.fromkeys(GRADED, "Dig (+) or fill (-) to the subgrade, after stripping"),
            {
                key: dict.fromkeys(GRADED, heading)
                for key, heading in (
                    ("heat_row", "At"),
                    ("heat_1_in", "Left"),
                    ("heat_2_in", "1/4"),
                    ("heat_3_in", "Half"),
                    ("heat_4_in", "3/4"),
                    ("heat_5_in", "Right"),
                )
            },
        ),
    ),
)


@HEAT.column("At", kind="text")
def heat_row(grid_no: Q) -> Q:
    return one_of(("back", "3/4", "half", "1/4", "front"), grid_no - 1)


def _heat(ground_ft: Q, strip_ft: Q, subgrade_ft: Q, on_pad: Q, chosen_no: Q) -> Q:
    """Inches from the stripped ground down to the subgrade; 0 where there is none."""
    stripped = pick(ground_ft, chosen_no) - pick(strip_ft, chosen_no)
    return pick(on_pad, chosen_no) * (stripped - pick(subgrade_ft, chosen_no)) * IN_PER_FT


@HEAT.column("Left", "in", fmt=SIGNED)
def heat_1_in(grid_1_ft: Q, strip_ft: Q, subgrade_ft: Q, on_pad: Q, chosen_no: Q) -> Q:
    return _heat(grid_1_ft, strip_ft, subgrade_ft, on_pad, chosen_no)


@HEAT.column("1/4", "in", fmt=SIGNED)
def heat_2_in(grid_2_ft: Q, strip_ft: Q, subgrade_ft: Q, on_pad: Q, chosen_no: Q) -> Q:
    return _heat(grid_2_ft, strip_ft, subgrade_ft, on_pad, chosen_no)


@HEAT.column("Half", "in", fmt=SIGNED)
def heat_3_in(grid_3_ft: Q, strip_ft: Q, subgrade_ft: Q, on_pad: Q, chosen_no: Q) -> Q:
    return _heat(grid_3_ft, strip_ft, subgrade_ft, on_pad, chosen_no)


@HEAT.column("3/4", "in", fmt=SIGNED)
def heat_4_in(grid_4_ft: Q, strip_ft: Q, subgrade_ft: Q, on_pad: Q, chosen_no: Q) -> Q:
    return _heat(grid_4_ft, strip_ft, subgrade_ft, on_pad, chosen_no)


@HEAT.column("Right", "in", fmt=SIGNED)
def heat_5_in(grid_5_ft: Q, strip_ft: Q, subgrade_ft: Q, on_pad: Q, chosen_no: Q) -> Q:
    return _heat(grid_5_ft, strip_ft, subgrade_ft, on_pad, chosen_no)


def _work(steps: Sequence[Step]) -> Callable[..., Q]:
    """Column of the order of work of the chosen kind.

    Raises:
        RowError: If a kind has more steps than there are lines.
    """
    told = {kind: steps_of(steps, kind, MOST_STEPS) for kind in KIND_NAMES}

    def work_text(work_no: Q, chosen_base: Q) -> Q:
        lines = {kind: one_of(texts, work_no - 1) for kind, texts in told.items()}
        return np.where(chosen_base == "", "", by_kind(chosen_base, lines))

    return work_text


WORK = FIELD_SHEET.table(
    "work",
    "Order of work",
    MOST_STEPS,
    index=True,
    shows=Appearance(characters={"work_text": 90}),
)
WORK.gathers(GatherColumn(Step, "work_text", "Do", _work))
