"""Of the sheet Cost: money and hours, deliveries, whole packs of every item."""

from __future__ import annotations

import numpy as np

from estimator.measures import ITEM_UNIT
from estimator.model.adds import OK, check
from estimator.model.prices import ITEMS
from estimator.rows import Chapter
from estimator.vocabulary import Q, lookup, rounded, sum_if

MONEY = Chapter()

MONEY.section("Money")


@MONEY.row(
    "Material",
    "$",
    fmt="#,##0.00",
    note="Whole boards, sheets, boxes, bags, rolls, {yards|cubic metres}.",
)
def material_cost(item_brought_no: Q, item_cost: Q) -> Q:
    return rounded(np.sum(np.where(item_brought_no > 0, item_cost, 0)), 2)


@MONEY.row(
    "Deliveries",
    "trips",
    fmt="0",
    note="Loads of stone, and one trip from each other supplier in use.",
)
def delivery_trips(supplier_trips: Q) -> Q:
    return np.sum(supplier_trips)


@MONEY.row(
    "Delivery and fees",
    "$",
    fmt="#,##0.00",
    note="Trips of suppliers; a short load, spoil hauled off; permit, tip, your own trips.",
)
def delivery_cost(supplier_fee: Q, item_category: Q, item_cost: Q) -> Q:
    fee = (item_category == "delivery") | (item_category == "fee")
    fees = np.sum(np.where(fee, item_cost, 0))
    return rounded(np.sum(supplier_fee) + fees, 2)


@MONEY.row("Rental", "$", fmt="#,##0.00")
def rental_cost(item_category: Q, item_cost: Q) -> Q:
    return rounded(np.sum(np.where(item_category == "rental", item_cost, 0)), 2)


@MONEY.row("Rental that is taxed", "$", fmt="#,##0.00")
def taxed_hire(rental_cost: Q, hire_taxed: Q) -> Q:
    return np.where(hire_taxed == "yes", rental_cost, 0)


@MONEY.row("Sales tax", "$", fmt="#,##0.00", note="On material, and on rental where Job says so.")
def tax_cost(material_cost: Q, taxed_hire: Q, tax_share: Q) -> Q:
    return rounded((material_cost + taxed_hire) * tax_share, 2)


@MONEY.row("Labour", "$", fmt="#,##0.00")
def labour_cost(work_hours: Q, wage_per_h: Q) -> Q:
    return rounded(work_hours * wage_per_h, 2)


@MONEY.row("Contingency", "$", fmt="#,##0.00")
def contingency_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_share: Q,
) -> Q:
    base = material_cost + delivery_cost + rental_cost + tax_cost + labour_cost
    return rounded(base * contingency_share, 2)


@MONEY.row("Overhead", "$", fmt="#,##0.00", note="A share of all above.")
def overhead_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_cost: Q,
    overhead_share: Q,
) -> Q:
    base = material_cost + delivery_cost + rental_cost + tax_cost + labour_cost + contingency_cost
    return rounded(base * overhead_share, 2)


@MONEY.row("Profit", "$", fmt="#,##0.00", note="A share of all above, overhead with it.")
def profit_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_cost: Q,
    overhead_cost: Q,
    profit_share: Q,
) -> Q:
    base = (
        material_cost
        + delivery_cost
        + rental_cost
        + tax_cost
        + labour_cost
        + contingency_cost
        + overhead_cost
    )
    return rounded(base * profit_share, 2)


@MONEY.row("Total", "$", fmt="#,##0.00", note="With overhead and profit.")
def total_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_cost: Q,
    overhead_cost: Q,
    profit_cost: Q,
) -> Q:
    return rounded(
        material_cost
        + delivery_cost
        + rental_cost
        + tax_cost
        + labour_cost
        + contingency_cost
        + overhead_cost
        + profit_cost,
        2,
    )


@MONEY.row(
    "Total before contingency",
    "$",
    fmt="#,##0.00",
    note="The estimate as it is expected, with overhead and profit on it.",
)
def before_contingency(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    overhead_share: Q,
    profit_share: Q,
) -> Q:
    parts = (material_cost, delivery_cost, rental_cost, tax_cost, labour_cost, 0)
    overhead = overhead_cost(*parts, overhead_share)
    return total_cost(*parts, overhead, profit_cost(*parts, overhead, profit_share))


@MONEY.row(
    "Set aside for what nobody foresees",
    "$",
    fmt="#,##0.00",
    note="Contingency, with the overhead and profit on it.",
)
def set_aside(total_cost: Q, before_contingency: Q) -> Q:
    return rounded(total_cost - before_contingency, 2)


