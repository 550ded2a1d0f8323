"""Of the sheet Grading: pads that lie flush, balanced and by hand beside each other, with the earth of each."""

from __future__ import annotations

import numpy as np

from estimator.model.grading import (
    GRADING,
    GUILD,
    LEVEL_NOTE,
    TRIANGLE_SOURCE,
    above_yd3,
    edge_in_fill_yd3,
    filled_yd3,
)
from estimator.model.kinds import TIMBERED, where_kind
from estimator.model.prices import unit_price
from estimator.rows import Chapter
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, lookup

__all__ = ["GRADING"]
"""The sheet, whole only once its heights are beside each other."""

PAD_HEIGHTS = Chapter()
"""Earth, and stone where stone fills the low side; timbers, pad stone and stripping are on Cost."""
SOIL_ITEM = "fill_soil"
HAUL_OFF_ITEM = "haul_off"
COMPACTED_NOTE = (
    "Compacted, up to the subgrade; less the edge of a slab, as wide as at the chosen height."
)
COURSES_NOTE = "Framed pad, at the lowest ground; the real ones stand on Grading."

PAD_HEIGHTS.section("What {a yard|one m3} costs, work included")


@PAD_HEIGHTS.row("Dig", "$/yd3", source=GUILD, note="Bank. Work at the wage on Job.")
def dig_cost_yd3(
    wage_per_h: Q,
    dig_way: Q,
    machine_yd3_h: Q,
    soil: Q,
    soil_name: Q,
    soil_trench_yd3_h: Q,
) -> Q:
    by_hand = lookup(soil, soil_name, soil_trench_yd3_h)
    return wage_per_h / np.where(dig_way == "machine", machine_yd3_h, by_hand)


@PAD_HEIGHTS.row("Fill and tamp", "$/yd3", source=GUILD, note="Compacted.")
def fill_cost_yd3(wage_per_h: Q, fill_yd3_h: Q) -> Q:
    return wage_per_h / fill_yd3_h


@PAD_HEIGHTS.row("Carry to the heap", "$/yd3", source=GUILD, note="Loose.")
def heap_cost_yd3(
    wage_per_h: Q,
    dig_way: Q,
    machine_trip_min: Q,
    load_min: Q,
    machine_bucket_ft3: Q,
    barrow_ft3: Q,
    spoil_distance_ft: Q,
    walk_ft_min: Q,
) -> Q:
    trip = np.where(dig_way == "machine", machine_trip_min, load_min)
    load = np.where(dig_way == "machine", machine_bucket_ft3, barrow_ft3)
    minutes = (trip + 2 * spoil_distance_ft / walk_ft_min) * FT3_PER_YD3 / load
    return wage_per_h * minutes / 60


@PAD_HEIGHTS.row("Carry from where the truck tips", "$/yd3", source=GUILD, note="Loose.")
def tip_cost_yd3(
    wage_per_h: Q,
    dig_way: Q,
    machine_trip_min: Q,
    load_min: Q,
    machine_bucket_ft3: Q,
    barrow_ft3: Q,
    tip_distance_ft: Q,
    walk_ft_min: Q,
) -> Q:
    trip = np.where(dig_way == "machine", machine_trip_min, load_min)
    load = np.where(dig_way == "machine", machine_bucket_ft3, barrow_ft3)
    minutes = (trip + 2 * tip_distance_ft / walk_ft_min) * FT3_PER_YD3 / load
    return wage_per_h * minutes / 60


@PAD_HEIGHTS.row("Hauled off the site", "$/yd3", scope="job", note="Loose; by the price book.")
def haul_off_cost_yd3(item_key: Q, item_paid: Q, item_pack: Q) -> Q:
    return unit_price(HAUL_OFF_ITEM, item_key, item_paid, item_pack)


@PAD_HEIGHTS.row("Take what is over", "$/yd3", note="Bank: to the heap, or off the site.")
def away_cost_yd3(heap_cost_yd3: Q, loose_per_bank: Q, spoil_leaves: Q, haul_off_cost_yd3: Q) -> Q:
    haul = np.where(spoil_leaves == "yes", haul_off_cost_yd3, 0)
    return loose_per_bank * (heap_cost_yd3 + haul)


