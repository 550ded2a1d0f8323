"""The rows between what is uncertain and what an option costs, told apart by how often they are tried.

Rows between the ground and quantities are tried a few hundred times, over the whole of what is
uncertain in them; those between hours and what is hired, and those of money, once a draw.
What was decided beforehand stays: ways of doing, and on each ground what is set out on it, the
height of the base and what is formed and poured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimator.gather import contributed
from estimator.model.adds import Hours, Need
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.survey_grounds import SurveyRows
from estimator.model.solvers.trial import Rows, Trial
from estimator.model.spreads import COMPACTION, CONCRETE, SHRINK, STRIPPING, SWELL, WASTE
from estimator.rows import Quantity, Sheet

VARIED = {
    SWELL: "loose_per_bank",
    SHRINK: "compacted_per_bank",
    COMPACTION: "compaction_share",
    WASTE: "stone_waste_share",
    CONCRETE: "concrete_waste",
    STRIPPING: "strip_depth_in",
}
"""The row that a thing of the ground stands in."""
SET_OUT = (
    "top_ft",
    *("slab_trench_yd3", "slab_yd3", "slab_stone_yd3", "slab_lb", "slab_edge_used_in", "form_ft2"),
)
"""Rows that are worked out on each ground and stay whatever its soil does: height, a slab's form."""
PLANNED = ("dig_way", "side_fall_in", "concrete_comes")
"""Rows that stay as planned on every ground: how it is dug and drained, what concrete comes as."""
DECIDED = (*SET_OUT, *PLANNED)
STONE, SOIL = "stone_order_yd3", "soil_moved_yd3"
PAID = ("material_cost", "rental_cost", "delivery_cost")
"""Rows of money that are drawn; hours besides."""
WORK, EXPECTED = "work_hours", "before_contingency"


@dataclass(frozen=True, slots=True)
class Lines:
    """What assemblies add that a range is made of.

    Args:
        tasks: Of all work its line, the row that says how long it takes, and its trade.
        needs: Of all that is needed the lines of its quantity and of its item.
    """

    tasks: tuple[tuple[str, str, str], ...]
    needs: tuple[tuple[str, str], ...]


def lines_of(sheets: Sequence[Sheet]) -> Lines:
    """The lines that the assemblies of these sheets have on Cost."""
    return Lines(
        tuple((t.line("task"), t.quantity, t.trade) for t in contributed(sheets, Hours)),
        tuple((n.line("need"), n.line("need_item")) for n in contributed(sheets, Need)),
    )


class RangeRows:
    """The trials of a range.

    Args:
        rows: Of all sheets.
        lines: What assemblies add.
        units: Keys of the model whose rows they are.

    Attributes:
        survey: From readings to the ground, and what is set out on it.
        ground: From the ground to tasks, needs, stone and soil.
        hire: From hours of work to what is hired for so long.
        money: From what is paid and worked to the expected cost.
        tasks: Lines of work that depend on the ground, and their trades.
        needs: Lines of needs that depend on ground or hours, and those of their items.
        worked: Rows of hours that something is hired for, and their trades.
        reads: Keys of all that must be known.
    """

    def __init__(self, rows: Rows, lines: Lines, units: OwnUnits) -> None:
        plan = Rows({**rows.quantities, **_decided(rows, units)}, rows.stacks)
        trade_of = {
            key: trade for _, row, trade in lines.tasks for key in _hours(plan, units.name(row))
        }
        found = (key for line, _ in lines.needs for key in _hires(plan, line))
        self.worked = {key: trade_of[key] for key in found if key in trade_of}
        self.survey = SurveyRows(rows, SET_OUT, units)
        varied = [*(units.name(key) for key in VARIED.values()), *self.survey.felt]
        stone_and_soil = [units.name(key) for key in (STONE, SOIL)]
        asked = [*(line for line, *_ in lines.tasks), *(line for line, _ in lines.needs)]
        tried = Trial(plan, varied, [*asked, *stone_and_soil])
        self.tasks = {line: trade for line, _, trade in lines.tasks if tried.depends(line)}
        by_ground = [line for line, _ in lines.needs if tried.depends(line)]
        self.ground = Trial(plan, varied, [*self.tasks, *by_ground, *stone_and_soil])
        hired = Trial(plan, tuple(self.worked), [line for line, _ in lines.needs])
        by_hours = [line for line, _ in lines.needs if hired.depends(line)]
        self.hire = Trial(plan, tuple(self.worked), by_hours)
        items = dict(lines.needs)
        self.needs = {line: items[line] for line in (*by_ground, *by_hours)}
        self.money = Trial(rows, (*PAID, WORK), [EXPECTED])
        self.reads = frozenset(
            {
                *self.ground.reads,
                *varied,
                *self.survey.reads,
                *(k for k in (*self.hire.reads, *self.worked) if not self.ground.depends(k)),
                *self.money.reads,
                *self.needs,
                *self.needs.values(),
                *stone_and_soil,
            }
        )


def _decided(rows: Rows, units: OwnUnits) -> dict[str, Quantity]:
    """Rows of decisions, as numbers and texts that nothing changes."""
    return {
        name: replace(rows.quantities[name], role="input", function=None, reads=())
        for name in map(units.name, DECIDED)
    }


def _hours(rows: Rows, key: str) -> list[str]:
    """A row of hours, and those that it is made of."""
    item = rows.quantities[key]
    if item.unit != "h" or not item.by_option or item.function is None:
        return []
    return [key, *(each for read in item.reads for each in _hours(rows, read))]


def _hires(rows: Rows, key: str) -> list[str]:
    """Rows of hours that a quantity rests on without being one of hours."""
    item = rows.quantities.get(key)
    if item is None or not item.by_option or item.axis or item.function is None:
        return []
    if item.unit == "h":
        return [key]
    return [each for read in item.reads for each in _hires(rows, read)]
