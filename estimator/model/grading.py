"""Sheet Grading: the footprint, the ground under it, the height of the base, the earth to move.

The vertical stack from the top: string (top of timbers or pad), stone, fabric, subgrade, stripped
ground, original ground. Heights are feet in the survey's datum.

Seen from above: cut and fill of the pad lie inside the timbers (an open pad's inside its edge);
round and under the timbers lies the trench, as wide as it is dug; outside of an open pad its
slopes; and under all of it, with room to work beside the trench, the ground is stripped.
"""

from __future__ import annotations

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.contributions import Fixed
from estimator.model.adds import OK, Hours, Need, Step, check
from estimator.model.kinds import (
    GRADED,
    SLOPED,
    SUPPORTS,
    TIMBERED,
    MoreCases,
    by_kind,
    is_kind,
    where_kind,
)
from estimator.rows import YES_OR_NO, Sheet
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, amount, as_text, join, lookup, nth

GRADING = Sheet(
    "Grading",
    "Grading: where the base sits and the earth to move",
    "Volumes in place (bank) unless they say loose or compacted.",
    shows=SheetAppearance(upright=True),
)
TRIANGLES = 144
"""Sixty readings, as many as Survey takes, all of them under one base give about 130."""
DIGGER_ITEM = "excavator_day"
SOD_IN = 4.0
NO_GAP = 1e-30
"""Guards a quotient where two heights of a triangle meet, of which a comparison drops the term."""
GUILD = "Rates on Factors"
LIFTS = "UFC 3-220-04, read in a transcription; depths on Factors"
LEVEL_NOTE = "Subgrade as if nothing were stripped: compare with the ground."
TRIANGLE_SOURCE = "Volume of a plane-topped triangle above a level, closed form"

CORNER_NAMES = ("front left", "front right", "back right", "back left")
CORNERS = len(CORNER_NAMES)
WHOLLY = 0.999
"""Share of the base from which on no ground under it is surveyed; the rest is rounding."""

GRADING.section("Footprint")


@GRADING.row("On a pad", fmt=YES_OR_NO, note=f"yes for {' and '.join(GRADED)}.")
def on_pad(option_kind: Q) -> Q:
    return where_kind(option_kind, GRADED, 1)


@GRADING.row(
    "Length of the base", "ft", note="Building and margin (and level shoulder) on both sides."
)
def frame_length_ft(building_length_ft: Q, margin_in: Q, shoulder_in: Q) -> Q:
    return building_length_ft + 2 * (margin_in + shoulder_in) / IN_PER_FT


@GRADING.row("Width of the base", "ft")
def frame_width_ft(building_width_ft: Q, margin_in: Q, shoulder_in: Q) -> Q:
    return building_width_ft + 2 * (margin_in + shoulder_in) / IN_PER_FT


@GRADING.row("Area of the base", "ft2", fmt="0.0")
def footprint_ft2(frame_length_ft: Q, frame_width_ft: Q) -> Q:
    return frame_length_ft * frame_width_ft


@GRADING.row("Diagonal of the base", "ft", fmt="0.000", note="Both must read this.")
def frame_diagonal_ft(frame_length_ft: Q, frame_width_ft: Q) -> Q:
    return np.sqrt(frame_length_ft**2 + frame_width_ft**2)


@GRADING.row("Diagonal of the floor frame", "in", fmt="0.0", note="Square when both read this.")
def floor_diagonal_in(building_length_ft: Q, building_width_ft: Q) -> Q:
    return np.sqrt(building_length_ft**2 + building_width_ft**2) * IN_PER_FT


GRADING.section("Ground under it")
for _number, _where in enumerate(("front left", "front right", "back right", "back left"), 1):
    GRADING.solved(
        f"ground_corner_{_number}_ft",
        f"Ground at corner {_number}, {_where}",
        "ft",
        solver="ground",
        fmt="0.000",
    )
