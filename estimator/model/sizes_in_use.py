"""Sizes left blank on Options: what is suggested takes their place, and every change is said.

Joist, spacing, skids, supports, their footings and the boards of a beam may be typed or left blank.
A blank takes the suggestion of the solver below: of all designs on its grid the one of least total
cost, labour included, that passes every check, found on the very rows that check and price typed
sizes. What an option first took is kept in
the workbook: where a refill suggests something else, Checks says so until it is accepted.
"""

from __future__ import annotations

import numpy as np

from estimator.inputs import Field
from estimator.model.kinds import FLOORS, ON_PIERS, PADS, SUPPORTS, MoreCases, by_kind, where_kind
from estimator.model.options import OPTIONS
from estimator.model.suggestions import SUGGESTIONS
from estimator.rows import YES_OR_NO
from estimator.vocabulary import Q, amount, as_text, join

__all__ = ["EACH", "FOOTING", "JOIST", "OPTIONS", "PLIES", "ROWS", "SKID", "SPACING"]

JOIST, SPACING, SKID, ROWS, EACH, FOOTING, PLIES = 1, 2, 4, 8, 16, 32, 64
"""What is left blank, as one number: the sum of these."""
PASSES, NONE_PASSES, IMPRACTICAL = 0, 1, 2
"""What is said of a suggestion: it passes; nothing does; it does, and nothing practical does."""

OPTIONS.section("Sizes in use: as typed, or as suggested where left blank")


@OPTIONS.row("Joist in use", kind="text")
def joist_stock_used(joist_stock: Q, default_joist: Q) -> Q:
    return np.where(joist_stock == "", default_joist, joist_stock)


@OPTIONS.row("Joists on centre, in use", "in", fmt="0.###;-0.###;")
def joist_spacing_used_in(joist_spacing_in: Q, default_spacing_in: Q) -> Q:
    return np.where(joist_spacing_in > 0, joist_spacing_in, default_spacing_in)


@OPTIONS.row("Skids in use", "pieces", fmt="0;-0;")
def skid_count_used(skid_count: Q, default_skids: Q) -> Q:
    return np.where(skid_count > 0, skid_count, default_skids)


@OPTIONS.row("Rows of supports in use", "rows", fmt="0;-0;")
def support_rows_used(support_rows: Q, default_rows: Q) -> Q:
    return np.where(support_rows > 0, support_rows, default_rows)


@OPTIONS.row("Supports in a row, in use", "pieces", fmt="0;-0;")
def supports_per_row_used(supports_per_row: Q, default_per_row: Q) -> Q:
    return np.where(supports_per_row > 0, supports_per_row, default_per_row)


@OPTIONS.row("Boards a beam, in use", "boards", fmt="0;-0;")
def beam_plies_used(beam_plies: Q, default_plies: Q) -> Q:
    return np.where(beam_plies > 0, beam_plies, default_plies)


@OPTIONS.row(
    "Spread footing in use, diameter", "in", fmt="0.###;-0.###;", note="0: a straight pier."
)
def footing_diameter_used_in(
    footing_diameter_in: Q, default_footing_in: Q, pier_diameter_in: Q
) -> Q:
    wide = np.where(footing_diameter_in > 0, footing_diameter_in, default_footing_in)
    return np.where(wide > pier_diameter_in, wide, 0)


@OPTIONS.row(
    "Suggested, where blank", kind="text", note="In use until something is typed; that wins."
)
def suggested_text(suggested_floor: Q, suggested_under: Q) -> Q:
    both = join(suggested_floor, ", ", suggested_under)
    floor = np.where(suggested_under == "", suggested_floor, both)
    return np.where(suggested_floor == "", suggested_under, floor)


OPTIONS.typed(
    Field(
        "suggestion_accepted",
        "Suggestion accepted",
        kind="text",
        needed=False,
        note="Where Checks says that the suggestion changed: type what is now suggested, to accept it; or type the sizes that you keep.",
    ),
    scope="option",
)

SUGGESTIONS.section("What is left blank, and how it was found")


@SUGGESTIONS.row("Floor", kind="text")
def suggested_floor(sizes_blank: Q, default_joist: Q, default_spacing_in: Q) -> Q:
    spacing = join("at ", amount(default_spacing_in, "in"))
    alone = np.where(default_spacing_in > 0, spacing, "")
    both = np.where(default_spacing_in > 0, join(default_joist, " ", spacing), default_joist)
    return np.where(sizes_blank > 0, np.where(default_joist == "", alone, both), "")


@SUGGESTIONS.row("Under it", kind="text")
def suggested_under(
    sizes_blank: Q,
    default_skids: Q,
    default_rows: Q,
    default_per_row: Q,
    suggested_beams: Q,
    suggested_footing: Q,
) -> Q:
    skids = np.where(default_skids > 0, join(default_skids, " skids"), "")
    each = np.where(default_per_row > 0, join(default_per_row, " supports in a row"), skids)
    number = np.where(default_per_row > 0, join(default_per_row, " "), "")
    rows = join(default_rows, " rows of ", number, "supports")
    grid = np.where(default_rows > 0, rows, each)
    comma = np.where((grid == "") | (suggested_beams == ""), "", ", ")
    under = join(grid, comma, suggested_beams)
    more = np.where((under == "") | (suggested_footing == ""), "", ", ")
    return np.where(sizes_blank > 0, join(under, more, suggested_footing), "")


