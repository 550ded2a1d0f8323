"""Sheet Cost, first part: bags or ready-mix, and what the job needs of which item."""

from __future__ import annotations

import numpy as np

from estimator.model.options import BLOCKS, FRAMED, PIERS
from estimator.model.supports import BAR_COVER_IN
from estimator.rows import Sheet
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, join, lookup, size

COST = Sheet(
    "Cost",
    "Cost: whole packs, money and hours",
    "Every need names an item of the price book; packs are whole; each line is rounded to the cent.",
)
BAG_ITEM = "concrete_80"
MIX_ITEM = "ready_mix"
SHORT_ITEM = "short_load"
BAR_ITEM = "bar_4_20ft"

COST.section("Bags against ready-mix")


@COST.row("Yield of a bag", "ft3", source="Makers' data, {0.60 ft3 for 80 lb|for a bag of 25 kg}")
def bag_ft3(on_pad: Q, bag_yield_ft3: Q) -> Q:
    return bag_yield_ft3 + 0 * on_pad


@COST.row("Bags if mixed by hand", "bags", fmt="0")
def bags_alone(concrete_yd3: Q, bag_ft3: Q, concrete_waste: Q) -> Q:
    return np.ceil(concrete_yd3 * (1 + concrete_waste) * FT3_PER_YD3 / bag_ft3)


@COST.row("Price of the bags", "$", fmt="#,##0.00")
def bags_cost(bags_alone: Q, item_key: Q, item_pack: Q, item_price: Q) -> Q:
    packs = np.ceil(bags_alone / lookup(BAG_ITEM, item_key, item_pack, 1))
    return packs * lookup(BAG_ITEM, item_key, item_price, 0)


@COST.row("Ready-mix to order", "yd3", note="To the plant's increment.")
def mix_order_yd3(concrete_yd3: Q, concrete_waste: Q, item_key: Q, item_pack: Q) -> Q:
    pack = lookup(MIX_ITEM, item_key, item_pack, 1)
    return np.ceil(concrete_yd3 * (1 + concrete_waste) / pack) * pack


@COST.row("Short-load fee", "times", fmt="0", note="Below the plant's least load.")
def short_loads(concrete_yd3: Q, mix_order_yd3: Q, short_load_yd3: Q) -> Q:
    return np.where((concrete_yd3 > 0) & (mix_order_yd3 < short_load_yd3), 1, 0)


@COST.row("Price of ready-mix with its fee", "$", fmt="#,##0.00")
def mix_cost(mix_order_yd3: Q, short_loads: Q, item_key: Q, item_pack: Q, item_price: Q) -> Q:
    each = lookup(MIX_ITEM, item_key, item_price, 0) / lookup(MIX_ITEM, item_key, item_pack, 1)
    return mix_order_yd3 * each + short_loads * lookup(SHORT_ITEM, item_key, item_price, 0)


@COST.row("Concrete comes as", kind="text")
def concrete_comes(option_kind: Q, concrete_by: Q, bags_cost: Q, mix_cost: Q) -> Q:
    cheaper = np.where(bags_cost <= mix_cost, "bags", "ready-mix")
    return np.where(
        option_kind == PIERS, np.where(concrete_by == "cheapest", cheaper, concrete_by), ""
    )


@COST.row("Bags of concrete", "bags", fmt="0")
def bag_count(concrete_comes: Q, bags_alone: Q) -> Q:
    return np.where(concrete_comes == "bags", bags_alone, 0)


@COST.row("Ready-mix", "yd3")
def ready_mix_yd3(concrete_comes: Q, mix_order_yd3: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", mix_order_yd3, 0)


COST.section("Needs: item of the price book", stack="need_item", kind="text")


@COST.row("Stone: item", kind="text")
def stone_need_item(stone_item: Q) -> Q:
    return np.where(stone_item == "", "", stone_item)


@COST.row("Fabric: item", kind="text")
def fabric_need_item(fabric_item: Q) -> Q:
    return np.where(fabric_item == "", "", fabric_item)


@COST.row("Drain pipe: item", kind="text")
def pipe_need_item(on_pad: Q) -> Q:
    return np.where(on_pad == 1, "drain_pipe", "")


@COST.row("Soil brought in: item", kind="text")
def soil_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "fill_soil", "")