GRADING.solved(
    "ground_high_ft",
    "Highest ground",
    "ft",
    solver="ground",
    fmt="0.000",
    note="Anywhere under the base, edges included.",
)
GRADING.solved("ground_low_ft", "Lowest ground", "ft", solver="ground", fmt="0.000")
GRADING.solved(
    "ground_door_ft",
    "Ground in front of the door",
    "ft",
    solver="ground",
    fmt="0.000",
    note="Middle of the door's side of the building.",
)
GRADING.solved(
    "guessed_share",
    "Ground guessed, outside the readings",
    "share",
    solver="ground",
    fmt="0%",
    note="Share of the area that lies outside the readings: take more.",
)
GRADING.solved(
    "nearest_reading_ft",
    "From the base to the nearest reading",
    "ft",
    solver="ground_beside",
    fmt="0.0",
    note="0 where one lies under it.",
)
GRADING.solved(
    "side_dip_in",
    "Ground along the sides, most below the lines between corners",
    "in",
    solver="ground_beside",
    fmt="0.0",
)


@GRADING.row("Readings far off", kind="text", note="Blank where one lies as near as it is long.")
def readings_far(nearest_reading_ft: Q, frame_length_ft: Q, frame_width_ft: Q) -> Q:
    """Also where readings lie all round the base. The limit is common practice, no source."""
    far = nearest_reading_ft > np.maximum(frame_length_ft, frame_width_ft)
    told = join("the nearest reading lies ", amount(nearest_reading_ft, "ft", "0"), " off the base")
    return np.where(far, told, "")


@GRADING.row("Fall across the base", "in", fmt="0.0")
def fall_in(ground_high_ft: Q, ground_low_ft: Q) -> Q:
    return (ground_high_ft - ground_low_ft) * IN_PER_FT


@GRADING.row("Fall, of the diagonal", "%", fmt="0.0")
def fall_percent(ground_high_ft: Q, ground_low_ft: Q, frame_diagonal_ft: Q) -> Q:
    return 100 * (ground_high_ft - ground_low_ft) / frame_diagonal_ft


@GRADING.row("Mean ground", "ft", fmt="0.000", note="Inside the timbers.")
def ground_mean_ft(
    triangle_ft2: Q, triangle_low_ft: Q, triangle_mid_ft: Q, triangle_high_ft: Q
) -> Q:
    return np.sum(
        triangle_ft2 * (triangle_low_ft + triangle_mid_ft + triangle_high_ft) / 3
    ) / np.sum(triangle_ft2)


GRADING.section("Heights")


@GRADING.row("Stripped", "ft", fmt="0.000", note="Sod and topsoil taken off under a pad.")
def strip_ft(strip_depth_in: Q, on_pad: Q) -> Q:
    return on_pad * strip_depth_in / IN_PER_FT


GRADING.solved(
    "balanced_ft",
    "Height at which cut fills the low side",
    "ft",
    solver="balance",
    fmt="0.000",
    note="Bank cut times compaction equals the fill. Shown beside the chosen height.",
)


@GRADING.row("Flush with the high ground", "ft", fmt="0.000")
def flush_ft(ground_high_ft: Q, reckoned_from: Q, strip_ft: Q, raise_in: Q) -> Q:
    beside = ground_high_ft - np.where(reckoned_from == "stripped", strip_ft, 0)
    return beside + raise_in / IN_PER_FT


@GRADING.row(
    "Top of the base (string height)",
    "ft",
    fmt="0.000",
    note="Top of timbers and stone, or of the supports.",
)
def top_ft(
    option_kind: Q,
    height_mode: Q,
    flush_ft: Q,
    balanced_ft: Q,
    hand_height_ft: Q,
    ground_high_ft: Q,
    clear_above_in: Q,
    more_cases: MoreCases,
) -> Q:
    pad = np.where(
        height_mode == "by hand",
        hand_height_ft,
        np.where(height_mode == "balanced", balanced_ft, flush_ft),
    )
    supports = ground_high_ft + clear_above_in / IN_PER_FT
    return by_kind(option_kind, {GRADED: pad, SUPPORTS: supports}, more_cases)


@GRADING.row("Subgrade under the stone", "ft", fmt="0.000")
def subgrade_ft(top_ft: Q, stone_depth_in: Q) -> Q:
    return top_ft - stone_depth_in / IN_PER_FT


