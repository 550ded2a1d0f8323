"""A small model with every kind of part, for tests of the workbook that need no estimating.

Planters: each option is a planter of some kind, filled from a list of soils.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.engine import Model, Solver
from estimator.inputs import Field
from estimator.rows import Sheet
from estimator.values import as_values
from estimator.vocabulary import Q, across, join, lookup, pick, rounded, sum_if

ROWS, STEPS = 6, 4


def toy_model(*more: Sheet) -> Model:
    """The sheets and solvers of the planters, and more sheets behind them."""
    start = _start()
    return Model(
        [start, _job(), _soils(), _options(), _planting(), _steps(), _checks(), *more],
        [
            Solver(
                "steps",
                "the steps",
                ("planter_length_ft", "depth_in", "soil_name", "soil_wet_ft", "volume_ft3"),
                _solve_steps,
            ),
            Solver(
                "buying",
                "the buying",
                ("step_rise_in", "volume_ft3"),
                _solve_buying,
                prices=("soil_price",),
            ),
        ],
    )


def _start() -> Sheet:
    sheet = Sheet(
        "Start",
        "Planters",
        "What it costs to fill a planter, side by side.",
        shows=SheetAppearance(role="answer"),
    )
    sheet.notes("How to use it", "Type over the boxed cells. " * 6, "Then look at the check.")
    sheet.section("The answer")
    sheet.typed(
        Field("chosen_option", "Option chosen", "no.", "whole", 1, 1, 6, note="1 is A"), scope="job"
    )

    @sheet.row("Cost of the chosen one", "$", fmt="#,##0.00", scope="job")
    def chosen_cost_usd(cost_usd: Q, chosen_option: Q) -> Q:
        return pick(cost_usd, chosen_option)

    @sheet.row("Least cost", "$", fmt="#,##0.00", scope="job")
    def least_cost_usd(cost_usd: Q) -> Q:
        return across("MIN", cost_usd)

    return sheet


def _job() -> Sheet:
    sheet = Sheet("Job", "Job", "What is wanted.")
    sheet.section("Size")
    for entry in (
        Field("job_name", "Job", kind="text", default="=Planters", needed=False),
        Field("planter_length_ft", "Length", "ft", "length", "12' 6\"", 1, 100, note="Outside."),
        Field("planter_width_in", "Width", "in", "length", 30, 6, 100),
        Field("waste_share", "Waste", "share", "share", 0.1, 0, 0.5, fmt="0%"),
        Field("made_on", "Date", kind="date", default="2026-05-01", low=40000, high=60000),
        Field("season", "Season", kind="choice", default="spring", choices=("spring", "fall")),
        Field("best_soil", "Best soil", kind="key", default="Loam", refers="soil_name"),
        Field("bags_least", "Bags, least", "bags", "whole", None, 0, 50, needed=False),
    ):
        sheet.typed(entry, scope="job")
    return sheet


def _soils() -> Sheet:
    sheet = Sheet("Soils", "Soils", "One line a soil.")
    table = sheet.table("soil", "Soils to choose from", ROWS, "Leave lines blank.", index=True)
    table.typed(Field("soil_name", "Soil", kind="text", needed=False))
    table.typed(Field("soil_price", "Price", "$/ft3", default=None, low=0, high=99, fmt="0.00"))
    table.typed(Field("soil_wet_ft", "Wet depth", "ft", "length", None, 0, 50, needed=False))
    table.typed(
        Field("soil_season", "Season", kind="choice", choices=("spring", "fall"), needed=False)
    )

    @table.column("Price with waste", "$/ft3", fmt="0.00")
    def soil_full_price(soil_price: Q, waste_share: Q, soil_name: Q) -> Q:
        return np.where(soil_name == "", 0, soil_price * (1 + waste_share))

    @table.column("Word", kind="text")
    def soil_word(soil_name: Q, soil_no: Q) -> Q:
        return np.where(soil_name == "", "", join(soil_no, " ", soil_name))

    return sheet


def _options() -> Sheet:
    sheet = Sheet("Options", "Options", "One column an option.")
    sheet.section("What it is")
    boxed = ("box",)
    for entry in (
        Field("option_kind", "Kind", kind="choice", choices=("box", "heap"), needed=False),
        Field("option_name", "Name", kind="text", needed=False),
        Field("depth_in", "Depth", "in", "length", 12, 2, 60),
        Field("boards", "Boards", "pieces", "whole", 4, 1, 9, kinds=boxed),
        Field("option_soil", "Soil", kind="key", default="Loam", refers="soil_name"),
    ):
        sheet.typed(entry, scope="option")

    @sheet.row("In use", fmt="0")
    def option_used(option_kind: Q) -> Q:
        return option_kind != ""

    return sheet


def _planting() -> Sheet:
    sheet = Sheet("Planting", "Planting", "Volumes and cost.")
    sheet.section("Volume")

    @sheet.row("Volume", "ft3", note="Length by width by depth.", source="common practice")
    def volume_ft3(planter_length_ft: Q, planter_width_in: Q, depth_in: Q) -> Q:
        return planter_length_ft * planter_width_in / 12 * depth_in / 12

    @sheet.row("Whole feet of board", "ft", fmt="0")
    def board_ft(planter_length_ft: Q, boards: Q, option_kind: Q) -> Q:
        return np.where(option_kind == "box", np.ceil(planter_length_ft) * boards, 0)

    sheet.section("Cost", stack="line_usd")

    @sheet.row("Soil", "$", fmt="#,##0.00")
    def soil_usd(volume_ft3: Q, option_soil: Q, soil_name: Q, soil_full_price: Q) -> Q:
        return rounded(volume_ft3 * lookup(option_soil, soil_name, soil_full_price, 0), 2)

    @sheet.row("Boards", "$", fmt="#,##0.00")
    def boards_usd(board_ft: Q) -> Q:
        return rounded(board_ft * 1.25, 2)

    sheet.section("Together")

    @sheet.row("Cost", "$", fmt="#,##0.00")
    def cost_usd(line_usd: Q) -> Q:
        return np.sum(line_usd)

    @sheet.row("Dear soils", "count", fmt="0", scope="job")
    def dear_soils(soil_price: Q) -> Q:
        return np.sum(soil_price > 2)

    sheet.solved("trips", "Trips", "trips", solver="buying", fmt="0")
    sheet.solved("bags", "Bags", "bags", solver="buying", fmt="0", scope="job")

    @sheet.row("Trips and steps", "count", fmt="0.00")
    def trips_and_steps(trips: Q, step_rise_in: Q) -> Q:
        return trips + np.sum(step_rise_in)

    @sheet.row("Words", kind="text")
    def verdict(trips: Q, option_name: Q) -> Q:
        return np.where(trips > 3, join(option_name, ": many"), "few")

    return sheet


def _steps() -> Sheet:
    sheet = Sheet(
        "Field Sheet",
        "Steps",
        "Rise of every step.",
        shows=SheetAppearance(role="take-along", large=True),
    )
    table = sheet.table("step", "Steps", STEPS, index=True)
    table.solved("step_at_ft", "At", "ft", solver="steps")
    table.solved("step_rise_in", "Rise", "in", solver="steps", by_option=True)
    table.solved("step_word", "Word", solver="steps", kind="text")

    @table.column("Rise, feet", "ft", by_option=True)
    def step_rise_ft(step_rise_in: Q, step_at_ft: Q, depth_in: Q) -> Q:
        return step_rise_in / 12 + step_at_ft * 0.5 + depth_in

    @table.column("Most rise", "in")
    def step_most_in(step_rise_in: Q) -> Q:
        return across("MAX", step_rise_in)

    return sheet


def _checks() -> Sheet:
    sheet = Sheet(
        "Checks",
        "Checks",
        "What the workbook tests on itself.",
        shows=SheetAppearance(role="trust"),
    )
    sheet.section("Checks")

    @sheet.row("Inputs can be read", fmt="0", scope="job")
    def inputs_ok(input_problems: Q) -> Q:
        return input_problems == 0

    @sheet.row("Price of the best soil", "$/ft3", scope="job")
    def best_price(best_soil: Q, soil_name: Q, soil_price: Q) -> Q:
        return sum_if(soil_price, soil_name, best_soil)

    @sheet.row("Words for every sheet", kind="text", scope="job")
    def overall_flag(inputs_ok: Q, input_problems: Q, stale_steps: Q, best_price: Q) -> Q:
        return np.where(
            inputs_ok == 0,
            join("Can't be read: ", input_problems, " inputs"),
            np.where(
                across("MAX", stale_steps) > 0,
                "Steps are out of date",
                np.where(best_price > 90, "Dear", "OK"),
            ),
        )

    return sheet


def _solve_steps(read: Mapping[str, Any]) -> dict[str, Any]:
    depth = np.asarray(read["depth_in"], dtype=float)
    at = np.arange(STEPS, dtype=float)[None, :] * float(np.asarray(read["planter_length_ft"]).max())
    return {
        "step_at_ft": as_values(at),
        "step_rise_in": as_values(depth + np.arange(STEPS)[None, :] / 8),
        "step_word": as_values(np.array([["one", "two", "three", "four"]])),
    }


def _solve_buying(read: Mapping[str, Any]) -> dict[str, Any]:
    volume = np.asarray(read["volume_ft3"], dtype=float)
    return {
        "trips": as_values(np.ceil(volume / 6)),
        "bags": as_values(np.array([[np.nansum(volume)]])),
    }


_TABLES: dict[str, list[Any]] = {
    "option_kind": ["box", "HEAP", None, "box"],
    "option_name": ["First", "Second", None, "Fourth"],
    "depth_in": ["12", '10 1/2"', None, "1'"],
    "boards": [4, None, None, 6],
    "option_soil": ["Loam", "sand", None, "Peat"],
    "soil_name": ["Loam", "Sand", "Peat"],
    "soil_price": [2.5, 1.25, 4],
    "soil_wet_ft": ['6"', "12-6", None],
    "soil_season": ["spring", None, "fall"],
}
_JOB: dict[str, Any] = {
    "chosen_option": 1,
    "job_name": "=Planters",
    "planter_length_ft": "12' 6\"",
    "planter_width_in": 30,
    "waste_share": 0.1,
    "made_on": "2026-05-01",
    "season": "spring",
    "best_soil": "Loam",
}


def typed_cells(**columns: list[Any]) -> dict[tuple[str, int], Any]:
    """What a person typed, by key and place; ``columns`` take the place of the usual ones."""
    cells = {(key, 0): value for key, value in _JOB.items()}
    for key, values in {**_TABLES, **columns}.items():
        cells.update({(key, place): value for place, value in enumerate(values)})
    return cells


TYPED = typed_cells()
"""What a person typed; the engine's values are in :data:`VALUES`."""


