"""Sheet Grading: the footprint, the ground under it, the height of the base, the earth to move.

The vertical stack from the top: string (top of timbers or pad), stone, fabric, subgrade, stripped
ground, original ground. Heights are feet in the survey's datum.
"""

from __future__ import annotations

import numpy as np

from estimator.model.options import FRAMED, OPEN
from estimator.rows import Sheet
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, lookup

GRADING = Sheet(
    "Grading",
    "Grading: where the base sits and the earth to move",
    "Volumes in place (bank) unless they say loose or compacted.",
)
TRIANGLES = 240
SOD_IN = 4.0
GUILD = "Rates on Factors"
TRIANGLE_SOURCE = "Volume of a plane-topped triangle above a level, closed form"

GRADING.section("Footprint")


@GRADING.row("On a pad", fmt="0", note="1 for a framed or open pad, 0 for supports.")
def on_pad(option_kind: Q) -> Q:
    return np.where((option_kind == FRAMED) | (option_kind == OPEN), 1, 0)


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
def floor_diagonal_in(building_length_ft: Q, building_width_ft: Q, on_pad: Q) -> Q:
    return np.sqrt(building_length_ft**2 + building_width_ft**2) * IN_PER_FT + 0 * on_pad


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


@GRADING.row("Fall across the base", "in", fmt="0.0")
def fall_in(ground_high_ft: Q, ground_low_ft: Q) -> Q:
    return (ground_high_ft - ground_low_ft) * IN_PER_FT


@GRADING.row("Fall, of the diagonal", "%", fmt="0.0")
def fall_percent(ground_high_ft: Q, ground_low_ft: Q, frame_diagonal_ft: Q) -> Q:
    return 100 * (ground_high_ft - ground_low_ft) / frame_diagonal_ft


@GRADING.row("Mean ground", "ft", fmt="0.000")
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
    on_pad: Q,
    height_mode: Q,
    flush_ft: Q,
    balanced_ft: Q,
    hand_height_ft: Q,
    ground_high_ft: Q,
    clear_above_in: Q,
) -> Q:
    pad = np.where(
        height_mode == "by hand",
        hand_height_ft,
        np.where(height_mode == "balanced", balanced_ft, flush_ft),
    )
    return np.where(on_pad == 1, pad, ground_high_ft + clear_above_in / IN_PER_FT)


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


@GRADING.row("Area stripped", "ft2", fmt="0.0", note="Under a pad, and under an open pad's slopes.")
def strip_ft2(on_pad: Q, footprint_ft2: Q, shoulder_ft2: Q) -> Q:
    return on_pad * (footprint_ft2 + shoulder_ft2)


@GRADING.row("Sod and topsoil stripped", "yd3", note="Bank volume, kept apart: no use under a pad.")
def strip_yd3(strip_ft2: Q, strip_ft: Q) -> Q:
    return strip_ft2 * strip_ft / FT3_PER_YD3


@GRADING.row("Cut below the stripped ground", "yd3", source=TRIANGLE_SOURCE)
def cut_yd3(
    on_pad: Q,
    subgrade_ft: Q,
    strip_ft: Q,
    triangle_ft2: Q,
    triangle_low_ft: Q,
    triangle_mid_ft: Q,
    triangle_high_ft: Q,
) -> Q:
    level = subgrade_ft + strip_ft
    return on_pad * cut_above_yd3(
        level, triangle_ft2, triangle_low_ft, triangle_mid_ft, triangle_high_ft
    )


def cut_above_yd3(
    level: Q, triangle_ft2: Q, triangle_low_ft: Q, triangle_mid_ft: Q, triangle_high_ft: Q
) -> Q:
    """Ground above a level, yd3: the exact sum over the triangles under a base."""
    mean = (triangle_low_ft + triangle_mid_ft + triangle_high_ft) / 3
    # Denominators are guarded where two heights of a triangle meet; the masks drop those terms.
    low_gap = (triangle_mid_ft - triangle_low_ft) * (triangle_high_ft - triangle_low_ft)
    high_gap = (triangle_high_ft - triangle_mid_ft) * (triangle_high_ft - triangle_low_ft)
    below = np.maximum(level - triangle_low_ft, 0)
    above = np.maximum(triangle_high_ft - level, 0)
    low_safe = low_gap + np.where(low_gap == 0, 1, 0)
    high_safe = high_gap + np.where(high_gap == 0, 1, 0)
    lower_half = mean - level + below**3 / (3 * low_safe)
    upper_half = above**3 / (3 * high_safe)
    depth = np.where(
        level <= triangle_low_ft,
        mean - level,
        np.where(level < triangle_mid_ft, lower_half, upper_half),
    )
    return np.sum(triangle_ft2 * depth) / FT3_PER_YD3


