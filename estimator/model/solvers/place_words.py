"""What a what-if says of the place on the lot where the base costs least."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from estimator.model.money import money
from estimator.rows import Quantity
from estimator.values import Values, as_values
from estimator.vocabulary import Pattern

WHOLE: Pattern = "#,##0"


def place_told(
    rows: Sequence[Quantity],
    was: Mapping[str, Values],
    now: Mapping[str, Values],
    currency: str,
) -> str:
    """Where it would cost least, and where as the job is.

    Args:
        rows: Those that say whether a place is looked for ("no" or "yes"), what came of it, the
            cost of today's place, $, and cost, $, x, y and turn of the places found.
        was, now: Values of them for the job as it is and in the what-if, by key.
        currency: The job's sign of money.
    """
    tried, as_it_is = (_place(rows, values, currency) for values in (now, was))
    if tried == as_it_is:
        return f"Best place, as it is: {tried}."
    return f"Best place: {tried}; as it is: {as_it_is}."


def _place(rows: Sequence[Quantity], values: Mapping[str, Values], currency: str) -> str:
    asked, says, today, cost, *at = rows
    first = {row.key: np.asarray(values[row.key]).flat[0] for row in rows}
    if first[asked.key] == "no":
        return f'not looked for ("{asked.label}": no)'
    if not np.asarray(values[cost.key]).any():
        return str(first[says.key]).rstrip(".")
    where = ", ".join(f"{row.label} {first[row.key]:.1f} {row.unit}" for row in at)
    told = f"{where}, {_amount(first[cost.key], currency)} to compare"
    if first[today.key] == 0:
        return told
    return f"{told} (where it is staked {_amount(first[today.key], currency)})"


def _amount(value: float, currency: str) -> str:
    return str(np.asarray(money(as_values(value), as_values(currency), WHOLE)).flat[0])
