"""Of the sheet Cost: up to four what-ifs of a person's own, side by side with the job as it is."""

from __future__ import annotations

from typing import Final

import numpy as np

from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.rows import OPTION_KEYS, Chapter
from estimator.vocabulary import Q

WHAT_IF = Chapter()
SOLVER: Final = "what_ifs"
CASES, LINES, SAID = 4, 16, 24
"""What-ifs, changes of all of them together, and lines in which is said what comes of them."""
OPTION = "Option "
"""What stands before an option's letter where the change is one of its inputs."""
PRICES, LOT = "Prices", "Siting"
WHERE = ("Job", "Floor", "Factors", LOT, PRICES, *(OPTION + letter for letter in OPTION_KEYS))
_LISTED = ("job_name", "door_way", "fill_yd3_h", "siting_wanted", "item_name", "option_kind")
NUMBERS: Final = tuple(range(1, CASES + 1))
TOTALS, MORE, HOURS = (
    tuple(f"case_{what}_{n}" for n in NUMBERS) for what in ("total", "more", "hours")
)
"""Keys of the columns of each what-if."""

WHAT_IF.section("What if: up to four of your own")


@WHAT_IF.row("Changes to try", "changes", fmt="0", scope="job", note="0: nothing is worked out.")
def changes_asked(change_case: Q) -> Q:
    return np.sum(np.where(change_case > 0, 1, 0))


CHANGED = WHAT_IF.table(
    "change",
    "Inputs to change for a try",
    LINES,
    "The job stays as it is. Lines of one number are tried together; then refill.",
    shows=Appearance(characters={"change_where": 12, "change_input": 30, "change_value": 14}),
)
CHANGED.typed(Field("change_case", "What-if", kind="whole", default=None, low=1, high=CASES))
CHANGED.typed(Field("change_where", "Sheet or option", kind="choice", choices=WHERE, needed=False))
CHANGED.typed(
    Field(
        "change_input",
        "Input",
        kind="text",
        needed=False,
        labels=("change_where", _LISTED),
        note="Its name on that sheet; on Prices the item whose price changes. One of Siting has the best place looked for anew.",
    )
)
CHANGED.typed(
    Field(
        "change_value",
        "Value to try",
        kind="text",
        needed=False,
        note="As it is typed there, in the unit of that cell. The word blank: as if it were left blank.",
    )
)
CHANGED.solved("change_now", "As it is", solver=SOLVER, kind="text")

COSTS = WHAT_IF.table(
    "case_option",
    "Total cost of every option, as it is and in each what-if",
    len(OPTION_KEYS),
    shows=Appearance(gaps=True),
)
COSTS.solved("case_option", "Option", solver=SOLVER, kind="text")
COSTS.solved("case_total_now", "As it is", "$", solver=SOLVER, fmt="#,##0.00")
for _n, _key in zip(NUMBERS, TOTALS, strict=True):
    COSTS.solved(_key, f"What-if {_n}", "$", solver=SOLVER, fmt="#,##0.00")
for _n, _key in zip(NUMBERS, MORE, strict=True):
    COSTS.solved(_key, f"{_n}: more", "$", solver=SOLVER, fmt="+#,##0.00;-#,##0.00;0.00")

WORK = WHAT_IF.table(
    "case_work",
    "Hours of every option, as it is and in each what-if",
    len(OPTION_KEYS),
    shows=Appearance(gaps=True),
)
WORK.solved("case_worked", "Option", solver=SOLVER, kind="text")
WORK.solved("case_hours_now", "As it is", "h", solver=SOLVER, fmt="0.0")
for _n, _key in zip(NUMBERS, HOURS, strict=True):
    WORK.solved(_key, f"What-if {_n}", "h", solver=SOLVER, fmt="0.0")

SAYS = WHAT_IF.table(
    "case_line",
    "What comes of them",
    SAID,
    "Every option is worked out and solved anew, as a refill with those inputs would.",
    shows=Appearance(characters={"case_says": 120}),
)
SAYS.solved(
    "case_says",
    "What-if, which options pass, which is cheapest, checks that turn",
    solver=SOLVER,
    kind="text",
)
