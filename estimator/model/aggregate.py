"""Sheet Aggregate: stone, its bedding and shoulders, hauling, and the fabric under it."""

from __future__ import annotations

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.model.adds import OK, Hours, Need, Step, check
from estimator.model.grading import LIFTS, trips
from estimator.model.kinds import GRADED, ON_BLOCKS, SLOPED, TIMBERED, where_kind
from estimator.model.water import WATER
from estimator.rows import Sheet
from estimator.units import FT3_PER_YD3, IN_PER_FT, LB_PER_TON
from estimator.vocabulary import Q, amount, join, lookup

AGGREGATE = Sheet(
    "Aggregate",
    "Aggregate: crushed stone, fabric, and water led away",
    "Net volume in place, then compaction, waste and the yard's increment. Water is led round the base.",
    shows=SheetAppearance(upright=True),
)
NO_ROLL = 1e9
RATES = "Rates on Factors"
WEIGHT = "Unit weight of the stone on Factors"
LAPS = "AASHTO M288 for the overlap (from memory); strips counted"

AGGREGATE.section("Stone in place")


@AGGREGATE.row("Length of the stone", "ft", note="Inside the timbers, or the whole open pad.")
def stone_length_ft(on_pad: Q, frame_length_ft: Q, timber_width_in: Q) -> Q:
    return on_pad * (frame_length_ft - 2 * timber_width_in / IN_PER_FT)


@AGGREGATE.row("Width of the stone", "ft")
def stone_width_ft(on_pad: Q, frame_width_ft: Q, timber_width_in: Q) -> Q:
    return on_pad * (frame_width_ft - 2 * timber_width_in / IN_PER_FT)


@AGGREGATE.row("Pad", "yd3", note="Level top to level subgrade.")
def stone_pad_yd3(stone_length_ft: Q, stone_width_ft: Q, stone_depth_in: Q) -> Q:
    return stone_length_ft * stone_width_ft * stone_depth_in / IN_PER_FT / FT3_PER_YD3


@AGGREGATE.row("Fill of the low side with stone", "yd3")
def stone_fill_yd3(fill_with: Q, fill_yd3: Q) -> Q:
    return np.where(fill_with == "stone", fill_yd3, 0)


@AGGREGATE.row("Shoulders", "yd3")
def shoulder_yd3(shoulder_ft3: Q) -> Q:
    return shoulder_ft3 / FT3_PER_YD3


@AGGREGATE.row("Trench bedding", "yd3", note="Under the timbers, the trench's full width.")
def bedding_yd3(trench_bed_ft3: Q) -> Q:
    return trench_bed_ft3 / FT3_PER_YD3


@AGGREGATE.row("Beds under blocks", "yd3")
def bed_yd3(option_kind: Q, support_count: Q, block_pad_in: Q, block_bed_in: Q) -> Q:
    bed = (block_pad_in / IN_PER_FT) ** 2 * block_bed_in / IN_PER_FT
    return where_kind(option_kind, ON_BLOCKS, support_count * bed / FT3_PER_YD3)


@AGGREGATE.row(
    "Stone in place",
    "yd3",
    note="All of these, less what the thickened edge of a slab takes the place of.",
)
def stone_net_yd3(
    stone_pad_yd3: Q,
    stone_fill_yd3: Q,
    shoulder_yd3: Q,
    bedding_yd3: Q,
    bed_yd3: Q,
    drain_yd3: Q,
    slab_stone_yd3: Q,
) -> Q:
    under = np.maximum(stone_pad_yd3 + stone_fill_yd3 - slab_stone_yd3, 0)
    return under + shoulder_yd3 + bedding_yd3 + bed_yd3 + drain_yd3


AGGREGATE.section("Stone to order")


@AGGREGATE.row("Loose, with compaction and waste", "yd3")
def stone_loose_yd3(stone_net_yd3: Q, compaction_share: Q, stone_waste_share: Q) -> Q:
    return stone_net_yd3 * (1 + compaction_share) * (1 + stone_waste_share)


@AGGREGATE.row("Yard's increment", "yd3")
def stone_pack_yd3(stone_item: Q, item_name: Q, item_pack: Q) -> Q:
    return lookup(stone_item, item_name, item_pack, 1)


@AGGREGATE.row("Stone to order", "yd3", fmt="0.0")
def stone_order_yd3(stone_loose_yd3: Q, stone_pack_yd3: Q) -> Q:
    return np.ceil(stone_loose_yd3 / stone_pack_yd3) * stone_pack_yd3