def _text_column(*texts: str) -> Any:
    return np.array([[*texts, *[""] * (ROWS - len(texts))]])


VALUES: dict[str, Any] = {
    "chosen_option": 1.0,
    "job_name": "=Planters",
    "planter_length_ft": 12.5,
    "planter_width_in": 30.0,
    "waste_share": 0.1,
    "made_on": 46143.0,
    "season": "spring",
    "best_soil": "Loam",
    "bags_least": 0.0,
    "option_kind": np.array([["box"], ["heap"], [""], ["box"], [""], [""]]),
    "option_name": np.array([["First"], ["Second"], [""], ["Fourth"], [""], [""]]),
    "depth_in": np.array([[12.0], [10.5], [0.0], [12.0], [0.0], [0.0]]),
    "boards": np.array([[4.0], [0.0], [0.0], [6.0], [0.0], [0.0]]),
    "option_soil": np.array([["Loam"], ["Sand"], [""], ["Peat"], [""], [""]]),
    "soil_name": _text_column("Loam", "Sand", "Peat"),
    "soil_price": np.array([[2.5, 1.25, 4, 0, 0, 0]]),
    "soil_wet_ft": np.array([[0.5, 12.5, 0, 0, 0, 0]]),
    "soil_season": _text_column("spring", "", "fall"),
}
"""The engine's values of :data:`TYPED`."""