@GRADING.row("Fill above the stripped ground", "yd3", note="Compacted volume up to the subgrade.")
def fill_yd3(
    on_pad: Q, cut_yd3: Q, footprint_ft2: Q, ground_mean_ft: Q, subgrade_ft: Q, strip_ft: Q
) -> Q:
    net = on_pad * footprint_ft2 * (ground_mean_ft - strip_ft - subgrade_ft) / FT3_PER_YD3
    return np.maximum(cut_yd3 - net, 0)


@GRADING.row("Fill of soil", "yd3", note="Compacted.")
def fill_soil_yd3(fill_with: Q, fill_yd3: Q) -> Q:
    return np.where(fill_with == "soil", fill_yd3, 0)


@GRADING.row(
    "Trench for the timbers", "yd3", note="Below the pad's subgrade and the stripped ground."
)
def trench_yd3(trench_ft3: Q) -> Q:
    return trench_ft3 / FT3_PER_YD3


@GRADING.row("Dug in all", "yd3", note="Cut, trench and holes, topsoil apart.")
def dug_yd3(cut_yd3: Q, trench_yd3: Q, hole_yd3: Q) -> Q:
    return cut_yd3 + trench_yd3 + hole_yd3


@GRADING.row(
    "Loose volume of {a bank yard|one m3 in the bank}", "yd3/yd3", source="Soils on Factors"
)
def loose_per_bank(soil: Q, soil_name: Q, soil_loose: Q, on_pad: Q) -> Q:
    return lookup(soil, soil_name, soil_loose) + 0 * on_pad


@GRADING.row(
    "Compacted volume of {a bank yard|one m3 in the bank}", "yd3/yd3", source="Soils on Factors"
)
def compacted_per_bank(soil: Q, soil_name: Q, soil_compacted: Q, on_pad: Q) -> Q:
    return lookup(soil, soil_name, soil_compacted) + 0 * on_pad