@AGGREGATE.row(
    "Weight", "tons", fmt="0.0", source=WEIGHT, note="{Short tons of 2,000 lb|Tonnes of 1,000 kg}."
)
def stone_tons(stone_order_yd3: Q, stone_lb_ft3: Q) -> Q:
    return stone_order_yd3 * FT3_PER_YD3 * stone_lb_ft3 / LB_PER_TON


@AGGREGATE.row("Loads", "loads", fmt="0")
def stone_loads(stone_order_yd3: Q, truck_yd3: Q) -> Q:
    return np.ceil(stone_order_yd3 / truck_yd3)


AGGREGATE.section("Hauling and spreading")


@AGGREGATE.row(
    "Share tipped into place by the truck",
    "share",
    fmt="0%",
    note="As typed on Job; else all of a pad where the way to it is wide enough, as tipping costs nothing more there than at the road; in beds and trenches none.",
)
def stone_tipped_share(
    option_kind: Q, stone_inside_share: Q, access_width_in: Q, truck_way_in: Q
) -> Q:
    reaches = np.where(access_width_in >= truck_way_in, 1, 0)
    chosen = where_kind(option_kind, GRADED, reaches)
    return np.where(stone_inside_share < 0, chosen, stone_inside_share)


@check(AGGREGATE, "Way in for the truck", mend="access_width_in", hazard="access")
def check_truck_way(
    stone_tipped_share: Q, stone_order_yd3: Q, access_width_in: Q, truck_way_in: Q
) -> Q:
    stuck = (stone_tipped_share > 0) & (stone_order_yd3 > 0) & (access_width_in < truck_way_in)
    needs = amount(truck_way_in, "in", "0")
    return np.where(
        stuck,
        join(
            "LOOK: stone is tipped into place over a way narrower than the ", needs, " of a truck"
        ),
        OK,
    )


@AGGREGATE.row(
    "Barrow or machine trips", "trips", fmt="0", note="For the share not tipped into place."
)
def stone_trips(
    stone_order_yd3: Q, stone_tipped_share: Q, dig_way: Q, machine_bucket_ft3: Q, barrow_ft3: Q
) -> Q:
    load = np.where(dig_way == "machine", machine_bucket_ft3, barrow_ft3)
    return trips(stone_order_yd3 * (1 - stone_tipped_share), load)


@AGGREGATE.row(
    "Minutes a trip",
    "min",
    fmt="0.0",
    source=RATES,
    note="Fill, walk from where the truck tips, tip, walk back; a machine travels at walking pace.",
)
def stone_trip_min(
    dig_way: Q, machine_trip_min: Q, load_min: Q, tip_distance_ft: Q, walk_ft_min: Q
) -> Q:
    fill_and_tip = np.where(dig_way == "machine", machine_trip_min, load_min)
    return fill_and_tip + 2 * tip_distance_ft / walk_ft_min


@AGGREGATE.row(
    "Haul stone",
    "h",
    fmt="0.0",
    source=RATES,
    note="Saved if all is tipped into place: leave one side open, tip after the frame stands.",
)
def haul_hours(stone_trips: Q, stone_trip_min: Q) -> Q:
    return stone_trips * stone_trip_min / 60


@AGGREGATE.row("Spread", "h", fmt="0.0", source=RATES)
def spread_hours(stone_order_yd3: Q, spread_yd3_h: Q) -> Q:
    return stone_order_yd3 / spread_yd3_h


@AGGREGATE.row(
    "Compact",
    "h",
    fmt="0.0",
    source=RATES,
    note="The pad, in two lifts with a plate; by hand by {the yard|volume}.",
)
def compact_hours(
    on_pad: Q,
    stone_length_ft: Q,
    stone_width_ft: Q,
    plate_h_ft2: Q,
    compact_method: Q,
    stone_pad_yd3: Q,
    stone_hand_yd3_h: Q,
) -> Q:
    plate = 2 * stone_length_ft * stone_width_ft * plate_h_ft2
    by_hand = stone_pad_yd3 / stone_hand_yd3_h
    return on_pad * np.where(compact_method == "by hand", by_hand, plate)


@AGGREGATE.row(
    "Loose stone compacted at a time",
    "in",
    fmt="0.0",
    source=LIFTS,
    note="The most that Factors allows.",
)
def stone_lift_in(on_pad: Q, compact_method: Q, stone_lift_plate_in: Q, stone_lift_hand_in: Q) -> Q:
    return on_pad * np.where(compact_method == "by hand", stone_lift_hand_in, stone_lift_plate_in)