@GRADING.row(
    "Highest face above the low ground",
    "in",
    fmt="0.0",
    note="Ground beside a pad as it is after or before stripping, as Options says.",
)
def exposed_in(top_ft: Q, ground_low_ft: Q, reckoned_from: Q, strip_ft: Q) -> Q:
    beside = ground_low_ft - np.where(reckoned_from == "stripped", strip_ft, 0)
    return np.maximum(top_ft - beside, 0) * IN_PER_FT


GRADING.section("Earth")


@GRADING.row(
    "Area stripped",
    "ft2",
    fmt="0.0",
    note="Under a pad, its trench and the room to work beside it, or an open pad's slopes.",
)
def strip_ft2(
    option_kind: Q,
    on_pad: Q,
    footprint_ft2: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
    trench_width_in: Q,
    timber_width_in: Q,
    work_room_in: Q,
    shoulder_ft2: Q,
) -> Q:
    trench = np.maximum(trench_width_in - timber_width_in, 0)
    more = (trench + 2 * work_room_in) / IN_PER_FT
    framed = (frame_length_ft + more) * (frame_width_ft + more)
    return on_pad * where_kind(option_kind, TIMBERED, framed, footprint_ft2 + shoulder_ft2)


@GRADING.row("Sod and topsoil stripped", "yd3", note="Bank volume, kept apart: no use under a pad.")
def strip_yd3(strip_ft2: Q, strip_ft: Q) -> Q:
    return strip_ft2 * strip_ft / FT3_PER_YD3


@GRADING.row(
    "Topsoil put back beside the timbers",
    "yd3",
    note="Up to the ground as it was, where the height is reckoned from that. Bank volume.",
)
def topsoil_back_yd3(
    option_kind: Q, reckoned_from: Q, strip_ft2: Q, footprint_ft2: Q, strip_ft: Q
) -> Q:
    beside = (strip_ft2 - footprint_ft2) * strip_ft / FT3_PER_YD3
    return where_kind(option_kind, TIMBERED, np.where(reckoned_from == "original", beside, 0))


@GRADING.row("Level of the cut", "ft", fmt="0.000", note=LEVEL_NOTE)
def cut_level_ft(subgrade_ft: Q, strip_ft: Q) -> Q:
    return subgrade_ft + strip_ft


@GRADING.row(
    "Cut below the stripped ground",
    "yd3",
    source=TRIANGLE_SOURCE,
    note="Down to the subgrade, inside the timbers: what lies under and beyond them is trench.",
)
def cut_yd3(
    on_pad: Q,
    cut_level_ft: Q,
    triangle_ft2: Q,
    triangle_low_ft: Q,
    triangle_mid_ft: Q,
    triangle_high_ft: Q,
) -> Q:
    return on_pad * above_yd3(
        cut_level_ft, triangle_ft2, triangle_low_ft, triangle_mid_ft, triangle_high_ft
    )


def above_yd3(
    level: Q, triangle_ft2: Q, triangle_low_ft: Q, triangle_mid_ft: Q, triangle_high_ft: Q
) -> Q:
    """Ground above a level, yd3, exact: of triangles mostly above it, and of corners that are."""
    heights = (triangle_low_ft, triangle_mid_ft, triangle_high_ft)
    return mostly_above_yd3(level, triangle_ft2, *heights) + corners_above_yd3(
        level, triangle_ft2, *heights
    )


def mostly_above_yd3(
    level: Q, triangle_ft2: Q, triangle_low_ft: Q, triangle_mid_ft: Q, triangle_high_ft: Q
) -> Q:
    """Ground above a level, yd3, of the triangles whose middle corner stands above it.

    Exact: the whole triangle down to the level, and what the level leaves at the lowest corner.
    """
    mean = (triangle_low_ft + triangle_mid_ft + triangle_high_ft) / 3
    gap = (triangle_mid_ft - triangle_low_ft) * (triangle_high_ft - triangle_low_ft)
    left = np.where(
        level > triangle_low_ft, (level - triangle_low_ft) ** 3 / (3 * (gap + NO_GAP)), 0
    )
    depth = np.where(level < triangle_mid_ft, mean - level + left, 0)
    return np.sum(triangle_ft2 * depth) / FT3_PER_YD3