@MONEY.row("Items in use without a price", "items", fmt="0")
def unpriced(item_packs: Q, item_paid: Q) -> Q:
    return np.sum(np.where((item_packs > 0) & (item_paid <= 0), 1, 0))


@MONEY.row(
    "Boards that it may use without a price",
    "boards",
    fmt="0",
    note="Of the stocks that it is cut from; a stock that serves twice counts twice.",
)
def boards_unpriced(wood_unpriced: Q) -> Q:
    return np.sum(wood_unpriced)


@MONEY.row("Items short in stock", "items", fmt="0", note="More packs than Prices says there are.")
def short_stock(item_packs: Q, item_limit: Q) -> Q:
    return np.sum(np.where((item_limit > 0) & (item_packs > item_limit), 1, 0))


@MONEY.row("Needs that no item answers", "units", fmt="0.##")
def unanswered(need_quantity: Q, item_need: Q, item_boards: Q) -> Q:
    return np.sum(need_quantity) - np.sum(item_need) + np.sum(item_boards)


@MONEY.row("Weight of material", "lb", fmt="#,##0")
def material_lb(item_need: Q, item_lb: Q) -> Q:
    return np.sum(item_need * item_lb)


SUPPLY = MONEY.table("supplier", "Deliveries by supplier", 8)


@SUPPLY.column("Material", "$", fmt="#,##0.00", by_option=True)
def supplier_cost(supplier_no: Q, item_brought_no: Q, item_cost: Q) -> Q:
    return sum_if(item_cost, item_brought_no, supplier_no)


@SUPPLY.column("Stone and soil", "yd3", fmt="0.0", by_option=True)
def supplier_bulk_yd3(
    supplier_no: Q, item_supplier_no: Q, item_category: Q, item_need: Q, item_on_hand: Q
) -> Q:
    bulk = (item_category == "stone") | (item_category == "soil")
    order = np.where(bulk, np.maximum(item_need - item_on_hand, 0), 0)
    return sum_if(order, item_supplier_no, supplier_no)


@SUPPLY.column("Trips", "trips", fmt="0", by_option=True)
def supplier_trips(
    supplier_name: Q, supplier_cost: Q, supplier_bulk_yd3: Q, truck_yd3: Q, supplier_delivery: Q
) -> Q:
    loads = np.maximum(np.ceil(supplier_bulk_yd3 / truck_yd3), 1)
    served = (supplier_name != "") & (supplier_delivery != "") & (supplier_cost > 0)
    return np.where(served, loads, 0)


@SUPPLY.column("Delivery", "$", fmt="#,##0.00", by_option=True)
def supplier_fee(supplier_trips: Q, supplier_delivery: Q, item_name: Q, item_paid: Q) -> Q:
    return rounded(supplier_trips * lookup(supplier_delivery, item_name, item_paid, 0), 2)


ITEM_TABLE = MONEY.table("item", "Packs and cost by item", ITEMS, "In the order of the price book.")


@ITEM_TABLE.column(
    "Needed", ITEM_UNIT, fmt="0.##", by_option=True, note="Boards from the cut plan."
)
def item_need(item_name: Q, item_boards: Q, need_item: Q, need_quantity: Q) -> Q:
    return np.where(item_name == "", 0, item_boards + sum_if(need_quantity, need_item, item_name))


@ITEM_TABLE.column(
    "Packs", fmt="0", by_option=True, note="To order: what is needed, less what is on hand."
)
def item_packs(item_name: Q, item_need: Q, item_on_hand: Q, item_pack: Q) -> Q:
    pack = item_pack + np.where(item_name == "", 1, 0)
    return np.ceil(np.maximum(item_need - item_on_hand, 0) / pack)


@ITEM_TABLE.column("Cost", "$", fmt="#,##0.00", by_option=True)
def item_cost(item_packs: Q, item_paid: Q) -> Q:
    return rounded(item_packs * item_paid, 2)


@check(MONEY, "Prices", mend="item_price", hazard="missing prices")
def check_prices(unpriced: Q, unanswered: Q, boards_unpriced: Q) -> Q:
    return np.where(
        (unpriced > 0) | (np.abs(unanswered) > 0.000001),
        "FAIL: the total leaves out items without a price",
        np.where(boards_unpriced > 0, "FAIL: a board that it may use has no price", OK),
    )


@check(MONEY, "Stock of the yard", mend="item_limit", hazard="a yard sold out")
def check_stock(short_stock: Q) -> Q:
    return np.where(short_stock > 0, "FAIL: the yard has fewer packs than this needs", OK)