@AGGREGATE.row("Lifts of the fill of stone", "lifts", fmt="0", source=LIFTS, note="At the deepest.")
def stone_fill_lifts(fill_with: Q, fill_depth_in: Q, stone_lift_in: Q, compaction_share: Q) -> Q:
    lift = stone_lift_in + np.where(stone_lift_in > 0, 0, 1)
    lifts = np.ceil(fill_depth_in * (1 + compaction_share) / lift)
    return np.where(fill_with == "stone", lifts, 0)


@AGGREGATE.row("Compact {a yard|one m3} of fill of stone", "h/yd3", fmt="0.000", source=RATES)
def stone_tamp_h_yd3(
    on_pad: Q,
    compact_method: Q,
    compaction_share: Q,
    stone_lift_in: Q,
    plate_h_ft2: Q,
    stone_hand_yd3_h: Q,
) -> Q:
    lift_ft = (stone_lift_in + np.where(stone_lift_in > 0, 0, 1)) / IN_PER_FT
    plate = FT3_PER_YD3 * (1 + compaction_share) / lift_ft * plate_h_ft2
    return on_pad * np.where(compact_method == "by hand", 1 / stone_hand_yd3_h, plate)


@AGGREGATE.row(
    "Compact the fill of stone",
    "h",
    fmt="0.0",
    source=RATES,
    note="Every lift of the low side, by its own area.",
)
def stone_fill_hours(stone_fill_yd3: Q, stone_tamp_h_yd3: Q) -> Q:
    return stone_fill_yd3 * stone_tamp_h_yd3


AGGREGATE.section("Fabric")


@AGGREGATE.row("Length to cover", "ft", note="With the turn-up at both ends.")
def fabric_length_ft(fabric_used: Q, stone_length_ft: Q, turn_up_in: Q) -> Q:
    return np.where(fabric_used == "yes", stone_length_ft + 2 * turn_up_in / IN_PER_FT, 0)


@AGGREGATE.row("Width to cover", "ft")
def fabric_width_ft(fabric_used: Q, stone_width_ft: Q, turn_up_in: Q) -> Q:
    return np.where(fabric_used == "yes", stone_width_ft + 2 * turn_up_in / IN_PER_FT, 0)


@AGGREGATE.row(
    "Least cost that covers", "$", fmt="#,##0.00", note="Every roll below, laid along and across."
)
def fabric_cost(fabric_length_ft: Q, roll_cost: Q) -> Q:
    return np.where(fabric_length_ft > 0, np.min(roll_cost), 0)


@AGGREGATE.row("Roll", kind="text")
def fabric_item(fabric_length_ft: Q, fabric_cost: Q, roll_cost: Q, roll_item: Q) -> Q:
    return np.where(fabric_length_ft > 0, lookup(fabric_cost, roll_cost, roll_item, ""), "")


@AGGREGATE.row("Rolls", "rolls", fmt="0")
def fabric_rolls(fabric_length_ft: Q, fabric_cost: Q, roll_cost: Q, roll_count: Q) -> Q:
    return np.where(fabric_length_ft > 0, lookup(fabric_cost, roll_cost, roll_count, 0), 0)


@AGGREGATE.row("Strips", "strips", fmt="0")
def fabric_strips(
    fabric_length_ft: Q,
    fabric_cost: Q,
    roll_cost: Q,
    roll_along: Q,
    roll_strips_along: Q,
    roll_strips_across: Q,
) -> Q:
    along = lookup(fabric_cost, roll_cost, roll_along, 0)
    strips = np.where(
        along == 1,
        lookup(fabric_cost, roll_cost, roll_strips_along, 0),
        lookup(fabric_cost, roll_cost, roll_strips_across, 0),
    )
    return np.where(fabric_length_ft > 0, strips, 0)


@AGGREGATE.row("Laid", kind="text")
def fabric_laid(fabric_length_ft: Q, fabric_cost: Q, roll_cost: Q, roll_along: Q) -> Q:
    along = np.where(
        lookup(fabric_cost, roll_cost, roll_along, 0) == 1, "along the length", "across"
    )
    return np.where(fabric_length_ft > 0, along, "")


@AGGREGATE.row("Lay fabric", "h", fmt="0.0", source=RATES)
def fabric_hours(fabric_length_ft: Q, fabric_width_ft: Q, fabric_h_ft2: Q) -> Q:
    return fabric_length_ft * fabric_width_ft * fabric_h_ft2


TABLE = AGGREGATE.table("roll", "Fabric, every roll both ways", 6)


