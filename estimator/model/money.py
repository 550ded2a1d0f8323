"""Words of a place for money and tax, as labels and units have them, and amounts in texts."""

from __future__ import annotations

from typing import Final

import numpy as np

from estimator.vocabulary import Pattern, Q, as_text, join

MONEY: Final = "$"
"""What units call money; the workbook shows the sign that the job has."""
TAX: Final = "Sales tax"
"""What labels call the tax on what is bought."""
CURRENCY: Final = "currency"
"""The job's own sign of money."""
MOST_WAGE: Final = 1e6
MOST_MONEY: Final = 1e8
"""The most that an hour and a price may be: in some currencies an hour costs a hundred thousand."""
BEFORE: Final = ("$", "£", "€", "¥")
"""Signs that stand before an amount without a space."""


def money(amount: Q, currency: Q, pattern: Pattern) -> Q:
    """An amount of money in words: $1,200, EUR 1,200."""
    alone = currency == ""
    for sign in BEFORE:
        alone = alone | (currency == sign)
    return join(currency, np.where(alone, "", " "), as_text(amount, pattern))
