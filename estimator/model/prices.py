"""Sheet Prices: the price book. One line an item as the yard sells it, in packs."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.measures import ITEM_UNIT
from estimator.model.money import MONEY, MOST_MONEY
from estimator.rows import Sheet
from estimator.vocabulary import Q, lookup, position

AXIS, NAME, KEY, PRICE, DATE = "item", "item_name", "item_key", "item_price", "item_date"
ARTICLE, PACK, SUPPLIER = "item_article", "item_pack", "item_supplier"
LOW, HIGH = "item_low", "item_high"
OTHER_SUPPLIER, OTHER_PRICE = "item_other_supplier", "item_other_price"
REALLY_PAID, IN_USE, FROM_OTHER = "item_really_paid", "item_paid", "item_from_other"
"""The lines of the price book, and the columns by which a list of prices is compared with it."""
FIRST, OTHER = 1, 2
"""Of which of its suppliers an item is bought, where a person says so."""
SUPPLIER_NAME, NUMBERS, CURRENCY = "supplier_name", "supplier_numbers", "supplier_currency"
DECIMAL_POINT, DECIMAL_COMMA = "1,234.56", "1.234,56"
LEAD, MOST_LEAD = "item_lead_days", 365
HEADINGS = {
    ARTICLE: "supplier_article_heading",
    NAME: "supplier_item_heading",
    PACK: "supplier_pack_heading",
    PRICE: "supplier_price_heading",
    LEAD: "supplier_lead_heading",
}
"""By column of the price book, the column of what a supplier's own list has over it."""
DAY, MOST_AGE = "estimate_date", "price_days"
"""The day of the estimate, and how old a price may be on it."""


def unit_price(item: Q, names: Q, item_paid: Q, item_pack: Q) -> Q:
    """What one unit of an item of the price book costs, $; nothing if the book lacks it.

    Args:
        item: Its key or name.
        names: The column of the price book that has it.
        item_paid, item_pack: Columns of the price book.
    """
    return lookup(item, names, item_paid, 0) / lookup(item, names, item_pack, 1)


def to_pay(item: str, quantity: Q, item_key: Q, item_on_hand: Q, item_pack: Q, item_paid: Q) -> Q:
    """What is paid for an item of the price book, $, before tax.

    Args:
        item: Its key; one that the book lacks costs nothing.
        quantity: How much is needed, in the item's unit; what is on hand of it is not bought.
        item_key, item_on_hand, item_pack, item_paid: Columns of the price book.
    """
    short = np.maximum(quantity - lookup(item, item_key, item_on_hand, 0), 0)
    packs = np.ceil(short / lookup(item, item_key, item_pack, 1))
    return packs * lookup(item, item_key, item_paid, 0)


def to_hire(
    item: str,
    quantity: Q,
    item_key: Q,
    item_on_hand: Q,
    item_pack: Q,
    item_paid: Q,
    tax_share: Q,
    hire_taxed: Q,
) -> Q:
    """The same of what is hired, with its tax where there is one on it."""
    hire = to_pay(item, quantity, item_key, item_on_hand, item_pack, item_paid)
    return hire * (1 + np.where(hire_taxed == "yes", tax_share, 0))


def is_short(item: str, quantity: Q, item_key: Q, item_on_hand: Q) -> Q:
    """Whether more of an item is needed than is on hand."""
    return quantity > lookup(item, item_key, item_on_hand, 0)


def lacks_price(item: str, quantity: Q, item_key: Q, item_on_hand: Q, item_paid: Q) -> Q:
    """Whether an item is to be bought that has no price; as :func:`to_pay`."""
    short = is_short(item, quantity, item_key, item_on_hand)
    return short & (lookup(item, item_key, item_paid, 0) <= 0)


PRICES = Sheet(
    "Prices",
    "Prices: the price book",
    "One line an item, in the pack that the yard sells. Other sheets choose items by their names.",
)
ITEMS = 120
SUPPLIERS_MOST = 8
UC3B, UC4A, UC4B = "UC3B", "UC4A", "UC4B"
USES = (UC3B, UC4A, UC4B)
"""Use categories of treated wood, each for all that those before it are for."""
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