@TABLE.column(
    "Strips along",
    fmt="0",
    by_option=True,
    source=LAPS,
    note="Side by side over the width, overlapped.",
)
def roll_strips_along(roll_item: Q, roll_width_ft: Q, fabric_width_ft: Q, overlap_in: Q) -> Q:
    lap = overlap_in / IN_PER_FT
    net = np.maximum(roll_width_ft - lap, 0.1)
    return np.where(roll_item == "", 0, np.maximum(np.ceil((fabric_width_ft - lap) / net), 1))


@TABLE.column("Strips across", fmt="0", by_option=True, source=LAPS)
def roll_strips_across(roll_item: Q, roll_width_ft: Q, fabric_length_ft: Q, overlap_in: Q) -> Q:
    lap = overlap_in / IN_PER_FT
    net = np.maximum(roll_width_ft - lap, 0.1)
    return np.where(roll_item == "", 0, np.maximum(np.ceil((fabric_length_ft - lap) / net), 1))


@TABLE.column(
    "Rolls laid along",
    fmt="0",
    by_option=True,
    note="Whole strips from each roll; a strip longer than a roll takes several, lapped.",
)
def roll_count_along(
    roll_item: Q, roll_strips_along: Q, roll_length_ft: Q, fabric_length_ft: Q, overlap_in: Q
) -> Q:
    return np.where(
        roll_item == "",
        0,
        _rolls(roll_strips_along, roll_length_ft, fabric_length_ft, overlap_in),
    )


@TABLE.column("Rolls laid across", fmt="0", by_option=True)
def roll_count_across(
    roll_item: Q, roll_strips_across: Q, roll_length_ft: Q, fabric_width_ft: Q, overlap_in: Q
) -> Q:
    return np.where(
        roll_item == "",
        0,
        _rolls(roll_strips_across, roll_length_ft, fabric_width_ft, overlap_in),
    )


def _rolls(strips: Q, roll_ft: Q, strip_ft: Q, overlap_in: Q) -> Q:
    lap = overlap_in / IN_PER_FT
    strip = np.maximum(strip_ft, 0.1)
    whole = np.floor(roll_ft / strip)
    pieces = np.ceil((strip - lap) / np.maximum(roll_ft - lap, 0.1))
    return np.where(whole >= 1, np.ceil(strips / np.maximum(whole, 1)), strips * pieces)


@TABLE.column(
    "Laid along", fmt="0", by_option=True, note="1 where laying along takes no more rolls."
)
def roll_along(roll_count_along: Q, roll_count_across: Q) -> Q:
    return np.where(roll_count_along <= roll_count_across, 1, 0)


@TABLE.column("Rolls", fmt="0", by_option=True)
def roll_count(roll_count_along: Q, roll_count_across: Q) -> Q:
    return np.minimum(roll_count_along, roll_count_across)


@TABLE.column("Cost", "$", fmt="#,##0.00", by_option=True)
def roll_cost(roll_item: Q, roll_count: Q, item_name: Q, item_paid: Q) -> Q:
    return np.where(
        roll_item == "", NO_ROLL, roll_count * lookup(roll_item, item_name, item_paid, 0)
    )


AGGREGATE.adds(
    Step(
        key="fill",
        label="Fill and fabric",
        text="Fill and tamp in lifts. Fabric before stone, strips lapped downhill over uphill.",
        after=("timbers",),
        kinds=GRADED,
    ),
    Step(
        key="stone",
        label="Stone inside timbers",
        text="One side open for the truck; stone tipped inside the frame after it stands; compact in lifts.",
        after=("fill",),
        kinds=TIMBERED,
    ),
    Step(
        key="open_stone",
        label="Stone with shoulders",
        text="Stone tipped from the near side; compact in lifts, level; slope its shoulders.",
        after=("fill",),
        kinds=SLOPED,
    ),
    Hours(
        key="stone_fill",
        label="Stone below the pad",
        quantity="stone_fill_hours",
        trade="stone",
        after=("timbers",),
    ),
    Hours(
        key="fabric", label="Fabric", quantity="fabric_hours", trade="stone", after=("stone_fill",)
    ),
    Hours(key="haul", label="Haul stone", quantity="haul_hours", trade="stone", after=("fabric",)),
    Hours(
        key="spread", label="Spread stone", quantity="spread_hours", trade="stone", after=("haul",)
    ),
    Hours(
        key="compact", label="Compact", quantity="compact_hours", trade="stone", after=("spread",)
    ),
    Need(key="stone", label="Stone", item="stone_item", quantity="stone_order_yd3"),
    Need(key="fabric", label="Fabric", item="fabric_item", quantity="fabric_rolls"),
)
AGGREGATE.take(WATER)