@COST.row("Pins: item", kind="text")
def pin_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == FRAMED, "bar_4_2ft", "")


@COST.row("Structural screws: item", kind="text")
def timber_screw_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == FRAMED, "screw_structural", "")


@COST.row("Cut-end preservative: item", kind="text")
def preservative_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "preservative", "")


@COST.row("Anchors: item", kind="text")
def anchor_need_item(on_pad: Q) -> Q:
    return np.where(on_pad == 1, "ground_anchor", "")


@COST.row("Bags of concrete: item", kind="text")
def bag_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, BAG_ITEM, "")


@COST.row("Ready-mix: item", kind="text")
def mix_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, MIX_ITEM, "")


@COST.row("Short-load fee: item", kind="text")
def short_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, SHORT_ITEM, "")


@COST.row("Tube forms: item", kind="text", note="tube_ and the diameter in {inches|millimetres}.")
def tube_need_item(option_kind: Q, pier_diameter_in: Q) -> Q:
    return np.where(option_kind == PIERS, join("tube_", size(pier_diameter_in, "in", "0")), "")


@COST.row("Steel bars: item", kind="text")
def bar_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, BAR_ITEM, "")


@COST.row("Beam bases: item", kind="text")
def base_need_item(option_kind: Q) -> Q:
    return np.where((option_kind == PIERS) | (option_kind == BLOCKS), "beam_base", "")


@COST.row("Blocks: item", kind="text")
def block_need_item(block_item: Q) -> Q:
    return np.where(block_item == "", "", block_item)


@COST.row("Joist ties: item", kind="text")
def tie_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "joist_tie", "")


@COST.row("Framing nails: item", kind="text")
def nail_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "nail_16d_galv", "")


@COST.row("Floor screws: item", kind="text")
def floor_screw_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "screw_floor", "")


@COST.row("Adhesive: item", kind="text")
def adhesive_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "adhesive", "")


@COST.row("Floor sheets: item", kind="text")
def sheet_need_item(sheet_item: Q) -> Q:
    return np.where(sheet_item == "", "", sheet_item)


@COST.row("Excavator: item", kind="text")
def digger_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "excavator_day", "")


@COST.row("Plate compactor: item", kind="text")
def plate_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "compactor_day", "")


@COST.row("Spoil hauled off site: item", kind="text")
def haul_off_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "haul_off", "")


COST.section("Needs: quantity", stack="need_quantity")


@COST.row("Stone", "yd3")
def stone_need(stone_order_yd3: Q) -> Q:
    return stone_order_yd3 * 1


@COST.row("Fabric", "rolls", fmt="0")
def fabric_need(fabric_rolls: Q, drain_rolls: Q) -> Q:
    return fabric_rolls + drain_rolls


@COST.row("Drain pipe", "ft", fmt="0.0")
def pipe_need(pipe_ft: Q) -> Q:
    return pipe_ft * 1


@COST.row("Soil brought in, loose", "yd3")
def soil_need(import_yd3: Q) -> Q:
    return import_yd3 * 1


@COST.row("Pins", "pieces", fmt="0")
def pin_need(pin_count: Q) -> Q:
    return pin_count * 1


@COST.row("Structural screws", "pieces", fmt="0")
def timber_screw_need(timber_screws: Q) -> Q:
    return timber_screws * 1


@COST.row(
    "Cut-end preservative",
    "cuts",
    fmt="0",
    note="Both ends of every piece of treated wood; cans do so many.",
)
def preservative_need(
    timber_pieces: Q,
    skid_count_used: Q,
    support_rows_used: Q,
    beam_plies: Q,
    joist_treated: Q,
    joists_in_all: Q,
    rims_count: Q,
    blocking_count: Q,
) -> Q:
    floor = joist_treated * (joists_in_all + rims_count + blocking_count)
    return 2 * (timber_pieces + skid_count_used + support_rows_used * beam_plies + floor)


@COST.row("Anchors", "pieces", fmt="0")
def anchor_need(anchor_count: Q) -> Q:
    return anchor_count * 1