def corners_above_yd3(
    level: Q, triangle_ft2: Q, triangle_low_ft: Q, triangle_mid_ft: Q, triangle_high_ft: Q
) -> Q:
    """Ground above a level, yd3, of the triangles whose highest corner alone stands above it."""
    gap = (triangle_high_ft - triangle_mid_ft) * (triangle_high_ft - triangle_low_ft)
    corner = (triangle_high_ft - level) ** 3 / (3 * (gap + NO_GAP))
    alone = (level >= triangle_mid_ft) & (level < triangle_high_ft)
    return np.sum(triangle_ft2 * np.where(alone, corner, 0)) / FT3_PER_YD3


@GRADING.row(
    "Fill above the stripped ground",
    "yd3",
    note="Compacted volume up to the subgrade, inside the timbers: under them is none.",
)
def fill_yd3(
    on_pad: Q, cut_yd3: Q, triangle_ft2: Q, ground_mean_ft: Q, subgrade_ft: Q, strip_ft: Q
) -> Q:
    return filled_yd3(on_pad, cut_yd3, triangle_ft2, ground_mean_ft, subgrade_ft, strip_ft)


def filled_yd3(
    on_pad: Q, cut: Q, triangle_ft2: Q, ground_mean_ft: Q, subgrade: Q, strip_ft: Q
) -> Q:
    """Fill up to a subgrade, yd3: the cut less what the ground has over it."""
    depth = ground_mean_ft - strip_ft - subgrade
    return np.maximum(cut - on_pad * np.sum(triangle_ft2) * depth / FT3_PER_YD3, 0)


def edge_in_fill_yd3(edge_ft: Q, edge_width_in: Q, subgrade: Q, ground: Q) -> Q:
    """Fill whose place the edge of a slab takes, yd3: from the stripped ground at the corners,
    straight from one to the next, up to a subgrade."""
    filled = np.sum(np.maximum(subgrade - ground, 0)) / CORNERS
    return edge_ft * edge_width_in / IN_PER_FT * filled / FT3_PER_YD3


@GRADING.row(
    "Fill of soil", "yd3", note="Compacted; less the edge of a slab, which stands through it."
)
def fill_soil_yd3(fill_with: Q, fill_yd3: Q, slab_fill_yd3: Q) -> Q:
    return np.where(fill_with == "soil", np.maximum(fill_yd3 - slab_fill_yd3, 0), 0)


@GRADING.row(
    "Trench for the timbers",
    "yd3",
    note="As wide under the timbers and on both sides of them as Options says, from the stripped ground; inside of them from the subgrade.",
)
def trench_yd3(trench_ft3: Q) -> Q:
    return trench_ft3 / FT3_PER_YD3


@GRADING.row("Dug in all", "yd3", note="Cut, trench and holes, topsoil apart.")
def dug_yd3(cut_yd3: Q, trench_yd3: Q, hole_yd3: Q) -> Q:
    return cut_yd3 + trench_yd3 + hole_yd3


@GRADING.row(
    "Loose volume of {a bank yard|one m3 in the bank}", "yd3/yd3", source="Soils on Factors"
)
def loose_per_bank(soil: Q, soil_name: Q, soil_loose: Q) -> Q:
    return lookup(soil, soil_name, soil_loose)


@GRADING.row(
    "Compacted volume of {a bank yard|one m3 in the bank}", "yd3/yd3", source="Soils on Factors"
)
def compacted_per_bank(soil: Q, soil_name: Q, soil_compacted: Q) -> Q:
    return lookup(soil, soil_name, soil_compacted)


@GRADING.row(
    "Backfill beside the timbers",
    "yd3",
    note="Compacted: the trench above its bedding on both sides, up to the stripped ground and inside to no more than the subgrade.",
)
def trench_back_yd3(trench_beside_ft3: Q) -> Q:
    return trench_beside_ft3 / FT3_PER_YD3


