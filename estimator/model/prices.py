"""Sheet Prices: the price book. One line an item as the yard sells it, in packs."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.measures import ITEM_UNIT
from estimator.rows import Sheet
from estimator.vocabulary import Q, position

AXIS, KEY, PRICE, DATE = "item", "item_key", "item_price", "item_date"
"""The lines of the price book, and the columns by which a list of prices is compared with it."""
AGE, MOST_AGE = "item_age_days", "price_days"
"""How old a price is, and how old the job lets it be."""

PRICES = Sheet(
    "Prices",
    "Prices: the price book",
    "One line an item, in the pack that the yard sells. Type over prices; keep the item keys.",
)
ITEMS = 120
UC3B, UC4A, UC4B = "UC3B", "UC4A", "UC4B"
USES = (UC3B, UC4A, UC4B)
"""Use categories of treated wood, each for all that those before it are for."""
NOT_TREATED, FOR_ABOVE, FOR_CONTACT = 10000, 100, 1
"""What a board counts for by the lowest use that it is not fit for; fewer than 100 of one stock."""
CATEGORIES = (
    "stone",
    "soil",
    "fabric",
    "lumber",
    "sheet",
    "concrete",
    "steel",
    "block",
    "hardware",
    "rental",
    "delivery",
    "fee",
)

SUPPLIERS = PRICES.table("supplier", "Suppliers", 8, index=True)
SUPPLIERS.typed(Field("supplier_name", "Supplier", kind="text", needed=False))
SUPPLIERS.typed(
    Field(
        "supplier_delivery",
        "Delivery item, a trip",
        kind="key",
        refers="item_key",
        needed=False,
        note="The item on the list below that one delivery from here costs.",
    )
)

BOOK = PRICES.table(
    "item",
    "Items",
    ITEMS,
    index=True,
    shows=Appearance(
        characters={
            "item_key": 24,
            "item_name": 42,
            "item_stock": 14,
            "item_unit": 8,
            "item_supplier": 16,
        }
    ),
)
BOOK.typed(
    Field(
        "item_key",
        "Key",
        kind="text",
        needed=False,
        note="Small letters, digits and _ only; other sheets refer to it.",
    )
)
BOOK.typed(Field("item_name", "Item", kind="text"))
BOOK.typed(Field("item_category", "Category", kind="choice", choices=CATEGORIES, default=None))
BOOK.typed(
    Field(
        "item_stock",
        "Stock",
        kind="key",
        refers="stock_name",
        needed=False,
        note="For lumber: the size on Factors.",
    )
)
BOOK.typed(
    Field(
        "item_length_ft",
        "Length",
        "ft",
        "number",
        None,
        0,
        60,
        needed=False,
        note="For lumber: nominal length.",
    )
)
BOOK.typed(
    Field(
        "item_use",
        "Use category",
        kind="choice",
        choices=USES,
        default=None,
        needed=False,
        note="On the tag of treated wood (AWPA U1, from memory): UC3B above ground, UC4A in contact with it, UC4B the same for heavy duty. Blank: not treated.",
    )
)
BOOK.typed(Field("item_unit", "Unit", kind="text"))
BOOK.typed(
    Field(
        "item_pack",
        "Units a pack",
        ITEM_UNIT,
        default=None,
        low=0.001,
        high=100000,
        note="Sold in whole packs of so many units.",
    )
)
BOOK.typed(
    Field(
        "item_price",
        "Price a pack",
        "$",
        default=None,
        low=0,
        high=100000,
        needed=False,
        fmt="#,##0.00",
    )
)
BOOK.typed(
    Field("item_low", "Low", "$", default=None, low=0, high=100000, needed=False, fmt="#,##0.00")
)
BOOK.typed(
    Field("item_high", "High", "$", default=None, low=0, high=100000, needed=False, fmt="#,##0.00")
)
BOOK.typed(Field("item_supplier", "Supplier", kind="key", refers="supplier_name", default=None))
BOOK.typed(
    Field(
        "item_date",
        "Date of price",
        kind="date",
        default=None,
        low=36526,
        high=73050,
        needed=False,
        note="The day you were told it. Without one a price has no age and never counts as old.",
        fmt="yyyy-mm-dd",
    )
)
BOOK.typed(
    Field(
        "item_limit",
        "In stock",
        "packs",
        "whole",
        None,
        0,
        100000,
        needed=False,
        note="Blank: as many as you want.",
    )
)
BOOK.typed(Field("item_lb", "Weight a unit", "lb", default=None, low=0, high=100000, needed=False))


@BOOK.column("Age", "days", fmt="0")
def item_age_days(item_date: Q, estimate_date: Q) -> Q:
    return np.where((item_date == 0) | (estimate_date == 0), 0, estimate_date - item_date)


@BOOK.column("Supplier's number", fmt="0")
def item_supplier_no(item_key: Q, item_supplier: Q, supplier_name: Q) -> Q:
    return np.where(item_key == "", 0, position(item_supplier, supplier_name))


@BOOK.column("Material", fmt="0", note="1 for material, 0 for rental and fees.")
def item_material(item_key: Q, item_category: Q) -> Q:
    fee = (item_category == "delivery") | (item_category == "fee")
    return np.where((item_key == "") | (item_category == "rental") | fee, 0, 1)


@BOOK.column("Brought by", fmt="0", note="The supplier's number, for material alone.")
def item_brought_no(item_material: Q, item_supplier_no: Q) -> Q:
    return np.where(item_material == 1, item_supplier_no, 0)


@BOOK.column("By the truck from", fmt="0", note="The supplier's number, for stone and soil alone.")
def item_bulk_no(item_category: Q, item_supplier_no: Q) -> Q:
    bulk = (item_category == "stone") | (item_category == "soil")
    return np.where(bulk, item_supplier_no, 0)


@BOOK.column("Board without a price", fmt="0", note="1 for lumber whose price is blank or 0.")
def item_board_unpriced(item_key: Q, item_category: Q, item_price: Q) -> Q:
    return np.where((item_key != "") & (item_category == "lumber") & (item_price <= 0), 1, 0)


@BOOK.column(
    "Not fit for",
    fmt="0",
    note="10000 for any use outdoors, 100 for ground contact, 1 for heavy duty, 0 fit for all; a sum over a stock shows its weakest board.",
)
def item_unfit(item_category: Q, item_use: Q) -> Q:
    above = np.where(item_use == UC3B, FOR_ABOVE, np.where(item_use == UC4A, FOR_CONTACT, 0))
    unfit = np.where(item_use == "", NOT_TREATED, above)
    return np.where(item_category == "lumber", unfit, 0)


ROLLS = PRICES.table("roll", "Fabric rolls to choose from", 6)
ROLLS.typed(Field("roll_item", "Item", kind="key", refers="item_key", needed=False))
ROLLS.typed(Field("roll_width_ft", "Width", "ft", "number", None, 0.5, 30))
ROLLS.typed(Field("roll_length_ft", "Length", "ft", "number", None, 1, 1000))

PANELS = PRICES.table("panel", "Floor sheets to choose from", 6)
PANELS.typed(Field("panel_item", "Item", kind="key", refers="item_key", needed=False))
PANELS.typed(Field("panel_length_in", "Length", "in", "number", None, 24, 144))
PANELS.typed(Field("panel_width_in", "Width", "in", "number", None, 12, 72))
PANELS.typed(
    Field(
        "panel_cover_in",
        "Width that it covers",
        "in",
        "number",
        None,
        12,
        72,
        note="Less than the width for tongue and groove.",
    )
)
PANELS.typed(Field("panel_thick_in", "Thickness", "in", "number", None, 0.25, 2, fmt="0.000"))
PANELS.typed(
    Field(
        "panel_span_in",
        "Floor span rating",
        "in",
        "number",
        None,
        8,
        48,
        note="PS 1 / PS 2 span rating: most joist spacing.",
    )
)
PANELS.typed(Field("panel_gap_in", "Gap between sheets", "in", "number", None, 0, 0.5, fmt="0.000"))
