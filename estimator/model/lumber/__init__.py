"""Sheet Lumber: the floor frame, its strength, and the pieces wanted before cutting."""

from __future__ import annotations

from estimator.appearance import SheetAppearance
from estimator.model.lumber.boards_cut import BOARDS_CUT
from estimator.model.lumber.end_lines import END_LINES
from estimator.model.lumber.hardware import HARDWARE
from estimator.model.lumber.joints import JOINTS
from estimator.model.lumber.joists import FRAME
from estimator.model.lumber.overhangs import OVERHANGS
from estimator.model.lumber.pieces import PIECES
from estimator.model.lumber.skirting import SKIRTING
from estimator.rows import Sheet

LUMBER = Sheet(
    "Lumber",
    "Lumber: floor frame, strength and pieces wanted",
    "Pieces before cutting; Cut Plan lays them on boards that the yard stocks.",
    FRAME,
    JOINTS,
    OVERHANGS,
    END_LINES,
    PIECES,
    BOARDS_CUT,
    HARDWARE,
    SKIRTING,
    shows=SheetAppearance(upright=True, characters={"cut_proven": 34, "rim_joints": 24}),
)