@GRADING.row("Bank soil that fill and backfill take", "yd3")
def fill_bank_yd3(
    fill_soil_yd3: Q, backfill_yd3: Q, trench_back_yd3: Q, compacted_per_bank: Q
) -> Q:
    return (fill_soil_yd3 + backfill_yd3 + trench_back_yd3) / compacted_per_bank


@GRADING.row("Soil to bring in, loose", "yd3")
def import_yd3(fill_bank_yd3: Q, dug_yd3: Q, loose_per_bank: Q) -> Q:
    return np.maximum(fill_bank_yd3 - dug_yd3, 0) * loose_per_bank


@GRADING.row(
    "Soil left over, loose", "yd3", note="With the topsoil that is not put back; to the heap."
)
def spoil_yd3(
    fill_bank_yd3: Q, dug_yd3: Q, strip_yd3: Q, topsoil_back_yd3: Q, loose_per_bank: Q
) -> Q:
    topsoil = strip_yd3 - topsoil_back_yd3
    return (np.maximum(dug_yd3 - fill_bank_yd3, 0) + topsoil) * loose_per_bank


@GRADING.row("Soil moved", "yd3", note="Stripped, dug and brought in, bank.")
def soil_moved_yd3(strip_yd3: Q, dug_yd3: Q, import_yd3: Q, loose_per_bank: Q) -> Q:
    return strip_yd3 + dug_yd3 + import_yd3 / loose_per_bank


@GRADING.row("Deepest fill", "in", fmt="0.0")
def fill_depth_in(on_pad: Q, subgrade_ft: Q, ground_low_ft: Q, strip_ft: Q) -> Q:
    return on_pad * np.maximum(subgrade_ft - ground_low_ft + strip_ft, 0) * IN_PER_FT


@GRADING.row(
    "Tamping lifts, soil",
    "lifts",
    fmt="0",
    source=LIFTS,
    note="Of loose soil, at the depth that Factors allows.",
)
def lifts(
    fill_with: Q, fill_depth_in: Q, lift_in: Q, loose_per_bank: Q, compacted_per_bank: Q
) -> Q:
    lift = lift_in * compacted_per_bank / loose_per_bank
    return np.where(fill_with == "soil", np.ceil(fill_depth_in / lift), 0)


GRADING.section("Hours of earthwork")


@GRADING.row("Stake, string, level", "h", fmt="0.0", source=GUILD)
def setout_hours(setout_h: Q) -> Q:
    return setout_h


@GRADING.row(
    "Strip",
    "h",
    fmt="0.0",
    source=GUILD,
    note="The rate by hand is for {4 in} of sod; what lies deeper takes in proportion.",
)
def strip_hours(
    dig_way: Q,
    strip_ft2: Q,
    strip_depth_in: Q,
    strip_h_ft2: Q,
    strip_yd3: Q,
    machine_yd3_h: Q,
) -> Q:
    depth = np.where(strip_depth_in > 0, np.maximum(strip_depth_in / SOD_IN, 1), 0)
    by_hand = strip_ft2 * strip_h_ft2 * depth
    return np.where(dig_way == "machine", strip_yd3 / machine_yd3_h, by_hand)


@GRADING.row("Dig the cut", "h", fmt="0.0", source=GUILD)
def cut_hours(
    dig_way: Q, cut_yd3: Q, machine_yd3_h: Q, soil: Q, soil_name: Q, soil_trench_yd3_h: Q
) -> Q:
    rate = lookup(soil, soil_name, soil_trench_yd3_h)
    return cut_yd3 / np.where(dig_way == "machine", machine_yd3_h, rate)


@GRADING.row("Trench and holes, by hand", "h", fmt="0.0", source=GUILD)
def hole_hours(
    trench_yd3: Q, hole_yd3: Q, soil: Q, soil_name: Q, soil_trench_yd3_h: Q, soil_pit_yd3_h: Q
) -> Q:
    return trench_yd3 / lookup(soil, soil_name, soil_trench_yd3_h) + hole_yd3 / lookup(
        soil, soil_name, soil_pit_yd3_h
    )