@SUGGESTIONS.row("Boards a beam", kind="text")
def suggested_beams(default_plies: Q) -> Q:
    return np.where(default_plies > 0, join("beams of ", default_plies), "")


@SUGGESTIONS.row("Footings", kind="text")
def suggested_footing(
    sizes_blank: Q, option_kind: Q, default_footing_in: Q, pier_diameter_in: Q, footing_blank: Q
) -> Q:
    wide = join("footings of ", amount(default_footing_in, "in"))
    spread = np.where(default_footing_in > pier_diameter_in, wide, "straight piers")
    asked = (sizes_blank > 0) & (footing_blank > 0)
    return where_kind(option_kind, ON_PIERS, np.where(asked, spread, ""), "")


@SUGGESTIONS.row(
    "Footing left blank", fmt=YES_OR_NO, note="Whether its diameter is to be suggested."
)
def footing_blank(option_kind: Q, footing_diameter_in: Q) -> Q:
    return where_kind(option_kind, ON_PIERS, np.where(footing_diameter_in == 0, 1, 0))


@SUGGESTIONS.row("What was tried", kind="text")
def suggested_how(
    sizes_blank: Q, default_designs: Q, default_passing: Q, default_fails: Q, default_proven: Q
) -> Q:
    tried = join(as_text(default_designs, "#,##0"), " designs tried")
    proven = np.where(
        default_proven > 0, ", proven over this grid", "; not proven: more are as near"
    )
    passing = join(as_text(default_passing, "#,##0"), " of which pass all that sizes decide")
    cheapest = join("cheapest of ", tried, ", ", passing, proven)
    said = np.where(
        default_fails == PASSES,
        cheapest,
        join("of ", tried, " none that is practical passes: ", cheapest),
    )
    none = join("none of ", tried, " passes: the strongest stands in")
    return np.where(sizes_blank > 0, np.where(default_fails == NONE_PASSES, none, said), "")


@SUGGESTIONS.row(
    "Code of what is blank",
    fmt="0",
    note="Sum of 1 joist, 2 spacing, 4 skids, 8 rows of supports, 16 supports in a row, 32 footing, 64 boards a beam.",
)
def sizes_blank(
    option_kind: Q,
    joist_stock: Q,
    joist_spacing_in: Q,
    skid_count: Q,
    support_rows: Q,
    supports_per_row: Q,
    beam_plies: Q,
    footing_blank: Q,
    more_cases: MoreCases,
) -> Q:
    floor = np.where(joist_stock == "", JOIST, 0) + np.where(joist_spacing_in == 0, SPACING, 0)
    grid = np.where(support_rows == 0, ROWS, 0) + np.where(supports_per_row == 0, EACH, 0)
    skids = np.where(skid_count == 0, SKID, 0)
    beams = np.where(beam_plies == 0, PLIES, 0) + FOOTING * footing_blank
    under = {PADS: floor + skids, SUPPORTS: floor + grid + beams, FLOORS: 0}
    blank = by_kind(option_kind, under, more_cases)
    return np.where(option_kind == "", 0, blank)


SUGGESTIONS.solved("default_joist", "Joist", solver="blank_sizes", kind="text")
SUGGESTIONS.solved(
    "default_spacing_in", "Joists on centre", "in", solver="blank_sizes", fmt="0.###"
)
SUGGESTIONS.solved("default_skids", "Skids", "pieces", solver="blank_sizes", fmt="0")
SUGGESTIONS.solved("default_rows", "Rows of supports", "rows", solver="blank_sizes", fmt="0")
SUGGESTIONS.solved("default_per_row", "Supports in a row", "pieces", solver="blank_sizes", fmt="0")
SUGGESTIONS.solved("default_plies", "Boards a beam", "boards", solver="blank_sizes", fmt="0")
SUGGESTIONS.solved(
    "default_footing_in", "Footing, diameter", "in", solver="blank_sizes", fmt="0.###"
)
SUGGESTIONS.solved("default_designs", "Designs tried", "designs", solver="blank_sizes", fmt="#,##0")
SUGGESTIONS.solved("default_passing", "Of them pass", "designs", solver="blank_sizes", fmt="#,##0")
SUGGESTIONS.solved(
    "default_proven",
    "Proven the cheapest",
    solver="blank_sizes",
    fmt=YES_OR_NO,
    note="yes: every other design that passes costs at least as much, priced or by a bound.",
)
SUGGESTIONS.solved(
    "default_fails",
    "None on offer works",
    solver="blank_sizes",
    fmt="0",
    note="1: the strongest on offer stands in; the checks say what fails. 2: none that is practical (Factors) works.",
)
SUGGESTIONS.solved(
    "suggestion_first",
    "First suggested",
    solver="first_suggestions",
    kind="text",
    note="Kept from refill to refill while the same inputs stay blank.",
)
SUGGESTIONS.solved(
    "suggestion_first_of", "Code it was first suggested for", solver="first_suggestions", fmt="0"
)

OPTIONS.take(SUGGESTIONS)
