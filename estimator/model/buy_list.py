"""Sheet Buy List: every line to buy for the chosen option, by supplier and delivery."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.inputs import Field
from estimator.measures import ITEM_UNIT
from estimator.model.job import JOB
from estimator.model.plan import DELIVERIES
from estimator.model.prices import SUPPLIERS_MOST
from estimator.rows import Chapter, Sheet
from estimator.vocabulary import (
    Q,
    amount,
    count_up_to,
    join,
    lookup,
    nth,
    nth_largest,
    pick,
    position,
    rounded,
    sum_if,
    sum_up_to,
)

ORDER = Chapter()
ORDER.section(
    "Order of material",
    folded={
        "tip_place": "tipped #",
        "delivery_hours": "taken #",
        "alike_allowed": "another make or size #",
    },
)
for _field in (
    Field(
        "tip_place",
        "Where loads are tipped",
        kind="text",
        default="",
        needed=False,
        note="Such as: on the gravel left of the gate. Stone that is tipped in the wrong place is moved by hand.",
    ),
    Field(
        "delivery_hours",
        "When loads are taken",
        kind="text",
        default="",
        needed=False,
        note="Such as: weekdays, 7 to 15 h, call before.",
    ),
    Field(
        "alike_allowed",
        "Another make or size in place of what is ordered",
        kind="choice",
        default="only if asked first",
        choices=("no", "only if asked first", "yes"),
        note="Treated wood for the ground, hangers and anchors are never exchanged unasked.",
    ),
):
    ORDER.typed(_field, scope="job")
JOB.take(ORDER, before="Skirting and permit")

BUY_LIST = Sheet(
    "Buy List",
    "Buy List: the chosen option, by supplier",
    "Whole packs at the book's prices. It adds up to the material cost to the cent.",
    shows=SheetAppearance(role="take-along", reader="yard"),
)
LINES = 64
RANK_TOP = 1000000
RANK_STEP = 1000

BUY_LIST.section("Sum")


BUY_LIST.mirror("buy_title", "chosen_title", "Option", kind="text", scope="job")


@BUY_LIST.row("Lines", "lines", fmt="0", scope="job")
def buy_lines(buy_key: Q) -> Q:
    return np.sum(np.where(buy_key > 0, 1, 0))


@BUY_LIST.row("Material on this list", "$", fmt="#,##0.00", scope="job")
def buy_material(line_material: Q) -> Q:
    return rounded(np.sum(line_material), 2)


BUY_LIST.mirror(
    "buy_expected", "material_cost", "Material on Cost", "$", fmt="#,##0.00", chosen="chosen_no"
)


@BUY_LIST.row("They agree", kind="text", scope="job")
def buy_check(buy_material: Q, buy_expected: Q) -> Q:
    return np.where(buy_material == buy_expected, "ok", "FAIL: the list is short; see Cost")


@BUY_LIST.row("Rental and fees on this list", "$", fmt="#,##0.00", scope="job")
def buy_fees(line_place: Q, line_cost: Q, line_material: Q) -> Q:
    lines = np.sum(np.where(line_place > 0, line_cost, 0))
    return rounded(lines - np.sum(line_material), 2)


@BUY_LIST.row("Deliveries", "$", fmt="#,##0.00", scope="job")
def buy_delivery(load_fee: Q) -> Q:
    return rounded(np.sum(load_fee), 2)


BUY_LIST.take(DELIVERIES)

BUY_LIST.section("Order")
BUY_LIST.mirror("buy_from", "quote_from", "Ordered by", kind="text", scope="job")
BUY_LIST.mirror("buy_place", "job_place", "Place of the work", kind="text", scope="job")
BUY_LIST.mirror("buy_tip", "tip_place", "Loads are tipped", kind="text", scope="job")
BUY_LIST.mirror("buy_hours", "delivery_hours", "Loads are taken", kind="text", scope="job")
BUY_LIST.mirror("buy_alike", "alike_allowed", "Another make or size", kind="text", scope="job")

LIST = BUY_LIST.table(
    "line",
    "An order to each supplier",
    LINES,
    "By a supplier's name the day of its load and the order's cost. UC: use category on the tag of treated wood. Tick what came and write what was paid a pack; then on Prices.",
    index=True,
    shows=Appearance(
        printed_rows=46,
        characters={
            "line_item": 53,
            "line_article": 11,
            "line_pack": 13,
            "line_unit": 9,
            "line_got": 12.5,
        },
        aside=("line_order", "line_place", "line_material"),
        heads="line_order",
        head_day="line_need",
        head_sum="line_cost",
        apart="line_material",
    ),
)


@LIST.column("Supplier whose order begins", fmt="0")
def line_order(line_no: Q, supplier_head: Q, supplier_no: Q) -> Q:
    return lookup(line_no, supplier_head, supplier_no, 0)


@LIST.column("Place", fmt="0", note="By supplier, then in the order of the price book.")
def line_place(line_no: Q, line_order: Q, supplier_head: Q, buy_lines: Q, buy_key: Q) -> Q:
    listed = line_no - count_up_to(supplier_head, line_no)
    found = position(nth_largest(buy_key, np.maximum(listed, 1)), buy_key)
    return np.where((line_order == 0) & (listed <= buy_lines), found, 0)


@LIST.column("Supplier, and what is ordered", kind="text")
def line_item(
    line_place: Q,
    line_order: Q,
    supplier_name: Q,
    item_name: Q,
    item_use: Q,
    load_no: Q,
    load_place: Q,
    load_lb: Q,
    load_count: Q,
) -> Q:
    use = nth(item_use, np.maximum(line_place, 1))
    item = join(nth(item_name, np.maximum(line_place, 1)), np.where(use == "", "", join(", ", use)))
    weight = lookup(line_order, load_place, load_lb, 0)
    trips = np.maximum(lookup(line_order, load_place, load_count, 0), 1)
    delivery = join(
        ": delivery ",
        lookup(line_order, load_place, load_no, 0),
        ", ",
        amount(weight / trips, "lb", "#,##0"),
        " a trip",
    )
    order = join(nth(supplier_name, np.maximum(line_order, 1)), np.where(weight > 0, delivery, ""))
    return np.where(line_place > 0, item, np.where(line_order > 0, order, ""))


@LIST.column("Article", kind="text", note="Of the supplier; blank for the other one of two.")
def line_article(line_place: Q, item_article: Q, item_from_other: Q) -> Q:
    place = np.maximum(line_place, 1)
    own = np.where(nth(item_from_other, place) == 1, "", nth(item_article, place))
    return np.where(line_place > 0, own, "")


@LIST.column("Needed", ITEM_UNIT, fmt="0.0")
def line_need(
    line_place: Q, line_order: Q, item_need: Q, chosen_no: Q, load_place: Q, load_day: Q
) -> Q:
    """How much of it; beside a supplier, on which day."""
    need = pick(item_need, chosen_no, np.maximum(line_place, 1))
    day = np.where(line_order > 0, lookup(line_order, load_place, load_day, 0), 0)
    return np.where(line_place > 0, need, day)


@LIST.column("On hand", ITEM_UNIT, fmt="0.0")
def line_on_hand(line_place: Q, item_on_hand: Q) -> Q:
    return np.where(line_place > 0, nth(item_on_hand, np.maximum(line_place, 1)), 0)


@LIST.column("Packs to order", fmt="0")
def line_packs(line_place: Q, buy_packs: Q) -> Q:
    return np.where(line_place > 0, nth(buy_packs, np.maximum(line_place, 1)), 0)


@LIST.column("Units a pack", ITEM_UNIT, fmt="0.##")
def line_pack(line_place: Q, item_pack: Q) -> Q:
    return np.where(line_place > 0, nth(item_pack, np.maximum(line_place, 1)), 0)


@LIST.column("Unit", kind="text")
def line_unit(line_place: Q, item_unit: Q) -> Q:
    return np.where(line_place > 0, nth(item_unit, np.maximum(line_place, 1)), "")


@LIST.column("Price a pack", "$", fmt="#,##0.00")
def line_price(line_place: Q, item_paid: Q) -> Q:
    return np.where(line_place > 0, nth(item_paid, np.maximum(line_place, 1)), 0)


@LIST.column("Cost", "$", fmt="#,##0.00")
def line_cost(line_packs: Q, line_price: Q, line_order: Q, supplier_sum: Q) -> Q:
    """Of the packs; beside a supplier, of the whole order."""
    order = np.where(line_order > 0, nth(supplier_sum, np.maximum(line_order, 1)), 0)
    return rounded(line_packs * line_price + order, 2)


@LIST.column("Got, paid", kind="text")
def line_got(line_packs: Q) -> Q:
    return np.where(line_packs > 0, "[  ]  ........", "")


@LIST.column("Material", "$", fmt="#,##0.00", note="Without rental and fees.")
def line_material(line_place: Q, line_cost: Q, item_brought_no: Q) -> Q:
    brought = nth(item_brought_no, np.maximum(line_place, 1)) > 0
    return np.where((line_place > 0) & brought, line_cost, 0)


ITEM_TABLE = BUY_LIST.table("item", "Ranks (helper columns)", 120, shows=Appearance(workings=True))


@ITEM_TABLE.column("Packs", fmt="0")
def buy_packs(item_packs: Q, chosen_no: Q) -> Q:
    return pick(item_packs, chosen_no)


@ITEM_TABLE.column("Rank", fmt="0", note="Of what is on hand too.")
def buy_key(item_need: Q, chosen_no: Q, item_supplier_no: Q, item_no: Q) -> Q:
    return np.where(
        pick(item_need, chosen_no) > 0, RANK_TOP - RANK_STEP * item_supplier_no - item_no, 0
    )


ORDERS = BUY_LIST.table(
    "supplier", "Orders (helper columns)", SUPPLIERS_MOST, shows=Appearance(workings=True)
)


@ORDERS.column("Lines of the order", "lines", fmt="0", note="Its heading too.")
def supplier_block(supplier_no: Q, buy_key: Q, item_supplier_no: Q) -> Q:
    listed = sum_if(np.where(buy_key > 0, 1, 0), item_supplier_no, supplier_no)
    return np.where(listed > 0, listed + 1, 0)


@ORDERS.column("What the order comes to", "$", fmt="#,##0.00")
def supplier_sum(
    supplier_no: Q,
    supplier_cost: Q,
    chosen_no: Q,
    item_brought_no: Q,
    item_supplier_no: Q,
    item_paid: Q,
    buy_packs: Q,
) -> Q:
    """Material, and what else it is paid for, such as hire."""
    others = np.where(item_brought_no > 0, 0, buy_packs * item_paid)
    return pick(supplier_cost, chosen_no) + rounded(
        sum_if(others, item_supplier_no, supplier_no), 2
    )


@ORDERS.column("Line of its heading", fmt="0", note="Behind all lines where nothing is ordered.")
def supplier_head(supplier_no: Q, supplier_block: Q) -> Q:
    first = sum_up_to(supplier_block, supplier_no) - supplier_block + 1
    return np.where(supplier_block > 0, first, LINES + 1)
