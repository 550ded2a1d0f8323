"""Sheet Buy List: every line to buy for the chosen option, by supplier and delivery."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.inputs import Field
from estimator.measures import ITEM_UNIT
from estimator.model.charts import CALENDAR_DRAWN
from estimator.model.job import JOB
from estimator.model.plan import DELIVERIES, PLAN
from estimator.rows import Chapter, Sheet
from estimator.vocabulary import Q, nth, nth_largest, pick, position, rounded

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
    shows=SheetAppearance(role="take-along", reader="yard", band=CALENDAR_DRAWN),
)
LINES = 60
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
def buy_fees(line_cost: Q, line_material: Q) -> Q:
    return rounded(np.sum(line_cost) - np.sum(line_material), 2)


@BUY_LIST.row("Deliveries", "$", fmt="#,##0.00", scope="job")
def buy_delivery(load_fee: Q) -> Q:
    return rounded(np.sum(load_fee), 2)


BUY_LIST.mirror("buy_tip", "tip_place", "Loads are tipped", kind="text", scope="job")
BUY_LIST.mirror("buy_hours", "delivery_hours", "Loads are taken", kind="text", scope="job")
BUY_LIST.mirror("buy_alike", "alike_allowed", "Another make or size", kind="text", scope="job")

BUY_LIST.take(DELIVERIES)

LIST = BUY_LIST.table(
    "line",
    "What to buy",
    LINES,
    index=True,
    shows=Appearance(
        printed_rows=40,
        characters={
            "line_supplier": 17,
            "line_item": 42,
            "line_article": 10,
            "line_use": 9,
            "line_unit": 9,
            "line_got": 11,
        },
        aside=("line_place", "line_material"),
    ),
)


@LIST.column("Place", fmt="0", note="By supplier, then in the order of the price book.")
def line_place(line_no: Q, buy_lines: Q, buy_key: Q) -> Q:
    return np.where(line_no <= buy_lines, position(nth_largest(buy_key, line_no), buy_key), 0)


@LIST.column("Supplier", kind="text")
def line_supplier(line_place: Q, item_supplier_no: Q, supplier_name: Q) -> Q:
    number = nth(item_supplier_no, np.maximum(line_place, 1))
    return np.where(line_place > 0, nth(supplier_name, np.maximum(number, 1)), "")


@LIST.column("Item", kind="text")
def line_item(line_place: Q, item_name: Q) -> Q:
    return np.where(line_place > 0, nth(item_name, np.maximum(line_place, 1)), "")


@LIST.column("Article", kind="text", note="Of the supplier; blank for the other one of two.")
def line_article(line_place: Q, item_article: Q, item_from_other: Q) -> Q:
    place = np.maximum(line_place, 1)
    own = np.where(nth(item_from_other, place) == 1, "", nth(item_article, place))
    return np.where(line_place > 0, own, "")


@LIST.column("Use category", kind="text", note="On the tag of treated wood.")
def line_use(line_place: Q, item_use: Q) -> Q:
    return np.where(line_place > 0, nth(item_use, np.maximum(line_place, 1)), "")


@LIST.column("Needed", ITEM_UNIT, fmt="0.0")
def line_need(line_place: Q, item_need: Q, chosen_no: Q) -> Q:
    need = pick(item_need, chosen_no, np.maximum(line_place, 1))
    return np.where(line_place > 0, need, 0)


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
def line_cost(line_packs: Q, line_price: Q) -> Q:
    return rounded(line_packs * line_price, 2)


@LIST.column("Got, paid a pack", kind="text", note="To tick and to write in; then on Prices.")
def line_got(line_packs: Q) -> Q:
    return np.where(line_packs > 0, "[  ]  ........", "")


@LIST.column("Material", "$", fmt="#,##0.00", note="Without rental and fees.")
def line_material(line_place: Q, line_cost: Q, item_brought_no: Q) -> Q:
    brought = nth(item_brought_no, np.maximum(line_place, 1)) > 0
    return np.where((line_place > 0) & brought, line_cost, 0)


BUY_LIST.take(PLAN)

ITEM_TABLE = BUY_LIST.table("item", "Ranks (helper columns)", 120, shows=Appearance(workings=True))


@ITEM_TABLE.column("Packs", fmt="0")
def buy_packs(item_packs: Q, chosen_no: Q) -> Q:
    return pick(item_packs, chosen_no)


@ITEM_TABLE.column("Rank", fmt="0", note="Of what is on hand too.")
def buy_key(item_need: Q, chosen_no: Q, item_supplier_no: Q, item_no: Q) -> Q:
    return np.where(
        pick(item_need, chosen_no) > 0, RANK_TOP - RANK_STEP * item_supplier_no - item_no, 0
    )