@GRADING.row(
    "Backfill beside the timbers",
    "yd3",
    note="Compacted: the trench above its bedding, less the timbers in it. Only the rest is spoil.",
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


@GRADING.row("Soil left over, loose", "yd3", note="With the topsoil; to the heap.")
def spoil_yd3(fill_bank_yd3: Q, dug_yd3: Q, strip_yd3: Q, loose_per_bank: Q) -> Q:
    return (np.maximum(dug_yd3 - fill_bank_yd3, 0) + strip_yd3) * loose_per_bank


@GRADING.row("Soil moved", "yd3", note="Stripped, dug and brought in, bank.")
def soil_moved_yd3(strip_yd3: Q, dug_yd3: Q, import_yd3: Q, loose_per_bank: Q) -> Q:
    return strip_yd3 + dug_yd3 + import_yd3 / loose_per_bank


@GRADING.row("Deepest fill", "in", fmt="0.0")
def fill_depth_in(on_pad: Q, subgrade_ft: Q, ground_low_ft: Q, strip_ft: Q) -> Q:
    return on_pad * np.maximum(subgrade_ft - ground_low_ft + strip_ft, 0) * IN_PER_FT


@GRADING.row(
    "Tamping lifts, soil", "lifts", fmt="0", note="Of loose soil, at the depth that Factors allows."
)
def lifts(
    fill_with: Q, fill_depth_in: Q, lift_in: Q, loose_per_bank: Q, compacted_per_bank: Q
) -> Q:
    lift = lift_in * compacted_per_bank / loose_per_bank
    return np.where(fill_with == "soil", np.ceil(fill_depth_in / lift), 0)


GRADING.section("Hours of earthwork")


@GRADING.row("Stake, string, level", "h", fmt="0.0", source=GUILD)
def setout_hours(setout_h: Q, on_pad: Q) -> Q:
    return setout_h + 0 * on_pad


@GRADING.row(
    "Strip",
    "h",
    fmt="0.0",
    source=GUILD,
    note="The rate by hand is for {4 in} of sod; what lies deeper takes in proportion.",
)
def strip_hours(
    dig_method: Q,
    strip_ft2: Q,
    strip_depth_in: Q,
    strip_h_ft2: Q,
    strip_yd3: Q,
    machine_yd3_h: Q,
) -> Q:
    depth = np.where(strip_depth_in > 0, np.maximum(strip_depth_in / SOD_IN, 1), 0)
    by_hand = strip_ft2 * strip_h_ft2 * depth
    return np.where(dig_method == "machine", strip_yd3 / machine_yd3_h, by_hand)


@GRADING.row("Dig the cut", "h", fmt="0.0", source=GUILD)
def cut_hours(
    dig_method: Q, cut_yd3: Q, machine_yd3_h: Q, soil: Q, soil_name: Q, soil_trench_yd3_h: Q
) -> Q:
    rate = lookup(soil, soil_name, soil_trench_yd3_h)
    return cut_yd3 / np.where(dig_method == "machine", machine_yd3_h, rate)


@GRADING.row("Trench and holes, by hand", "h", fmt="0.0", source=GUILD)
def hole_hours(
    trench_yd3: Q, hole_yd3: Q, soil: Q, soil_name: Q, soil_trench_yd3_h: Q, soil_pit_yd3_h: Q
) -> Q:
    return trench_yd3 / lookup(soil, soil_name, soil_trench_yd3_h) + hole_yd3 / lookup(
        soil, soil_name, soil_pit_yd3_h
    )


@GRADING.row("Fill and tamp", "h", fmt="0.0", source=GUILD)
def fill_hours(fill_soil_yd3: Q, backfill_yd3: Q, trench_back_yd3: Q, fill_yd3_h: Q) -> Q:
    return (fill_soil_yd3 + backfill_yd3 + trench_back_yd3) / fill_yd3_h


@GRADING.row("Level and trim the subgrade", "h", fmt="0.0", source=GUILD)
def trim_hours(on_pad: Q, footprint_ft2: Q, grade_h_ft2: Q) -> Q:
    return on_pad * footprint_ft2 * grade_h_ft2


@GRADING.row("Trips with spoil", "trips", fmt="0")
def spoil_trips(spoil_yd3: Q, dig_method: Q, machine_bucket_ft3: Q, barrow_ft3: Q) -> Q:
    load = np.where(dig_method == "machine", machine_bucket_ft3, barrow_ft3)
    return np.ceil(spoil_yd3 * FT3_PER_YD3 / load)


@GRADING.row("Haul spoil", "h", fmt="0.0", source=GUILD, note="A machine travels at walking pace.")
def spoil_hours(
    spoil_trips: Q,
    dig_method: Q,
    machine_trip_min: Q,
    load_min: Q,
    spoil_distance_ft: Q,
    walk_ft_min: Q,
) -> Q:
    fill_and_tip = np.where(dig_method == "machine", machine_trip_min, load_min)
    return spoil_trips * (fill_and_tip + 2 * spoil_distance_ft / walk_ft_min) / 60


@GRADING.row(
    "Haul soil brought in", "h", fmt="0.0", source=GUILD, note="From where the truck tips."
)
def import_hours(
    import_yd3: Q,
    dig_method: Q,
    machine_bucket_ft3: Q,
    barrow_ft3: Q,
    machine_trip_min: Q,
    load_min: Q,
    tip_distance_ft: Q,
    walk_ft_min: Q,
) -> Q:
    load = np.where(dig_method == "machine", machine_bucket_ft3, barrow_ft3)
    fill_and_tip = np.where(dig_method == "machine", machine_trip_min, load_min)
    trips = np.ceil(import_yd3 * FT3_PER_YD3 / load)
    return trips * (fill_and_tip + 2 * tip_distance_ft / walk_ft_min) / 60


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


GRADING.section("Timber frame")
GRADING.solved("frame_courses", "Courses on the low side", "courses", solver="frame", fmt="0")
GRADING.solved(
    "frame_lower_ft",
    "Lower courses in all",
    "ft",
    solver="frame",
    fmt="0.0",
    note="Length of every course below the top one.",
)
GRADING.solved("trench_run_ft", "Trench in all", "ft", solver="frame", fmt="0.0")
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
    note="Open pad: the slopes around the pad, of the ground's real shape.",
)


@GRADING.row("Depth of timber", "in")
def timber_depth_in(timber_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(timber_stock, stock_name, stock_depth_in, 0)


@GRADING.row("Width of timber", "in")
def timber_width_in(timber_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(timber_stock, stock_name, stock_width_in, 0)


@GRADING.row("Trench below the string, one course", "in", fmt="0.0")
def trench_one_in(timber_depth_in: Q, bedding_in: Q) -> Q:
    return timber_depth_in + bedding_in


@GRADING.row("Trench below the string, low side", "in", fmt="0.0")
def trench_low_in(timber_depth_in: Q, bedding_in: Q, frame_courses: Q) -> Q:
    return timber_depth_in * frame_courses + np.where(frame_courses > 0, bedding_in, 0)


TABLE = GRADING.table(
    "triangle",
    "Ground under the base, cut into triangles",
    TRIANGLES,
    "Area and the heights of the three corners. The volumes above are exact sums over these.",
)
TABLE.solved("triangle_ft2", "Area", "ft2", solver="ground", fmt="0.000", by_option=True)
TABLE.solved("triangle_low_ft", "Lowest corner", "ft", solver="ground", fmt="0.000", by_option=True)
TABLE.solved("triangle_mid_ft", "Middle corner", "ft", solver="ground", fmt="0.000", by_option=True)
TABLE.solved(
    "triangle_high_ft", "Highest corner", "ft", solver="ground", fmt="0.000", by_option=True
)
