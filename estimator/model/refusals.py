"""What a job may not be priced with: items in use that have no price, needs without an item."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from estimator.errors import OptionError, in_quotes
from estimator.inputs import TypedJob
from estimator.rows import OPTION_KEYS


def refuse(values: Mapping[str, Any], typed: TypedJob) -> None:
    """Raise for the first item in use without a price, or need that no item answers.

    A model without a price book has nothing to buy.

    Raises:
        OptionError: Naming the cell of the price, or the missing item.
    """
    if "item_packs" not in values:
        return
    packs = np.nan_to_num(np.asarray(values["item_packs"]))
    price = np.asarray(values["item_paid"])[0]
    other = np.asarray(values["item_from_other"])[0]
    names = np.asarray(values["item_name"])[0]
    for option, row in zip(*np.nonzero((packs > 0) & (price <= 0)), strict=True):
        raise OptionError(
            f"there is no price for {names[row]}, which option {OPTION_KEYS[option]} needs.",
            option=int(option),
            where=typed.where("item_other_price" if other[row] else "item_price", int(row)),
            cure="Type the price of a pack.",
        )
    known = {str(name).casefold() for name in names if str(name)}
    needed = np.nan_to_num(np.asarray(values["need_quantity"]))
    items = np.asarray(values["need_item"])
    for option, line in zip(*np.nonzero(needed > 0), strict=True):
        item = str(items[option, line])
        if item and item.casefold() not in known:
            raise OptionError(
                f"option {OPTION_KEYS[option]} needs the item {in_quotes(item)} and the price book has none.",
                option=int(option),
                where="Prices",
                cure="Add a line with that in its column Key, or choose another size on Options.",
            )