@PAD_HEIGHTS.row("Soil as sold", "$/yd3", scope="job", note="Loose; by the price book.")
def soil_price_yd3(item_key: Q, item_paid: Q, item_pack: Q) -> Q:
    return unit_price(SOIL_ITEM, item_key, item_paid, item_pack)


@PAD_HEIGHTS.row("Bring in what lacks", "$/yd3", note="For {a compacted yard|one compacted m3}.")
def bring_cost_yd3(
    tip_cost_yd3: Q,
    loose_per_bank: Q,
    compacted_per_bank: Q,
    soil_price_yd3: Q,
) -> Q:
    return (soil_price_yd3 + tip_cost_yd3) * loose_per_bank / compacted_per_bank


@PAD_HEIGHTS.row("Stone as sold", "$/yd3", note="Loose; by the price book.")
def stone_price_yd3(on_pad: Q, stone_item: Q, item_name: Q, item_paid: Q, item_pack: Q) -> Q:
    return on_pad * unit_price(stone_item, item_name, item_paid, item_pack)


@PAD_HEIGHTS.row(
    "Stone", "$/yd3", note="In place: compaction, waste, carrying, spreading, tamping."
)
def stone_cost_yd3(
    on_pad: Q,
    stone_price_yd3: Q,
    compaction_share: Q,
    stone_waste_share: Q,
    stone_tipped_share: Q,
    tip_cost_yd3: Q,
    wage_per_h: Q,
    spread_yd3_h: Q,
    stone_tamp_h_yd3: Q,
) -> Q:
    each = stone_price_yd3 + (1 - stone_tipped_share) * tip_cost_yd3 + wage_per_h / spread_yd3_h
    loose = (1 + compaction_share) * (1 + stone_waste_share)
    return on_pad * (loose * each + wage_per_h * stone_tamp_h_yd3)


def _beside_edge(up_yd3: Q, subgrade: Q, edge_ft: Q, edge_width_in: Q, ground: Q) -> Q:
    """Fill up to a subgrade, less what the edge of a slab takes the place of, yd3."""
    return np.maximum(up_yd3 - edge_in_fill_yd3(edge_ft, edge_width_in, subgrade, ground), 0)


def _subgrade(top_ft: Q, stone_depth_in: Q) -> Q:
    return top_ft - stone_depth_in / IN_PER_FT


def _earth_cost(
    cut: Q, fill: Q, fill_with: Q, shrink: Q, dig: Q, tamp: Q, bring: Q, away: Q, stone: Q
) -> Q:
    soil = (
        fill * tamp
        + np.maximum(fill - shrink * cut, 0) * bring
        + np.maximum(cut - fill / shrink, 0) * away
    )
    return cut * dig + np.where(fill_with == "stone", cut * away + fill * stone, soil)


def _courses(
    option_kind: Q, top: Q, low: Q, reckoned_from: Q, strip: Q, embed_in: Q, depth_in: Q
) -> Q:
    beside = low - np.where(reckoned_from == "stripped", strip, 0)
    need = np.ceil(((top - beside) * IN_PER_FT + embed_in) / depth_in)
    return where_kind(option_kind, TIMBERED, np.maximum(need, 1))


PAD_HEIGHTS.section("Flush with the high ground")


@PAD_HEIGHTS.row("Top", "ft", fmt="0.000")
def flush_top_ft(on_pad: Q, flush_ft: Q) -> Q:
    return on_pad * flush_ft


@PAD_HEIGHTS.row("Level of the cut", "ft", fmt="0.000", note=LEVEL_NOTE)
def flush_level_ft(flush_top_ft: Q, stone_depth_in: Q, strip_ft: Q) -> Q:
    return _subgrade(flush_top_ft, stone_depth_in) + strip_ft


@PAD_HEIGHTS.row("Cut", "yd3", source=TRIANGLE_SOURCE)
def flush_cut_yd3(
    on_pad: Q,
    flush_level_ft: Q,
    triangle_ft2: Q,
    triangle_low_ft: Q,
    triangle_mid_ft: Q,
    triangle_high_ft: Q,
) -> Q:
    return on_pad * above_yd3(
        flush_level_ft, triangle_ft2, triangle_low_ft, triangle_mid_ft, triangle_high_ft
    )


