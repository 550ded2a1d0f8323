"""Of the sheet Lumber: boards that the saw takes of every option, and how far that is proven."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import Need
from estimator.rows import Chapter
from estimator.vocabulary import Q, amount, join

BOARDS_CUT = Chapter()
SAW_LINES, SAW_CUTS = 38, 90
"""Lines, and cuts drawn, of the chosen option; jobs with steps have about twenty and fifty."""

BOARDS_CUT.section("Boards, and what they are cut into")
BOARDS_CUT.solved("cut_cost", "Boards", "$", solver="cutting", fmt="#,##0.00")
BOARDS_CUT.solved("cut_bound", "No plan costs less than", "$", solver="cutting", fmt="#,##0.00")
BOARDS_CUT.solved("cut_proven", "Proof", solver="cutting", kind="text")
BOARDS_CUT.solved("cut_boards", "Boards", "boards", solver="cutting", fmt="0")
BOARDS_CUT.solved("longest_board_ft", "Longest board", "ft", solver="cutting", fmt="0.0")
BOARDS_CUT.solved(
    "culls",
    "Boards over, for culls",
    "boards",
    solver="cutting",
    fmt="0",
    note="As Job says, 0: none. Bought, and not on the plan.",
)
BOARDS_CUT.solved(
    "blocks_from_offcuts", "Blocks from off-cuts", "pieces", solver="cutting", fmt="0"
)
BOARDS_CUT.solved(
    "rim_joints",
    "Rims joined at, from corner 1",
    solver="cutting",
    kind="text",
    note="On the middle of a joist, in as few parts as boards allow; of all such ways, as the proof says. Blank: in one piece.",
)
BOARDS_CUT.solved(
    "ends_coated",
    "Sawn ends of treated wood",
    "ends",
    solver="cutting",
    fmt="0",
    note="To coat. A factory end is none: the first of a board that is not squared, the last of one used to its end.",
)
BOARDS_CUT.solved("cut_waste_ft", "Off-cuts left", "ft", solver="cutting", fmt="0.0")

BOARDS_CUT.solved("cut_waste_ft3", "Their volume", "ft3", solver="cutting", fmt="0.00")
BOARDS_CUT.solved(
    "offcuts_unlisted", "Off-cuts to keep, not listed below", "pieces", solver="cutting", fmt="0"
)
BOARDS_CUT.solved("offcuts_unlisted_ft", "Their length in all", "ft", solver="cutting", fmt="0.0")


@BOARDS_CUT.row("Off-cuts left out", kind="text")
def offcuts_left_out(offcuts_unlisted: Q, offcuts_unlisted_ft: Q) -> Q:
    sentence = join(
        offcuts_unlisted,
        " off-cuts, ",
        amount(offcuts_unlisted_ft, "ft", "0.0"),
        " in all, do not fit on the list",
    )
    return np.where(offcuts_unlisted > 0, sentence, "")


BOARDS_CUT.adds(
    Need(
        key="preservative",
        label="Cut-end preservative",
        item=Fixed("preservative"),
        quantity="ends_coated",
    ),
)

BOARDS_CUT.solved("saw_first", "First line on the list of boards", solver="cutting", fmt="0")
BOARDS_CUT.solved("saw_lines", "Lines on the list of boards", solver="cutting", fmt="0")


BOARDS_CUT.solved(
    "cuts_undrawn", "Cuts that the drawing has no room for", solver="cutting", fmt="0"
)


@BOARDS_CUT.row("Page of the option, left out", kind="text")
def saw_left_out(saw_lines: Q, cuts_undrawn: Q) -> Q:
    lines = join(
        saw_lines - SAW_LINES, " lines, the last on the list of boards, are not on its page"
    )
    cuts = join(cuts_undrawn, " cuts are not on the drawing")
    return np.where(saw_lines > SAW_LINES, lines, np.where(cuts_undrawn > 0, cuts, ""))


BOARDS_CUT.notes(
    "How pieces are joined",
    "Timbers and blocks come in one piece. Joists longer than the longest board meet end to end over a skid or beam. Rims longer than the longest board are joined on the middle of a joist, where the sheet says and the boards cost least, skids lapped on the stone, beam boards joined over a support.",
)