def item_choice(
    key: str,
    label: str,
    category: str,
    default: str | None = None,
    *,
    kinds: tuple[str, ...] = (),
    needed: bool = True,
    note: str = "",
    when_blank: str = "",
) -> Field:
    """An input that chooses an item of one category by its name.

    Args:
        default: Key of an item of the shipped price book.
    """
    return Field(
        key,
        label,
        kind="key",
        default=default,
        refers=NAME,
        by_key=KEY,
        among=("item_category", category),
        kinds=kinds,
        needed=needed,
        note=note,
        when_blank=when_blank,
    )


SUPPLIERS = PRICES.table(
    "supplier",
    "Suppliers",
    SUPPLIERS_MOST,
    index=True,
    shows=Appearance(
        characters={
            "supplier_delivery": 25,
            "supplier_numbers": 8,
            **dict.fromkeys((*HEADINGS.values(), CURRENCY), 7.0),
        }
    ),
)
SUPPLIERS.typed(Field("supplier_name", "Supplier", kind="text", needed=False))
SUPPLIERS.typed(
    item_choice(
        "supplier_delivery",
        "Delivery item, a trip",
        "delivery",
        needed=False,
        note="The item on the list below that one delivery from here costs.",
    )
)
for _column, _label in (
    (ARTICLE, "Its list: article number"),
    (NAME, "Its list: item"),
    (PACK, "Its list: units a pack"),
    (PRICE, "Its list: price a pack"),
    (LEAD, "Its list: days until it is there"),
):
    SUPPLIERS.typed(
        Field(
            HEADINGS[_column],
            _label,
            kind="text",
            needed=False,
            note="What stands over that column in the list this supplier gives out, so that it can be read in.",
        )
    )
SUPPLIERS.typed(
    Field(
        NUMBERS,
        "Its list: numbers like",
        kind="choice",
        choices=(DECIMAL_POINT, DECIMAL_COMMA),
        default=None,
        needed=False,
        note=f"Blank: {DECIMAL_POINT}.",
    )
)
SUPPLIERS.typed(
    Field(
        CURRENCY,
        "Its list: sign at prices",
        kind="text",
        needed=False,
        note="Such as EUR. Blank: the sign of money on Job, or none.",
    )
)

BOOK = PRICES.table(
    "item",
    "Items",
    ITEMS,
    index=True,
    shows=Appearance(
        characters={
            "item_name": 52,
            ARTICLE: 11,
            "item_stock": 14,
            "item_unit": 8,
            "item_category": 9,
            "item_price": 10,
            "item_lead_days": 9.5,
            "item_on_hand": 10,
            "item_supplier": 13,
            OTHER_SUPPLIER: 13,
            KEY: 24,
        },
        aside=(
            "item_stock",
            "item_length_ft",
            "item_use",
            "item_low",
            "item_high",
            OTHER_SUPPLIER,
            OTHER_PRICE,
            "item_buy_from",
            REALLY_PAID,
            "item_limit",
            "item_lb",
            "item_from_other",
            "item_paid",
            KEY,
            "item_supplier_no",
            "item_brought_no",
        ),
    ),
)
BOOK.typed(
    Field(
        NAME,
        "Item",
        kind="text",
        needed=False,
        note="As you call it: other sheets list it by this name. No two items have the same.",
    )
)
BOOK.typed(
    Field(
        ARTICLE,
        "Article number",
        kind="text",
        needed=False,
        note="Of its supplier, whose own list is matched by it.",
    )
)
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


def _price(
    key: str, label: str, when_blank: str = "", *, least: float = 0, note: str = ""
) -> Field:
    """A price that may be left out."""
    return Field(
        key,
        label,
        MONEY,
        default=None,
        low=least,
        high=MOST_MONEY,
        needed=False,
        note=note,
        when_blank=when_blank,
        fmt="#,##0.00",
    )


BOOK.typed(_price(PRICE, "Price a pack", "Blank only for what no option needs."))
for _column, _label in ((LOW, "Low"), (HIGH, "High")):
    BOOK.typed(_price(_column, _label, note="Believed where the price lies between them."))
