"""Of the sheet Cost: concrete from bags or ready-mix, whichever is cheaper or asked for."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import Need
from estimator.model.kinds import CAST, where_kind
from estimator.rows import Chapter
from estimator.units import FT3_PER_YD3
from estimator.vocabulary import Q, lookup

CONCRETE = Chapter()
BAG_ITEM = "concrete_80"
MIX_ITEM = "ready_mix"
SHORT_ITEM = "short_load"

CONCRETE.section("Bags against ready-mix")


@CONCRETE.row(
    "Yield of a bag", "ft3", source="Makers' data, {0.60 ft3 for 80 lb|for a bag of 25 kg}"
)
def bag_ft3(bag_yield_ft3: Q) -> Q:
    return bag_yield_ft3


@CONCRETE.row("Bags if mixed by hand", "bags", fmt="0")
def bags_alone(concrete_yd3: Q, bag_ft3: Q, concrete_waste: Q) -> Q:
    return np.ceil(concrete_yd3 * (1 + concrete_waste) * FT3_PER_YD3 / bag_ft3)


@CONCRETE.row("Price of the bags", "$", fmt="#,##0.00")
def bags_cost(bags_alone: Q, item_key: Q, item_pack: Q, item_price: Q) -> Q:
    packs = np.ceil(bags_alone / lookup(BAG_ITEM, item_key, item_pack, 1))
    return packs * lookup(BAG_ITEM, item_key, item_price, 0)


@CONCRETE.row("Ready-mix to order", "yd3", note="To the plant's increment.")
def mix_order_yd3(concrete_yd3: Q, concrete_waste: Q, item_key: Q, item_pack: Q) -> Q:
    pack = lookup(MIX_ITEM, item_key, item_pack, 1)
    return np.ceil(concrete_yd3 * (1 + concrete_waste) / pack) * pack


@CONCRETE.row("Short-load fee", "times", fmt="0", note="Below the plant's least load.")
def short_loads(concrete_yd3: Q, mix_order_yd3: Q, short_load_yd3: Q) -> Q:
    return np.where((concrete_yd3 > 0) & (mix_order_yd3 < short_load_yd3), 1, 0)


@CONCRETE.row("Price of ready-mix with its fee", "$", fmt="#,##0.00")
def mix_cost(mix_order_yd3: Q, short_loads: Q, item_key: Q, item_pack: Q, item_price: Q) -> Q:
    each = lookup(MIX_ITEM, item_key, item_price, 0) / lookup(MIX_ITEM, item_key, item_pack, 1)
    return mix_order_yd3 * each + short_loads * lookup(SHORT_ITEM, item_key, item_price, 0)


@CONCRETE.row("Concrete comes as", kind="text")
def concrete_comes(option_kind: Q, concrete_by: Q, bags_cost: Q, mix_cost: Q) -> Q:
    cheaper = np.where(bags_cost <= mix_cost, "bags", "ready-mix")
    wanted = np.where(concrete_by == "cheapest", cheaper, concrete_by)
    return where_kind(option_kind, CAST, wanted, "")


@CONCRETE.row("Bags of concrete", "bags", fmt="0")
def bag_count(concrete_comes: Q, bags_alone: Q) -> Q:
    return np.where(concrete_comes == "bags", bags_alone, 0)


@CONCRETE.row("Ready-mix", "yd3")
def ready_mix_yd3(concrete_comes: Q, mix_order_yd3: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", mix_order_yd3, 0)


@CONCRETE.row("Short-load fee that falls due", "times", fmt="0")
def short_fees(concrete_comes: Q, short_loads: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", short_loads, 0)


CONCRETE.adds(
    Need(key="bag", label="Bags of concrete", item=Fixed(BAG_ITEM), quantity="bag_count"),
    Need(key="mix", label="Ready-mix", item=Fixed(MIX_ITEM), quantity="ready_mix_yd3"),
    Need(key="short", label="Short-load fee", item=Fixed(SHORT_ITEM), quantity="short_fees"),
)
