"""Sheet Quote: what is offered to a customer for how much, without hours, costs or margin."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from estimator.appearance import Appearance, Headed, SheetAppearance
from estimator.inputs import Field
from estimator.model.cost.groups import NAMES
from estimator.model.job import JOB
from estimator.model.money import MOST_WAGE
from estimator.model.option_names import number_of, titled
from estimator.model.prices import CATEGORIES
from estimator.model.tape import tape
from estimator.rows import OPTION_KEYS, Chapter, Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, nth, one_of, pick, rounded

OFFERS: Final = 2
"""Options that one quote may offer."""
ONE_OFFER, TWO_OFFERS = "one", "two, of which one is chosen"
FIRST, SECOND = "First offer", "Second offer"

STAGES: Final = (
    "with the order",
    "when the material is on the lot",
    "when the work is done",
)
MATERIAL: Final = {
    "stone": "Crushed stone",
    "soil": "Soil brought in",
    "fabric": "Fabric under the stone",
    "lumber": "Timbers, skids, beams, joists and boards",
    "sheet": "Sheets",
    "concrete": "Concrete",
    "steel": "Reinforcement and steel parts",
    "block": "Concrete blocks",
    "hardware": "Fasteners, hangers, ties and anchors",
    "rental": "Hire of machines and tools",
    "delivery": "Deliveries",
    "fee": "Fees",
}
"""What a customer reads for each category of the price book."""
PARTS: Final = (
    *(MATERIAL[name] for name in CATEGORIES),
    "Trips, clean-up and disposal",
    "Labour",
    "Steps or a ramp at the door",
    "Skirting round the floor",
    "Building permit",
)
ERRANDS: Final = NAMES.index("labour: errands") + 1

TERMS = Chapter()
TERMS.section(
    "Quote to a customer",
    folded={
        "quote_number": "number #",
        "quote_from": "from #",
        "customer_name": "to #",
        "customer_place": "at #",
        "quote_days": "valid for #",
        "second_option": "beside the chosen option #",
        "price_step": "rounded up to #",
        "sale_tax_share": "tax #",
        "deposit_share": "# with the order",
        "delivery_share": "# with the material",
    },
)
for _field in (
    Field("quote_number", "Number of the quote", kind="text", default="", needed=False),
    Field(
        "quote_from",
        "Offered by",
        kind="text",
        default="",
        needed=False,
        note="Your name and address.",
    ),
    Field("customer_name", "Customer", kind="text", default="", needed=False),
    Field("customer_place", "Address of the customer", kind="text", default="", needed=False),
    Field("quote_days", "The quote holds for", "days", "whole", 30, 1, 365),
    Field(
        "second_option",
        "Option offered beside the chosen one",
        kind="choice",
        choices=OPTION_KEYS,
        needed=False,
        when_blank="Blank: none.",
    ),
    Field(
        "price_step",
        "Prices are rounded up to",
        "$",
        default=1,
        low=0,
        high=MOST_WAGE,
        fmt="0.00",
        note="0: not rounded.",
    ),
    Field(
        "sale_tax_share",
        "Tax on the sale",
        "share",
        "share",
        0,
        0,
        0.5,
        fmt="0.00%",
        note="On the price to a customer; ask what holds for work on a lot where you are.",
    ),
    Field("deposit_share", "Paid with the order", "share", "share", 0.3, 0, 1, fmt="0%"),
    Field(
        "delivery_share",
        "Paid when the material is on the lot",
        "share",
        "share",
        0.4,
        0,
        1,
        fmt="0%",
        note="At most what the payment before it leaves; the rest is paid when the work is done.",
    ),
):
    TERMS.typed(_field, scope="job")
JOB.take(TERMS, before="Skirting and permit")

QUOTE = Sheet(
    "Quote",
    "Quote: what is offered to a customer",
    "For the customer. What stands here is typed on Job; no hours, costs or margin are shown.",
    shows=SheetAppearance(role="take-along", reader="customer", upright=True, one_page=True),
)

QUOTE.section("Quote for the base of an outbuilding")
QUOTE.mirror("quote_ref", "quote_number", "Number", kind="text", scope="job")
QUOTE.mirror("quote_date", "estimate_date", "Date", fmt="yyyy-mm-dd;;", scope="job")


@QUOTE.row("Valid until", fmt="yyyy-mm-dd;;", scope="job")
def quote_until(estimate_date: Q, quote_days: Q) -> Q:
    return np.where(estimate_date > 0, estimate_date + quote_days, 0)


QUOTE.mirror("quote_by", "quote_from", "From", kind="text", scope="job")
QUOTE.mirror("quote_to", "customer_name", "To", kind="text", scope="job")
QUOTE.mirror("quote_to_place", "customer_place", "Address", kind="text", scope="job")
QUOTE.mirror("quote_where", "job_place", "Place of the work", kind="text", scope="job")


@QUOTE.row("Floor of the building", kind="text", scope="job")
def quote_size(building_length_ft: Q, building_width_ft: Q) -> Q:
    along, across = tape(building_length_ft * IN_PER_FT), tape(building_width_ft * IN_PER_FT)
    return np.where(building_length_ft > 0, join(along, " x ", across), "")


@QUOTE.row("Offers", kind="text", scope="job")
def quote_offers(offer_option: Q) -> Q:
    return np.where(nth(offer_option, 2) > 0, TWO_OFFERS, ONE_OFFER)


@QUOTE.row("State of this quote", kind="text", scope="job")
def quote_state(
    offer_option: Q,
    stale_worst: Q,
    checks_failed: Q,
    unpriced: Q,
    second_option: Q,
    chosen_no: Q,
) -> Q:
    first, second = nth(offer_option, 1), nth(offer_option, 2)

    def over(amount: Q) -> Q:
        return pick(amount, np.maximum(first, 1)) + _of(amount, second) > 0

    fails = np.where(over(checks_failed), "draft: an option fails a check, see Checks", "final")
    bare = np.where(over(unpriced), "draft: an item has no price, see Checks", fails)
    asked = (second_option != "") & (second_option != one_of(OPTION_KEYS, chosen_no - 1))
    lacks = np.where(asked, second, 1) == 0
    one = np.where(lacks, "draft: the second option has no price, see Start", bare)
    old = np.where(stale_worst == 2, "draft: out of date, to be refilled", one)
    return np.where(first > 0, old, "draft: nothing is worked out yet, see Start")


def _headed(title: str, columns: Mapping[str, str], second: str) -> Headed:
    """A table of which the second offer's column has a heading only where there is such an offer."""
    always = {key: dict.fromkeys((ONE_OFFER, TWO_OFFERS), text) for key, text in columns.items()}
    titles = dict.fromkeys((ONE_OFFER, TWO_OFFERS), title)
    return Headed("quote_offers", titles, {**always, second: {TWO_OFFERS: SECOND}})


