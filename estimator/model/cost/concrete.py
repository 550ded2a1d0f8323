"""Of the sheet Cost: concrete from bags or ready-mix, whichever costs less in all or is asked for.

Each way is its material, its hire and fee, and its hours at the wage, with tax as Job says: of
what is on hand already nothing is paid. What suppliers ask for their trips is apart.
"""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import Need, Weight
from estimator.model.kinds import CAST, PADS, SUPPORTS, MoreCases, by_kind, where_kind
from estimator.model.prices import is_short, lacks_price, to_pay
from estimator.rows import Chapter
from estimator.units import FT3_PER_YD3
from estimator.vocabulary import Q, lookup, rounded

CONCRETE = Chapter()
BAG_ITEM = "concrete_80"
MIX_ITEM = "ready_mix"
SHORT_ITEM = "short_load"
MIXER_ITEM = "mixer_day"

CONCRETE.section("Bags against ready-mix")


@CONCRETE.row("Bags if mixed by hand", "bags", fmt="0")
def bags_alone(concrete_yd3: Q, bag_yield_ft3: Q, concrete_waste: Q) -> Q:
    return np.ceil(concrete_yd3 * (1 + concrete_waste) * FT3_PER_YD3 / bag_yield_ft3)


@CONCRETE.row("Price of the bags", "$", fmt="#,##0.00", note="Beside those under steps.")
def bags_cost(
    bags_alone: Q, foot_bags: Q, item_key: Q, item_on_hand: Q, item_pack: Q, item_paid: Q
) -> Q:
    yard = (item_key, item_on_hand, item_pack, item_paid)
    return to_pay(BAG_ITEM, bags_alone + foot_bags, *yard) - to_pay(BAG_ITEM, foot_bags, *yard)


@CONCRETE.row("Ready-mix to order", "yd3", note="To the plant's increment.")
def mix_order_yd3(concrete_yd3: Q, concrete_waste: Q, item_key: Q, item_pack: Q) -> Q:
    pack = lookup(MIX_ITEM, item_key, item_pack, 1)
    return np.ceil(concrete_yd3 * (1 + concrete_waste) / pack) * pack


@CONCRETE.row("Short-load fee", "times", fmt="0", note="Below the plant's least load.")
def short_loads(concrete_yd3: Q, mix_order_yd3: Q, short_load_yd3: Q) -> Q:
    return np.where((concrete_yd3 > 0) & (mix_order_yd3 < short_load_yd3), 1, 0)


@CONCRETE.row("Price of ready-mix with its fee", "$", fmt="#,##0.00")
def mix_cost(
    mix_order_yd3: Q, short_loads: Q, item_key: Q, item_on_hand: Q, item_pack: Q, item_paid: Q
) -> Q:
    yard = (item_key, item_on_hand, item_pack, item_paid)
    return to_pay(MIX_ITEM, mix_order_yd3, *yard) + to_pay(SHORT_ITEM, short_loads, *yard)


@CONCRETE.row("Hours to mix and place bags", "h", fmt="0.0")
def bags_hours(bags_alone: Q, bag_h: Q) -> Q:
    return bags_alone * bag_h


@CONCRETE.row("Days of a hired mixer", "days", fmt="0", note="From so many bags as Factors says.")
def mixer_alone_days(
    bags_alone: Q, bags_hours: Q, mixer_bags: Q, crew_size: Q, day_hours: Q, hire_least_days: Q
) -> Q:
    days = np.maximum(np.ceil(bags_hours / (crew_size * day_hours)), hire_least_days)
    return np.where((bags_alone > 0) & (bags_alone >= mixer_bags), days, 0)


@CONCRETE.row("Hire of the mixer", "$", fmt="#,##0.00")
def mixer_cost(mixer_alone_days: Q, item_key: Q, item_on_hand: Q, item_pack: Q, item_paid: Q) -> Q:
    return to_pay(MIXER_ITEM, mixer_alone_days, item_key, item_on_hand, item_pack, item_paid)


@CONCRETE.row(
    "Bags in all",
    "$",
    fmt="#,##0.00",
    note="Material, hire, tax, work; before contingency.",
)
def bags_way_cost(
    bags_cost: Q, mixer_cost: Q, bags_hours: Q, wage_per_h: Q, tax_share: Q, hire_taxed: Q
) -> Q:
    tax = (bags_cost + np.where(hire_taxed == "yes", mixer_cost, 0)) * tax_share
    return rounded(bags_cost + mixer_cost + tax + bags_hours * wage_per_h, 2)


