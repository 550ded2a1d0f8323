"""Of the sheet Options: the least that works for the loads, beside what is chosen.

Candidates are tried on the very rows that check the chosen sizes. What a blank on Options takes is
said in :mod:`estimator.model.sizes_in_use`.
"""

from __future__ import annotations

import numpy as np

from estimator.amounts import either
from estimator.measures import MM_PER_IN
from estimator.rows import Chapter
from estimator.vocabulary import Q, amount, join

SUGGESTIONS = Chapter()
SPACINGS = {"12": 12.0, "16": 16.0, "19": 19.2, "24": 24.0}
"""Usual spacings on centre, in, by the name that their rows carry (common practice, no source)."""
METRIC_SPACINGS = {"12": 300 / 25.4, "16": 400 / 25.4, "19": 480 / 25.4, "24": 600 / 25.4}
"""The usual spacings where sheets are 2400 mm long."""

SUGGESTIONS.section("For comparison: the smallest joists that work at each spacing")


@SUGGESTIONS.row("Chosen", kind="text")
def chosen_joist(joist_stock_used: Q, joist_spacing_used_in: Q) -> Q:
    chosen = join(joist_stock_used, " at ", amount(joist_spacing_used_in, "in", "0.0"))
    return np.where(joist_spacing_used_in > 0, chosen, "")


@SUGGESTIONS.row("Chosen, greatest use", "share", fmt="0%")
def chosen_joist_use(joist_use: Q, overhang_use: Q, joist_rest_use: Q) -> Q:
    return np.maximum(joist_use, np.maximum(overhang_use, joist_rest_use))


for _name, _spacing in SPACINGS.items():
    SUGGESTIONS.solved(
        f"suggest_joist_{_name}",
        "At " + either(f"{_spacing:g} in", f"{METRIC_SPACINGS[_name] * MM_PER_IN:.0f} mm"),
        solver="suggest",
        kind="text",
        note="Of the sizes in the price book, treated or not as the chosen one.",
    )
    SUGGESTIONS.solved(
        f"suggest_use_{_name}", "Its greatest use", "share", solver="suggest", fmt="0%"
    )
    SUGGESTIONS.solved(
        f"suggest_cost_{_name}",
        "Its joists and rims for this floor",
        "$",
        solver="suggest",
        fmt="#,##0",
        note="Each from its one best stocked length; Cut Plan mixes lengths and may be cheaper.",
    )
SUGGESTIONS.solved("suggest_cheapest", "Cheapest of them", solver="suggest", kind="text")

SUGGESTIONS.section("For comparison: the fewest skids that work, with the chosen joists")


@SUGGESTIONS.row("Chosen", "skids", fmt="0")
def chosen_skids(skid_count_used: Q) -> Q:
    return skid_count_used


SUGGESTIONS.solved(
    "suggest_skids", "Fewest", "skids", solver="suggest", fmt="0", note="0: none up to 12 works."
)

SUGGESTIONS.section(
    "For comparison: the fewest supports that work, with the chosen joists and beams"
)


@SUGGESTIONS.row("Chosen", kind="text")
def chosen_supports(support_count: Q, support_rows_used: Q, supports_per_row_used: Q) -> Q:
    grid = join(support_count, " in ", support_rows_used, " rows of ", supports_per_row_used)
    return np.where(support_count > 0, grid, "")


SUGGESTIONS.solved(
    "suggest_supports",
    "Fewest",
    solver="suggest",
    kind="text",
    note="Footings as typed; more rows cost more beams.",
)