PRICE = QUOTE.table(
    "offer",
    "Price",
    OFFERS,
    index=True,
    shows=Appearance(characters={"offer": 40}, aside=("offer_option",)),
)


@PRICE.column("Offered", kind="text")
def offer(offer_option: Q, option_name: Q, option_kind: Q) -> Q:
    told = titled(option_name, option_kind, np.maximum(offer_option, 1))
    return np.where(offer_option > 0, told, "")


def _of(amount: Q, option: Q) -> Q:
    """An amount of the option offered; nothing without one."""
    return np.where(option > 0, pick(amount, np.maximum(option, 1)), 0)


@PRICE.column("Before tax on the sale", "$", fmt="#,##0.00;;")
def offer_price(offer_option: Q, sale_price: Q) -> Q:
    return _of(sale_price, offer_option)


@PRICE.column("Tax on the sale", "$", fmt="#,##0.00")
def offer_tax(offer_option: Q, sale_tax: Q) -> Q:
    return _of(sale_tax, offer_option)


@PRICE.column("Price with tax", "$", fmt="#,##0.00;;")
def offer_total(offer_option: Q, sale_total: Q) -> Q:
    return _of(sale_total, offer_option)


@PRICE.column("Option", fmt="0;;")
def offer_option(offer_no: Q, chosen_used: Q, chosen_no: Q, second_option: Q, option_used: Q) -> Q:
    number = number_of(second_option, 0)
    another = (number > 0) & (number != chosen_no)
    second = np.where(another & (pick(option_used, np.maximum(number, 1)) == 1), number, 0)
    return np.where(chosen_used == 1, np.where(offer_no == 1, chosen_no, second), 0)


STAGE = QUOTE.table(
    "stage",
    "",
    len(STAGES),
    index=True,
    shows=Appearance(
        headed=_headed(
            "Payments, with tax",
            {"stage_when": "When", "stage_share": "Share", "stage_first": FIRST},
            "stage_second",
        )
    ),
)


