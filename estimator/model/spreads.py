"""Of the sheet Factors: how far off the estimate may be, thing by thing."""

from __future__ import annotations

from typing import Final

from estimator import reference
from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.model.adds import TRADES
from estimator.rows import Chapter
from estimator.vocabulary import Q, one_of

SPREADS = Chapter()
PRICES_TOGETHER: Final = {
    "price of lumber and sheets": ("lumber", "sheet"),
    "price of stone, soil and concrete": ("stone", "soil", "concrete", "block"),
    "price of other material": ("fabric", "steel", "hardware"),
    "price of machines, delivery, fees": ("rental", "delivery", "fee"),
}
"""Categories of the price book whose prices rise and fall together."""
HOURS_OF: Final = tuple(f"hours of {trade}" for trade in TRADES)
CREW: Final = "pace of the crew in all its work"
SWELL: Final = "swell of dug soil"
SHRINK: Final = "shrink of tamped soil"
COMPACTION: Final = "compaction of stone"
WASTE: Final = "waste of stone"
CONCRETE: Final = "waste of concrete"
STRIPPING: Final = "depth of sod and topsoil"
GROUND: Final = (SWELL, SHRINK, COMPACTION, WASTE, STRIPPING, CONCRETE)
"""What quantities depend on; what is new comes last, as workbooks hold the table line by line."""
THINGS: Final = (*PRICES_TOGETHER, *HOURS_OF, CREW, *GROUND)
"""All that is uncertain, in the order of the table; prices of single items besides, on Prices."""
SURVEY: Final = "survey: readings and set-ups"
"""What is off in inches, each reading by itself."""

SPREADS.section("How far off the survey may be")


def _off(key: str, label: str, more: str) -> None:
    row = reference.find("rules", key=key)
    note = f"{row.how_obtained}: {row.source}; {more}"
    SPREADS.typed(
        Field(
            key,
            label,
            "in",
            "number",
            row.number("value"),
            0.01,
            5,
            zero=True,
            note=note,
            fmt="0.##",
        ),
        scope="job",
    )


_off("rod_error_in", "Error of a reading, at most", "up or down, each by itself; 0 is certain")
_off("setup_error_in", "Error of a set-up, at most", "up or down, all its readings alike")

TABLE = SPREADS.table(
    "spread",
    "How far off it may be",
    len(THINGS),
    "As shares of the estimate, which is the likeliest; 1 and 1 is certain. Low and high of single items stand on Prices and count besides. Sources stand at the right end.",
    index=True,
    shows=Appearance(
        characters={"spread_thing": 25, "spread_source": 60}, aside=("spread_no", "spread_source")
    ),
)


@TABLE.column("Uncertain", kind="text")
def spread_thing(spread_no: Q) -> Q:
    return one_of(THINGS, spread_no - 1)


for _key, _label, _low, _high in (
    ("spread_low", "Low", 0.05, 1.0),
    ("spread_high", "High", 1.0, 10.0),
):
    TABLE.typed(Field(_key, _label, "-", default=None, low=_low, high=_high, fmt="0.###"))
TABLE.typed(Field("spread_source", "Source", kind="text", needed=False))


def spread_rows() -> list[dict[str, float | str]]:
    """Default rows of the table, from ``shared/reference``."""
    found: list[dict[str, float | str]] = []
    for thing in THINGS:
        row = reference.find("uncertainty", thing=thing)
        found.append(
            {
                "spread_low": row.number("low"),
                "spread_high": row.number("high"),
                "spread_source": f"{row.source}; {row.how_obtained}",
            }
        )
    return found