@PAD_HEIGHTS.row("Fill", "yd3", note=COMPACTED_NOTE)
def flush_fill_yd3(
    on_pad: Q,
    flush_cut_yd3: Q,
    triangle_ft2: Q,
    ground_mean_ft: Q,
    flush_top_ft: Q,
    stone_depth_in: Q,
    strip_ft: Q,
    slab_edge_ft: Q,
    slab_edge_used_in: Q,
    slab_ground_ft: Q,
) -> Q:
    subgrade = _subgrade(flush_top_ft, stone_depth_in)
    up = filled_yd3(on_pad, flush_cut_yd3, triangle_ft2, ground_mean_ft, subgrade, strip_ft)
    return _beside_edge(up, subgrade, slab_edge_ft, slab_edge_used_in, slab_ground_ft)


@PAD_HEIGHTS.row("Courses of timber, about", "courses", fmt="0", note=COURSES_NOTE)
def flush_courses(
    option_kind: Q,
    flush_top_ft: Q,
    ground_low_ft: Q,
    reckoned_from: Q,
    strip_ft: Q,
    embed_in: Q,
    timber_depth_in: Q,
) -> Q:
    return _courses(
        option_kind, flush_top_ft, ground_low_ft, reckoned_from, strip_ft, embed_in, timber_depth_in
    )


@PAD_HEIGHTS.row("Cost of earth", "$", fmt="#,##0")
def flush_earth_cost(
    flush_cut_yd3: Q,
    flush_fill_yd3: Q,
    fill_with: Q,
    compacted_per_bank: Q,
    dig_cost_yd3: Q,
    fill_cost_yd3: Q,
    bring_cost_yd3: Q,
    away_cost_yd3: Q,
    stone_cost_yd3: Q,
) -> Q:
    return _earth_cost(
        flush_cut_yd3,
        flush_fill_yd3,
        fill_with,
        compacted_per_bank,
        dig_cost_yd3,
        fill_cost_yd3,
        bring_cost_yd3,
        away_cost_yd3,
        stone_cost_yd3,
    )


PAD_HEIGHTS.section("Balanced: cut fills the low side")


@PAD_HEIGHTS.row("Top", "ft", fmt="0.000")
def balanced_top_ft(on_pad: Q, balanced_ft: Q) -> Q:
    return on_pad * balanced_ft


@PAD_HEIGHTS.row("Level of the cut", "ft", fmt="0.000", note=LEVEL_NOTE)
def balanced_level_ft(balanced_top_ft: Q, stone_depth_in: Q, strip_ft: Q) -> Q:
    return _subgrade(balanced_top_ft, stone_depth_in) + strip_ft


@PAD_HEIGHTS.row("Cut", "yd3", source=TRIANGLE_SOURCE)
def balanced_cut_yd3(
    on_pad: Q,
    balanced_level_ft: Q,
    triangle_ft2: Q,
    triangle_low_ft: Q,
    triangle_mid_ft: Q,
    triangle_high_ft: Q,
) -> Q:
    return on_pad * above_yd3(
        balanced_level_ft, triangle_ft2, triangle_low_ft, triangle_mid_ft, triangle_high_ft
    )


@PAD_HEIGHTS.row("Fill", "yd3", note=COMPACTED_NOTE)
def balanced_fill_yd3(
    on_pad: Q,
    balanced_cut_yd3: Q,
    triangle_ft2: Q,
    ground_mean_ft: Q,
    balanced_top_ft: Q,
    stone_depth_in: Q,
    strip_ft: Q,
    slab_edge_ft: Q,
    slab_edge_used_in: Q,
    slab_ground_ft: Q,
) -> Q:
    subgrade = _subgrade(balanced_top_ft, stone_depth_in)
    up = filled_yd3(on_pad, balanced_cut_yd3, triangle_ft2, ground_mean_ft, subgrade, strip_ft)
    return _beside_edge(up, subgrade, slab_edge_ft, slab_edge_used_in, slab_ground_ft)