@GRADING.row("Fill and tamp", "h", fmt="0.0", source=GUILD, note="Topsoil put back too.")
def fill_hours(
    fill_soil_yd3: Q,
    backfill_yd3: Q,
    trench_back_yd3: Q,
    topsoil_back_yd3: Q,
    fill_yd3_h: Q,
) -> Q:
    return (fill_soil_yd3 + backfill_yd3 + trench_back_yd3 + topsoil_back_yd3) / fill_yd3_h


@GRADING.row("Level and trim the subgrade", "h", fmt="0.0", source=GUILD)
def trim_hours(on_pad: Q, footprint_ft2: Q, grade_h_ft2: Q) -> Q:
    return on_pad * footprint_ft2 * grade_h_ft2


def trips(loose_yd3: Q, load_ft3: Q) -> Q:
    """Whole trips with a loose volume."""
    return np.ceil(loose_yd3 * FT3_PER_YD3 / load_ft3)


def trip_h(fill_and_tip_min: Q, distance_ft: Q, walk_ft_min: Q) -> Q:
    """Hours of a trip there and back."""
    return (fill_and_tip_min + 2 * distance_ft / walk_ft_min) / 60


@GRADING.row("Trips with spoil", "trips", fmt="0")
def spoil_trips(spoil_yd3: Q, dig_way: Q, machine_bucket_ft3: Q, barrow_ft3: Q) -> Q:
    load = np.where(dig_way == "machine", machine_bucket_ft3, barrow_ft3)
    return trips(spoil_yd3, load)


@GRADING.row("Haul spoil", "h", fmt="0.0", source=GUILD, note="A machine travels at walking pace.")
def spoil_hours(
    spoil_trips: Q,
    dig_way: Q,
    machine_trip_min: Q,
    load_min: Q,
    spoil_distance_ft: Q,
    walk_ft_min: Q,
) -> Q:
    fill_and_tip = np.where(dig_way == "machine", machine_trip_min, load_min)
    return spoil_trips * trip_h(fill_and_tip, spoil_distance_ft, walk_ft_min)


@GRADING.row(
    "Haul soil brought in", "h", fmt="0.0", source=GUILD, note="From where the truck tips."
)
def import_hours(
    import_yd3: Q,
    dig_way: Q,
    machine_bucket_ft3: Q,
    barrow_ft3: Q,
    machine_trip_min: Q,
    load_min: Q,
    tip_distance_ft: Q,
    walk_ft_min: Q,
) -> Q:
    load = np.where(dig_way == "machine", machine_bucket_ft3, barrow_ft3)
    fill_and_tip = np.where(dig_way == "machine", machine_trip_min, load_min)
    return trips(import_yd3, load) * trip_h(fill_and_tip, tip_distance_ft, walk_ft_min)


@GRADING.row("Earthwork in all", "h", fmt="0.0")
def earth_hours(
    setout_hours: Q,
    strip_hours: Q,
    cut_hours: Q,
    hole_hours: Q,
    fill_hours: Q,
    trim_hours: Q,
    spoil_hours: Q,
    import_hours: Q,
) -> Q:
    return (
        setout_hours
        + strip_hours
        + cut_hours
        + hole_hours
        + fill_hours
        + trim_hours
        + spoil_hours
        + import_hours
    )


@GRADING.row("Excavator", "days", fmt="0", note="For what the machine digs and carries.")
def digger_days(
    dig_way: Q,
    hire_least_days: Q,
    strip_hours: Q,
    cut_hours: Q,
    spoil_hours: Q,
    import_hours: Q,
    haul_hours: Q,
    day_hours: Q,
) -> Q:
    hours = strip_hours + cut_hours + spoil_hours + import_hours + haul_hours
    days = np.where(hours > 0, np.maximum(np.ceil(hours / day_hours), hire_least_days), 0)
    return np.where(dig_way == "machine", days, 0)


@GRADING.row("Plate compactor", "days", fmt="0")
def plate_days(
    on_pad: Q, compact_method: Q, compact_hours: Q, stone_fill_hours: Q, day_hours: Q
) -> Q:
    days = np.maximum(np.ceil((compact_hours + stone_fill_hours) / day_hours), 1)
    return np.where((on_pad == 1) & (compact_method != "by hand"), days, 0)


