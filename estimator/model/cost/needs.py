"""Of the sheet Cost: what the job needs of which item of the price book, of all assemblies."""

from __future__ import annotations

from estimator.model.adds import Need
from estimator.rows import Chapter
from estimator.vocabulary import Q, lookup

NEEDS = Chapter()


@NEEDS.gathers(
    "Needs: item of the price book",
    Need,
    stack="need_item",
    suffix="need_item",
    word="item",
    kind="text",
)
def need_item(item: Q, item_key: Q, item_name: Q) -> Q:
    return lookup(item, item_key, item_name, item)


@NEEDS.gathers("Needs: quantity", Need, stack="need_quantity", suffix="need", like="quantity")
def need_quantity(quantity: Q) -> Q:
    return quantity