@STAGE.column("When", kind="text")
def stage_when(stage_no: Q) -> Q:
    return one_of(STAGES, stage_no - 1)


@STAGE.column("Share", fmt="0%")
def stage_share(stage_no: Q, deposit_share: Q, delivery_share: Q) -> Q:
    second = np.minimum(delivery_share, 1 - deposit_share)
    later = np.where(stage_no == 2, second, 1 - deposit_share - second)
    return np.where(stage_no == 1, deposit_share, later)


def _stage(stage_no: Q, total: Q, deposit_share: Q, delivery_share: Q) -> Q:
    """A payment: none is more than those before it leave, and the last is what they leave."""
    first = rounded(total * deposit_share, 2)
    second = np.minimum(delivery_share, 1 - deposit_share)
    then = np.minimum(rounded(total * second, 2), total - first)
    paid = np.where(stage_no == 1, first, np.where(stage_no == 2, then, total - first - then))
    return rounded(paid, 2)


@STAGE.column("First offer", "$", fmt="#,##0.00;;")
def stage_first(stage_no: Q, offer_total: Q, deposit_share: Q, delivery_share: Q) -> Q:
    return _stage(stage_no, nth(offer_total, 1), deposit_share, delivery_share)


@STAGE.column("Second offer", "$", fmt="#,##0.00;;")
def stage_second(stage_no: Q, offer_total: Q, deposit_share: Q, delivery_share: Q) -> Q:
    return _stage(stage_no, nth(offer_total, 2), deposit_share, delivery_share)


SCOPE = QUOTE.table(
    "scope",
    "",
    len(PARTS),
    index=True,
    shows=Appearance(
        characters={"scope_what": 40},
        aside=("scope_first_much", "scope_second_much"),
        headed=_headed(
            "What is in the price",
            {"scope_what": "Work and material", "scope_first": FIRST},
            "scope_second",
        ),
    ),
)


@SCOPE.column("Work and material", kind="text")
def scope_what(scope_no: Q) -> Q:
    return one_of(PARTS, scope_no - 1)


def _told(option: Q, much: Q) -> Q:
    return np.where(option > 0, np.where(much > 0, "included", "not included"), "")


@SCOPE.column("First offer", kind="text")
def scope_first(offer_option: Q, scope_first_much: Q) -> Q:
    return _told(nth(offer_option, 1), scope_first_much)


@SCOPE.column("Second offer", kind="text")
def scope_second(offer_option: Q, scope_second_much: Q) -> Q:
    return _told(nth(offer_option, 2), scope_second_much)


def _much(option: Q, line: Q, group_cost: Q, *others: Q) -> Q:
    """What an offer has of a line of the table, in money or otherwise; 0 without an offer."""
    number, groups = np.maximum(option, 1), len(CATEGORIES)
    cost = pick(group_cost, number, np.where(line <= groups, line, ERRANDS))
    much = np.where(line <= groups + 1, cost, 0)
    for place, amount in enumerate(others, groups + 2):
        much = np.where(line == place, pick(amount, number), much)
    return np.where(option > 0, much, 0)


@SCOPE.column("Of it in the first", fmt="0.##")
def scope_first_much(
    offer_option: Q,
    scope_no: Q,
    group_cost: Q,
    labour_cost: Q,
    step_hours: Q,
    skirt_run_ft: Q,
    permit_count: Q,
) -> Q:
    priced = (labour_cost, step_hours, skirt_run_ft, permit_count)
    return _much(nth(offer_option, 1), scope_no, group_cost, *priced)


@SCOPE.column("Of it in the second", fmt="0.##")
def scope_second_much(
    offer_option: Q,
    scope_no: Q,
    group_cost: Q,
    labour_cost: Q,
    step_hours: Q,
    skirt_run_ft: Q,
    permit_count: Q,
) -> Q:
    priced = (labour_cost, step_hours, skirt_run_ft, permit_count)
    return _much(nth(offer_option, 2), scope_no, group_cost, *priced)


QUOTE.notes(
    "Not in the price",
    "The building on this base, electricity and water; rock, roots, water or old foundations in the ground; ground weaker than was reckoned with.",
    "What is changed is agreed in writing, with its price, before it is done. Local codes and licensed practice govern.",
)
QUOTE.notes(
    "Accepted, with the number of the offer",
    "Offer ____, for the customer ______________________________ Date ______________",
    "For the one who offers it ______________________________ Date ______________",
)