@CONCRETE.row("Hours to place ready-mix", "h", fmt="0.0")
def mix_hours(mix_order_yd3: Q, readymix_h_yd3: Q) -> Q:
    return mix_order_yd3 * readymix_h_yd3


@CONCRETE.row(
    "Ready-mix in all",
    "$",
    fmt="#,##0.00",
    note="Material with tax, short load, work, a slab's barrow or pump; before contingency.",
)
def mix_way_cost(
    option_kind: Q,
    mix_cost: Q,
    short_loads: Q,
    mix_hours: Q,
    wage_per_h: Q,
    tax_share: Q,
    item_key: Q,
    item_on_hand: Q,
    item_pack: Q,
    item_paid: Q,
    more_cases: MoreCases,
) -> Q:
    fee = to_pay(SHORT_ITEM, short_loads, item_key, item_on_hand, item_pack, item_paid)
    placing = by_kind(option_kind, {PADS: 0, SUPPORTS: 0}, more_cases)
    work = mix_hours * wage_per_h
    return rounded((mix_cost - fee) * (1 + tax_share) + fee + work + placing, 2)


@CONCRETE.row("Without a price", fmt="0", note="1: the way of bags, 2: of ready-mix, 3: both.")
def ways_unpriced(
    bags_alone: Q,
    bags_cost: Q,
    mixer_alone_days: Q,
    mixer_cost: Q,
    mix_order_yd3: Q,
    short_loads: Q,
    item_key: Q,
    item_on_hand: Q,
    item_paid: Q,
) -> Q:
    bags = is_short(BAG_ITEM, bags_alone, item_key, item_on_hand) & (bags_cost <= 0)
    mixer = is_short(MIXER_ITEM, mixer_alone_days, item_key, item_on_hand) & (mixer_cost <= 0)
    yard = (item_key, item_on_hand, item_paid)
    mix = lacks_price(MIX_ITEM, mix_order_yd3, *yard) | lacks_price(SHORT_ITEM, short_loads, *yard)
    return np.where(bags | mixer, 1, 0) + np.where(mix, 2, 0)


@CONCRETE.row(
    "Concrete comes as",
    kind="text",
    note="A way typed on Options wins; one that lacks a price is chosen only where both do.",
)
def concrete_comes(
    option_kind: Q,
    concrete_by: Q,
    bags_way_cost: Q,
    mix_way_cost: Q,
    ways_unpriced: Q,
    mix_access: Q,
) -> Q:
    both = (ways_unpriced == 0) | (ways_unpriced == 3)
    cheaper = np.where(both, bags_way_cost <= mix_way_cost, ways_unpriced == 2)
    chosen = np.where(cheaper | (mix_access == "no"), "bags", "ready-mix")
    wanted = np.where(concrete_by == "cheapest", chosen, concrete_by)
    return where_kind(option_kind, CAST, wanted, "")


@CONCRETE.row("Bags of concrete", "bags", fmt="0")
def bag_count(concrete_comes: Q, bags_alone: Q) -> Q:
    return np.where(concrete_comes == "bags", bags_alone, 0)


@CONCRETE.row("Ready-mix", "yd3")
def ready_mix_yd3(concrete_comes: Q, mix_order_yd3: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", mix_order_yd3, 0)


@CONCRETE.row("Mixer, days that fall due", "days", fmt="0")
def mixer_days(concrete_comes: Q, mixer_alone_days: Q) -> Q:
    return np.where(concrete_comes == "bags", mixer_alone_days, 0)


@CONCRETE.row("Short-load fee that falls due", "times", fmt="0")
def short_fees(concrete_comes: Q, short_loads: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", short_loads, 0)


@CONCRETE.row("A bag weighs", "lb", fmt="0", note="Those under steps too.")
def bag_lb(bag_count: Q, foot_bags: Q, item_key: Q, item_lb: Q) -> Q:
    return np.where(bag_count + foot_bags > 0, lookup(BAG_ITEM, item_key, item_lb, 0), 0)


CONCRETE.adds(
    Weight(key="bag", label="A bag of concrete", fresh="bag_lb"),
    Need(key="bag", label="Bags of concrete", item=Fixed(BAG_ITEM), quantity="bag_count"),
    Need(key="mixer", label="Mixer", item=Fixed(MIXER_ITEM), quantity="mixer_days"),
    Need(key="mix", label="Ready-mix", item=Fixed(MIX_ITEM), quantity="ready_mix_yd3"),
    Need(key="short", label="Short-load fee", item=Fixed(SHORT_ITEM), quantity="short_fees"),
)