@PAD_HEIGHTS.row("Courses of timber, about", "courses", fmt="0", note=COURSES_NOTE)
def balanced_courses(
    option_kind: Q,
    balanced_top_ft: Q,
    ground_low_ft: Q,
    reckoned_from: Q,
    strip_ft: Q,
    embed_in: Q,
    timber_depth_in: Q,
) -> Q:
    return _courses(
        option_kind,
        balanced_top_ft,
        ground_low_ft,
        reckoned_from,
        strip_ft,
        embed_in,
        timber_depth_in,
    )


@PAD_HEIGHTS.row("Cost of earth", "$", fmt="#,##0")
def balanced_earth_cost(
    balanced_cut_yd3: Q,
    balanced_fill_yd3: Q,
    fill_with: Q,
    compacted_per_bank: Q,
    dig_cost_yd3: Q,
    fill_cost_yd3: Q,
    bring_cost_yd3: Q,
    away_cost_yd3: Q,
    stone_cost_yd3: Q,
) -> Q:
    return _earth_cost(
        balanced_cut_yd3,
        balanced_fill_yd3,
        fill_with,
        compacted_per_bank,
        dig_cost_yd3,
        fill_cost_yd3,
        bring_cost_yd3,
        away_cost_yd3,
        stone_cost_yd3,
    )


PAD_HEIGHTS.section("By hand")


@PAD_HEIGHTS.row("Top", "ft", fmt="0.000", note="The height by hand on Options, used or not.")
def hand_top_ft(on_pad: Q, hand_height_ft: Q) -> Q:
    return on_pad * hand_height_ft


@PAD_HEIGHTS.row("Level of the cut", "ft", fmt="0.000", note=LEVEL_NOTE)
def hand_level_ft(hand_top_ft: Q, stone_depth_in: Q, strip_ft: Q) -> Q:
    return _subgrade(hand_top_ft, stone_depth_in) + strip_ft


@PAD_HEIGHTS.row("Cut", "yd3", source=TRIANGLE_SOURCE)
def hand_cut_yd3(
    on_pad: Q,
    hand_level_ft: Q,
    triangle_ft2: Q,
    triangle_low_ft: Q,
    triangle_mid_ft: Q,
    triangle_high_ft: Q,
) -> Q:
    return on_pad * above_yd3(
        hand_level_ft, triangle_ft2, triangle_low_ft, triangle_mid_ft, triangle_high_ft
    )


@PAD_HEIGHTS.row("Fill", "yd3", note=COMPACTED_NOTE)
def hand_fill_yd3(
    on_pad: Q,
    hand_cut_yd3: Q,
    triangle_ft2: Q,
    ground_mean_ft: Q,
    hand_top_ft: Q,
    stone_depth_in: Q,
    strip_ft: Q,
    slab_edge_ft: Q,
    slab_edge_used_in: Q,
    slab_ground_ft: Q,
) -> Q:
    subgrade = _subgrade(hand_top_ft, stone_depth_in)
    up = filled_yd3(on_pad, hand_cut_yd3, triangle_ft2, ground_mean_ft, subgrade, strip_ft)
    return _beside_edge(up, subgrade, slab_edge_ft, slab_edge_used_in, slab_ground_ft)


@PAD_HEIGHTS.row("Courses of timber, about", "courses", fmt="0", note=COURSES_NOTE)
def hand_courses(
    option_kind: Q,
    hand_top_ft: Q,
    ground_low_ft: Q,
    reckoned_from: Q,
    strip_ft: Q,
    embed_in: Q,
    timber_depth_in: Q,
) -> Q:
    return _courses(
        option_kind, hand_top_ft, ground_low_ft, reckoned_from, strip_ft, embed_in, timber_depth_in
    )