@GRADING.row("Spoil hauled off site", "yd3", fmt="0.0", note="Loose; 0 when it stays on the heap.")
def haul_off_yd3(spoil_leaves: Q, spoil_yd3: Q) -> Q:
    return np.where(spoil_leaves == "yes", spoil_yd3, 0)


GRADING.adds(
    Step(
        key="set_out",
        label="Set out",
        text="Corners by their tapes, stakes, level strings, equal diagonals.",
        kinds=SUPPORTS,
    ),
    Step(
        key="strip",
        label="Set out and strip",
        text="Corners by their tapes, stakes, level strings, equal diagonals; strip as told above, heap it apart.",
        kinds=GRADED,
    ),
    Hours(key="earth", label="Earthwork", quantity="earth_hours", trade="earthwork"),
    Need(
        key="soil",
        label="Soil brought in, loose",
        item=Fixed("fill_soil"),
        quantity="import_yd3",
    ),
    Need(key="digger", label="Excavator", item=Fixed(DIGGER_ITEM), quantity="digger_days"),
    Need(key="plate", label="Plate compactor", item=Fixed("compactor_day"), quantity="plate_days"),
    Need(
        key="haul_off",
        label="Spoil hauled off site",
        item=Fixed("haul_off"),
        quantity="haul_off_yd3",
    ),
)

GRADING.section("Timber frame")
GRADING.solved("frame_courses", "Courses on the low side", "courses", solver="frame", fmt="0")
GRADING.solved(
    "frame_listed",
    "Of them listed and priced",
    "courses",
    solver="frame",
    fmt="0",
    note="Fewer where the tables have no room for more: what is below is left out of the price.",
)
GRADING.solved(
    "frame_lower_ft",
    "Lower courses in all",
    "ft",
    solver="frame",
    fmt="0.0",
    note="Length of every course below the top one.",
)
GRADING.solved("trench_ft3", "Trench volume", "ft3", solver="frame", fmt="0.0")
GRADING.solved(
    "trench_beside_ft3",
    "Trench beside the timbers",
    "ft3",
    solver="frame",
    fmt="0.0",
    note="Above the bedding, between the timbers and the trench's walls.",
)
GRADING.solved(
    "trench_bed_ft3",
    "Bedding in the trench",
    "ft3",
    solver="frame",
    fmt="0.0",
    note="Its full width; under the timbers down to the stripped ground where that lies lower.",
)
GRADING.solved(
    "shoulder_ft2",
    "Ground under the shoulders' slopes",
    "ft2",
    solver="frame",
    fmt="0.0",
    note="Open pad: seen from above, outside of the level pad.",
)
GRADING.solved(
    "shoulder_ft3",
    "Stone in the shoulders",
    "ft3",
    solver="frame",
    fmt="0.0",
    note="Open pad: the slopes round the level top, out to where they meet the stripped ground.",
)
GRADING.solved(
    "shoulder_reach_ft",
    "Foot of the shoulders' slopes, farthest out",
    "ft",
    solver="frame",
    note="Open pad: beyond the edge of its level top, where stripping ends.",
)


@GRADING.row("Slope of the shoulders", kind="text")
def shoulder_slope(option_kind: Q, shoulder_run: Q) -> Q:
    out = join("shoulders ", as_text(shoulder_run, "0.0"), " out to 1 down")
    return where_kind(option_kind, SLOPED, np.where(shoulder_run > 0, out, "upright sides"), "")