BOOK.typed(Field("item_supplier", "Supplier", kind="key", refers="supplier_name", default=None))
BOOK.typed(
    Field(
        OTHER_SUPPLIER,
        "Other supplier",
        kind="key",
        refers=SUPPLIER_NAME,
        needed=False,
        default=None,
    )
)
BOOK.typed(_price(OTHER_PRICE, "Price a pack there"))
BOOK.typed(
    Field(
        "item_buy_from",
        "Buy from",
        "",
        "whole",
        None,
        FIRST,
        OTHER,
        needed=False,
        note="1 the supplier, 2 the other one. Blank: the cheaper of the two, by the price of a pack alone.",
        fmt="0",
    )
)
BOOK.typed(
    _price(
        REALLY_PAID,
        "Really paid, a pack",
        "Blank: as reckoned.",
        least=0.01,
        note="Once the job is built; Cost tells the difference. Of what the chosen option buys.",
    )
)
BOOK.typed(
    Field(
        LEAD,
        "Lead time",
        "days",
        "whole",
        None,
        0,
        MOST_LEAD,
        needed=False,
        note="From the order until it is there, as the supplier says, weekends counted. The calendar waits for it.",
    )
)
BOOK.typed(
    Field(
        "item_on_hand",
        "On hand",
        ITEM_UNIT,
        default=None,
        low=0,
        high=100000,
        needed=False,
        note="What you have already, in the item's unit: it is not ordered, and stays in the plan.",
    )
)
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


@BOOK.column("From the other", fmt="0", note="1 where it is bought from the other supplier.")
def item_from_other(
    item_buy_from: Q, item_price: Q, item_other_supplier: Q, item_other_price: Q
) -> Q:
    offered = (item_other_supplier != "") & (item_other_price > 0) & (item_buy_from != FIRST)
    cheaper = offered & ((item_price <= 0) | (item_other_price < item_price))
    return np.where((item_buy_from == OTHER) | cheaper, 1, 0)


@BOOK.column("Price in use", "$", fmt="#,##0.00")
def item_paid(item_from_other: Q, item_price: Q, item_other_price: Q) -> Q:
    # A number even where both are blank: not every spreadsheet takes a blank passed on for one.
    return np.maximum(np.where(item_from_other == 1, item_other_price, item_price), 0)


@BOOK.column("Supplier's number", fmt="0", note="Of the one that it is bought from.")
def item_supplier_no(
    item_name: Q, item_from_other: Q, item_supplier: Q, item_other_supplier: Q, supplier_name: Q
) -> Q:
    other = (item_from_other == 1) & (item_other_supplier != "")
    supplier = np.where(other, item_other_supplier, item_supplier)
    return np.where(item_name == "", 0, position(supplier, supplier_name))


@BOOK.column(
    "Brought by", fmt="0", note="The supplier's number for material, 0 for rental and fees."
)
def item_brought_no(item_category: Q, item_supplier_no: Q) -> Q:
    fee = (item_category == "delivery") | (item_category == "fee")
    return np.where((item_category == "rental") | fee, 0, item_supplier_no)


BOOK.typed(
    Field(
        KEY,
        "Key",
        kind="text",
        needed=False,
        unlike=NAME,
        note="How the estimator asks for an item by itself (nails, bags, hire). Leave it as it is, and blank on lines of your own.",
    )
)

ROLLS = PRICES.table(
    "roll",
    "Fabric rolls to choose from",
    6,
    shows=Appearance(characters={"roll_length_ft": 9.5}),
)
ROLLS.typed(item_choice("roll_item", "Item", "fabric", needed=False))
ROLLS.typed(Field("roll_width_ft", "Width", "ft", "number", None, 0.5, 30))
ROLLS.typed(Field("roll_length_ft", "Length", "ft", "number", None, 1, 1000))

PANELS = PRICES.table(
    "panel",
    "Floor sheets to choose from",
    6,
    shows=Appearance(characters={"panel_width_in": 9.5, "panel_cover_in": 9, "panel_span_in": 10}),
)
PANELS.typed(item_choice("panel_item", "Item", "sheet", needed=False))
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
PANELS.typed(
    Field(
        "panel_gap_in",
        "Gap between sheets",
        "in",
        "number",
        None,
        0.02,
        0.5,
        zero=True,
        fmt="0.000",
    )
)