@PAD_HEIGHTS.row("Cost of earth", "$", fmt="#,##0")
def hand_earth_cost(
    hand_cut_yd3: Q,
    hand_fill_yd3: Q,
    fill_with: Q,
    compacted_per_bank: Q,
    dig_cost_yd3: Q,
    fill_cost_yd3: Q,
    bring_cost_yd3: Q,
    away_cost_yd3: Q,
    stone_cost_yd3: Q,
) -> Q:
    return _earth_cost(
        hand_cut_yd3,
        hand_fill_yd3,
        fill_with,
        compacted_per_bank,
        dig_cost_yd3,
        fill_cost_yd3,
        bring_cost_yd3,
        away_cost_yd3,
        stone_cost_yd3,
    )


PAD_HEIGHTS.section("Beside the chosen one")


@PAD_HEIGHTS.row("Chosen on Options", kind="text")
def height_chosen(on_pad: Q, height_mode: Q) -> Q:
    return np.where(on_pad == 1, height_mode, "not a pad")


@PAD_HEIGHTS.row("Cost of earth as chosen", "$", fmt="#,##0")
def chosen_earth_cost(
    height_mode: Q, flush_earth_cost: Q, balanced_earth_cost: Q, hand_earth_cost: Q
) -> Q:
    return np.where(
        height_mode == "by hand",
        hand_earth_cost,
        np.where(height_mode == "balanced", balanced_earth_cost, flush_earth_cost),
    )


@PAD_HEIGHTS.row("Flush: more or less than that", "$", fmt="+#,##0;-#,##0;0")
def flush_more_cost(flush_earth_cost: Q, chosen_earth_cost: Q) -> Q:
    return flush_earth_cost - chosen_earth_cost


@PAD_HEIGHTS.row("Balanced: more or less than that", "$", fmt="+#,##0;-#,##0;0")
def balanced_more_cost(balanced_earth_cost: Q, chosen_earth_cost: Q) -> Q:
    return balanced_earth_cost - chosen_earth_cost


@PAD_HEIGHTS.row("By hand: more or less than that", "$", fmt="+#,##0;-#,##0;0")
def hand_more_cost(hand_earth_cost: Q, chosen_earth_cost: Q) -> Q:
    return hand_earth_cost - chosen_earth_cost


PAD_HEIGHTS.section("If fill is not accepted: stone down to undisturbed ground")


@PAD_HEIGHTS.row(
    "Stone in place of tamped soil",
    "yd3",
    note="As it lies. Below it what is stripped is gone; strip deeper where that is not yet undisturbed ground.",
)
def stone_instead_yd3(fill_soil_yd3: Q) -> Q:
    return fill_soil_yd3


@PAD_HEIGHTS.row("Stone to buy for it, loose", "yd3")
def stone_instead_loose_yd3(stone_instead_yd3: Q, compaction_share: Q, stone_waste_share: Q) -> Q:
    return stone_instead_yd3 * (1 + compaction_share) * (1 + stone_waste_share)


@PAD_HEIGHTS.row("Dug soil that it leaves over", "yd3", note="Bank: to the heap, or off the site.")
def soil_instead_yd3(stone_instead_yd3: Q, cut_yd3: Q, compacted_per_bank: Q) -> Q:
    return np.minimum(cut_yd3, stone_instead_yd3 / compacted_per_bank)


@PAD_HEIGHTS.row(
    "More than with soil",
    "$",
    fmt="#,##0",
    note="Work included; before tax. Stone, its work and the soil left over, less fill and tamping.",
)
def stone_instead_cost(
    cut_yd3: Q,
    stone_instead_yd3: Q,
    compacted_per_bank: Q,
    dig_cost_yd3: Q,
    fill_cost_yd3: Q,
    bring_cost_yd3: Q,
    away_cost_yd3: Q,
    stone_cost_yd3: Q,
) -> Q:
    rates = (dig_cost_yd3, fill_cost_yd3, bring_cost_yd3, away_cost_yd3, stone_cost_yd3)
    ground = (cut_yd3, stone_instead_yd3)
    stone = _earth_cost(*ground, "stone", compacted_per_bank, *rates)
    soil = _earth_cost(*ground, "soil", compacted_per_bank, *rates)
    return np.where(stone_instead_yd3 > 0, stone - soil, 0)


GRADING.take(PAD_HEIGHTS, before="Timber frame")