@COST.row("Bags of concrete", "bags", fmt="0")
def bag_need(bag_count: Q) -> Q:
    return bag_count * 1


@COST.row("Ready-mix", "yd3")
def mix_need(ready_mix_yd3: Q) -> Q:
    return ready_mix_yd3 * 1


@COST.row("Short-load fee", "times", fmt="0")
def short_need(concrete_comes: Q, short_loads: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", short_loads, 0)


@COST.row(
    "Tube forms",
    "ft",
    fmt="0.0",
    note="Whole tubes: as many piers from each as the tallest allows; a taller one joins several.",
)
def tube_need(
    support_count: Q, pier_longest_ft: Q, tube_need_item: Q, item_key: Q, item_pack: Q
) -> Q:
    tube = lookup(tube_need_item, item_key, item_pack, 1)
    return _whole(support_count, pier_longest_ft, tube)


@COST.row(
    "Steel bars",
    "ft",
    fmt="0.0",
    note="Whole bars: as many lengths from each as the tallest pier allows.",
)
def bar_need(
    support_count: Q,
    bars_per_pier: Q,
    pier_longest_ft: Q,
    footing_diameter_in: Q,
    footing_thick_in: Q,
    item_key: Q,
    item_pack: Q,
) -> Q:
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0) / IN_PER_FT
    length = np.maximum(pier_longest_ft + footing - 2 * BAR_COVER_IN / IN_PER_FT, 0)
    bar = lookup(BAR_ITEM, item_key, item_pack, 1)
    return _whole(support_count * bars_per_pier, length, bar)


def _whole(count: Q, length: Q, stock: Q) -> Q:
    """Length to buy, in whole stock lengths, for ``count`` pieces of one length."""
    each = np.floor(stock / (length + np.where(length > 0, 0, stock)))
    several = count * np.ceil(length / stock)
    whole = np.where(each >= 1, np.ceil(count / np.maximum(each, 1)), several)
    return np.where(length > 0, whole * stock, 0)


@COST.row("Beam bases", "pieces", fmt="0")
def base_need(support_count: Q) -> Q:
    return support_count * 1


@COST.row("Blocks", "pieces", fmt="0")
def block_need(block_count: Q) -> Q:
    return block_count * 1


@COST.row("Joist ties", "pieces", fmt="0")
def tie_need(tie_count: Q) -> Q:
    return tie_count * 1


@COST.row("Framing nails", "lb", fmt="0.0")
def nail_need(nail_lb: Q) -> Q:
    return nail_lb * 1


@COST.row("Floor screws", "pieces", fmt="0")
def floor_screw_need(screw_count: Q) -> Q:
    return screw_count * 1


@COST.row("Adhesive", "tubes", fmt="0")
def adhesive_need(adhesive_tubes: Q) -> Q:
    return adhesive_tubes * 1


@COST.row("Floor sheets", "sheets", fmt="0")
def sheet_need(sheet_count: Q) -> Q:
    return sheet_count * 1


@COST.row("Excavator", "days", fmt="0", note="For what the machine digs and carries.")
def digger_need(
    dig_method: Q,
    strip_hours: Q,
    cut_hours: Q,
    spoil_hours: Q,
    import_hours: Q,
    haul_hours: Q,
    day_hours: Q,
) -> Q:
    hours = strip_hours + cut_hours + spoil_hours + import_hours + haul_hours
    return np.where(dig_method == "machine", np.ceil(hours / day_hours), 0)


@COST.row("Plate compactor", "days", fmt="0")
def plate_need(
    on_pad: Q, compact_method: Q, compact_hours: Q, stone_fill_hours: Q, day_hours: Q
) -> Q:
    days = np.maximum(np.ceil((compact_hours + stone_fill_hours) / day_hours), 1)
    return np.where((on_pad == 1) & (compact_method != "by hand"), days, 0)


@COST.row("Spoil hauled off site", "yd3", fmt="0.0", note="Loose; 0 when it stays on the heap.")
def haul_off_need(spoil_leaves: Q, spoil_yd3: Q) -> Q:
    return np.where(spoil_leaves == "yes", spoil_yd3, 0)