@GRADING.row("Depth of timber", "in")
def timber_depth_in(timber_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(timber_stock, stock_name, stock_depth_in, 0)


@GRADING.row("Width of timber", "in")
def timber_width_in(timber_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(timber_stock, stock_name, stock_width_in, 0)


@GRADING.row("Trench below the top, one course", "in", fmt="0.0")
def trench_one_in(timber_depth_in: Q, bedding_in: Q) -> Q:
    return timber_depth_in + bedding_in


@GRADING.row("Trench below the top, low side", "in", fmt="0.0")
def trench_low_in(timber_depth_in: Q, bedding_in: Q, frame_courses: Q) -> Q:
    return timber_depth_in * frame_courses + np.where(frame_courses > 0, bedding_in, 0)


TABLE = GRADING.table(
    "triangle",
    "Ground inside the timbers, or under the base, cut into triangles",
    TRIANGLES,
    "Area and the heights of the three corners. The volumes above are exact sums over these.",
)
TABLE.solved("triangle_ft2", "Area", "ft2", solver="ground", fmt="0.000", by_option=True)
TABLE.solved("triangle_low_ft", "Lowest corner", "ft", solver="ground", fmt="0.000", by_option=True)
TABLE.solved("triangle_mid_ft", "Middle corner", "ft", solver="ground", fmt="0.000", by_option=True)
TABLE.solved(
    "triangle_high_ft", "Highest corner", "ft", solver="ground", fmt="0.000", by_option=True
)


@check(GRADING, "Ground is surveyed", mend="point_name", hazard="guessed ground")
def check_survey(guessed_share: Q, stake_guessed: Q, readings_far: Q) -> Q:
    corners: Q = ""
    for number, name in enumerate(CORNER_NAMES, 1):
        guessed = nth(stake_guessed, 2 * len(CORNER_NAMES) + number) > 0
        corners = join(corners, np.where(guessed, join(", ", name), ""))
    at_corners = np.where(
        corners == "", "", join("; corners without readings beyond them", corners)
    )
    part = join(
        "LOOK: ",
        as_text(np.maximum(100 * guessed_share, 1), "0"),
        " % of the ground is guessed, outside the readings",
        at_corners,
    )
    whole = "FAIL: no reading reaches the base, its ground is all guessed; take readings round it"
    told = np.where(guessed_share > WHOLLY, whole, part)
    far = join("LOOK: ", readings_far, "; take readings round it")
    near = np.where(readings_far == "", OK, far)
    return np.where(guessed_share > 0, told, near)


@check(GRADING, "Fall across the base", mend="option_kind", hazard="too much fall")
def check_fall(option_kind: Q, fall_in: Q, open_fall_in: Q) -> Q:
    return np.where(
        is_kind(option_kind, SLOPED) & (fall_in > open_fall_in),
        "FAIL: too much fall for stone without timbers round it",
        OK,
    )


@check(GRADING, "Courses of timber", mend="courses_most", hazard="a wall too high")
def check_courses(option_kind: Q, frame_courses: Q, frame_listed: Q, courses_most: Q) -> Q:
    framed = is_kind(option_kind, TIMBERED)
    over = np.where(
        framed & (frame_courses > courses_most), "FAIL: more courses than allowed on Options", OK
    )
    short = framed & (frame_listed < frame_courses)
    return np.where(short, "FAIL: too many courses to list; the lower ones are not priced", over)


@check(GRADING, "Exposed timber beside a loaded pad", mend="height_mode", hazard="a wall too high")
def check_wall(option_kind: Q, exposed_in: Q, wall_tieback_in: Q, wall_most_in: Q) -> Q:
    framed = is_kind(option_kind, TIMBERED)
    return np.where(
        framed & (exposed_in > wall_most_in),
        "FAIL: a wall this high that carries a pad needs an engineer",
        np.where(
            framed & (exposed_in > wall_tieback_in),
            "LOOK: tie the timbers back into the pad",
            OK,
        ),
    )


@check(GRADING, "String above the ground", mend="height_mode", hazard="a pad below the ground")
def check_buried(on_pad: Q, top_ft: Q, ground_high_ft: Q, strip_ft: Q) -> Q:
    buried = (on_pad == 1) & (top_ft < ground_high_ft - strip_ft - 1 / IN_PER_FT)
    return np.where(buried, "LOOK: the pad lies below the high ground; drain that side", OK)


@check(GRADING, "Support on fill", mend="fill_accepted", hazard="settling")
def check_fill(on_pad: Q, fill_depth_in: Q, fill_accepted: Q) -> Q:
    on_fill = (on_pad == 1) & (fill_depth_in > 0.5) & (fill_accepted == "no")
    return np.where(
        on_fill, "LOOK: stands partly on fill; not accepted until someone qualified does", OK
    )
